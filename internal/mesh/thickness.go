package mesh

import (
	"context"
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/spatial/r3"
)

// Wall is the thickness of a wall at a place.
type Wall struct {
	MM float64
	At r3.Vec // on the surface
	In r3.Vec // unit vector from there straight into the wall
}

// The two faces of a wall face away from each other, within 53°. Where they
// stand at more than 18°, there must be no sharp edge within one and a half
// times the thickness: an edge at which two faces run out is no wall.
const (
	opposed  = 0.6  // cos 53°
	opposite = 0.95 // cos 18°
	sharpest = 0.5  // cos 60°, between the normals at a sharp edge
	clear    = 1.5
)

// Walls measures the thickness along the inward normal at about n places
// spread evenly over the surface, and more round the thinnest, and returns
// them in rising order. Places at edges have no opposite face and are left out.
// Once ctx is done the walls are of no use.
func (m *Mesh) Walls(ctx context.Context, n int) []Wall {
	g := m.grid()
	if ctx.Err() != nil {
		return nil
	}
	g.markSharp(m.Edges())
	sum := make([]float64, len(m.T)+1)
	for t := range m.T {
		a, b, c := m.Corners(t)
		sum[t+1] = sum[t] + r3.Norm(r3.Cross(r3.Sub(b, a), r3.Sub(c, a)))
	}
	type sample struct {
		wall Wall
		t    int
	}
	measure := func(count int, place func(i int) (t int, p r3.Vec)) []sample {
		found := make([]sample, count)
		Parallel(ctx, (count+255)/256, func(part int) {
			for i := part * 256; i < min(count, (part+1)*256); i++ {
				t, p := place(i)
				if d, ok := g.across(t, p); ok {
					found[i] = sample{Wall{d, p, m.inwards(t)}, t}
				}
			}
		})
		return slices.DeleteFunc(found, func(s sample) bool { return s.wall.MM == 0 })
	}
	// Plastic-number sequence: evenly spread over triangle choice and place in it.
	const p1, p2, p3 = 0.8191725133961645, 0.6710436067037893, 0.5497004779019703
	samples := measure(n, func(i int) (int, r3.Vec) {
		k := float64(i + 1)
		t := sort.SearchFloat64s(sum, frac(0.5+p1*k)*sum[len(sum)-1]) - 1
		t = min(max(t, 0), len(m.T)-1)
		return t, m.within(t, frac(0.5+p2*k), frac(0.5+p3*k))
	})
	slices.SortFunc(samples, func(a, b sample) int {
		if a.wall.MM != b.wall.MM {
			return sign(a.wall.MM - b.wall.MM)
		}
		return a.t - b.t
	})
	closest := samples[:min(len(samples), 32)]
	near := measure(64*len(closest), func(i int) (int, r3.Vec) {
		t := closest[i/64].t
		return t, m.within(t, (float64(i%8)+0.5)/8, (float64(i/8%8)+0.5)/8)
	})
	walls := make([]Wall, 0, len(samples)+1)
	for _, s := range samples {
		walls = append(walls, s.wall)
	}
	for _, s := range near {
		if s.wall.MM < walls[0].MM {
			walls[0] = s.wall
		}
	}
	return walls
}

// Bulkiest returns the wall, of about n, in whose middle the piece is bulkiest:
// where the least of its thickness and its two measures across is greatest.
// The wall's MM is that least measure.
func (m *Mesh) Bulkiest(ctx context.Context, n int) (Wall, bool) {
	g := m.grid()
	var best Wall
	most := 0.0
	for _, w := range m.Walls(ctx, n) {
		if ctx.Err() != nil {
			break
		}
		mid := r3.Add(w.At, r3.Scale(w.MM/2, w.In))
		u := r3.Unit(r3.Cross(w.In, leastAligned(w.In)))
		v := r3.Cross(w.In, u)
		least, sum := w.MM, 0.0
		for _, d := range [2]r3.Vec{u, v} {
			_, there := g.ray(mid, d, -1)
			_, back := g.ray(mid, r3.Scale(-1, d), -1)
			least = min(least, 2*min(there, back))
			sum += min(there, back)
		}
		if rank := least + 1e-3*sum; rank > most && !math.IsInf(rank, 1) {
			most, best = rank, Wall{least, w.At, w.In}
		}
	}
	return best, most > 0
}

// inwards returns the unit vector against the normal of triangle t.
func (m *Mesh) inwards(t int) r3.Vec {
	a, b, c := m.Corners(t)
	return r3.Scale(-1, r3.Unit(r3.Cross(r3.Sub(b, a), r3.Sub(c, a))))
}

func frac(x float64) float64 { return x - math.Floor(x) }

func sign(x float64) int {
	if x < 0 {
		return -1
	}
	return 1
}

// within returns the point of triangle t at (u, v) of the unit square, folded.
func (m *Mesh) within(t int, u, v float64) r3.Vec {
	if u+v > 1 {
		u, v = 1-u, 1-v
	}
	a, b, c := m.Corners(t)
	return r3.Add(a, r3.Add(r3.Scale(u, r3.Sub(b, a)), r3.Scale(v, r3.Sub(c, a))))
}

// grid files the triangles by the cubes of space they may touch.
type grid struct {
	m     *Mesh
	low   r3.Vec
	size  float64
	n     [3]int
	start []int32
	file  []int32
	sharp []uint8 // per triangle, a bit for each side that is a sharp outward edge
}

func (m *Mesh) grid() *grid {
	low, high := m.Bounds()
	d := r3.Sub(high, low)
	// A cube holds a few triangles where the surface runs; at most four million cubes.
	size := 2 * math.Sqrt(m.Solid().AreaMM2/float64(len(m.T)))
	size = max(size, math.Cbrt(d.X*d.Y*d.Z/4e6), max(d.X, d.Y, d.Z)/1000)
	g := &grid{m: m, low: low, size: size}
	for k, x := range [3]float64{d.X, d.Y, d.Z} {
		g.n[k] = int(x/size) + 1
	}
	g.start = make([]int32, g.n[0]*g.n[1]*g.n[2]+1)
	each := func(f func(cell, t int)) {
		for t := range m.T {
			a, b, c := m.Corners(t)
			lo := g.cell(r3.Vec{X: min(a.X, b.X, c.X), Y: min(a.Y, b.Y, c.Y), Z: min(a.Z, b.Z, c.Z)})
			hi := g.cell(r3.Vec{X: max(a.X, b.X, c.X), Y: max(a.Y, b.Y, c.Y), Z: max(a.Z, b.Z, c.Z)})
			for z := lo[2]; z <= hi[2]; z++ {
				for y := lo[1]; y <= hi[1]; y++ {
					for x := lo[0]; x <= hi[0]; x++ {
						f((z*g.n[1]+y)*g.n[0]+x, t)
					}
				}
			}
		}
	}
	each(func(cell, _ int) { g.start[cell+1]++ })
	for i := range g.start[1:] {
		g.start[i+1] += g.start[i]
	}
	g.file = make([]int32, g.start[len(g.start)-1])
	at := slices.Clone(g.start)
	each(func(cell, t int) { g.file[at[cell]] = int32(t); at[cell]++ })
	return g
}

func (g *grid) cell(p r3.Vec) (c [3]int) {
	for k, x := range [3]float64{p.X - g.low.X, p.Y - g.low.Y, p.Z - g.low.Z} {
		c[k] = min(max(int(x/g.size), 0), g.n[k]-1)
	}
	return c
}

// across returns the distance from p on triangle t, straight inwards, to the
// face opposite, if there is one that makes a wall.
func (g *grid) across(t int, p r3.Vec) (float64, bool) {
	a, b, c := g.m.Corners(t)
	n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
	if r3.Norm(n) == 0 {
		return 0, false
	}
	n = r3.Unit(n)
	hit, distance := g.ray(p, r3.Scale(-1, n), t)
	if hit < 0 {
		return 0, false
	}
	a, b, c = g.m.Corners(hit)
	other := r3.Unit(r3.Cross(r3.Sub(b, a), r3.Sub(c, a)))
	facing := r3.Dot(n, other)
	return distance, facing <= -opposite || facing <= -opposed && !g.sharpWithin(p, clear*distance)
}

// markSharp notes the outward edges of more than 60°.
func (g *grid) markSharp(e Edges) {
	g.sharp = make([]uint8, len(g.m.T))
	for h, o := range e.Mate {
		if o < 0 {
			continue
		}
		a, b, c := g.m.Corners(h / 3)
		d, f, k := g.m.Corners(int(o) / 3)
		n, other := r3.Cross(r3.Sub(b, a), r3.Sub(c, a)), r3.Cross(r3.Sub(f, d), r3.Sub(k, d))
		across := g.m.V[g.m.T[o/3][(o+2)%3]].Vec()
		if r3.Dot(n, other) < sharpest*r3.Norm(n)*r3.Norm(other) && r3.Dot(n, r3.Sub(across, a)) < 0 {
			g.sharp[h/3] |= 1 << (h % 3)
		}
	}
}

// sharpWithin tells whether a sharp edge passes within the distance of p.
func (g *grid) sharpWithin(p r3.Vec, distance float64) bool {
	d := r3.Vec{X: distance, Y: distance, Z: distance}
	lo, hi := g.cell(r3.Sub(p, d)), g.cell(r3.Add(p, d))
	for z := lo[2]; z <= hi[2]; z++ {
		for y := lo[1]; y <= hi[1]; y++ {
			for x := lo[0]; x <= hi[0]; x++ {
				cell := (z*g.n[1]+y)*g.n[0] + x
				for _, t := range g.file[g.start[cell]:g.start[cell+1]] {
					for c := range 3 {
						if g.sharp[t]>>c&1 != 0 && toSegment(p, g.m.V[g.m.T[t][c]].Vec(), g.m.V[g.m.T[t][next(c)]].Vec()) < distance {
							return true
						}
					}
				}
			}
		}
	}
	return false
}

func toSegment(p, a, b r3.Vec) float64 {
	ab, ap := r3.Sub(b, a), r3.Sub(p, a)
	f := min(max(r3.Dot(ap, ab)/max(r3.Dot(ab, ab), 1e-300), 0), 1)
	return r3.Norm(r3.Sub(ap, r3.Scale(f, ab)))
}

// ray returns the first triangle, other than the one it starts from, that the
// ray from p leaves through, and how far it is: walk through the cubes
// (J. Amanatides, A. Woo, Eurographics 1987), test by T. Möller, B. Trumbore,
// J. Graphics Tools 2 (1997) 21.
func (g *grid) ray(p, d r3.Vec, from int) (hit int, distance float64) {
	c := g.cell(p)
	dir, at, low := [3]float64{d.X, d.Y, d.Z}, [3]float64{p.X, p.Y, p.Z}, [3]float64{g.low.X, g.low.Y, g.low.Z}
	var step [3]int
	var until, per [3]float64
	for k := range 3 {
		step[k], until[k], per[k] = 1, math.Inf(1), math.Inf(1)
		if dir[k] < 0 {
			step[k] = -1
		}
		if dir[k] != 0 {
			edge := low[k] + float64(c[k]+(step[k]+1)/2)*g.size
			until[k], per[k] = (edge-at[k])/dir[k], g.size/math.Abs(dir[k])
		}
	}
	hit, distance = -1, math.Inf(1)
	for {
		cell := (c[2]*g.n[1]+c[1])*g.n[0] + c[0]
		for _, t := range g.file[g.start[cell]:g.start[cell+1]] {
			if int(t) == from {
				continue
			}
			if s, ok := g.m.leaves(int(t), p, d); ok && s < distance {
				hit, distance = int(t), s
			}
		}
		k := 0
		if until[1] < until[0] {
			k = 1
		}
		if until[2] < until[k] {
			k = 2
		}
		if distance <= until[k] {
			return hit, distance
		}
		c[k] += step[k]
		until[k] += per[k]
		if c[k] < 0 || c[k] >= g.n[k] {
			return hit, distance
		}
	}
}

// leaves returns how far from p along d a ray comes out through triangle t.
func (m *Mesh) leaves(t int, p, d r3.Vec) (float64, bool) {
	a, b, c := m.Corners(t)
	ab, ac := r3.Sub(b, a), r3.Sub(c, a)
	q := r3.Cross(d, ac)
	det := r3.Dot(ab, q)
	if det >= 0 { // enters, or runs along
		return 0, false
	}
	s := r3.Sub(p, a)
	u := r3.Dot(s, q) / det
	if u < 0 || u > 1 {
		return 0, false
	}
	r := r3.Cross(s, ab)
	v := r3.Dot(d, r) / det
	if v < 0 || u+v > 1 {
		return 0, false
	}
	distance := r3.Dot(ac, r) / det
	return distance, distance > 1e-6
}

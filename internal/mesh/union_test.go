package mesh

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// A block sunk into a wire ring: volume, area and walls do not depend on the
// order in which corners and shells stand in the file, nor on a shell that is
// inside out.
func TestUnionDoesNotDependOnOrder(t *testing.T) {
	if testing.Short() {
		t.Skip("every order of the vertices")
	}
	ring := Torus(10, 1.2, 180, 36)
	block := Box(r3.Vec{X: -1, Y: 9, Z: -0.5}, r3.Vec{X: 1, Y: 13, Z: 0.5})
	const shared = 0.15 // mm³, of what a thousand lines each way miss of some 3 mm³
	first := measure(t, both(ring, block))
	require.InDelta(t, 285.867, first.VolumeMM3, 1.0, "of the round solid; the facets are smaller by 0.3 %")
	require.Equal(t, 1, first.Bodies)
	for seed := range uint64(6) {
		rng := rand.New(rand.NewPCG(seed, 1))
		m := both(block, ring)
		if seed%2 == 0 {
			m = both(ring, block)
		}
		if seed%3 == 0 { // the block inside out
			for i, tr := range m.T {
				if r3.Norm(m.V[tr[0]].Vec()) > 12.5 || r3.Norm(m.V[tr[1]].Vec()) > 12.5 || r3.Norm(m.V[tr[2]].Vec()) > 12.5 {
					m.turn([]int32{int32(i)})
				}
			}
		}
		to := rng.Perm(len(m.V))
		shuffled := &Mesh{V: make([]Point, len(m.V))}
		for i, p := range m.V {
			shuffled.V[to[i]] = p
		}
		for _, i := range rng.Perm(len(m.T)) {
			var tr Triangle
			k := rng.IntN(3)
			for c := range tr {
				tr[c] = int32(to[m.T[i][(c+k)%3]])
			}
			shuffled.T = append(shuffled.T, tr)
		}
		out := measure(t, shuffled)
		require.InDelta(t, first.VolumeMM3, out.VolumeMM3, shared, "seed %d", seed)
		require.InDelta(t, first.AreaMM2, out.AreaMM2, 0.05)
		require.InEpsilon(t, first.Thickness.ThinnestMM, out.Thickness.ThinnestMM, wallError)
	}
}

func TestBodiesHollowsAndSizesAreSaid(t *testing.T) {
	codes := func(out Out) (list []string) {
		for _, w := range out.Cautions {
			list = append(list, w.Code)
		}
		return list
	}
	two := measure(t, both(Torus(10, 1, 90, 24), Box(r3.Vec{X: 30}, r3.Vec{X: 34, Y: 4, Z: 4})))
	require.Equal(t, 2, two.Bodies)
	require.False(t, two.Sound)
	require.Equal(t, "bodies", two.Flaws[0].Code)
	require.InDelta(t, 30, two.Flaws[0].At.XMM, 4)

	inches, err := Measure(t.Context(), In{Pattern: Of(Torus(1.2, 0.08, 90, 24)), Thickness: true})
	require.NoError(t, err)
	require.Contains(t, codes(inches), "mesh_size")
	require.Contains(t, codes(inches), "mesh_wall_does_not_fill")

	hollow := measure(t, both(Box(r3.Vec{}, r3.Vec{X: 9, Y: 9, Z: 9}), turnedIn(Sphere(r3.Vec{X: 4, Y: 4, Z: 4}, 2, 3))))
	require.Equal(t, "cavities", hollow.Flaws[0].Code)
	require.Equal(t, 1, hollow.Bodies)

	thin := measure(t, Box(r3.Vec{}, r3.Vec{X: 20, Y: 9, Z: 0.8}))
	require.Contains(t, codes(thin), "mesh_wall_thin")
	require.NotContains(t, codes(measure(t, Box(r3.Vec{}, r3.Vec{X: 20, Y: 9, Z: 2}))), "mesh_wall_thin")
}

// A cuff open by 40 degrees.
func TestGapOfACuff(t *testing.T) {
	var m Mesh
	const places = 160
	b := builder{}
	at := func(i, j int) r3.Vec {
		deg := 20.3 + 320*float64(i)/places
		r := []float64{29, 31, 31, 29}[j%4]
		z := []float64{0, 0, 5, 5}[j%4]
		return turned(int(deg*1000), 360000, r, z)
	}
	for i := range places {
		for j := range 4 {
			b.triangle(at(i, j), at(i+1, j), at(i+1, j+1))
			b.triangle(at(i, j), at(i+1, j+1), at(i, j+1))
		}
	}
	for _, i := range []int{0, places} {
		p, q, r, s := at(i, 0), at(i, 1), at(i, 2), at(i, 3)
		if i > 0 {
			q, s = s, q
		}
		b.triangle(p, q, r)
		b.triangle(p, r, s)
	}
	m = *b.mesh()
	out := measure(t, &m)
	require.NotNil(t, out.Ring)
	require.InDelta(t, 40, out.Ring.GapDeg, 0.05)
}

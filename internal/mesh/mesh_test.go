package mesh

import (
	"bytes"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/section"
)

// stored is the error that 32-bit vertices leave in a volume, relative.
const stored = 1e-6

func TestShapesAreClosedAndConvergeAtSecondOrder(t *testing.T) {
	const R, r = 30.0, 2.5
	for name, c := range map[string]struct {
		volume, area float64
		make         func(level int) *Mesh
	}{
		"torus":  {2 * math.Pi * math.Pi * R * r * r, 4 * math.Pi * math.Pi * R * r, func(l int) *Mesh { return Torus(R, r, 24<<l, 8<<l) }},
		"sphere": {4.0 / 3 * math.Pi * R * R * R, 4 * math.Pi * R * R, func(l int) *Mesh { return Sphere(r3.Vec{X: 5}, R, 2+l) }},
		"cone":   {math.Pi / 3 * 10 * (16 + 8 + 4), math.Pi * (16 + 4 + 6*math.Hypot(10, 2)), func(l int) *Mesh { return Frustum(r3.Vec{X: 1}, r3.Vec{X: 1, Y: 6, Z: 8}, 4, 2, 24<<l) }},
	} {
		var before [2]float64
		for level := range 4 {
			m := c.make(level)
			e := m.Edges(t.Context())
			require.Empty(t, e.Open, name)
			require.Empty(t, e.Excess, name)
			require.Empty(t, e.Turned, name)
			require.Len(t, m.Shells(e), 1, name)
			s := m.Solid()
			now := [2]float64{1 - s.VolumeMM3/c.volume, 1 - s.AreaMM2/c.area}
			for k := range now {
				require.Positive(t, now[k], "%s: an inscribed polyhedron is smaller", name)
				if level > 0 {
					order := math.Log2(before[k] / now[k])
					require.InDelta(t, 2, order, 0.15, "%s level %d: observed order", name, level)
				}
			}
			before = now
		}
	}
}

func TestBoxIsExact(t *testing.T) {
	m := Box(r3.Vec{X: -1, Y: 2, Z: 3}, r3.Vec{X: 4, Y: 9, Z: 5})
	s := m.Solid()
	require.InEpsilon(t, 70, s.VolumeMM3, 1e-14)
	require.InEpsilon(t, 2*(35+14+10), s.AreaMM2, 1e-14)
	require.InDelta(t, 0, r3.Norm(r3.Sub(s.Centre, r3.Vec{X: 1.5, Y: 5.5, Z: 4})), 1e-14)
}

// Pappus gives the volume of a band; the mesh's outline of 96 sides and 360
// places round is low by at most half a percent for the domes.
func TestRingAgreesWithPappus(t *testing.T) {
	for _, shape := range section.Shapes {
		p := section.Uniform(section.Section{Shape: shape, ThicknessMM: 2.2, WidthMM: 6})
		m := Ring(58, p, 360)
		e := m.Edges(t.Context())
		require.Empty(t, append(append(e.Open, e.Excess...), e.Turned...), shape)
		require.InEpsilon(t, p.RingVolume(58), m.Solid().VolumeMM3, 2e-3, shape)
	}
}

func TestWriteThenRead(t *testing.T) {
	m := Torus(20, 2, 30, 12)
	var file bytes.Buffer
	require.NoError(t, m.WriteSTL(&file, "solid ring"))
	got, said, err := Read(&file, "stl")
	require.NoError(t, err)
	require.Empty(t, said)
	require.Len(t, got.V, len(m.V))
	require.InEpsilon(t, m.Solid().VolumeMM3, got.Solid().VolumeMM3, 1e-12)
}

func TestAPanicOnAnyCoreIsTheCallers(t *testing.T) {
	require.Panics(t, func() {
		Parallel(t.Context(), 64, func(i int) {
			if i == 63 {
				panic("here")
			}
		})
	})
}

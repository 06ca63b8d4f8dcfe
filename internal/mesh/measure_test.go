package mesh

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/calc"
	"pourwright/internal/section"
)

func measure(t *testing.T, m *Mesh) Out {
	t.Helper()
	out, err := Measure(context.Background(), In{Pattern: Of(m), Thickness: true})
	require.NoError(t, err)
	return out
}

// refused returns the first fault of a surface that must be refused.
func refused(t *testing.T, m *Mesh) calc.Fault {
	t.Helper()
	_, err := Measure(context.Background(), In{Pattern: Of(m)})
	var r *calc.Refusal
	require.True(t, errors.As(err, &r), "%v", err)
	return r.Faults[0]
}

func TestMeasureRing(t *testing.T) {
	band := section.Uniform(section.Section{Shape: section.Rectangular, ThicknessMM: 2, WidthMM: 6})
	m := Ring(58, band, 360)
	turn := r3.NewRotation(0.7, r3.Vec{X: 1, Y: 2, Z: -1})
	for i, p := range m.V { // lying anywhere
		m.V[i] = point(r3.Add(turn.Rotate(p.Vec()), r3.Vec{X: 11, Y: -7, Z: 3}))
	}
	out := measure(t, m)
	require.True(t, out.Sound)
	require.Equal(t, 1, out.Holes)
	require.NotNil(t, out.Ring)
	chord := 58 * (1 - math.Cos(math.Pi/360)) // the facets' chords lie inside the circle
	require.InDelta(t, 58-chord, out.Ring.InsideDiameterMM, 1e-3)
	require.InDelta(t, 62, out.Ring.OutsideMM, 1e-3)
	require.InDelta(t, 6, out.Ring.WidthMM, 1e-4)
	require.Zero(t, out.Ring.GapDeg)
	want := turn.Rotate(r3.Vec{Z: 1})
	axis := r3.Vec{X: out.Ring.Axis.XMM, Y: out.Ring.Axis.YMM, Z: out.Ring.Axis.ZMM}
	require.InDelta(t, 1, math.Abs(r3.Dot(want, axis)), 1e-9)
	require.InDelta(t, 2, out.Thickness.ThinnestMM, 5e-3, "the facets are 0.009 mm short of round")
	require.InDelta(t, 2, out.Thickness.P5MM, 5e-3)
}

func TestMeasureOvalCuff(t *testing.T) {
	m := Ring(58, section.Uniform(section.Section{Shape: section.D, ThicknessMM: 2, WidthMM: 6}), 180)
	for i := range m.V {
		m.V[i][0] *= 1.2
	}
	out := measure(t, m)
	require.InDelta(t, 58, out.Ring.ShortestMM, 0.02)
	require.InDelta(t, 69.6, out.Ring.LongestMM, 0.02)
}

func TestMeasureBlockIsNoRing(t *testing.T) {
	out := measure(t, Box(r3.Vec{}, r3.Vec{X: 20, Y: 10, Z: 4}))
	require.Nil(t, out.Ring)
	require.Equal(t, 0, out.Holes)
	require.InDelta(t, 4, out.Thickness.ThinnestMM, 1e-6)
	require.InDelta(t, 800.0, out.VolumeMM3, 1e-9)
}

func TestThinnestPlaceIsFound(t *testing.T) {
	p := section.Profile{
		{AtPct: 0, Section: section.Section{Shape: section.Rectangular, ThicknessMM: 2, WidthMM: 6}},
		{AtPct: 48, Section: section.Section{Shape: section.Rectangular, ThicknessMM: 2, WidthMM: 6}},
		{AtPct: 50, Section: section.Section{Shape: section.Rectangular, ThicknessMM: 0.8, WidthMM: 6}},
		{AtPct: 52, Section: section.Section{Shape: section.Rectangular, ThicknessMM: 2, WidthMM: 6}},
		{AtPct: 100, Section: section.Section{Shape: section.Rectangular, ThicknessMM: 2, WidthMM: 6}},
	}
	out := measure(t, Ring(20, p, 400))
	require.InDelta(t, 0.8, out.Thickness.ThinnestMM, 0.03)
	require.Less(t, out.Thickness.At.XMM, -9.9, "half way round")
}

func TestSafeRepairs(t *testing.T) {
	if testing.Short() {
		t.Skip("every facet left out or turned")
	}
	good := func() *Mesh { return Sphere(r3.Vec{X: 3}, 5, 3) }
	volume := good().Solid().VolumeMM3
	for name, spoil := range map[string]func(m *Mesh){
		"left out":  func(m *Mesh) { m.T = append(m.T, Triangle{4, 4, 9}) },
		"lay on":    func(m *Mesh) { m.T = append(m.T, m.T[17]) },
		"wrong way": func(m *Mesh) { m.T[7][0], m.T[7][1] = m.T[7][1], m.T[7][0] },
		"inside out": func(m *Mesh) {
			for i := range m.T {
				m.turn([]int32{int32(i)})
			}
		},
		"joined": func(m *Mesh) {
			p := m.V[m.T[30][0]]
			p[1] += 1e-3
			m.V = append(m.V, p)
			m.T[30][0] = int32(len(m.V) - 1)
		},
	} {
		t.Run(name, func(t *testing.T) {
			m := good()
			spoil(m)
			out := measure(t, m)
			require.InEpsilon(t, volume, out.VolumeMM3, stored)
			require.False(t, out.Sound)
			require.Len(t, out.Repairs, 1)
			require.Contains(t, out.Repairs[0], name)
		})
	}
	// A hole of one facet in 1280 is below a thousandth of the surface.
	m := good()
	m.T = m.T[1:]
	out := measure(t, m)
	require.Contains(t, out.Repairs[0], "1 small holes were closed")
	require.InEpsilon(t, volume, out.VolumeMM3, stored)
}

func TestDamageIsRefusedWithItsPlace(t *testing.T) {
	m := Box(r3.Vec{}, r3.Vec{X: 20, Y: 10, Z: 4})
	m.T = m.T[2:] // the face z = 0
	f := refused(t, m)
	require.Equal(t, "open_edges", f.Value)
	require.Contains(t, f.Accepts, "4 edges")
	require.Contains(t, f.Accepts, "z 0 mm")

	m = Box(r3.Vec{}, r3.Vec{X: 20, Y: 10, Z: 4}) // a fin on an edge
	m.V = append(m.V, Point{10, -5, 0})
	m.T = append(m.T, Triangle{0, 1, 8})
	require.Equal(t, "open_edges", refused(t, m).Value)

	m = Box(r3.Vec{}, r3.Vec{X: 20, Y: 10, Z: 4}) // one inside the other, both facing outwards
	m.Append(Box(r3.Vec{X: 5, Y: 5, Z: 1}, r3.Vec{X: 6, Y: 6, Z: 2}))
	f = refused(t, m)
	require.Equal(t, "nested_shells", f.Value)
	require.Contains(t, f.Accepts, "x 5, y 5, z 1")

	require.Contains(t, refused(t, Box(r3.Vec{}, r3.Vec{X: 2000, Y: 10, Z: 4})).Accepts, "2000 mm")
}

func TestCavityIsToldAndTakenOff(t *testing.T) {
	m := Box(r3.Vec{}, r3.Vec{X: 20, Y: 10, Z: 4})
	hollow := Box(r3.Vec{X: 5, Y: 5, Z: 1}, r3.Vec{X: 6, Y: 6, Z: 2})
	for i := range hollow.T {
		hollow.turn([]int32{int32(i)})
	}
	m.Append(hollow)
	out := measure(t, m)
	require.InDelta(t, 799, out.VolumeMM3, 1e-9)
	require.Equal(t, "cavities", out.Flaws[0].Code)
	require.Equal(t, 1, out.Shells[1].Depth)
}

// Two bars that cross share 2 × 2 × 2 mm.
func TestOverlapCountsOnce(t *testing.T) {
	m := Box(r3.Vec{X: -10, Y: -1, Z: -1}, r3.Vec{X: 10, Y: 1, Z: 1})
	m.Append(Box(r3.Vec{X: -1, Y: -10, Z: -1}, r3.Vec{X: 1, Y: 10, Z: 1}))
	out := measure(t, m)
	require.True(t, out.Sound, "one solid of two bars")
	require.Equal(t, 1, out.Bodies)
	require.InEpsilon(t, 80+80-8, out.VolumeMM3, 1e-3)
	require.InEpsilon(t, 2*76+2*80, out.AreaMM2, 1e-3)
}

func TestLinesMeasureTheSolid(t *testing.T) {
	m := Torus(20, 2, 90, 24)
	l := m.cover(t.Context(), 400)
	sum := 0.0
	for iz := range l.NZ {
		for iy := range l.NY {
			l.Stretches(iy, iz, func(from, to float64) { sum += (to - from) * l.Step * l.Step })
		}
	}
	require.InEpsilon(t, m.Solid().VolumeMM3, sum, 2e-3, "lines 0.11 mm apart through a wire of 4 mm")
	require.InEpsilon(t, m.Solid().VolumeMM3, m.UnionVolume(t.Context(), 400), 1e-12, "nothing is shared")
	box := Box(r3.Vec{}, r3.Vec{X: 8, Y: 8, Z: 8}) // lines through edges and the diagonals of faces
	l = box.Lines(t.Context(), 0, 0, 1, 9, 9)
	inside := 0
	for iz := range 9 {
		for iy := range 9 {
			n := len(l.Line(iy, iz))
			require.Contains(t, []int{0, 2}, n)
			inside += n / 2
		}
	}
	require.Equal(t, 64, inside, "of the lines on the rim, those of two sides count")
}

func TestASCII(t *testing.T) {
	m := Sphere(r3.Vec{}, 5, 1)
	var b strings.Builder
	b.WriteString("SOLID ball\r\n")
	for _, tr := range m.T {
		b.WriteString("facet normal 0 0 0\n outer loop\n")
		for _, v := range tr {
			fmt.Fprintf(&b, "  vertex %g %g %g\n", m.V[v][0], m.V[v][1], m.V[v][2])
		}
		b.WriteString(" endloop\nendfacet\n")
	}
	got, _, err := Read(strings.NewReader(b.String()+"endsolid ball\n"), "stl")
	require.NoError(t, err)
	require.Equal(t, m.V, got.V)
	require.Equal(t, m.T, got.T)
	_, _, err = Read(strings.NewReader(b.String()), "stl")
	require.ErrorContains(t, err, "cut short")
}

func TestBadFiles(t *testing.T) {
	var file bytes.Buffer
	require.NoError(t, Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1}).WriteSTL(&file, "box"))
	good := file.Bytes()
	with := func(at int, v uint32) []byte {
		b := bytes.Clone(good)
		binary.LittleEndian.PutUint32(b[at:], v)
		return b
	}
	for want, b := range map[string][]byte{
		"0 bytes":              {},
		"fewer than the 84":    good[:40],
		"cut short: 11":        good[:len(good)-1],
		"holds no triangle":    with(80, 0)[:84],
		"goes on for 600":      with(80, 0),
		"claims 4294967295":    with(80, math.MaxUint32),
		"cut short: 12":        with(80, 1_300_000),
		"in triangle 1":        with(84+12, math.Float32bits(float32(math.NaN()))),
		"in triangle 2":        with(84+50+20, math.Float32bits(float32(math.Inf(-1)))),
		"unknown word":         []byte("solid x\nfacette"),
		"is no number, in":     []byte("solid x\nfacet\nvertex 1 2 NaN"),
		"facet of 2 corners":   []byte("solid\nfacet\nvertex 0 0 0\nvertex 0 0 1\nendfacet"),
		"endsolid":             []byte("solid " + strings.Repeat(" ", 200)),
		"cannot be read after": []byte("solid x\n" + strings.Repeat("y", 10000)),
	} {
		_, _, err := Read(bytes.NewReader(b), "stl")
		var r *calc.Refusal
		require.True(t, errors.As(err, &r), want)
		require.Contains(t, r.Error(), want)
	}
	extra, said, err := Read(bytes.NewReader(append(bytes.Clone(good), 0, 0)), "stl")
	require.NoError(t, err)
	require.Len(t, extra.T, 12)
	require.Contains(t, said[0], "2 stray bytes")
}

// A facet that ends just at a line has that line among those it is tried
// with: else a line through an edge may be lost to the facets on both sides.
func TestSpanHoldsTheLinesAtItsEnds(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for range 2000 {
		origin, step := -10*rng.Float64(), 0.05+rng.Float64()
		first, last := 3+rng.IntN(40), 50+rng.IntN(40)
		at := func(i int) float64 { return origin + float64(i)*step }
		f, l := span(at(first), at(last), origin, step, 0, 200)
		require.Equal(t, []int{first, last}, []int{f, l}, "origin %v, step %v", origin, step)
	}
}

// A file that claims a million triangles and brings none costs no memory.
func TestClaimsCostNothing(t *testing.T) {
	head := make([]byte, headerSize)
	binary.LittleEndian.PutUint32(head[80:], MaxTriangles)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	_, _, err := Read(bytes.NewReader(head), "stl")
	runtime.ReadMemStats(&after)
	require.Error(t, err)
	require.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(2<<20), "the buffers, not the claim")
}

// The rims of a knife-edge band run out to nothing and are no walls.
func TestRimsAreNoWalls(t *testing.T) {
	if testing.Short() {
		t.Skip("measures walls for seconds")
	}
	for _, shape := range section.Shapes {
		out := measure(t, Ring(58, section.Uniform(section.Section{Shape: shape, ThicknessMM: 2.2, WidthMM: 6}), 90))
		if shape == section.KnifeEdge {
			inside := 2.2 * 6 / (6 + 2*math.Hypot(3, 2.2)) // area over outline, twice: of the circle in the triangle
			require.InEpsilon(t, 2*inside, out.Thickness.ThinnestMM, wallError, "its edges are no walls")
			continue
		}
		require.Greater(t, out.Thickness.ThinnestMM, 1.0, shape)
	}
}

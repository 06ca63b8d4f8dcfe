package former

import (
	"bytes"
	"compress/zlib"
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/mesh"
	"pourwright/internal/section"
)

func ask(edit func(*In)) In {
	in := calc.Default[In]()
	in.InsideDiameterMM = ptr(62.9)
	edit(&in)
	return in
}

func ptr[T any](v T) *T { return &v }

func solidOf(t require.TestingT, in In) (*plan, *solid) {
	p, s, err := build(context.Background(), &in)
	require.NoError(t, err)
	require.NoError(t, s.closed())
	return p, s
}

// TestCutterMeasured: the STL, read back, has one closed shell with one handle
// and the right inside diameter to 0.01 mm.
func TestCutterMeasured(t *testing.T) {
	for _, d := range []float64{17.32, 62.9, 110} {
		in := ask(func(in *In) { in.Kind, in.InsideDiameterMM, in.Label = Cutter, &d, ptr("") })
		stl, err := STL(context.Background(), in, Out{})
		require.NoError(t, err)
		out, err := mesh.Measure(context.Background(), mesh.In{Pattern: pattern(t, stl)})
		require.NoError(t, err)
		require.True(t, out.Sound, "%v %v", out.Repairs, out.Flaws)
		require.Equal(t, 1, out.ShellCount)
		require.Equal(t, 1, out.Holes)
		require.NotNil(t, out.Ring)
		require.InDelta(t, d, out.Ring.InsideDiameterMM, 0.01)
		require.InDelta(t, d, out.Ring.LongestMM, 0.01)
	}
}

// TestLabelledMeasured: with its label a former is still sound, and sunk
// strokes take just their own volume.
func TestLabelledMeasured(t *testing.T) {
	for _, kind := range []string{Disc, Cutter, Strip, Wedge} {
		plain := ask(func(in *In) { in.Kind, in.Label = kind, ptr("") })
		marked := ask(func(in *In) { in.Kind, in.Label = kind, ptr("62.9") })
		stl, err := STL(context.Background(), marked, Out{})
		require.NoError(t, err)
		out, err := mesh.Measure(context.Background(), mesh.In{Pattern: pattern(t, stl)})
		require.NoError(t, err)
		require.True(t, out.Sound, "%s: %v %v", kind, out.Repairs, out.Flaws)
		p, s := solidOf(t, marked)
		_, bare := solidOf(t, plain)
		bars := 0.0
		for _, b := range write("62.9", vec2{}, p.labelMM) {
			bars += math.Hypot(b[1].x-b[0].x, b[1].y-b[0].y) * math.Hypot(b[2].x-b[1].x, b[2].y-b[1].y)
		}
		require.InDelta(t, bare.volume()+bars*p.relief, s.volume(), 1e-6*s.volume(), kind)
		require.InDelta(t, s.volume(), out.VolumeMM3, 1e-5*s.volume(), kind) // float32 corners
	}
}

func pattern(t require.TestingT, stl []byte) (p mesh.Pattern) {
	require.NoError(t, p.ReadBody(bytes.NewReader(stl)))
	p.Unit = "mm"
	return p
}

// TestDiscDiameters: the corners of the disc lie on the true circles: its size
// at the height asked for, and the draft above and below.
func TestDiscDiameters(t *testing.T) {
	for at, z0 := range map[string]float64{"bottom": 0, "middle": 5, "top": 10} {
		_, s := solidOf(t, ask(func(in *In) { in.SizeAt, in.GripHeightMM, in.Label = at, 0, ptr("") }))
		seen := 0
		for _, v := range s.v {
			want := 62.9/2 + (v.Z-z0)*math.Tan(2*math.Pi/180)
			require.InDelta(t, want, math.Hypot(v.X, v.Y), 1e-9)
			seen++
		}
		require.Equal(t, 2*around, seen)
	}
}

// TestVolumes: frustum of a cone, h/3 (A + a + √(Aa)); wedge without draft; a polygon of n sides is short of its circle by
// 1 - sin(2π/n)/(2π/n).
func TestVolumes(t *testing.T) {
	_, s := solidOf(t, ask(func(in *In) { in.GripHeightMM, in.Label = 0, ptr("") }))
	lean := 5 * math.Tan(2*math.Pi/180)
	a, b := 62.9/2-lean, 62.9/2+lean
	short := math.Sin(2*math.Pi/around) / (2 * math.Pi / around)
	require.InEpsilon(t, math.Pi*10/3*(a*a+a*b+b*b)*short, s.volume(), 1e-9)
	_, s = solidOf(t, ask(func(in *In) { in.Kind, in.DraftDeg, in.Label = Wedge, 0, ptr("") }))
	// l w (foot + tip)/2.
	require.InEpsilon(t, 120*15*(2.5+0.2)/2, s.volume(), 1e-9)
	p, s := solidOf(t, ask(func(in *In) { in.Kind, in.Label = Strip, ptr("") }))
	require.InEpsilon(t, math.Pi*(62.9-1)*10*1, s.volume(), 1e-9)
	require.InDelta(t, math.Pi*63.9, p.StripOutsideMM, 1e-9)
}

// TestClosedWhatever: any former that is accepted is closed, turned outwards,
// and its solid is the sum of its parts.
func TestClosedWhatever(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := calc.Default[In]()
		in.Kind = rapid.SampledFrom([]string{Disc, Cutter, Strip, Wedge}).Draw(t, "kind")
		w := rapid.Float64Range(8, 100).Draw(t, "w")
		in.InsideWidthMM, in.InsideHeightMM = &w, ptr(min(130, max(8, w*rapid.Float64Range(0.45, 2.2).Draw(t, "ratio"))))
		in.Label = ptr(rapid.StringMatching(`[0-9A-Z./+\-]{0,9}`).Draw(t, "label"))
		in.DraftDeg = rapid.Float64Range(0, 15).Draw(t, "draft")
		in.DepthMM = rapid.Float64Range(2, 40).Draw(t, "depth")
		in.SizeAt = rapid.SampledFrom([]string{"bottom", "middle", "top"}).Draw(t, "at")
		in.GripHeightMM = rapid.SampledFrom([]float64{0, 10, 25}).Draw(t, "grip")
		in.FlangeMM = rapid.Float64Range(4, 20).Draw(t, "flange")
		in.WallMM = rapid.Float64Range(0.6, 5).Draw(t, "wall")
		in.Relief = rapid.SampledFrom([]string{"raised", "sunk"}).Draw(t, "relief")
		in.LabelMM = rapid.Float64Range(2, 15).Draw(t, "text")
		p, s, err := build(context.Background(), &in)
		if err != nil {
			var r *calc.Refusal
			require.ErrorAs(t, err, &r)
			require.ErrorContains(t, err, "draft_deg: ")
			return
		}
		require.NoError(t, s.closed())
		require.Positive(t, s.volume())
		if in.Kind != Wedge {
			require.InDelta(t, section.EllipsePerimeter(p.WidthMM/2, p.HeightMM/2), p.CircumferenceMM, 1e-9)
		}
	})
}

// TestBarsStandApart: no two bars of any character, or of neighbours, touch.
func TestBarsStandApart(t *testing.T) {
	all := ""
	for r := range glyphs {
		all += string(r) + string(r)
	}
	all += "0123456789.1.0/2-3+ABCDEFGHIJKLMNOPQRSTUVWXYZ"
	bars := write(all, vec2{}, 2+stroke)
	require.Greater(t, len(bars), 300)
	const clear = 0.02 // in units of half the height; gap is 0.12 square on, less at a slant
	for i, a := range bars {
		require.Positive(t, cross(a[0], a[1], a[2]))
		for _, b := range bars[:i] {
			require.Greater(t, apart(a, b), clear, "%v %v", a, b)
		}
	}
}

// apart is the widest clear strip between two rectangles along any of their
// sides' normals; positive when they do not touch (separating axes).
func apart(a, b bar) float64 {
	best := math.Inf(-1)
	for _, r := range []bar{a, b} {
		for k := range 2 {
			nx, ny := r[k+1].y-r[k].y, r[k].x-r[k+1].x
			l := math.Hypot(nx, ny)
			span := func(r bar) (lo, hi float64) {
				lo, hi = math.Inf(1), math.Inf(-1)
				for _, c := range r {
					d := (c.x*nx + c.y*ny) / l
					lo, hi = min(lo, d), max(hi, d)
				}
				return
			}
			alo, ahi := span(a)
			blo, bhi := span(b)
			best = max(best, blo-ahi, alo-bhi)
		}
	}
	return best
}

func TestLabelWidth(t *testing.T) {
	for _, text := range []string{"1", "62.90", "N1/2", "A", "10.10", "8-8"} {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, b := range write(text, vec2{7, 3}, 5) {
			for _, c := range b {
				lo, hi = min(lo, c.x), max(hi, c.x)
			}
		}
		require.GreaterOrEqual(t, lo, 7-labelWidth(text, 5)/2-1e-9, text)
		require.LessOrEqual(t, hi, 7+labelWidth(text, 5)/2+1e-9, text)
	}
}

// TestTriangulate: random stars with holes: the area is kept (by the function's
// own check), the count follows Euler, and no triangle runs clockwise.
func TestTriangulate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var pts []vec2
		n := rapid.IntRange(4, 40).Draw(t, "corners")
		var outline []int
		for i := range n {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			r := rapid.Float64Range(20, 40).Draw(t, "r")
			outline = append(outline, len(pts))
			pts = append(pts, vec2{r * cos, r * sin})
		}
		var holes [][]int
		corners := n
		for gx := -1; gx <= 1; gx++ { // squares within 20 cos 45° of the middle, where no star of 4 corners or more comes
			for gy := -1; gy <= 1; gy++ {
				if !rapid.Bool().Draw(t, "hole") {
					continue
				}
				c := vec2{5 * float64(gx), 5 * float64(gy)}
				r := rapid.Float64Range(0.2, 2).Draw(t, "size")
				turn := rapid.Float64Range(0, math.Pi).Draw(t, "turn")
				var h []int
				for k := range 4 {
					sin, cos := math.Sincos(turn + math.Pi/2*float64(k))
					h = append(h, len(pts))
					pts = append(pts, vec2{c.x + r*cos, c.y + r*sin})
				}
				holes = append(holes, h)
				corners += 4
			}
		}
		got, err := triangulate(func(i int) vec2 { return pts[i] }, outline, holes)
		require.NoError(t, err)
		require.Len(t, got, corners+2*len(holes)-2)
		for _, tri := range got {
			require.Positive(t, cross(pts[tri[0]], pts[tri[1]], pts[tri[2]]))
		}
	})
}

// TestOpenIsFound: the check of closedness fails on what is not closed.
func TestOpenIsFound(t *testing.T) {
	_, s := solidOf(t, ask(func(*In) {}))
	open := *s
	open.t = s.t[1:]
	require.Error(t, open.closed())
	turned := *s
	turned.t = append([][3]int{{s.t[0][1], s.t[0][0], s.t[0][2]}}, s.t[1:]...)
	require.Error(t, turned.closed())
	flat := *s
	flat.v = append([]r3.Vec{}, s.v...)
	flat.v[s.t[0][0]] = flat.v[s.t[0][1]]
	require.Error(t, flat.closed())
}

// TestTemplateTrue: the PDF's page is of the paper's size, its unit is the mm,
// and outline and scale bar have their lengths on it.
func TestTemplateTrue(t *testing.T) {
	const point = 25.4 / 72 // mm
	for paper, size := range map[string][2]float64{"a4": {210, 297}, "letter": {215.9, 279.4}} {
		in := ask(func(in *In) { in.Paper = paper })
		pdf, err := PDF(context.Background(), in, Out{})
		require.NoError(t, err)
		box := numbers(t, regexp.MustCompile(`/MediaBox ?\[ ?0 0 ([0-9.]+) ([0-9.]+)`).FindSubmatch(pdf))
		require.InDelta(t, size[0], box[0]*point, 0.001)
		require.InDelta(t, size[1], box[1]*point, 0.001)
		page := content(t, pdf)
		unit := numbers(t, regexp.MustCompile(`^([0-9.]+) 0 0 ([0-9.]+) 0 0 cm`).FindSubmatch(page))
		require.InDelta(t, 1, unit[0]*point, 1e-6)
		require.Equal(t, unit[0], unit[1])
		// Four curves from the right through top and left: the first point and the sixth's are the width apart.
		curve := `[0-9.]+ [0-9.]+ [0-9.]+ [0-9.]+ ([0-9.]+) ([0-9.]+) c `
		round := numbers(t, regexp.MustCompile(`([0-9.]+) ([0-9.]+) m `+curve+curve+curve+curve).FindSubmatch(page))
		require.InDelta(t, 62.9, round[0]-round[4], 0.001)
		require.InDelta(t, 62.9, math.Abs(round[3]-round[7]), 0.001)
		bar := numbers(t, regexp.MustCompile(`([0-9.]+) ([0-9.]+) m [0-9.]+ [0-9.]+ l ([0-9.]+) [0-9.]+ l [0-9.]+ [0-9.]+ l (?:h )?[sS]`).FindSubmatch(page))
		require.InDelta(t, barMM, bar[2]-bar[0], 0.001)
		svg, err := SVG(context.Background(), in, Out{})
		require.NoError(t, err)
		require.Contains(t, string(svg), fmt.Sprintf(`width="%gmm"`, size[0]))
	}
}

// content is the first page's drawing.
func content(t *testing.T, pdf []byte) []byte {
	for _, at := range regexp.MustCompile(`stream\r?\n`).FindAllIndex(pdf, -1) {
		r, err := zlib.NewReader(bytes.NewReader(pdf[at[1]:]))
		if err != nil {
			continue
		}
		text, _ := io.ReadAll(r)
		if bytes.Contains(text[:min(len(text), 100)], []byte(" cm ")) {
			return text
		}
	}
	require.Fail(t, "no page content")
	return nil
}

func numbers(t *testing.T, match [][]byte) (list []float64) {
	require.NotNil(t, match)
	for _, m := range match[1:] {
		v, err := strconv.ParseFloat(string(m), 64)
		require.NoError(t, err)
		list = append(list, v)
	}
	return list
}

// TestStripPages: the parts of a long strip add up to its length.
func TestStripPages(t *testing.T) {
	in := ask(func(in *In) { in.Kind, in.InsideDiameterMM = Strip, ptr(110.0) })
	out, err := Plan(context.Background(), in)
	require.NoError(t, err)
	require.Equal(t, 2, out.Sheets)
	pdf, err := PDF(context.Background(), in, out)
	require.NoError(t, err)
	require.Len(t, regexp.MustCompile(`/Type ?/Page[^s]`).FindAll(pdf, -1), 2)
}

func TestFormerRefused(t *testing.T) {
	for field, edit := range map[string]func(*In){
		"kind":               func(in *In) { in.Kind = "cube" },
		"inside_diameter_mm": func(in *In) { in.RingSize, in.RingSystem = "7", "us" },
		"ring_size":          func(in *In) { in.InsideDiameterMM, in.RingSize = nil, "14" },
		"alloy":              func(in *In) { in.SizeIs = "finished" },
		"label":              func(in *In) { in.Label = ptr("é") },
		"wedge_tip_mm":       func(in *In) { in.WedgeTipMM = 3 },
		"depth_mm":           func(in *In) { in.DepthMM = math.NaN() },
		"paper":              func(in *In) { in.Paper = "A3" },
	} {
		_, err := Plan(context.Background(), ask(edit))
		require.ErrorContains(t, err, field+":")
	}
}

// TestFinishedSize: a ring of US 7 (d = 0.458 + 0.032 × 7 in) in an alloy that
// contracts 1.5 %, 0.1 mm to be filed off inside.
func TestFinishedSize(t *testing.T) {
	out, err := Plan(context.Background(), ask(func(in *In) {
		in.InsideDiameterMM, in.RingSystem, in.RingSize, in.ContractionPct = nil, "us", "7", ptr(1.5)
	}))
	require.NoError(t, err)
	require.InDelta(t, (25.4*(0.458+0.224)-0.2)*1.015, out.WidthMM, 1e-9)
	require.True(t, out.Watertight)
}

// TestCompensation: an impression 1 % larger than its former and faces that
// print 0.1 mm proud: a disc is made smaller by both; a cutter, whose inside
// prints too small, larger by the second. The flange is as broad as asked for.
func TestCompensation(t *testing.T) {
	for kind, want := range map[string]float64{Disc: 60.6/1.01 - 0.2, Cutter: 60.6/1.01 + 0.2} {
		in := ask(func(in *In) {
			in.Kind, in.InsideDiameterMM, in.SpringBackPct, in.PrinterOffsetMM = kind, ptr(60.6), 1, 0.1
		})
		p, s := solidOf(t, in)
		require.InDelta(t, want, p.WidthMM, 1e-9, kind)
		broadest := 0.0
		for _, v := range s.v {
			broadest = max(broadest, math.Hypot(v.X, v.Y))
		}
		if kind == Cutter {
			require.InDelta(t, want/2+1.6+9, broadest, 1e-9)
		}
	}
}

func TestSameBytes(t *testing.T) {
	in := ask(func(*In) {})
	a, err := STL(context.Background(), in, Out{})
	require.NoError(t, err)
	b, err := STL(context.Background(), in, Out{})
	require.NoError(t, err)
	require.Equal(t, a, b)
	require.EqualValues(t, len(a), 84+50*int(binary.LittleEndian.Uint32(a[80:])))
}

func BenchmarkPlan(b *testing.B) {
	in := ask(func(*In) {})
	for b.Loop() {
		if _, err := Plan(context.Background(), in); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSolidOnly(b *testing.B) { // the baseline: no check, no template
	in := ask(func(*In) {})
	for b.Loop() {
		if _, _, err := build(context.Background(), &in); err != nil {
			b.Fatal(err)
		}
	}
}

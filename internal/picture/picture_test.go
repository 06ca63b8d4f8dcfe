package picture

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/draw"
	"pourwright/internal/section"
)

// TestOutlineIsTheSection: the area and the box of the drawn form are those
// of the section it stands for.
func TestOutlineIsTheSection(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := section.Section{
			Shape:       rapid.SampledFrom(section.Shapes).Draw(t, "shape"),
			ThicknessMM: rapid.Float64Range(0.1, 60).Draw(t, "thickness"),
			WidthMM:     rapid.Float64Range(0.1, 200).Draw(t, "width"),
		}
		form := outline(s)
		area, top, left, right := 0.0, 0.0, 0.0, 0.0
		for i, p := range form {
			q := form[(i+1)%len(form)]
			area += (p.X*q.Y - q.X*p.Y) / 2
			top, left, right = math.Max(top, p.Y), math.Min(left, p.X), math.Max(right, p.X)
		}
		const chords = 1e-3 // of the area: 48 chords for half an ellipse leave out 0.07 %
		if d := math.Abs(area - s.Area()); d > chords*s.Area() {
			t.Fatalf("area %g, section %g", area, s.Area())
		}
		if math.Abs(top-s.ThicknessMM) > 1e-9 || math.Abs(right-left-s.Width()) > 1e-9 {
			t.Fatalf("box %g × %g, section %g × %g", top, right-left, s.ThicknessMM, s.Width())
		}
	})
}

// TestCourseMeasuresByLength: places along an oval are even in its length, not
// in its angle; the whole is the ellipse's perimeter.
func TestCourseMeasuresByLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := Band{
			InsideWidthMM: rapid.Float64Range(10, 100).Draw(t, "width"),
			StartDeg:      rapid.Float64Range(-180, 180).Draw(t, "start"),
		}
		b.InsideHeightMM = b.InsideWidthMM * rapid.Float64Range(0.5, 2).Draw(t, "height over width")
		b.GapMM = rapid.Float64Range(0, 20).Draw(t, "gap")
		k := b.course()
		perimeter := section.EllipsePerimeter(b.InsideWidthMM/2, b.InsideHeightMM/2)
		if math.Abs(k.length-perimeter) > 1e-4*perimeter { // the midpoint rule over 720 steps
			t.Fatalf("length %g, perimeter %g", k.length, perimeter)
		}
		const parts = 200
		for i := range parts {
			p, _ := k.place(float64(i) / parts)
			q, _ := k.place(float64(i+1) / parts)
			step := (k.length - b.GapMM) / parts
			if d := math.Hypot(q.X-p.X, q.Y-p.Y); d > step*1.001 || d < step*0.998 { // a chord for its arc, straight lines between 720 steps
				t.Fatalf("part %d: chord %g, arc %g", i, d, step)
			}
		}
	})
}

func TestPlacesRunClockwiseFromTheStart(t *testing.T) {
	k := Band{InsideWidthMM: 20, StartDeg: 90}.course()
	for _, row := range []struct{ f, x, y, out float64 }{{0, 0, -10, 90}, {0.25, 10, 0, 0}, {0.5, 0, 10, -90}, {0.75, -10, 0, 180}} {
		p, out := k.place(row.f)
		require.InDelta(t, row.x, p.X, 1e-6)
		require.InDelta(t, row.y, p.Y, 1e-6)
		require.InDelta(t, 0, math.Remainder(out-row.out, 360), 1e-6)
	}
	form := placed([]draw.Point{{X: 1, Y: 2}}, 5, 5, 0, 10) // outward to the right: the section's right is below
	require.InDelta(t, 25, form[0].X, 1e-9)
	require.InDelta(t, 15, form[0].Y, 1e-9)
}

// TestPartsDifferInGrey: any two parts of a bar must be told apart in grey
// print, by hatching or by 15 steps of lightness (of 100).
func TestPartsDifferInGrey(t *testing.T) {
	grey := func(c draw.Colour) float64 { // luma of ITU-R BT.601, as printers' drivers make grey
		return (0.299*float64(c.R) + 0.587*float64(c.G) + 0.114*float64(c.B)) / 2.55
	}
	for i, p := range patterns {
		for k, q := range patterns[:i] {
			alike := slices.Equal(p.angles, q.angles) && p.apart == q.apart
			require.True(t, !alike || math.Abs(grey(p.fill)-grey(q.fill)) > 15, "patterns %d and %d", i, k)
		}
	}
}

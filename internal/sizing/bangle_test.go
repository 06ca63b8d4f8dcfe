package sizing

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/section"
)

// TestIndianSizes: 2-n is 2 + n/16 in; charted figures of several retail
// guides, which round through inches (2-2 charted 54, 3-0 charted 76.3).
func TestIndianSizes(t *testing.T) {
	const chart = 0.11 // mm: charts round the diameter to a tenth of a mm or to a hundredth of an inch
	for _, r := range []struct {
		name              string
		exact, c, charted float64
	}{{"2-2", 53.975, 169.57, 54}, {"2-4", 57.150, 179.54, 57.2}, {"2-6", 60.325, 189.52, 60.3}, {"2-8", 63.5, 199.49, 63.5},
		{"2-10", 66.675, 209.47, 66.7}, {"2-12", 69.850, 219.44, 69.9}, {"2-14", 73.025, 229.41, 73.0}, {"3-0", 76.2, 239.39, 76.3}} {
		d, decimal, err := IndianSize(r.name)
		require.NoError(t, err)
		require.False(t, decimal)
		require.InDelta(t, r.exact, d, 1e-9, r.name)
		require.InDelta(t, r.charted, d, chart, r.name)
		require.Equal(t, fmt.Sprintf("%.2f", r.c), fmt.Sprintf("%.2f", math.Pi*d), r.name)
	}
	d, decimal, err := IndianSize("2.4") // the trap: not 2.4 in
	require.NoError(t, err)
	require.True(t, decimal)
	require.InDelta(t, 57.15, d, 1e-9)
	d, _, err = IndianSize("2.10")
	require.NoError(t, err)
	require.InDelta(t, 66.675, d, 1e-9)
	d, _, err = IndianSize("3")
	require.NoError(t, err)
	require.InDelta(t, 76.2, d, 1e-9)
	for _, bad := range []string{"", "2-16", "2--4", "2-+4", "4-0", "0-8", "two", "2-4-6", "2-4 in", "NaN", "60"} {
		_, _, err := IndianSize(bad)
		require.Error(t, err, bad)
	}
}

// TestEllipse: table of Ramanujan's second approximation (Modular equations and
// approximations to π, 1914) and of the exact perimeter; and the perimeter by
// quadrature of the arc length, which shares nothing with either.
func TestEllipse(t *testing.T) {
	const printed = 5e-7 // mm, the tables' last digit
	for _, r := range []struct{ w, h, exact float64 }{{60, 60, 188.495559}, {60, 50, 173.144780}, {65, 55, 188.822951}, {65, 45, 174.218568}, {70, 50, 189.806845}} {
		require.InDelta(t, r.exact, section.EllipsePerimeter(r.w/2, r.h/2), printed, "%g x %g", r.w, r.h)
		require.InDelta(t, r.exact, ramanujan(r.w/2, r.h/2), printed, "%g x %g", r.w, r.h)
	}
	rapid.Check(t, func(t *rapid.T) {
		w, ratio := rapid.Float64Range(10, 100).Draw(t, "width"), rapid.Float64Range(0.2, 1).Draw(t, "ratio")
		a, b := w/2, w*ratio/2
		arc := quad.Fixed(func(x float64) float64 { return math.Hypot(a*math.Sin(x), b*math.Cos(x)) }, 0, math.Pi/2, 80, quad.Legendre{}, 0)
		require.InEpsilon(t, 4*arc, section.EllipsePerimeter(a, b), 1e-10) // 80-point Gauss-Legendre at ratio 0.2
	})
}

func ramanujan(a, b float64) float64 {
	h := (a - b) * (a - b) / ((a + b) * (a + b))
	return math.Pi * (a + b) * (1 + 3*h/(10+math.Sqrt(4-3*h)))
}

func TestEllipseThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, ratio := rapid.Float64Range(10, 100).Draw(t, "width"), rapid.Float64Range(0.05, 1).Draw(t, "ratio")
		p := section.EllipsePerimeter(w/2, w*ratio/2)
		gotW, gotH := EllipseOf(p, ratio)
		require.InEpsilon(t, w, gotW, 1e-12)
		require.InEpsilon(t, w*ratio, gotH, 1e-12)
		// Where the ellipse is flat the perimeter hardly knows the short axis,
		// and the inverse loses digits in proportion: 1e-8 of the width.
		other, ok := EllipseAxis(p, w)
		require.True(t, ok)
		require.InDelta(t, w*ratio, other, 1e-8*w)
		long, ok := EllipseAxis(p, w*ratio)
		require.True(t, ok)
		require.InDelta(t, w, long, 1e-8*w)
	})
	_, ok := EllipseAxis(100, 50)
	require.False(t, ok)
}

func bangle(edit func(*BangleIn)) (BangleOut, error) {
	in := calc.Default[BangleIn]()
	edit(&in)
	return BangleFits(context.Background(), in)
}

func ptr(v float64) *float64 { return &v }

// TestSilversmithsChart: hand circumference to inside diameter, inch, of a
// published chart (7 to 2.22, 7.25 to 2.30, 7.5 to 2.38, 7.75 to 2.46). It cuts
// C/π off at two places.
func TestSilversmithsChart(t *testing.T) {
	for hand, d := range map[float64]string{7: "2.22", 7.25: "2.30", 7.5: "2.38", 7.75: "2.46"} {
		out, err := bangle(func(in *BangleIn) { in.HandCircumferenceMM, in.EaseMM = ptr(hand*25.4), ptr(0) })
		require.NoError(t, err)
		require.Equal(t, d, fmt.Sprintf("%.2f", math.Floor(100*out.InsideDiameterMM/25.4)/100))
		tight, err := bangle(func(in *BangleIn) { in.HandCircumferenceMM, in.EaseMM = ptr(hand*25.4), ptr(0); in.TapeIsTight = true })
		require.NoError(t, err)
		require.InDelta(t, 25.4/4, tight.InsideDiameterMM-out.InsideDiameterMM, 1e-9)
		require.Contains(t, codes(tight.Cautions), "tight_tape")
		require.NotContains(t, codes(out.Cautions), "tight_tape")
	}
}

func TestBangleBothWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hand, width := rapid.Float64Range(160, 260).Draw(t, "hand"), rapid.Float64Range(2, 40).Draw(t, "width")
		ratio := rapid.Float64Range(0.5, 1).Draw(t, "ratio")
		kind := rapid.SampledFrom([]string{RoundBangle, OvalBangle}).Draw(t, "kind")
		made, err := bangle(func(in *BangleIn) {
			in.Kind, in.HandCircumferenceMM, in.BandWidthMM, in.OvalRatio = kind, &hand, width, ratio
		})
		require.NoError(t, err)
		give := func(in *BangleIn, scale float64) {
			in.Kind, in.BandWidthMM = kind, width
			if kind == RoundBangle {
				in.InsideDiameterMM = ptr(made.InsideDiameterMM * scale)
			} else {
				in.InsideWidthMM, in.InsideHeightMM = ptr(made.InsideWidthMM*scale), ptr(made.InsideHeightMM*scale)
			}
		}
		reverse, err := bangle(func(in *BangleIn) { give(in, 1) })
		require.NoError(t, err)
		require.InDelta(t, hand, reverse.HandCircumferenceMM, 1e-9)
		both, err := bangle(func(in *BangleIn) { give(in, 1); in.HandCircumferenceMM = &hand })
		require.NoError(t, err)
		require.Equal(t, "passes", both.Verdict)
		small, err := bangle(func(in *BangleIn) { give(in, 0.94); in.HandCircumferenceMM = &hand })
		require.NoError(t, err)
		require.NotEqual(t, "passes", small.Verdict)
	})
}

func TestNamedSizes(t *testing.T) {
	out, err := bangle(func(in *BangleIn) { in.HandCircumferenceMM, in.EaseMM = ptr(math.Pi*61), ptr(0) })
	require.NoError(t, err)
	require.Equal(t, []string{"indian 2-6 nearest", "indian 2-8 next_up", "western S nearest", "western M next_up"}, func() (list []string) {
		for _, n := range out.Names {
			list = append(list, n.Custom+" "+n.Size+" "+n.Fit)
		}
		return
	}())
}

// TestBlankLengths: worked by hand; ring strips L = C + π t.
func TestBlankLengths(t *testing.T) {
	out, err := bangle(func(in *BangleIn) { in.InsideDiameterMM = ptr(60); in.ThicknessMM = 2 })
	require.NoError(t, err)
	require.InDelta(t, math.Pi*62, out.BlankLengthMM, 1e-9)
	// An oval's parallel curve at half the thickness, by quadrature of its arc.
	out, err = bangle(func(in *BangleIn) {
		in.Kind, in.InsideWidthMM, in.InsideHeightMM, in.ThicknessMM = OvalBangle, ptr(65), ptr(45), 3
	})
	require.NoError(t, err)
	a, b, off := 32.5, 22.5, 1.5
	length, px, py := 0.0, a+off, 0.0
	for i := 1; i <= 200000; i++ {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 200000)
		n := math.Hypot(b*c, a*s)
		x, y := a*c+off*b*c/n, b*s+off*a*s/n
		length += math.Hypot(x-px, y-py)
		px, py = x, y
	}
	require.InDelta(t, length, out.BlankLengthMM, 1e-6)
}

// TestCuff: a maker's published example, 5.5 in inside length + 1 in gap for a
// wrist of 6.5 in; and another's, gaps of 1 to 1 1/4 in.
func TestCuff(t *testing.T) {
	out, err := bangle(func(in *BangleIn) { in.Kind, in.WristMM, in.GapMM = CuffBangle, ptr(6.5*25.4), 25.4 })
	require.NoError(t, err)
	require.InDelta(t, 5.5*25.4, out.Cuff.MetalMM, 1e-9)
	require.Equal(t, "M", out.Names[0].Size)
	// A thick wrist springs it open: half a circle of mid-line sprung by nothing strains nothing.
	r, ok := spring(math.Pi*30*1.5, 2*30*math.Sin(math.Pi*0.25))
	require.True(t, ok)
	require.InDelta(t, 30, r, 1e-9)
	out, err = bangle(func(in *BangleIn) {
		in.Kind, in.WristMM, in.WristThicknessMM, in.ThicknessMM = CuffBangle, ptr(170), ptr(42), 1.8
	})
	require.NoError(t, err)
	require.Greater(t, out.Cuff.FlexStrainPct, 0.1)
}

// TestCuffBlank: a cuff that is a true arc, by its mid-line: the angle that is
// not gap times the mid-line radius.
func TestCuffBlank(t *testing.T) {
	out, err := bangle(func(in *BangleIn) {
		in.Kind, in.OvalRatio, in.WristMM, in.GapMM, in.ThicknessMM = CuffBangle, 1, ptr(2*math.Pi*28), 28, 2
	})
	require.NoError(t, err)
	require.InDelta(t, (2*math.Pi-1)*29, out.Cuff.BlankLengthMM, 1e-9) // a gap of one radian
	require.InDelta(t, 2*28*math.Sin(0.5), out.Cuff.OpeningMM, 1e-9)
}

// TestWidthEase: 4 mm to 6 mm of width, a size of an eighth of an inch of diameter more from 25 mm on.
func TestWidthEase(t *testing.T) {
	for width, ease := range map[float64]float64{2: 0, 6: 0, 15.5: math.Pi * 25.4 / 16, 25: math.Pi * 25.4 / 8, 60: math.Pi * 25.4 / 8} {
		require.InDelta(t, 4+ease, WidthEase(width), 1e-9, "%g mm", width)
	}
}

func TestHinge(t *testing.T) {
	// Free ends of two halves 60 mm long stand 60 mm apart at 60°.
	out, err := bangle(func(in *BangleIn) {
		in.Kind, in.OvalRatio, in.WristMM, in.EaseMM, in.WristThicknessMM = HingedBangle, 1, ptr(math.Pi*60), ptr(0), ptr(60)
	})
	require.NoError(t, err)
	require.InDelta(t, 60, out.Hinge.OpenAngleDeg, 1e-9)
}

func TestBangleRefused(t *testing.T) {
	for field, edit := range map[string]func(*BangleIn){
		"hand_circumference_mm":  func(in *BangleIn) {},
		"wrist_circumference_mm": func(in *BangleIn) { in.Kind, in.HandCircumferenceMM = CuffBangle, ptr(200) },
		"hand_width_mm":          func(in *BangleIn) { in.HandWidthMM = ptr(80) },
		"hand_thickness_mm":      func(in *BangleIn) { in.HandWidthMM, in.HandThicknessMM = ptr(40), ptr(80) },
		"inside_width_mm":        func(in *BangleIn) { in.Kind, in.HandCircumferenceMM, in.InsideWidthMM = OvalBangle, ptr(160), ptr(100) },
		"size_name":              func(in *BangleIn) { in.SizeName = "2-17" },
		"kind":                   func(in *BangleIn) { in.Kind = "square" },
		"ease_mm":                func(in *BangleIn) { in.HandCircumferenceMM, in.EaseMM = ptr(200), ptr(math.NaN()) },
	} {
		_, err := bangle(edit)
		require.ErrorContains(t, err, field+":")
	}
}

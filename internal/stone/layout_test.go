package stone

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/section"
)

func bangle() LayoutIn {
	in := calc.Default[LayoutIn]()
	in.InsideDiameterMM, in.HeadMM = 62, 70
	in.Profile = section.Uniform(section.Section{Shape: section.Rectangular, ThicknessMM: 2.5, WidthMM: 8})
	in.Stones = []LayoutStone{{Cut: RoundBrilliant, LengthMM: 1.5, Quantity: 12}}
	return in
}

func laid(t require.TestingT, in LayoutIn) LayoutOut {
	out, err := Lay(context.Background(), in)
	require.NoError(t, err)
	return out
}

func TestEvenRound(t *testing.T) {
	out := laid(t, bangle())
	require.Equal(t, 12, out.Count)
	require.True(t, out.Fits, "%+v", out.Faults)
	for i, s := range out.Stones {
		next := out.Stones[(i+1)%12]
		require.InDelta(t, 30, wrap(next.AtDeg-s.AtDeg), 1e-9)
	}
	// by hand: chord between the near edges of 1.5 mm stones 30° apart at radius 33.5
	half := math.Atan(0.75 / 33.5)
	require.InDelta(t, 2*33.5*math.Sin((math.Pi/6-2*half)/2), *out.LeastGapMM, 1e-9)
	// nothing on the sprue at 0
	require.Greater(t, out.Stones[0].SprueMM, 3.0)
}

func TestClustersAndGraduated(t *testing.T) {
	in := bangle()
	in.Pattern, in.Clusters = "clusters", 3
	out := laid(t, in)
	small, wide := 0, 0
	for _, s := range out.Stones {
		if math.Abs(*s.GapMM-in.GapMM) < 1e-6 {
			small++
		} else {
			wide++
		}
	}
	require.Equal(t, 9, small)
	require.Equal(t, 3, wide)

	in = bangle()
	in.Pattern, in.ArcDeg = "graduated", 40
	in.Stones = []LayoutStone{{Cut: RoundBrilliant, LengthMM: 1.5, Quantity: 2}, {Cut: RoundBrilliant, LengthMM: 3, Quantity: 1}, {Cut: RoundBrilliant, LengthMM: 2, Quantity: 2}}
	out = laid(t, in)
	var sizes []float64
	for _, s := range out.Stones {
		sizes = append(sizes, s.LengthMM)
	}
	require.Equal(t, []float64{1.5, 2, 3, 2, 1.5}, sizes)
	require.Nil(t, out.Stones[4].GapMM)
	require.InDelta(t, 180, out.Stones[2].AtDeg, 0.5, "opposite the sprue")
}

func TestLayoutRefusals(t *testing.T) {
	in := bangle()
	in.Stones[0].Quantity = 200
	_, err := Lay(context.Background(), in)
	require.ErrorContains(t, err, "stones")
	in = bangle()
	in.Alloy = "silver-952"
	_, err = Lay(context.Background(), in)
	require.ErrorContains(t, err, "alloy")
	in = bangle()
	in.Profile = nil
	_, err = Lay(context.Background(), in)
	require.ErrorContains(t, err, "profile")
}

// Whatever is laid: stones never overlap, no grain of a fault-free layout
// crosses the parting line or touches another, and half of each grain's plan
// lies over stones, of a shared one at most half.
func TestLayoutNeverOverlaps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := bangle()
		in.InsideDiameterMM = rapid.Float64Range(14, 80).Draw(t, "inside")
		in.Pattern = rapid.SampledFrom([]string{"even", "clusters", "graduated"}).Draw(t, "pattern")
		in.Rows = rapid.SampledFrom([]string{"middle", "one_half", "both_halves"}).Draw(t, "rows")
		in.Flask = rapid.SampledFrom([]string{"standing", "lying"}).Draw(t, "flask")
		in.Clusters = rapid.IntRange(1, 5).Draw(t, "clusters")
		in.ArcDeg = rapid.SampledFrom([]float64{30, 90, 180, 360}).Draw(t, "arc")
		in.GapMM = rapid.Float64Range(0.05, 2).Draw(t, "gap")
		in.HeadMM = rapid.Float64Range(10, 120).Draw(t, "head")
		in.VentsDeg = rapid.SliceOfN(rapid.Float64Range(0, 360), 0, 3).Draw(t, "vents")
		in.Stones = nil
		for range rapid.IntRange(1, 4).Draw(t, "runs") {
			in.Stones = append(in.Stones, LayoutStone{Cut: RoundBrilliant, LengthMM: rapid.Float64Range(1, 4).Draw(t, "size"), Quantity: rapid.IntRange(1, 8).Draw(t, "n")})
		}
		out, err := Lay(context.Background(), in)
		if err != nil {
			require.ErrorContains(t, err, "stones")
			return
		}
		for i, a := range out.Stones {
			require.True(t, a.AtDeg >= 0 && a.AtDeg < 360)
			if a.GapMM != nil {
				require.GreaterOrEqual(t, *a.GapMM, in.GapMM-1e-6)
			}
			for _, b := range out.Stones[:i] {
				// in space: girdles in planes tangent to the face at its least radius
				r := in.InsideDiameterMM/2 + 2.5
				arc := math.Abs(math.Remainder(a.AtDeg-b.AtDeg, 360)) * math.Pi / 180
				apart := arc > math.Atan(a.LengthMM/2/r)+math.Atan(b.LengthMM/2/r)
				beside := math.Abs(a.AcrossMM-b.AcrossMM) > (a.WidthMM+b.WidthMM)/2
				require.True(t, apart || beside, "stones %d and %d", a.Number, b.Number)
			}
		}
		for _, f := range out.Faults {
			require.NotEqual(t, "grain_parting", f.Code, "four grains always clear it: %+v", f)
		}
		overGrains(t, in, out)
	})
}

func overGrains(t *rapid.T, in LayoutIn, out LayoutOut) {
	for _, a := range out.Stones {
		for _, g := range a.Grains {
			over := 0.0
			for _, s := range out.Stones {
				d := math.Hypot(math.Remainder(g.AlongMM-s.AlongMM, out.CircumferenceMM), g.AcrossMM-s.AcrossMM)
				over += lens(s.LengthMM/2, g.DiameterMM/2, d) / (math.Pi * g.DiameterMM * g.DiameterMM / 4)
			}
			if out.Fits {
				if g.SharedWith == nil {
					require.InDelta(t, 0.5, over, 0.02, "half of a grain is over stones")
				} else { // TestNeighboursShareGrains has how far it reaches in
					require.True(t, over > 0 && over < 0.52, "at most half of a shared grain is over stones")
				}
				require.GreaterOrEqual(t, math.Abs(g.AcrossMM), g.DiameterMM/2, "no grain across the parting line")
			}
		}
	}
}

// Twice every measure, the same angles.
func TestLayoutScales(t *testing.T) {
	in := bangle()
	in.Grains = 0 // surface tension does not scale
	one := laid(t, in)
	in.InsideDiameterMM *= 2
	in.Profile = section.Uniform(section.Section{Shape: section.Rectangular, ThicknessMM: 5, WidthMM: 16})
	in.Stones[0].LengthMM *= 2
	in.GapMM, in.SprueWidthMM = 2*in.GapMM, 2*in.SprueWidthMM
	two := laid(t, in)
	for i := range one.Stones {
		require.InDelta(t, one.Stones[i].AtDeg, two.Stones[i].AtDeg, 1e-9)
		require.InEpsilon(t, 2**one.Stones[i].GapMM, *two.Stones[i].GapMM, 1e-9)
	}
}

package fill

import (
	"context"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/fill/sobol"
	"pourwright/internal/section"
)

// bangle is half-round, of sterling, in a standing flask, poured at 3500 mm³/s.
func bangle() In {
	in := calc.Default[In]()
	in.InsideDiameterMM = 62
	in.Section = section.Section{Shape: section.HalfRound, ThicknessMM: 2.6, WidthMM: 6}
	rate := 3500.0
	in.PourRateMM3S = &rate
	in.Levers = false
	return in
}

func thinned(mm float64) In {
	in := bangle()
	in.ThinSpot = &Thin{ThicknessMM: mm, AtPct: 50}
	return in
}

func follow(t *testing.T, in In) Out {
	t.Helper()
	out, err := Follow(context.Background(), in)
	require.NoError(t, err)
	return out
}

// Facts of the trade (common practice, no source).
func TestFactsOfTheTrade(t *testing.T) {
	t.Run("a bangle thinned to a millimetre at a short head is at risk, pushed deeper it is not", func(t *testing.T) {
		short := thinned(1)
		short.SprueLengthMM, short.FunnelHeadMM = 4, 6
		deep := thinned(1)
		deep.SprueLengthMM = 30
		require.Greater(t, follow(t, short).FailurePct, 40.0)
		require.Less(t, follow(t, deep).FailurePct, 15.0)
		// Read as the impression pushed deeper into the clay, so thicker
		// throughout, at the same short head: it holds too.
		pressed := short
		pressed.Section.ThicknessMM, pressed.ThinSpot = 3.6, &Thin{ThicknessMM: 2, AtPct: 50}
		require.Less(t, follow(t, pressed).FailurePct, follow(t, short).FailurePct/2)
	})
	t.Run("a pattern set higher under the sprue fills better", func(t *testing.T) {
		// True while head is to spare: the run is shorter and the metal hotter.
		// Below about 20 mm of head surface tension takes the gain away.
		far, near, tooNear := thinned(1), thinned(1), thinned(1)
		far.SprueLengthMM, near.SprueLengthMM, tooNear.SprueLengthMM = 70, 25, 4
		tooNear.FunnelHeadMM = 6
		require.Less(t, follow(t, near).FailurePct, follow(t, far).FailurePct)
		require.Greater(t, follow(t, tooNear).FailurePct, follow(t, near).FailurePct)
	})
	t.Run("stones of 1 mm are hard, of 1.3 mm can be done", func(t *testing.T) {
		in := bangle()
		const grain = 0.3 / 2 // radius of a grain over the stone: a third across
		in.Details = []Detail{{Kind: "dimple", SizeMM: 1.0 * grain, AtPct: 50}, {Kind: "dimple", SizeMM: 1.3 * grain, AtPct: 50}}
		in.SprueLengthMM = 40
		out := follow(t, in)
		require.Less(t, out.Details[0].FilledPct, 70.0, "of a grain for 1 mm, as planned")
		require.Greater(t, out.Details[0].LossPct, 60.0)
		require.Equal(t, 100.0, out.Details[1].FilledPct, "of a grain for 1.3 mm")
		require.Less(t, out.Details[1].LossPct, 45.0)
	})
	t.Run("about 10 g over is enough for button and sprue of a small piece", func(t *testing.T) {
		ring := bangle()
		ring.Piece, ring.InsideDiameterMM = "ring", 18
		ring.Section = section.Section{Shape: section.D, ThicknessMM: 1.9, WidthMM: 5}
		for _, in := range []In{ring, thinned(1.1), bangle()} {
			out := follow(t, in).Feeding
			require.Less(t, out.ReserveG, 10.0)
			require.Greater(t, out.ReserveG, 0.5)
		}
	})
	t.Run("a thin place at the gate starves the thick part of feed", func(t *testing.T) {
		in := thinned(1)
		in.Thickest = "far"
		out := follow(t, in)
		require.False(t, out.Feeding.LeadsToSprue)
		require.NotEmpty(t, out.Feeding.HotSpots)
		for _, spot := range out.Feeding.HotSpots {
			require.InDelta(t, 50, spot.AtPct, 25, "in the thick half")
			require.Greater(t, spot.FreezeS, spot.CutOffS)
		}
		require.True(t, follow(t, thinned(1)).Feeding.LeadsToSprue)
	})
}

func TestRegimesAndMeetings(t *testing.T) {
	standing := follow(t, bangle())
	require.Equal(t, "part_full", standing.Nominal.Regime)
	require.Equal(t, "opposite the gate", standing.Nominal.Meetings[0].Where)
	require.Len(t, standing.Nominal.Meetings, 2, "below, then at the gate")
	require.Greater(t, standing.Nominal.Meetings[1].KnitC, standing.Nominal.Meetings[0].KnitC)
	lying := bangle()
	lying.Posture = "lying"
	lying.PourC = ptr(1050.0)
	flat := follow(t, lying)
	require.Equal(t, "running_full", flat.Nominal.Regime)
	require.InDelta(t, 50, flat.Nominal.Meetings[0].AtPct, 1e-6)
	two := bangle()
	two.SprueCount = 2
	out := follow(t, two)
	require.Len(t, out.Nominal.Stretches, 2)
	require.Len(t, out.Nominal.Meetings, 2)
}

// The two bounds of the closed formula hold the followed front between them:
// a level bar that stops does so beyond the one and short of the other.
func TestFrontLiesBetweenItsBounds(t *testing.T) {
	in := bangle()
	in.Piece, in.InsideDiameterMM, in.LengthMM = "bar", 0, 400
	in.Posture = "lying"
	out := follow(t, in)
	reached := out.Nominal.FilledPct / 100 * 400
	require.Less(t, out.Nominal.FilledPct, 99.0)
	require.Greater(t, reached, out.Nominal.ReachBareMM)
	require.Less(t, reached, out.Nominal.ReachWarmMM*1.05)
}

// One cause at a time moves the risk the way it must.
func TestRiskMovesTheRightWay(t *testing.T) {
	base := thinned(1)
	base.Posture = "lying"
	base.PourC = ptr(1030.0)
	change := func(f func(*In)) float64 {
		in := base
		f(&in)
		p, se, err := Risk(context.Background(), in)
		require.NoError(t, err)
		require.GreaterOrEqual(t, se, 0.0)
		return p
	}
	p := change(func(*In) {})
	require.Greater(t, p, change(func(in *In) { in.PourC = ptr(1070.0) }))
	require.Greater(t, p, change(func(in *In) { in.ThinSpot = &Thin{2.2, 50} }))
	require.Greater(t, p, change(func(in *In) { in.PourRateMM3S = ptr(6000.0) }))
	require.Greater(t, p, change(func(in *In) { in.InterfaceHighWM2K = 700 }))
	require.Less(t, p, change(func(in *In) { in.InterfaceLowWM2K = 1200 }))
	require.GreaterOrEqual(t, p, change(func(in *In) { in.ClayC = 80 }))
}

// The stated error holds: other scramblings differ by no more than it says.
func TestSamplingError(t *testing.T) {
	j, err := prepare(t.Context(), thinned(1))
	require.NoError(t, err)
	r, err := assess(context.Background(), j)
	require.NoError(t, err)
	f := r.failure()
	w := new(run)
	fails := 0
	const n = 2048
	for i := range uint32(n) {
		var u [dims]float64
		sobol.Point(u[:], i, 99)
		w.follow(j, j.draw(u[:]))
		if o := w.judge(); o.fails() {
			fails++
		}
	}
	require.InDelta(t, float64(fails)/n, f.p, 4*max(f.se, 1.0/members))
	require.Greater(t, f.top, f.p)
}

func TestSameAnswerOnAnyNumberOfProcessors(t *testing.T) {
	in := thinned(1)
	answer := func() string {
		b, err := json.Marshal(follow(t, in))
		require.NoError(t, err)
		return string(b)
	}
	before := answer()
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	require.Equal(t, before, answer())
}

func TestScatterOfZeroIsCertain(t *testing.T) {
	in := thinned(1)
	in.InterfaceLowWM2K, in.InterfaceHighWM2K = 900, 900
	in.Scatter = &Scatter{ChokeLow: 0.3, ChokeHigh: 0.3, ColdShut: 0.1}
	out := follow(t, in)
	require.Zero(t, out.FailurePct)
	require.InDelta(t, 300.0/members, out.FailureTopPct, 1e-9, "the rule of three")
	for _, c := range out.Causes {
		require.Zero(t, c.SharePct, c.Cause)
	}
}

func TestLevers(t *testing.T) {
	in := thinned(1)
	in.PourC = ptr(955.0)
	in.Levers = true
	out := follow(t, in)
	require.Greater(t, out.FailurePct, in.RiskLimitPct)
	require.Greater(t, len(out.Levers), 8)
	byName := map[string]Lever{}
	for i, l := range out.Levers {
		byName[l.Lever] = l
		require.InDelta(t, out.FailurePct-l.FailurePct, l.GainPct, 1e-9)
		if i > 0 {
			require.GreaterOrEqual(t, out.Levers[i-1].GainPct/out.Levers[i-1].Effort, l.GainPct/l.Effort)
		}
	}
	require.Positive(t, byName["hotter"].GainPct)
	require.Positive(t, byName["faster"].GainPct)
	require.NotNil(t, out.Smallest)
	require.LessOrEqual(t, out.Smallest.FailurePct, in.RiskLimitPct)
}

// Hydrostatics of a simple case by hand: a level plate 40 × 14 under 32 mm of
// sterling.
func TestFlask(t *testing.T) {
	in := bangle()
	in.Piece, in.InsideDiameterMM, in.LengthMM, in.Posture = "pendant", 0, 40, "lying"
	in.Section = section.Section{Shape: section.Rectangular, ThicknessMM: 2, WidthMM: 14}
	out := follow(t, in).Flask
	j, err := prepare(t.Context(), in)
	require.NoError(t, err)
	p := j.metal.Rho * 9.80665 * 0.032
	require.InEpsilon(t, p/1e3, out.PressureKPa, 1e-9)
	require.InEpsilon(t, 560, out.PartingMM2, 1e-9)
	require.InEpsilon(t, p*560e-6, out.OpeningN, 1e-9)
	require.InEpsilon(t, 2e3*j.metal.Gamma/p, out.SpillGapMM, 1e-9)
	in.Posture = "standing"
	require.Greater(t, follow(t, in).Flask.PressureKPa, out.PressureKPa)
}

// T. D. West's vertical wedge, Metallurgy of Cast Iron, 5th ed. 1902, p. 374:
// strip of 254 × 19 × 3.18 mm. At one coefficient and speed the heat of the
// iron for 25, 102, 114 and 152 mm stands as 0.115 : 0.56 : 0.65 : 1; the
// width of the strip, which the ratio leaves out, is worth a few per cent.
func TestWestWedge(t *testing.T) {
	w := WedgeTest{LengthMM: 254, WidthMM: 19, FootMM: 3.18}
	for z, want := range map[float64]float64{0.025: 0.115, 0.102: 0.56, 0.114: 0.65} {
		require.InEpsilon(t, want, w.passed(z)/w.passed(0.152), 0.15, "%g m", z)
	}
	require.InEpsilon(t, 0.114, w.reach(w.passed(0.114)), 1e-9)
}

// Sterling in a wedge of 120 × 15 × 2.5 mm at 0.1 m/s and 100 K of superheat:
// 92, 62, 37 mm for 500, 1000, 2000 W/(m² K), computed with round properties.
func TestWedgeFindsItsCoefficient(t *testing.T) {
	for reached, want := range map[float64]float64{92: 500, 62: 1000, 37: 2000} {
		in := calc.Default[CalibrateIn]()
		in.InterfaceLowWM2K, in.InterfaceHighWM2K = 100, 8000
		w := calc.Default[WedgeTest]()
		w.LengthMM, w.WidthMM, w.FootMM, w.ReachedMM = 120, 15, 2.5, reached
		in.Wedges = []WedgeTest{w, w, w}
		out, err := Calibrate(context.Background(), in)
		require.NoError(t, err)
		require.InEpsilon(t, want, out.After.MedianWM2K, 0.3)
		require.Less(t, out.After.HighWM2K/out.After.LowWM2K, out.Prior.HighWM2K/out.Prior.LowWM2K)
	}
}

func TestCalibration(t *testing.T) {
	lying := bangle()
	lying.Posture = "lying"
	learn := func(filledPct float64, records int) CalibrateOut {
		in := calc.Default[CalibrateIn]()
		for range records {
			in.Pours = append(in.Pours, PastPour{lying, filledPct})
		}
		out, err := Calibrate(context.Background(), in)
		require.NoError(t, err)
		total := 0.0
		for _, w := range out.Posterior.Weight {
			require.Positive(t, w, "never certain")
			total += w
		}
		require.InDelta(t, 1, total, 1e-9)
		return out
	}
	full, short := learn(100, 1), learn(75, 1)
	require.Less(t, full.After.MedianWM2K, full.Prior.MedianWM2K)
	require.Greater(t, short.After.MedianWM2K, short.Prior.MedianWM2K)
	require.Greater(t, full.After.RateMedian, full.Prior.RateMedian)
	require.Greater(t, learn(100, 3).Bits, full.Bits)
	// The posterior moves the answer for the next pour.
	in := thinned(1)
	before := follow(t, in).FailurePct
	in.Calibration = &full.Posterior
	better := follow(t, in).FailurePct
	in.Calibration = &short.Posterior
	require.Less(t, better, follow(t, in).FailurePct)
	require.NotEqual(t, before, better)
}

func TestRefusals(t *testing.T) {
	for field, f := range map[string]func(*In){
		"inside_diameter_mm":     func(in *In) { in.InsideDiameterMM = 0 },
		"section.thickness_mm":   func(in *In) { in.Section.ThicknessMM = math.NaN() },
		"thin_spot.thickness_mm": func(in *In) { in.ThinSpot = &Thin{9, 50} },
		"thin_spot.at_pct":       func(in *In) { in.ThinSpot = &Thin{1, 100} },
		"alloy":                  func(in *In) { in.Alloy = "silver-9255" },
		"pour_c":                 func(in *In) { in.PourC = ptr(700.0) },
		"sprue_count":            func(in *In) { in.SprueCount, in.Gate = 2, "side" },
		"interface_high_w_m2k":   func(in *In) { in.InterfaceHighWM2K = 100 },
		"solidus_c":              func(in *In) { in.SolidusC = ptr(800.0) },
		"posture":                func(in *In) { in.Posture = "upside_down" },
		"details[0].size_mm":     func(in *In) { in.Details = []Detail{{Kind: "line", SizeMM: -1}} },
		"scatter.pour_k":         func(in *In) { s := calc.Default[Scatter](); s.PourK = -1; in.Scatter = &s },
		"calibration.weight":     func(in *In) { in.Calibration = &Posterior{[]float64{500, 900}, []float64{1}, []float64{1}} },
	} {
		in := bangle()
		f(&in)
		_, err := Follow(context.Background(), in)
		var refusal *calc.Refusal
		require.True(t, errors.As(err, &refusal), "%s: %v", field, err)
		require.Equal(t, field, refusal.Faults[0].Field)
	}
}

func TestPictureIsSound(t *testing.T) {
	in := thinned(1)
	in.SprueCount = 2
	b, err := Picture(context.Background(), in, follow(t, in))
	require.NoError(t, err)
	for d := xml.NewDecoder(strings.NewReader(string(b))); ; {
		if _, err := d.Token(); err == io.EOF {
			break
		} else {
			require.NoError(t, err)
		}
	}
	require.Contains(t, string(b), "far arc")
	require.NotContains(t, string(b), "NaN")
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := Follow(ctx, bangle())
	require.ErrorIs(t, err, context.Canceled)
}

func ptr(x float64) *float64 { return &x }

// BenchmarkBangle measures one member on one core and the whole probability on
// all of them; 512 times the one is what the other is to be held against.
func BenchmarkBangle(b *testing.B) {
	j, err := prepare(b.Context(), thinned(1.1))
	require.NoError(b, err)
	b.Run("one", func(b *testing.B) {
		w := new(run)
		b.ReportAllocs()
		for b.Loop() {
			w.follow(j, j.planned())
			w.judge()
		}
		b.ReportMetric(float64(w.Steps), "steps")
	})
	b.Run("512", func(b *testing.B) {
		for b.Loop() {
			_, _ = assess(context.Background(), j)
		}
	})
}

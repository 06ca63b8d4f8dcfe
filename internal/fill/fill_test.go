package fill

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/section"
	"pourwright/internal/verdict"
)

func bangle(thick float64, posture string) In {
	in := calc.Default[In]()
	in.InsideDiameterMM, in.Posture, in.Improvements = 62, posture, false
	in.Section = section.Section{Shape: section.HalfRound, ThicknessMM: thick, WidthMM: 6}
	return in
}

func failure(t *testing.T, in In) float64 {
	c, err := Risk(t.Context(), in)
	require.NoError(t, err)
	return c.FailurePct
}

// TestSigns: S1 to S6 of what the trade expects, all else held; two points the
// other way are noise.
func TestSigns(t *testing.T) {
	if testing.Short() {
		t.Skip("a dozen pieces")
	}
	const noise = 2.0
	thin := func(posture string) In {
		in := bangle(2.6, posture)
		in.ThinSpot = &Thin{ThicknessMM: 1, AtPct: 50}
		return in
	}
	for _, posture := range []string{"standing", "lying"} {
		base := failure(t, thin(posture))
		no := func(what string, change func(in *In), most float64) {
			in := thin(posture)
			change(&in)
			require.LessOrEqual(t, failure(t, in), most+noise, "%s %s", posture, what)
		}
		no("S2 nearer the sprue", func(in *In) { in.SprueLengthMM = 20 }, base)
		no("S3 thick end at the sprue", func(in *In) {}, reversed(t, thin(posture)))
		no("S4 more vents", func(in *In) { in.VentCount = 4 }, base)
		for _, at := range []float64{5, 25, 75} {
			elsewhere := thin(posture)
			elsewhere.VentAtPct = &at
			no("S4 vents at the last place to fill", func(in *In) {}, failure(t, elsewhere))
		}
		no("S5 wider funnel", func(in *In) { in.FunnelDiameterMM = 30 }, base)
		no("S6 hotter", func(in *In) { in.PourC = ptr(1026.0) }, base)
		slow, quick := thin(posture), thin(posture)
		slow.PourTimeS, quick.PourTimeS = ptr(1.6), ptr(1.1)
		require.LessOrEqual(t, failure(t, quick), failure(t, slow)+noise, "%s S1 quicker", posture)
	}
}

// reversed is the failure of the piece turned with its thin end to the sprue.
func reversed(t *testing.T, in In) float64 {
	in.Thickest = "far"
	return failure(t, in)
}

// TestThePlaceOfVentsCounts: beside the gate of a level band they are closed
// long before the gas at the far side is out; with more of them there, less gas
// is left, and without any, more.
func TestThePlaceOfVentsCounts(t *testing.T) {
	of := func(count int, at *float64) float64 {
		in := bangle(2.6, "lying")
		in.ThinSpot = &Thin{ThicknessMM: 1, AtPct: 50}
		in.VentCount, in.VentAtPct = count, at
		return failure(t, in)
	}
	usual := of(2, nil)
	require.Equal(t, usual, of(2, ptr(50.0)))
	require.Greater(t, of(2, ptr(5.0)), usual+3)
	require.Greater(t, of(0, nil), usual+3)
	require.Less(t, of(6, nil), usual-3)
}

// TestOtherCausesAreNeverNothing: no answer is 0 %, and a studio's own scrap is
// not added to what the model holds.
func TestOtherCausesAreNeverNothing(t *testing.T) {
	in := bangle(4, "standing")
	usual := failure(t, in)
	require.Greater(t, usual, 2.0)
	in.ScrapPct = ptr(1.0)
	own := failure(t, in)
	require.Less(t, own, usual)
	require.Greater(t, own, 0.4)
	in.ScrapPct = ptr(12.0)
	require.InDelta(t, 12, failure(t, in), 3)
}

// TestWhatLiftsThePieceOverTheBrimIsRefused.
func TestWhatLiftsThePieceOverTheBrimIsRefused(t *testing.T) {
	in := bangle(2.6, "standing")
	in.Gate = "side"
	_, err := Follow(t.Context(), in)
	require.ErrorContains(t, err, "sprue_length_mm")
}

// TestAPatchGivesItsFigures: a new call with an improvement's patch gives the
// band that it promised.
func TestAPatchGivesItsFigures(t *testing.T) {
	if testing.Short() {
		t.Skip("all improvements")
	}
	in := bangle(2.6, "standing")
	in.ThinSpot, in.Improvements = &Thin{ThicknessMM: 1, AtPct: 50}, true
	out, err := Follow(t.Context(), in)
	require.NoError(t, err)
	require.NotEmpty(t, out.Improvements)
	for _, m := range out.Improvements {
		again := m.Patch.apply(in)
		again.Improvements = false
		then, err := Follow(t.Context(), again)
		require.NoError(t, err)
		require.Equal(t, m.Chance, then.Chance, m.Do)
		require.Positive(t, m.GainPct)
	}
}

func TestSameInputSameAnswer(t *testing.T) {
	in := bangle(2, "lying")
	a, err := Follow(t.Context(), in)
	require.NoError(t, err)
	b, err := Follow(t.Context(), in)
	require.NoError(t, err)
	require.Equal(t, a, b)
}

// TestABeginnerLosesMore: two to three times as many as a practised hand, by
// the trade; at least half as many again here.
func TestABeginnerLosesMore(t *testing.T) {
	in := bangle(2.6, "standing")
	practised := failure(t, in)
	in.Hand = "beginner"
	require.Greater(t, failure(t, in), 1.5*practised)
}

// TestFlaskByHand: a bar of one section, its whole width times its length on
// the parting, at the depth of sprue and funnel.
func TestFlaskByHand(t *testing.T) {
	in := calc.Default[In]()
	in.Piece, in.LengthMM, in.Posture, in.Improvements = "bar", 40, "lying", false
	in.Section = section.Section{Shape: section.Rectangular, ThicknessMM: 2, WidthMM: 10}
	j, err := prepare(t.Context(), in)
	require.NoError(t, err)
	f := j.flask()
	require.InDelta(t, 400, f.PartingMM2, 1e-6)
	require.InDelta(t, j.metal.Rho*9.80665*0.032*400e-6, f.OpeningN, 1e-9)
	require.InDelta(t, 3*f.OpeningN/9.80665, f.HoldKg, 1e-9)
	require.InDelta(t, j.metal.Rho*9.80665*0.032/1e3, f.PressureKPa, 1e-9)
	require.InDelta(t, 2e3*j.metal.Gamma/(j.metal.Rho*9.80665*0.032), f.SpillGapMM, 1e-9)
}

func TestVerdictOfThinBack(t *testing.T) {
	in := bangle(2.6, "standing")
	in.ThinSpot = &Thin{ThicknessMM: 0.8, AtPct: 50}
	out, err := Follow(t.Context(), in)
	require.NoError(t, err)
	require.Equal(t, verdict.DoNotPour, out.Verdict)
	require.NotEmpty(t, out.Map)
}

// A share in words is one that people say.
func TestShareInWords(t *testing.T) {
	for pct, want := range map[float64]string{0.5: "1 in 200", 4: "1 in 25", 18: "1 in 6", 45: "1 in 2", 61: "6 in 10", 94: "9 in 10", 95: "nearly all", 99.5: "nearly all"} {
		require.Equal(t, want, oneIn(pct), pct)
	}
}

func TestBandInWords(t *testing.T) {
	for want, c := range map[string]Chance{
		"about 1 in 25 (1 in 100 to 1 in 9)": chanceOf(0.04, 0.01, 0.11),
		"nearly all (9 in 10 or more)":       chanceOf(0.98, 0.9, 0.999),
		"nearly all":                         chanceOf(0.99, 0.96, 0.999),
	} {
		require.Equal(t, want, c.Words)
	}
}

// TestCausesAreFew and none of them noise: of an everyday bangle the heat of the
// metal decides most, and more of it helps.
func TestCausesAreFew(t *testing.T) {
	out, err := Follow(t.Context(), bangle(2.6, "lying"))
	require.NoError(t, err)
	require.LessOrEqual(t, len(out.Causes), 5)
	require.Equal(t, "pour temperature of the day", out.Causes[0].Cause)
	for _, c := range out.Causes {
		require.NotEqual(t, "neither", c.Helps)
		require.Equal(t, c.Cause == "pour temperature of the day", c.Helps == "more", c.Cause)
	}
}

// TestPickDropsWhatMoreEffortDoesNotGain.
func TestPickDropsWhatMoreEffortDoesNotGain(t *testing.T) {
	list := []change{{name: "press_deeper", effort: 1.7, gain: 0.18}, {name: "press_deeper", effort: 1.9, gain: 0.21}, {name: "press_deeper", effort: 2.3, gain: 0.215}, {name: "vents", effort: 1, gain: 0.005}}
	require.Equal(t, list[:2], pick(list))
}

// TestAThickHeadIsTurnedToTheGate: a head opposite the gate freezes unfed; what
// the answer says to do feeds it.
func TestAThickHeadIsTurnedToTheGate(t *testing.T) {
	at := func(pct, thick, wide float64) section.Station {
		return section.Station{AtPct: pct, Section: section.Section{Shape: section.Rectangular, ThicknessMM: thick, WidthMM: wide}}
	}
	in := calc.Default[In]()
	in.Piece, in.InsideDiameterMM, in.Improvements = "ring", 19, false
	in.Stations = section.Profile{at(0, 1.8, 4), at(35, 2, 6), at(50, 3.2, 13), at(65, 2, 6), at(100, 1.8, 4)}
	out, err := Follow(t.Context(), in)
	require.NoError(t, err)
	require.False(t, out.Feeding.LeadsToSprue)
	require.Contains(t, out.Reasons[0].Do, "Turn the pattern so that its thickest part lies at the gate")
	in.Thickest = "at_gate"
	out, err = Follow(t.Context(), in)
	require.NoError(t, err)
	require.Less(t, len(out.Feeding.HotSpots), 1, out.Feeding.HotSpots)
}

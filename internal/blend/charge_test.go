package blend

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
)

func quiet() *calc.Notes { n := calc.Noting(ctx); return &n }

func plan(t *testing.T, in In) Out {
	t.Helper()
	out, err := Solve(ctx, in)
	require.NoError(t, err)
	return out
}

func lotOf(id string, g float64, alloy string) SourceLot {
	return SourceLot{ID: id, MassG: g, Alloy: alloy}
}

// Fineness alone: 15 g of 18 carat to 20 g take 3.76 g of fine gold and 1.24 g
// of silver and copper (15 × .75 + 3.754 × .999 = 20 × .75, fine gold rounded
// up), never 5 g of fine gold; 30 g of 900 to 50 g of 925 take 19.25 g fine.
func TestLeastFineMetal(t *testing.T) {
	out := plan(t, In{Target{FinenessPermil: 750, MassG: at(20.)}, Stock{Metal: "gold", Lots: []SourceLot{lotOf("a", 15, "gold-750-yellow")}}})
	require.InDelta(t, 3.76, weighOut(out, "fine gold 999"), 1e-9)
	require.InDelta(t, 1.24, weighOut(out, "silver and copper, equal parts"), 1e-9)
	out = plan(t, In{Target{FinenessPermil: 925, MassG: at(50.)}, Stock{Lots: []SourceLot{{ID: "a", MassG: 30, FinenessPermil: at(900.)}}}})
	require.InDelta(t, 19.27, weighOut(out, "fine silver 999"), 1e-9)
	require.Less(t, out.FinenessWorst, 925.3, "and no finer than the scale's step gives away")
	out = plan(t, In{Target{Alloy: "silver-925", MassG: at(50.)}, Stock{Lots: []SourceLot{lotOf("a", 80, "silver-999")}}})
	require.InDelta(t, 46.3, weighOut(out, "a"), 1e-9, "let down: 50 × .925 / .999, rounded up")
	require.InDelta(t, 3.7, weighOut(out, "copper"), 1e-9)
}

func weighOut(out Out, id string) float64 {
	for _, p := range out.Charge {
		if p.ID == id {
			return p.WeighG
		}
	}
	return 0
}

// A metal of another colour does not become the alloy that was asked for: only
// what the window bears goes in, and the verdict says so.
func TestOtherColours(t *testing.T) {
	for _, row := range []struct {
		alloy, lot string
		most       float64 // g of 20 that may go in, by the element that binds
	}{
		{"gold-750-yellow", "gold-750-white-palladium", 1},   // Pd 5 of 100
		{"gold-750-rose", "gold-750-green", 7.2},             // Ag 90 of 250
		{"gold-750-white-palladium", "gold-750-yellow", 3.2}, // Cu 20 of 125
	} {
		out := plan(t, In{Target{Alloy: row.alloy, MassG: at(20.)}, Stock{Lots: []SourceLot{lotOf("a", 80, row.lot)}}})
		require.InDelta(t, row.most, weighOut(out, "a"), 0.02, row.alloy)
		require.True(t, out.Match.IsAlloy)
		require.Equal(t, "care", string(out.Verdict))
		said := ""
		for _, r := range out.Reasons {
			said += r.Why
		}
		require.Contains(t, said, "g of a go in and")
	}
	// Gold is not melted away in silver.
	_, err := Solve(t.Context(), In{Target{Alloy: "silver-800", MassG: at(20.)}, Stock{Lots: []SourceLot{{ID: "a", MassG: 80, CompositionPermil: map[string]float64{"Ag": 800, "Au": 200}}}}})
	require.ErrorContains(t, err, "worth far more than silver")
	// All of a lot must go in: the answer says what it is instead.
	out := plan(t, In{Target{Alloy: "gold-750-rose", MassG: at(20.)}, Stock{Lots: []SourceLot{{ID: "a", MassG: 20, Alloy: "gold-750-green", Use: "whole"}}}})
	require.False(t, out.Match.IsAlloy)
	require.Equal(t, "gold-750-green", out.Match.Instead[0])
	require.Equal(t, "do_not_pour", string(out.Verdict))
	require.Equal(t, "Ag", out.Match.Outside[0].Element)
	// Free lifts the window and says what it is.
	out = plan(t, In{Target{Alloy: "gold-750-rose", Composition: "free", MassG: at(20.)}, Stock{Lots: []SourceLot{lotOf("a", 80, "gold-750-green")}}})
	require.InDelta(t, 20, weighOut(out, "a"), 0.01)
	require.Equal(t, "care", string(out.Verdict))
	require.Equal(t, "gold-750-green", out.Match.Instead[0])
	require.Less(t, out.Colour.A, 0.0)
	green, _ := metal.Named("gold-750-green")
	require.InDelta(t, green.LiquidusC(), out.Properties.LiquidusC.Middle, 1, "its own melting range")
}

// Finer than asked only where the lots force it, and then it is said.
func TestFinerIsSaid(t *testing.T) {
	out := plan(t, In{Target{Alloy: "silver-925", MassG: at(50.)}, Stock{
		Lots:      []SourceLot{{ID: "a", MassG: 40, Alloy: "silver-958", Use: "whole"}},
		Additions: []Addition{{ID: "grain", Alloy: "silver-925", PricePerG: at(1.85)}}}})
	require.InDelta(t, 951.4, out.FinenessWorst, 0.01)
	require.Equal(t, "care", string(out.Verdict))
	// 50 g × 26.4 per mil = 1.32 g, at 1.85 / .925 = 2.00 a gram.
	require.Contains(t, out.Reasons[0].Why, "1.32 g of fine silver given away, worth about 2.64")
	require.False(t, out.Match.IsAlloy)
}

// Bought grams times price is the line of the bill.
func TestCostIsGramsTimesPrice(t *testing.T) {
	out := plan(t, In{Target{Alloy: "gold-750-yellow", MassG: at(20.)}, Stock{
		Lots:      []SourceLot{lotOf("a", 9, "gold-750-yellow")},
		Additions: []Addition{{ID: "grain", Alloy: "gold-750-yellow", PricePerG: at(61.35)}}}})
	require.InDelta(t, 11, out.BoughtG, 1e-9)
	require.InDelta(t, 8.25, out.FineBoughtG, 1e-9)
	require.Equal(t, "674.85", out.Cost) // 11 × 61.35
	require.InDelta(t, 45, out.ClientPct, 1e-9)
}

// Metal that nobody vouches for is tested first, and is not in the charge.
func TestUnvouchedMetal(t *testing.T) {
	for _, lot := range []SourceLot{{ID: "spoons", MassG: 62, Kind: "unmarked"}, {ID: "spoons", MassG: 62, FinenessLow: at(750.), FinenessHigh: at(930.), Evidence: "none"}} {
		out := plan(t, In{Target{Alloy: "silver-925", MassG: at(28.)}, Stock{Lots: []SourceLot{lot}}})
		require.Zero(t, weighOut(out, "spoons"))
		require.Equal(t, "not_yet", string(out.Verdict))
		require.Equal(t, []string{"spoons"}, out.TestFirst.Lots)
		require.LessOrEqual(t, len(out.TestFirst.Outcomes), 3)
		require.Equal(t, "they are 925", out.TestFirst.Outcomes[0].Finding)
		require.InDelta(t, 28, out.TestFirst.Outcomes[0].ClientG, 0.01)
		// 800: 28 × (.999 − .925) / (.999 − .800) = 10.41 g of the spoons.
		require.InDelta(t, 10.41, out.TestFirst.Outcomes[1].ClientG, 0.01)
		require.NotEmpty(t, out.TestFirst.Ways)
		require.Equal(t, 925.0, out.AfterAssay.FinenessPermil)
	}
	// Where the other lots do, it is not needed.
	out := plan(t, In{Target{Alloy: "silver-925", MassG: at(28.)}, Stock{Lots: []SourceLot{{ID: "spoons", MassG: 62, Kind: "unmarked"}, lotOf("grain", 40, "silver-925")}}})
	require.Equal(t, "care", string(out.Verdict))
}

// Dangerous scrap: no go until it is said to be dealt with; then as any lot.
func TestDangerousScrap(t *testing.T) {
	for o, s := range observed {
		lot := SourceLot{ID: "a", MassG: 40, Alloy: "silver-925", Observations: []string{o}}
		in := In{Target{Alloy: "silver-925", MassG: at(10.)}, Stock{Lots: []SourceLot{lot, {ID: "b", MassG: 1, Alloy: "silver-925"}}}}
		out := plan(t, in)
		switch {
		case s.refuses:
			require.Zero(t, weighOut(out, "a"), o)
			require.Equal(t, "care", string(out.Verdict), o)
			require.Contains(t, out.RefusedLots[0].Reason, s.do)
		case o == "silver_solder":
			require.Equal(t, "go", string(out.Verdict), o)
		default:
			require.Equal(t, string(s.level), string(out.Verdict), o)
			require.Positive(t, weighOut(out, "a"))
		}
		if s.low > 0 && !s.refuses {
			require.InDelta(t, 40*s.low, out.CleanMass[0].LowG, 1e-9)
			require.InDelta(t, 40*s.high, out.CleanMass[0].HighG, 1e-9)
		}
		in.Lots[0].DealtWith = []string{o}
		out = plan(t, in)
		require.Equal(t, "go", string(out.Verdict), "%s dealt with: %v", o, out.Reasons)
		require.Empty(t, out.CleanMass)
	}
	// Clean metal goes first.
	out := plan(t, In{Target{Alloy: "silver-925", MassG: at(10.)}, Stock{Lots: []SourceLot{
		{ID: "wet", MassG: 40, Alloy: "silver-925", Observations: []string{"wet"}}, lotOf("dry", 12, "silver-925")}}})
	require.InDelta(t, 10, weighOut(out, "dry"), 1e-9)
	require.Equal(t, "go", string(out.Verdict))
	// A lot of sulphur or tellurium is not diluted.
	for _, e := range []string{"S", "Te", "Bi"} {
		out := plan(t, In{Target{Alloy: "silver-925", MassG: at(10.)}, Stock{Lots: []SourceLot{lotOf("b", 20, "silver-925"),
			{ID: "a", MassG: 40, CompositionPermil: map[string]float64{"Ag": 925, "Cu": 65, e: 10}}}}})
		require.Contains(t, out.RefusedLots[0].Reason, "brittle", e)
	}
}

// A laboratory's report: an interval beside other elements.
func TestLaboratoryReport(t *testing.T) {
	out := plan(t, In{Target{Alloy: "silver-925", MassG: at(50.)}, Stock{Lots: []SourceLot{
		{ID: "a", MassG: 100, FinenessPermil: at(925.), PlusMinus: at(3.), ElementsPermil: map[string]float64{"Zn": 8}}}}})
	require.GreaterOrEqual(t, out.FinenessWorst, 925.0)
	require.InDelta(t, 31.25, weighOut(out, "a"), 0.01, "zinc at 5 of 8 per mil binds")
	_, err := Solve(ctx, In{Target{Alloy: "silver-925", MassG: at(50.)}, Stock{Lots: []SourceLot{
		{ID: "a", MassG: 100, FinenessPermil: at(925.), PlusMinus: at(3.), ElementsPermil: map[string]float64{"Zn": 100}}}}})
	require.ErrorContains(t, err, "elements_permil")
}

// Gold of which only fineness and colour are known looks like that colour, and
// without the colour says that nothing is known.
func TestGoldByItsColour(t *testing.T) {
	in := In{Target{Alloy: "gold-585-yellow", MassG: at(22.)}, Stock{Lots: []SourceLot{{ID: "r", MassG: 28, FinenessPermil: at(585.), Evidence: "marked", Colour: "yellow"}}}}
	out := plan(t, in)
	require.Equal(t, "go", string(out.Verdict), "%v", out.Reasons)
	require.Zero(t, out.BoughtG)
	require.LessOrEqual(t, *out.Match.DeltaEMax, 6.0)
	require.Greater(t, out.Properties.LiquidusC.High, out.Properties.LiquidusC.Low)
	in.Lots[0].Colour = ""
	out = plan(t, in)
	require.Equal(t, "cannot_tell", string(out.Verdict), "%v", out.Reasons)
}

// After the assay: what lowers gold is the alloy's own metals.
func TestCorrectionByAlloy(t *testing.T) {
	out, err := Correct(ctx, CorrectionIn{MeltG: 20, AssayPermil: 770, Alloy: "gold-750-yellow-160-90"})
	require.NoError(t, err)
	// 20 × 20 / 750 = 0.533 g, down to the scale: 0.53; 160 : 90 of it.
	require.InDelta(t, 0.53, out.AddG, 1e-9)
	require.Equal(t, []CorrectionPart{{"Ag", 0.34}, {"Cu", 0.19}}, out.Parts)
	out, err = Correct(ctx, CorrectionIn{MeltG: 20, AssayPermil: 740, Alloy: "gold-750-yellow"})
	require.NoError(t, err)
	require.Equal(t, "Au", out.Parts[0].Metal)
	_, err = Correct(ctx, CorrectionIn{MeltG: 20, AssayPermil: 740, Alloy: "copper"})
	require.ErrorContains(t, err, "alloy")
}

// Whatever may be listed in a lot is known to alloys too, or refused there
// with its reason.
func TestElementsAreTheSameEverywhere(t *testing.T) {
	for _, e := range elements {
		base := "Ag"
		if e == base {
			continue
		}
		_, err := metal.Of(metal.Composition{"Ag": .9995, e: .0005}, &metal.MeltingRange{SolidusC: 950, LiquidusC: 962})
		if metal.Knows(e) {
			require.NoError(t, err, e)
		} else {
			require.ErrorContains(t, err, "refiner", e)
		}
	}
	for _, e := range metal.Symbols() {
		require.Contains(t, elements, e)
	}
}

// Two conflicts side by side: lifting a limit of the one is not enough, and
// the refusal says so; with one of them gone any of the other's limits is.
func TestOneLimitIsNotAlwaysEnough(t *testing.T) {
	in := In{Target{FinenessPermil: 925, MassG: at(50.)}, Stock{
		Lots: []SourceLot{{ID: "a", MassG: 30, FinenessPermil: at(835.), Use: "whole"},
			{ID: "b", MassG: 20, CompositionPermil: map[string]float64{"Ag": 960, "Zn": 40}, Use: "whole"}},
		Additions: []Addition{{ID: "999", CompositionPermil: map[string]float64{"Ag": 999, "Cu": 1}}}}}
	_, err := Solve(ctx, in)
	var r *calc.Refusal
	require.ErrorAs(t, err, &r)
	alone := r.Explain["enough_alone"].([]string)
	require.Less(t, len(alone), len(r.Faults))
	require.Contains(t, r.Detail, "further conflict")
	in.Lots[1].CompositionPermil = map[string]float64{"Ag": 960, "Cu": 40}
	_, err = Solve(ctx, in)
	require.ErrorAs(t, err, &r)
	require.Len(t, r.Explain["enough_alone"], len(r.Faults))
	require.Contains(t, r.Detail, "any one")
}

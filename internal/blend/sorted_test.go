package blend

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
)

// A mark holds as stamped; s % of solder of 700 in 925 leaves 925 − s (925 − 700)/100:
// 922.8, 920.5, 913.8, 902.5 for 1, 2, 5, 10 % (derived).
func TestMarksAndSolder(t *testing.T) {
	worst := func(lot SourceLot) float64 {
		lot.ID, lot.MassG, lot.FinenessPermil, lot.Evidence = "a", 50, at(925.), "marked"
		out := plan(t, In{Target{FinenessPermil: 925, MassG: at(60.)}, Stock{Lots: []SourceLot{lot}}})
		return 1000 * out.Charge[0].FineLeastG / out.Charge[0].WeighG
	}
	const printed = 0.051 // rounded to a tenth
	require.InDelta(t, 925, worst(SourceLot{}), 1e-9)
	for pct, want := range map[float64]float64{1: 922.8, 2: 920.5, 5: 913.8, 10: 902.5} {
		require.InDelta(t, want, worst(SourceLot{SolderPct: at(pct), SolderFineness: at(700.)}), printed)
	}
	require.InDelta(t, 925-0.02*(925-650), worst(SourceLot{Observations: []string{"silver_solder"}}), 1e-9)
	require.InDelta(t, 925-0.02*(925-650), worst(SourceLot{Observations: []string{"silver_solder"}, DealtWith: []string{"silver_solder"}}), 1e-9, "seen is in it")
}

// Nobody buys 0.003 g of fine gold: 1.9 g of 375 and 2.4 g of 750 hold 584.3 together,
// and a little less of the 375 does.
func TestNoCrumbsAreBought(t *testing.T) {
	lots := []SourceLot{{ID: "9 ct", MassG: 1.9, Alloy: "gold-375-yellow"}, {ID: "18 ct", MassG: 2.4, Alloy: "gold-750-yellow"}, {ID: "grain", MassG: 40, Alloy: "gold-585-yellow", Owner: "studio"}}
	in := In{Target{Alloy: "gold-585-yellow", MassG: at(14.8)}, Stock{Lots: lots}}
	out := plan(t, in)
	require.Zero(t, out.BoughtG)
	require.InDelta(t, 2.4, weighOut(out, "18 ct"), 1e-9)
	// 1.9 − x of 375 with 2.4 of 750 at 585: x = 1.9 − 2.4 × 165/210.
	require.InDelta(t, 2.4*165/210, weighOut(out, "9 ct"), 0.011)
	require.GreaterOrEqual(t, out.FinenessWorst, 585.0)
	require.InDelta(t, 14.8, out.MassG, 0.011, "the mass that was asked for")
	// Where it is the mass that lacks a crumb, the melt is that much less.
	short := plan(t, In{Target{Alloy: "silver-925", MassG: at(20.05)}, Stock{Lots: []SourceLot{lotOf("a", 20, "silver-925")}}})
	require.Zero(t, short.BoughtG)
	require.InDelta(t, 20, short.MassG, 1e-9)
	short = plan(t, In{Target{Alloy: "silver-925", MassG: at(20.2)}, Stock{Lots: []SourceLot{lotOf("a", 20, "silver-925")}}})
	require.InDelta(t, 0.2, short.BoughtG, 0.011)
	// Where the lots do not do without it, it is bought: 0.2 g of fine for 12 g of 580.
	in.Lots = []SourceLot{{ID: "a", MassG: 30, CompositionPermil: map[string]float64{"Au": 584, "Ag": 260, "Cu": 156}}}
	out = plan(t, in)
	require.Greater(t, out.FineBoughtG, 0.0)
	require.GreaterOrEqual(t, out.FinenessWorst, 585.0)
	// More than a crumb is bought as ever: 4 g of 375 ask for fine gold.
	in.Lots = []SourceLot{{ID: "9 ct", MassG: 4, Alloy: "gold-375-yellow"}, {ID: "grain", MassG: 40, Alloy: "gold-585-yellow", Owner: "studio"}}
	out = plan(t, in)
	require.InDelta(t, 4, weighOut(out, "9 ct"), 1e-9)
	require.InDelta(t, 4*(585.-375)/(999-585), out.FineBoughtG/0.999, 0.02)
	// Other objectives are kept to the letter.
	in.Lots, in.Objective = lots, MostClient
	out = plan(t, in)
	require.InDelta(t, 1.9, weighOut(out, "9 ct"), 1e-9)
	require.Greater(t, out.BoughtG, 0.0)
}

// What nobody knows needs no fineness, plate holds none, and gold is not lost in
// silver: a tenth of it keeps a lot out, a trace of it does not.
func TestSortedOut(t *testing.T) {
	good := SourceLot{ID: "good", MassG: 60, FinenessPermil: at(925.)}
	refused := func(lot SourceLot) string {
		lot.ID, lot.MassG = "x", 20
		out := plan(t, In{Target{Alloy: "silver-925", MassG: at(40.)}, Stock{Lots: []SourceLot{good, lot}}})
		require.InDelta(t, 40, weighOut(out, "good"), 0.011)
		if len(out.RefusedLots) == 0 {
			return ""
		}
		require.Equal(t, "x", out.RefusedLots[0].ID)
		for _, r := range out.Reasons {
			require.NotEmpty(t, r.Do)
		}
		return out.RefusedLots[0].Reason
	}
	require.Contains(t, refused(SourceLot{Observations: []string{"unknown_white_metal"}}), "unknown white metal")
	require.Contains(t, refused(SourceLot{Evidence: "none", Observations: []string{"unknown_white_metal"}}), "unknown white metal")
	require.Empty(t, refused(SourceLot{Evidence: "none"}), "tested first, not refused")
	for _, kind := range []string{"silver_plate", "nickel_silver", "uk_silver_coin_from_1947"} {
		require.Contains(t, refused(SourceLot{Kind: kind}), "no silver", kind)
	}
	require.Empty(t, refused(SourceLot{Kind: "us_half_dollar_1965_to_1970"}))
	require.Contains(t, refused(SourceLot{Alloy: "gold-375-yellow"}), "worth far more than silver")
	require.Contains(t, refused(SourceLot{CompositionPermil: map[string]float64{"Ag": 880, "Au": 60, "Pd": 50}}), "worth far more than silver")
	require.Empty(t, refused(SourceLot{CompositionPermil: map[string]float64{"Ag": 910, "Au": 90}}))
	_, err := Solve(t.Context(), In{Target{Alloy: "silver-925", MassG: at(40.)}, Stock{Lots: []SourceLot{{ID: "x", MassG: 20, Observations: []string{"unknown_white_metal"}, DealtWith: []string{"unknown_white_metal"}}}}})
	require.ErrorContains(t, err, "say what x is", "once it is known it must be said")
}

// The caller's own melting range stands for the charge.
func TestOwnRangeOfACharge(t *testing.T) {
	in := In{Target{Alloy: "silver-925", MassG: at(20.), SolidusC: at(770.), LiquidusC: at(885.)}, Stock{Lots: []SourceLot{lotOf("a", 30, "silver-925")}}}
	out := plan(t, in)
	require.Equal(t, 770.0, out.Properties.SolidusC.Middle)
	require.Equal(t, 885.0, out.Properties.LiquidusC.High)
	require.Equal(t, 985.0, out.Properties.PourC)
	in.LiquidusC = at(760.)
	_, err := Solve(t.Context(), in)
	require.ErrorContains(t, err, "liquidus_c")
	in.LiquidusC = nil
	_, err = Solve(t.Context(), in)
	require.ErrorContains(t, err, "liquidus_c")
}

// What is missing of an analysis is copper; a lot that no usual fineness fits is
// tested for both its ends; reasons begin with a capital.
func TestRestEndsAndCapitals(t *testing.T) {
	var none calc.Checks
	c := Analysis("composition_permil", map[string]float64{"Ag": 925, "Zn": 5, "Cu": 20}, &none)
	require.NoError(t, none.Err())
	require.InDelta(t, 0.07, c["Cu"], 1e-12)
	ends := findings("Ag", []SourceLot{{FinenessLow: at(860.), FinenessHigh: at(880.)}})
	require.Equal(t, []float64{860, 880}, ends)
	require.Equal(t, []float64{870}, findings("Ag", []SourceLot{{FinenessLow: at(870.), FinenessHigh: at(870.)}}))
	require.Equal(t, []float64{925, 800, 0}, findings("Ag", []SourceLot{{}}))
	require.Equal(t, "Cut it", capital("cut it"))
	require.Equal(t, "Zinc", capital("zinc"))
	require.Equal(t, "", capital(""))
	require.Equal(t, "°C", capital("°C"))
}

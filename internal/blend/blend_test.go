package blend

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
)

// gives is a lot of known fineness (any scale, full being its top) of which
// all must go in, or of which any part may.
func gives(id string, mass, fine, full float64, whole bool) SourceLot {
	use := "part"
	if whole {
		use = "whole"
	}
	permil := fine / full * 1000
	return SourceLot{ID: id, MassG: mass, FinenessPermil: &permil, Use: use}
}

func addition(id string, fine, full float64) Addition {
	permil := fine / full * 1000
	return Addition{ID: id, CompositionPermil: map[string]float64{"Ag": permil, "Cu": 1000 - permil}}
}

func at[T any](v T) *T { return &v }

func exactly(t *testing.T, out Out, id string) float64 {
	t.Helper()
	for _, part := range out.Charge {
		if part.ID == id {
			return part.ExactG
		}
	}
	return 0
}

// TestPublishedAlligation solves the worked examples of the arithmetic books.
// They are recomputed exactly, so the tolerance is that of the arithmetic;
// where a book rounds, it is half a unit in its last place.
func TestPublishedAlligation(t *testing.T) {
	const arithmetic = 1e-9 // of the numbers, which are of the order of ten
	fibonacci := "Leonardo of Pisa, Liber abaci, ch. XI, silver in oz to the pound of 12"
	warren := "Warren, Mechanical Dentistry, pp. 206-207, gold in carat"
	jewellers := "jewellers' tables, gold in carat"
	algebra := "school algebra"
	fine, copper := addition("fine", 1, 1), addition("copper", 0, 1)
	cases := []struct {
		source     string
		lots       []SourceLot
		additions  []Addition
		want, full float64
		mass       float64 // 0: whatever the whole lots ask
		answer     map[string]float64
		tolerance  float64
	}{
		{fibonacci, []SourceLot{gives("a", 7, 5, 12, true)}, []Addition{copper, fine}, 2, 12, 0, map[string]float64{"copper": 10.5, "fine": 0}, arithmetic},
		{fibonacci, []SourceLot{gives("a", 7, 5, 12, true), gives("b", 9, 4, 12, true)}, []Addition{copper}, 3, 12, 0, map[string]float64{"copper": 7 + 2./3}, arithmetic},
		{fibonacci, []SourceLot{gives("a", 9, 2, 12, true)}, []Addition{fine, copper}, 5, 12, 0, map[string]float64{"fine": 3 + 6./7}, arithmetic},
		{fibonacci, []SourceLot{gives("equal parts of 4 and 3", 99, 3.5, 12, false)}, []Addition{fine}, 7, 12, 7, map[string]float64{"equal parts of 4 and 3": 4 + 2./17, "fine": 2 + 15./17}, arithmetic},
		{warren, []SourceLot{gives("fine gold", 6, 24, 24, true)}, []Addition{copper}, 16, 24, 0, map[string]float64{"copper": 3}, arithmetic},
		{warren, []SourceLot{gives("16 ct", 1, 16, 24, true)}, []Addition{fine}, 18, 24, 0, map[string]float64{"fine": 1. / 3}, arithmetic},
		{warren, []SourceLot{gives("16 ct", 1, 16, 24, true)}, []Addition{addition("22 ct", 22, 24)}, 18, 24, 0, map[string]float64{"22 ct": 1. / 2}, arithmetic},
		{"G. E. Gee, Silversmith's Handbook: 18 dwt 12 gr with 1 dwt 12 gr of copper", []SourceLot{gives("silver", 18.5, 1, 1, true)}, []Addition{copper}, 925, 1000, 0, map[string]float64{"copper": 1.5}, arithmetic},
		{"Mathematics (Cambridge) I, 127-129", []SourceLot{gives("20 ct", 10, 20, 24, true), gives("18 ct", 16, 18, 24, true)}, []Addition{fine}, 22, 24, 0, map[string]float64{"fine": 42}, arithmetic},
		{jewellers, []SourceLot{gives("10 ct", 7, 10, 24, true)}, []Addition{fine}, 14, 24, 0, map[string]float64{"fine": 2.8}, arithmetic},
		{jewellers, []SourceLot{gives("10 ct", 20, 10, 24, true)}, []Addition{fine}, 14, 24, 0, map[string]float64{"fine": 8}, arithmetic},
		{jewellers, []SourceLot{gives("18 ct", 9, 18, 24, true)}, []Addition{copper}, 10, 24, 0, map[string]float64{"copper": 7.2}, arithmetic},
		{jewellers, []SourceLot{gives("14 ct", 25, 14, 24, true)}, []Addition{copper}, 10, 24, 0, map[string]float64{"copper": 10}, arithmetic},
		{jewellers, []SourceLot{gives("fine gold", 31.1034768, 24, 24, true)}, []Addition{copper}, 18, 24, 0, map[string]float64{"copper": 10.3678256}, arithmetic},
		{algebra, []SourceLot{gives("18 ct", 999, 18, 24, false), gives("12 ct", 999, 12, 24, false)}, []Addition{fine}, 16, 24, 120, map[string]float64{"18 ct": 80, "12 ct": 40, "fine": 0}, 120 * arithmetic},
		{algebra, []SourceLot{gives("900", 32, 900, 1000, true)}, []Addition{fine}, 925, 1000, 0, map[string]float64{"fine": 32. / 3}, arithmetic},
		{algebra, []SourceLot{gives("sterling", 999, 925, 1000, false)}, []Addition{copper}, 900, 1000, 200, map[string]float64{"sterling": 194.59, "copper": 5.41}, 0.005},
		{"derived", []SourceLot{gives("900", 42, 900, 1000, true)}, []Addition{addition("999", 999, 1000)}, 925, 1000, 0, map[string]float64{"999": 42 * 25. / 74}, arithmetic},
		{"derived", []SourceLot{gives("999", 25, 999, 1000, true)}, []Addition{copper}, 925, 1000, 0, map[string]float64{"copper": 2}, arithmetic},
		{"derived", []SourceLot{gives("958", 999, 958, 1000, false), gives("800", 999, 800, 1000, false)}, []Addition{copper}, 925, 1000, 60, map[string]float64{"958": 60 * 125. / 158, "800": 60 * 33. / 158}, 60 * arithmetic},
		{"derived: exact 14 ct to 585", []SourceLot{gives("14 ct", 10, 14, 24, true)}, []Addition{addition("999", 999, 1000)}, 585, 1000, 0, map[string]float64{"999": 0.0403}, 0.00005},
		{"derived: a soldered bangle", []SourceLot{gives("bangle", 38, 925, 1000, true), gives("its solder", 1.2, 700, 1000, true)}, []Addition{addition("999", 999, 1000)}, 925, 1000, 0, map[string]float64{"999": 3.649}, 0.0005},
	}
	for _, c := range cases {
		t.Run(c.source, func(t *testing.T) {
			in := In{Target{FinenessPermil: c.want / c.full * 1000}, Stock{Lots: c.lots, Additions: c.additions}}
			in.NoFinerThan = &in.FinenessPermil // to the fineness, not over it
			if c.mass > 0 {
				in.MassG = &c.mass
			}
			out, err := Solve(context.Background(), in)
			require.NoError(t, err)
			for id, want := range c.answer {
				require.InDelta(t, want, exactly(t, out, id), c.tolerance, id)
			}
		})
	}
}

// TestColour is a published three-element alligation: x g of 90 Au 10 Ag and
// y g of 80 Au 20 Cu with 60 g of 45 Au 50 Ag 5 Cu to 70 Au 15 Ag 15 Cu gives
// x = 6 g, y = 138 g (school algebra).
func TestColour(t *testing.T) {
	lot := func(id string, mass float64, use string, au, ag, cu float64) SourceLot {
		return SourceLot{ID: id, MassG: mass, Use: use, CompositionPermil: map[string]float64{"Au": au, "Ag": ag, "Cu": cu}}
	}
	out, err := Solve(context.Background(), In{
		Target{FinenessPermil: 700, Limits: []LimitTerm{{"Ag", at(150.), at(150.)}, {"Cu", at(150.), at(150.)}}},
		Stock{Metal: "gold", Lots: []SourceLot{lot("x", 500, "part", 900, 100, 0), lot("y", 500, "part", 800, 0, 200), lot("z", 60, "whole", 450, 500, 50)}}})
	require.NoError(t, err)
	require.InDelta(t, 6, exactly(t, out, "x"), 1e-9)
	require.InDelta(t, 138, exactly(t, out, "y"), 1e-9)
}

// TestIntervals: lots of 915-925, 895-900 and 780-800, all of them, raised to
// 925 by 999 in the worst and in the best case (derived exactly).
func TestIntervals(t *testing.T) {
	lots := func(low bool) (list []SourceLot) {
		for _, l := range []struct{ mass, low, high float64 }{{30, 915, 925}, {12, 895, 900}, {8, 780, 800}} {
			lot := SourceLot{MassG: l.mass, FinenessLow: &l.low, FinenessHigh: &l.high, Use: "whole"}
			if !low {
				lot.FinenessLow = &l.high
			}
			list = append(list, lot)
		}
		return list
	}
	for _, c := range []struct {
		low  bool
		want float64
	}{{true, 24.595}, {false, 17.568}} {
		out, err := Solve(context.Background(), In{Target{FinenessPermil: 925}, Stock{Lots: lots(c.low)}})
		require.NoError(t, err)
		require.InDelta(t, c.want, exactly(t, out, "fine silver 999"), 0.0005)
	}
}

func brief() In { // three lots of silver for 80 g of 925
	return In{Target{FinenessPermil: 925, MassG: at(80.)}, Stock{Lots: []SourceLot{
		{ID: "spoons", MassG: 60, FinenessLow: at(915.), FinenessHigh: at(925.)},
		{ID: "coins", MassG: 25, FinenessLow: at(895.), FinenessHigh: at(900.)},
		{ID: "brooch", MassG: 20, FinenessLow: at(790.), FinenessHigh: at(800.)}}}}
}

// TestProgramme is derived exactly: the fine metal must bring
// 60 × 10 + x × 30 from (999 − 925) × y with x + y = 20.
func TestProgramme(t *testing.T) {
	out, err := Solve(context.Background(), brief())
	require.NoError(t, err)
	require.InDelta(t, 60, exactly(t, out, "spoons"), 1e-9)
	require.InDelta(t, 8.4615384615, exactly(t, out, "coins"), 1e-9)
	require.InDelta(t, 0, exactly(t, out, "brooch"), 1e-9)
	require.InDelta(t, 11.5384615385, exactly(t, out, "fine silver 999"), 1e-9)
	require.InDelta(t, 80, out.MassG, 1e-9)
	require.Equal(t, 11.54, out.BoughtG)
	require.GreaterOrEqual(t, out.FinenessWorst, 925.0)
	require.InDelta(t, 933.0, out.FinenessBest, 0.05)
	require.True(t, out.Verification.Optimal)
	require.LessOrEqual(t, out.Verification.Gap, 1e-9)
	// The price of a gram of the spoons, against solving again without it.
	again := brief()
	again.Lots[0].MassG--
	less, err := Solve(context.Background(), again)
	require.NoError(t, err)
	found := false
	for _, w := range out.WhatIf {
		if w.Change == "one gram less of spoons" {
			found = true
			require.InDelta(t, 0.999*(exactly(t, less, "fine silver 999")-exactly(t, out, "fine silver 999")), w.Effect, 1e-9)
			require.Equal(t, "g fine bought", w.Unit)
			require.GreaterOrEqual(t, *w.HoldsUpTo, 1.0)
		}
	}
	require.True(t, found)
}

// TestConflict: 40 g of 835, all in, with 10 g of 999 in stock cannot reach
// 925: the best is 867.8, and 48.649 g of 999 would be needed (derived).
func TestConflict(t *testing.T) {
	_, err := Solve(context.Background(), In{Target{FinenessPermil: 925}, Stock{
		Lots:      []SourceLot{gives("835", 40, 835, 1000, true)},
		Additions: []Addition{{ID: "999", CompositionPermil: map[string]float64{"Ag": 999, "Cu": 1}, StockG: at(10.)}}}})
	var refusal *calc.Refusal
	require.True(t, errors.As(err, &refusal))
	var fields []string
	for _, f := range refusal.Faults {
		fields = append(fields, f.Field)
	}
	require.ElementsMatch(t, []string{"fineness_permil", "lots[0].use", "additions[0].stock_g"}, fields)
	require.InDelta(t, 867.8, refusal.Explain["highest_fineness_permil"], 0.05)
	mends := refusal.Explain["mends"].([]mend)
	require.Len(t, mends, 1)
	require.InDelta(t, 48.649-10, mends[0].MassG, 0.0005)
}

// TestDegenerate: two lots of 900 reach 900 in any split, and 925 in none.
func TestDegenerate(t *testing.T) {
	in := In{Target{FinenessPermil: 900, MassG: at(10.)}, Stock{
		Lots:      []SourceLot{gives("a", 10, 900, 1000, false), gives("b", 10, 900, 1000, false)},
		Additions: []Addition{addition("copper", 0, 1)}}}
	out, err := Solve(context.Background(), in)
	require.NoError(t, err)
	require.InDelta(t, 10, exactly(t, out, "a")+exactly(t, out, "b"), 1e-9)
	in.FinenessPermil = 925
	_, err = Solve(context.Background(), in)
	require.Error(t, err)
}

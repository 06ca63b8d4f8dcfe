package blend

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
)

// gives is a lot of known fineness (any scale, full being its top) of which
// all must go in, or of which any part may.
func gives(id string, mass, fine, full float64, whole bool) BlendLot {
	use := "part"
	if whole {
		use = "whole"
	}
	permil := fine / full * 1000
	return BlendLot{ID: id, MassG: mass, FinenessPermil: &permil, Use: use}
}

func addition(id string, fine, full float64) BlendAddition {
	permil := fine / full * 1000
	return BlendAddition{ID: id, CompositionPermil: map[string]float64{"Ag": permil, "Cu": 1000 - permil}}
}

func at[T any](v T) *T { return &v }

func exactly(t *testing.T, out BlendOut, id string) float64 {
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
		lots       []BlendLot
		additions  []BlendAddition
		want, full float64
		mass       float64 // 0: whatever the whole lots ask
		answer     map[string]float64
		tolerance  float64
	}{
		{fibonacci, []BlendLot{gives("a", 7, 5, 12, true)}, []BlendAddition{copper, fine}, 2, 12, 0, map[string]float64{"copper": 10.5, "fine": 0}, arithmetic},
		{fibonacci, []BlendLot{gives("a", 7, 5, 12, true), gives("b", 9, 4, 12, true)}, []BlendAddition{copper}, 3, 12, 0, map[string]float64{"copper": 7 + 2./3}, arithmetic},
		{fibonacci, []BlendLot{gives("a", 9, 2, 12, true)}, []BlendAddition{fine, copper}, 5, 12, 0, map[string]float64{"fine": 3 + 6./7}, arithmetic},
		{fibonacci, []BlendLot{gives("equal parts of 4 and 3", 99, 3.5, 12, false)}, []BlendAddition{fine}, 7, 12, 7, map[string]float64{"equal parts of 4 and 3": 4 + 2./17, "fine": 2 + 15./17}, arithmetic},
		{warren, []BlendLot{gives("fine gold", 6, 24, 24, true)}, []BlendAddition{copper}, 16, 24, 0, map[string]float64{"copper": 3}, arithmetic},
		{warren, []BlendLot{gives("16 ct", 1, 16, 24, true)}, []BlendAddition{fine}, 18, 24, 0, map[string]float64{"fine": 1. / 3}, arithmetic},
		{warren, []BlendLot{gives("16 ct", 1, 16, 24, true)}, []BlendAddition{addition("22 ct", 22, 24)}, 18, 24, 0, map[string]float64{"22 ct": 1. / 2}, arithmetic},
		{"G. E. Gee, Silversmith's Handbook: 18 dwt 12 gr with 1 dwt 12 gr of copper", []BlendLot{gives("silver", 18.5, 1, 1, true)}, []BlendAddition{copper}, 925, 1000, 0, map[string]float64{"copper": 1.5}, arithmetic},
		{"Mathematics (Cambridge) I, 127-129", []BlendLot{gives("20 ct", 10, 20, 24, true), gives("18 ct", 16, 18, 24, true)}, []BlendAddition{fine}, 22, 24, 0, map[string]float64{"fine": 42}, arithmetic},
		{jewellers, []BlendLot{gives("10 ct", 7, 10, 24, true)}, []BlendAddition{fine}, 14, 24, 0, map[string]float64{"fine": 2.8}, arithmetic},
		{jewellers, []BlendLot{gives("10 ct", 20, 10, 24, true)}, []BlendAddition{fine}, 14, 24, 0, map[string]float64{"fine": 8}, arithmetic},
		{jewellers, []BlendLot{gives("18 ct", 9, 18, 24, true)}, []BlendAddition{copper}, 10, 24, 0, map[string]float64{"copper": 7.2}, arithmetic},
		{jewellers, []BlendLot{gives("14 ct", 25, 14, 24, true)}, []BlendAddition{copper}, 10, 24, 0, map[string]float64{"copper": 10}, arithmetic},
		{jewellers, []BlendLot{gives("fine gold", 31.1034768, 24, 24, true)}, []BlendAddition{copper}, 18, 24, 0, map[string]float64{"copper": 10.3678256}, arithmetic},
		{algebra, []BlendLot{gives("18 ct", 999, 18, 24, false), gives("12 ct", 999, 12, 24, false)}, []BlendAddition{fine}, 16, 24, 120, map[string]float64{"18 ct": 80, "12 ct": 40, "fine": 0}, 120 * arithmetic},
		{algebra, []BlendLot{gives("900", 32, 900, 1000, true)}, []BlendAddition{fine}, 925, 1000, 0, map[string]float64{"fine": 32. / 3}, arithmetic},
		{algebra, []BlendLot{gives("sterling", 999, 925, 1000, false)}, []BlendAddition{copper}, 900, 1000, 200, map[string]float64{"sterling": 194.59, "copper": 5.41}, 0.005},
		{"derived", []BlendLot{gives("900", 42, 900, 1000, true)}, []BlendAddition{addition("999", 999, 1000)}, 925, 1000, 0, map[string]float64{"999": 42 * 25. / 74}, arithmetic},
		{"derived", []BlendLot{gives("999", 25, 999, 1000, true)}, []BlendAddition{copper}, 925, 1000, 0, map[string]float64{"copper": 2}, arithmetic},
		{"derived: exact 14 ct to 585", []BlendLot{gives("14 ct", 10, 14, 24, true)}, []BlendAddition{addition("999", 999, 1000)}, 585, 1000, 0, map[string]float64{"999": 0.0403}, 0.00005},
		{"derived: a soldered bangle", []BlendLot{gives("bangle", 38, 925, 1000, true), gives("its solder", 1.2, 700, 1000, true)}, []BlendAddition{addition("999", 999, 1000)}, 925, 1000, 0, map[string]float64{"999": 3.649}, 0.0005},
	}
	for _, c := range cases {
		t.Run(c.source, func(t *testing.T) {
			in := BlendIn{BlendTarget{FinenessPermil: c.want / c.full * 1000}, BlendStock{Lots: c.lots, Additions: c.additions}}
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
	lot := func(id string, mass float64, use string, au, ag, cu float64) BlendLot {
		return BlendLot{ID: id, MassG: mass, Use: use, CompositionPermil: map[string]float64{"Au": au, "Ag": ag, "Cu": cu}}
	}
	out, err := Solve(context.Background(), BlendIn{
		BlendTarget{FinenessPermil: 700, Limits: []BlendLimit{{"Ag", at(150.), at(150.)}, {"Cu", at(150.), at(150.)}}},
		BlendStock{Metal: "gold", Lots: []BlendLot{lot("x", 500, "part", 900, 100, 0), lot("y", 500, "part", 800, 0, 200), lot("z", 60, "whole", 450, 500, 50)}}})
	require.NoError(t, err)
	require.InDelta(t, 6, exactly(t, out, "x"), 1e-9)
	require.InDelta(t, 138, exactly(t, out, "y"), 1e-9)
}

// TestIntervals: lots of 915-925, 895-900 and 780-800, all of them, raised to
// 925 by 999 in the worst and in the best case (derived exactly).
func TestIntervals(t *testing.T) {
	lots := func(low bool) (list []BlendLot) {
		for _, l := range []struct{ mass, low, high float64 }{{30, 915, 925}, {12, 895, 900}, {8, 780, 800}} {
			lot := BlendLot{MassG: l.mass, FinenessLow: &l.low, FinenessHigh: &l.high, Use: "whole"}
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
		out, err := Solve(context.Background(), BlendIn{BlendTarget{FinenessPermil: 925}, BlendStock{Lots: lots(c.low)}})
		require.NoError(t, err)
		require.InDelta(t, c.want, exactly(t, out, "fine silver 999"), 0.0005)
	}
}

func brief() BlendIn { // three lots of silver for 80 g of 925
	return BlendIn{BlendTarget{FinenessPermil: 925, MassG: at(80.)}, BlendStock{Lots: []BlendLot{
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
			require.InDelta(t, exactly(t, less, "fine silver 999")-exactly(t, out, "fine silver 999"), w.Effect, 1e-9)
			require.GreaterOrEqual(t, *w.HoldsUpTo, 1.0)
		}
	}
	require.True(t, found)
}

// TestConflict: 40 g of 835, all in, with 10 g of 999 in stock cannot reach
// 925: the best is 867.8, and 48.649 g of 999 would be needed (derived).
func TestConflict(t *testing.T) {
	_, err := Solve(context.Background(), BlendIn{BlendTarget{FinenessPermil: 925}, BlendStock{
		Lots:      []BlendLot{gives("835", 40, 835, 1000, true)},
		Additions: []BlendAddition{{ID: "999", CompositionPermil: map[string]float64{"Ag": 999, "Cu": 1}, StockG: at(10.)}}}})
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
	in := BlendIn{BlendTarget{FinenessPermil: 900, MassG: at(10.)}, BlendStock{
		Lots:      []BlendLot{gives("a", 10, 900, 1000, false), gives("b", 10, 900, 1000, false)},
		Additions: []BlendAddition{addition("copper", 0, 1)}}}
	out, err := Solve(context.Background(), in)
	require.NoError(t, err)
	require.InDelta(t, 10, exactly(t, out, "a")+exactly(t, out, "b"), 1e-9)
	in.FinenessPermil = 925
	_, err = Solve(context.Background(), in)
	require.Error(t, err)
}

func TestPoisonsAreRefused(t *testing.T) {
	for _, sign := range []string{"soft_solder", "lead", "cadmium_solder", "arsenic"} {
		in := brief()
		in.Lots[2].Observations = []string{sign}
		out, err := Solve(context.Background(), in)
		require.NoError(t, err)
		require.Len(t, out.RefusedLots, 1)
		require.Zero(t, exactly(t, out, "brooch"))
		in.Lots[2].Use = "whole"
		_, err = Solve(context.Background(), in)
		require.ErrorContains(t, err, "lots[2].use")
		require.True(t, strings.Contains(err.Error(), "refiner"))
	}
}

func TestRefusalsNameTheField(t *testing.T) {
	for field, spoil := range map[string]func(*BlendIn){
		"lots[0].mass_g":              func(in *BlendIn) { in.Lots[0].MassG = -1 },
		"lots[1].fineness_permil":     func(in *BlendIn) { in.Lots[1].FinenessPermil = at(9250.) },
		"lots[0].fineness_low_permil": func(in *BlendIn) { in.Lots[0].FinenessLow = at(930.) },
		"lots[0].composition_permil":  func(in *BlendIn) { in.Lots[0] = BlendLot{MassG: 1, CompositionPermil: map[string]float64{"Agg": 925}} },
		"lots[2].kind":                func(in *BlendIn) { in.Lots[2] = BlendLot{MassG: 1, Kind: "moonsilver"} },
		"mass_g":                      func(in *BlendIn) { in.MassG = nil },
		"fineness_permil":             func(in *BlendIn) { in.FinenessPermil = math.NaN() },
		"additions":                   func(in *BlendIn) { in.Objective = LeastCost },
		"limits[0].element":           func(in *BlendIn) { in.Limits = []BlendLimit{{Element: "Xx", MostPermil: at(1.)}} },
		"for_owner":                   func(in *BlendIn) { in.Lots[0].OwnerName, in.KeepOwnersApart = "client A", true },
	} {
		in := brief()
		spoil(&in)
		_, err := Solve(context.Background(), in)
		require.ErrorContains(t, err, field)
	}
}

func TestCorrections(t *testing.T) {
	out, err := Correct(context.Background(), CorrectionIn{MeltG: 50, AssayPermil: 918, FinenessPermil: 925})
	require.NoError(t, err)
	require.InDelta(t, 50*7./74, out.ExactG, 1e-12) // w (t − f)/(h − t)
	require.Equal(t, 4.73, out.AddG)
	require.InDelta(t, 925, out.FinenessWorst, 0.01)
	out, err = Correct(context.Background(), CorrectionIn{MeltG: 25, AssayPermil: 999, FinenessPermil: 925})
	require.NoError(t, err)
	require.InDelta(t, 2, out.AddG, 1e-12)
	require.Equal(t, "base", out.Adds)
	_, err = Correct(context.Background(), CorrectionIn{MeltG: 25, AssayPermil: 900, FinenessPermil: 925, Add: "base"})
	require.ErrorContains(t, err, "addition_fineness_permil")
}

// TestRoundingDown: copper to an ounce (480 grains) of fine silver, weighed
// to a grain. G. E. Gee, The Silversmith's Handbook, prints 2 dwt 6 gr for 900
// and so on, some rounded up and so below their fineness; rounded down they
// hold. Copper in grains, recomputed.
func TestRoundingDown(t *testing.T) {
	for want, grains := range map[float64]float64{900: 53, 750: 160, 675: 231, 650: 258, 625: 288, 600: 320} {
		in := BlendIn{BlendTarget{FinenessPermil: want, NoFinerThan: &want}, BlendStock{ResolutionG: 1,
			Lots: []BlendLot{gives("fine silver", 480, 1, 1, true)}, Additions: []BlendAddition{addition("copper", 0, 1)}}}
		out, err := Solve(context.Background(), in)
		require.NoError(t, err)
		require.Equal(t, grains, out.BoughtG, want)
		require.GreaterOrEqual(t, out.FinenessWorst, want-1e-9)
	}
}

// TestOneOfMany: published answers that are one of many must be possible here
// and no better than the optimum: 17, 18, 22 and 24 ct to 21 ct as 3, 1, 3, 4
// parts (Mathematics, Cambridge, I), and 15, 14, 11 and 9 Lot with copper to 28
// Mark of 12 Lot as 17 1/2, 1 1/6, 2 1/3, 3 1/2, 3 1/2 (an Austrian arithmetic).
func TestOneOfMany(t *testing.T) {
	for _, c := range []struct {
		full, want float64
		fine, mass []float64
	}{
		{24, 21, []float64{17, 18, 22, 24}, []float64{3, 1, 3, 4}},
		{16, 12, []float64{15, 14, 11, 9, 0}, []float64{17.5, 7. / 6, 7. / 3, 3.5, 3.5}},
	} {
		total, melt := 0.0, Melt{Metal: "Ag", Fineness: c.want / c.full, ScrapShare: 1}
		p := Programme{Objective: LeastCost}
		for k, f := range c.fine {
			s := graded("Ag", f/c.full, f/c.full)
			p.Lots = append(p.Lots, Lot{ID: string(rune('a' + k)), StockG: 100, Least: s.least, Most: s.most, PricePerG: f})
			total += c.mass[k]
		}
		melt.LeastG, melt.MostG = total, total
		p.Melts = []Melt{melt}
		theirs := p.Content([][]float64{c.mass}, 0)
		require.InDelta(t, melt.Fineness, theirs.Least["Ag"], 1e-12)
		require.True(t, p.holds([][]float64{c.mass}, 0))
		plan, err := p.Solve(context.Background())
		require.NoError(t, err)
		require.InDelta(t, c.want*total, plan.Value, 1e-9) // priced by fineness, every exact mixture costs the same
	}
}

// TestTraps: scrap whose name deceives, or whose sign spoils a test.
func TestTraps(t *testing.T) {
	solve := func(lot BlendLot) (BlendOut, error) {
		lot.ID, lot.MassG = "trap", 20
		return Solve(context.Background(), BlendIn{BlendTarget{FinenessPermil: 925, MassG: at(80.)}, BlendStock{Lots: []BlendLot{lot}}})
	}
	fineIn := func(out BlendOut) float64 { // worst case, of the lot
		if x := exactly(t, out, "trap"); x > 0 {
			return out.Charge[0].FineLeastG / out.Charge[0].WeighG * 1000
		}
		return math.NaN()
	}
	says := func(out BlendOut, code string) bool {
		return strings.Contains(strings.Join(codes(out.Notes), " "), code)
	}
	out, err := solve(BlendLot{Kind: "nickel_silver"})
	require.NoError(t, err)
	require.True(t, says(out, "scrap_kind"))
	require.Less(t, exactly(t, out, "trap"), 2.0) // 5 ‰ nickel of 80 g by a quarter nickel: 1.6 g
	out, err = solve(BlendLot{Kind: "britannia_silver"})
	require.NoError(t, err)
	require.InDelta(t, 958, fineIn(out), 1e-6)
	_, err = solve(BlendLot{Kind: "britannia_metal"})
	require.ErrorContains(t, err, "tin and antimony")
	out, err = solve(BlendLot{Kind: "us_five_cents_1942_to_1945"})
	require.NoError(t, err)
	require.Less(t, exactly(t, out, "trap"), 1.8) // 2 ‰ manganese of 80 g by 9 %
	require.True(t, says(out, "scrap_kind"))
	out, err = solve(BlendLot{FinenessPermil: at(925.), Evidence: "xray", Observations: []string{"plated"}})
	require.NoError(t, err)
	require.InDelta(t, 0, fineIn(out), 1e-9) // the skin says nothing
	out, err = solve(BlendLot{FinenessPermil: at(925.), Evidence: "touchstone"})
	require.NoError(t, err)
	require.InDelta(t, 905, fineIn(out), 1e-6)
	// Marked 925 with 5 % solder of 700: 913.75 (derived).
	out, err = solve(BlendLot{FinenessPermil: at(925.), Evidence: "marked", SolderPct: at(5.), SolderFineness: at(700.)})
	require.NoError(t, err)
	require.InDelta(t, 913.75, fineIn(out), 1e-6)
	out, err = solve(BlendLot{CompositionPermil: map[string]float64{"Ag": 650, "Cu": 200, "Zn": 150}})
	require.NoError(t, err)
	require.LessOrEqual(t, exactly(t, out, "trap"), 80*5./150+1e-9) // easy solder, held by its zinc
}

func codes(n calc.Notes) (list []string) {
	for _, c := range n.Cautions {
		list = append(list, c.Code)
	}
	return list
}

// TestDilution: 40 g with 75 ‰ zinc, all in, held to 5 ‰: 40 × 75 / 5 = 600 g.
func TestDilution(t *testing.T) {
	_, err := Solve(context.Background(), BlendIn{BlendTarget{FinenessPermil: 925, MassG: at(50.)}, BlendStock{
		Lots: []BlendLot{{MassG: 40, CompositionPermil: map[string]float64{"Ag": 925, "Zn": 75}, Use: "whole"}}}})
	var refusal *calc.Refusal
	require.True(t, errors.As(err, &refusal))
	require.InDelta(t, 600, refusal.Explain["smallest_mass_g"], 1e-4)
	require.NotContains(t, refusal.Explain, "largest_mass_g")
}

// TestAnythingIsAnswered: whatever the request, the answer is a refusal that
// names a field, or a charge of finite numbers that keeps its fineness.
func TestAnythingIsAnswered(t *testing.T) {
	unproved, total := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		size := func(label string, low, high float64) float64 { // over all orders of magnitude
			return math.Pow(10, rapid.Float64Range(math.Log10(low), math.Log10(high)).Draw(t, label))
		}
		maybe := func(label string, v func() float64) *float64 {
			if rapid.Bool().Draw(t, label) {
				return at(v())
			}
			return nil
		}
		permil := func() float64 { return rapid.Float64Range(0, 1000).Draw(t, "permil") }
		in := JointBlendIn{BlendStock: BlendStock{ResolutionG: size("resolution", 1e-4, 10),
			Metal: rapid.SampledFrom([]string{"silver", "gold", "palladium"}).Draw(t, "metal"), Objective: rapid.SampledFrom(objectives).Draw(t, "objective")},
			ReuseReturns: rapid.Bool().Draw(t, "reuse"), PourOrder: rapid.SampledFrom([]string{"as_given", "best"}).Draw(t, "order"),
			Apportion: rapid.SampledFrom([]Apportion{AnyShare, EvenShare, FirstShare}).Draw(t, "rule")}
		for range rapid.IntRange(1, 6).Draw(t, "lots") {
			lot := BlendLot{MassG: size("mass", 1e-3, 1e6), Use: rapid.SampledFrom([]string{"part", "whole", "whole_or_none"}).Draw(t, "use"), PricePerG: at(size("price", 1e-3, 1e5))}
			switch rapid.IntRange(0, 3).Draw(t, "known by") {
			case 0:
				lot.FinenessPermil = at(permil())
			case 1:
				low := permil()
				lot.FinenessLow, lot.FinenessHigh = &low, at(rapid.Float64Range(low, 1000).Draw(t, "high"))
			case 2:
				lot.CompositionPermil = map[string]float64{"Ag": 600, "Au": 200, "Zn": 200}
			case 3:
				lot.Kind = rapid.SampledFrom(sorted(kinds)).Draw(t, "kind")
			}
			lot.Evidence = rapid.SampledFrom([]string{"known", "marked", "xray"}).Draw(t, "evidence")
			in.Lots = append(in.Lots, lot)
		}
		if rapid.Bool().Draw(t, "own additions") {
			in.Additions = []BlendAddition{{ID: "fine", CompositionPermil: map[string]float64{"Ag": 500, "Au": 499, "Pd": 1}, StockG: maybe("stocked", func() float64 { return size("stock", 1e-3, 1e6) }), PricePerG: at(1.)}}
		}
		for range rapid.IntRange(1, 3).Draw(t, "melts") {
			melt := BlendMelt{ReturnsPct: rapid.Float64Range(0, 95).Draw(t, "returns"), BlendTarget: BlendTarget{FinenessPermil: rapid.Float64Range(1, 999.9).Draw(t, "fineness")}}
			melt.LargestScrapPct = maybe("share", func() float64 { return rapid.Float64Range(0, 100).Draw(t, "scrap") })
			switch rapid.IntRange(0, 2).Draw(t, "sized by") {
			case 0:
				melt.MassG = at(size("melt", 0.01, 1e6))
			case 1:
				melt.LeastMassG = at(size("melt", 0.01, 1e6))
			case 2:
				melt.LeastMassG = at(size("melt", 0.01, 1e3))
				melt.MostMassG = at(size("most", 1e3, 1e6))
			}
			in.Melts = append(in.Melts, melt)
		}
		total++
		out, err := SolveJoint(context.Background(), in)
		if err != nil {
			var refusal *calc.Refusal
			require.True(t, errors.As(err, &refusal), "%v", err)
			require.NotEmpty(t, refusal.Faults[0].Field)
			if strings.Contains(err.Error(), "verified") {
				unproved++
			}
			return
		}
		text, err := json.Marshal(out) // fails on a NaN or an infinity
		require.NoError(t, err)
		require.NotContains(t, string(text), ":null")
		wanted := map[string]float64{}
		for b, m := range in.Melts {
			wanted[fmt.Sprintf("melt %d", b+1)] = m.FinenessPermil
		}
		for _, m := range out.Melts {
			require.GreaterOrEqual(t, m.FinenessWorst, wanted[m.ID]-1e-6)
		}
	})
	// Masses over nine orders of magnitude defeat the arithmetic now and then;
	// such an answer is refused, and must stay the exception.
	require.LessOrEqual(t, unproved, 5+total/100)
}

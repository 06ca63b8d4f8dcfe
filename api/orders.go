package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/commission"
	"pourwright/internal/hold"
	"pourwright/internal/papers"
	"pourwright/internal/tradeoff"
	"pourwright/testdata"
)

// PourOptions searches the ways to pour an order.
var PourOptions = calc.Define(calc.Info{
	Name: "pour-options", Subject: "Commission", Heavy: true, Summary: "Ways to pour an order that no other way beats in risk, metal, time and cost",
	Description: "Takes an order as commissions does. Posture of the flask, gate, sprues, the pattern turned, raised or scraped thicker and the heat of the pour are varied piece by piece; " +
		"each option says what it gains and what it costs against the order as given. commissions takes the recommended one with pour_options, under limits such as max_risk_pct, no_bought_metal and max_bench_min, or the one whose number is given as pour_options.option.",
}, []calc.Example{
	calc.Sample("order", "A bangle, a pendant and a pair of rings from odd spoons, an invented scenario", testdata.Mixed),
}, commission.PourOptions)

// FlaskHolds works out what keeps a flask shut.
var FlaskHolds = calc.Define(calc.Info{
	Name: "flask-holds", Subject: "Commission", Summary: "Clips or weights that hold a flask shut, the gap that spills, and the tray under it",
	Description: "Force of the metal on the halves, with a safety factor; clips for a standing flask, weights or clips for a lying one; the widest gap at the parting that the metal does not enter; the rim of the drip tray. The clay's own grip gets no credit.",
}, []calc.Example{
	calc.Sample("force", "A standing flask whose force fills has given, with clips of 30 N (invented)", `{"opening_force_n": 4.2, "deepest_mm": 95, "clip_force_n": 30, "gap_mm": 0.05, "melt_g": 75}`),
	calc.Sample("lying", "A lying flask by its measures (invented)", `{"posture": "lying", "parting_area_mm2": 620, "mean_head_mm": 34, "deepest_mm": 36, "upper_half_kg": 0.9, "melt_g": 80}`),
}, hold.Hold)

// BenchTradeoffs weighs minutes in the clay against minutes at the bench.
var BenchTradeoffs = calc.Define(calc.Info{
	Name: "bench-tradeoffs", Subject: "Commission", Summary: "Minutes in the clay against minutes saved at the bench",
	Description: "Work in the clay is done again after each failed pour, work at the bench is not. Answers which is cheaper by your own rates, whether the times are sure enough to tell, and at what minutes or what risk it turns.",
}, []calc.Example{
	calc.Sample("bangle", "A cut-out to blend, walls to clean and three stones to press in a bangle (invented)", `{"clay_hourly_rate": 38, "bench_hourly_rate": 45, "failure_pct": 12, "tasks": [
		{"what": "blend_cut", "label": "two joints", "clay_min": 8, "length_mm": 12, "width_mm": 10, "step_mm": 0.5},
		{"what": "clean_walls", "clay_min": 6, "bench_min": 10},
		{"what": "press_stones", "clay_min": 9, "bench_min": 45}]}`),
}, tradeoff.Weigh)

// Papers writes what the client signs and takes home.
var Papers = calc.Define(calc.Info{
	Name: "papers", Subject: "Commission", Summary: "Papers for the client: receipt, consent, account after the pour, care card",
	Description: "As JSON, or as PDF on A4 or Letter. The receipt leaves room for photographs; the account is drawn up from the weighings of the pour, as reconciliations does. Nothing is stored; local law decides what the papers are worth.",
}, []calc.Example{
	calc.Sample("spoons", "Old spoons and three stones, before and after the pour (invented)", `{"client": "the client of the order", "reference": "27", "pieces": ["bangle"], "metal": "sterling silver",
		"lots": [{"what": "six table spoons", "mass_g": 118.4, "mark": "830 in an oval"}, {"what": "bent ladle", "mass_g": 61.5}],
		"stones": [{"what": "blue stones, said to be sapphire", "quantity": 3, "length_mm": 1.6, "colour": "dark blue", "condition": "clean", "plan": "cast_in_place"}],
		"account": {"in": [{"id": "spoons", "kind": "scrap", "mass_g": 60, "fineness_permil": 830}, {"id": "grain", "kind": "bought", "mass_g": 15, "fineness_permil": 999}], "out": [{"kind": "casting", "mass_g": 40.1}, {"kind": "button", "mass_g": 34.2}]}}`),
}, papers.Papers,
	calc.As("application/pdf", "pdf", "The papers, ready to print", papers.PDF))

package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/commission"
	"pourwright/testdata"
)

// PourPlans searches the ways to pour an order.
var PourPlans = calc.Define(calc.Info{
	Name: "pour-plans", Subject: "Commission", Heavy: true, Summary: "Ways to pour an order that no other way beats in risk, metal, time and cost",
	Description: "Takes an order as commissions does. Posture of the flask, gate, sprues, the pattern turned, raised or scraped thicker and the heat of the pour are varied piece by piece; " +
		"each plan says what it gains and what it pays against the order as given. commissions takes the best of them with ways, under limits such as most_risk_pct, no_bought_metal and most_bench_min, or the one whose number is given as ways.plan.",
}, []calc.Example{
	calc.Sample("order", "A bangle, a pendant and a pair of rings from odd spoons: the second demo, an invented scenario", testdata.Order),
	calc.Sample("demo", "Two bangles from a drawer of old spoons: the demo commission, an invented scenario", testdata.Commission),
}, commission.PourPlans)

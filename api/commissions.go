package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/commission"
	"pourwright/testdata"
)

// Commissions plans a whole order.
var Commissions = calc.Define(calc.Info{
	Name: "commissions", Subject: "Commission", Heavy: true, Summary: "Plan of a whole order, from the client's scrap and stones to the price",
	Description: "For each piece: go, go with care or do not pour, with the reasons; size and mould, stones, fill risk with the levers that help, metal and heat. " +
		"The lots are shared over the pieces by one verified programme. One price, the bench steps in order, all cautions and sources.",
}, []calc.Example{
	calc.Sample("demo", "Two bangles from a drawer of old spoons: the demo commission, an invented scenario", testdata.Commission),
}, commission.Plan)

package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/commission"
	"pourwright/internal/sheet"
	"pourwright/testdata"
)

// Commissions plans a whole order.
var Commissions = calc.Define(calc.Info{
	Name: "commissions", Subject: "Commission", Heavy: true, Summary: "Plan of a whole order, from the client's scrap and stones to the price",
	Description: "For each piece: go, go with care or do not pour, with the reasons; size and mould, stones, fill risk with the improvements that help, metal and heat. " +
		"The lots are shared over the pieces by one verified programme. One price, the bench steps in order, all cautions and sources.",
}, []calc.Example{
	calc.Sample("demo", "A signet ring and a pair of drop earrings from worn cutlery: the demo commission, an invented scenario", testdata.Commission),
}, commission.Plan,
	calc.As("application/pdf", "pdf", "The bench sheet: the plan, what to weigh, what to do in order, stones and size at 1:1, and space for what happened", sheet.Bench))

// Drafts works an order out as far as it is known.
var Drafts = calc.Define(calc.Info{
	Name: "drafts", Subject: "Commission", Summary: "An order as far as it is known: sizes, moulds, stones, metal and price, without the fill",
	Description: "The same inputs as commissions, of which lots and prices may be missing. Each part is worked out as far as it goes; what keeps the rest from it is told under open. " +
		"It leaves out the risk of the pour and its improvements: each piece's pour is given as fills takes it.",
}, []calc.Example{
	calc.Sample("size", "A ring, its size and section only (invented)", `{"pieces": [{"name": "band", "kind": "ring", "ring_system": "uk", "ring_size": "N", "profile": "d", "thickness_mm": 1.8, "width_mm": 5}]}`),
	calc.Sample("demo", "A signet ring and a pair of drop earrings from worn cutlery: the demo commission, an invented scenario", testdata.Commission),
}, commission.Draft,
	calc.As("image/svg+xml", "svg", "The picture that the input names", sheet.Draft))

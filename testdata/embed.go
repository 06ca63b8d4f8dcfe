// Package testdata holds the demo commission and the demo order, which the
// program, its contract and its tests share, and two further orders for tests.
// The scenarios are invented; every figure is made up.
package testdata

import _ "embed"

// Commission is the demo commission, as a body for POST /v1/commissions: a
// signet ring and a pair of drop earrings from worn cutlery.
//
//go:embed commission.json
var Commission string

// Order is the second demo: a pair of gold bands.
//
//go:embed order.json
var Order string

// Bangles is two bangles with stones in given places and prices.
//
//go:embed bangles.json
var Bangles string

// Mixed is several pieces, stones placed by rule and the way to pour chosen.
//
//go:embed mixed.json
var Mixed string

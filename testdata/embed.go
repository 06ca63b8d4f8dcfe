// Package testdata holds the demo commission, which the program, its contract
// and its tests share. The scenario is invented; every figure is made up.
package testdata

import _ "embed"

// Commission is the demo commission, as a body for POST /v1/commissions.
//
//go:embed commission.json
var Commission string

// Order is the second demo: several pieces, stones placed by rule and the way
// to pour chosen. It is invented too.
//
//go:embed order.json
var Order string

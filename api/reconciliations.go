package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/ledger"
)

// Reconciliations accounts for the metal after the pour.
var Reconciliations = calc.Define(calc.Info{
	Name: "reconciliations", Subject: "Metal", Summary: "Account of metal in, metal out, loss and what is due to each owner",
	Description: "Mass balance and balance of each element after the pour, with the uncertainty of the scale carried through, the loss against what practice allows, and what goes back to each owner.",
},
	[]calc.Example{
		calc.Sample("bangle", "A client's spoons with bought fine silver, cast with stones in place (invented)", `{
  "in": [
    {"id": "spoons", "kind": "scrap", "mass_g": 60, "fineness_permil": 920, "fineness_plus_minus_permil": 5},
    {"id": "coins", "kind": "scrap", "mass_g": 8.46, "fineness_permil": 900},
    {"id": "fine silver", "kind": "bought", "mass_g": 11.54, "alloy": "silver-999"}
  ],
  "out": [
    {"id": "bangle", "kind": "casting", "mass_g": 44.31, "stones_ct": 1.4},
    {"id": "button and sprue", "kind": "button", "mass_g": 33.87},
    {"id": "filings", "kind": "filings", "mass_g": 1.2}
  ]}`),
	}, ledger.Reconcile)

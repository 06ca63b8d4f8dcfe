package api

import (
	"pourwright/internal/blend"
	"pourwright/internal/calc"
)

// Blends decides what to put into a melt.
var Blends = calc.Define(calc.Info{
	Name: "blends", Subject: "Metal", Summary: "Charge from lots of scrap that meets a fineness",
	Description: "How much of each lot of scrap to melt, and which fine metal or alloy to add, so that the melt meets its fineness in the worst case of what is known about the lots and is the alloy that was asked for: its window of elements, its colour; where it cannot be, the answer says what it is instead. Density, melting range and pour temperature are those of the charge. A linear programme, verified after each solve. When the limits conflict, the refusal names an irreducible set of them, the highest fineness and largest mass that can be reached, and what would mend it.",
},
	[]calc.Example{
		calc.Sample("spoons", "Sterling from two known lots and one of uncertain fineness (invented)", `{
  "metal": "silver", "fineness_permil": 925, "mass_g": 80,
  "lots": [
    {"id": "spoons", "mass_g": 60, "fineness_low_permil": 915, "fineness_high_permil": 925},
    {"id": "coins", "mass_g": 25, "fineness_low_permil": 895, "fineness_high_permil": 900},
    {"id": "brooch", "mass_g": 20, "fineness_low_permil": 790, "fineness_high_permil": 800, "observations": ["steel_pins"]}
  ]}`),
		calc.Sample("raise", "Raise 42 g of coin silver to sterling with fine silver (invented)", `{"fineness_permil": 925, "lots": [{"mass_g": 42, "fineness_permil": 900, "use": "whole"}]}`),
		calc.Sample("yellow", "18 carat yellow gold from a ring of it and a chain of which only mark and colour are known (invented)", `{
  "alloy": "gold-750-yellow", "mass_g": 20,
  "lots": [
    {"id": "ring", "mass_g": 6.2, "alloy": "gold-750-yellow"},
    {"id": "chain", "mass_g": 8.4, "fineness_permil": 585, "evidence": "marked", "colour": "yellow"}
  ]}`),
		calc.Sample("test-first", "Spoons that nobody can vouch for, and a wet bag of filings (invented)", `{
  "alloy": "silver-925", "mass_g": 28,
  "lots": [
    {"id": "spoons", "mass_g": 62, "kind": "unmarked"},
    {"id": "filings", "mass_g": 12, "fineness_permil": 925, "observations": ["wet", "filings"]}
  ]}`),
		calc.Sample("cost", "Least cost in gold, with a band for the colour (invented prices)", `{
  "metal": "gold", "fineness_permil": 585, "mass_g": 20, "objective": "least_cost",
  "lots": [
    {"id": "ring", "mass_g": 6.2, "alloy": "gold-750-yellow"},
    {"id": "chain", "mass_g": 8.4, "fineness_permil": 375, "evidence": "marked", "solder_pct": 5, "owner": "studio", "price_per_gram": 20}
  ],
  "additions": [
    {"id": "fine gold", "composition_permil": {"Au": 999, "Ag": 1}, "price_per_gram": 64},
    {"id": "fine silver", "composition_permil": {"Ag": 999, "Cu": 1}, "price_per_gram": 0.95},
    {"id": "copper", "composition_permil": {"Cu": 1000}, "price_per_gram": 0.02}
  ],
  "limits": [{"element": "Ag", "least_permil": 150, "most_permil": 300}]}`),
	}, blend.Solve)

// JointBlends decides what to put into several melts that share the lots.
var JointBlends = calc.Define(calc.Info{
	Name: "joint-blends", Subject: "Metal", Summary: "Charges of several melts from the same lots of scrap",
	Description: "One programme over all melts of an order: each its own fineness, mass and limits, the lots shared, the returns of a pour used in the next if asked for, each owner's metal kept apart if asked for. Never worse than melt by melt; verified after each solve.",
},
	[]calc.Example{
		calc.Sample("two-bangles", "Two melts of sterling from one bag of spoons, the button and sprue of the first used in the second (invented)", `{
  "melts": [
    {"id": "bangle", "fineness_permil": 925, "mass_g": 70, "returns_pct": 35},
    {"id": "pendant", "fineness_permil": 925, "mass_g": 30, "returns_pct": 40}
  ],
  "lots": [
    {"id": "spoons", "mass_g": 52, "fineness_low_permil": 915, "fineness_high_permil": 925},
    {"id": "coins", "mass_g": 25, "fineness_permil": 900, "use": "whole_or_none"}
  ],
  "apportion": "even", "reuse_returns": true}`),
	}, blend.SolveJoint)

// Corrections mends a melt whose assay missed its fineness.
var Corrections = calc.Define(calc.Info{
	Name: "corrections", Subject: "Metal", Summary: "Addition that brings an assayed melt to its fineness",
},
	[]calc.Example{
		calc.Sample("short", "The assay came back at 918 (invented)", `{"melt_g": 50, "assay_permil": 918, "assay_uncertainty_permil": 0.3, "fineness_permil": 925}`),
		calc.Sample("rich", "Fine silver lowered to sterling with copper", `{"melt_g": 25, "assay_permil": 999, "fineness_permil": 925, "add": "base"}`),
	}, blend.Correct)

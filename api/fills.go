package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/picture"
)

// Fills follows the metal through the mould.
var Fills = calc.Define(calc.Info{Name: "fills", Subject: "Pour", Summary: "Whether the metal fills the mould, how sure that is, and what helps most", Heavy: true,
	Description: "Follows the metal through the mould: head, losses, surface tension, gas, heat to the clay. What differs between studios and from pour to pour gives the share of pours that fail, as a band; practical changes are tried on the same pours, and the best confirmed."},
	[]calc.Example{
		calc.Sample("bangle", "A half-round bangle of sterling thinned to 1.1 mm at its back, standing flask (invented)", `{"piece": "bangle", "inside_diameter_mm": 62, "section": {"shape": "half_round", "thickness_mm": 2.6, "width_mm": 6}, "thin_spot": {"thickness_mm": 1.1}, "alloy": "silver-925", "sprue_length_mm": 20, "risk_limit_pct": 15}`),
		calc.Sample("ring", "A gold ring in a lying flask with a beaded edge, improvements left out (invented)", `{"piece": "ring", "inside_diameter_mm": 18, "section": {"shape": "d", "thickness_mm": 1.9, "width_mm": 5}, "posture": "lying", "alloy": "gold-750-yellow", "details": [{"kind": "dimple", "size_mm": 0.6}], "improvements": false}`),
		calc.Sample("pendant", "A pendant fed from below, with its own scatter (invented)", `{"piece": "pendant", "length_mm": 40, "section": {"shape": "rectangular", "thickness_mm": 2, "width_mm": 14}, "gate": "bottom", "sprue_length_mm": 55, "sprue_diameter_mm": 7, "pour_c": 1010, "scatter": {"pour_k": 10}, "improvements": false}`),
	},
	fill.Follow,
	calc.As("image/svg+xml", "svg", "The mould unrolled, with the times and temperatures of the front", svg(picture.DrawFill)))

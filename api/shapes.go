package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/shape"
)

// Shapes works out what a piece comes to.
var Shapes = calc.Define(calc.Info{Name: "shapes", Subject: "Sizes", Summary: "Mass, sections, parting and strength of a piece",
	Description: "A piece by its path and sections: round and oval rings and bangles, waving ones, cuffs, signets, bars, discs and drops, with thin and thick places, a head or a bail; or by its surface, or by a pattern on the scale. Answers what it weighs as cast and finished, how thick it is along the way of the metal, whether the pattern can be drawn from a two-part mould and how, and whether the finished piece is stout enough to wear. The solid comes as STL."},
	[]calc.Example{
		calc.Sample("ring", "A plain ring takes three numbers", `{"kind": "ring", "inside_diameter_mm": 17, "thickness_mm": 2, "width_mm": 5}`),
		calc.Sample("signet", "A signet with a table of 12 by 10 mm and a tapering shank", `{"kind": "signet", "inside_diameter_mm": 20, "thickness_mm": 2.6, "width_mm": 8, "back": {"thickness_mm": 1.8, "width_mm": 4}, "head": {"length_mm": 12, "width_mm": 10, "thickness_mm": 3}}`),
		calc.Sample("waving", "An oval bangle that waves, worn thin at the back", `{"kind": "bangle", "inside_width_mm": 58, "inside_height_mm": 48, "thickness_mm": 2.8, "width_mm": 5, "wave": {"rise_mm": 4, "repeats": 3}, "thin_places": [{"at_pct": 50, "length_mm": 25, "thickness_mm": 1.1}]}`),
		calc.Sample("cuff", "An open cuff with a disc at one end", `{"kind": "cuff", "inside_width_mm": 60, "inside_height_mm": 48, "gap_mm": 28, "thickness_mm": 2, "width_mm": 6, "back": {"thickness_mm": 2, "width_mm": 4}, "head": {"form": "disc", "length_mm": 18, "width_mm": 18, "thickness_mm": 2.2, "at_pct": 100}}`),
		calc.Sample("pendant", "A drop with a bail, from a wax on the scale", `{"kind": "drop", "length_mm": 24, "thickness_mm": 3, "width_mm": 9, "bail": {"inside_diameter_mm": 3, "wire_mm": 1.6}, "weighed": {"mass_g": 0.42, "material": "wax"}, "alloy": "silver-925"}`),
	}, shape.Describe,
	calc.As("model/stl", "stl", "The casting as binary STL, in millimetres", shape.STL))

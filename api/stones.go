package api

import (
	"pourwright/internal/picture"

	"pourwright/internal/calc"
	"pourwright/internal/stone"
)

// Stones is the catalogue of gem materials.
var Stones = calc.Collect(calc.Info{Name: "stones", Subject: "Stones", Summary: "Gem materials and what heat does to them",
	Description: "Natural, laboratory-grown and imitation materials with hardness, density, thermal and elastic properties, treatments and behaviour in heat. Each figure carries its standing; what is unknown is null, never 0."},
	"sapphire", stone.List, stone.Find)

// StoneSizes gives mass from size and size from mass.
var StoneSizes = calc.Define(calc.Info{Name: "stone-sizes", Subject: "Stones", Summary: "Mass of a stone from its size, or its size from its mass",
	Description: "Published estimation constants for each cut, with an error band, allowances for bulge and girdle, and the stone's usual proportions."},
	[]calc.Example{
		calc.Sample("small-diamond", "A 1.3 mm round brilliant diamond", `{"gem": "diamond", "length_mm": 1.3}`),
		calc.Sample("oval-sapphire", "A 5 × 4 mm oval sapphire of measured depth, with a slight bulge", `{"gem": "sapphire", "cut": "oval", "length_mm": 5, "width_mm": 4, "depth_mm": 2.6, "bulge_pct": 3}`),
		calc.Sample("from-mass", "How large is a quarter-carat marquise diamond", `{"gem": "diamond", "cut": "marquise", "mass_ct": 0.25}`),
	}, stone.Size)

// StoneSettings judges stones to be cast in place.
var StoneSettings = calc.Define(calc.Info{Name: "stone-settings", Subject: "Stones", Summary: "Whether stones can be cast in place, how deep to press them and what holds them",
	Description: "For each stone a verdict with its reasons in order of weight; what the metal does to it; press depth, metal behind and beside, section taken from the flow; grains; holding; the consent line."},
	[]calc.Example{
		calc.Sample("bangle", "Five small sapphires and a client's garnet in a silver bangle (invented)", `{"alloy": "silver-925", "metal_c": 1000, "clay_c": 20, "head_mm": 80, "section": {"shape": "rectangular", "thickness_mm": 2.5, "width_mm": 6}, "stones": [
  {"gem": "sapphire", "origin": "natural", "length_mm": 1.5, "quantity": 5, "treatments": ["none"], "condition": "clean"},
  {"gem": "almandine", "length_mm": 2, "treatments": ["none"], "condition": "clean", "client_owned": true}]}`),
		calc.Sample("unknown-treatment", "A stone of which nobody knows what was done to it, and the studio's own count of losses (invented)", `{"head_mm": 60, "section": {"shape": "half_round", "thickness_mm": 3, "width_mm": 8}, "stones": [{"gem": "ruby", "length_mm": 2, "treatments": ["not_known"], "condition": "clean"}], "holding_counts": {"placed": 40, "lost": 3}}`),
	}, stone.Judge)

// StoneLayouts places stones round a piece.
var StoneLayouts = calc.Define(calc.Info{Name: "stone-layouts", Subject: "Stones", Summary: "Where each stone and each grain goes round a bangle or ring, drawn at true scale",
	Description: "Stones evenly, in clusters or graduated, in one half of the mould, on both sides of the parting line or on it; grains, shared between neighbours where they can be, never across the parting line; distances to sprue and vents; thin places. Ask for svg or pdf to lay on the clay, and check its 50 mm bar."},
	[]calc.Example{
		calc.Sample("bangle", "Twelve 1.5 mm stones evenly round a bangle with two vents (invented)", `{"inside_diameter_mm": 62, "profile": [{"at_pct": 0, "shape": "rectangular", "thickness_mm": 2.5, "width_mm": 7}], "stones": [{"length_mm": 1.5, "quantity": 12}], "vents_deg": [150, 210], "head_mm": 70}`),
		calc.Sample("graduated", "Seven graduated stones close together on a lying bangle, opposite the sprue (invented)", `{"inside_diameter_mm": 60, "profile": [{"at_pct": 0, "shape": "rectangular", "thickness_mm": 3, "width_mm": 9}], "pattern": "graduated", "arc_deg": 30, "gap_mm": 0.25, "flask": "lying", "head_mm": 90, "stones": [{"length_mm": 3, "quantity": 1}, {"length_mm": 2.5, "quantity": 2}, {"length_mm": 2, "quantity": 2}, {"length_mm": 1.5, "quantity": 2}]}`),
	}, stone.Lay,
	calc.As("image/svg+xml", "svg", "The layout at true scale", svg(picture.DrawStones)),
	calc.As("application/pdf", "pdf", "The layout at true scale", pdf(picture.DrawStones)))

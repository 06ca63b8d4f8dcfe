package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/sprue"
)

// SprueLayouts lays several pieces out in one flask.
var SprueLayouts = calc.Define(calc.Info{Name: "sprue-layouts", Subject: "Pour", Summary: "Several pieces in one flask on one sprue system",
	Description: "Where each piece lies, by rule: one under its sprue, bands in pairs to both sides of it, charms and drops side by side on a runner, in a standing or a lying flask. Answers the size of flask, the clay between pieces, the way and the head to each, whether each gate freezes after the piece that it feeds, the metal in all, and the force on the parting."},
	[]calc.Example{
		calc.Sample("pair", "A pair of bands", `{"alloy": "gold-585-yellow", "pieces": [{"name": "her band", "kind": "ring", "inside_diameter_mm": 17.5, "thickness_mm": 1.9, "width_mm": 4.3}, {"name": "his band", "kind": "ring", "inside_diameter_mm": 20, "thickness_mm": 1.9, "width_mm": 4.3}]}`),
		calc.Sample("charms", "Six charms on one runner", `{"pieces": [{"name": "charm", "count": 6, "kind": "disc", "length_mm": 12, "thickness_mm": 1.6, "bail": {"inside_diameter_mm": 2, "wire_mm": 1.4}}]}`),
		calc.Sample("earrings", "Two drops, lying", `{"posture": "lying", "pieces": [{"name": "drop", "count": 2, "kind": "drop", "length_mm": 24, "thickness_mm": 3, "width_mm": 9}]}`),
	}, sprue.Plan,
	calc.As("image/svg+xml", "svg", "The layout, at twice its size", sprue.SVG))

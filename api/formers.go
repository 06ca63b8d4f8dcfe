package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/former"
)

// Formers makes sizing formers.
var Formers = calc.Define(calc.Info{Name: "formers", Subject: "Sizes", Summary: "A sizing former, ring cutter, strip or test wedge, as a solid and as a template",
	Description: "Tools that give an impression its size, round or oval, for the mould's size or worked out from a finished one: as a closed solid for a printer (STL) and as a template on A4 or Letter at true scale with a bar to measure (PDF, SVG). The wedge is the tapered strip that is poured to learn how far metal runs in your own clay."},
	[]calc.Example{
		calc.Sample("disc", "A disc for a mould of 62.9 mm inside", `{"inside_diameter_mm": 62.9}`),
		calc.Sample("cutter", "A ring cutter for a finished US 7 in sterling silver", `{"kind": "ring_cutter", "ring_system": "us", "ring_size": "7", "alloy": "silver-925", "paper": "letter"}`),
		calc.Sample("oval", "An oval disc for a finished bangle, with its own label", `{"inside_width_mm": 65, "inside_height_mm": 55, "size_is": "finished", "contraction_pct": 1.6, "label": "65 X 55", "relief": "raised"}`),
		calc.Sample("strip", "A strip to bend to 62.9 mm", `{"kind": "strip", "inside_diameter_mm": 62.9, "strip_thickness_mm": 0.8, "depth_mm": 15}`),
		calc.Sample("wedge", "A wedge for a pour that tells how far metal runs", `{"kind": "wedge"}`),
	}, former.Plan,
	calc.As("model/stl", "stl", "The solid as binary STL, in millimetres", former.STL),
	calc.As("application/pdf", "pdf", "The template at true scale", former.PDF),
	calc.As("image/svg+xml", "svg", "The first sheet of the template at true scale", former.SVG))

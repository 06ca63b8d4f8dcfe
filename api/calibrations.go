package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/fill"
)

// Calibrations reads a studio's own pours.
var Calibrations = calc.Define(calc.Info{Name: "calibrations", Subject: "Pour", Summary: "What your own pours and test strips say of your clay and your hand", Heavy: true,
	Description: "Bayes' rule over the unknowns of clay and hand. Nothing is stored: keep the posterior and give it to fills as its calibration."},
	[]calc.Example{
		calc.Sample("wedge", "One wedge poured in sterling (invented)", `{"strips": [{"length_mm": 110, "width_mm": 15, "foot_mm": 2.5, "tip_mm": 0.2, "reached_mm": 82, "pour_time_s": 1.4}]}`),
		calc.Sample("pours", "One bangle that filled and one that did not (invented)", `{"pours": [{"pour": {"inside_diameter_mm": 62, "section": {"shape": "half_round", "thickness_mm": 2.6, "width_mm": 6}}, "outcome": "full"}, {"pour": {"inside_diameter_mm": 62, "posture": "lying", "section": {"shape": "half_round", "thickness_mm": 1.6, "width_mm": 6}}, "outcome": "short", "filled_pct": 88}]}`),
	},
	fill.Calibrate)

package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/sheet"
)

// TestPours chooses what to pour as a test.
var TestPours = calc.Define(calc.Info{Name: "test-pours", Subject: "Pour", Summary: "Which one to three test pours teach most for a planned piece, and what each outcome would mean", Heavy: true,
	Description: "Takes the body of fills. Strips and wedges, lying and standing, are followed in many studios; those are chosen whose outcome is expected to tell most of whether the planned pour fails, the least metal among equals."},
	[]calc.Example{
		calc.Sample("thin", "A lying bangle of sterling thinned to 1 mm (invented)", `{"inside_diameter_mm": 62, "posture": "lying", "section": {"shape": "half_round", "thickness_mm": 2.6, "width_mm": 6}, "thin_spot": {"thickness_mm": 1}, "test_pours": 2}`),
	},
	fill.PlanTestPours,
	calc.As("application/pdf", "pdf", "A record sheet for the test pours", sheet.TestPours))

package api

import (
	"context"

	"pourwright/internal/calc"
	"pourwright/internal/sizing"
)

// RingSizes converts a ring size.
var RingSizes = calc.Define(calc.Info{Name: "ring-sizes", Subject: "Sizes", Summary: "A ring size in all systems",
	Description: "From any one system to all: inside circumference (ISO 8653, JIS S 4700), inside diameter, USA and Canada, UK and Ireland and Australia, Japan, continental (Switzerland, Italy, Spain, India), Hong Kong. Gives the nearest marked size with its residual, the allowance for a wide band, and where tables in use disagree. The system must be said: a bare 14 is a size in four of them."},
	[]calc.Example{
		calc.Sample("us", "A US size, for a band 8 mm wide", `{"system": "us", "size": "7", "band_width_mm": 8}`),
		calc.Sample("uk", "A UK letter with a half", `{"system": "uk", "size": "N½"}`),
		calc.Sample("iso", "ISO 8653-54", `{"system": "circumference", "size": "54"}`),
		calc.Sample("knuckle", "A finger whose knuckle takes a size more", `{"system": "us", "size": "7", "knuckle_size": "8 1/4"}`),
		calc.Sample("inches", "A measured inside diameter", `{"system": "diameter", "size": "0.682 in", "inside_profile": "rounded"}`),
	}, sizing.RingSizes)

// RingTables makes a conversion table.
var RingTables = calc.Define(calc.Info{Name: "ring-size-tables", Subject: "Sizes", Summary: "A table of ring sizes in all systems",
	Description: "One row for each marked size of one system within a range of inside circumferences, with the nearest sizes of the others."},
	[]calc.Example{
		calc.Sample("us", "US quarter sizes, ISO 41 to 76", `{}`),
		calc.Sample("uk", "UK letters of a short range", `{"by": "uk", "from_mm": 50, "to_mm": 60}`),
	}, sizing.RingTables,
	calc.As[sizing.RingTableIn]("text/csv", "csv", "The rows as comma-separated values",
		func(_ context.Context, _ sizing.RingTableIn, out sizing.RingTableOut) ([]byte, error) {
			return out.CSV(), nil
		}))

// BangleFits fits a bangle to a hand.
var BangleFits = calc.Define(calc.Info{Name: "bangle-fits", Subject: "Sizes", Summary: "A bangle for a hand, or the hand for a bangle",
	Description: "Closed round and oval bangles by the hand over the knuckles with the thumb folded; cuffs and hinged bangles by the wrist. Give a hand for a bangle made to measure, a bangle for the largest hand that passes it, or both to hear whether it passes."},
	[]calc.Example{
		calc.Sample("round", "A closed round bangle for a hand of 205 mm (invented)", `{"hand_circumference_mm": 205, "band_width_mm": 8}`),
		calc.Sample("oval", "A closed oval bangle for the same hand", `{"kind": "oval", "hand_circumference_mm": 205, "oval_ratio": 0.8}`),
		calc.Sample("named", "What hand passes a 2-6", `{"size_name": "2-6"}`),
		calc.Sample("passes", "Does a hand of 212 mm pass a bangle of 66 mm", `{"hand_circumference_mm": 212, "inside_diameter_mm": 66}`),
		calc.Sample("cuff", "A cuff for a wrist of 170 mm (invented)", `{"kind": "cuff", "wrist_circumference_mm": 170, "wrist_thickness_mm": 42, "thickness_mm": 1.8}`),
		calc.Sample("hinged", "A hinged bangle for the same wrist", `{"kind": "hinged", "wrist_circumference_mm": 170}`),
	}, sizing.BangleFits)

// MouldSizes plans the mould of a finished piece.
var MouldSizes = calc.Define(calc.Info{Name: "mould-sizes", Subject: "Sizes", Summary: "The mould for a finished size, and what to do to the impression of the pattern at hand",
	Description: "Finished size to mould, with the alloy's contraction free or held by a core, bench allowances, and the clay's spring-back. With a pattern at hand: what to cut out of its impression or let in, where to blend on an ornament that repeats, how deep to push which half to gain a thickness, the metal that gains, and whether to correct at the bench instead."},
	[]calc.Example{
		calc.Sample("bangle", "A half-round bangle of 62 mm from a pattern of 65 mm with 24 waves, 0.4 mm too thin (invented)", `{"inside_diameter_mm": 62, "shape": "half_round", "thickness_mm": 2.4, "width_mm": 6, "alloy": "silver-925", "pattern_inside_diameter_mm": 65, "pattern_thickness_mm": 2.3, "pattern_width_mm": 6.1, "repeats": 24}`),
		calc.Sample("ring", "A ring of UK size N½ from a pattern a size too small (invented)", `{"piece": "ring", "ring_system": "uk", "ring_size": "N½", "shape": "rectangular", "thickness_mm": 1.6, "width_mm": 4, "alloy": "silver-925", "pattern_inside_diameter_mm": 16.9}`),
		calc.Sample("oval", "An oval bangle with the studio's own contraction", `{"inside_width_mm": 65, "inside_height_mm": 55, "shape": "oval", "thickness_mm": 3, "width_mm": 5, "alloy": "silver-999", "contraction_pct": 1.55, "contraction_spread_pct": 0.2}`),
	}, sizing.PlanMould)

// MouldCalibrations finds the studio's own contraction.
var MouldCalibrations = calc.Define(calc.Info{Name: "mould-calibrations", Subject: "Sizes", Summary: "Your own contraction, from measured pours",
	Description: "Mould size and casting size of some of your own pours give your mean contraction with its uncertainty (Student's t), for mould-sizes. With the pattern sizes too, the clay's spring-back."},
	[]calc.Example{
		calc.Sample("five", "Five bangles (invented figures)", `{"mould_mm": [62.9, 65.1, 60.4, 63.0, 66.2], "cast_mm": [61.85, 64.05, 59.45, 62.0, 65.05], "pattern_mm": [62.8, 65.0, 60.3, 62.9, 66.1], "alloy": "silver-925"}`),
	}, sizing.CalibrateMould)

// FlaskLayouts lays a pattern out in a flask.
var FlaskLayouts = calc.Define(calc.Info{Name: "flask-layouts", Subject: "Sizes", Summary: "Does the pattern fit the flask, and how does the parting run",
	Description: "Room for pattern, clay margin, sprue, funnel and vents in a two-part flask, standing or lying; clay needed; metal in sprue and vents; and how the parting runs on an undulating pattern: whether one plane does, or the clay is cut to the widest line."},
	[]calc.Example{
		calc.Sample("standing", "A waved half-round bangle in a standing flask (invented)", `{"flask_length_mm": 120, "flask_width_mm": 95, "upper_depth_mm": 25, "lower_depth_mm": 25, "outside_mm": 68, "thickness_mm": 2.4, "width_mm": 6, "wave_mm": 3, "repeats": 8, "clay_density_g_cm3": 1.7}`),
		calc.Sample("lying", "A ring in a round flask, poured lying (invented)", `{"pour": "horizontal", "flask_length_mm": 90, "upper_depth_mm": 35, "lower_depth_mm": 20, "outside_mm": 21, "shape": "rectangular", "thickness_mm": 1.7, "width_mm": 4.5}`),
	}, sizing.LayOut)

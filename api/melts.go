package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/melt"
)

// Melts says how much metal to melt.
var Melts = calc.Define(calc.Info{
	Name: "melts", Subject: "Metal", Summary: "Metal to melt for a casting, and the heat for it",
	Description: "The casting by volume, by the mass and material of its pattern, by the water that it displaces, or by section and length " +
		"(one section, or a profile that varies). Adds sprue, vents, the button that feeds the casting and is the reserve, and the melt loss; " +
		"says what the least metal would be and what that risks; compares with crucible, flask and the metal at hand; " +
		"gives the heat to the pour, and time and gas of the torch as a range.",
}, []calc.Example{
	calc.Sample("bangle", "A half-round silver bangle, torch and crucible at hand (invented figures)",
		`{"alloy": "silver-925", "shape": "half_round", "thickness_mm": 2.4, "width_mm": 6, "inside_diameter_mm": 62, "sprue_diameter_mm": 6, "sprue_length_mm": 25, "funnel_diameter_mm": 14, "funnel_head_mm": 14, "vent_count": 2, "vent_diameter_mm": 1, "vent_length_mm": 30, "crucible_volume_mm3": 30000, "crucible_mass_g": 120, "flask_inside_mm": 110, "torch_kw": 4, "fuel": "propane"}`),
	calc.Sample("wax", "A wax pattern", `{"alloy": "silver-925", "pattern_mass_g": 3.9, "pattern_material": "wax"}`),
	calc.Sample("water", "A pattern weighed in water at 18 °C, three stones in it", `{"alloy": "silver-925", "displaced_water_g": 4.05, "water_temperature_c": 18, "stones_volume_mm3": 110, "sprue_g": 8, "button_g": 12}`),
	calc.Sample("own", "An alloy of your own with its melting range from the maker (invented figures)", `{"composition": "Ag 935 Cu 55 Zn 10", "solidus_c": 800, "liquidus_c": 900, "volume_mm3": 1500}`),
	calc.Sample("pair", "A pair of gold bands on one sprue, from 28 g at hand (invented figures)", `{"alloy": "gold-585-yellow", "shape": "d", "thickness_mm": 1.7, "width_mm": 4, "inside_diameter_mm": 18.5, "castings": 2, "metal_at_hand_g": 28}`),
	calc.Sample("volume", "A volume alone", `{"alloy": "silver-925", "volume_mm3": 4200}`),
	calc.Sample("tapered", "A cuff that is thicker in the middle", `{"alloy": "silver-925", "shape": "d", "length_mm": 158.75, "profile_at_pct": [0, 50, 100], "profile_thickness_mm": [1.8, 2.6, 1.8], "profile_width_mm": [5, 9, 5], "feed_pct": 50, "pour_c": 1010}`),
}, melt.Plan)

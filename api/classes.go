package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/class"
)

// Classes plans a class's morning at the torch.
var Classes = calc.Define(calc.Info{
	Name: "classes", Subject: "Commission", Heavy: true, Summary: "A class: like pieces of like metal, flasks shared, a roster of the torches",
	Description: "Each pupil makes the same piece in their own size. The school's metal is blended once and divided, pieces share flasks as far as crucible and flask hold them, and the pours take the torches in turn. The answer fits one page; commissions plans any of the pieces in full.",
}, []calc.Example{
	calc.Sample("rings", "Twelve rings at two torches (invented)", `{"title": "Thursday morning", "lots": [{"id": "school grain", "mass_g": 250, "alloy": "silver-925", "owner": "studio"}], "torches": 2, "max_pieces_per_flask": 3,
		"piece": {"kind": "ring", "profile": "d", "thickness_mm": 2, "width_mm": 5},
		"pupils": [{"name": "pupil 1", "ring_system": "us", "ring_size": "5"}, {"name": "pupil 2", "ring_system": "us", "ring_size": "5 1/2"}, {"name": "pupil 3", "ring_system": "us", "ring_size": "6"},
			{"name": "pupil 4", "ring_system": "us", "ring_size": "6 1/2"}, {"name": "pupil 5", "ring_system": "us", "ring_size": "7"}, {"name": "pupil 6", "ring_system": "us", "ring_size": "7"},
			{"name": "pupil 7", "ring_system": "us", "ring_size": "7 1/2"}, {"name": "pupil 8", "ring_system": "us", "ring_size": "8"}, {"name": "pupil 9", "ring_system": "us", "ring_size": "9"},
			{"name": "pupil 10", "ring_system": "us", "ring_size": "10"}, {"name": "pupil 11", "ring_system": "us", "ring_size": "10 1/2"}, {"name": "pupil 12", "ring_system": "us", "ring_size": "11"}]}`),
}, class.Plan)

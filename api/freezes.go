package api

import (
	"fmt"
	"io"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/calc"
	"pourwright/internal/heat"
	"pourwright/internal/mesh"
)

// Freezes follows a piece until it is solid.
var Freezes = calc.Define(calc.Info{
	Name: "freezes", Subject: "Pour", Summary: "How a piece freezes in the mould, place by place",
	Description: "Three-dimensional freezing with sprue and button, of a ring by its measures or of an STL file (as the body with `Content-Type: model/stl` and the other fields in the query, or as base64 in `stl_base64`). Tells the freezing time of every region, what freezes last, and what is cut off from the button.",
	Heavy:       true,
},
	[]calc.Example{
		{Name: "ring", Summary: "A signet-like ring that thickens at the back, sterling silver (invented)", JSON: `{"ring": {"inside_diameter_mm": 17.5, "profile": [{"at_pct": 0, "shape": "half_round", "thickness_mm": 1.6, "width_mm": 4}, {"at_pct": 50, "shape": "half_round", "thickness_mm": 2.6, "width_mm": 6}, {"at_pct": 100, "shape": "half_round", "thickness_mm": 1.6, "width_mm": 4}]}, "alloy": "silver-925", "gate_at_pct": 0, "cell_mm": 0.4, "estimate_error": false}`},
		{Name: "block", Summary: "A test block of 12 × 8 × 3 mm from an STL file, sprue proposed (invented)", JSON: fmt.Sprintf(`{"stl_base64": %q, "alloy": "silver-925", "cell_mm": 0.5}`, stlText(mesh.Box(r3.Vec{}, r3.Vec{X: 12, Y: 8, Z: 3})))},
	},
	heat.Freeze,
	calc.From("model/stl", mesh.MaxBytes, "The STL file itself", func(body io.Reader, in *heat.FreezeIn) error { return in.ReadBody(body) }),
	calc.From("application/octet-stream", mesh.MaxBytes, "The STL file itself, of no declared kind", func(body io.Reader, in *heat.FreezeIn) error { return in.ReadBody(body) }),
)

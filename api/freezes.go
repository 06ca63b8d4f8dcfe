package api

import (
	"fmt"
	"io"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/calc"
	"pourwright/internal/heat"
	"pourwright/internal/mesh"
	"pourwright/internal/picture"
)

// Freezes follows a piece until it is solid.
var Freezes = calc.Define(calc.Info{
	Name: "freezes", Subject: "Pour", Summary: "How a piece freezes in the mould, place by place",
	Description: "Three-dimensional freezing with sprue and button, of any piece by its description (`shape`), a ring by its measures, or an STL file (as the body with `Content-Type: model/stl` and the other fields in the query, or as base64 in `stl_base64`). Tells the freezing time of every region, what freezes last, and what is cut off from the button.",
	Heavy:       true,
},
	[]calc.Example{
		{Name: "ring", Summary: "A child's ring with a heavy back, sterling silver, on coarse cells to be quick (invented)", JSON: `{"ring": {"inside_diameter_mm": 12, "profile": [{"at_pct": 0, "shape": "rectangular", "thickness_mm": 1.8, "width_mm": 2.5}, {"at_pct": 50, "shape": "rectangular", "thickness_mm": 2.6, "width_mm": 3.5}, {"at_pct": 100, "shape": "rectangular", "thickness_mm": 1.8, "width_mm": 2.5}]}, "alloy": "silver-925", "gate_at_pct": 0, "sprue_mm": 3, "sprue_length_mm": 4, "button_mm": 5, "cell_mm": 0.7, "estimate_error": false}`},
		{Name: "signet", Summary: "A signet's table and its shank, on coarse cells to be quick (invented)", JSON: `{"shape": {"kind": "signet", "inside_diameter_mm": 17, "thickness_mm": 2, "width_mm": 5, "head": {"length_mm": 9, "width_mm": 8, "thickness_mm": 2.6}}, "sprue": false, "cell_mm": 0.8, "estimate_error": false}`},
		{Name: "block", Summary: "A test block of 8 × 5 × 3 mm from an STL file, without a sprue (invented)", JSON: fmt.Sprintf(`{"stl_base64": %q, "alloy": "silver-925", "sprue": false, "cell_mm": 0.6}`, stlText(mesh.Box(r3.Vec{}, r3.Vec{X: 8, Y: 5, Z: 3})))},
	},
	heat.Freeze,
	calc.As("image/svg+xml", "svg", "Freezing time on a section, unrolled, and against time", svg(picture.DrawFreezing)),
	calc.As("image/png", "png", "The same as a bitmap", png(picture.DrawFreezing)),
	calc.From("model/stl", mesh.MaxBytes, "The STL file itself", func(body io.Reader, in *heat.FreezeIn) error { return in.ReadBody(body) }),
	calc.From("model/3mf", mesh.MaxBytes, "A 3MF file", func(body io.Reader, in *heat.FreezeIn) error { return in.ReadBody(body) }),
	calc.From("application/octet-stream", mesh.MaxBytes, "The STL file itself, of no declared kind", func(body io.Reader, in *heat.FreezeIn) error { return in.ReadBody(body) }),
)

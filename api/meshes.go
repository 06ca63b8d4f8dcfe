package api

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"io"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/calc"
	"pourwright/internal/mesh"
)

// Meshes measures a pattern.
var Meshes = calc.Define(calc.Info{
	Name: "meshes", Subject: "Pattern", Summary: "Volume, soundness and walls of a printed or scanned pattern",
	Description: "Send an STL file, binary or ASCII, as the body with `Content-Type: model/stl`, or a 3MF file with `model/3mf`, and the other fields in the query, or as base64 in `stl_base64`. At most 64 MiB and 1,300,000 triangles. What can be mended safely is mended and said; otherwise the refusal says what is wrong and where.",
	Heavy:       true,
},
	[]calc.Example{
		{Name: "block", Summary: "A test block of 20 × 10 × 4 mm (invented)", JSON: fmt.Sprintf(`{"stl_base64": %q}`, stlText(mesh.Box(r3.Vec{}, r3.Vec{X: 20, Y: 10, Z: 4})))},
		{Name: "frame", Summary: "A coarse ring of 12 sides, drawn in inches, without wall thickness (invented)", JSON: fmt.Sprintf(`{"stl_base64": %q, "unit": "in", "thickness": false}`, stlText(mesh.Torus(0.4, 0.05, 12, 4)))},
	},
	mesh.Measure,
	calc.From("model/stl", mesh.MaxBytes, "The STL file itself", readPattern),
	calc.From("model/3mf", mesh.MaxBytes, "A 3MF file", readPattern),
	calc.From("application/octet-stream", mesh.MaxBytes, "The STL file itself, of no declared kind", readPattern),
)

func readPattern(body io.Reader, in *mesh.In) error { return in.ReadBody(body) }

// stlText returns the mesh as a caller would send it in JSON.
func stlText(m *mesh.Mesh) string {
	var file bytes.Buffer
	if err := m.WriteSTL(&file, "example"); err != nil {
		panic(err) // a buffer takes all
	}
	return base64.StdEncoding.EncodeToString(file.Bytes())
}

package mesh

import (
	"context"
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/calc"
)

// In asks for the measures of a pattern.
type In struct {
	Pattern
	Thickness bool `json:"thickness" default:"true" doc:"Also measure wall thickness; false is quicker on large files"`
}

// Place is a point in the coordinates of the file, in mm.
type Place struct {
	XMM float64 `json:"x_mm" doc:"x" example:"1.5"`
	YMM float64 `json:"y_mm" doc:"y" example:"-28"`
	ZMM float64 `json:"z_mm" doc:"z" example:"3"`
}

// PlaceOf returns the point as it is written.
func PlaceOf(v r3.Vec) Place { return Place{v.X, v.Y, v.Z} }

// FlawReport is something found on the surface that a maker should know.
type FlawReport struct {
	Code  string `json:"code" enum:"cavities,overlaps" doc:"Kind of flaw"`
	Count int    `json:"count" doc:"How many"`
	At    Place  `json:"at" doc:"Where the first is"`
	Text  string `json:"text" doc:"What it means"`
}

// ShellReport is a closed part of the surface.
type ShellReport struct {
	VolumeMM3     float64 `json:"volume_mm3" doc:"Volume enclosed; negative for the skin of a hollow"`
	AreaMM2       float64 `json:"area_mm2" doc:"Surface"`
	TriangleCount int     `json:"triangle_count" doc:"Facets"`
	Depth         int     `json:"depth" doc:"Number of other shells round it"`
}

// Thickness tells how thick the walls are.
type Thickness struct {
	ThinnestMM float64 `json:"thinnest_mm" doc:"Least distance found between opposite faces, along the normal"`
	At         Place   `json:"at" doc:"Where it is, on the surface"`
	P5MM       float64 `json:"p5_mm" doc:"5 % of the surface that has an opposite face lies over a wall thinner than this"`
	P25MM      float64 `json:"p25_mm" doc:"Likewise 25 %"`
	MedianMM   float64 `json:"median_mm" doc:"Likewise 50 %"`
	P75MM      float64 `json:"p75_mm" doc:"Likewise 75 %"`
	P95MM      float64 `json:"p95_mm" doc:"Likewise 95 %"`
	Places     int     `json:"places" doc:"Places measured; those at edges, without an opposite face, are left out"`
}

// RingReport is the hole of a ring-like body.
type RingReport struct {
	InsideDiameterMM float64 `json:"inside_diameter_mm" doc:"Of the largest round bar that passes, to the facets as they are"`
	ShortestMM       float64 `json:"shortest_inside_mm" doc:"Least inside measure through the centre; less than the longest for an oval bangle"`
	LongestMM        float64 `json:"longest_inside_mm" doc:"Greatest inside measure through the centre"`
	OutsideMM        float64 `json:"outside_diameter_mm" doc:"Of the round tube that it just enters"`
	WidthMM          float64 `json:"width_mm" doc:"Along the axis, over all"`
	GapDeg           float64 `json:"gap_deg" doc:"Angle without metal: 0 for a closed ring"`
	Axis             Place   `json:"axis" doc:"Direction of the axis, of length 1"`
	Centre           Place   `json:"centre" doc:"Point on the axis, at mid-width"`
}

// Out holds the measures of a pattern.
type Out struct {
	VolumeMM3     float64       `json:"volume_mm3" doc:"Volume of the piece, hollows left out" example:"2467.4"`
	AreaMM2       float64       `json:"area_mm2" doc:"Surface of all shells"`
	ModulusMM     float64       `json:"modulus_mm" doc:"Volume over surface, which decides how long it takes to freeze"`
	Size          Place         `json:"size" doc:"Edges of the bounding box"`
	Low           Place         `json:"low" doc:"Lower corner of the bounding box"`
	High          Place         `json:"high" doc:"Upper corner of the bounding box"`
	CentreOfMass  Place         `json:"centre_of_mass" doc:"Centre of mass of a piece of one metal"`
	TriangleCount int           `json:"triangle_count" doc:"Facets, after repair"`
	VertexCount   int           `json:"vertex_count" doc:"Distinct corners, after repair"`
	ShellCount    int           `json:"shell_count" doc:"Closed parts of the surface"`
	Holes         int           `json:"handles" doc:"Handles of the surface by Euler's formula, over all shells: 1 for a ring, 0 for a ball"`
	Sound         bool          `json:"sound" doc:"True when nothing had to be repaired and no flaw was found"`
	Repairs       []string      `json:"repairs" doc:"What was put right before measuring"`
	Flaws         []FlawReport  `json:"flaws" doc:"What a maker should look at"`
	Shells        []ShellReport `json:"shells" doc:"The shells, at most 50, in the order of the file"`
	Thickness     *Thickness    `json:"thickness,omitempty" doc:"Walls; absent when not asked for or when no face lies opposite another"`
	Ring          *RingReport   `json:"ring,omitempty" doc:"The hole, when the body is like a ring"`
	calc.Notes
}

var (
	srcDivergence = calc.Source{For: "volume and centre of mass", Text: "divergence theorem over the facets, exact for the polyhedron", Status: calc.Computed}
	srcThickness  = calc.Source{For: "wall thickness", Text: "distance along the inward normal to a face turned away by 143 to 180 degrees; edges are no walls", Status: calc.Choice}
)

const (
	shellsListed    = 50
	thicknessPlaces = 20_000
)

// Measure tells volume, area, size, soundness, wall thickness and the hole of
// a pattern. Volume and area are exact for the facets; how well the facets
// follow a curved piece is the drawing's affair (a circle of n chords is
// short of area by 6.6/n²).
func Measure(ctx context.Context, in In) (Out, error) {
	c, err := in.Load(ctx)
	if err != nil {
		return Out{}, err
	}
	low, high := c.Bounds()
	out := Out{
		VolumeMM3: c.VolumeMM3, AreaMM2: c.AreaMM2, ModulusMM: c.VolumeMM3 / c.AreaMM2,
		Size: PlaceOf(r3.Sub(high, low)), Low: PlaceOf(low), High: PlaceOf(high), CentreOfMass: PlaceOf(c.Centre),
		TriangleCount: len(c.T), VertexCount: c.used(), ShellCount: len(c.Shells),
		Repairs: c.Repairs, Flaws: []FlawReport{}, Shells: []ShellReport{}, Notes: calc.Noting(ctx),
	}
	out.Sound = len(c.Repairs) == 0 && len(c.Flaws) == 0
	out.Holes = out.ShellCount - (out.VertexCount-c.EdgeCount+out.TriangleCount)/2
	for _, f := range c.Flaws {
		out.Flaws = append(out.Flaws, FlawReport{f.Code, f.Count, PlaceOf(f.At), f.Text})
		out.Warn("mesh_"+f.Code, calc.Care, "%s; the first at x %.4g, y %.4g, z %.4g mm", f.Text, f.At.X, f.At.Y, f.At.Z)
	}
	for _, r := range c.Repairs {
		out.Warn("mesh_repaired", calc.Note, "%s", r)
	}
	for _, s := range c.Shells[:min(len(c.Shells), shellsListed)] {
		out.Shells = append(out.Shells, ShellReport{s.VolumeMM3, s.AreaMM2, s.Facets, s.Depth})
	}
	out.Step("volume", out.VolumeMM3, "mm³", "Σ a·(b×c)/6 over %d facets", len(c.T))
	out.Step("modulus", out.ModulusMM, "mm", "V/A = %.5g mm³ / %.5g mm²", out.VolumeMM3, out.AreaMM2)
	out.Cite(srcDivergence)
	if o, ok := c.Opening(); ok {
		out.Ring = &RingReport{o.DiameterMM, o.ShortestMM, o.LongestMM, o.OutsideMM, o.WidthMM, o.GapDeg, PlaceOf(o.Axis), PlaceOf(o.Centre)}
		out.Step("inside diameter", o.DiameterMM, "mm", "twice the least distance from the axis to the surface")
	}
	if err := ctx.Err(); err != nil {
		return Out{}, err
	}
	if in.Thickness {
		out.Thickness = thickness(c.Walls(ctx, thicknessPlaces))
		out.Cite(srcThickness)
	}
	return out, ctx.Err()
}

// used counts the vertices that a triangle uses.
func (m *Mesh) used() int {
	seen := make([]bool, len(m.V))
	n := 0
	for _, t := range m.T {
		for _, v := range t {
			if !seen[v] {
				seen[v] = true
				n++
			}
		}
	}
	return n
}

func thickness(walls []Wall) *Thickness {
	if len(walls) == 0 {
		return nil
	}
	at := func(pct int) float64 { return walls[(len(walls)-1)*pct/100].MM }
	return &Thickness{walls[0].MM, PlaceOf(walls[0].At), at(5), at(25), at(50), at(75), at(95), len(walls)}
}

// Summary says in one line what a surface is, for the working of others.
func (c *Checked) Summary() string {
	return fmt.Sprintf("%d facets, %.5g mm³, %.5g mm²", len(c.T), c.VolumeMM3, c.AreaMM2)
}

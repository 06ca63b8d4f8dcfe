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
	Code  string `json:"code" enum:"cavities,overlaps,bodies" doc:"Kind of flaw"`
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
	ThinnestMM float64 `json:"thinnest_mm" doc:"Diameter of the largest ball that the thinnest wall, neck or groove lets through; within 2 %, and at the blunt end of a taper as it is half its thickness in from the end. Faces that meet at an edge, or stand at more than 35 degrees to each other, make no wall"`
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
	InsideDiameterMM float64 `json:"inside_diameter_mm" doc:"Of the largest round bar that passes, to the facets as they are; less than shortest_inside_mm where the inside has an odd number of waves or facets, as no two face each other"`
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
	Bodies        int           `json:"bodies" doc:"Parts that share no metal; shells that run into one another are one, and so is a piece with its hollows"`
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
	srcThickness  = calc.Source{For: "wall thickness", Text: "largest ball that touches the surface at the place and lies in the metal (J. Ma, S. W. Bae, S. Choi, Vis. Comput. 28 (2012) 7); tests on solids of known necks", Status: calc.Computed}
)

var (
	srcThin = calc.Source{For: "thin walls", Text: "practice: an even 1.0 mm does not fill; surface tension: a slit of 2γ|cos θ|/(ρgh), silver at 0.95 N/m and 120 to 180 degrees under 50 mm of metal, 0.2 to 0.4 mm", Status: calc.Practice}
)

// What metal can be expected to fill, in mm.
const (
	rarelyFills = 1.0
	neverFills  = 0.4
)

func warnOfWalls(n *calc.Notes, t *Thickness) {
	switch at := t.At; {
	case t.ThinnestMM < neverFills:
		n.Warn("mesh_wall_does_not_fill", calc.Care, "The thinnest place, %.2g mm at x %.4g, y %.4g, z %.4g mm, is one that surface tension alone keeps metal out of: thicken it to 1 mm or more.", t.ThinnestMM, at.XMM, at.YMM, at.ZMM)
	case t.ThinnestMM < rarelyFills:
		n.Warn("mesh_wall_thin", calc.Care, "The thinnest place is %.2g mm, at x %.4g, y %.4g, z %.4g mm: under 1 mm metal often freezes before it has filled. Ask the answer on filling, or thicken it.", t.ThinnestMM, at.XMM, at.YMM, at.ZMM)
	default:
		return
	}
	n.Cite(srcThin)
}

// Sizes that jewellery hardly has, in mm: the inside of a ring or bangle, and
// the longest measure of any piece.
const (
	leastInside, mostInside = 10.0, 90.0
	leastLong, mostLong     = 4.0, 200.0
)

// warnOfSize says when the piece is of a size that suggests another unit.
func (c *Checked) warnOfSize(n *calc.Notes) {
	low, high := c.Bounds()
	size := r3.Sub(high, low)
	what, is, least, most := "longest measure", max(size.X, size.Y, size.Z), leastLong, mostLong
	if o, ok := c.Opening(); ok {
		what, is, least, most = "inside diameter", o.DiameterMM, leastInside, mostInside
	}
	if is >= least && is <= most {
		return
	}
	for _, unit := range []string{"in", "cm", "mm"} {
		if f := mmPer[unit] / c.perUnit; f != 1 && is*f >= least && is*f <= most {
			n.Warn("mesh_size", calc.Care, "The %s is %.4g mm, which is improbable for jewellery. Was it drawn in another unit? With unit %q it would be %.4g mm.", what, is, unit, is*f)
			return
		}
	}
	n.Warn("mesh_size", calc.Care, "The %s is %.4g mm, which is improbable for jewellery: look at the drawing's unit and scale.", what, is)
}

const (
	shellsListed    = 50
	thicknessPlaces = 8_000
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
		TriangleCount: len(c.T), VertexCount: c.used(), ShellCount: len(c.Shells), Bodies: c.Bodies,
		Repairs: c.Repairs, Flaws: []FlawReport{}, Shells: []ShellReport{}, Notes: calc.Noting(ctx),
	}
	out.Sound = len(c.Repairs) == 0 && len(c.Flaws) == 0
	out.Holes = out.ShellCount - (out.VertexCount-c.EdgeCount+out.TriangleCount)/2
	for _, f := range c.Flaws {
		out.Flaws = append(out.Flaws, FlawReport{f.Code, f.Count, PlaceOf(f.At), f.Text})
		out.Warn("mesh_"+f.Code, calc.Care, "%s; the first at x %.4g, y %.4g, z %.4g mm", f.Text, f.At.X, f.At.Y, f.At.Z)
	}
	if c.Unions > 0 {
		out.Warn("mesh_united", calc.Note, "%d shells that run into others are counted as one body with them: volume, area and walls are those of the whole (the volume by %d lines each way, to 1 %% of what they share or better)", c.Unions, unionLines)
	}
	c.warnOfSize(&out.Notes)
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
		if out.Thickness = c.thickness(ctx); out.Thickness != nil {
			warnOfWalls(&out.Notes, out.Thickness)
		}
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

func (c *Checked) thickness(ctx context.Context) *Thickness {
	thinnest, walls, ok := c.Walls(ctx, thicknessPlaces)
	if !ok {
		return nil
	}
	at := func(pct int) float64 { return walls[(len(walls)-1)*pct/100].MM }
	return &Thickness{thinnest.MM, PlaceOf(thinnest.At), at(5), at(25), at(50), at(75), at(95), len(walls)}
}

// Summary says in one line what a surface is, for the working of others.
func (c *Checked) Summary() string {
	return fmt.Sprintf("%d facets, %.5g mm³, %.5g mm²", len(c.T), c.VolumeMM3, c.AreaMM2)
}

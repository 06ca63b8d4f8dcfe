package shape

import (
	"bytes"
	"context"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/verdict"
)

// In asks what a piece comes to.
type In struct {
	Shape
	Alloy          string  `json:"alloy" maxLength:"60" default:"silver-925" doc:"What it is cast of" example:"silver-925"`
	Measures       string  `json:"measures" enum:"finished,casting" default:"finished" doc:"What the measures are of; a surface and a weighed pattern are always of the casting"`
	BenchInsideMM  float64 `json:"bench_inside_mm" minimum:"0" maximum:"2" default:"0.05" doc:"Filed and polished off the inside face"`
	BenchOutsideMM float64 `json:"bench_outside_mm" minimum:"0" maximum:"2" default:"0.05" doc:"Filed and polished off the outside face"`
	BenchEdgeMM    float64 `json:"bench_edge_mm" minimum:"0" maximum:"2" default:"0.05" doc:"Filed and polished off each edge and end"`
}

// Out is what a piece comes to.
type Out struct {
	Verdict     verdict.Level   `json:"verdict" enum:"go,care,cannot_tell,not_yet,do_not_pour" doc:"Whether it can be drawn and worn"`
	Reasons     verdict.Reasons `json:"reasons" doc:"Why it is not a plain go, worst first"`
	CastG       float64         `json:"cast_g" doc:"Mass of the casting before the bench"`
	FinishedG   float64         `json:"finished_g" doc:"Mass after filing and polishing, without stones"`
	CastMM3     float64         `json:"cast_mm3" doc:"Volume of the casting"`
	FinishedMM3 float64         `json:"finished_mm3" doc:"Volume after filing and polishing"`
	AreaMM2     float64         `json:"area_mm2" doc:"Surface of the casting"`
	ModulusMM   float64         `json:"modulus_mm" doc:"Volume over surface of the casting, which decides how long it takes to freeze"`
	LengthMM    float64         `json:"length_mm" doc:"Way of the metal through the casting, along the middle of its sections"`
	InsideMM    float64         `json:"inside_diameter_mm,omitempty,omitzero" doc:"Inside diameter of the finished piece; of an oval, its circumference over π"`
	OverAllMM   Extent          `json:"over_all" doc:"Box that the casting just fills"`
	Parting     Parting         `json:"parting" doc:"Whether the pattern can be drawn from a two-part mould"`
	Wear        Wear            `json:"wear" doc:"Whether the finished piece is stout enough"`
	Sections    []Cross         `json:"sections" doc:"Sections of the casting along the way, from the gate"`
	calc.Notes
}

// Extent is a box.
type Extent struct {
	LengthMM float64 `json:"length_mm" doc:"Along the gate"`
	WidthMM  float64 `json:"width_mm" doc:"Across it, in the parting plane"`
	HeightMM float64 `json:"height_mm" doc:"Across the parting plane"`
}

// Cross is the section at a place.
type Cross struct {
	AtPct       float64 `json:"at_pct" doc:"Percent of the way"`
	AtMM        float64 `json:"at_mm" doc:"mm of the way"`
	ThicknessMM float64 `json:"thickness_mm" doc:"Thickness"`
	WidthMM     float64 `json:"width_mm" doc:"Width"`
	AreaMM2     float64 `json:"area_mm2" doc:"Area"`
	ModulusMM   float64 `json:"modulus_mm" doc:"Area over perimeter"`
}

var srcPappus = calc.Source{For: "volume", Text: "area of the section times the path of its centre (Pappus), along curves parallel to the inside; of a surface, contour integrals over its sections", Status: calc.Computed}

// Describe works out what a piece comes to.
// Model: sections upright on a path. Error: 0.1 % for a described piece, that
// of its facets for a surface.
func Describe(ctx context.Context, in In) (Out, error) {
	var c calc.Checks
	c.Bounds(in)
	m, err := metal.Named(in.Alloy)
	c.Under("", err)
	given, err := in.Shape.Resolve(ctx)
	c.Under("", err)
	if err := c.Err(); err != nil {
		return Out{}, err
	}
	cast, finished := given, given
	switch {
	case in.Measures == "finished" && in.Mesh == nil && in.Weighed == nil:
		cast = given.Grown(in.BenchInsideMM, in.BenchOutsideMM, in.BenchEdgeMM)
	default:
		finished = given.Grown(-in.BenchInsideMM, -in.BenchOutsideMM, -in.BenchEdgeMM)
	}
	out := Out{Notes: calc.Noting(ctx), CastMM3: cast.VolumeMM3(), FinishedMM3: finished.VolumeMM3(), AreaMM2: cast.AreaMM2(),
		LengthMM: cast.LengthMM(), InsideMM: finished.InsideMM(), Sections: []Cross{}}
	rho := m.DensityGCm3()
	out.CastG, out.FinishedG = out.CastMM3/1000*rho, out.FinishedMM3/1000*rho
	out.ModulusMM = out.CastMM3 / out.AreaMM2
	size := cast.Extent()
	out.OverAllMM = Extent{size.X, size.Y, size.Z}
	if out.Parting, err = cast.Parted(ctx); err != nil {
		return Out{}, err
	}
	out.Wear = finished.Worn()
	out.Reasons.Join(out.Parting.Reasons(), out.Wear.Reasons)
	out.Verdict, out.Reasons = out.Reasons.Level(), out.Reasons.Sorted()
	for _, s := range cast.Stations(12) {
		out.Sections = append(out.Sections, Cross{s.AtPct, s.AtMM, s.ThicknessMM, s.WidthMM, s.AreaMM2, s.ModulusMM()})
	}
	out.Step("mass of the casting", out.CastG, "g", "%.5g mm³ × %.4g g/cm³", out.CastMM3, rho)
	out.Cite(srcPappus)
	out.Cite(out.Parting.Sources()...)
	out.Cite(out.Wear.Sources()...)
	if in.Weighed != nil {
		out.Cite(SrcPattern)
	}
	for _, s := range m.Sources() {
		if strings.HasPrefix(s.For, "density") {
			out.Cite(s)
		}
	}
	return out, nil
}

// Reasons against drawing the pattern as it lies.
func (p *Parting) Reasons() verdict.Reasons {
	var r verdict.Reasons
	switch {
	case !p.Draws:
		r.Add(verdict.Geometry, verdict.NotYet, p.Remedy, "The pattern cannot be drawn as it lies.")
	case p.Parting == "stepped":
		r.Add(verdict.Geometry, verdict.Care, p.Remedy, "The pattern does not part along one plane.")
	}
	return r
}

// STL is the casting as a solid.
func STL(ctx context.Context, in In, out Out) ([]byte, error) {
	body, err := in.Shape.Resolve(ctx)
	if err != nil {
		return nil, err
	}
	if in.Measures == "finished" {
		body = body.Grown(in.BenchInsideMM, in.BenchOutsideMM, in.BenchEdgeMM)
	}
	var b bytes.Buffer
	err = body.Solid().WriteSTL(&b, string(in.Kind))
	return b.Bytes(), err
}

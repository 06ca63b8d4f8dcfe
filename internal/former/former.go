// Package former makes the tools that give an impression its size: discs, ring
// cutters, strips and the wedge that tells how far metal runs, as solids for a
// printer and as templates on paper at true scale. Lengths are in mm.
package former

import (
	"context"
	"fmt"
	"math"
	"strconv"

	"pourwright/internal/calc"
	"pourwright/internal/draw"
	"pourwright/internal/metal"
	"pourwright/internal/section"
	"pourwright/internal/sizing"
)

// Kinds of former.
const (
	Disc   = "disc"
	Cutter = "ring_cutter"
	Strip  = "strip"
	Wedge  = "wedge"
)

// In asks for a former. It is flat.
type In struct {
	Kind             string        `json:"kind" enum:"disc,ring_cutter,strip,wedge" default:"disc" doc:"Disc with a grip that gives the inside of the impression; ring cutter that leaves a plug of clay of it; strip to bend to it; wedge, the tapered strip poured to learn how far metal runs"`
	InsideDiameterMM *float64      `json:"inside_diameter_mm,omitempty" minimum:"8" maximum:"125" doc:"Inside diameter" example:"62.9"`
	InsideWidthMM    *float64      `json:"inside_width_mm,omitempty" minimum:"8" maximum:"130" doc:"Inside width of an oval, with inside_height_mm"`
	InsideHeightMM   *float64      `json:"inside_height_mm,omitempty" minimum:"8" maximum:"130" doc:"Inside height of an oval"`
	RingSystem       sizing.System `json:"ring_system,omitempty" enum:"circumference,diameter,us,uk,japan,continental,swiss,italian,spanish,indian,hong_kong" doc:"System of ring_size"`
	RingSize         string        `json:"ring_size,omitempty" maxLength:"24" doc:"Ring size, in place of the diameter; it is then a finished size" example:"N½"`
	SizeIs           string        `json:"size_is" enum:"mould,finished" default:"mould" doc:"mould: made as given; finished: enlarged by contraction and lessened by the bench allowance"`
	Alloy            string        `json:"alloy,omitempty" maxLength:"40" doc:"Alloy of the catalogue, for the contraction of a finished size" example:"silver-925"`
	ContractionPct   *float64      `json:"contraction_pct,omitempty" minimum:"0" maximum:"5" doc:"Your own contraction, in place of the alloy's"`
	BenchInsideMM    float64       `json:"bench_inside_mm" minimum:"0" maximum:"2" default:"0.1" doc:"Metal to be filed off the inside; counts for a finished size"`
	SpringBackPct    float64       `json:"spring_back_pct" minimum:"-3" maximum:"3" default:"0" doc:"How much larger the impression comes out than the former"`
	PrinterOffsetMM  float64       `json:"printer_offset_mm" minimum:"-0.5" maximum:"0.5" default:"0" doc:"How far your printer's faces stand proud: taken off the working face of a disc, added to that of a ring cutter"`

	DepthMM          float64 `json:"depth_mm" minimum:"2" maximum:"60" default:"10" doc:"Depth of the working part; height of a strip"`
	DraftDeg         float64 `json:"draft_deg" minimum:"0" maximum:"15" default:"2" doc:"Taper of a disc or wedge for drawing it; a ring cutter is upright inside"`
	SizeAt           string  `json:"size_at" enum:"bottom,middle,top" default:"middle" doc:"Where a drafted disc has its size; the bottom goes into the clay"`
	GripHeightMM     float64 `json:"grip_height_mm" minimum:"0" maximum:"60" default:"18" doc:"Height of a disc's grip; 0 for none"`
	GripWidthMM      float64 `json:"grip_width_mm" minimum:"4" maximum:"80" default:"30" doc:"Width of the grip, lessened for a small disc"`
	GripThicknessMM  float64 `json:"grip_thickness_mm" minimum:"2" maximum:"20" default:"6" doc:"Thickness of the grip, lessened for a small disc"`
	WallMM           float64 `json:"wall_mm" minimum:"0.6" maximum:"5" default:"1.6" doc:"Wall of a ring cutter"`
	FlangeMM         float64 `json:"flange_mm" minimum:"4" maximum:"20" default:"9" doc:"Flange of a ring cutter, beyond the wall"`
	StripThicknessMM float64 `json:"strip_thickness_mm" minimum:"0.1" maximum:"5" default:"1" doc:"Thickness of a strip to bend"`

	WedgeLengthMM float64 `json:"wedge_length_mm" minimum:"30" maximum:"240" default:"120" doc:"Length of a wedge from its foot to its thin end"`
	WedgeWidthMM  float64 `json:"wedge_width_mm" minimum:"5" maximum:"60" default:"15" doc:"Width of a wedge at the parting plane"`
	WedgeFootMM   float64 `json:"wedge_foot_mm" minimum:"0.5" maximum:"10" default:"2.5" doc:"Thickness of a wedge at its foot, where the metal comes in"`
	WedgeTipMM    float64 `json:"wedge_tip_mm" minimum:"0.1" maximum:"10" default:"0.2" doc:"Thickness at the thin end: as thin as it can be printed; wedge_foot_mm for a test strip of one thickness"`

	Label    *string `json:"label,omitempty" maxLength:"12" doc:"Text on the former, of letters, digits and . - + /; its size when left out, none when empty" example:"62.90"`
	Relief   string  `json:"relief" enum:"raised,sunk" default:"sunk" doc:"Whether the text stands out or is let in; on a wedge it is let in"`
	LabelMM  float64 `json:"label_mm" minimum:"2" maximum:"15" default:"6" doc:"Height of the text, lessened where there is no room"`
	ReliefMM float64 `json:"relief_mm" minimum:"0.2" maximum:"2" default:"0.5" doc:"How far the text stands out or is let in"`
	Paper    string  `json:"paper" enum:"a4,letter" default:"a4" doc:"Paper of the template"`
}

// Out is a former. The solid and the template are further forms of it.
type Out struct {
	WidthMM         float64 `json:"width_mm" doc:"Inside width that the former gives; the diameter where round; 0 for a wedge"`
	HeightMM        float64 `json:"height_mm" doc:"Inside height that it gives"`
	CircumferenceMM float64 `json:"circumference_mm" doc:"Inside circumference that it gives"`
	StripInsideMM   float64 `json:"strip_inside_mm" doc:"Length of a strip bent so that its outside has this size: circumference - π t"`
	StripOutsideMM  float64 `json:"strip_outside_mm" doc:"Length of a strip bent around a former of this size: circumference + π t"`
	LabelText       string  `json:"label_text" doc:"Text on the former"`
	LabelHeightMM   float64 `json:"label_height_mm" doc:"Height of the text"`
	VolumeMM3       float64 `json:"volume_mm3" doc:"Volume of the solid"`
	FacetCount      int     `json:"facet_count" doc:"Facets of the solid; rounds have 480"`
	Watertight      bool    `json:"watertight" doc:"Every edge of the solid is shared by just two facets"`
	Sheets          int     `json:"sheets" doc:"Sheets of paper that the template takes"`
	calc.Notes
}

// plan is a former being worked out.
type plan struct {
	in *In
	Out
	relief   float64 // > 0 raised, < 0 sunk
	labelMM  float64
	finished vec2 // width and height of the finished inside, where the size was one
}

var (
	srcStrip = calc.Source{For: "strip lengths", Text: "neutral line at mid-thickness (Untracht; Brepohl): parallel curve of a convex outline, circumference ± π t", Status: calc.FromMemory}
	srcWedge = calc.Source{For: "wedge", Text: "tapered test strip of foundry practice; 120 × 15 mm, 2.5 mm at the foot, drawn out as thin as can be", Status: calc.Choice}
	srcFacet = calc.Source{For: "roundness of the solid", Text: "480 facets: the flats are short of the round by d (1 - cos(π/480)), 0.0024 mm on 110 mm", Status: calc.Computed}
)

// Plan works out a former and makes sure that its solid is closed.
// Error: corners of the solid lie on the true outline; the flats between them
// are short of it by 21 parts in a million.
func Plan(ctx context.Context, in In) (Out, error) {
	p, s, err := build(ctx, &in)
	if err != nil {
		return Out{}, err
	}
	if err := s.closed(); err != nil {
		return Out{}, noSolid(in.Kind, err)
	}
	p.VolumeMM3, p.FacetCount, p.Watertight = s.volume(), len(s.t), true
	p.LabelHeightMM = p.labelMM
	p.Sheets, _ = p.parts()
	p.Step("volume of the solid", p.VolumeMM3, "mm³", "sum over %d facets", p.FacetCount)
	if bar := p.labelMM * stroke / (2 + stroke); p.LabelText != "" && bar < 0.4 {
		p.Warn("fine_label", calc.Note, "The text's strokes are %.2f mm wide: finer than many printers draw. Shorten the label or widen the grip.", bar)
	}
	p.Warn("print_scale", calc.Care, "Print at 100 %%, not fitted to the page, and measure the bar on the sheet; measure a printed solid with a caliper across several diameters before it shapes a mould.")
	return p.Out, nil
}

// STL returns the solid as binary STL, in mm.
func STL(ctx context.Context, in In, _ Out) ([]byte, error) {
	p, s, err := build(ctx, &in)
	if err != nil {
		return nil, err
	}
	return s.stl(fmt.Sprintf("%s %s, millimetres", in.Kind, p.LabelText))
}

// PDF returns the template at true scale.
func PDF(ctx context.Context, in In, _ Out) ([]byte, error) {
	p, _, err := build(ctx, &in)
	if err != nil {
		return nil, err
	}
	return draw.PDF(p.pages()...)
}

// SVG returns the first sheet of the template at true scale.
func SVG(ctx context.Context, in In, _ Out) ([]byte, error) {
	p, _, err := build(ctx, &in)
	if err != nil {
		return nil, err
	}
	return p.pages()[0].SVG()
}

func build(ctx context.Context, in *In) (*plan, *solid, error) {
	p := &plan{in: in, Out: Out{Notes: calc.Noting(ctx)}}
	if err := p.read(); err != nil {
		return nil, nil, err
	}
	p.relief = in.ReliefMM
	if in.Relief == "sunk" {
		p.relief = -in.ReliefMM
	}
	var s *solid
	switch in.Kind {
	case Cutter:
		s = p.cutter()
	case Strip:
		s = p.strip()
	case Wedge:
		s = p.wedge()
		p.Cite(srcWedge)
		p.Warn("wedge_head", calc.Note, "Pour it lying, or hanging under its sprue, foot at the sprue; note the pour temperature, the time from a video and how far it ran, and give them to calibrations as a strip.")
	default:
		s = p.disc()
	}
	if s.err != nil {
		return nil, nil, noSolid(in.Kind, s.err)
	}
	return p, s, nil
}

// noSolid refuses sizes that cannot be made into a closed solid.
func noSolid(kind string, because error) error {
	return calc.Refuse("kind", kind, "the sizes make no closed solid (%v); give larger ones where they are next to nothing, or exactly 0, and a label that has room", because)
}

// read checks the input and settles the size.
func (p *plan) read() error {
	in := p.in
	var c calc.Checks
	c.Bounds(*in)
	if in.WedgeTipMM > in.WedgeFootMM {
		c.Refuse("wedge_tip_mm", in.WedgeTipMM, "give at most wedge_foot_mm (%g)", in.WedgeFootMM)
	}
	if in.Label != nil {
		text, ok := writable(*in.Label)
		if !ok || len(text) > 16 {
			c.Refuse("label", *in.Label, "give up to 12 letters, digits, spaces and . - + /")
		}
		p.LabelText = text
	}
	if in.Kind != Wedge {
		c.Under("", p.size())
	} else if in.Label == nil {
		p.LabelText = number(in.WedgeFootMM) + "-" + number(in.WedgeTipMM)
	}
	return c.Err()
}

// size settles the outline that the former gives.
func (p *plan) size() error {
	in := p.in
	oval := in.InsideWidthMM != nil && in.InsideHeightMM != nil
	if n := count(in.InsideDiameterMM != nil, in.InsideWidthMM != nil || in.InsideHeightMM != nil, in.RingSize != ""); n != 1 || (in.InsideWidthMM != nil) != (in.InsideHeightMM != nil) {
		return calc.Refuse("inside_diameter_mm", nil, "give one of inside_diameter_mm, ring_size with ring_system, or inside_width_mm with inside_height_mm")
	}
	w, h := 0.0, 0.0
	switch {
	case in.RingSize != "":
		c, err := sizing.Size(in.RingSystem, in.RingSize)
		if err != nil {
			return calc.Refuse("ring_size", in.RingSize, "%s", err)
		}
		w, h = c/math.Pi, c/math.Pi
	case oval:
		w, h = *in.InsideWidthMM, *in.InsideHeightMM
	default:
		w, h = *in.InsideDiameterMM, *in.InsideDiameterMM
	}
	if !(min(w, h) >= 8 && max(w, h) <= 130 && max(w, h) <= 2.5*min(w, h)) {
		return calc.Refuse("inside_diameter_mm", min(w, h), "give 8 to 125 mm, and neither axis of an oval more than 2.5 times the other")
	}
	grow := 1.0
	if in.SizeIs == "finished" || in.RingSize != "" {
		contraction, err := p.contraction()
		if err != nil {
			return err
		}
		grow = 1 + contraction/100
		p.finished = vec2{w, h}
		p.Step("mould inside width", (w-2*in.BenchInsideMM)*grow, "mm", "(%.6g mm - 2 × %.3g mm) × (1 + %.3g %%)", w, in.BenchInsideMM, contraction)
		w, h = (w-2*in.BenchInsideMM)*grow, (h-2*in.BenchInsideMM)*grow
	}
	spring := 1 + in.SpringBackPct/100
	offset := 2 * in.PrinterOffsetMM
	if in.Kind == Cutter {
		offset = -offset
	} else if in.Kind == Strip {
		offset = 0
	}
	p.WidthMM, p.HeightMM = w/spring-offset, h/spring-offset
	if err := p.tapers(); err != nil {
		return err
	}
	p.CircumferenceMM = section.EllipsePerimeter(p.WidthMM/2, p.HeightMM/2)
	p.StripInsideMM = p.CircumferenceMM - math.Pi*in.StripThicknessMM
	p.StripOutsideMM = p.CircumferenceMM + math.Pi*in.StripThicknessMM
	if in.Label == nil {
		p.LabelText = strconv.FormatFloat(w, 'f', 2, 64)
		if oval {
			p.LabelText = strconv.FormatFloat(w, 'f', 1, 64) + "/" + strconv.FormatFloat(h, 'f', 1, 64)
		}
	}
	p.Step("former width", p.WidthMM, "mm", "%.6g mm / (1 + %.3g %%) - %.3g mm for the printer", w, in.SpringBackPct, offset)
	p.Step("strip bent to it", p.StripInsideMM, "mm", "%.6g mm - π × %.3g mm", p.CircumferenceMM, in.StripThicknessMM)
	p.Cite(srcStrip, srcFacet)
	return nil
}

// tapers refuses a disc whose draft takes its narrow end to where the parallel
// curve folds over: at the least radius of curvature, b²/a.
func (p *plan) tapers() error {
	if p.in.Kind != Disc {
		return nil
	}
	short, long := min(p.WidthMM, p.HeightMM)/2, max(p.WidthMM, p.HeightMM)/2
	loss := p.below() * math.Tan(p.in.DraftDeg*math.Pi/180)
	if most := 0.8 * short * short / long; loss > most {
		return calc.Refuse("draft_deg", p.in.DraftDeg, "give at most %.2g with this depth_mm and size_at, so that the bottom keeps its form", 180/math.Pi*math.Atan(most/p.below()))
	}
	return nil
}

// below is the height over the bottom at which a drafted disc has its size.
func (p *plan) below() float64 {
	return map[string]float64{"bottom": 0, "middle": 0.5, "top": 1}[p.in.SizeAt] * p.in.DepthMM
}

// contraction is the user's own or the alloy's typical figure.
func (p *plan) contraction() (float64, error) {
	if p.in.ContractionPct != nil {
		p.Cite(calc.Source{For: "contraction", Text: "your own figure", Status: calc.YourInput})
		return *p.in.ContractionPct, nil
	}
	if p.in.Alloy == "" {
		return 0, calc.Refuse("alloy", nil, "give alloy or contraction_pct to enlarge a finished size, or say size_is mould and give the diameter")
	}
	m, err := metal.Named(p.in.Alloy)
	if err != nil {
		return 0, err
	}
	typical, low, high := m.ContractionPct()
	p.Cite(calc.Source{For: "contraction", Text: fmt.Sprintf("typical of %s, %.2g to %.2g %%; calibrate with your own pours", p.in.Alloy, low, high), Status: calc.Choice})
	return typical, nil
}

// setLabel sets the label as large as asked for, or as fits.
func (p *plan) setLabel(width, height float64, centre vec2) []bar {
	if p.LabelText == "" {
		return nil
	}
	p.labelMM = min(p.in.LabelMM, height, width/labelWidth(p.LabelText, 1))
	return write(p.LabelText, centre, p.labelMM)
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func count(given ...bool) (n int) {
	for _, g := range given {
		if g {
			n++
		}
	}
	return n
}

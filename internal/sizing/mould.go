package sizing

import (
	"context"
	"errors"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/mesh"
	"pourwright/internal/metal"
	"pourwright/internal/section"
)

// Kinds of piece.
const (
	RingPiece   = "ring"
	BanglePiece = "bangle"
	CuffPiece   = "cuff"
)

// How the clay inside a ring holds the shrinking metal.
const (
	FreeToShrink = "free"      // cast flat or open: nothing inside to grip
	ClayCore     = "clay_core" // soft clay inside the ring
	HardCore     = "hard_core" // plaster, sand or stiff clay inside
)

// MouldIn asks for the mould of a finished piece. It is flat. Give the inside
// as a diameter, a circumference, a ring size or the axes of an oval.
type MouldIn struct {
	Piece                   string        `json:"piece" enum:"ring,bangle,cuff" default:"bangle" doc:"What it is; a cuff is open by gap_mm"`
	InsideDiameterMM        *float64      `json:"inside_diameter_mm,omitempty" minimum:"9" maximum:"120" doc:"Finished inside diameter" example:"62"`
	InsideCircumferenceMM   *float64      `json:"inside_circumference_mm,omitempty" minimum:"28" maximum:"380" doc:"Finished inside circumference, in place of the diameter"`
	RingSystem              System        `json:"ring_system,omitempty" enum:"circumference,diameter,us,uk,japan,continental,swiss,italian,spanish,indian,hong_kong" doc:"System of ring_size"`
	RingSize                string        `json:"ring_size,omitempty" maxLength:"24" doc:"Finished ring size, in place of the diameter" example:"N½"`
	InsideWidthMM           *float64      `json:"inside_width_mm,omitempty" minimum:"9" maximum:"130" doc:"Finished inside width of an oval, with inside_height_mm"`
	InsideHeightMM          *float64      `json:"inside_height_mm,omitempty" minimum:"9" maximum:"130" doc:"Finished inside height of an oval"`
	GapMM                   float64       `json:"gap_mm" minimum:"0" maximum:"80" default:"28" doc:"Opening of a cuff along the inside; not used for rings and bangles"`
	Shape                   section.Shape `json:"shape" enum:"round,oval,half_round,rectangular,d,knife_edge,comfort" doc:"Form of the section" example:"half_round"`
	ThicknessMM             float64       `json:"thickness_mm" minimum:"0.5" maximum:"20" doc:"Finished thickness, inside face to outside" example:"2.4"`
	WidthMM                 float64       `json:"width_mm,omitempty" minimum:"0.5" maximum:"80" doc:"Finished width along the arm or finger; not needed for round" example:"6"`
	Alloy                   string        `json:"alloy" maxLength:"200" doc:"Alloy of the catalogue, or a composition such as Ag 925 Cu 75: sets contraction and density" example:"silver-925"`
	ContractionPct          *float64      `json:"contraction_pct,omitempty" minimum:"0" maximum:"5" doc:"Your own linear contraction, mould less casting over casting, in place of the alloy's"`
	ContractionSpreadPct    *float64      `json:"contraction_spread_pct,omitempty" minimum:"0" maximum:"2" doc:"Plus or minus on your own contraction, as mould-calibrations gives it"`
	Restraint               string        `json:"restraint" enum:"free,clay_core,hard_core" default:"clay_core" doc:"What the ring shrinks onto: nothing, soft clay, or a hard core"`
	BenchInsideMM           float64       `json:"bench_inside_mm" minimum:"0" maximum:"2" default:"0.05" doc:"Metal to be filed and polished off the inside face"`
	BenchOutsideMM          float64       `json:"bench_outside_mm" minimum:"0" maximum:"2" default:"0.05" doc:"Metal to be filed and polished off the outside face"`
	BenchEdgeMM             float64       `json:"bench_edge_mm" minimum:"0" maximum:"2" default:"0.05" doc:"Metal to be filed and polished off each edge"`
	CoreGiveMM              *float64      `json:"core_give_mm,omitempty" minimum:"0" maximum:"1" doc:"How far the clay inside a pressed ring or bangle gives way on each side, as the pattern is loosened and the metal presses on it, so that the casting comes out smaller; 0.1 if absent, 0 for a hard core, a free casting or a cuff" example:"0.1"`
	SpringBackPct           float64       `json:"spring_back_pct" minimum:"-3" maximum:"3" default:"0" doc:"How much larger the impression comes out than the pattern, by your own measurement"`
	PatternInsideDiameterMM *float64      `json:"pattern_inside_diameter_mm,omitempty" minimum:"9" maximum:"120" doc:"Inside diameter of the pattern at hand; of an oval one, its circumference over π"`
	PatternThicknessMM      *float64      `json:"pattern_thickness_mm,omitempty" minimum:"0.3" maximum:"20" doc:"Thickness of the pattern at hand"`
	PatternWidthMM          *float64      `json:"pattern_width_mm,omitempty" minimum:"0.5" maximum:"80" doc:"Width of the pattern at hand"`
	PatternMesh             *mesh.Pattern `json:"pattern_mesh,omitempty" doc:"The surface of the pattern at hand, in place of its three measures: an STL file in base64, or the file pattern_mesh of a form"`
	Repeats                 int           `json:"repeats" minimum:"0" maximum:"200" default:"0" doc:"How many times the pattern's ornament or wave repeats around; 0 for plain"`
	CrestDeg                float64       `json:"crest_deg" minimum:"0" maximum:"360" default:"0" doc:"Angle from the gate to the first crest of the repeat"`
	GainThicknessMM         *float64      `json:"gain_thickness_mm,omitempty" minimum:"0" maximum:"5" doc:"How much of thickness_mm the impression must gain beyond what the pattern at hand gives; worked out from pattern_thickness_mm where that is given"`
	GainWidthMM             *float64      `json:"gain_width_mm,omitempty" minimum:"0" maximum:"10" doc:"The same for width_mm"`
	Lies                    string        `json:"lies" enum:"ring,strip" default:"ring" doc:"How the pattern is pressed: as a ring lying flat, its width across the parting plane; or as a flat strip, bent later, its thickness across it"`
	Detail                  string        `json:"detail" enum:"none,upper,lower,both" default:"both" doc:"Which half of the mould carries the ornament that must not be disturbed"`
	StonesInPlace           bool          `json:"stones_in_place" default:"false" doc:"The piece carries stones when it comes to the bench"`
}

// Measures are the inside and the section of a ring at one stage.
type Measures struct {
	InsideDiameterMM      float64         `json:"inside_diameter_mm" doc:"Inside diameter; of an oval, its circumference over π"`
	InsideCircumferenceMM float64         `json:"inside_circumference_mm" doc:"Inside circumference; of a cuff, metal and opening together"`
	InsideWidthMM         float64         `json:"inside_width_mm" doc:"Inside width; the diameter where round"`
	InsideHeightMM        float64         `json:"inside_height_mm" doc:"Inside height; the diameter where round"`
	GapMM                 float64         `json:"gap_mm,omitempty,omitzero" doc:"Opening of a cuff along the inside"`
	Section               section.Section `json:"section" doc:"The section"`
}

// Oval says whether the inside is not round: axes that differ by more than a round's.
func (m Measures) Oval() bool { return !section.Circular(m.InsideWidthMM, m.InsideHeightMM) }

// MouldOut is the mould of a finished piece.
type MouldOut struct {
	Mould              Measures        `json:"mould" doc:"The cavity to make in the clay"`
	PatternWanted      Measures        `json:"pattern_wanted" doc:"The pattern or former that presses it, after spring-back"`
	AsCast             Measures        `json:"as_cast" doc:"The casting, cold, before the bench"`
	Finished           Measures        `json:"finished" doc:"The piece asked for"`
	ContractionPct     float64         `json:"contraction_pct" doc:"Linear contraction of the inside reckoned with"`
	ContractionLowPct  float64         `json:"contraction_low_pct" doc:"Least contraction to expect"`
	ContractionHighPct float64         `json:"contraction_high_pct" doc:"Greatest contraction to expect"`
	SectionContraction float64         `json:"section_contraction_pct" doc:"Contraction of thickness and width, which nothing holds"`
	FinishedLeastMM    float64         `json:"finished_least_mm" doc:"Finished inside diameter if the contraction is at its greatest"`
	FinishedGreatestMM float64         `json:"finished_greatest_mm" doc:"Finished inside diameter if the contraction is at its least"`
	CastingVolumeMM3   float64         `json:"casting_volume_mm3" doc:"Volume of the casting, cold, without sprue and vents, with what the edits gain"`
	CastingMassG       float64         `json:"casting_mass_g" doc:"Mass of that"`
	FillSection        section.Section `json:"fill_section" doc:"Section of the cavity after the edits, to be filled; after a push it is the section of equal area and thickness"`
	ArcLengthMM        float64         `json:"arc_length_mm" doc:"Length of the cavity along the middle of the section"`
	Edit               *PatternEdit    `json:"edit,omitempty" doc:"What to do to the impression of the pattern at hand"`
	Gain               *SectionGain    `json:"gain,omitempty" doc:"How to gain thickness or width in the impression"`
	Advice             string          `json:"advice" doc:"The first of the ways below that is good, or else one to take with care; mould anew where no pattern was given" example:"edit the impression"`
	BenchOptions       []BenchOption   `json:"bench_options" doc:"Using the pattern as it is and correcting at the bench, against moulding anew; empty where no pattern was given"`
	calc.Notes
}

var (
	srcPatternRule = calc.Source{For: "pattern allowance", Text: "pattern = casting × (1 + contraction), the contraction reckoned on the cold casting as on a patternmaker's shrink rule; W. H. Dooley, Applied Science for Metal Workers, sec. 426", Status: calc.Confirmed}
	srcRestraint   = calc.Source{For: "free and hindered contraction", Text: "free: from the alloy's typical figure to its greatest; soft clay inside: the whole band about the typical; hard core: from least to typical. Calibrate with your own pours", Status: calc.Choice}
	srcCoreGive    = calc.Source{For: "clay that gives way inside a ring", Text: "0.1 mm on each side, set so that a ring comes out half to a whole size small if nothing is allowed for, as the trade knows; measure your own", Status: calc.Practice}
	srcBench       = calc.Source{For: "bench allowance", Text: "0.05 mm off every face: of a ring of 4 x 1.7 mm 8 %, of a bangle of 7 x 2.6 mm 5 %, as filing and polishing take 3 to 8 % of the mass", Status: calc.Practice}
)

// takeMesh reads the measures of the pattern at hand from its surface: the
// hole, the mean thickness once round, and the width over all.
func (in *MouldIn) takeMesh(ctx context.Context) error {
	if in.PatternInsideDiameterMM != nil || in.PatternThicknessMM != nil || in.PatternWidthMM != nil {
		return calc.Refuse("", nil, "give either the surface or the measures of the pattern, not both")
	}
	solid, err := in.PatternMesh.Load(ctx)
	if err != nil {
		return err
	}
	inside, profile, err := solid.Band()
	if err != nil {
		return err
	}
	opening, _ := solid.Opening() // Band has found it
	thickness := profile.Mean(func(s section.Section) float64 { return s.ThicknessMM })
	in.PatternInsideDiameterMM, in.PatternThicknessMM, in.PatternWidthMM = &inside, &thickness, &opening.WidthMM
	in.PatternMesh = nil // its measures stand for it from here on
	return nil
}

// read checks the input and finds the finished inside.
func (in *MouldIn) read() (Measures, error) {
	var c calc.Checks
	c.Bounds(*in)
	c.Under("", section.Section{Shape: in.Shape, ThicknessMM: in.ThicknessMM, WidthMM: in.WidthMM}.Check())
	_, err := in.metal()
	c.Under("", err)
	f, err := in.inside()
	c.Under("", err)
	return f, c.Err()
}

// inside finds the finished inside from whichever measure was given.
func (in *MouldIn) inside() (Measures, error) {
	given := 0
	for _, is := range []bool{in.InsideDiameterMM != nil, in.InsideCircumferenceMM != nil, in.RingSize != "", in.InsideWidthMM != nil || in.InsideHeightMM != nil} {
		if is {
			given++
		}
	}
	if given != 1 {
		return Measures{}, calc.Refuse("inside_diameter_mm", nil, "give one of inside_diameter_mm, inside_circumference_mm, ring_size with ring_system, or inside_width_mm with inside_height_mm")
	}
	var c float64
	switch {
	case in.InsideDiameterMM != nil:
		c = math.Pi * *in.InsideDiameterMM
	case in.InsideCircumferenceMM != nil:
		c = *in.InsideCircumferenceMM
	case in.RingSize != "":
		size, err := Size(in.RingSystem, in.RingSize)
		if err != nil {
			return Measures{}, underRing(err)
		}
		c = size
	case in.InsideWidthMM == nil || in.InsideHeightMM == nil:
		return Measures{}, calc.Refuse("inside_width_mm", nil, "give inside_width_mm and inside_height_mm together")
	default:
		w, h := *in.InsideWidthMM, *in.InsideHeightMM
		if !(min(w, h) >= 9 && max(w, h) <= 130 && max(w, h) <= 3*min(w, h)) {
			return Measures{}, calc.Refuse("inside_height_mm", h, "give 9 to 130 mm, and neither axis more than three times the other (inside_width_mm is %g)", w)
		}
		p := section.EllipsePerimeter(w/2, h/2)
		return Measures{p / math.Pi, p, w, h, 0, section.Section{}}, nil
	}
	d := c / math.Pi
	if !(d >= 9 && d <= 121) {
		return Measures{}, calc.Refuse("inside_diameter_mm", d, "give 9 to 120 mm")
	}
	return Measures{d, c, d, d, 0, section.Section{}}, nil
}

// underRing names the fields of a ring size as this input does.
func underRing(err error) error {
	var c calc.Checks
	var r *calc.Refusal
	if errors.As(err, &r) {
		for _, f := range r.Faults {
			c.Refuse("ring_"+f.Field, f.Value, "%s", f.Accepts)
		}
		return c.Err()
	}
	return err
}

// contraction settles the contractions and their band.
func (out *MouldOut) contraction(in *MouldIn, m metal.Metal) {
	typical, low, high := m.ContractionPct()
	out.SectionContraction = (typical + high) / 2
	switch in.Restraint {
	case FreeToShrink:
		out.ContractionPct, out.ContractionLowPct, out.ContractionHighPct = (typical+high)/2, typical, high
	case HardCore:
		out.ContractionPct, out.ContractionLowPct, out.ContractionHighPct = (low+typical)/2, low, typical
	default:
		out.ContractionPct, out.ContractionLowPct, out.ContractionHighPct = typical, low, high
	}
	if in.ContractionPct == nil {
		out.Cite(srcRestraint)
		out.Warn("contraction_unpublished", calc.Care, "No pattern allowance for silver or gold in clay is published: %.3g %% is a choice within %.3g to %.3g %%, which is ±%.2g mm on this inside diameter. Measure a few of your own pours (mould-calibrations) and give contraction_pct.",
			out.ContractionPct, out.ContractionLowPct, out.ContractionHighPct, out.Finished.InsideDiameterMM*(out.ContractionHighPct-out.ContractionLowPct)/200)
		return
	}
	spread := 0.0
	if in.ContractionSpreadPct != nil {
		spread = *in.ContractionSpreadPct
	}
	out.ContractionPct, out.SectionContraction = *in.ContractionPct, *in.ContractionPct
	out.ContractionLowPct, out.ContractionHighPct = max(0, *in.ContractionPct-spread), *in.ContractionPct+spread
	out.Cite(calc.Source{For: "contraction", Text: "your own figure", Status: calc.YourInput})
}

// coreGive is how far the clay inside a closed piece gives way on each side, mm.
func (in *MouldIn) coreGive(closed bool) float64 {
	switch {
	case !closed:
		return 0
	case in.CoreGiveMM != nil:
		return *in.CoreGiveMM
	case in.Restraint == ClayCore:
		return 0.1
	}
	return 0
}

// widened moves the inside face outwards by mm: exact for a parallel curve.
func (m Measures) widened(mm float64) Measures {
	m.InsideDiameterMM += 2 * mm
	m.InsideCircumferenceMM += 2 * math.Pi * mm
	m.InsideWidthMM += 2 * mm
	m.InsideHeightMM += 2 * mm
	return m
}

// scaled multiplies the inside and the section.
func (m Measures) scaled(inside, sect float64) Measures {
	return Measures{m.InsideDiameterMM * inside, m.InsideCircumferenceMM * inside, m.InsideWidthMM * inside, m.InsideHeightMM * inside, m.GapMM * inside,
		section.Section{Shape: m.Section.Shape, ThicknessMM: m.Section.ThicknessMM * sect, WidthMM: m.Section.WidthMM * sect}}
}

// grow adds to the measures of a section. A round one stays round if it can.
func grow(s section.Section, thickness, width float64) section.Section {
	if s.Shape == section.Round {
		if thickness == width {
			return section.Section{Shape: section.Round, ThicknessMM: s.ThicknessMM + thickness}
		}
		return section.Section{Shape: section.Oval, ThicknessMM: s.ThicknessMM + thickness, WidthMM: s.ThicknessMM + width}
	}
	s.ThicknessMM += thickness
	s.WidthMM += width
	return s
}

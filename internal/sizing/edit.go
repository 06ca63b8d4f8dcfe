package sizing

import (
	"fmt"
	"math"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/section"
	"pourwright/internal/shape"
)

// PatternEdit is what to do to the impression of a pattern that is larger or
// smaller than wanted.
type PatternEdit struct {
	Action             string      `json:"action" enum:"use_as_it_is,cut,insert" doc:"Cut arcs out of the impression, let pieces in, or leave it"`
	ImpressionInsideMM float64     `json:"impression_inside_diameter_mm" doc:"Inside diameter that the pattern at hand leaves in the clay"`
	ArcMM              float64     `json:"arc_mm" doc:"Arc to cut out (or let in), in all, along the inside of the impression"`
	ArcOutsideMM       float64     `json:"arc_outside_mm" doc:"The same along the outside: cut on radii"`
	ArcDeg             float64     `json:"arc_deg" doc:"The same as an angle of the impression"`
	WholeRepeats       int         `json:"whole_repeats" doc:"Repeats of the ornament that go out (or in) whole"`
	RemainderMM        float64     `json:"remainder_mm" doc:"Arc left over beside whole repeats, along the inside; negative: the whole repeats are too much by this"`
	RemainderPerRepeat float64     `json:"remainder_per_repeat_mm" doc:"That, shared by the repeats that stay"`
	Joints             []EditJoint `json:"joints" doc:"Where to cut and blend"`
	OutOfRoundMM       float64     `json:"out_of_round_mm" doc:"Longest inside diameter less shortest of the casting before it is trued"`
	TruingStrainPct    float64     `json:"truing_strain_pct" doc:"Strain of the skin of the metal when the arcs are bent to the wanted round"`
	MetalMM3           float64     `json:"metal_mm3" doc:"Metal saved (negative) or added by the edit, against casting the pattern as it is"`
	MetalG             float64     `json:"metal_g" doc:"Mass of that"`
}

// Instruction says what to do at each joint, in mm from the gate along the inside of
// the impression and by the hour, or at the ends of a cuff; to 0.1 mm, which a hand
// can hold.
func (e *PatternEdit) Instruction() string {
	if len(e.Joints) == 0 {
		do := map[string]string{"cut": "shorten the impression by %.1f mm at each end", "insert": "lengthen the impression by %.1f mm at each end"}[e.Action]
		if do == "" {
			return "leave the impression as it is"
		}
		return fmt.Sprintf(do, e.ArcMM/2)
	}
	parts := make([]string, len(e.Joints))
	for i, j := range e.Joints {
		do := "cut out"
		if (e.Action == "insert") == (j.ArcMM > 0) {
			do = "let in"
		}
		if do = fmt.Sprintf("%s %.1f mm", do, math.Abs(j.ArcMM)); math.Abs(j.ArcMM) < 0.05 {
			do = "cut through and close again"
		}
		if j.On != "plain" {
			do += " on the " + j.On
		}
		parts[i] = do + " " + shape.Around(j.AtDeg/3.6, math.Pi*e.ImpressionInsideMM)
	}
	return strings.Join(parts, ", and ")
}

// EditJoint is a place to cut and blend.
type EditJoint struct {
	AtDeg   float64 `json:"at_deg" doc:"Middle of the cut, as an angle from the gate"`
	ArcMM   float64 `json:"arc_mm" doc:"Arc to cut out (or let in) here, along the inside; 0: cut through and close again; negative: the ends need this much more than the impression has, to be stretched or modelled"`
	KinkDeg float64 `json:"kink_deg" doc:"Kink in the line where the cut is closed, to be blended; a piece let in runs straight and leaves none"`
	On      string  `json:"on" enum:"plain,crest,trough" doc:"Where on the ornament the ends meet: on crest and trough the line of the wave is level"`
}

// fileMM is the difference in circumference that is left to the file: 0.1 mm of diameter.
const fileMM = 0.3

var (
	srcEdit = calc.Source{For: "cutting an impression", Text: "two arcs of the pattern's own curve closed on a shorter round: 2 R sin α long, 2 R (1 - cos α) across, α = C/4R; pieces let in run straight. Plane geometry", Status: calc.Computed}
	srcPush = calc.Source{For: "pushing a pattern deeper", Text: "the impression gains a straight collar at the parting plane, as thick as the section there", Status: calc.Computed}
)

func (in *MouldIn) edit(out *MouldOut, give float64) *PatternEdit {
	impression := *in.PatternInsideDiameterMM*(1+in.SpringBackPct/100) - 2*give
	wanted := out.Mould.InsideDiameterMM
	diff := math.Pi * (impression - wanted) // > 0: too large
	t := out.FillSection.ThicknessMM
	e := &PatternEdit{Action: "use_as_it_is", ImpressionInsideMM: impression, Joints: []EditJoint{}}
	out.Step("impression too large by", diff, "mm", "π × (%.6g mm - %.6g mm), along the inside", impression, wanted)
	if math.Abs(diff) <= fileMM {
		return e
	}
	e.Action = map[bool]string{true: "cut", false: "insert"}[diff > 0]
	e.ArcMM = math.Abs(diff)
	e.ArcDeg = 360 * e.ArcMM / (math.Pi * impression)
	e.ArcOutsideMM = e.ArcMM * (impression + 2*t) / impression
	e.share(in.Repeats, diff > 0)
	e.MetalMM3 = -diff / (1 + out.ContractionPct/100) * out.AsCast.Section.Area()
	e.MetalG = e.MetalMM3 * out.CastingMassG / out.CastingVolumeMM3
	e.TruingStrainPct = 100 * t / 2 * math.Abs(1/(impression/2+t/2)-1/(wanted/2+t/2))
	if in.Piece == CuffPiece {
		out.Warn("cuff_ends", calc.Note, "A cuff is open: shorten or lengthen the impression at its ends by %.1f mm each, without a joint, and bend the casting to its round.", e.ArcMM/2)
		return e
	}
	if out.Finished.InsideWidthMM != out.Finished.InsideHeightMM {
		out.Warn("oval_edit", calc.Note, "Pattern and joints are reckoned as round; on an oval set the joints at the ends of its long axis, where the metal bends least when it is trued.")
	}
	e.Joints = in.joints(e, diff > 0)
	r := impression / 2
	if diff > 0 {
		alpha := math.Pi * wanted / (4 * r)
		e.OutOfRoundMM = math.Abs(2*r*math.Sin(alpha) - 2*r*(1-math.Cos(alpha)))
		out.Step("out of round", e.OutOfRoundMM, "mm", "|2R sin α - 2R (1 - cos α)|, R %.5g mm, α %.5g rad", r, alpha)
	} else {
		e.OutOfRoundMM = e.ArcMM / 2
		out.Step("out of round", e.OutOfRoundMM, "mm", "two straight pieces of %.4g mm let in", e.ArcMM/2)
	}
	out.Cite(srcEdit)
	out.Warn("blend_joints", calc.Note, "Cut on radii, close the ends without stretching the clay, and blend over at least %.0f mm on either side of each joint. The casting comes out %.1f mm out of round and is trued on the mandrel, annealed.", 2*e.ArcMM, e.OutOfRoundMM)
	if in.StonesInPlace && e.OutOfRoundMM > 0.5 {
		out.Warn("truing_with_stones", calc.Care, "Truing %.1f mm out of round bends the metal under the stones. Set the joints away from them, or make a pattern of the right size.", e.OutOfRoundMM)
	}
	return e
}

// share finds the whole repeats in the arc, and what is left for each that stays.
func (e *PatternEdit) share(repeats int, cut bool) {
	if repeats == 0 {
		return
	}
	repeat := math.Pi * e.ImpressionInsideMM / float64(repeats)
	stay := repeats
	if cut {
		e.WholeRepeats = int(math.Round(e.ArcMM / repeat))
		stay -= e.WholeRepeats
	} else { // pieces let in must be of one length to close: repeats come in pairs
		e.WholeRepeats = 2 * int(math.Round(e.ArcMM/repeat/2))
		stay += e.WholeRepeats
	}
	e.RemainderMM = e.ArcMM - float64(e.WholeRepeats)*repeat
	if stay > 0 {
		e.RemainderPerRepeat = e.RemainderMM / float64(stay)
	}
}

// joints places the two cuts opposite one another and away from the gate: on a
// plain pattern at the sides; on one that repeats, about the crest or trough
// nearest to there, with whole repeats out of either and the remainder shared,
// so that equal phases meet. The arcs that stay are equal, as they must be to
// close on one chord, and so are the kinks; the cuts need not be.
func (in *MouldIn) joints(e *PatternEdit, cut bool) []EditJoint {
	list := make([]EditJoint, 2)
	for i := range list {
		at := 90 + 180*float64(i)
		j := EditJoint{ArcMM: e.ArcMM / 2, On: "plain"}
		if in.Repeats > 0 {
			half := 180 / float64(in.Repeats) // crest to trough
			k := math.Round((90-in.CrestDeg)/half) + float64(i*in.Repeats)
			at = in.CrestDeg + k*half
			whole := (e.WholeRepeats + 1 - i) / 2 // the odd one goes out of the first
			j.ArcMM = float64(whole)*(e.ArcMM-e.RemainderMM)/float64(max(1, e.WholeRepeats)) + e.RemainderMM/2
			onCrest := math.Mod(math.Abs(k)+float64(whole), 2) == 0 // the ends lie whole/2 repeats to either side
			j.On = map[bool]string{true: "crest", false: "trough"}[onCrest]
		}
		j.AtDeg = math.Mod(math.Mod(at, 360)+360, 360)
		if cut {
			j.KinkDeg = e.ArcDeg / 2
		}
		list[i] = j
	}
	return list
}

// SectionGain is how to make the impression thicker or wider than the pattern.
type SectionGain struct {
	PushMM     float64         `json:"push_mm" doc:"How much deeper to push the pattern past the parting plane, in all"`
	UpperMM    float64         `json:"push_upper_mm" doc:"Of that, into the upper half"`
	LowerMM    float64         `json:"push_lower_mm" doc:"Of that, into the lower half"`
	ScrapeMM   float64         `json:"scrape_mm" doc:"Clay to scrape from the wall of the impression that stands across the parting plane: of a ring the outside wall, so that the size stays; of a strip, half from each edge"`
	GainedMM3  float64         `json:"gained_mm3" doc:"Metal gained, cold"`
	GainedG    float64         `json:"gained_g" doc:"Mass of that"`
	NewSection section.Section `json:"new_section" doc:"Section of the cavity; after a push that of equal area and thickness, as the collar is straight"`
}

// gains settles how much of the finished thickness and width the impression
// must gain: as given, or what the pattern at hand falls short by.
func (in *MouldIn) gains(out *MouldOut) (thickness, width float64, err error) {
	var c calc.Checks
	settle := func(field string, given, pattern *float64, finished, mould float64) float64 {
		name := "gain_" + field + "_mm"
		gain := 0.0
		if pattern != nil {
			short := (mould - *pattern*(1+in.SpringBackPct/100)) / (1 + out.SectionContraction/100)
			const hair = 0.02 // mm; less is not worth a push
			if short > hair {
				gain = short
			} else if short < -hair {
				out.Warn("pattern_"+field, calc.Note, "The pattern at hand leaves %.2f mm more %s than wanted, to be filed off the casting or the pattern.", -short, field)
			}
		}
		if given != nil {
			gain = *given
		}
		if most := finished - 0.3; gain > most {
			c.Refuse(name, gain, "give at most %.4g mm: the pattern must leave 0.3 mm of the %g mm of %s", most, finished, field)
		}
		return gain
	}
	thickness = settle("thickness", in.GainThicknessMM, in.PatternThicknessMM, out.Finished.Section.ThicknessMM, out.Mould.Section.ThicknessMM)
	width = settle("width", in.GainWidthMM, in.PatternWidthMM, out.Finished.Section.Width(), out.Mould.Section.Width())
	return thickness, width, c.Err()
}

// gain plans the gain and returns it with the section of the casting after it.
func (in *MouldIn) gain(out *MouldOut, thickness, width float64) (*SectionGain, section.Section) {
	grown := 1 + out.SectionContraction/100
	across, along := width, thickness // across the parting plane; in it
	if in.Lies == "strip" {
		across, along = along, across
	}
	g := &SectionGain{PushMM: across * grown / (1 + in.SpringBackPct/100), ScrapeMM: along * grown}
	switch in.Detail {
	case "upper":
		g.LowerMM = g.PushMM
	case "lower":
		g.UpperMM = g.PushMM
	default:
		g.UpperMM, g.LowerMM = g.PushMM/2, g.PushMM/2
	}
	before, after := grow(out.AsCast.Section, -thickness, -width), section.Section{}
	if in.Lies == "strip" {
		after = collar(grow(before, 0, along), across, 0)
	} else {
		after = collar(grow(before, along, 0), 0, across)
	}
	g.NewSection = Measures{Section: after}.scaled(1, grown).Section
	out.FillSection = g.NewSection
	if g.PushMM > 0 {
		out.Step("push deeper", g.PushMM, "mm", "%.3g mm × (1 + %.3g %%) / (1 + %.3g %%)", across, out.SectionContraction, in.SpringBackPct)
		out.Cite(srcPush)
		out.Warn("push_straight", calc.Note, "Push the pattern straight, with a stop or a gauge under a board, and trim the parting surface level again; the collar has no draft, so draw the pattern straight.")
	}
	if g.ScrapeMM > 0 {
		out.Warn("scrape_clay", calc.Note, "Scrape the clay in thin shavings, blow the impression clean and check the depth with a gauge: it is easily overdone.")
	}
	return g, after
}

// collar lets a straight piece into a section at its widest line: dt of
// thickness over the whole width, or dw of width over the whole thickness. The
// result has the true thickness and the true area.
func collar(s section.Section, dt, dw float64) section.Section {
	area := s.Area() + dt*s.Width() + dw*s.ThicknessMM
	shape := s.Shape
	if shape == section.Round && dt+dw > 0 {
		shape = section.Oval
	}
	out := section.Section{Shape: shape, ThicknessMM: s.ThicknessMM + dt, WidthMM: s.Width() + dw}
	if dt+dw > 0 {
		out.WidthMM *= area / out.Area()
	}
	return out
}

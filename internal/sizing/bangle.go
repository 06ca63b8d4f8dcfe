package sizing

import (
	"context"
	"fmt"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/safety"
	"pourwright/internal/section"
)

// Kinds of bangle.
const (
	RoundBangle  = "round"
	OvalBangle   = "oval"
	CuffBangle   = "cuff"
	HingedBangle = "hinged"
)

// BangleIn asks what bangle fits a hand, or what hand passes a bangle, or
// whether the one passes the other. It is flat.
type BangleIn struct {
	Kind string `json:"kind" enum:"round,oval,cuff,hinged" default:"round" doc:"Closed round, closed oval, cuff with an opening, or hinged"`

	HandCircumferenceMM *float64 `json:"hand_circumference_mm,omitempty" minimum:"80" maximum:"350" doc:"Tape around the knuckles with the thumb folded against the little finger: the best measure for a closed bangle" example:"205"`
	HandWidthMM         *float64 `json:"hand_width_mm,omitempty" minimum:"30" maximum:"150" doc:"Width of the hand at the knuckles with the thumb folded, with hand_thickness_mm; a poorer measure than a tape"`
	HandThicknessMM     *float64 `json:"hand_thickness_mm,omitempty" minimum:"15" maximum:"100" doc:"Thickness of the hand at the same place"`
	FistWidthMM         *float64 `json:"fist_width_mm,omitempty" minimum:"40" maximum:"130" doc:"Straight width across the four knuckles of the fist; less 3 mm it is the inside diameter, by one custom"`
	WristMM             *float64 `json:"wrist_circumference_mm,omitempty" minimum:"90" maximum:"300" doc:"Tape around the wrist: the measure for a cuff or a hinged bangle"`
	WristThicknessMM    *float64 `json:"wrist_thickness_mm,omitempty" minimum:"20" maximum:"100" doc:"Wrist from back to palm, to see how it gets in through an opening"`

	SizeName         string   `json:"size_name,omitempty" maxLength:"12" doc:"A named size of the bangle: 2-4 (which is 2 4/16 in, also printed 2.4), 3-0" example:"2-6"`
	InsideDiameterMM *float64 `json:"inside_diameter_mm,omitempty" minimum:"30" maximum:"110" doc:"Inside diameter of a round bangle at hand"`
	InsideWidthMM    *float64 `json:"inside_width_mm,omitempty" minimum:"30" maximum:"120" doc:"Inside width of an oval bangle: at hand with inside_height_mm, or as wanted with a hand measure"`
	InsideHeightMM   *float64 `json:"inside_height_mm,omitempty" minimum:"15" maximum:"120" doc:"Inside height of an oval bangle at hand"`

	BandWidthMM  float64  `json:"band_width_mm" minimum:"1" maximum:"80" default:"6" doc:"Width of the section along the arm"`
	ThicknessMM  float64  `json:"thickness_mm" minimum:"0.3" maximum:"15" default:"2" doc:"Thickness of the section, for blank lengths and the bending of a cuff"`
	OvalRatio    float64  `json:"oval_ratio" minimum:"0.4" maximum:"1" default:"0.83" doc:"Height over width of an oval, cuff or hinged bangle"`
	EaseMM       *float64 `json:"ease_mm,omitempty" minimum:"-15" maximum:"60" doc:"Your own ease in circumference over the hand or wrist, in place of the custom"`
	GapMM        float64  `json:"gap_mm" minimum:"5" maximum:"80" default:"28" doc:"Opening of a cuff, measured along the inside"`
	TapeIsTight  bool     `json:"tape_is_tight" default:"false" doc:"The tape was pulled tight: by one maker's custom the inside diameter gains a quarter of an inch"`
	ListAllNames bool     `json:"list_all_names" default:"false" doc:"List all named sizes instead of the nearest of each custom"`
}

// BangleOut is a bangle and the hand it fits.
type BangleOut struct {
	InsideCircumferenceMM float64 `json:"inside_circumference_mm" doc:"Inside circumference of the bangle; of a cuff, metal and opening together"`
	InsideDiameterMM      float64 `json:"inside_diameter_mm" doc:"Inside diameter of the round bangle, or of the circle of the same circumference"`
	InsideWidthMM         float64 `json:"inside_width_mm" doc:"Inside width; the diameter where round"`
	InsideHeightMM        float64 `json:"inside_height_mm" doc:"Inside height; the diameter where round"`
	EaseMM                float64 `json:"ease_mm" doc:"Circumference allowed over the hand or wrist"`
	HandCircumferenceMM   float64 `json:"hand_circumference_mm,omitempty" doc:"Hand (of a cuff or hinged bangle: wrist) measured or worked out; where only the bangle was given, the largest that passes it"`
	SpareMM               float64 `json:"spare_mm" doc:"Inside circumference less hand and ease; negative: it does not pass with comfort. 0 where only one of the two was given"`
	Verdict               string  `json:"verdict" enum:"passes,tight,does_not_pass,made_to_measure,for_hands_up_to" doc:"Whether the hand passes; made to measure where the bangle was worked out from it"`

	BlankLengthMM float64      `json:"blank_length_mm" doc:"Length of a strip of that thickness, at mid-thickness, that bends to it"`
	Cuff          *CuffFit     `json:"cuff,omitempty" doc:"The opening of a cuff"`
	Hinge         *HingeFit    `json:"hinge,omitempty" doc:"The opening of a hinged bangle"`
	Names         []NamedSize  `json:"named_sizes" doc:"Customary named sizes nearest to it; none is a standard"`
	Hand          *HandSection `json:"hand,omitempty" doc:"Present where the hand was given by width and thickness"`
	calc.Notes
}

// HandSection is a girth worked out from a width and a thickness.
type HandSection struct {
	LeastMM    float64 `json:"least_mm" doc:"Girth if the hand were an ellipse"`
	GreatestMM float64 `json:"greatest_mm" doc:"Girth if it were flat with round ends"`
}

var (
	srcFit     = calc.Source{For: "fit of a closed bangle", Text: "inside circumference at least the hand's, and the next size up; a published chart of an Indian jeweller says one step above", Status: calc.Practice}
	srcEase    = calc.Source{For: "ease of a closed bangle", Text: "4 mm for the tape and the contraction, ours; a wide bangle goes a size up, which is 1/8 in of diameter: the straight run from 6 mm (nothing) to 25 mm (a size) is ours too", Status: calc.Choice}
	srcEllipse = calc.Source{For: "perimeter of an oval", Text: "P = 4 a E(m), m = 1 - b²/a², complete elliptic integral of the second kind: exact", Status: calc.Computed}
	srcBlank   = calc.Source{For: "blank length", Text: "inside perimeter + π t: the parallel curve at half the thickness of any convex curve (Steiner); neutral line at mid-thickness after Untracht, Jewelry Concepts and Technology", Status: calc.FromMemory}
	srcTight   = calc.Source{For: "tight tape", Text: "a silversmith's published chart adds 1/4 in of diameter", Status: calc.Practice}
	srcFist    = calc.Source{For: "fist width less 3 mm", Text: "one dealer's custom", Status: calc.Practice}
	srcCuff    = calc.Source{For: "opening of a cuff", Text: "wrist = inside length + opening; 25 to 32 mm (1 to 1 1/4 in) at two makers who cannot be named here", Status: calc.Practice}
	srcHinge   = calc.Source{For: "ease of a hinged bangle", Text: "15 mm over the wrist", Status: calc.Practice}
)

// WidthEase returns the ease in circumference, mm, for a closed bangle whose
// section is widthMM wide along the arm.
func WidthEase(widthMM float64) float64 {
	const oneSize = math.Pi * inch / 8
	return closedEase + oneSize*min(max((widthMM-6)/(25-6), 0), 1)
}

// closedEase is the ease in circumference, mm, of every closed bangle: what a
// tape errs, 3 mm, and what the contraction may take beyond its middle, 1 mm.
const closedEase = 4.0

// BangleFits finds a bangle for a hand, the hand for a bangle, or whether one
// passes the other. The hand is soft, so its girth decides, not its width.
// Error: a tape reads to some 3 mm; customs differ by a size.
func BangleFits(ctx context.Context, in BangleIn) (BangleOut, error) {
	if err := in.check(); err != nil {
		return BangleOut{}, err
	}
	out := BangleOut{Notes: calc.Noting(ctx), Names: []NamedSize{}}
	hand, around := in.girth(&out)
	bangle, given, err := in.bangle(&out)
	if err != nil {
		return BangleOut{}, err
	}
	if hand == 0 && !given {
		if in.WristMM != nil {
			return BangleOut{}, calc.Refuse(in.wanted(), nil, "give the hand over the knuckles: a closed bangle goes over the hand, and the wrist (wrist_circumference_mm) is the measure for kind cuff or hinged")
		}
		return BangleOut{}, calc.Refuse(in.wanted(), nil, "give a measure of the hand or wrist, or the size of a bangle at hand")
	}
	out.EaseMM = in.ease(&out)
	switch {
	case !given:
		out.Verdict = "made_to_measure"
		if bangle, err = in.fit(&out, hand+out.EaseMM); err != nil {
			return BangleOut{}, err
		}
		out.Step("inside circumference", bangle.perimeter, "mm", "%s %.5g mm + ease %.4g mm", around, hand, out.EaseMM)
	case hand == 0:
		out.Verdict = "for_hands_up_to"
		hand = bangle.perimeter - out.EaseMM
		out.Step("largest "+around, hand, "mm", "inside circumference %.5g mm - ease %.4g mm", bangle.perimeter, out.EaseMM)
	default:
		out.SpareMM = bangle.perimeter - hand - out.EaseMM
		out.Verdict = verdict(bangle.perimeter-hand, out.SpareMM)
		out.Step("to spare", out.SpareMM, "mm", "inside circumference %.5g mm - %s %.5g mm - ease %.4g mm", bangle.perimeter, around, hand, out.EaseMM)
	}
	out.InsideCircumferenceMM, out.InsideDiameterMM = bangle.perimeter, bangle.perimeter/math.Pi
	out.InsideWidthMM, out.InsideHeightMM = bangle.width, bangle.height
	out.HandCircumferenceMM = hand
	in.finish(&out, bangle, hand)
	return out, nil
}

func verdict(over, spare float64) string {
	switch {
	case spare >= -1e-9:
		return "passes"
	case over >= 0:
		return "tight"
	}
	return "does_not_pass"
}

// oval is the inside of a bangle.
type oval struct{ width, height, perimeter float64 }

func ovalOf(width, height float64) oval {
	return oval{width, height, section.EllipsePerimeter(width/2, height/2)}
}

func (in *BangleIn) check() error {
	var c calc.Checks
	c.Bounds(*in)
	if (in.HandWidthMM == nil) != (in.HandThicknessMM == nil) {
		c.Refuse("hand_width_mm", nil, "give hand_width_mm and hand_thickness_mm together")
	}
	if in.HandWidthMM != nil && in.HandThicknessMM != nil && *in.HandThicknessMM > *in.HandWidthMM {
		c.Refuse("hand_thickness_mm", *in.HandThicknessMM, "give at most hand_width_mm (%g)", *in.HandWidthMM)
	}
	if in.InsideHeightMM != nil && in.InsideWidthMM == nil {
		c.Refuse("inside_width_mm", nil, "give inside_width_mm with inside_height_mm")
	}
	if in.Kind == RoundBangle && in.InsideWidthMM != nil {
		c.Refuse("inside_width_mm", *in.InsideWidthMM, "give inside_diameter_mm for a round bangle, or kind oval")
	}
	return c.Err()
}

// wanted is the field that is missing when there is nothing to go by.
func (in *BangleIn) wanted() string {
	if in.onWrist() {
		return "wrist_circumference_mm"
	}
	return "hand_circumference_mm"
}

// onWrist says whether the bangle is put on at the wrist, not over the hand.
func (in *BangleIn) onWrist() bool { return in.Kind == CuffBangle || in.Kind == HingedBangle }

// girth returns the circumference that the bangle must go around, 0 if none
// was given, and what it is of.
func (in *BangleIn) girth(out *BangleOut) (mm float64, around string) {
	if in.onWrist() {
		if in.WristMM != nil {
			return *in.WristMM, "wrist"
		}
		return 0, "wrist"
	}
	switch {
	case in.HandCircumferenceMM != nil:
		hand := *in.HandCircumferenceMM
		if in.TapeIsTight {
			out.Step("hand by a tight tape", hand+math.Pi*inch/4, "mm", "%.5g mm + π × 1/4 in", hand)
			out.Cite(srcTight)
			out.Warn("tight_tape", calc.Care, "The tape was pulled tight, so %.1f mm were added to the %.4g mm that it read, by one maker's chart. That is more than a size: measure again with a tape that lies loose, or try on a hoop, before you cast.", math.Pi*inch/4, hand)
			hand += math.Pi * inch / 4
		}
		return hand, "hand"
	case in.HandWidthMM != nil:
		w, t := *in.HandWidthMM, *in.HandThicknessMM
		h := HandSection{section.EllipsePerimeter(w/2, t/2), 2*(w-t) + math.Pi*t}
		out.Hand = &h
		hand := (h.LeastMM + h.GreatestMM) / 2
		out.Step("hand by width and thickness", hand, "mm", "mean of an ellipse, %.5g mm, and of a flat form with round ends, %.5g mm", h.LeastMM, h.GreatestMM)
		out.Warn("hand_by_two_widths", calc.Care, "A girth from two widths is good to ±%.1f mm at best. Take a tape, or try on a hoop, before you cast.", (h.GreatestMM-h.LeastMM)/2)
		return hand, "hand"
	case in.FistWidthMM != nil:
		d := *in.FistWidthMM - 3
		out.Step("hand by the fist", math.Pi*d, "mm", "π × (%.4g mm - 3 mm)", *in.FistWidthMM)
		out.Cite(srcFist)
		out.Warn("hand_by_fist", calc.Care, "The width of the fist is one dealer's custom, not a standard. Check it with a tape around the folded hand.")
		return math.Pi * d, "hand"
	}
	return 0, "hand"
}

// bangle returns the bangle at hand, if one was given.
func (in *BangleIn) bangle(out *BangleOut) (oval, bool, error) {
	switch {
	case in.InsideDiameterMM != nil:
		return ovalOf(*in.InsideDiameterMM, *in.InsideDiameterMM), true, nil
	case in.InsideHeightMM != nil:
		out.Cite(srcEllipse)
		return ovalOf(*in.InsideWidthMM, *in.InsideHeightMM), true, nil
	case in.SizeName != "":
		d, decimal, err := IndianSize(in.SizeName)
		if err != nil {
			return oval{}, false, err
		}
		out.Step("inside diameter of "+in.SizeName, d, "mm", "%s in", sixteenths(d))
		out.Cite(srcIndian)
		if decimal {
			out.Warn("sixteenths", calc.Care, "%s is read as %s in (%.2f mm), as the custom means it, not as a decimal number of inches.", in.SizeName, sixteenths(d), d)
		}
		return ovalOf(d, d), true, nil
	}
	return oval{}, false, nil
}

// ease is the circumference allowed over the hand or wrist.
func (in *BangleIn) ease(out *BangleOut) float64 {
	switch {
	case in.EaseMM != nil:
		return *in.EaseMM
	case in.Kind == HingedBangle:
		out.Cite(srcHinge)
		return 15
	case in.Kind == CuffBangle:
		return 0
	}
	ease := WidthEase(in.BandWidthMM)
	out.Step("ease", ease, "mm", "%g mm + π/8 in × (%.4g - 6)/(25 - 6), that between 0 and π/8 in", closedEase, in.BandWidthMM)
	out.Cite(srcFit, srcEase)
	return ease
}

// fit shapes a bangle of the given inside circumference.
func (in *BangleIn) fit(out *BangleOut, perimeter float64) (oval, error) {
	if in.Kind == RoundBangle {
		return oval{perimeter / math.Pi, perimeter / math.Pi, perimeter}, nil
	}
	out.Cite(srcEllipse)
	if in.InsideWidthMM != nil {
		w := *in.InsideWidthMM
		h, ok := EllipseAxis(perimeter, w)
		if !ok || h > 2.5*w || h < 0.4*w {
			return oval{}, calc.Refuse("inside_width_mm", w, "give %.4g to %.4g mm for an inside circumference of %.4g mm",
				perimeter/section.EllipsePerimeter(0.5, 1.25), perimeter/section.EllipsePerimeter(0.5, 0.2), perimeter)
		}
		out.Step("inside height", h, "mm", "P(%.5g mm, height) = %.5g mm solved for the height", w, perimeter)
		return oval{w, h, perimeter}, nil
	}
	w, h := EllipseOf(perimeter, in.OvalRatio)
	out.Step("inside width", w, "mm", "%.5g mm / (2 E(1 - %.4g²))", perimeter, in.OvalRatio)
	return oval{w, h, perimeter}, nil
}

// finish adds what follows from the bangle: blank, opening, names, cautions.
func (in *BangleIn) finish(out *BangleOut, b oval, girth float64) {
	out.BlankLengthMM = b.perimeter + math.Pi*in.ThicknessMM
	out.Cite(srcBlank)
	switch in.Kind {
	case CuffBangle:
		in.cuff(out, b, girth)
	case HingedBangle:
		in.hinge(out, b)
	default:
		if in.WristMM != nil {
			out.Step("slack on the wrist", b.perimeter-*in.WristMM, "mm", "%.5g mm - wrist %.5g mm", b.perimeter, *in.WristMM)
		}
		if in.Kind == OvalBangle {
			out.Warn("oval_passes_more", calc.Note, "A hand is flat itself: an oval passes a slightly larger hand than a circle of the same circumference. The figure is on the safe side.")
		}
		out.Warn("hand_not_bangle", calc.Note, "Hand circumference and inside circumference of a bangle are two numbers; say which one you order by. Hands swell by day and in heat.")
	}
	out.Step("blank length", out.BlankLengthMM, "mm", "mid-thickness, %.4g mm thick", in.ThicknessMM)
	if out.Verdict != "made_to_measure" && out.Verdict != "passes" && out.Verdict != "for_hands_up_to" {
		out.Warn("does_not_pass", calc.Care, "The bangle %s: %.1f mm of circumference are wanting.", map[bool]string{true: "is tight", false: "does not pass"}[out.Verdict == "tight"], -out.SpareMM)
	}
	if childs(b.width, b.height, b.perimeter/math.Pi) {
		out.Caution(safety.SmallChildren)
	}
	out.Names = named(in.Kind, b.perimeter/math.Pi, girth, in.ListAllNames)
	if in.Kind != CuffBangle {
		out.Cite(srcIndian, srcWestern)
	}
}

func sixteenths(dMM float64) string {
	n := int(math.Round(16 * dMM / inch))
	if n%16 == 0 {
		return fmt.Sprintf("%d", n/16)
	}
	return fmt.Sprintf("%d %d/16", n/16, n%16)
}

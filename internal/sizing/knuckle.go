package sizing

import (
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/section"
)

// Knuckle is the ring for a finger that is thicker at the knuckle than at its base.
type Knuckle struct {
	DifferenceMM    float64 `json:"difference_mm" doc:"Circumference at the knuckle less that at the base"`
	DifferenceUS    float64 `json:"difference_us_sizes" doc:"The same in US sizes"`
	CircumferenceMM float64 `json:"circumference_mm" doc:"Inside circumference to make"`
	DiameterMM      float64 `json:"diameter_mm" doc:"Inside diameter to make"`
	LooseMM         float64 `json:"loose_at_base_mm" doc:"Slack at the base of the finger, in circumference"`
	ISO             string  `json:"iso" doc:"Nearest ISO size of the ring to make"`
	US              string  `json:"us" doc:"Nearest US size of the ring to make"`
	UK              string  `json:"uk" doc:"Nearest UK size of the ring to make"`
	Advice          string  `json:"advice" enum:"base_size,between,beads_or_spring,hinged_shank" doc:"base_size: the knuckle does not matter; between: pass the knuckle snugly; beads_or_spring: and hold it at the base with two beads or a sprung piece inside; hinged_shank: it opens"`
}

// childRing is the inside circumference in mm below which a ring is a child's,
// US size 3, bangle sizes below childBangle of inside diameter likewise. An oval
// passes a larger hand than a circle of its circumference, a hand being flat: 58 ×
// 48 mm, 53.1 mm by its circumference, is a slim adult's, so that ovals are a
// child's below childOval. Common practice, no source.
const (
	childRing   = 44.2
	childBangle = 54.0
	childOval   = 52.0
)

var srcKnuckle = calc.Source{For: "ring over a knuckle", Text: "published guides take a size between base and knuckle, snug over the knuckle; that the knuckle gives way by half a US size, and that beads help to two sizes of slack and a shank that opens beyond, is ours", Status: calc.Choice}

// knuckle fits the ring over the knuckle: half a US size less than passes it
// freely, as skin gives way, but never less than the base.
func (out *RingSizeOut) knuckle(base, over float64) {
	us, _ := scaleOf(US)
	c := max(base, over-us.step/2)
	k := &Knuckle{DifferenceMM: over - base, DifferenceUS: (over - base) / us.step, CircumferenceMM: c, DiameterMM: c / math.Pi, LooseMM: c - base}
	switch slack := k.LooseMM / us.step; {
	case slack < 1e-9:
		k.Advice = "base_size"
	case slack <= 0.75:
		k.Advice = "between"
	case slack <= 2:
		k.Advice = "beads_or_spring"
	default:
		k.Advice = "hinged_shank"
	}
	k.ISO, _ = Label(Circumference, c)
	k.US, _ = Label(US, c)
	k.UK, _ = Label(UK, c)
	out.Knuckle = k
	out.Step("circumference over the knuckle", c, "mm", "knuckle %.5g mm - half a US size, %.4g mm, and at least the base, %.5g mm", over, us.step/2, base)
	out.Cite(srcKnuckle)
	if over < base {
		out.Warn("knuckle_smaller", calc.Care, "The knuckle is thinner than the base: nothing holds the ring on but its fit. Make it snug, or it is lost.")
	}
	out.Warn("try_on", calc.Note, "Try a gauge of that size over the knuckle, on and off, in the evening, before you cast.")
}

// childs says whether a closed bangle of that inside width and height and mean
// diameter is of a child's size.
func childs(widthMM, heightMM, meanMM float64) bool {
	if !section.Circular(widthMM, heightMM) {
		return meanMM < childOval
	}
	return meanMM < childBangle
}

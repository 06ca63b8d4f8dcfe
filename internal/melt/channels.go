package melt

import (
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
)

// Channels are the sprue and the funnel that bring the metal to a casting.
// The metal that freezes in the funnel is the button: it feeds the casting as
// it shrinks, and it is the reserve.
type Channels struct {
	Sprues          int     `json:"sprue_count" doc:"How many sprues"`
	SprueDiameterMM float64 `json:"sprue_diameter_mm" doc:"Diameter of a sprue"`
	SprueLengthMM   float64 `json:"sprue_length_mm" doc:"Length of a sprue from funnel to piece"`
	FunnelMouthMM   float64 `json:"funnel_mouth_mm" doc:"Diameter of the funnel where the metal stands, a cone down to the sprue"`
	FunnelMeanMM    float64 `json:"funnel_diameter_mm" doc:"Diameter of the cylinder that holds as much"`
	FunnelHeadMM    float64 `json:"funnel_head_mm" doc:"Depth of metal in the funnel"`
	Vents           int     `json:"vent_count" doc:"How many vents"`
	VentDiameterMM  float64 `json:"vent_diameter_mm" doc:"Diameter of a vent"`
	VentLengthMM    float64 `json:"vent_length_mm" doc:"Length of a vent, through the clay"`
}

// SprueMM3 is the metal in the sprues.
func (c Channels) SprueMM3() float64 {
	return float64(c.Sprues) * rod(c.SprueDiameterMM, c.SprueLengthMM)
}

// ButtonMM3 is the metal in the funnel.
func (c Channels) ButtonMM3() float64 { return rod(c.FunnelMeanMM, c.FunnelHeadMM) }

// VentsMM3 is the metal in the vents if they fill.
func (c Channels) VentsMM3() float64 { return float64(c.Vents) * rod(c.VentDiameterMM, c.VentLengthMM) }

// MM3 is the metal in all of them.
func (c Channels) MM3() float64 { return c.SprueMM3() + c.ButtonMM3() + c.VentsMM3() }

var (
	srcButton = calc.Source{For: "button", Text: "about 10 g of silver, that is 1 cm³; with gold 0.6 to 1 cm³ is reckoned, and never less than 5 g. The button is the reserve", Status: calc.Practice}
	srcShrink = calc.Source{For: "button of a heavy casting", Text: "a quarter of the casting's volume: silver and gold shrink about 5 % as they freeze, and a button gives up about a fifth of itself", Status: calc.Choice}
	srcSprue  = calc.Source{For: "sprue", Text: "4 to 6 mm, at least as thick as the thickest place and entering there; two for heavy bangles; needle-fine vents", Status: calc.Practice}
)

const (
	cm3         = 1000.0 // mm³
	leastButton = 5.0    // g
	runnerMM    = 7.5    // from the stem to each of several castings: half the clay between two
)

// Usual returns the channels that a casting of that volume needs in that
// metal, mm³; thickestMM is its thickest place, 0 if not known. castings of
// that volume hang on one sprue, each on a feeder of its own.
func Usual(m metal.Metal, castingMM3, thickestMM float64, castings int) Channels {
	c := Channels{SprueLengthMM: 20, FunnelHeadMM: 12, Vents: 2, VentDiameterMM: 1, VentLengthMM: 15}
	all := castingMM3 * float64(castings)
	c.sprue(castingMM3, thickestMM, castings)
	button := 1 * cm3
	if noble(m) {
		button = min(max(all/2, 0.6*cm3), 1*cm3)
	}
	c.funnel(max(button, all/4))
	return c
}

// Least returns the smallest channels that a careful hand may dare: a shorter
// sprue, and a button no larger than the casting's shrinkage and 5 g ask for.
func Least(m metal.Metal, castingMM3, thickestMM float64, castings int) Channels {
	c := Channels{SprueLengthMM: 12, FunnelHeadMM: 10, Vents: 2, VentDiameterMM: 0.8, VentLengthMM: 15}
	all := castingMM3 * float64(castings)
	c.sprue(castingMM3, thickestMM, castings)
	c.funnel(max(leastButton/m.DensityGCm3()*cm3, all/8))
	return c
}

// noble says whether the metal is so dear and dense that its button is
// reckoned by volume from the casting.
func noble(m metal.Metal) bool {
	return m.Composition["Au"]+m.Composition["Pt"]+m.Composition["Pd"] >= 0.3
}

// sprue sizes the sprue by the casting, no thinner than its thickest place, in
// half millimetres. Castings that share one hang on runners, which with the stem
// come to the sprue's length for each of them.
func (c *Channels) sprue(castingMM3, thickestMM float64, castings int) {
	c.Sprues, c.SprueDiameterMM = 1, 6
	switch {
	case castingMM3 > 6*cm3:
		c.Sprues = 2
	case castingMM3 < 1.5*cm3:
		c.SprueDiameterMM = 4
	case castingMM3 < 2.5*cm3:
		c.SprueDiameterMM = 5
	}
	c.SprueDiameterMM = max(c.SprueDiameterMM, min(math.Ceil(2*thickestMM)/2, 8))
	if castings > 1 {
		c.SprueLengthMM += float64(castings-1) * runnerMM
		c.Sprues = 1
	}
}

// funnel sizes the cone of the funnel to hold mm3 from its mouth D down to the
// sprue d: V = π h (D² + D d + d²)/12.
func (c *Channels) funnel(mm3 float64) {
	h, d := c.FunnelHeadMM, c.SprueDiameterMM
	c.FunnelMouthMM = max(d, (math.Sqrt(d*d-4*(d*d-12*mm3/(math.Pi*h)))-d)/2)
	c.FunnelMeanMM = math.Sqrt((c.FunnelMouthMM*c.FunnelMouthMM + c.FunnelMouthMM*d + d*d) / 3)
}

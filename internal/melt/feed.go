package melt

import (
	"math"

	"pourwright/internal/calc"
)

// part is metal beside the casting: its volume in mm³, or its mass in g.
type part struct{ mm3, g float64 }

func (p part) grams(rho float64) float64 { return p.g + p.mm3*rho }

// feed is what brings the metal to the casting.
type feed struct {
	sprue, button, vents part
	ofCasting            float64 // percent of the casting's mass in place of the parts; 0: the parts
	assumed              bool    // nothing was said
}

const usualFeedPct = 60

// feed reads sprue, funnel and vents, each by measures or by mass, or all of
// them as a percentage.
func (in In) feed() (feed, error) {
	var c calc.Checks
	var f feed
	if in.SprueDiameterMM != 0 {
		c.Within("sprue_count", float64(in.Sprues), 1, 1000, "sprues")
	}
	c.Within("vent_count", float64(in.Vents), 0, 1000, "vents")
	f.sprue = portion(&c, "sprue", in.SprueG, []measure{
		{"sprue_diameter_mm", in.SprueDiameterMM}, {"sprue_length_mm", in.SprueLengthMM}},
		func() float64 { return float64(in.Sprues) * rod(in.SprueDiameterMM, in.SprueLengthMM) })
	f.button = portion(&c, "button", in.ButtonG, []measure{
		{"funnel_diameter_mm", in.FunnelDiameterMM}, {"funnel_head_mm", in.FunnelHeadMM}},
		func() float64 { return rod(in.FunnelDiameterMM, in.FunnelHeadMM) })
	f.vents = portion(&c, "vents", in.VentsG, []measure{
		{"vent_diameter_mm", in.VentDiameterMM}, {"vent_length_mm", in.VentLengthMM}},
		func() float64 { return float64(in.Vents) * rod(in.VentDiameterMM, in.VentLengthMM) })
	if in.Vents > 0 && in.VentDiameterMM == 0 && in.VentsG == nil {
		c.Refuse("vent_diameter_mm", nil, "give diameter and length of the %d vents, or vents_g", in.Vents)
	}
	if in.Vents == 0 && in.VentDiameterMM != 0 {
		c.Refuse("vent_count", 0, "give how many vents of that diameter there are")
	}
	said := in.SprueG != nil || in.ButtonG != nil || in.VentsG != nil || in.SprueDiameterMM != 0 || in.FunnelDiameterMM != 0 || in.VentDiameterMM != 0
	switch {
	case in.FeedPct != nil && said:
		c.Refuse("feed_pct", *in.FeedPct, "give feed_pct for all of sprue, funnel and vents, or their own measures or masses, not both")
	case in.FeedPct != nil:
		c.Within("feed_pct", *in.FeedPct, 0, 1000, "percent of the casting")
		f.ofCasting = *in.FeedPct
	case !said:
		f.ofCasting, f.assumed = usualFeedPct, true
	}
	return f, c.Err()
}

// measure is a field of the input; 0 if it was not given.
type measure struct {
	field string
	mm    float64
}

// portion reads one part: by mass, or by its measures, all or none of them.
func portion(c *calc.Checks, name string, mass *float64, measures []measure, mm3 func() float64) part {
	given := 0
	for _, m := range measures {
		if m.mm != 0 {
			given++
			c.Within(m.field, m.mm, 0.01, 1000, "mm")
		}
	}
	switch {
	case mass != nil && given > 0:
		c.Refuse(name+"_g", *mass, "give the mass or the measures, not both")
	case mass != nil:
		c.Within(name+"_g", *mass, 0, 1e6, "g")
		return part{g: *mass}
	case given == len(measures):
		return part{mm3: mm3()}
	case given > 0:
		for _, m := range measures {
			if m.mm == 0 {
				c.Refuse(m.field, nil, "give it too: the measures go together")
			}
		}
	}
	return part{}
}

// rod is the volume in mm³ of a cylinder.
func rod(d, l float64) float64 { return math.Pi / 4 * d * d * l }

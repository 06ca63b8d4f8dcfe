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
	ofCasting            float64   // percent of the casting's mass in place of the parts; 0: the parts
	usual                *Channels // what stands for the parts that were not given, if any
}

// feed reads sprue, funnel and vents, each by measures or by mass, or all of
// them as a percentage. What is not said is as the feeding needs it.
func (in In) feed(usual Channels) (feed, error) {
	var c calc.Checks
	var f feed
	sprueSaid, buttonSaid := in.SprueG != nil || in.SprueDiameterMM != 0 || in.SprueLengthMM != 0, in.ButtonG != nil || in.FunnelDiameterMM != 0 || in.FunnelHeadMM != 0
	ventsSaid := in.VentsG != nil || in.Vents != nil || in.VentDiameterMM != 0 || in.VentLengthMM != 0
	f.sprue = portion(&c, "sprue", in.SprueG, []measure{
		{"sprue_diameter_mm", in.SprueDiameterMM}, {"sprue_length_mm", in.SprueLengthMM}},
		func() float64 { return float64(in.Sprues) * rod(in.SprueDiameterMM, in.SprueLengthMM) })
	f.button = portion(&c, "button", in.ButtonG, []measure{
		{"funnel_diameter_mm", in.FunnelDiameterMM}, {"funnel_head_mm", in.FunnelHeadMM}},
		func() float64 { return rod(in.FunnelDiameterMM, in.FunnelHeadMM) })
	f.vents = in.ventPart(&c)
	if in.FeedPct != nil {
		if sprueSaid || buttonSaid || ventsSaid {
			c.Refuse("feed_pct", *in.FeedPct, "give feed_pct for all of sprue, funnel and vents, or their own measures or masses, not both")
		}
		f.ofCasting = *in.FeedPct
		return f, c.Err()
	}
	if !sprueSaid {
		f.sprue.mm3 = usual.SprueMM3()
	}
	if !buttonSaid {
		f.button.mm3 = usual.ButtonMM3()
	}
	if !ventsSaid {
		f.vents.mm3 = usual.VentsMM3()
	}
	if !sprueSaid || !buttonSaid || !ventsSaid {
		f.usual = &usual
	}
	return f, c.Err()
}

// ventPart reads the vents.
func (in In) ventPart(c *calc.Checks) part {
	count := 0
	if in.Vents != nil {
		count = *in.Vents
	}
	switch {
	case count > 0 && in.VentDiameterMM == 0 && in.VentsG == nil:
		c.Refuse("vent_diameter_mm", nil, "give diameter and length of the %d vents, or vents_g", count)
	case count == 0 && in.VentDiameterMM != 0:
		c.Refuse("vent_count", 0, "give how many vents of that diameter there are")
	}
	return portion(c, "vents", in.VentsG, []measure{
		{"vent_diameter_mm", in.VentDiameterMM}, {"vent_length_mm", in.VentLengthMM}},
		func() float64 { return float64(count) * rod(in.VentDiameterMM, in.VentLengthMM) })
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
		}
	}
	switch {
	case mass != nil && given > 0:
		c.Refuse(name+"_g", *mass, "give the mass or the measures, not both")
	case mass != nil:
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

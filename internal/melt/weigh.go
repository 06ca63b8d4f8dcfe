package melt

import (
	"pourwright/internal/calc"
	"pourwright/internal/metal"
)

// weigh adds up the masses.
func (out *Out) weigh(in In, v volume, f feed) {
	rho, n := out.DensityGCm3/1000, float64(in.Castings) // g/mm³
	one := v.likely - in.StonesVolumeMM3
	out.CastingVolumeMM3 = n * one
	out.CastingMassG = out.CastingVolumeMM3 * rho
	out.CastingMassLowG = n * max(0, v.low-in.StonesVolumeMM3) * rho
	out.CastingMassHighG = n * max(0, v.high-in.StonesVolumeMM3) * rho
	if in.StonesVolumeMM3 > 0 {
		out.Step("volume without stones", one, "mm³", "%.6g mm³ − %.6g mm³", v.likely, in.StonesVolumeMM3)
	}
	out.Step("casting mass", out.CastingMassG, "g", "n × V × ρ = %d × %.5g cm³ × %.4g g/cm³", in.Castings, one/1000, out.DensityGCm3)

	out.SprueMassG, out.ButtonMassG, out.VentsMassG = f.sprue.grams(rho), f.button.grams(rho), f.vents.grams(rho)
	out.FeedMassG = out.SprueMassG + out.ButtonMassG + out.VentsMassG
	if f.ofCasting > 0 {
		out.FeedMassG = out.CastingMassG * f.ofCasting / 100
		out.Step("sprue, funnel and vents", out.FeedMassG, "g", "%g %% of the casting", f.ofCasting)
	} else {
		out.Step("sprue, funnel and vents", out.FeedMassG, "g", "sprue %.4g g + button %.4g g + vents %.4g g", out.SprueMassG, out.ButtonMassG, out.VentsMassG)
	}
	if out.Channels = f.usual; f.usual != nil {
		out.Cite(srcButton, srcSprue)
		if one*n/4 > cm3 {
			out.Cite(srcShrink)
		}
	}
	sound := out.CastingMassG + out.FeedMassG + in.ReserveG
	out.MeltMassG = sound / (1 - in.MeltLossPct/100)
	out.LossG = out.MeltMassG - sound
	out.YieldPct = 100 * out.CastingMassG / out.MeltMassG
	out.Step("melt", out.MeltMassG, "g", "(casting %.5g g + feed %.5g g + reserve %g g) / (1 − %g %%)", out.CastingMassG, out.FeedMassG, in.ReserveG, in.MeltLossPct)
	out.Step("yield", out.YieldPct, "%", "casting / melt")
	if in.MeltLossPct == 1 {
		out.Cite(srcLoss)
	}
	// Half of the button may go into a heavier casting; the rest must stay to feed it.
	spare := out.FeedMassG/2 + in.ReserveG
	if f.ofCasting == 0 {
		spare = out.ButtonMassG/2 + in.ReserveG
	}
	if doubt := out.CastingMassHighG - out.CastingMassG; doubt > spare {
		out.Warn("pattern_density_uncertain", calc.Care, "The pattern's density is known only so well that the casting may take %.3g g more, and half of the button is %.3g g. Weigh the pattern in water, or melt that much more.", doubt, spare)
	}
}

// LeastMetal is a plan with less metal, and what it risks.
type LeastMetal struct {
	MeltMassG   float64  `json:"melt_mass_g" doc:"Metal to weigh out and melt"`
	SavesG      float64  `json:"saves_g" doc:"How much less that is"`
	SprueMassG  float64  `json:"sprue_mass_g" doc:"Of it, the sprue"`
	ButtonMassG float64  `json:"button_mass_g" doc:"Of it, the button"`
	Channels    Channels `json:"channels" doc:"Sprue, funnel and vents to cut"`
	Enough      *bool    `json:"enough,omitempty" doc:"Whether metal_at_hand_g is enough for it"`
	Risk        string   `json:"risk" doc:"What it costs"`
}

const leastRisk = "There is less metal over the casting to press it full, and a small button stays liquid for less time: thin places and the end far from the sprue are the first to fail, and hollows at the sprue are likelier. There is no reserve for a drop spilt. Have the same metal at hand to pour again. Several small pieces on one sprue share one button."

// least plans the same casting with the least metal, and sets both against
// what is at hand.
func (out *Out) least(in In, v volume, m metal.Metal) {
	rho, keep, one := out.DensityGCm3/1000, 1-in.MeltLossPct/100, v.likely-in.StonesVolumeMM3
	c := Least(m, one, in.thickest(), in.Castings)
	l := LeastMetal{MeltMassG: (out.CastingMassG + c.MM3()*rho) / keep, SprueMassG: c.SprueMM3() * rho, ButtonMassG: c.ButtonMM3() * rho, Channels: c, Risk: leastRisk}
	l.SavesG = out.MeltMassG - l.MeltMassG
	if l.SavesG > 0 {
		out.LeastMetal = &l
	}
	if in.MetalAtHandG == nil {
		return
	}
	have := *in.MetalAtHandG
	enough := have >= l.MeltMassG
	l.Enough = &enough
	out.ShortG = max(0, out.MeltMassG-have)
	possible := largest(m, have*keep, in) * rho
	out.CastingPossibleG = &possible
	out.Step("largest casting of the metal at hand", possible, "g", "%.5g g × (1 − %g %%), less sprue, button of at least %g g and vents", have, in.MeltLossPct, leastButton)
	switch {
	case out.ShortG == 0:
	case out.LeastMetal != nil && enough:
		out.Warn("metal_short", calc.Care, "%.4g g are missing for the usual button and sprue. The plan of the least metal, %.4g g, needs none bought; %s", out.ShortG, l.MeltMassG, "read its risk.")
	default:
		out.Warn("metal_short", calc.Care, "%.4g g are missing; with the least metal still %.4g g. What there is makes a casting of %.3g g at most.", out.ShortG, max(0, min(l.MeltMassG, out.MeltMassG)-have), possible)
	}
}

// largest returns the volume in mm³ of the largest castings, in all, that
// grams of sound metal make with the least channels, by bisection: the channels
// grow with the casting.
func largest(m metal.Metal, grams float64, in In) float64 {
	rho, n := m.DensityGCm3()/1000, float64(in.Castings)
	low, high := 0.0, grams/rho/n
	for range 50 {
		one := (low + high) / 2
		if n*one+Least(m, one, in.thickest(), in.Castings).MM3() > grams/rho {
			high = one
		} else {
			low = one
		}
	}
	return n * low
}

package stone

import (
	"context"
	"math"

	"pourwright/internal/calc"
)

// SizeIn asks for the mass of a stone of known size, or the size of a
// stone of known mass.
type SizeIn struct {
	Gem      string   `json:"gem" doc:"Material, an id of /v1/stones" example:"diamond"`
	Cut      Cut      `json:"cut" default:"round_brilliant" enum:"round_brilliant,oval,square_cushion,cushion,pear,marquise,emerald_cut,rectangle,square,heart,triangle,cabochon,bead" doc:"Form of the stone"`
	LengthMM *float64 `json:"length_mm,omitempty" minimum:"0.3" maximum:"100" doc:"Length or diameter; give it or mass_ct" example:"1.3"`
	WidthMM  *float64 `json:"width_mm,omitempty" minimum:"0.3" maximum:"100" doc:"Width; absent: from length over ratio"`
	DepthMM  *float64 `json:"depth_mm,omitempty" minimum:"0.1" maximum:"100" doc:"Total depth; absent: the cut's usual share of the width"`
	MassCt   *float64 `json:"mass_ct,omitempty" minimum:"0.001" maximum:"10000" doc:"Mass; give it or length_mm"`
	Ratio    *float64 `json:"ratio,omitempty" minimum:"1" maximum:"5" doc:"Length over width; absent: the cut's usual one"`
	DepthPct *float64 `json:"depth_pct,omitempty" minimum:"15" maximum:"120" doc:"Total depth as a percentage of the width; absent: the cut's usual one"`
	CrownMM  *float64 `json:"crown_height_mm,omitempty" minimum:"0.02" maximum:"50" doc:"Measured crown height; absent: the cut's usual share"`
	GirdleMM *float64 `json:"girdle_mm,omitempty" minimum:"0.005" maximum:"10" doc:"Measured girdle thickness; absent: the cut's usual share"`
	BulgePct float64  `json:"bulge_pct" default:"0" minimum:"0" maximum:"20" doc:"Allowance for a bulging pavilion: 2 to 6 where you see one"`
	ThickPct float64  `json:"girdle_pct" default:"0" minimum:"0" maximum:"20" doc:"Allowance for a thick girdle: 3 to 8 where you see one, to 10 with a lumpy crown or wings"`
	SG       *float64 `json:"specific_gravity,omitempty" minimum:"0.8" maximum:"8" doc:"Your own figure, g/cm³; needed where the catalogue has none"`
	Quantity int      `json:"quantity" default:"1" minimum:"1" maximum:"100000" doc:"Number of like stones"`
}

// SizeOut is a stone's size and mass.
type SizeOut struct {
	MassCt      float64  `json:"mass_ct" doc:"Estimated mass of one stone" example:"0.0082"`
	MassLowCt   float64  `json:"mass_low_ct" doc:"Low end of the estimate"`
	MassHighCt  float64  `json:"mass_high_ct" doc:"High end of the estimate"`
	MassG       float64  `json:"mass_g" doc:"Estimated mass of one stone, 1 ct = 0.2 g"`
	VolumeMM3   float64  `json:"volume_mm3" doc:"Volume of one stone, which is the metal it displaces when wholly inside"`
	TotalCt     float64  `json:"total_ct" doc:"Estimated mass of all"`
	ChartCt     *float64 `json:"chart_ct" doc:"What dealers' charts call a round brilliant diamond of this diameter; null outside 1-8 mm and for others"`
	ChartMM     *float64 `json:"chart_mm" doc:"Diameter of a round brilliant diamond that dealers' charts call by this mass; null outside 0.005-2 ct, for others and where a length was given"`
	LengthMM    float64  `json:"length_mm" doc:"Length or diameter"`
	LengthLowMM float64  `json:"length_low_mm" doc:"Low end, when found from the mass; else as measured"`
	LengthTopMM float64  `json:"length_high_mm" doc:"High end, when found from the mass; else as measured"`
	Measures    Measures `json:"measures" doc:"All measures of the stone"`
	calc.Notes
}

// Size estimates the mass of a stone from its measures, or its measures from
// its mass, by the published constants of each cut, ±5 % (round) to ±15 %.
// Never price or refund from an estimate: weigh.
func Size(ctx context.Context, in SizeIn) (SizeOut, error) {
	out := SizeOut{Notes: calc.Noting(ctx)}
	gem, err := Find(in.Gem)
	if err != nil {
		return out, err
	}
	rule, ok := ruleOf(in.Cut)
	if !ok {
		return out, calc.Refuse("cut", in.Cut, "give one of %v", cutNames())
	}
	sg, low, high, known := gem.density()
	if in.SG != nil {
		sg, low, high, known = *in.SG, *in.SG, *in.SG, true
	}
	if !known {
		return out, calc.Refuse("specific_gravity", nil, "give it: the density of %s is unknown (%s)", gem.Name, gem.SpecificGravity.Source)
	}
	allowance := in.BulgePct + in.ThickPct
	l, w, d, err := in.measures(rule, gem.ID, sg, allowance)
	if err != nil {
		return out, err
	}
	if out.Measures, err = Proportions(in.Cut, l, w, d, or(in.CrownMM, 0), or(in.GirdleMM, 0)); err != nil {
		return out, err
	}
	e, how := weigh(rule, gem.ID, out.Measures, sg, low, high, allowance)
	out.MassCt, out.MassLowCt, out.MassHighCt, out.VolumeMM3 = e.ct, e.low, e.high, e.volumeMM3
	out.MassG, out.TotalCt = e.ct/5, e.ct*float64(in.Quantity)
	out.LengthMM, out.LengthLowMM, out.LengthTopMM = l, l, l
	if in.MassCt != nil {
		// size goes with the cube root of mass
		out.LengthLowMM, out.LengthTopMM = l*math.Cbrt(e.ct/e.high), l*math.Cbrt(e.ct/e.low)
		out.Step("length", l, "mm", "cube root of %.4g ct ÷ constant, at %.4g long to wide and depth %.3g %% of the width", *in.MassCt, l/w, 100*d/w)
	}
	out.Step("mass", e.ct, "ct", "%s", how)
	out.Step("volume", e.volumeMM3, "mm³", "%.4g ct × 200 mg ÷ %.4g g/cm³", e.ct, sg)
	out.Cite(srcCutK, srcCutError)
	if len(rule.diamond) > 0 && (gem.ID == "diamond" || gem.ID == "diamond-lab") {
		out.Cite(srcCutDiamond)
	}
	if rule.cut == RoundBrilliant {
		out.Cite(srcPropRound)
	} else {
		out.Cite(srcPropOther)
	}
	if in.SG == nil {
		out.Cite(srcGems)
	}
	if rule.cut == RoundBrilliant && gem.diamond() && w == l {
		out.chart(in.MassCt)
	}
	out.Warn("estimated_mass", calc.Note, "An estimate: ±%.0f %% for well-made stones of this cut, more for native cuts and small sizes. Weigh before you price, buy or refund.", rule.errPct)
	return out, nil
}

// chart sets beside the estimate what dealers call such a diamond. A size of
// the trade covers stones up to the next sieve and is rounded up, so that the
// bands are widened to hold both.
func (out *SizeOut) chart(massCt *float64) {
	if ct, ok := ChartCT(out.LengthMM); ok {
		out.ChartCt = &ct
		out.MassHighCt, out.MassLowCt = max(out.MassHighCt, ct), min(out.MassLowCt, ct)
		out.Cite(srcChart)
	}
	if massCt == nil {
		return
	}
	if mm, ok := chartMM(*massCt); ok {
		out.ChartMM = &mm
		out.LengthLowMM, out.LengthTopMM = min(out.LengthLowMM, mm), max(out.LengthTopMM, mm)
		out.Cite(srcChart)
	}
}

// measures finds length, width and depth from what was given.
func (in SizeIn) measures(r cutRule, gemID string, sg, allowancePct float64) (l, w, d float64, err error) {
	var c calc.Checks
	depthShare := or(in.DepthPct, r.depth[0]) / 100
	ratio := or(in.Ratio, r.ratio)
	switch {
	case in.MassCt != nil && in.LengthMM != nil:
		c.Refuse("mass_ct", *in.MassCt, "give mass_ct or length_mm, not both")
	case in.MassCt == nil && in.LengthMM == nil:
		c.Refuse("length_mm", nil, "give length_mm to find the mass, or mass_ct to find the size")
	case in.MassCt != nil:
		if in.WidthMM != nil || in.DepthMM != nil {
			c.Refuse("width_mm", in.WidthMM, "give ratio and depth_pct, not width and depth, with mass_ct")
			break
		}
		k, _ := r.constant(gemID, sg, ratio)
		w = math.Cbrt(*in.MassCt / (k * r.measure(ratio, 1, depthShare) * (1 + allowancePct/100)))
		return ratio * w, w, depthShare * w, nil
	default:
		l = *in.LengthMM
		w = or(in.WidthMM, l/ratio)
		if w > l {
			c.Refuse("width_mm", w, "give the shorter measure as the width (length is %g mm)", l)
		}
		if in.Ratio != nil && in.WidthMM != nil {
			c.Refuse("ratio", ratio, "give the width or the ratio, not both")
		}
		if in.DepthMM != nil && in.DepthPct != nil {
			c.Refuse("depth_pct", *in.DepthPct, "give depth_mm or depth_pct, not both")
		}
		d = or(in.DepthMM, depthShare*w)
		if d > 1.5*w {
			c.Refuse("depth_mm", d, "give a depth up to 1.5 times the width (%g mm)", w)
		}
	}
	return l, w, d, c.Err()
}

// or returns the value given, or what holds without it.
func or[T any](given *T, otherwise T) T {
	if given != nil {
		return *given
	}
	return otherwise
}

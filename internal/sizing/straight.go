package sizing

import (
	"context"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/section"
)

// PlanStraight finds the mould of a straight bar or flat pendant of a finished
// length in mm. It reads of in the section, the alloy, the contraction and the
// bench allowances; the length shrinks free, as nothing inside holds it, and
// each end is filed like an edge. Measures of an inside stay 0.
func PlanStraight(ctx context.Context, lengthMM float64, in MouldIn) (MouldOut, error) {
	var c calc.Checks
	s := section.Section{Shape: in.Shape, ThicknessMM: in.ThicknessMM, WidthMM: in.WidthMM}
	c.Under("", s.Check())
	c.Within("length_mm", lengthMM, 2, 390, "mm for a bar or pendant")
	if in.ContractionSpreadPct != nil && in.ContractionPct == nil {
		c.Refuse("contraction_pct", nil, "give contraction_pct with contraction_spread_pct")
	}
	m, err := metal.Named(in.Alloy)
	c.Under("", err)
	if err := c.Err(); err != nil {
		return MouldOut{}, err
	}
	out := MouldOut{BenchOptions: []BenchOption{}, Advice: advice(nil), Notes: calc.Noting(ctx)}
	out.contractFree(&in, m)
	k, ks := 1+out.ContractionPct/100, 1+out.SectionContraction/100
	out.Finished.Section = s
	out.AsCast.Section = grow(s, in.BenchInsideMM+in.BenchOutsideMM, 2*in.BenchEdgeMM)
	out.Mould.Section = section.Section{Shape: out.AsCast.Section.Shape, ThicknessMM: out.AsCast.Section.ThicknessMM * ks, WidthMM: out.AsCast.Section.WidthMM * ks}
	out.PatternWanted.Section, out.FillSection = out.Mould.Section, out.Mould.Section
	cast := lengthMM + 2*in.BenchEdgeMM
	out.ArcLengthMM = cast * k
	out.CastingVolumeMM3 = out.AsCast.Section.Area() * cast
	out.CastingMassG = out.CastingVolumeMM3 / 1000 * m.DensityGCm3()
	out.Step("mould length", out.ArcLengthMM, "mm", "(%.5g mm + 2 × %.3g mm to file away) × (1 + %.3g %%)", lengthMM, in.BenchEdgeMM, out.ContractionPct)
	out.Step("casting mass", out.CastingMassG, "g", "%.5g mm³ × %.4g g/cm³", out.CastingVolumeMM3, m.DensityGCm3())
	out.Cite(srcPatternRule, srcBench)
	out.Caution(m.Cautions()...)
	return out, nil
}

// contractFree settles the contraction of what nothing holds.
func (out *MouldOut) contractFree(in *MouldIn, m metal.Metal) {
	typical, low, high := m.ContractionPct()
	out.SectionContraction = (typical + high) / 2
	out.ContractionPct, out.ContractionLowPct, out.ContractionHighPct = out.SectionContraction, typical, high
	if in.ContractionPct == nil {
		out.Cite(srcRestraint)
		out.Warn("contraction_unpublished", calc.Care, "No pattern allowance for silver or gold in clay is published: %.3g %% is a choice within %.3g to %.3g %%.", out.ContractionPct, low, high)
		return
	}
	spread := 0.0
	if in.ContractionSpreadPct != nil {
		spread = *in.ContractionSpreadPct
	}
	out.ContractionPct = *in.ContractionPct
	out.ContractionLowPct, out.ContractionHighPct = math.Max(0, out.ContractionPct-spread), out.ContractionPct+spread
	out.Cite(calc.Source{For: "contraction", Text: "your own figure", Status: calc.YourInput})
}

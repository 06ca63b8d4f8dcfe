package sizing

import (
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
)

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
	out.ContractionPct, out.SectionContraction = *in.ContractionPct, *in.ContractionPct
	out.ContractionLowPct, out.ContractionHighPct = math.Max(0, out.ContractionPct-spread), out.ContractionPct+spread
	out.Cite(calc.Source{For: "contraction", Text: "your own figure", Status: calc.YourInput})
}

package sizing

import (
	"context"
	"math"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/safety"
	"pourwright/internal/section"
	"pourwright/internal/shape"
)

// Moulded is a piece at its stages.
type Moulded struct {
	MouldOut
	FinishedBody *shape.Body
	CastBody     *shape.Body // cold, before the bench, with what the edits gain
	Cavity       *shape.Body // to be filled, after the edits
}

// MouldOf finds the mould of a piece of any shape, and what to do to the
// impression of the pattern at hand. Of in it reads the alloy, the contraction,
// the bench allowances and the pattern at hand. A pattern that is itself the
// description (a surface, or one on the scale) is pressed as it is.
// Model: as cast = finished ± bench allowance; mould = as cast × (1 + contraction);
// pattern = mould / (1 + spring-back). Error: that of the contraction, which
// nobody has published for silver or gold in clay; the answer carries its band.
func MouldOf(ctx context.Context, piece *shape.Body, isPattern bool, in MouldIn) (Moulded, error) {
	m, err := in.metal()
	if err != nil {
		return Moulded{}, err
	}
	if in.PatternMesh != nil {
		if err := in.takeMesh(ctx); err != nil {
			return Moulded{}, calc.Under("pattern_mesh", err)
		}
	}
	out := Moulded{MouldOut: MouldOut{BenchOptions: []BenchOption{}, Notes: calc.Noting(ctx)}}
	out.Finished = measuresOf(piece)
	if piece.Kind.Curved() {
		out.contraction(&in, m)
	} else {
		out.contractFree(&in, m)
	}
	c, cs, s := out.ContractionPct/100, out.SectionContraction/100, in.SpringBackPct/100
	inside, outside, edge := in.BenchInsideMM, in.BenchOutsideMM, in.BenchEdgeMM
	give := in.coreGive(piece.Kind.Closed())
	if isPattern {
		out.Cavity = piece.Scaled(1+s, 1+s).Grown(give, 0, 0)
		out.CastBody = out.Cavity.Scaled(1/(1+c), 1/(1+cs))
		out.FinishedBody = out.CastBody.Grown(-inside, -outside, -edge)
	} else {
		out.FinishedBody = piece
		out.CastBody = piece.Grown(inside, outside, edge)
		out.Cavity = out.CastBody.Scaled(1+c, 1+cs)
	}
	out.Finished, out.AsCast, out.Mould = measuresOf(out.FinishedBody), measuresOf(out.CastBody), measuresOf(out.Cavity)
	out.PatternWanted = out.Mould.widened(give).scaled(1/(1+s), 1/(1+s))
	out.sizeSteps(&in, piece, give)
	out.FillSection = out.Mould.Section
	if err := out.gained(&in, m); err != nil {
		return Moulded{}, err
	}
	out.CastingVolumeMM3 = out.CastBody.VolumeMM3()
	out.CastingMassG = out.CastingVolumeMM3 / 1000 * m.DensityGCm3()
	out.ArcLengthMM = out.Cavity.LengthMM()
	out.Step("casting mass", out.CastingMassG, "g", "%.5g mm³ × %.4g g/cm³", out.CastingVolumeMM3, m.DensityGCm3())
	if in.PatternInsideDiameterMM != nil {
		if !piece.Kind.Curved() {
			return Moulded{}, calc.Refuse("pattern", nil, "leave it out for a straight piece: only the impression of a band is brought to size")
		}
		out.Edit = in.edit(&out.MouldOut, give)
		out.BenchOptions = in.bench(&out.MouldOut)
	}
	out.Advice = advice(out.BenchOptions)
	out.Cite(srcPatternRule, srcBench)
	for _, source := range m.Sources() {
		if strings.HasPrefix(source.For, "density") {
			out.Cite(source)
		}
	}
	out.Caution(m.Cautions()...)
	return out, nil
}

// sizeSteps shows how the size comes about.
func (out *Moulded) sizeSteps(in *MouldIn, piece *shape.Body, give float64) {
	if !piece.Kind.Curved() {
		out.Step("mould length", out.Cavity.LengthMM(), "mm", "(%.5g mm + 2 × %.3g mm to file away) × (1 + %.3g %%)", out.FinishedBody.LengthMM(), in.BenchEdgeMM, out.ContractionPct)
		return
	}
	d := out.Mould.InsideDiameterMM
	out.Step("as-cast inside diameter", out.AsCast.InsideDiameterMM, "mm", "%.5g mm - 2 × %.3g mm to file away", out.Finished.InsideDiameterMM, in.BenchInsideMM)
	out.Step("mould inside diameter", d, "mm", "%.6g mm × (1 + %.3g %%)", out.AsCast.InsideDiameterMM, out.ContractionPct)
	if in.SpringBackPct != 0 || give != 0 {
		out.Step("pattern inside diameter", out.PatternWanted.InsideDiameterMM, "mm", "(%.6g mm + 2 × %.3g mm of clay that gives way) / (1 + %.3g %%)", d, give, in.SpringBackPct)
		out.Cite(srcCoreGive)
	}
	if bangle := piece.Kind == shape.Bangle; bangle && childs(out.Finished.InsideWidthMM, out.Finished.InsideHeightMM, out.Finished.InsideDiameterMM) || !bangle && piece.Kind.Closed() && out.Finished.InsideCircumferenceMM < childRing {
		out.Caution(safety.SmallChildren)
	}
	out.FinishedLeastMM = d/(1+out.ContractionHighPct/100) + 2*in.BenchInsideMM
	out.FinishedGreatestMM = d/(1+out.ContractionLowPct/100) + 2*in.BenchInsideMM
}

// gained makes the impression of a pattern at hand that falls short as thick
// and wide as wanted; the collar of a push is carried as width.
func (out *Moulded) gained(in *MouldIn, m metal.Metal) error {
	thickness, width, err := in.gains(&out.MouldOut)
	if err != nil || thickness <= 0 && width <= 0 {
		return err
	}
	if in.Piece == "" {
		in.Piece = string(out.Cavity.Kind)
	}
	before := out.CastBody.Resized(-thickness, -width)
	g, after := in.gain(&out.MouldOut, thickness, width)
	k := after.Width() / out.AsCast.Section.Width()
	out.CastBody, out.Cavity = out.CastBody.Widened(k), out.Cavity.Widened(k)
	g.GainedMM3 = out.CastBody.VolumeMM3() - before.VolumeMM3()
	g.GainedG = g.GainedMM3 / 1000 * m.DensityGCm3()
	out.Gain = g
	out.Step("metal gained", g.GainedMM3, "mm³", "section %.4g mm² to %.4g mm², along the piece", before.Main().Area(), after.Area())
	return nil
}

// metal checks what MouldOf reads and finds the alloy.
func (in *MouldIn) metal() (metal.Metal, error) {
	var c calc.Checks
	if in.ContractionSpreadPct != nil && in.ContractionPct == nil {
		c.Refuse("contraction_pct", nil, "give contraction_pct with contraction_spread_pct")
	}
	m, err := metal.Named(in.Alloy)
	c.Under("", err)
	return m, c.Err()
}

// measuresOf is the inside and the section of a piece; a straight one has no inside.
func measuresOf(b *shape.Body) Measures {
	w, h := b.InsideAxesMM()
	return Measures{b.InsideMM(), math.Pi * b.InsideMM(), w, h, b.GapMM(), b.Main()}
}

// PlanMould finds the mould for a finished band or cuff of one section.
func PlanMould(ctx context.Context, in MouldIn) (MouldOut, error) {
	finished, err := in.read()
	if err != nil {
		return MouldOut{}, err
	}
	s := shape.Shape{Kind: shape.Kind(in.Piece), ThicknessMM: &in.ThicknessMM, WidthMM: &in.WidthMM, Profile: in.Shape,
		InsideWidthMM: &finished.InsideWidthMM, InsideHeightMM: &finished.InsideHeightMM}
	if in.Piece == CuffPiece {
		s.GapMM = &in.GapMM
	}
	if in.Shape == section.Round {
		s.WidthMM = nil
	}
	body, err := s.Resolve(ctx)
	if err != nil {
		return MouldOut{}, err
	}
	out, err := MouldOf(ctx, body, false, in)
	return out.MouldOut, err
}

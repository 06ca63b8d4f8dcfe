package commission

import (
	"context"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/melt"
	"pourwright/internal/metal"
	"pourwright/internal/section"
	"pourwright/internal/sizing"
	"pourwright/internal/stone"
)

// pieceRoom plans one piece of the order.
type pieceRoom struct {
	in    *CommissionIn
	piece CommissionPiece
	alloy metal.Metal
	bag   *bag
	back  []StoneBack
}

// plan takes the piece through size, mould, stones, fill and melt.
func (p *pieceRoom) plan(ctx context.Context) (PiecePlan, error) {
	plan, pour, err := p.prepare(ctx)
	if err != nil {
		return plan, err
	}
	if plan.Fill, err = fill.Follow(ctx, pour); err != nil {
		return plan, err
	}
	plan.FailurePct = plan.Fill.FailurePct
	return plan, p.weigh(ctx, &plan)
}

// prepare takes the piece through size, mould and stones to its pour.
func (p *pieceRoom) prepare(ctx context.Context) (PiecePlan, fill.FillIn, error) {
	plan := PiecePlan{Name: p.piece.Name, Reasons: []VerdictReason{}}
	var err error
	if plan.InsideMM, err = p.inside(ctx); err != nil {
		return plan, fill.FillIn{}, err
	}
	if plan.Mould, err = p.mould(ctx, plan.InsideMM); err != nil {
		return plan, fill.FillIn{}, err
	}
	plan.PourC = p.alloy.LiquidusC() + 100
	if p.piece.Mould.PourC != nil {
		plan.PourC = *p.piece.Mould.PourC
	}
	groups, err := p.stones(ctx, &plan)
	if err != nil {
		return plan, fill.FillIn{}, err
	}
	return plan, p.fillIn(&plan, groups), nil
}

// weigh finds the metal and the heat for the piece.
func (p *pieceRoom) weigh(ctx context.Context, plan *PiecePlan) (err error) {
	plan.Melt, err = melt.PlanFor(ctx, p.meltIn(plan), p.alloy)
	plan.FinishedG = p.finished(plan)
	return calc.Under("mould", err)
}

// inside finds the finished inside diameter from the measure that was given.
func (p *pieceRoom) inside(ctx context.Context) (float64, error) {
	given := 0
	for _, g := range []bool{p.piece.InsideDiameterMM != nil, p.piece.HandCircumferenceMM != nil, p.piece.RingSize != ""} {
		if g {
			given++
		}
	}
	switch {
	case given != 1:
		return 0, calc.Refuse("inside_diameter_mm", nil, "give one of inside_diameter_mm, hand_circumference_mm (bangle), and ring_system with ring_size (ring)")
	case p.piece.InsideDiameterMM != nil:
		return *p.piece.InsideDiameterMM, nil
	case p.piece.RingSize != "":
		c, err := sizing.Size(p.piece.RingSystem, p.piece.RingSize)
		if err != nil {
			return 0, calc.Refuse("ring_size", p.piece.RingSize, "give a size of the system in ring_system: %v", err)
		}
		return c / math.Pi, nil
	}
	in := calc.Default[sizing.BangleIn]()
	in.HandCircumferenceMM = p.piece.HandCircumferenceMM
	in.BandWidthMM, in.ThicknessMM = p.piece.Section.Width(), p.piece.Section.ThicknessMM
	fit, err := sizing.BangleFits(ctx, in)
	return fit.InsideDiameterMM, err
}

func (p *pieceRoom) mould(ctx context.Context, insideMM float64) (sizing.MouldOut, error) {
	in := calc.Default[sizing.MouldIn]()
	in.Piece, in.Alloy, in.InsideDiameterMM = p.piece.Piece, p.in.Alloy, &insideMM
	in.Shape, in.ThicknessMM, in.WidthMM = p.piece.Section.Shape, p.piece.Section.ThicknessMM, p.piece.Section.WidthMM
	in.StonesInPlace = len(p.piece.Stones) > 0
	in.ContractionPct, in.ContractionSpreadPct = p.in.Studio.ContractionPct, p.in.Studio.ContractionSpreadPct
	if a := p.piece.Pattern; a != nil {
		in.PatternInsideDiameterMM, in.PatternThicknessMM, in.PatternWidthMM, in.Repeats = &a.InsideDiameterMM, a.ThicknessMM, a.WidthMM, a.Repeats
	}
	return sizing.PlanMould(ctx, in)
}

// cavityThin is the thin spot as moulded: the metal for the bench is on it too.
func (p *pieceRoom) cavityThin(plan *PiecePlan) *fill.FillThin {
	if p.piece.ThinSpot == nil {
		return nil
	}
	thin := *p.piece.ThinSpot
	thin.ThicknessMM += plan.Mould.FillSection.ThicknessMM - p.piece.Section.ThicknessMM
	return &thin
}

func outside(m sizing.MouldOut) float64 {
	return m.Mould.InsideDiameterMM + 2*m.FillSection.ThicknessMM
}

// stones judges the stones wanted in the piece. Those that may not be cast in
// place go back; the others are the groups that narrow the channel.
func (p *pieceRoom) stones(ctx context.Context, plan *PiecePlan) ([]group, error) {
	if len(p.piece.Stones) == 0 {
		return nil, nil
	}
	in := calc.Default[stone.StoneSettingIn]()
	in.Alloy, in.MetalC, in.ClayC = p.in.Alloy, plan.PourC, p.in.Studio.ClayC
	in.Section, in.HeadMM = plan.Mould.FillSection, math.Inf(1)
	for _, placed := range p.piece.Stones {
		in.Stones = append(in.Stones, p.bag.take(placed).StoneIn)
		in.HeadMM = min(in.HeadMM, p.piece.Mould.headAt(placed.AtPct/100, outside(plan.Mould)))
		here := thinned(in.Section, p.cavityThin(plan), placed.AtPct/100)
		in.Section.ThicknessMM = min(in.Section.ThicknessMM, here.ThicknessMM)
	}
	judged, err := stone.Judge(ctx, in)
	if err != nil {
		return nil, err
	}
	plan.Stones = &judged
	var groups []group
	for i, s := range judged.Stones {
		placed := p.piece.Stones[i]
		if what := unfit(s.Verdict); what != "" {
			p.back = append(p.back, StoneBack{ID: placed.ID, Piece: p.piece.Name, Quantity: placed.Quantity, What: what, Why: why(s)})
			continue
		}
		groups = append(groups, p.groupOf(plan, in.Stones[i], s, placed))
	}
	return groups, nil
}

// unfit says what becomes of stones that are not cast in place.
func unfit(v stone.Verdict) string {
	switch v {
	case stone.DoNot:
		return "set_after_casting"
	case stone.CannotTell:
		return "ask_first"
	}
	return ""
}

func why(s stone.StoneJudgement) string {
	if len(s.Reasons) == 0 {
		return ""
	}
	return s.Reasons[0].Text
}

// between is the metal left between neighbouring stones, mm: room for a
// shared grain. Our choice.
const between = 0.5

func (p *pieceRoom) groupOf(plan *PiecePlan, given stone.StoneIn, s stone.StoneJudgement, placed PlacedStones) group {
	along := s.Measures.LengthMM
	if given.Across {
		along = s.Measures.WidthMM
	}
	half := (float64(placed.Quantity)*(along+between) - between) / plan.Mould.ArcLengthMM / 2
	area := thinned(plan.Mould.FillSection, p.cavityThin(plan), placed.AtPct/100).Area()
	return group{placed.AtPct/100 - half, placed.AtPct/100 + half, max(1-s.Seat.FlowTakenMM2/area, 0.05)}
}

func (p *pieceRoom) fillIn(plan *PiecePlan, groups []group) fill.FillIn {
	m, studio := p.piece.Mould, p.in.Studio
	in := calc.Default[fill.FillIn]()
	in.Piece, in.InsideDiameterMM = p.piece.Piece, plan.Mould.Mould.InsideDiameterMM
	in.Section = plan.Mould.FillSection
	if thin := p.cavityThin(plan); thin != nil || len(groups) > 0 {
		in.Stations = stations(in.Section, thin, groups)
	}
	in.Posture, in.Gate, in.SprueCount = m.Posture, m.Gate, m.SprueCount
	in.SprueLengthMM, in.SprueDiameterMM = m.SprueLengthMM, m.SprueDiameterMM
	in.FunnelHeadMM, in.FunnelDiameterMM = m.FunnelHeadMM, m.FunnelDiameterMM
	in.VentCount, in.VentDiameterMM = m.VentCount, m.VentDiameterMM
	in.FlaskWidthMM, in.FlaskHeightMM = m.FlaskWidthMM, m.FlaskHeightMM
	in.Alloy, in.PourC, in.PourTimeS = p.in.Alloy, &plan.PourC, m.PourTimeS
	in.ClayC, in.Clay, in.Calibration, in.RiskLimitPct = studio.ClayC, studio.Clay, studio.Calibration, studio.RiskLimitPct
	return in
}

// share is the volume of the band with its thin spot over that of the plain band.
func share(base section.Section, thin *fill.FillThin, insideMM float64) float64 {
	return stations(base, thin, nil).RingVolume(insideMM) / base.RingVolume(insideMM)
}

// displaced is the metal that the stones cast in place stand for, mm³.
func displaced(plan *PiecePlan) float64 {
	sum := 0.0
	if plan.Stones != nil {
		for _, s := range plan.Stones.Stones {
			if unfit(s.Verdict) == "" {
				sum += s.Seat.DisplacedMM3 * float64(s.Quantity)
			}
		}
	}
	return sum
}

func (p *pieceRoom) meltIn(plan *PiecePlan) melt.MeltIn {
	m, studio := p.piece.Mould, p.in.Studio
	in := calc.Default[melt.MeltIn]()
	in.VolumeMM3 = plan.Mould.CastingVolumeMM3 * share(plan.Mould.FillSection, p.cavityThin(plan), plan.Mould.Mould.InsideDiameterMM)
	in.StonesVolumeMM3 = displaced(plan)
	in.Sprues, in.SprueDiameterMM, in.SprueLengthMM = m.SprueCount, m.SprueDiameterMM, m.SprueLengthMM
	in.FunnelDiameterMM, in.FunnelHeadMM = m.FunnelDiameterMM, m.FunnelHeadMM
	if m.VentCount > 0 {
		in.Vents, in.VentDiameterMM, in.VentLengthMM = m.VentCount, m.VentDiameterMM, calc.Default[fill.FillClay]().WallMM
		if studio.Clay != nil {
			in.VentLengthMM = studio.Clay.WallMM
		}
	}
	in.ReserveG, in.MeltLossPct = studio.ReserveG, studio.MeltLossPct
	in.CrucibleCapacityG, in.TorchKW, in.EfficiencyPct = studio.CrucibleCapacityG, studio.TorchKW, studio.EfficiencyPct
	in.FlaskInsideMM, in.PourTemperatureC = m.FlaskWidthMM, plan.PourC
	return in
}

// finished is the mass of the finished piece without stones, in g.
func (p *pieceRoom) finished(plan *PiecePlan) float64 {
	s := p.piece.Section
	volume := s.RingVolume(plan.InsideMM)*share(s, p.piece.ThinSpot, plan.InsideMM) - displaced(plan)
	g := volume / 1000 * p.alloy.DensityGCm3()
	plan.Melt.Step("finished mass", g, "g", "%.4g mm³ × %.4g g/cm³, stones taken off", volume, p.alloy.DensityGCm3())
	return g
}

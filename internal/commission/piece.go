package commission

import (
	"context"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/melt"
	"pourwright/internal/metal"
	"pourwright/internal/sizing"
	"pourwright/internal/stone"
)

// pieceRoom plans one piece of the order.
type pieceRoom struct {
	in    *In
	piece Piece
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
func (p *pieceRoom) prepare(ctx context.Context) (PiecePlan, fill.In, error) {
	plan := PiecePlan{Name: p.piece.Name, Alloy: p.alloyID(), Reasons: []VerdictReason{}}
	var err error
	if p.straight() {
		plan.LengthMM, err = p.length()
	} else {
		plan.InsideMM, err = p.inside(ctx)
	}
	if err != nil {
		return plan, fill.In{}, err
	}
	if plan.Mould, err = p.mould(ctx, &plan); err != nil {
		return plan, fill.In{}, err
	}
	plan.PourC = p.alloy.LiquidusC() + 100
	if p.piece.Mould.PourC != nil {
		plan.PourC = *p.piece.Mould.PourC
	}
	groups, err := p.stones(ctx, &plan)
	if err != nil {
		return plan, fill.In{}, err
	}
	plan.way = p.piece.Mould.minutes(&p.in.Studio, p.filedBack(&plan))
	return plan, p.fillIn(&plan, groups), nil
}

// straight says whether the piece is fed from one end rather than a closed band.
func (p *pieceRoom) straight() bool { return p.piece.Straight() }

func (p *pieceRoom) alloyID() string {
	if p.piece.Alloy != "" {
		return p.piece.Alloy
	}
	return p.in.Alloy
}

// length is the finished length of a straight piece, which has no inside.
func (p *pieceRoom) length() (float64, error) {
	var c calc.Checks
	if p.piece.LengthMM == nil {
		c.Refuse("length_mm", nil, "give the length of a pendant or bar, gate to far end")
	}
	if p.piece.InsideDiameterMM != nil || p.piece.HandCircumferenceMM != nil || p.piece.RingSize != "" {
		c.Refuse("piece", p.piece.Piece, "give length_mm and no inside measure for a pendant or bar, or make it a bangle or ring")
	}
	if p.piece.Pattern != nil {
		c.Refuse("pattern", nil, "leave it out for a pendant or bar: only the impression of a band is brought to size")
	}
	if err := c.Err(); err != nil {
		return 0, err
	}
	return *p.piece.LengthMM, nil
}

// weigh finds the metal and the heat for the piece.
func (p *pieceRoom) weigh(ctx context.Context, plan *PiecePlan) (err error) {
	plan.Melt, err = melt.PlanFor(ctx, p.meltIn(plan), p.alloy)
	plan.FinishedG = p.finished(plan)
	return calc.Under("mould", err)
}

// inside finds the finished inside diameter from the measure that was given.
func (p *pieceRoom) inside(ctx context.Context) (float64, error) {
	if p.piece.LengthMM != nil {
		return 0, calc.Refuse("length_mm", *p.piece.LengthMM, "give it for a pendant or bar only")
	}
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

func (p *pieceRoom) mould(ctx context.Context, plan *PiecePlan) (sizing.MouldOut, error) {
	if t := p.piece.ThinSpot; t != nil {
		if err := t.Check(p.piece.Section, !p.straight()); err != nil {
			return sizing.MouldOut{}, calc.Under("thin_spot", err)
		}
	}
	in := calc.Default[sizing.MouldIn]()
	in.Alloy = p.alloyID()
	in.Shape, in.ThicknessMM, in.WidthMM = p.piece.Section.Shape, p.piece.Section.ThicknessMM, p.piece.Section.WidthMM
	in.StonesInPlace = len(p.piece.Stones) > 0
	in.ContractionPct, in.ContractionSpreadPct = p.in.Studio.ContractionPct, p.in.Studio.ContractionSpreadPct
	if p.straight() {
		return sizing.PlanStraight(ctx, plan.LengthMM, in)
	}
	in.Piece, in.InsideDiameterMM = p.piece.Piece, &plan.InsideMM
	if a := p.piece.Pattern; a != nil {
		if (a.InsideDiameterMM == nil) == (a.Mesh == nil) {
			return sizing.MouldOut{}, calc.Refuse("pattern.inside_diameter_mm", nil, "give either it or mesh")
		}
		in.PatternInsideDiameterMM, in.PatternThicknessMM, in.PatternWidthMM, in.Repeats = a.InsideDiameterMM, a.ThicknessMM, a.WidthMM, a.Repeats
		in.PatternMesh = a.Mesh
	}
	return sizing.PlanMould(ctx, in)
}

// finishedWay is the piece as wanted.
func (p *pieceRoom) finishedWay(plan *PiecePlan) way {
	return way{base: p.piece.Section, thin: p.piece.ThinSpot, turn: p.piece.Mould.TurnPct / 100, closed: !p.straight(), insideMM: plan.InsideMM, lengthMM: plan.LengthMM}
}

// plainWay is the cavity before it is scraped thicker; the metal for the bench
// is on the thin spot too.
func (p *pieceRoom) plainWay(plan *PiecePlan) way { return p.piece.way(&plan.Mould) }

// cavity is the way that the metal fills.
func (p *pieceRoom) cavity(plan *PiecePlan) way {
	return p.plainWay(plan).thickened(p.piece.Mould.ThickenMM)
}

// castVolume is the volume of the casting, stones not taken off, mm³.
func (p *pieceRoom) castVolume(plan *PiecePlan, w way) float64 {
	plain := p.plainWay(plan)
	plain.thin = nil
	return plan.Mould.CastingVolumeMM3 * w.volume() / plain.volume()
}

// filedBack is the metal that was cast too thick on purpose, g.
func (p *pieceRoom) filedBack(plan *PiecePlan) float64 {
	if p.piece.Mould.ThickenMM == 0 {
		return 0
	}
	return (p.castVolume(plan, p.cavity(plan)) - p.castVolume(plan, p.plainWay(plan))) / 1000 * p.alloy.DensityGCm3()
}

// stones judges the stones wanted in the piece. Those that may not be cast in
// place go back; the others are the groups that narrow the channel.
func (p *pieceRoom) stones(ctx context.Context, plan *PiecePlan) ([]group, error) {
	if len(p.piece.Stones) == 0 {
		return nil, nil
	}
	in := calc.Default[stone.SettingIn]()
	w := p.cavity(plan)
	in.Alloy, in.MetalC, in.ClayC = p.alloyID(), plan.PourC, p.in.Studio.ClayC
	in.Section, in.HeadMM = w.base, math.Inf(1)
	for _, placed := range p.piece.Stones {
		in.Stones = append(in.Stones, p.bag.take(placed).In)
		at := w.place(placed.AtPct / 100)
		in.HeadMM = min(in.HeadMM, p.piece.Mould.headAt(at, w))
		in.Section.ThicknessMM = min(in.Section.ThicknessMM, w.at(at).ThicknessMM)
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

func why(s stone.Judgement) string {
	if len(s.Reasons) == 0 {
		return ""
	}
	return s.Reasons[0].Text
}

// Between is the metal left between neighbouring stones, mm: room for a
// shared grain. Our choice.
const Between = 0.5

func (p *pieceRoom) groupOf(plan *PiecePlan, given stone.In, s stone.Judgement, placed PlacedStones) group {
	along := s.Measures.LengthMM
	if given.Across {
		along = s.Measures.WidthMM
	}
	half := (float64(placed.Quantity)*(along+Between) - Between) / plan.Mould.ArcLengthMM / 2
	w := p.cavity(plan)
	at := w.place(placed.AtPct / 100)
	return group{at - half, at + half, max(1-s.Seat.FlowTakenMM2/w.at(at).Area(), 0.05)}
}

func (p *pieceRoom) fillIn(plan *PiecePlan, groups []group) fill.In {
	m, studio := p.piece.Mould, p.in.Studio
	in := calc.Default[fill.In]()
	w := p.cavity(plan)
	in.Piece, in.Section = p.piece.Piece, w.base
	if w.closed {
		in.InsideDiameterMM = w.insideMM
	} else {
		in.LengthMM = w.lengthMM
	}
	if w.thin != nil || len(groups) > 0 {
		in.Stations = w.profile(groups)
	}
	in.Stance, in.Sprues, in.Vents, in.FlaskSize = m.Stance, m.Sprues, m.Vents, m.FlaskSize
	in.FunnelHeadMM, in.FunnelDiameterMM = m.FunnelHeadMM, m.FunnelDiameterMM
	in.Alloy, in.PourC, in.PourTimeS = p.alloyID(), &plan.PourC, m.PourTimeS
	in.ClayC, in.Clay, in.Calibration, in.RiskLimitPct = studio.ClayC, studio.Clay, studio.Calibration, studio.RiskLimitPct
	return in
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

func (p *pieceRoom) meltIn(plan *PiecePlan) melt.In {
	m, studio := p.piece.Mould, p.in.Studio
	in := calc.Default[melt.In]()
	in.VolumeMM3 = p.castVolume(plan, p.cavity(plan))
	in.StonesVolumeMM3 = displaced(plan)
	in.Sprues, in.SprueDiameterMM, in.SprueLengthMM = m.SprueCount, m.SprueDiameterMM, m.SprueLengthMM
	in.FunnelDiameterMM, in.FunnelHeadMM = m.FunnelDiameterMM, m.FunnelHeadMM
	if m.VentCount > 0 {
		in.Vents, in.VentDiameterMM, in.VentLengthMM = m.VentCount, m.VentDiameterMM, calc.Default[fill.Clay]().WallMM
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
	volume := p.finishedWay(plan).volume() - displaced(plan)
	g := volume / 1000 * p.alloy.DensityGCm3()
	plan.Melt.Step("finished mass", g, "g", "%.4g mm³ × %.4g g/cm³, stones taken off", volume, p.alloy.DensityGCm3())
	return g
}

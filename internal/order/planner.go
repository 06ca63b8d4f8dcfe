package order

import (
	"context"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/melt"
	"pourwright/internal/metal"
	"pourwright/internal/sizing"
	"pourwright/internal/stone"
	"pourwright/internal/verdict"
)

// Planner works one piece of the order out, taking its stones from the stock.
type Planner struct {
	Order *Order
	Piece Piece
	Alloy metal.Metal
	Stock *Stock
}

// Worked is a piece worked out: its plan as far as it goes, and what the rest of
// the order needs of it.
type Worked struct {
	Plan          PiecePlan
	Piece         Piece // as planned
	Cavity        Cavity
	Pour          fill.In
	ExtraMouldMin float64 // minutes beyond the plain mould
	ExtraCleanMin float64
	NotCast       []NotCast
}

// Work takes the piece through size, mould, stones, fill and melt.
func (p *Planner) Work(ctx context.Context) (*Worked, error) {
	w, err := p.Prepare(ctx)
	if err != nil {
		return w, err
	}
	if w.Plan.Fill, err = fill.Follow(ctx, w.Pour); err != nil {
		return w, err
	}
	w.Plan.FailurePct = w.Plan.Fill.FailurePct
	return w, p.Weigh(ctx, w)
}

// Prepare takes the piece through size, mould and stones to its pour. With an
// error what was worked out so far stands.
func (p *Planner) Prepare(ctx context.Context) (*Worked, error) {
	w := &Worked{Piece: p.Piece, Plan: PiecePlan{Name: p.Piece.Name, Alloy: p.AlloyID(), Reasons: verdict.Reasons{}}}
	plan := &w.Plan
	var err error
	if p.Piece.Straight() {
		plan.LengthMM, err = p.length()
	} else {
		plan.InsideMM, err = p.inside(ctx)
	}
	if err != nil {
		return w, err
	}
	if plan.Mould, err = p.mould(ctx, plan); err != nil {
		return w, err
	}
	w.Cavity = p.plainCavity(w).thickened(p.Piece.Mould.ThickenMM)
	p.Piece.Mould.settle(p.Alloy, p.castVolume(w, w.Cavity), w.Cavity.Base.ThicknessMM)
	w.Piece.Mould = p.Piece.Mould
	plan.SprueDiameterMM, plan.FunnelDiameterMM = p.Piece.Mould.SprueDiameterMM, p.Piece.Mould.FunnelDiameterMM
	plan.PourC = p.Alloy.LiquidusC() + 100
	if c := p.Piece.Mould.PourC; c != nil {
		if over := *c - p.Alloy.LiquidusC(); over < 1 || over > 600 {
			return w, calc.Refuse("mould.pour_c", *c, "give a temperature over the liquidus of %s, %.0f °C, by 1 to 600 K", p.AlloyID(), p.Alloy.LiquidusC())
		}
		plan.PourC = *c
	}
	rows, err := p.stones(ctx, w)
	if err != nil {
		return w, err
	}
	w.ExtraMouldMin, w.ExtraCleanMin = p.Piece.Mould.extraMinutes(&p.Order.Studio, p.filedBack(w))
	w.Pour = p.fillIn(w, rows)
	return w, nil
}

// AlloyID is the id of what the piece is cast of.
func (p *Planner) AlloyID() string {
	if p.Piece.Alloy != "" {
		return p.Piece.Alloy
	}
	return p.Order.Alloy
}

// length is the finished length of a straight piece, which has no inside.
func (p *Planner) length() (float64, error) {
	var c calc.Checks
	if p.Piece.LengthMM == nil {
		c.Refuse("length_mm", nil, "give the length of a pendant or bar, gate to far end")
	}
	if p.Piece.InsideDiameterMM != nil || p.Piece.HandCircumferenceMM != nil || p.Piece.RingSize != "" {
		c.Refuse("piece", p.Piece.Kind, "give length_mm and no inside measure for a pendant or bar, or make it a bangle or ring")
	}
	if p.Piece.Pattern != nil {
		c.Refuse("pattern", nil, "leave it out for a pendant or bar: only the impression of a band is brought to size")
	}
	if err := c.Err(); err != nil {
		return 0, err
	}
	return *p.Piece.LengthMM, nil
}

// Weigh finds the metal and the heat for the piece.
func (p *Planner) Weigh(ctx context.Context, w *Worked) (err error) {
	w.Plan.Melt, err = melt.PlanFor(ctx, p.meltIn(w), p.Alloy)
	w.Plan.FinishedG = p.finished(w)
	return calc.Under("mould", err)
}

// inside finds the finished inside diameter from the measure that was given.
func (p *Planner) inside(ctx context.Context) (float64, error) {
	if p.Piece.LengthMM != nil {
		return 0, calc.Refuse("length_mm", *p.Piece.LengthMM, "give it for a pendant or bar only")
	}
	given := 0
	for _, g := range []bool{p.Piece.InsideDiameterMM != nil, p.Piece.HandCircumferenceMM != nil, p.Piece.RingSize != ""} {
		if g {
			given++
		}
	}
	switch {
	case given != 1:
		return 0, calc.Refuse("inside_diameter_mm", nil, "give one of inside_diameter_mm, hand_circumference_mm (bangle), and ring_system with ring_size (ring)")
	case p.Piece.InsideDiameterMM != nil:
		return *p.Piece.InsideDiameterMM, nil
	case p.Piece.RingSize != "":
		c, err := sizing.Size(p.Piece.RingSystem, p.Piece.RingSize)
		if err != nil {
			return 0, calc.Refuse("ring_size", p.Piece.RingSize, "give a size of the system in ring_system: %v", err)
		}
		return c / math.Pi, nil
	}
	in := calc.Default[sizing.BangleIn]()
	in.HandCircumferenceMM = p.Piece.HandCircumferenceMM
	in.BandWidthMM, in.ThicknessMM = p.Piece.Section.Width(), p.Piece.Section.ThicknessMM
	fit, err := sizing.BangleFits(ctx, in)
	return fit.InsideDiameterMM, err
}

func (p *Planner) mould(ctx context.Context, plan *PiecePlan) (sizing.MouldOut, error) {
	if t := p.Piece.ThinSpot; t != nil {
		if err := t.Check(p.Piece.Section, !p.Piece.Straight()); err != nil {
			return sizing.MouldOut{}, calc.Under("thin_spot", err)
		}
	}
	in := calc.Default[sizing.MouldIn]()
	in.Alloy = p.AlloyID()
	in.Shape, in.ThicknessMM, in.WidthMM = p.Piece.Section.Shape, p.Piece.Section.ThicknessMM, p.Piece.Section.WidthMM
	in.StonesInPlace = len(p.Piece.Stones) > 0
	in.ContractionPct, in.ContractionSpreadPct = p.Order.Studio.ContractionPct, p.Order.Studio.ContractionSpreadPct
	if p.Piece.Straight() {
		return sizing.PlanStraight(ctx, plan.LengthMM, in)
	}
	in.Piece, in.InsideDiameterMM = p.Piece.Kind, &plan.InsideMM
	if a := p.Piece.Pattern; a != nil {
		if (a.InsideDiameterMM == nil) == (a.Mesh == nil) {
			return sizing.MouldOut{}, calc.Refuse("pattern.inside_diameter_mm", nil, "give either it or mesh")
		}
		in.PatternInsideDiameterMM, in.PatternThicknessMM, in.PatternWidthMM, in.Repeats = a.InsideDiameterMM, a.ThicknessMM, a.WidthMM, a.Repeats
		in.PatternMesh = a.Mesh
	}
	return sizing.PlanMould(ctx, in)
}

// finishedCavity is the piece as wanted.
func (p *Planner) finishedCavity(plan *PiecePlan) Cavity {
	return Cavity{Base: p.Piece.Section, Thin: p.Piece.ThinSpot, Turn: p.Piece.Mould.TurnPct / 100, Closed: !p.Piece.Straight(), InsideMM: plan.InsideMM, LengthMM: plan.LengthMM}
}

// plainCavity is the cavity before it is scraped thicker; the metal for the
// bench is on the thin spot too.
func (p *Planner) plainCavity(w *Worked) Cavity { return p.Piece.Cavity(&w.Plan.Mould) }

// castVolume is the volume of the casting in a cavity, stones not taken off, mm³.
func (p *Planner) castVolume(w *Worked, c Cavity) float64 {
	plain := p.plainCavity(w)
	plain.Thin = nil
	return w.Plan.Mould.CastingVolumeMM3 * c.Volume() / plain.Volume()
}

// filedBack is the metal that was cast too thick on purpose, g.
func (p *Planner) filedBack(w *Worked) float64 {
	if p.Piece.Mould.ThickenMM == 0 {
		return 0
	}
	return (p.castVolume(w, w.Cavity) - p.castVolume(w, p.plainCavity(w))) / 1000 * p.Alloy.DensityGCm3()
}

// stones judges the stones wanted in the piece. Those that may not be cast in
// place are told as such; the others are the rows that narrow the channel.
func (p *Planner) stones(ctx context.Context, w *Worked) ([]Run, error) {
	if len(p.Piece.Stones) == 0 {
		return nil, nil
	}
	in := calc.Default[stone.SettingIn]()
	in.Alloy, in.MetalC, in.ClayC = p.AlloyID(), w.Plan.PourC, p.Order.Studio.ClayC
	in.Section, in.HeadMM = w.Cavity.Base, math.Inf(1)
	for _, placed := range p.Piece.Stones {
		in.Stones = append(in.Stones, p.Stock.Take(placed).In)
		at := w.Cavity.Place(placed.AtPct / 100)
		in.HeadMM = min(in.HeadMM, p.Piece.Mould.HeadAt(at, w.Cavity))
		in.Section.ThicknessMM = min(in.Section.ThicknessMM, w.Cavity.At(at).ThicknessMM)
	}
	judged, err := stone.Judge(ctx, in)
	if err != nil {
		return nil, err
	}
	w.Plan.Stones = &judged
	var rows []Run
	for i, s := range judged.Stones {
		placed := p.Piece.Stones[i]
		if what := Unfit(s.Verdict); what != "" {
			w.NotCast = append(w.NotCast, NotCast{ID: placed.ID, Piece: p.Piece.Name, Quantity: placed.Quantity, What: what, Why: Why(s)})
			continue
		}
		rows = append(rows, w.row(in.Stones[i], s, placed))
	}
	return rows, nil
}

// Unfit says what becomes of stones that are not cast in place.
func Unfit(v stone.Verdict) string {
	switch v {
	case stone.DoNot:
		return "set_after_casting"
	case stone.CannotTell:
		return "ask_first"
	}
	return ""
}

// Why is the weightiest ground of a judgement.
func Why(s stone.Judgement) string {
	if len(s.Reasons) == 0 {
		return ""
	}
	return s.Reasons[0].Text
}

// Between is the metal left between neighbouring stones, mm: space for a
// shared grain. Our choice.
const Between = 0.5

// row is where stones of one kind lie in the channel and what they leave open.
func (w *Worked) row(given stone.In, s stone.Judgement, placed PlacedStones) Run {
	along := s.Measures.LengthMM
	if given.Across {
		along = s.Measures.WidthMM
	}
	half := (float64(placed.Quantity)*(along+Between) - Between) / w.Plan.Mould.ArcLengthMM / 2
	at := w.Cavity.Place(placed.AtPct / 100)
	return Run{at - half, at + half, max(1-s.Seat.FlowTakenMM2/w.Cavity.At(at).Area(), 0.05)}
}

func (p *Planner) fillIn(w *Worked, rows []Run) fill.In {
	m, studio, c := p.Piece.Mould, p.Order.Studio, w.Cavity
	in := calc.Default[fill.In]()
	in.Piece, in.Section = p.Piece.Kind, c.Base
	if c.Closed {
		in.InsideDiameterMM = c.InsideMM
	} else {
		in.LengthMM = c.LengthMM
	}
	if c.Thin != nil || len(rows) > 0 {
		in.Stations = c.Profile(rows)
	}
	in.Stance, in.Vents, in.FlaskSize = m.Stance, m.Vents, m.FlaskSize
	in.Sprues = fill.Sprues{SprueCount: m.SprueCount, SpreadDeg: m.SpreadDeg, SprueLengthMM: m.SprueLengthMM, SprueDiameterMM: m.SprueDiameterMM}
	in.FunnelHeadMM, in.FunnelDiameterMM = m.FunnelHeadMM, m.FunnelDiameterMM
	in.Alloy, in.PourC, in.PourTimeS = p.AlloyID(), &w.Plan.PourC, m.PourTimeS
	in.ClayC, in.Clay, in.Calibration, in.RiskLimitPct = studio.ClayC, studio.Clay, studio.Calibration, studio.RiskLimitPct
	return in
}

// displaced is the metal that the stones cast in place stand for, mm³.
func displaced(plan *PiecePlan) float64 {
	sum := 0.0
	if plan.Stones != nil {
		for _, s := range plan.Stones.Stones {
			if Unfit(s.Verdict) == "" {
				sum += s.Seat.DisplacedMM3 * float64(s.Quantity)
			}
		}
	}
	return sum
}

func (p *Planner) meltIn(w *Worked) melt.In {
	m, studio := p.Piece.Mould, p.Order.Studio
	in := calc.Default[melt.In]()
	in.VolumeMM3 = p.castVolume(w, w.Cavity)
	in.StonesVolumeMM3 = displaced(&w.Plan)
	in.Sprues, in.SprueDiameterMM, in.SprueLengthMM = m.SprueCount, m.SprueDiameterMM, m.SprueLengthMM
	in.FunnelDiameterMM, in.FunnelHeadMM = m.FunnelDiameterMM, m.FunnelHeadMM
	in.Vents = &m.VentCount
	if m.VentCount > 0 {
		in.VentDiameterMM, in.VentLengthMM = m.VentDiameterMM, calc.Default[fill.Clay]().WallMM
		if studio.Clay != nil {
			in.VentLengthMM = studio.Clay.WallMM
		}
	}
	in.ReserveG, in.MeltLossPct = studio.ReserveG, studio.MeltLossPct
	in.CrucibleCapacityG, in.TorchKW, in.EfficiencyPct = studio.CrucibleCapacityG, studio.TorchKW, studio.EfficiencyPct
	in.FlaskInsideMM, in.PourTemperatureC = m.FlaskWidthMM, w.Plan.PourC
	return in
}

// finished is the mass of the finished piece without stones, in g.
func (p *Planner) finished(w *Worked) float64 {
	volume := p.finishedCavity(&w.Plan).Volume() - displaced(&w.Plan)
	g := volume / 1000 * p.Alloy.DensityGCm3()
	w.Plan.Melt.Step("finished mass", g, "g", "%.4g mm³ × %.4g g/cm³, stones taken off", volume, p.Alloy.DensityGCm3())
	return g
}

package order

import (
	"context"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/melt"
	"pourwright/internal/metal"
	"pourwright/internal/shape"
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
	moulded       sizing.Moulded
	Pour          fill.In
	ExtraMouldMin float64 // minutes beyond the plain mould
	ExtraCleanMin float64
	NotCast       []NotCast
	CastingG      float64 // of this piece, without sprue and button
	Sharing       int     // pieces of its pour, itself counted; 0 and 1: it is poured alone

	leader *Worked // the first piece of its pour, where it is not that itself
	melt   melt.In
	alloy  metal.Metal
}

// Work takes the piece through size, mould, stones and melt.
func (p *Planner) Work(ctx context.Context) (*Worked, error) {
	w, err := p.Prepare(ctx)
	if err != nil {
		return w, err
	}
	return w, p.Weigh(ctx, w)
}

// Follow follows the pour of a piece that is poured alone, once the pours are put
// together; that of a shared flask see [Pour.Follow].
func (p *Planner) Follow(ctx context.Context, w *Worked) (err error) {
	if w.Sharing > 1 {
		return w.Geometry(ctx)
	}
	pour := w.Pour
	pour.Improvements = pour.Improvements && p.Order.Improvements
	if w.Plan.Fill, err = fill.FollowSparing(ctx, pour); err != nil {
		return err
	}
	w.Plan.FailurePct = w.Plan.Fill.FailurePct
	return w.Geometry(ctx)
}

// Prepare takes the piece through size, mould and stones to its pour. With an
// error what was worked out so far stands.
func (p *Planner) Prepare(ctx context.Context) (*Worked, error) {
	w := &Worked{Piece: p.Piece, Plan: PiecePlan{Name: p.Piece.Name, Alloy: p.AlloyID(), Reasons: verdict.Reasons{}}}
	plan := &w.Plan
	var err error
	w.moulded, err = p.moulded(ctx)
	if body := w.moulded.FinishedBody; body != nil {
		if plan.InsideMM = body.InsideMM(); !body.Kind.Curved() {
			plan.LengthMM = body.LengthMM()
		}
	}
	plan.Mould = w.moulded.MouldOut
	if err != nil {
		return w, err
	}
	w.Cavity = p.cavity(&w.moulded)
	p.Piece.Mould.settle(p.Alloy, p.castVolume(w), w.Cavity.FeederMM())
	w.Piece.Mould = p.Piece.Mould
	plan.SprueDiameterMM, plan.FunnelDiameterMM = p.Piece.Mould.SprueDiameterMM, p.Piece.Mould.FunnelDiameterMM
	plan.PourC = p.Alloy.PourC()
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

// Geometry finds how the pattern parts and whether the piece is stout enough.
func (w *Worked) Geometry(ctx context.Context) (err error) {
	w.Plan.Wear = w.moulded.FinishedBody.Worn()
	w.Plan.Parting, err = w.Cavity.Parted(ctx)
	w.Plan.Mould.Cite(w.Plan.Parting.Sources()...)
	w.Plan.Mould.Cite(w.Plan.Wear.Sources()...)
	return err
}

// AlloyID is the id of the alloy that was asked for.
func (p *Planner) AlloyID() string {
	if p.Piece.Alloy != "" {
		return p.Piece.Alloy
	}
	return p.Order.Alloy
}

// Weigh finds the metal and the heat for the piece.
func (p *Planner) Weigh(ctx context.Context, w *Worked) (err error) {
	w.melt, w.alloy = p.meltIn(w), p.Alloy
	w.Plan.Melt, err = melt.PlanFor(ctx, w.melt, p.Alloy)
	w.CastingG = w.Plan.Melt.CastingMassG
	w.Plan.FinishedG = p.finished(w)
	return calc.Under("mould", err)
}

// Possible is the largest casting that so much of its metal makes, with the sprue
// and button of the least metal, and the casting that is wanted, g.
func (w *Worked) Possible(ctx context.Context, atHandG float64) (possibleG, wantedG float64, err error) {
	in := w.melt
	in.MetalAtHandG = &atHandG
	out, err := melt.PlanFor(calc.Silent(ctx), in, w.alloy)
	if err != nil {
		return 0, 0, err
	}
	return *out.CastingPossibleG, out.CastingMassG, nil
}

// wanted is the shape of the piece with its inside from the measure that was given.
func (p *Planner) wanted(ctx context.Context) (shape.Shape, error) {
	s := p.Piece.Shape
	given := 0
	for _, g := range []bool{s.InsideDiameterMM != nil || s.InsideWidthMM != nil || s.InsideHeightMM != nil, p.Piece.HandCircumferenceMM != nil, p.Piece.WristMM != nil, p.Piece.RingSize != ""} {
		if g {
			given++
		}
	}
	switch {
	case p.Piece.WristMM != nil && s.Kind != shape.Cuff:
		return s, calc.Refuse("wrist_circumference_mm", *p.Piece.WristMM, "give it for a cuff; a closed bangle goes over the hand (hand_circumference_mm)")
	case !s.Kind.Curved() && (p.Piece.HandCircumferenceMM != nil || p.Piece.RingSize != ""):
		return s, calc.Refuse("kind", s.Kind, "give no measure of the hand for a %s, or make it a bangle or ring", s.Kind)
	case s.Mesh != nil || !s.Kind.Curved() || given == 0 && p.Piece.RingSystem == "":
		return s, nil // the shape tells what it misses
	case given != 1:
		return s, calc.Refuse("inside_diameter_mm", nil, "give one of inside_diameter_mm, inside_width_mm with inside_height_mm, hand_circumference_mm (bangle), wrist_circumference_mm (cuff), and ring_system with ring_size (ring)")
	case p.Piece.RingSize != "":
		c, err := sizing.Size(p.Piece.RingSystem, p.Piece.RingSize)
		if err != nil {
			return s, calc.Refuse("ring_size", p.Piece.RingSize, "give a size of the system in ring_system: %v", err)
		}
		d := c / math.Pi
		s.InsideDiameterMM = &d
	case p.Piece.WristMM != nil:
		in := calc.Default[sizing.BangleIn]()
		in.Kind, in.WristMM = sizing.CuffBangle, p.Piece.WristMM
		if s.GapMM != nil {
			in.GapMM = *s.GapMM
		}
		in.BandWidthMM, in.ThicknessMM = p.Piece.Band()
		fit, err := sizing.BangleFits(ctx, in)
		if err != nil {
			return s, err
		}
		s.InsideDiameterMM = &fit.InsideDiameterMM
	case p.Piece.HandCircumferenceMM != nil:
		in := calc.Default[sizing.BangleIn]()
		in.HandCircumferenceMM = p.Piece.HandCircumferenceMM
		in.BandWidthMM, in.ThicknessMM = p.Piece.Band()
		fit, err := sizing.BangleFits(ctx, in)
		if err != nil {
			return s, err
		}
		s.InsideDiameterMM = &fit.InsideDiameterMM
	}
	return s, nil
}

// moulded takes the piece through size and mould.
func (p *Planner) moulded(ctx context.Context) (sizing.Moulded, error) {
	s, err := p.wanted(ctx)
	if err != nil {
		return sizing.Moulded{}, err
	}
	body, err := s.Resolve(ctx)
	if err != nil {
		return sizing.Moulded{}, err
	}
	in := calc.Default[sizing.MouldIn]()
	in.Alloy, in.Piece = p.Alloy.Ref(), string(p.Piece.Kind)
	in.StonesInPlace = len(p.Piece.Stones) > 0
	in.ContractionPct, in.ContractionSpreadPct = p.Order.Studio.ContractionPct, p.Order.Studio.ContractionSpreadPct
	if s.Wave != nil {
		in.Repeats, in.CrestDeg = s.Wave.Repeats, s.Wave.CrestDeg
	}
	if a := p.Piece.Pattern; a != nil {
		switch {
		case s.Mesh != nil || s.Weighed != nil:
			return sizing.Moulded{}, calc.Refuse("pattern", nil, "leave it out: the surface, or what was weighed, is the pattern")
		case (a.InsideWidthMM == nil) != (a.InsideHeightMM == nil):
			return sizing.Moulded{}, calc.Refuse("pattern.inside_height_mm", nil, "give inside_width_mm and inside_height_mm together")
		case (a.inside() == nil) == (a.Mesh == nil) || a.InsideDiameterMM != nil && a.InsideWidthMM != nil:
			return sizing.Moulded{}, calc.Refuse("pattern.inside_diameter_mm", nil, "give one of it, inside_width_mm with inside_height_mm, and mesh")
		}
		in.PatternInsideDiameterMM, in.PatternThicknessMM, in.PatternWidthMM = a.inside(), a.ThicknessMM, a.WidthMM
		if a.Repeats > 0 {
			in.Repeats = a.Repeats
		}
		in.PatternMesh = a.Mesh
	}
	return sizing.MouldOf(ctx, body, s.Mesh != nil || s.Weighed != nil, in)
}

// cavity is the channel as it is poured: scraped thicker and turned as asked.
func (p *Planner) cavity(m *sizing.Moulded) Cavity {
	return Cavity{m.Cavity.Thickened(p.Piece.Mould.ThickenMM), p.Piece.Mould.TurnPct / 100}
}

// castVolume is the volume of the casting, stones not taken off, mm³.
func (p *Planner) castVolume(w *Worked) float64 {
	return w.moulded.CastBody.Thickened(p.Piece.Mould.ThickenMM).VolumeMM3()
}

// filedBack is the metal that was cast too thick on purpose, g.
func (p *Planner) filedBack(w *Worked) float64 {
	return (p.castVolume(w) - w.moulded.CastBody.VolumeMM3()) / 1000 * p.Alloy.DensityGCm3()
}

// stones judges the stones wanted in the piece. Those that may not be cast in
// place are told as such; the others are the rows that narrow the channel.
func (p *Planner) stones(ctx context.Context, w *Worked) ([]Run, error) {
	if len(p.Piece.Stones) == 0 {
		return nil, nil
	}
	in := calc.Default[stone.SettingIn]()
	in.Alloy, in.MetalC, in.ClayC = p.Alloy.Ref(), w.Plan.PourC, p.Order.Studio.ClayC
	in.Section, in.HeadMM = w.Cavity.Main(), math.Inf(1)
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
func Unfit(v verdict.Level) string {
	switch v {
	case verdict.DoNotPour:
		return "set_after_casting"
	case verdict.CannotTell:
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
	in.Section = c.Main()
	way, bent := c.Way()
	switch in.Piece = "bar"; {
	case bent:
		in.Piece, in.Shape = "bangle", &way
		if c.Closed() {
			in.GatePct = 100 * c.Pattern(0)
		}
	case c.Round():
		in.Piece, in.InsideDiameterMM = "bangle", c.InsideMM()
	default:
		in.LengthMM = c.LengthMM()
	}
	if !c.Even() || len(rows) > 0 {
		in.Stations = c.Profile(rows)
	}
	in.Stance, in.Vents, in.FlaskSize = m.Stance, m.Vents, m.FlaskSize
	in.Sprues = fill.Sprues{SprueCount: m.SprueCount, SpreadDeg: m.SpreadDeg, SprueLengthMM: m.SprueLengthMM, SprueDiameterMM: m.SprueDiameterMM}
	in.FunnelHeadMM, in.FunnelDiameterMM = m.FunnelHeadMM, m.FunnelDiameterMM
	in.Alloy, in.PourC, in.PourTimeS = p.Alloy.Ref(), &w.Plan.PourC, m.PourTimeS
	in.Hand = studio.Hand
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
	in.VolumeMM3 = p.castVolume(w)
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
	volume := w.moulded.FinishedBody.VolumeMM3() - displaced(&w.Plan)
	g := volume / 1000 * p.Alloy.DensityGCm3()
	w.Plan.Melt.Step("finished mass", g, "g", "%.4g mm³ × %.4g g/cm³, stones taken off", volume, p.Alloy.DensityGCm3())
	return g
}

package commission

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"pourwright/internal/blend"
	"pourwright/internal/calc"
	"pourwright/internal/fluid"
	"pourwright/internal/order"
	"pourwright/internal/section"
	"pourwright/internal/shape"
	"pourwright/internal/sizing"
	"pourwright/internal/sprue"
	"pourwright/internal/stone"
	"pourwright/internal/verdict"
)

// BenchStep is one thing to do.
type BenchStep struct {
	Number  int    `json:"number" doc:"Place in the order of work, from 1" example:"1"`
	Piece   string `json:"piece,omitempty" doc:"The piece it is for; empty for the whole order"`
	Do      string `json:"do" doc:"What to do"`
	Caution string `json:"caution,omitempty" doc:"What to beware of while doing it"`
}

// steps gathers the steps of a plan in order.
type steps struct{ list []BenchStep }

func (s *steps) add(piece, caution, format string, args ...any) {
	s.list = append(s.list, BenchStep{len(s.list) + 1, piece, fmt.Sprintf(format, args...), caution})
}

// benchSteps orders the work: papers, scrap, then each pour from the moulds of its
// pieces to their finish. A pour that must not be made as planned stops at its
// moulds.
func (out *Out) benchSteps(in In) []BenchStep {
	var s steps
	if brought(in) {
		s.add("", "", "Weigh and photograph the client's metal and stones, and have the receipt and the consent signed.")
	}
	if broughtMetal(in) {
		s.add("", "Closed, wet or filled scrap bursts; cadmium and lead solder poison.", "Clean and dry the scrap; cut hollow pieces open; take out steel, stones, enamel, glue and solder seams.")
	}
	for _, r := range out.RefusedLots {
		s.add("", "", "Keep %s out of the melt: %s.", r.ID, r.Reason)
	}
	if spare := out.spare(in); len(spare) > 0 {
		s.add("", "", "Set aside %s, which the melt does not need, and give it back.", strings.Join(spare, ", "))
	}
	for _, r := range out.Reasons {
		if r.Level.Rank() >= verdict.NotYet.Rank() {
			s.add("", "", "%s %s", r.Do, r.Why)
		}
	}
	for turn := 1; turn <= len(out.Pieces); turn++ {
		pour := pour{out: out}
		for _, name := range out.PourOrder {
			i := slices.IndexFunc(out.Pieces, func(p order.PiecePlan) bool { return p.Name == name })
			if out.Pieces[i].PourTurn == turn {
				pour.add(&out.Pieces[i], &in.Pieces[i])
			}
		}
		pour.steps(&s)
	}
	for _, b := range out.StonesNotCast {
		switch b.What {
		case "set_after_casting":
			s.add(b.Piece, "", "Set %d × %s at the bench after casting, or give back.", b.Quantity, b.ID)
		case "ask_first":
			s.add(b.Piece, "", "Ask about %s before the pour: %s", b.ID, b.Why)
		}
	}
	if brought(in) {
		s.add("", "", "Weigh castings, button, sprues, filings and sweeps, and account to the client for the metal.")
	} else {
		s.add("", "", "Weigh castings, button, sprues, filings and sweeps: the loss is what is missing.")
	}
	return s.list
}

// spare is the clients' lots that no melt takes anything of.
func (out *Out) spare(in In) []string {
	var list []string
	for i, l := range in.Lots {
		id := cmp.Or(l.ID, fmt.Sprintf("lot %d", i+1))
		used := slices.ContainsFunc(out.Pieces, func(p order.PiecePlan) bool {
			return slices.ContainsFunc(p.Charge.Charge, func(c blend.Part) bool { return c.ID == id && c.WeighG > 0 })
		})
		at := slices.IndexFunc(out.LotsLeft, func(left blend.Left) bool { return left.ID == id })
		if l.Owner != "studio" && !used && at >= 0 {
			list = append(list, id)
		}
	}
	return list
}

// brought says whether a client brings metal or stones.
func brought(in In) bool {
	return broughtMetal(in) ||
		slices.ContainsFunc(in.Stones, func(s order.Stone) bool { return s.ClientOwned })
}

func broughtMetal(in In) bool {
	return slices.ContainsFunc(in.Lots, func(l blend.SourceLot) bool { return l.Owner != "studio" })
}

// pour is the pieces of one flask.
type pour struct {
	out    *Out
	name   string
	pieces []*order.PiecePlan
	given  []*order.Piece
}

func (o *pour) add(p *order.PiecePlan, given *order.Piece) {
	if len(o.pieces) > 0 {
		o.name += ", "
	}
	o.name += p.Name
	o.pieces, o.given = append(o.pieces, p), append(o.given, given)
}

// Hold is the weight that holds a flask shut, kg, and the widest gap at its parting
// that stays dry, mm. The metal presses on a shared flask as its layout says; the
// gap goes with one over the pressure.
func (out *Out) Hold(p *order.PiecePlan) (kg, gapMM float64) {
	f := p.Fill.Flask
	if shared := out.FlaskOf(p.Name); shared != nil {
		return shared.HoldKg, f.SpillGapMM * f.PressureKPa / shared.PressureKPa
	}
	return f.HoldKg, f.SpillGapMM
}

// steps goes from the moulds to the finished pieces.
func (o *pour) steps(s *steps) {
	if len(o.pieces) == 0 {
		return
	}
	for i, p := range o.pieces {
		mouldSteps(s, p, o.given[i])
	}
	o.channels(s)
	mould := o.given[0].Mould
	holdKg, gapMM := o.out.Hold(o.pieces[0])
	hold := fmt.Sprintf("hold it with %.1f kg laid on, or clamps", holdKg)
	if mould.Posture == "standing" {
		hold = fmt.Sprintf("clamp it across the parting with %.0f N or more (weights do not hold it)", math.Ceil(holdKg*fluid.Gravity))
	}
	s.add(o.name, "The metal drives the halves apart and spills through any gap: dry sand in a steel tray under it.", "Close the flask, %s, and %s; no gap over %.2g mm at the parting.", mould.Posture, hold, gapMM)
	if o.stops(s) {
		return
	}
	o.pour(s)
	for _, p := range o.pieces {
		finished := inside(p.Mould.Finished)
		if p.LengthMM > 0 {
			finished = fmt.Sprintf("%.1f mm long", p.LengthMM)
		}
		pickle := "pickle"
		if castsStones(p) {
			pickle = "pickle if the stones bear it"
		}
		s.add(p.Name, "Acid into water, never water into acid; goggles, gloves, no steel in the pickle.", "Saw off sprue and vents, %s, file to %s and polish.", pickle, finished)
	}
}

// stops says why the pour is not made, if it is not.
func (o *pour) stops(s *steps) bool {
	stopped := false
	stop := func(name string, reasons verdict.Reasons) {
		if level := reasons.Level(); level.Rank() >= verdict.NotYet.Rank() {
			var list []string
			for _, r := range reasons {
				if r.Level.Rank() >= verdict.NotYet.Rank() {
					list = append(list, strings.TrimSpace(r.Why+" "+r.Do))
				}
			}
			s.add(name, "", "Stop here, %s: %s", level.Phrase(), strings.Join(list, " "))
			stopped = true
		}
	}
	for _, p := range o.pieces {
		stop(p.Name, p.Reasons)
	}
	if !stopped {
		stop(o.name, o.out.Reasons)
	}
	return stopped
}

// channels cuts sprue, funnel and vents: of several pieces one funnel and one
// sprue, and a runner to each.
func (o *pour) channels(s *steps) {
	p := o.pieces[0]
	m := o.given[0].Mould.Fed(p.SprueDiameterMM, p.FunnelDiameterMM)
	vents := fmt.Sprintf("%d %s of %s mm", m.VentCount, calc.Plural(m.VentCount, "vent", "vents"), hand(m.VentDiameterMM))
	if len(o.pieces) == 1 {
		s.add(p.Name, "", "Cut %d %s of %s mm, a funnel of %s mm for %s mm of metal and %s; blow the loose clay away.",
			m.SprueCount, calc.Plural(m.SprueCount, "sprue", "sprues"), hand(m.SprueDiameterMM), hand(m.FunnelDiameterMM), hand(m.FunnelHeadMM), vents)
		return
	}
	f := o.out.FlaskOf(p.Name)
	lie := fmt.Sprintf("side by side on a level runner of %s mm under it, with a gate of %s mm to each", hand(f.RunnerMM), hand(f.GateMM))
	if f.System == sprue.Tree {
		lie = fmt.Sprintf("in pairs on both sides of it, with a gate of %s mm to each", hand(f.GateMM))
	}
	clay := calc.Default[sprue.In]()
	s.add(o.name, "", "Cut one sprue of %s mm, the pieces %s, a funnel of %s mm for %s mm of metal, and %s for each piece; keep %.0f mm of clay between the pieces and %.0f mm to the wall: the flask is %.0f × %.0f mm inside or more. Blow the loose clay away.",
		hand(f.SprueMM), lie, hand(f.FunnelMM), hand(f.HeadMM), vents, clay.BetweenMM, clay.WallMM, math.Ceil(f.WidthMM), math.Ceil(f.HeightMM))
}

// mouldSteps makes the impression of a piece.
func mouldSteps(s *steps, p *order.PiecePlan, given *order.Piece) {
	m := p.Mould
	measure := inside(m.Mould)
	if p.LengthMM > 0 {
		measure = fmt.Sprintf("%.1f mm long", m.ArcLengthMM)
	}
	at := "section"
	if !given.Uniform() {
		at = "section at the gate"
	}
	if given.Head != nil {
		at = "section beside the head"
	}
	s.add(p.Name, "Never wet the clay; a damp mould throws metal.", "Ram dry oil-bonded clay in the flask and mould the pattern: cavity %s, %s %s.", measure, at, size(m.FillSection))
	if p.Parting.Remedy != "" {
		s.add(p.Name, "", "%s", p.Parting.Remedy)
	}
	if given.Kind == shape.Drop {
		s.add(p.Name, "", "Cut the gate as a fan into the round end, up to the widest place of the drop, so that the metal enters where it is thickest.")
	}
	mouldChanges(s, p, given)
	if e := m.Edit; e != nil && e.Action != "use_as_it_is" {
		s.add(p.Name, "", "To bring the impression to size, %s; measured along its inside, cut on radii, angles from the gate. Close up and blend.", e.Instruction())
	}
	if g := m.Gain; g != nil {
		if g.PushMM > 0 {
			s.add(p.Name, "", "Push the pattern %.1f mm deeper past the parting: %.1f mm into the upper half, %.1f mm into the lower.", g.PushMM, g.UpperMM, g.LowerMM)
		}
		if g.ScrapeMM > 0 {
			s.add(p.Name, "", "Scrape %.1f mm of clay from the wall of the impression to gain thickness (%.1f g more metal).", g.ScrapeMM, g.GainedG)
		}
	}
	if p.Stones != nil {
		for j, st := range p.Stones.Stones {
			if order.Unfit(st.Verdict) == "" {
				placed := given.Stones[j]
				s.add(p.Name, "Client's stones only with written consent.", "Press %d × %s table first %.1f mm deep, the middle %s; hold with a trace of grease.", placed.Quantity, placed.ID, st.Seat.PressMM, placeOf(p, given, placed.AtPct))
			}
		}
	}
}

// inside says the inside of a band: an oval one by its width through the gate
// and its height, an open one with its gap.
func inside(m sizing.Measures) string {
	s := fmt.Sprintf("%.1f mm inside", m.InsideDiameterMM)
	if w, h := m.InsideWidthMM, m.InsideHeightMM; math.Abs(w-h) > 0.1 {
		s = fmt.Sprintf("%.1f × %.1f mm inside", w, h)
	}
	if m.GapMM > 0 {
		s += fmt.Sprintf(" with an opening of %.1f mm", m.GapMM)
	}
	return s
}

// castsStones says whether stones lie in the mould of the piece.
func castsStones(p *order.PiecePlan) bool {
	return p.Stones != nil && slices.ContainsFunc(p.Stones.Stones, func(s stone.Judgement) bool { return order.Unfit(s.Verdict) == "" })
}

// pour melts the charge and pours it.
func (o *pour) pour(s *steps) {
	p, stones, pourTime := o.pieces[0], false, 0.0
	for _, q := range o.pieces {
		stones = stones || castsStones(q)
		pourTime = max(pourTime, q.Fill.Nominal.PourTimeS)
	}
	var parts []string
	for _, c := range p.Charge.Charge {
		if c.WeighG > 0 {
			parts = append(parts, fmt.Sprintf("%.2f g of %s", c.WeighG, c.ID))
		}
	}
	if len(parts) > 1 {
		parts = append(parts, fmt.Sprintf("together %.2f g", p.Charge.MassG))
	}
	s.add(o.name, "", "Weigh out %s.", strings.Join(parts, ", "))
	time := ""
	switch low, high := p.Melt.TimeLowS/60, p.Melt.TimeHighS/60; {
	case high > 0:
		time = fmt.Sprintf(", %.1f to %.1f min at the torch, the cold dish included", low, high)
	case low > 0:
		time = fmt.Sprintf(", %.1f min at the torch or more; a weak flame never gets there", low)
	}
	s.add(o.name, "Face shield, apron, gauntlets; extract the fume; sand under the flask.", "Melt with a little borax, stir, skim and bring to %.0f °C%s.", 5*math.Round(p.PourC/5), time)
	s.add(o.name, "Stand clear of the vents; metal may spit.", "Pour without a break in about %.1f s, until metal stands in the vents and the funnel is full.", pourTime)
	cool := "Let it cool, open the flask, keep the clay that is not burnt."
	if stones {
		cool = "Let it cool to hand warmth before opening; never quench stones."
	}
	s.add(o.name, "The button burns long after it looks cold.", "%s", cool)
}

// mouldChanges says what the way to pour asks of the impression.
func mouldChanges(s *steps, p *order.PiecePlan, given *order.Piece) {
	m := given.Mould
	if m.TurnPct > 0 {
		s.add(p.Name, "", "Turn the pattern so that what lay at the gate lies %.0f %% of the way round from it.", m.TurnPct)
	}
	if m.ThickenMM > 0 {
		where := "all along"
		if t := given.ThinPlaces; len(t) > 0 {
			where = fmt.Sprintf("over %.0f mm, the middle %s", t[0].LengthMM, placeOf(p, given, t[0].AtPct))
		}
		s.add(p.Name, "", "Scrape the impression %.1f mm thicker %s; it is filed back after the casting.", m.ThickenMM, where)
	}
}

// placeOf says where a place of the pattern lies in the mould: mm from the
// gate, and on a closed band the way round and the hour.
func placeOf(p *order.PiecePlan, given *order.Piece, atPct float64) string {
	long := p.Mould.ArcLengthMM
	switch {
	case given.Kind == shape.Cuff:
		return shape.Along(atPct, long, "first end", "second end")
	case !given.Kind.Closed():
		return shape.Along(atPct, long, "gate", "far end")
	}
	at := math.Mod(atPct+given.Mould.TurnPct, 100)
	if at > 50 {
		return fmt.Sprintf("%.0f mm from the gate anticlockwise, at %s", (100-at)/100*long, shape.Clock(at))
	}
	return fmt.Sprintf("%.0f mm from the gate clockwise, at %s", at/100*long, shape.Clock(at))
}

// hand is a measure to what a hand can hold, a tenth of a mm.
func hand(mm float64) string { return strconv.FormatFloat(math.Round(10*mm)/10, 'f', -1, 64) }

func size(s section.Section) string {
	if s.Shape == section.Round {
		return fmt.Sprintf("%.1f mm round", s.ThicknessMM)
	}
	return fmt.Sprintf("%.1f × %.1f mm %s", s.ThicknessMM, s.Width(), s.Shape.Words())
}

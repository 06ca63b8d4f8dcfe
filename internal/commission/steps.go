package commission

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"pourwright/internal/blend"
	"pourwright/internal/fluid"
	"pourwright/internal/order"
	"pourwright/internal/section"
	"pourwright/internal/sizing"
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
	if things := brought(in); things != "" {
		s.add("", "", "Weigh and photograph the client's %s, and have the receipt and the consent signed.", things)
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
	if broughtMetal(in) {
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

// brought is what a client brings, "" for nothing.
func brought(in In) string {
	stones := slices.ContainsFunc(in.Stones, func(s order.Stone) bool { return s.ClientOwned })
	switch {
	case broughtMetal(in) && stones:
		return "metal and stones"
	case stones:
		return "stones"
	case broughtMetal(in):
		return "metal"
	}
	return ""
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

// steps goes from the moulds to the finished pieces.
func (o *pour) steps(s *steps) {
	if len(o.pieces) == 0 {
		return
	}
	o.each(s, mouldSteps)
	o.channels(s)
	mould := o.given[0].Mould
	flask := o.pieces[0].Fill.Flask // of a shared one all pieces have the same
	hold := fmt.Sprintf("hold it with %.1f kg laid on, or clamps", flask.HoldKg)
	if mould.Posture == "standing" {
		hold = fmt.Sprintf("clamp it across the parting with %.0f N or more (weights do not hold it)", math.Ceil(flask.HoldKg*fluid.Gravity))
	}
	s.add(o.name, "The metal drives the halves apart and spills through any gap: dry sand in a steel tray under it.", "Close the flask, %s, and %s; no gap over %.2g mm at the parting.", mould.Posture, hold, flask.SpillGapMM)
	if o.stops(s) {
		return
	}
	o.pour(s)
	o.each(s, finishSteps)
}

// each takes the steps of every piece; pieces with the same steps one after the other
// are told them once.
func (o *pour) each(s *steps, of func(s *steps, p *order.PiecePlan, given *order.Piece)) {
	var last steps
	var names []string
	tell := func() {
		for _, step := range last.list {
			s.add(strings.Join(names, ", "), step.Caution, "%s", step.Do)
		}
	}
	for i, p := range o.pieces {
		var own steps
		of(&own, p, o.given[i])
		same := slices.EqualFunc(own.list, last.list, func(a, b BenchStep) bool { return a.Do == b.Do })
		if i > 0 && !same {
			tell()
			names = nil
		}
		last, names = own, append(names, p.Name)
	}
	tell()
}

// finishSteps takes the casting to the finished piece.
func finishSteps(s *steps, p *order.PiecePlan, _ *order.Piece) {
	finished := inside(p.Mould.Finished)
	if p.LengthMM > 0 {
		finished = fmt.Sprintf("%.1f mm long", p.LengthMM)
	}
	pickle := "pickle"
	if castsStones(p) {
		pickle = "pickle if the stones bear it"
	}
	s.add("", "Acid into water, never water into acid; goggles, gloves, no steel in the pickle.", "Saw off sprue and vents, %s, file to %s and polish.", pickle, finished)
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

// inside says the inside of a band: an oval one by its width through the gate
// and its height, an open one with its gap.
func inside(m sizing.Measures) string {
	s := fmt.Sprintf("%.1f mm inside", m.InsideDiameterMM)
	if m.Oval() {
		s = fmt.Sprintf("%.1f × %.1f mm inside", m.InsideWidthMM, m.InsideHeightMM)
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

// hand is a measure to what a hand can hold, a tenth of a mm.
func hand(mm float64) string { return strconv.FormatFloat(math.Round(10*mm)/10, 'f', -1, 64) }

func size(s section.Section) string {
	if s.Shape == section.Round {
		return fmt.Sprintf("%.1f mm round", s.ThicknessMM)
	}
	return fmt.Sprintf("%.1f × %.1f mm %s", s.ThicknessMM, s.Width(), s.Shape.Words())
}

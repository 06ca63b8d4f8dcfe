package commission

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/fluid"
	"pourwright/internal/order"
	"pourwright/internal/section"
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

// benchSteps orders the work: papers, scrap, then each piece from mould to
// finish. A piece that must not be poured as planned stops at its mould.
func (out *Out) benchSteps(in In) []BenchStep {
	var s steps
	s.add("", "", "Weigh and photograph the client's metal and stones, and have the receipt and the consent signed.")
	s.add("", "Closed, wet or filled scrap bursts; cadmium and lead solder poison.", "Clean and dry the scrap; cut hollow pieces open; take out steel, stones, enamel, glue and solder seams.")
	for _, r := range out.RefusedLots {
		s.add("", "", "Keep %s out of the melt: %s", r.ID, r.Reason)
	}
	for _, name := range out.PourOrder {
		i := slices.IndexFunc(out.Pieces, func(p order.PiecePlan) bool { return p.Name == name })
		pieceSteps(&s, &out.Pieces[i], &in.Pieces[i])
	}
	for _, b := range out.StonesNotCast {
		switch b.What {
		case "set_after_casting":
			s.add(b.Piece, "", "Set %d of %s at the bench after casting, or give them back.", b.Quantity, b.ID)
		case "ask_first":
			s.add(b.Piece, "", "Ask about %s before the pour: %s", b.ID, b.Why)
		}
	}
	s.add("", "", "Weigh castings, button, sprues, filings and sweeps, and account to the client for the metal.")
	return s.list
}

func pieceSteps(s *steps, p *order.PiecePlan, given *order.Piece) {
	m := p.Mould
	measure := fmt.Sprintf("%.2f mm inside", m.Mould.InsideDiameterMM)
	if p.LengthMM > 0 {
		measure = fmt.Sprintf("%.2f mm long", m.ArcLengthMM)
	}
	s.add(p.Name, "Never wet the clay; a damp mould throws metal.", "Ram dry oil-bonded clay in the flask and mould the pattern: cavity %s, section %s.", measure, size(m.FillSection))
	mouldChanges(s, p, given)
	if e := m.Edit; e != nil && e.Action != "use_as_it_is" {
		s.add(p.Name, "", "To bring the impression to size, %s; measured along its inside, cut on radii, angles from the gate. Close up and blend.", e.Instruction())
	}
	if g := m.Gain; g != nil {
		if g.PushMM > 0 {
			s.add(p.Name, "", "Push the pattern %.2f mm deeper past the parting: %.2f mm into the upper half, %.2f mm into the lower.", g.PushMM, g.UpperMM, g.LowerMM)
		}
		if g.ScrapeMM > 0 {
			s.add(p.Name, "", "Scrape %.2f mm of clay from the wall of the impression to gain thickness (%.1f g more metal).", g.ScrapeMM, g.GainedG)
		}
	}
	if p.Stones != nil {
		for j, st := range p.Stones.Stones {
			if order.Unfit(st.Verdict) == "" {
				placed := given.Stones[j]
				s.add(p.Name, "Client's stones only with written consent.", "Press %d × %s table first %.2f mm deep, around %.0f %% of the way from the gate; hold with a trace of grease.", placed.Quantity, placed.ID, st.Seat.PressMM, placed.AtPct)
			}
		}
	}
	mould := given.Mould.Fed(p.SprueDiameterMM, p.FunnelDiameterMM)
	s.add(p.Name, "", "Cut %d %s of %.3g mm, a funnel for %.3g mm of metal and %d %s of %.2g mm; blow the loose clay away.",
		mould.SprueCount, calc.Plural(mould.SprueCount, "sprue", "sprues"), mould.SprueDiameterMM, mould.FunnelHeadMM, mould.VentCount, calc.Plural(mould.VentCount, "vent", "vents"), mould.VentDiameterMM)
	hold := fmt.Sprintf("hold it with %.1f kg laid on, or clamps", p.Fill.Flask.HoldKg)
	if mould.Posture == "standing" {
		hold = fmt.Sprintf("clamp it across the parting with %.0f N or more (weights do not hold it)", math.Ceil(p.Fill.Flask.HoldKg*fluid.Gravity))
	}
	s.add(p.Name, "The metal drives the halves apart and spills through any gap: dry sand in a steel tray under it.", "Close the flask, %s, and %s; no gap over %.2g mm at the parting.", mould.Posture, hold, p.Fill.Flask.SpillGapMM)
	pourSteps(s, p, given)
}

// pourSteps goes from the scale to the finished piece.
func pourSteps(s *steps, p *order.PiecePlan, given *order.Piece) {
	if p.Verdict.Rank() >= verdict.NotYet.Rank() {
		s.add(p.Name, "", "Stop here, %s: %s %s", p.Verdict.Phrase(), p.Reasons[0].Why, p.Reasons[0].Do)
		return
	}
	var parts []string
	for _, c := range p.Charge.Charge {
		if c.WeighG > 0 {
			parts = append(parts, fmt.Sprintf("%.2f g of %s", c.WeighG, c.ID))
		}
	}
	s.add(p.Name, "", "Weigh out %s: %.2f g.", strings.Join(parts, ", "), p.Charge.MassG)
	time := ""
	if p.Melt.TimeS > 0 {
		time = fmt.Sprintf(", about %.0f min at the torch", p.Melt.TimeS/60)
	}
	s.add(p.Name, "Face shield, apron, gauntlets; extract the fume; sand under the flask.", "Melt with a little borax, stir, skim and bring to %.0f °C%s.", p.PourC, time)
	s.add(p.Name, "Stand clear of the vents; metal may spit.", "Pour without a break in about %.2g s, until metal stands in the vents and the funnel is full.", given.Mould.PourTimeS)
	cool := "Let it cool, open the flask, keep the clay that is not burnt."
	if p.Stones != nil {
		cool = "Let it cool to hand warmth before opening; never quench stones."
	}
	s.add(p.Name, "The button burns long after it looks cold.", "%s", cool)
	finished := fmt.Sprintf("%.2f mm inside", p.InsideMM)
	if p.LengthMM > 0 {
		finished = fmt.Sprintf("%.2f mm long", p.LengthMM)
	}
	s.add(p.Name, "Acid into water, never water into acid.", "Saw off sprue and vents, pickle if the stones bear it, file to %s and polish.", finished)
}

// mouldChanges says what the way to pour asks of the impression.
func mouldChanges(s *steps, p *order.PiecePlan, given *order.Piece) {
	m := given.Mould
	if m.TurnPct > 0 {
		s.add(p.Name, "", "Turn the pattern so that what lay at the gate lies %.0f %% of the way round from it.", m.TurnPct)
	}
	if m.ThickenMM > 0 {
		where := "all along"
		if len(given.ThinPlaces) > 0 {
			where = "at the thin place"
		}
		s.add(p.Name, "", "Scrape the impression %.2g mm thicker %s; it is filed back after the casting.", m.ThickenMM, where)
	}
}

func size(s section.Section) string {
	if s.Shape == section.Round {
		return fmt.Sprintf("%.2f mm round", s.ThicknessMM)
	}
	return fmt.Sprintf("%.2f × %.2f mm %s", s.ThicknessMM, s.Width(), strings.ReplaceAll(string(s.Shape), "_", "-"))
}

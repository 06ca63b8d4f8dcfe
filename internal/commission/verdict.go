package commission

import (
	"fmt"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/order"
	"pourwright/internal/safety"
	"pourwright/internal/verdict"
)

// judge gives each piece its verdict from its parts, and the order its own: a
// plan is as good as its worst part.
func (out *Out) judge(in In) {
	for i := range out.Pieces {
		p := &out.Pieces[i]
		var r verdict.Reasons
		r.Join(p.Fill.Reasons)
		judgeMelt(&r, p)
		r.Join(p.Charge.Reasons)
		judgeStones(&r, p, out.StonesNotCast)
		judgeMould(&r, p)
		r.Join(p.Parting.Reasons(), p.Wear.Reasons)
		p.Reasons, p.Verdict = r.Sorted(), r.Level()
		out.Verdict = verdict.Worst(out.Verdict, p.Verdict)
	}
	out.Reasons = out.Reasons.Sorted()
	out.Verdict = verdict.Worst(out.Verdict, out.Reasons.Level())
	if out.Price != nil && out.Verdict.Rank() >= verdict.NotYet.Rank() { // nobody signs for what is not to be poured
		out.Price.ClientText = fmt.Sprintf("This is no quote yet: the plan says %s. The price is an estimate.", out.Verdict.Phrase())
	}
	out.Summary = out.summarise(in)
}

// roughK is the superheat over which castings come out rough and full of gas, and
// wildK that over which nobody pours into oil-bonded clay; both common practice.
const roughK, wildK = 150.0, 300.0

// enough is the share of the metal wanted that a button makes good without being told.
const enough = 0.994

func judgeMelt(r *verdict.Reasons, p *order.PiecePlan) {
	if over := p.PourC - p.Melt.LiquidusC; over > roughK {
		level := verdict.Care
		if over > wildK {
			level = verdict.DoNotPour
		}
		r.Add(verdict.Melt, level, fmt.Sprintf("Pour at %.0f °C.", p.Melt.LiquidusC+100), "%.0f °C is %.0f K over the liquidus: the skin comes out rough, and the metal takes up gas and burns the clay.", p.PourC, over)
	}
	if f := p.Melt.CrucibleFits; f != nil && !*f {
		r.Add(verdict.Melt, verdict.DoNotPour, "Take a larger crucible.", "The crucible is too small: %.0f g would fill it to %.0f %%.", p.Melt.MeltMassG, p.Melt.CrucibleFullPct)
	}
	if f := p.Melt.FlaskFits; f != nil && !*f {
		r.Add(verdict.Flask, verdict.DoNotPour, "Take a larger flask.", "The flask is too small for this piece with clay around it.")
	}
	if g := p.Charge.MassG; g < p.Melt.MeltMassG*enough {
		r.Add(verdict.Metal, verdict.DoNotPour, "Buy or bring more metal.", "Only %.2f g can be charged of the %.2f g needed.", g, p.Melt.MeltMassG)
	}
}

func judgeStones(r *verdict.Reasons, p *order.PiecePlan, notCast []order.NotCast) {
	if p.Stones == nil {
		return
	}
	for _, s := range p.Stones.Stones {
		if s.Verdict == verdict.Care {
			r.Add(verdict.Stones, verdict.Care, "Try a like stone first.", "%s: %s.", s.Gem, strings.TrimSuffix(order.Why(s), "."))
		}
		if order.Unfit(s.Verdict) == "" && !s.Seat.Carried {
			r.Add(verdict.Stones, verdict.DoNotPour, fmt.Sprintf("Make the section %.2g × %.2g mm there, or set it after casting.", s.Seat.ThicknessMinMM, s.Seat.WidthMinMM), "%s: the section is too thin or narrow to carry it.", s.Gem)
		}
	}
	for _, b := range notCast {
		if b.Piece == p.Name {
			do := map[string]string{"set_after_casting": "Set after casting, or give back.", "ask_first": "Ask before the pour.", "give_back": "Give back."}[b.What]
			r.Add(verdict.Stones, verdict.Care, do, "Not cast in place, %d × %s: %s.", b.Quantity, b.ID, strings.TrimSuffix(b.Why, "."))
		}
	}
}

func judgeMould(r *verdict.Reasons, p *order.PiecePlan) {
	for _, c := range p.Mould.Cautions {
		// What is to be said of the metal, the charge says. That no allowance is
		// published is no fault of the plan; the band of the finished size says
		// what it means.
		if c.Severity != calc.Note && c.Code != "contraction_unpublished" && !metal.CautionCode(c.Code) {
			do, why := "Settle it before the mould is made.", c.Text
			if c.Code == safety.SmallChildren.Code { // the caution stands with the order's own
				do = "Ask who wears it; for a child leave off stones and whatever can come loose."
				why = "The size is a child's in the trade's charts: see the caution for babies and small children."
			}
			r.Add(verdict.Size, verdict.Care, do, why)
		}
	}
}

func (out *Out) summarise(in In) string {
	s := fmt.Sprintf("%d %s: %s. Melt %.1f g of %s in all%s. ",
		len(out.Pieces), calc.Plural(len(out.Pieces), "piece", "pieces"), out.Verdict.Phrase(), out.MeltMassG, out.Metal(in), out.From())
	if in.Composed == "free" {
		s += out.become()
	}
	for _, p := range out.Pieces {
		measure := fmt.Sprintf("inside %.1f mm", p.InsideMM)
		if p.LengthMM > 0 {
			measure = fmt.Sprintf("%.1f mm long", p.LengthMM)
		}
		s += fmt.Sprintf("%s: %s, finished %.1f g, %s, risk %s. ", p.Name, p.Verdict.Phrase(), p.FinishedG, measure, p.Fill.Short())
	}
	if in.Studio.Hand == "beginner" {
		s += "Poured by a beginner. "
	}
	if n := len(out.StonesNotCast); n > 0 {
		count := 0
		for _, b := range out.StonesNotCast {
			count += b.Quantity
		}
		s += fmt.Sprintf("%d %s not cast in place. ", count, calc.Plural(count, "stone is", "stones are"))
	}
	switch {
	case out.BoughtMetalG > 0 && out.TestFirst != nil:
		s += out.onceTested()
	case out.Purchase != nil:
		s += out.Purchase.Text + " "
	}
	if out.Price != nil {
		s += fmt.Sprintf("Price %s %s.", out.Price.Total, out.Price.Currency)
	}
	return strings.TrimSpace(s)
}

// From says whose metal the melts are, leaving out who gives none of it.
func (out *Out) From() string {
	const least = 0.005 // g, half a step of the scale
	var list []string
	add := func(g float64, format string, args ...any) {
		if g > least {
			list = append(list, fmt.Sprintf(format, append([]any{g}, args...)...))
		}
	}
	add(out.ClientMetalG, "%.1f g of it the client's (%.0f %%)", out.ClientPct)
	add(out.MeltMassG-out.ClientMetalG-out.BoughtMetalG-out.ReturnsG, "%.1f g the studio's")
	add(out.BoughtMetalG, "%.1f g bought")
	add(out.ReturnsG, "%.1f g returns")
	switch len(list) {
	case 0:
		return ""
	case 1:
		return ", " + list[0]
	}
	return ", " + strings.Join(list[:len(list)-1], ", ") + " and " + list[len(list)-1]
}

// become says what colour and melting range came of charges whose elements were free.
func (out *Out) become() string {
	s, told := "", map[int]bool{}
	for _, p := range out.Pieces {
		c := p.Charge
		if told[p.PourTurn] {
			continue
		}
		told[p.PourTurn] = true
		s += c.Composition
		if c.Colour != nil {
			s += fmt.Sprintf(" is %s (%s)", c.Colour.Lab().Words(), c.Colour.SRGB)
		} else {
			s += " is of a colour that is not known"
		}
		if r := c.Properties; r != nil && r.Known {
			s += fmt.Sprintf(" and melts from %.0f to %.0f °C", r.SolidusC.Middle, r.LiquidusC.Middle)
		} else {
			s += "; its melting range is not known"
		}
		s += ". "
	}
	return s
}

// onceTested says what the likely findings about untested lots would come to.
func (out *Out) onceTested() string {
	s := fmt.Sprintf("Once %s is tested: ", strings.Join(out.TestFirst.Lots, ", "))
	var list []string
	for _, o := range out.TestFirst.Outcomes {
		if o.Fits {
			list = append(list, fmt.Sprintf("%s, %.1f g of the client's and %.1f g bought", o.Finding, o.ClientG, o.BoughtG))
		} else {
			list = append(list, o.Finding+", no charge meets the order")
		}
	}
	return s + strings.Join(list, "; ") + ". "
}

// Metal is what the charges are: the alloy asked for where each charge is that
// alloy, else what they are instead.
func (out *Out) Metal(in In) string {
	for i := range out.Pieces {
		m := out.Pieces[i].Charge.Match
		switch {
		case m == nil || m.IsAlloy:
		case len(m.Instead) > 0:
			return fmt.Sprintf("metal that is %s instead of %s", m.Instead[0], m.Alloy)
		default:
			return fmt.Sprintf("metal (%s) that is not %s", out.Pieces[i].Charge.Composition, m.Alloy)
		}
	}
	return in.Alloy
}

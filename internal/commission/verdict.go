package commission

import (
	"fmt"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/stone"
)

// Verdict on a pour.
type Verdict string

// The verdicts, best first.
const (
	Go      Verdict = "go"
	Care    Verdict = "go_with_care"
	DoNot   Verdict = "do_not_pour"
	unknown Verdict = ""
)

var ranks = []Verdict{unknown, Go, Care, DoNot}

func worse(a, b Verdict) Verdict {
	if slices.Index(ranks, b) > slices.Index(ranks, a) {
		return b
	}
	return a
}

// VerdictReason is one ground of a verdict.
type VerdictReason struct {
	Room    string  `json:"room" enum:"mould,stones,fill,melt,metal" doc:"Which part of the plan it comes from"`
	Verdict Verdict `json:"verdict" enum:"go,go_with_care,do_not_pour" doc:"The best verdict that this ground leaves"`
	Text    string  `json:"text" doc:"The ground"`
}

// judge gives each piece its verdict from its rooms, and the order the worst.
func (out *Out) judge(in In) {
	for i := range out.Pieces {
		p := &out.Pieces[i]
		p.Verdict = Go
		p.judgeFill(in.Studio.RiskLimitPct)
		p.judgeMelt()
		p.judgeStones(out.StonesBack)
		p.judgeMould()
		slices.SortStableFunc(p.Reasons, func(a, b VerdictReason) int {
			return slices.Index(ranks, b.Verdict) - slices.Index(ranks, a.Verdict)
		})
		out.Verdict = worse(out.Verdict, p.Verdict)
	}
	out.Summary = out.summarise(in)
}

func (p *PiecePlan) because(room string, v Verdict, format string, args ...any) {
	if r := (VerdictReason{room, v, fmt.Sprintf(format, args...)}); !slices.Contains(p.Reasons, r) {
		p.Reasons = append(p.Reasons, r)
	}
	p.Verdict = worse(p.Verdict, v)
}

func (p *PiecePlan) judgeFill(limitPct float64) {
	v := map[string]Verdict{"care": Care, "do_not_pour": DoNot}[p.Fill.Verdict]
	if v != unknown {
		worst := p.Fill.Risks[0]
		for _, r := range p.Fill.Risks {
			if r.Pct > worst.Pct {
				worst = r
			}
		}
		text := fmt.Sprintf("The pour fails with a probability of %.0f %%, more than the %.3g %% accepted; most likely by %s.", p.Fill.FailurePct, limitPct, words[worst.Kind])
		if s := p.Fill.Smallest; s != nil {
			text += fmt.Sprintf(" Enough by itself: %s (%.0f %%).", s.Change, s.FailurePct)
		}
		p.because("fill", v, "%s", text)
	}
	if !p.Fill.Feeding.LeadsToSprue {
		p.because("fill", Care, "Part of the piece freezes cut off from the sprue and may be porous; a sprue of %.2g mm would feed it.", p.Fill.Feeding.SprueMM)
	}
	if w := p.Fill.Flask.ClayWallMM; w != nil && *w < 8 {
		v := Care
		if *w < 3 {
			v = DoNot
		}
		p.because("fill", v, "Only %.2g mm of clay is left between the piece and the flask; keep 8 or more.", *w)
	}
}

var words = map[string]string{"misrun": "a misrun", "cold_shut": "a cold shut", "shrinkage": "shrinkage", "detail_loss": "lost detail"}

func (p *PiecePlan) judgeMelt() {
	if f := p.Melt.CrucibleFits; f != nil && !*f {
		p.because("melt", DoNot, "The crucible is too small: %.0f g would fill it to %.0f %%.", p.Melt.MeltMassG, p.Melt.CrucibleFullPct)
	}
	if f := p.Melt.FlaskFits; f != nil && !*f {
		p.because("melt", DoNot, "The flask is too small for this piece with clay around it.")
	}
	if g := p.Charge.MassG; g < p.Melt.MeltMassG*0.999 {
		p.because("metal", DoNot, "Only %.2f g can be charged of the %.2f g needed.", g, p.Melt.MeltMassG)
	}
}

func (p *PiecePlan) judgeStones(back []StoneBack) {
	if p.Stones == nil {
		return
	}
	for _, s := range p.Stones.Stones {
		if s.Verdict == stone.Care {
			p.because("stones", Care, "%s: %s", s.Gem, why(s))
		}
		if unfit(s.Verdict) == "" && !s.Seat.Carried {
			p.because("stones", DoNot, "%s: the section is too thin or narrow to carry it; it needs %.2g × %.2g mm.", s.Gem, s.Seat.ThicknessMinMM, s.Seat.WidthMinMM)
		}
	}
	for _, b := range back {
		if b.Piece == p.Name {
			p.because("stones", Care, "%d of %s %s not cast in place: %s", b.Quantity, b.ID, plural(b.Quantity, "is", "are"), b.Why)
		}
	}
}

func (p *PiecePlan) judgeMould() {
	for _, c := range p.Mould.Cautions {
		// That no allowance is published is no fault of the plan; the band of
		// the finished size says what it means.
		if c.Severity != calc.Note && c.Code != "contraction_unpublished" {
			p.because("mould", Care, "%s", c.Text)
		}
	}
}

func (out *Out) summarise(in In) string {
	s := fmt.Sprintf("%d %s: %s. Melt %.1f g of %s in all, %.1f g of it the client's and %.1f g bought. ",
		len(out.Pieces), plural(len(out.Pieces), "piece", "pieces"), phrase[out.Verdict], out.MeltMassG, in.Alloy, out.ClientMetalG, out.BoughtMetalG)
	for _, p := range out.Pieces {
		measure := fmt.Sprintf("inside %.1f mm", p.InsideMM)
		if p.LengthMM > 0 {
			measure = fmt.Sprintf("%.1f mm long", p.LengthMM)
		}
		s += fmt.Sprintf("%s: %s, finished %.1f g, %s, risk %.0f %%. ", p.Name, phrase[p.Verdict], p.FinishedG, measure, p.FailurePct)
	}
	if n := len(out.StonesBack); n > 0 {
		count := 0
		for _, b := range out.StonesBack {
			count += b.Quantity
		}
		s += fmt.Sprintf("%d %s not cast in place. ", count, plural(count, "stone is", "stones are"))
	}
	return s + fmt.Sprintf("Price %s %s.", out.Price.Total, out.Price.Currency)
}

var phrase = map[Verdict]string{Go: "go", Care: "go with care", DoNot: "do not pour as planned"}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

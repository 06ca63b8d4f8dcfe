package options

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/order"
	"pourwright/internal/quote"
	"pourwright/internal/safety"
)

var (
	srcFront = calc.Source{For: "options that no other beats", Text: "dominance in several respects at once (Pareto); costs of pieces add up, so the front of the order is made of the fronts of its pieces", Status: calc.Computed}
	srcTimes = calc.Source{For: "minutes of a second sprue, a runner, scraping and filing back", Text: "our guesses of studio.second_sprue_min, runner_min, scrape_min, file_back_min_per_g; time your own", Status: calc.Choice}
)

// Search searches the ways to pour an order, whose pieces are cast of alloys and
// whose stones have their places, and answers those that no other beats in risk, metal, time and cost at once; in
// the first three where bill is nil. wanted may be nil.
//
// The search is bounded: where a piece has more than 24 ways, a coarse look
// (the planned run, then 32 draws) leaves those that are assessed with all
// 512. Every way meets the same draws. Errors are refusals.
func Search(ctx context.Context, in order.Order, alloys []metal.Metal, wanted *Wanted, bill Bill) (Out, error) {
	s, err := newSearch(&in, alloys, wanted, bill)
	if err != nil {
		return Out{}, err
	}
	return s.answer(ctx)
}

func (s *search) answer(ctx context.Context) (Out, error) {
	out := Out{Options: []Option{}, Notes: calc.Noting(ctx)}
	if err := s.run(ctx); err != nil {
		return out, err
	}
	given, err := s.order(ctx, make([]int, len(s.in.Pieces)))
	if err != nil {
		return out, err
	}
	list, exact, err := s.front(ctx)
	if err != nil {
		return out, err
	}
	out.Considered, out.FrontSize, out.Exhaustive = s.considered, len(list), exact && s.all
	for _, a := range s.assessed {
		out.Assessed += len(a)
	}
	best := s.recommend(list, &out)
	for _, i := range s.show(list, best) {
		o := list[i].Option
		o.Number = len(out.Options) + 1
		o.Summary = s.summary(&list[i], &given)
		if i == best {
			out.Recommended = o.Number
		}
		out.Options = append(out.Options, o)
	}
	given.Summary = "The order as it was given."
	out.AsGiven = given.Option
	out.note(s)
	return out, nil
}

// option is a way to pour the order with its price as a number.
type option struct {
	Option
	price quote.Number
}

func (p *option) objectives() objectives {
	return objectives{p.RiskPct, p.MeltG, p.BenchMin, quote.Float(p.price)}
}

// order is the order poured with a way for each piece, by its place among those
// assessed. The lots are shared out and the price is the client's.
func (s *search) order(ctx context.Context, ways []int) (option, error) {
	p := option{Option: Option{Pieces: []PieceOption{}}}
	pieces := make([]*order.Worked, len(ways))
	logs, low, high := 0.0, 0.0, 0.0
	for i, k := range ways {
		c, given := s.assessed[i][k], &s.in.Pieces[i].Mould
		p.Pieces = append(p.Pieces, PieceOption{Name: c.worked.Plan.Name, Changes: changes(&c.mould, given, &c.worked.Plan), RiskPct: c.band.FailurePct, LowPct: c.band.LowPct, HighPct: c.band.HighPct,
			MeltG: c.worked.Plan.Melt.MeltMassG, BenchMin: c.minutes, Cost: c.costText, HoldKg: c.screen.Flask.HoldKg, Mould: c.mould})
		p.BenchMin += c.minutes
		logs += survival(c.p)
		low += survival(c.band.LowPct / 100)
		high += survival(c.band.HighPct / 100)
		pieces[i] = c.worked
	}
	p.RiskPct, p.LowPct, p.HighPct = -100*math.Expm1(-logs), -100*math.Expm1(-low), -100*math.Expm1(-high)
	p.BenchMin += s.in.Work.DesignMin + s.in.Work.PaperworkMin
	shared, err := s.in.Share(calc.Silent(ctx), pieces)
	if err != nil {
		return p, err
	}
	p.MeltG, p.BoughtG = shared.MeltMassG, shared.BoughtG
	if s.bill == nil {
		return p, nil
	}
	a, err := s.bill.Order(pieces, &shared)
	if err != nil {
		return p, err
	}
	p.price, p.Price = a.Total, a.Text(a.Total)
	return p, nil
}

// front is the options for the order that no other beats, least risk first.
func (s *search) front(ctx context.Context) ([]option, bool, error) {
	parts := make([][]objectives, len(s.assessed))
	for i, list := range s.assessed {
		parts[i] = each(list, (*candidate).objectives)
	}
	combos, exact, err := combine(ctx, parts, mostAtOnce)
	if err != nil {
		return nil, false, err
	}
	list := []option{}
	for _, c := range combos {
		p, err := s.order(ctx, c.Ways)
		var refusal *calc.Refusal
		switch {
		case errors.As(err, &refusal):
			continue // the lots do not reach so far
		case err != nil:
			return nil, false, err
		}
		if ctx.Err() != nil {
			return nil, false, ctx.Err()
		}
		list = append(list, p)
	}
	slices.SortStableFunc(list, func(a, b option) int {
		return cmp.Or(cmp.Compare(a.RiskPct, b.RiskPct), a.price.Cmp(b.price), cmp.Compare(a.BenchMin, b.BenchMin))
	})
	return list, exact, nil
}

// recommend returns the index of the option that keeps to the limits and is best
// by favour; −1 where none is.
func (s *search) recommend(plans []option, out *Out) int {
	limit := s.in.Studio.RiskLimitPct
	if s.wanted.MaxRiskPct != nil {
		limit = *s.wanted.MaxRiskPct
	}
	favour := s.wanted.Favour
	if favour == "" {
		favour = "least_price"
		if s.bill == nil {
			favour = "least_risk"
		}
	}
	best := -1
	respect := map[string]int{"least_risk": 0, "least_metal": 1, "least_time": 2, "least_price": 3}[favour]
	const scale = 0.005 // g: less bought metal than this is rounding
	leastRisk, leastBought, leastMin := math.Inf(1), math.Inf(1), math.Inf(1)
	for i := range plans {
		p := &plans[i]
		leastRisk = math.Min(leastRisk, p.RiskPct)
		if p.RiskPct <= limit {
			leastBought, leastMin = math.Min(leastBought, p.BoughtG), math.Min(leastMin, p.BenchMin)
		}
		if p.RiskPct > limit || s.wanted.NoBoughtMetal && p.BoughtG > scale || s.wanted.MaxBenchMin != nil && p.BenchMin > *s.wanted.MaxBenchMin {
			continue
		}
		if best < 0 || p.objectives()[respect] < plans[best].objectives()[respect] {
			best = i
		}
	}
	if best < 0 {
		why := fmt.Sprintf("No option keeps to all that was asked. The least risk found is %.2g %% (%.3g %% asked)", leastRisk, limit)
		if !math.IsInf(leastMin, 1) {
			why += fmt.Sprintf("; within that risk the least bought metal is %.2f g and the least time %.0f min", leastBought, leastMin)
		}
		out.WhyNone = why + ". Allow more, or consider more ways."
	}
	return best
}

// show picks the options to show: the best in each respect, the most different
// and the one recommended.
func (s *search) show(list []option, best int) []int {
	values := make([]objectives, len(list))
	for i := range list {
		values[i] = list[i].objectives()
	}
	picked := spread(values, s.wanted.Show)
	if best >= 0 && !slices.Contains(picked, best) {
		picked = append(picked, best)
		slices.Sort(picked)
	}
	return picked
}

// summary puts into a sentence what the option gains and costs against the order
// as given.
func (s *search) summary(p, given *option) string {
	var gains, pays []string
	weigh := func(diff, least float64, gain, pay string) {
		switch {
		case diff < -least:
			gains = append(gains, fmt.Sprintf(gain, -diff))
		case diff > least:
			pays = append(pays, fmt.Sprintf(pay, diff))
		}
	}
	weigh(p.RiskPct-given.RiskPct, 0.5, "about %.0f points less risk", "about %.0f points more risk")
	weigh(p.MeltG-given.MeltG, 0.05, "%.1f g less to melt", "%.1f g more to melt")
	weigh(p.BenchMin-given.BenchMin, 0.5, "%.0f min less at the bench", "%.0f min more at the bench")
	if s.bill != nil {
		currency := s.in.Prices.Currency
		weigh(quote.Float(p.price)-quote.Float(given.price), 0.005, "%.2f "+currency+" off the price", "%.2f "+currency+" on the price")
	}
	var how []string
	for _, piece := range p.Pieces {
		how = append(how, piece.Name+": "+piece.Changes)
	}
	text := "Gains nothing"
	if len(gains) > 0 {
		text = "Gains " + strings.Join(gains, ", ")
	}
	if len(pays) > 0 {
		text += "; pays with " + strings.Join(pays, ", ")
	} else if len(gains) > 0 {
		text += " at no price"
	}
	return text + ". " + strings.Join(how, ". ") + "."
}

// changes names what differs from the way as given.
func changes(m, given *order.Mould, p *order.PiecePlan) string {
	var w []string
	add := func(yes bool, format string, args ...any) {
		if yes {
			w = append(w, fmt.Sprintf(format, args...))
		}
	}
	add(m.Posture != given.Posture, "%s flask", m.Posture)
	add(m.Posture == "standing" && (m.Gate != given.Gate || m.Posture != given.Posture), "gate at the %s", m.Gate)
	add(m.SprueCount != given.SprueCount, "%d %s", m.SprueCount, calc.Plural(m.SprueCount, "sprue", "sprues"))
	add(m.TurnPct != given.TurnPct, "pattern turned by %.0f %%", m.TurnPct-given.TurnPct)
	add(m.SprueLengthMM != given.SprueLengthMM, "sprue of %.0f mm", m.SprueLengthMM)
	add(m.ThickenMM != given.ThickenMM, "scraped %.2g mm thicker and filed back", m.ThickenMM)
	add(m.PourC != given.PourC, "poured at %.0f °C", p.PourC)
	if len(w) == 0 {
		return "as given"
	}
	return strings.Join(w, ", ")
}

func (out *Out) note(s *search) {
	for i, list := range s.candidates {
		name := s.in.Pieces[i].Name
		out.Step("ways to pour "+name, float64(len(list)), "", "what the options leave, short sprues, thin walls of clay and stones at the gate left out; %d assessed", len(s.assessed[i]))
	}
	out.Step("options that no other beats", float64(out.FrontSize), "", "in −Σ ln(1 − p), metal, time and cost over the pieces; %d shown", len(out.Options))
	out.Step("risk as given", out.AsGiven.RiskPct, "%", "1 − Π (1 − p) over %d pours", len(s.in.Pieces))
	out.Cite(srcFront, srcTimes)
	out.Caution(safety.MoltenMetal, safety.DampMould)
	out.Warn("coarse_search", calc.Note, "Differences of risk below about a point are within what the model cannot tell; of two options so close take the simpler.")
	if s.in.Studio.Calibration == nil {
		out.Warn("uncalibrated", calc.Care, "The risks rest on a range of the clay's interface coefficient that nobody has measured; their order is better known than their size. A wedge test in your own clay narrows it.")
	}
}

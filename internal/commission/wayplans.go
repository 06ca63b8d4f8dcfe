package commission

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/plan"
	"pourwright/internal/safety"
)

var (
	srcFront = calc.Source{For: "plans that no other beats", Text: "dominance in several respects at once (Pareto); costs of pieces add up, so the front of the order is made of the fronts of its pieces", Status: calc.Computed}
	srcTimes = calc.Source{For: "minutes of a second sprue, a runner, scraping and filing back", Text: "our guesses of studio.second_sprue_min, runner_min, scrape_min, file_back_min_per_g; time your own", Status: calc.Choice}
)

// PourPlans searches the ways to pour an order and answers those that no other
// beats in risk, metal, time and cost at once.
//
// The search is bounded: where a piece has more than 24 ways, a coarse look
// (the planned run, then 32 draws) leaves those that are assessed with all
// 512. Every way meets the same draws. Errors are refusals.
func PourPlans(ctx context.Context, in In) (PourPlansOut, error) {
	out, _, err := pourPlans(ctx, in)
	return out, err
}

func pourPlans(ctx context.Context, in In) (PourPlansOut, *search, error) {
	out := PourPlansOut{Plans: []PourPlan{}, Notes: calc.Noting(ctx)}
	in, _, err := placed(ctx, in)
	if err != nil {
		return out, nil, err
	}
	s, err := newSearch(in)
	if err != nil {
		return out, nil, err
	}
	if err := s.run(ctx); err != nil {
		return out, nil, err
	}
	given := make([]int, len(in.Pieces))
	if out.AsGiven, err = s.order(ctx, given); err != nil {
		return out, nil, err
	}
	plans, exact, err := s.front(ctx)
	if err != nil {
		return out, nil, err
	}
	out.Considered, out.FrontSize, out.Exhaustive = s.considered, len(plans), exact && s.all
	for _, list := range s.assessed {
		out.Assessed += len(list)
	}
	taken := s.take(plans, &out)
	out.Plans = s.show(plans, taken)
	for i := range out.Plans {
		out.Plans[i].Number = i + 1
		out.Plans[i].Says = says(&out.Plans[i], &out.AsGiven, in.Prices.Currency)
		if taken >= 0 && samePlan(&out.Plans[i], &plans[taken]) {
			out.Taken = i + 1
		}
	}
	out.AsGiven.Says = "The order as it was given."
	out.note(s)
	return out, s, nil
}

// order is the plan of the order with a way for each piece, by its place among
// those assessed. The lots are shared out and the price is the client's.
func (s *search) order(ctx context.Context, ways []int) (PourPlan, error) {
	p := PourPlan{Pieces: []PiecePourPlan{}}
	whole := Out{Notes: calc.Noting(ctx)}
	logs := 0.0
	for i, k := range ways {
		c, given := s.assessed[i][k], &s.in.Pieces[i].Mould
		p.Pieces = append(p.Pieces, PiecePourPlan{Name: c.plan.Name, Way: wayWords(&c.mould, given, &c.plan), RiskPct: 100 * c.p, SEPct: 100 * c.se,
			MeltG: c.plan.Melt.MeltMassG, BenchMin: c.minutes, Cost: c.costText, HoldKg: c.screen.Flask.HoldKg, Mould: c.mould})
		p.BenchMin += c.minutes
		logs += survival(c.p)
		whole.Pieces = append(whole.Pieces, c.plan)
	}
	p.RiskPct = -100 * math.Expm1(-logs)
	p.BenchMin += s.in.Work.DesignMin + s.in.Work.PaperworkMin
	ctx = calc.Silent(ctx)
	if err := whole.charge(ctx, s.in, s.alloys); err != nil {
		return p, err
	}
	if err := whole.price(ctx, s.in, s.alloys); err != nil {
		return p, err
	}
	p.MeltG, p.BoughtG, p.Price = whole.MeltMassG, whole.BoughtMetalG, whole.Price.Total
	return p, nil
}

// front is the plans of the order that no other beats, least risk first.
func (s *search) front(ctx context.Context) ([]PourPlan, bool, error) {
	parts := make([][]plan.Goods, len(s.assessed))
	for i, list := range s.assessed {
		parts[i] = each(list, (*candidate).goods)
	}
	combos, exact, err := plan.Combine(ctx, parts, mostAtOnce)
	if err != nil {
		return nil, false, err
	}
	plans := []PourPlan{}
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
		plans = append(plans, p)
	}
	slices.SortStableFunc(plans, func(a, b PourPlan) int {
		return cmp.Or(cmp.Compare(a.RiskPct, b.RiskPct), cmp.Compare(money(a.Price), money(b.Price)), cmp.Compare(a.BenchMin, b.BenchMin))
	})
	return plans, exact, nil
}

func money(text string) float64 {
	v, _ := strconv.ParseFloat(text, 64)
	return v
}

func (p *PourPlan) goods() plan.Goods {
	return plan.Goods{p.RiskPct, p.MeltG, p.BenchMin, money(p.Price)}
}

// take returns the index of the plan that keeps to the limits and is best by
// favour; −1 where none is.
func (s *search) take(plans []PourPlan, out *PourPlansOut) int {
	limit := s.in.Studio.RiskLimitPct
	if s.ways.MostRiskPct != nil {
		limit = *s.ways.MostRiskPct
	}
	best := -1
	respect := map[string]int{"least_risk": 0, "least_metal": 1, "least_time": 2, "least_price": 3}[s.ways.Favour]
	const scale = 0.005 // g: less bought metal than this is rounding
	leastRisk, leastBought, leastMin := math.Inf(1), math.Inf(1), math.Inf(1)
	for i := range plans {
		p := &plans[i]
		leastRisk = math.Min(leastRisk, p.RiskPct)
		if p.RiskPct <= limit {
			leastBought, leastMin = math.Min(leastBought, p.BoughtG), math.Min(leastMin, p.BenchMin)
		}
		if p.RiskPct > limit || s.ways.NoBoughtMetal && p.BoughtG > scale || s.ways.MostBenchMin != nil && p.BenchMin > *s.ways.MostBenchMin {
			continue
		}
		if best < 0 || p.goods()[respect] < plans[best].goods()[respect] {
			best = i
		}
	}
	if best < 0 {
		why := fmt.Sprintf("No plan keeps to all that was asked. The least risk found is %.2g %% (%.3g %% asked)", leastRisk, limit)
		if !math.IsInf(leastMin, 1) {
			why += fmt.Sprintf("; within that risk the least bought metal is %.2f g and the least time %.0f min", leastBought, leastMin)
		}
		out.WhyNone = why + ". Allow more, or consider more ways."
	}
	return best
}

// show picks the plans to show: the best in each respect, the most different
// and the one taken.
func (s *search) show(plans []PourPlan, taken int) []PourPlan {
	goods := make([]plan.Goods, len(plans))
	for i := range plans {
		goods[i] = plans[i].goods()
	}
	picked := plan.Spread(goods, s.ways.Show)
	if taken >= 0 && !slices.Contains(picked, taken) {
		picked = append(picked, taken)
		slices.Sort(picked)
	}
	shown := make([]PourPlan, len(picked))
	for k, i := range picked {
		shown[k] = plans[i]
	}
	return shown
}

func samePlan(a, b *PourPlan) bool {
	return slices.EqualFunc(a.Pieces, b.Pieces, func(x, y PiecePourPlan) bool { return x.Mould == y.Mould })
}

// says puts into a sentence what the plan gains and pays against the order as given.
func says(p, given *PourPlan, currency string) string {
	var gains, pays []string
	weigh := func(diff, least float64, gain, pay string) {
		switch {
		case diff < -least:
			gains = append(gains, fmt.Sprintf(gain, -diff))
		case diff > least:
			pays = append(pays, fmt.Sprintf(pay, diff))
		}
	}
	weigh(p.RiskPct-given.RiskPct, 0.05, "%.1f points less risk", "%.1f points more risk")
	weigh(p.MeltG-given.MeltG, 0.05, "%.1f g less to melt", "%.1f g more to melt")
	weigh(p.BenchMin-given.BenchMin, 0.5, "%.0f min less at the bench", "%.0f min more at the bench")
	weigh(money(p.Price)-money(given.Price), 0.005, "%.2f "+currency+" off the price", "%.2f "+currency+" on the price")
	var how []string
	for _, piece := range p.Pieces {
		how = append(how, piece.Name+": "+piece.Way)
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

// wayWords names what differs from the way as given.
func wayWords(m, given *Mould, p *PiecePlan) string {
	var w []string
	add := func(yes bool, format string, args ...any) {
		if yes {
			w = append(w, fmt.Sprintf(format, args...))
		}
	}
	add(m.Posture != given.Posture, "%s flask", m.Posture)
	add(m.Posture == "standing" && (m.Gate != given.Gate || m.Posture != given.Posture), "gate at the %s", m.Gate)
	add(m.SprueCount != given.SprueCount, "%d %s", m.SprueCount, plural(m.SprueCount, "sprue", "sprues"))
	add(m.TurnPct != given.TurnPct, "pattern turned by %.0f %%", m.TurnPct-given.TurnPct)
	add(m.SprueLengthMM != given.SprueLengthMM, "sprue of %.0f mm", m.SprueLengthMM)
	add(m.ThickenMM != given.ThickenMM, "scraped %.2g mm thicker and filed back", m.ThickenMM)
	add(m.PourC != given.PourC, "poured at %.0f °C", p.PourC)
	if len(w) == 0 {
		return "as given"
	}
	return strings.Join(w, ", ")
}

func (out *PourPlansOut) note(s *search) {
	for i, list := range s.candidates {
		name := s.in.Pieces[i].Name
		out.Step("ways to pour "+name, float64(len(list)), "", "what the options leave, short sprues, thin walls of clay and stones at the gate left out; %d assessed", len(s.assessed[i]))
	}
	out.Step("plans that no other beats", float64(out.FrontSize), "", "in −Σ ln(1 − p), metal, time and cost over the pieces; %d shown", len(out.Plans))
	out.Step("risk as given", out.AsGiven.RiskPct, "%", "1 − Π (1 − p) over %d pours", len(s.in.Pieces))
	out.Cite(srcFront, srcTimes)
	out.Caution(safety.MoltenMetal, safety.DampMould)
	out.Warn("coarse_search", calc.Note, "Differences of risk below about a point are within what the model cannot tell; of two plans so close take the simpler.")
	if s.in.Studio.Calibration == nil {
		out.Warn("uncalibrated", calc.Care, "The risks rest on a range of the clay's interface coefficient that nobody has measured; their order is better known than their size. A wedge test in your own clay narrows it.")
	}
}

// pouredBest returns the order with the moulds of the plan that was asked for.
func pouredBest(ctx context.Context, in In) (In, *PourPlan, error) {
	out, _, err := pourPlans(ctx, in)
	if err != nil {
		return in, nil, err
	}
	number := out.Taken
	if in.Ways.Plan != nil {
		if number = *in.Ways.Plan; number > len(out.Plans) {
			return in, nil, calc.Refuse("ways.plan", number, "give 1 to %d, as pour-plans numbers them for this order", len(out.Plans))
		}
	}
	if number == 0 {
		return in, nil, &calc.Refusal{Detail: out.WhyNone, Faults: []calc.Fault{{Field: "ways", Accepts: "allow more risk, metal or time, or consider more ways"}}}
	}
	chosen := out.Plans[number-1]
	in.Pieces = slices.Clone(in.Pieces)
	for i := range in.Pieces {
		in.Pieces[i].Mould = chosen.Pieces[i].Mould
	}
	return in, &chosen, nil
}

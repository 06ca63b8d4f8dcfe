package blend

import (
	"context"
	"math"
	"slices"

	"pourwright/internal/metal"
)

// fineTol bounds the rounding of a sum of mass fractions, 1 being all.
const fineTol = 1e-12

// DefaultResolutionG is the step of a common pocket scale.
const DefaultResolutionG = 0.01

// Content is what a melt holds when given masses of the lots go in.
type Content struct {
	MassG       float64
	Least, Most metal.Composition // mass fractions in the worst and the best case of each element
	Middle      metal.Composition // most likely
}

// Content returns what melt b holds for masses by melt and lot, returns of
// earlier melts included.
func (p *Programme) Content(massG [][]float64, b int) Content {
	c := Content{Least: metal.Composition{}, Most: metal.Composition{}, Middle: metal.Composition{}}
	symbol := p.Melts[b].Metal
	carry := p.carry()
	for a := 0; a <= b; a++ {
		for k, x := range massG[a] {
			x *= carry[a][b]
			if x == 0 {
				continue
			}
			c.MassG += x
			for e, f := range p.Lots[k].Least {
				c.Least[e] += x * f
			}
			for e, f := range p.Lots[k].Most {
				c.Most[e] += x * f
			}
			for e, f := range p.Lots[k].likely(symbol) {
				c.Middle[e] += x * f
			}
		}
	}
	if c.MassG > 0 {
		for e := range c.Middle {
			c.Middle[e] /= c.MassG
		}
		for e := range c.Least {
			c.Least[e] /= c.MassG
		}
		for e := range c.Most {
			c.Most[e] /= c.MassG
		}
	}
	return c
}

// Weighing is a plan as a scale can weigh it out.
type Weighing struct {
	MassG   [][]float64 // by melt and lot
	Rounded bool        // false where no rounding keeps the limits: the masses are then the plan's own
}

// Weigh solves the programme and rounds its masses to what a scale of the
// given resolution can weigh out: metal at or above the fineness up, metal
// below it down, a whole lot as it is. The rounded plan is checked against
// every limit; where rounding breaks one, that limit is drawn in by the breach
// and the programme solved again. A melt of exact mass comes within one step
// of the scale if any lot can be varied by a step.
func (p *Programme) Weigh(ctx context.Context, resolutionG float64) (exact *Plan, w Weighing, err error) {
	if exact, err = p.Solve(ctx); err != nil {
		return nil, Weighing{}, err
	}
	unrounded := Weighing{exact.MassG, false}
	drawn, plan := *p, exact
	drawn.Melts = slices.Clone(p.Melts)
	for b := range drawn.Melts {
		drawn.Melts[b].Limits = slices.Clone(p.Melts[b].Limits)
	}
	for pull := 1.01; pull < 1000; pull *= 2 { // ever harder: the next grid point may be several breaches away
		massG := p.round(plan.MassG, resolutionG)
		if !p.drawIn(&drawn, massG, pull) {
			return exact, Weighing{massG, true}, nil
		}
		if plan, err = drawn.Solve(ctx); err != nil { // no room to round in
			return exact, unrounded, ctx.Err()
		}
	}
	return exact, unrounded, nil
}

// drawIn tightens in drawn what the weighed masses break in p, by the breach
// times pull, and reports whether there was anything.
func (p *Programme) drawIn(drawn *Programme, weighedG [][]float64, pull float64) (broken bool) {
	for b := range p.Melts {
		melt, c := &p.Melts[b], p.Content(weighedG, b)
		if over := p.scrapShare(weighedG, b) - melt.ScrapShare; over > fineTol {
			drawn.Melts[b].ScrapShare = max(0, drawn.Melts[b].ScrapShare-pull*over-fineTol)
			broken = true
		}
		if short := melt.Fineness - c.Least[melt.Metal]; short > fineTol {
			drawn.Melts[b].Fineness += pull*short + fineTol
			broken = true
		}
		for i, l := range melt.Limits {
			if over := c.Most[l.Element] - l.Most; over > fineTol {
				drawn.Melts[b].Limits[i].Most -= pull*over + fineTol
				broken = true
			}
			if under := l.Least - c.Least[l.Element]; under > fineTol {
				drawn.Melts[b].Limits[i].Least += pull*under + fineTol
				broken = true
			}
		}
	}
	return broken
}

// scrapShare is the part of melt b that is scrap or returns.
func (p *Programme) scrapShare(massG [][]float64, b int) float64 {
	carry := p.carry()
	scrap, all := 0.0, 0.0
	for a := 0; a <= b; a++ {
		for k, x := range massG[a] {
			x *= carry[a][b]
			all += x
			if !p.Lots[k].Bought {
				scrap += x
			}
		}
	}
	if all == 0 {
		return 0
	}
	return scrap / all
}

// round is the directed rounding of Weigh, with the mass put right after.
func (p *Programme) round(massG [][]float64, step float64) [][]float64 {
	left := make([]float64, len(p.Lots))
	for k := range left {
		left[k] = p.Lots[k].StockG
		for a := range massG {
			left[k] -= massG[a][k]
		}
	}
	out := make([][]float64, len(massG))
	for b, masses := range massG {
		melt := &p.Melts[b]
		out[b] = make([]float64, len(masses))
		for k, x := range masses {
			lot := &p.Lots[k]
			const slip = 1e-9 // of a step: the solver's rounding is not a reason for a further step
			units := math.Floor(x/step + slip)
			switch {
			case x <= slip*step:
				continue
			case lot.StockG-x <= slip*step || lot.Whole && len(massG) == 1:
				out[b][k] = lot.StockG
				continue
			case lot.Least[melt.Metal] >= melt.Fineness:
				if up := math.Ceil(x/step - slip); grid(up, step)-x <= left[k]+slip*step {
					units = up
				}
			}
			out[b][k] = grid(units, step)
			left[k] -= out[b][k] - x
		}
		p.trim(out, b, step, left)
	}
	return out
}

// grid is n steps, without the tail of a binary product (0.01 × 846 = 8.46).
func grid(n, step float64) float64 {
	if inverse := math.Round(1 / step); inverse >= 1 && math.Abs(inverse*step-1) < 1e-12 {
		return n / inverse
	}
	return n * step
}

// trim moves the mass of melt b back between its bounds, a step at a time,
// by moves that break no limit.
func (p *Programme) trim(massG [][]float64, b int, step float64, left []float64) {
	melt := &p.Melts[b]
	for range 2 * len(p.Lots) {
		c := p.Content(massG[:b+1], b)
		direction := 0.0
		switch {
		case c.MassG > melt.MostG+step/2:
			direction = -1
		case c.MassG < melt.LeastG-step/2:
			direction = 1
		default:
			return
		}
		best := -1
		for k := range p.Lots {
			lot, x := &p.Lots[k], massG[b][k]
			if lot.Whole || x == 0 || x >= lot.StockG && direction < 0 && !lot.Bought || direction > 0 && left[k] < step || direction < 0 && x < step {
				continue
			}
			massG[b][k] = grid(math.Round(x/step)+direction, step)
			ok := p.holds(massG, b)
			massG[b][k] = x
			if ok && (best < 0 || p.rather(k, best, direction, melt)) {
				best = k
			}
		}
		if best < 0 {
			return
		}
		was := massG[b][best]
		massG[b][best] = grid(math.Round(was/step)+direction, step)
		left[best] -= massG[b][best] - was
	}
}

// rather prefers, for a step up, finer metal and scrap to bought metal; for a
// step down, poorer metal and bought to scrap.
func (p *Programme) rather(k, than int, direction float64, melt *Melt) bool {
	a, b := &p.Lots[k], &p.Lots[than]
	if a.Bought != b.Bought {
		return a.Bought == (direction < 0)
	}
	if x, y := a.Least[melt.Metal], b.Least[melt.Metal]; x != y {
		return (x > y) == (direction > 0)
	}
	return a.ID < b.ID
}

// holds reports whether melt b keeps its fineness and its element limits.
func (p *Programme) holds(massG [][]float64, b int) bool {
	melt, c := &p.Melts[b], p.Content(massG[:b+1], b)
	if c.Least[melt.Metal] < melt.Fineness-fineTol || p.scrapShare(massG[:b+1], b) > melt.ScrapShare+fineTol {
		return false
	}
	for _, l := range melt.Limits {
		if c.Most[l.Element] > l.Most+fineTol || c.Least[l.Element] < l.Least-fineTol {
			return false
		}
	}
	return true
}

// crumb is the share of all charges below which nobody buys metal, if a little
// less of the clients' does as well. Ours: 0.1 g of 20 g.
const crumb = 0.005

// withoutCrumbs is the plan without what it buys where that is next to nothing
// and the lots do without it: the same charge, with a crumb less of the clients'
// metal, or a crumb less in all. Where they do not, the plan stands.
func (q *question) withoutCrumbs(ctx context.Context, plan *Plan, w Weighing) (*Plan, Weighing) {
	if q.in.Objective != LeastFine {
		return plan, w
	}
	bought, clients, all := q.shares(w)
	if bought == 0 || bought > crumb*all {
		return plan, w
	}
	p := q.programme
	p.Lots = slices.Clone(p.Lots)
	for k := range p.Lots {
		if p.Lots[k].Bought {
			p.Lots[k].StockG = 0
		}
	}
	for _, lighter := range []bool{false, true} {
		if lighter && !p.lighten(ctx) {
			break
		}
		other, weighed, err := p.Weigh(ctx, q.in.ResolutionG)
		if err != nil || !weighed.Rounded || other.Loosened && !plan.Loosened {
			continue
		}
		if _, left, _ := q.shares(weighed); clients-left <= 2*crumb*all {
			q.programme.Lots = p.Lots
			return other, weighed
		}
	}
	return plan, w
}

// lighten takes up to a crumb from the mass of each melt, as little as its lots
// allow that are not bought; false where that does not do either.
func (p *Programme) lighten(ctx context.Context) bool {
	p.Melts = slices.Clone(p.Melts)
	for b := range p.Melts {
		p.Melts[b].LeastG *= 1 - crumb
	}
	most := *p
	most.Objective = MostClient
	plan, err := most.Solve(ctx)
	if err != nil {
		return false
	}
	for b := range p.Melts {
		g := p.Content(plan.MassG, b).MassG
		p.Melts[b].LeastG, p.Melts[b].MostG = g, g
	}
	return true
}

// shares is the mass of all charges that is bought, the clients', and all, g.
func (q *question) shares(w Weighing) (bought, clients, all float64) {
	for _, masses := range w.MassG {
		for k, x := range masses {
			all += x
			switch lot := &q.programme.Lots[k]; {
			case lot.Bought:
				bought += x
			case lot.clients():
				clients += x
			}
		}
	}
	return bought, clients, all
}

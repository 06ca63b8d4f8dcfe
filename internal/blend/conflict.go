package blend

import (
	"context"
	"math"
	"slices"

	"pourwright/internal/blend/lp"
)

// Conflict is the error of a programme that no plan can meet.
type Conflict struct {
	programme *Programme
	model     *model
}

func (c *Conflict) Error() string { return "no blend meets all the limits" }

// limitKind names the kinds of limit that can stand in a conflict.
type limitKind int

const (
	leastMass limitKind = iota
	mostMass
	fineness
	ceiling
	elementMost
	elementLeast
	scrapShare
	wholeLot
	undividedLot
	lotStock
	scrapStock // of all the scrap together, where the lots are many
)

// Bound is one limit of a programme.
type Bound struct {
	kind  limitKind
	melt  int // −1 when it is a lot's over all melts
	lot   int // −1 when it is a melt's
	limit int // index of the element limit
	relax func(*task)
}

// fewLots is how many stocks a conflict names one by one; more are taken
// together, which keeps the explanation readable and quick.
const fewLots = 30

// bounds lists every limit that could be lifted.
func (m *model) bounds(p *Programme) []Bound {
	inf := math.Inf(1)
	var list, stocks []Bound
	for r, row := range m.rows {
		low := func(q *task) { q.RowLow[r] = -inf }
		high := func(q *task) { q.RowHigh[r] = inf }
		add := func(kind limitKind, relax func(*task)) {
			list = append(list, Bound{kind, row.melt, -1, row.of, relax})
		}
		switch row.kind {
		case rowMass:
			add(leastMass, low)
			add(mostMass, high)
		case rowFineness:
			add(fineness, low)
		case rowCeiling:
			add(ceiling, high)
		case rowElementMost:
			add(elementMost, high)
		case rowElementLeast:
			add(elementLeast, low)
		case rowScrap:
			add(scrapShare, high)
		case rowLot:
			stocks = append(stocks, Bound{lotStock, -1, row.of, 0, high})
			if p.Lots[row.of].Whole {
				list = append(list, Bound{wholeLot, -1, row.of, 0, low})
			}
		}
	}
	if len(p.Melts) == 1 {
		for k, j := range m.column[0] {
			if j < 0 {
				continue
			}
			if p.Lots[k].Whole {
				list = append(list, Bound{wholeLot, -1, k, 0, func(q *task) { q.Low[j] = 0 }})
			}
			if !math.IsInf(p.Lots[k].StockG, 1) {
				stocks = append(stocks, Bound{lotStock, -1, k, 0, func(q *task) { q.High[j] = inf }})
			}
		}
	}
	for _, u := range m.problem.undivided {
		list = append(list, Bound{undividedLot, -1, u.lot, 0, func(q *task) {
			q.undivided = slices.DeleteFunc(slices.Clone(q.undivided), func(v undivided) bool { return v.lot == u.lot })
		}})
	}
	return append(list, together(stocks, p)...)
}

// together replaces the stocks of many lots of scrap by one bound.
func together(stocks []Bound, p *Programme) []Bound {
	if len(stocks) <= fewLots {
		return stocks
	}
	var scrap, rest []Bound
	for _, b := range stocks {
		if p.Lots[b.lot].Bought {
			rest = append(rest, b)
		} else {
			scrap = append(scrap, b)
		}
	}
	return append(rest, Bound{scrapStock, -1, -1, 0, func(q *task) {
		for _, b := range scrap {
			b.relax(q)
		}
	}})
}

// Irreducible returns limits that cannot be met together, of which every
// proper part can: each is lifted in turn, and put back only if the rest can
// then be met (the deletion filter of J. W. Chinneck and E. W. Dravnieks,
// ORSA J. Comput. 3 (1991) 157-168).
func (c *Conflict) Irreducible(ctx context.Context) ([]Bound, error) {
	q := c.stated()
	kept := []Bound{}
	seen := map[int]bool{} // undivided lots stand in one column a melt
	for _, b := range c.model.bounds(c.programme) {
		if b.kind == undividedLot {
			if seen[b.lot] {
				continue
			}
			seen[b.lot] = true
		}
		tried := q.copied()
		b.relax(&tried)
		sol, err := tried.solve(ctx)
		if err != nil {
			return nil, err
		}
		if sol.Status == lp.Infeasible {
			q = tried
		} else {
			kept = append(kept, b)
		}
	}
	return kept, nil
}

// stated is the programme without an objective, its greatest masses as rows only.
func (c *Conflict) stated() task {
	q := c.model.problem.copied()
	q.Costs = [][]float64{make([]float64, len(q.Columns))}
	for _, columns := range c.model.column { // the crucible's limit is the mass row's to state
		for k, j := range columns {
			switch {
			case j < 0:
			case len(c.programme.Melts) == 1:
				q.High[j] = c.programme.Lots[k].StockG
			default:
				q.High[j] = math.Inf(1)
			}
		}
	}
	return q
}

// Enough reports of each bound whether lifting it alone lets all the other
// limits be met. An irreducible set may hold none such: another conflict then
// stands beside it.
func (c *Conflict) Enough(ctx context.Context, set []Bound) ([]bool, error) {
	enough := make([]bool, len(set))
	for i, b := range set {
		q := c.stated()
		b.relax(&q)
		sol, err := q.solve(ctx)
		if err != nil {
			return nil, err
		}
		enough[i] = sol.Status != lp.Infeasible
	}
	return enough, nil
}

// copied returns t with bounds of its own.
func (t task) copied() task {
	t.Low, t.High = clone(t.Low), clone(t.High)
	t.RowLow, t.RowHigh = clone(t.RowLow), clone(t.RowHigh)
	return t
}

func clone(v []float64) []float64 { return append([]float64(nil), v...) }

// altered returns the programme with melts and lots of its own, for asking
// what another limit would allow.
func (c *Conflict) altered() Programme {
	p := *c.programme
	p.Apportion = AnyShare
	p.Melts, p.Lots = slices.Clone(p.Melts), slices.Clone(p.Lots)
	return p
}

// costs makes a cost of each gram that ends up in melt b.
func (m *model) costs(p *Programme, b int, per func(*Lot) float64) []float64 {
	cost := make([]float64, len(m.problem.Columns))
	for a := 0; a <= b; a++ {
		for k, j := range m.column[a] {
			if j >= 0 {
				cost[j] = m.carry[a][b] * per(&p.Lots[k])
			}
		}
	}
	return cost
}

// HighestFineness returns the greatest worst-case fineness of melt b, as a
// mass fraction, that all the other limits allow, or if none does, that they
// allow at any mass; false if none even then.
//
// A fraction of two linear forms is made greatest by Dinkelbach's iteration
// (Manage. Sci. 13 (1967) 492-498): the melt whose surplus over the last
// fineness is greatest has the next.
func (c *Conflict) HighestFineness(ctx context.Context, b int) (float64, bool, error) {
	p := c.altered()
	melt := &p.Melts[b]
	melt.Fineness = -1 // no limit
	if t, ok, err := p.finestMelt(ctx, b, c.programme.Melts[b].Fineness); ok || err != nil {
		return t, ok, err
	}
	melt.LeastG, melt.MostG = 0, math.Inf(1)
	return p.finestMelt(ctx, b, c.programme.Melts[b].Fineness)
}

// finestMelt is Dinkelbach's iteration from the fineness t.
func (p *Programme) finestMelt(ctx context.Context, b int, t float64) (float64, bool, error) {
	symbol, m := p.Melts[b].Metal, p.model()
	fine := m.costs(p, b, func(l *Lot) float64 { return l.Least[symbol] })
	mass := m.costs(p, b, func(*Lot) float64 { return 1 })
	for range 50 {
		m.problem.Costs = [][]float64{m.costs(p, b, func(l *Lot) float64 { return t - l.Least[symbol] })}
		sol, err := m.problem.solve(ctx)
		switch {
		case err != nil || sol.Status == lp.Infeasible:
			return 0, false, err
		case sol.Status == lp.Unbounded: // an endless stock is finer than t, and no limit on the mass
			return p.finest(b), true, nil
		}
		total := product(mass, sol.X)
		if total <= 0 {
			return 0, false, nil
		}
		next := product(fine, sol.X) / total
		if math.Abs(next-t) <= fineTol {
			return next, true, nil
		}
		t = next
	}
	return t, true, nil
}

func product(a, b []float64) float64 {
	s := 0.0
	for i := range a {
		s += a[i] * b[i]
	}
	return s
}

// finest is the worst-case fineness of the finest lot that melt b may have.
func (p *Programme) finest(b int) float64 {
	best := 0.0
	for k := range p.Lots {
		if !p.Melts[b].bars(&p.Lots[k]) {
			best = max(best, p.Lots[k].Least[p.Melts[b].Metal])
		}
	}
	return best
}

// LargestMass returns the greatest mass of melt b that meets its fineness and
// the other limits; false if none does or nothing bounds it.
func (c *Conflict) LargestMass(ctx context.Context, b int) (float64, bool, error) {
	return c.extremeMass(ctx, b, -1)
}

// SmallestMass returns the least mass, above none, that does.
func (c *Conflict) SmallestMass(ctx context.Context, b int) (float64, bool, error) {
	return c.extremeMass(ctx, b, 1)
}

// extremeMass makes sign times the mass of melt b least, with the mass itself
// unlimited in that direction, and where it was to be exact in both.
func (c *Conflict) extremeMass(ctx context.Context, b int, sign float64) (float64, bool, error) {
	p := c.altered()
	melt := &p.Melts[b]
	exact := melt.LeastG >= melt.MostG
	if sign > 0 || exact {
		melt.MostG = math.Inf(1)
	}
	if sign < 0 || exact {
		melt.LeastG = 0
	}
	m := p.model()
	m.problem.Costs = [][]float64{m.costs(&p, b, func(*Lot) float64 { return sign })}
	sol, err := m.problem.solve(ctx)
	if err != nil || sol.Status != lp.Optimal || sign*sol.Value <= 0 {
		return 0, false, err
	}
	return sign * sol.Value, true, nil
}

// Mend returns the least mass of the extra metal, over all melts, that makes
// the programme possible; with free, the melts may also grow past their
// greatest mass. False if no mass of it does.
func (c *Conflict) Mend(ctx context.Context, extra Lot, free bool) (float64, bool, error) {
	p := c.altered()
	extra.Bought, extra.StockG, extra.Whole, extra.Undivided = true, math.Inf(1), false, false
	p.Lots = append(p.Lots, extra)
	if free {
		for b := range p.Melts {
			p.Melts[b].MostG = math.Inf(1)
		}
	}
	m := p.model()
	cost := make([]float64, len(m.problem.Columns))
	for _, columns := range m.column {
		cost[columns[len(p.Lots)-1]] = 1
	}
	m.problem.Costs = [][]float64{cost}
	sol, err := m.problem.solve(ctx)
	if err != nil || sol.Status != lp.Optimal {
		return 0, false, err
	}
	return sol.Value, true, nil
}

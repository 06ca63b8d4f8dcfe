package blend

import (
	"context"
	"math"

	"pourwright/internal/blend/lp"
)

// Conflict is the error of a programme that no plan can meet.
type Conflict struct {
	programme *Programme
	model     *model
	ray       []float64 // proof from the solver
}

func (c *Conflict) Error() string { return "no blend meets all the limits" }

// limitKind names the kinds of limit that can stand in a conflict.
type limitKind string

const (
	leastMass    limitKind = "least_mass"
	mostMass     limitKind = "most_mass"
	fineness     limitKind = "fineness"
	elementMost  limitKind = "element_at_most"
	elementLeast limitKind = "element_at_least"
	scrapShare   limitKind = "scrap_share"
	wholeLot     limitKind = "whole_lot"
	lotStock     limitKind = "stock"
	evenShare    limitKind = "even_share"
)

// Bound is one limit of a programme.
type Bound struct {
	Kind  limitKind
	Melt  int // −1 when it is a lot's over all melts
	Lot   int // −1 when it is a melt's
	Limit int // index of the element limit
	relax func(*lp.Problem)
}

// bounds lists every limit that could be lifted.
func (m *model) bounds(p *Programme) []Bound {
	inf := math.Inf(1)
	var list []Bound
	add := func(kind limitKind, melt, lot, limit int, relax func(*lp.Problem)) {
		list = append(list, Bound{kind, melt, lot, limit, relax})
	}
	for r, row := range m.rows {
		low := func(q *lp.Problem) { q.RowLow[r] = -inf }
		high := func(q *lp.Problem) { q.RowHigh[r] = inf }
		switch row.kind {
		case rowMass:
			add(leastMass, row.melt, -1, 0, low)
			add(mostMass, row.melt, -1, 0, high)
		case rowFineness:
			add(fineness, row.melt, -1, 0, low)
		case rowElementMost:
			add(elementMost, row.melt, -1, row.of, high)
		case rowElementLeast:
			add(elementLeast, row.melt, -1, row.of, low)
		case rowScrap:
			add(scrapShare, row.melt, -1, 0, high)
		case rowLot:
			add(lotStock, -1, row.of, 0, high)
			if p.Lots[row.of].Whole {
				add(wholeLot, -1, row.of, 0, low)
			}
		}
	}
	if len(p.Melts) == 1 {
		for k, j := range m.column[0] {
			if j < 0 {
				continue
			}
			if p.Lots[k].Whole {
				add(wholeLot, -1, k, 0, func(q *lp.Problem) { q.Low[j] = 0 })
			}
			if !math.IsInf(p.Lots[k].StockG, 1) {
				add(lotStock, -1, k, 0, func(q *lp.Problem) { q.High[j] = inf })
			}
		}
	}
	return list
}

// Irreducible returns limits that cannot be met together, of which every
// proper part can: each is lifted in turn, and put back only if the rest can
// then be met (the deletion filter of J. W. Chinneck and E. W. Dravnieks,
// ORSA J. Comput. 3 (1991) 157-168).
func (c *Conflict) Irreducible(ctx context.Context) ([]Bound, error) {
	q := c.model.problem
	q.Costs = [][]float64{make([]float64, len(q.Columns))}
	q.Low, q.High = clone(q.Low), clone(q.High)
	q.RowLow, q.RowHigh = clone(q.RowLow), clone(q.RowHigh)
	for _, columns := range c.model.column { // the crucible's limit is the mass row's to state
		for k, j := range columns {
			if j >= 0 && len(c.programme.Melts) == 1 {
				q.High[j] = c.programme.Lots[k].StockG
			} else if j >= 0 {
				q.High[j] = math.Inf(1)
			}
		}
	}
	var kept []Bound
	for _, b := range c.model.bounds(c.programme) {
		tried := q
		tried.Low, tried.High = clone(q.Low), clone(q.High)
		tried.RowLow, tried.RowHigh = clone(q.RowLow), clone(q.RowHigh)
		b.relax(&tried)
		sol, err := lp.Solve(ctx, tried)
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

func clone(v []float64) []float64 { return append([]float64(nil), v...) }

// HighestFineness returns the greatest worst-case fineness of melt b that all
// the other limits allow, as a mass fraction, and false if they allow none.
//
// A fraction of two linear forms is made greatest by Dinkelbach's iteration
// (Manage. Sci. 13 (1967) 492-498): the melt whose surplus over the last
// fineness is greatest has the next.
func (c *Conflict) HighestFineness(ctx context.Context, b int) (float64, bool, error) {
	p := *c.programme
	p.Melts = append([]Melt(nil), p.Melts...)
	p.Apportion = AnyShare
	t := p.Melts[b].Fineness
	p.Melts[b].Fineness = -1 // no limit
	for range 50 {
		m := p.model()
		cost := make([]float64, len(m.problem.Columns))
		for a := 0; a <= b; a++ {
			for k, j := range m.column[a] {
				if j >= 0 {
					cost[j] = -m.carry[a][b] * (p.Lots[k].Least[p.Melts[b].Metal] - t)
				}
			}
		}
		m.problem.Costs = [][]float64{cost}
		sol, err := lp.Solve(ctx, m.problem)
		if err != nil || sol.Status == lp.Infeasible {
			return 0, false, err
		}
		if sol.Status == lp.Unbounded { // an endless stock is finer than t: nothing but the mass limits it
			t = p.finest(b)
			return t, true, nil
		}
		fine, mass := 0.0, 0.0
		for a := 0; a <= b; a++ {
			for k, j := range m.column[a] {
				if j >= 0 {
					x := m.carry[a][b] * sol.X[j]
					fine += x * p.Lots[k].Least[p.Melts[b].Metal]
					mass += x
				}
			}
		}
		if mass <= 0 {
			return 0, false, nil
		}
		if next := fine / mass; math.Abs(next-t) <= 1e-12 {
			return next, true, nil
		} else {
			t = next
		}
	}
	return t, true, nil
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
	p := *c.programme
	p.Melts = append([]Melt(nil), p.Melts...)
	p.Apportion = AnyShare
	melt := &p.Melts[b]
	if melt.LeastG >= melt.MostG {
		melt.MostG = math.Inf(1)
	}
	melt.LeastG = 0
	m := p.model()
	cost := make([]float64, len(m.problem.Columns))
	for a := 0; a <= b; a++ {
		for _, j := range m.column[a] {
			if j >= 0 {
				cost[j] = -m.carry[a][b]
			}
		}
	}
	m.problem.Costs = [][]float64{cost}
	sol, err := lp.Solve(ctx, m.problem)
	if err != nil || sol.Status != lp.Optimal || -sol.Value <= 0 {
		return 0, false, err
	}
	return -sol.Value, true, nil
}

// Mend returns the least mass of the extra metal, in all and by melt, that
// makes the programme possible; with free, the melts may also grow past
// their greatest mass. False if no mass of it does.
func (c *Conflict) Mend(ctx context.Context, extra Lot, free bool) (total float64, byMelt []float64, ok bool, err error) {
	p := *c.programme
	p.Apportion = AnyShare
	extra.Bought, extra.StockG, extra.Whole = true, math.Inf(1), false
	p.Lots = append(append([]Lot(nil), p.Lots...), extra)
	p.Melts = append([]Melt(nil), p.Melts...)
	if free {
		for b := range p.Melts {
			p.Melts[b].MostG = math.Inf(1)
		}
	}
	m := p.model()
	last := len(p.Lots) - 1
	cost := make([]float64, len(m.problem.Columns))
	for _, columns := range m.column {
		cost[columns[last]] = 1
	}
	m.problem.Costs = [][]float64{cost}
	sol, err := lp.Solve(ctx, m.problem)
	if err != nil || sol.Status != lp.Optimal {
		return 0, nil, false, err
	}
	for _, columns := range m.column {
		byMelt = append(byMelt, sol.X[columns[last]])
	}
	return sol.Value, byMelt, true, nil
}

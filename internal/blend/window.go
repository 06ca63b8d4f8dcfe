package blend

import (
	"context"
	"math"
	"slices"

	"pourwright/internal/blend/lp"
	"pourwright/internal/metal"
)

// middle is the composition that a lot most likely has: the middle of the
// metal that counts, the rest in proportion to the middles of the others.
func middle(symbol string, least, most metal.Composition) metal.Composition {
	c, rest := metal.Composition{}, 0.0
	for _, e := range sorted(most) {
		if v := (least[e] + most[e]) / 2; v > 0 {
			c[e] = v
			if e != symbol {
				rest += v
			}
		}
	}
	for e := range c {
		if e != symbol && rest > 0 {
			c[e] *= (1 - c[symbol]) / rest
		}
	}
	return c
}

// likely is the lot's middle composition.
func (l *Lot) likely(symbol string) metal.Composition {
	if l.Middle != nil {
		return l.Middle
	}
	return middle(symbol, l.Least, l.Most)
}

// worth is the mass fraction of the elements in a lot.
func worth(l *Lot, elements ...string) float64 {
	sum := 0.0
	for _, e := range elements {
		sum += (l.Least[e] + l.Most[e]) / 2
	}
	return sum
}

// fixed reports whether every melt has one mass.
func (p *Programme) fixed() bool {
	return !slices.ContainsFunc(p.Melts, func(m Melt) bool { return m.LeastG != m.MostG })
}

// windowRows adds the bounds that are kept if they can be: of the middle
// composition, and of the fineness.
func (p *Programme) windowRows(m *model, b int) {
	melt, inf := &p.Melts[b], math.Inf(1)
	if melt.Finest > 0 {
		p.meltRow(m, row{rowFinest, b, 0}, -inf, 0, func(l *Lot) float64 { return l.Least[melt.Metal] - melt.Finest })
	}
	for i, w := range melt.Window {
		if w.Most < 1 {
			p.meltRow(m, row{rowWindowMost, b, i}, -inf, 0, func(l *Lot) float64 { return l.likely(melt.Metal)[w.Element] - w.Most })
		}
		if w.Least > 0 {
			p.meltRow(m, row{rowWindowLeast, b, i}, 0, inf, func(l *Lot) float64 { return l.likely(melt.Metal)[w.Element] - w.Least })
		}
	}
}

// distance adds a row and two columns for each alloying element of each melt
// with a nominal composition, and returns the cost of what the melts are off
// it, g; nil where none has one.
func (p *Programme) distance(m *model) []float64 {
	var columns []int
	for b := range p.Melts {
		melt := &p.Melts[b]
		for _, e := range sorted(melt.Nominal) {
			if e == melt.Metal {
				continue
			}
			p.meltRow(m, row{rowNominal, b, 0}, 0, 0, func(l *Lot) float64 { return l.likely(melt.Metal)[e] - melt.Nominal[e] })
			for _, sign := range [2]float64{1, -1} {
				columns = append(columns, m.slack(len(m.rows)-1, sign, p.size(melt)))
			}
		}
	}
	if columns == nil {
		return nil
	}
	cost := make([]float64, len(m.problem.Columns))
	for _, j := range columns {
		cost[j] = 1
	}
	return cost
}

// slack adds a column that is no lot, in one row only.
func (m *model) slack(row int, value, typical float64) int {
	m.problem.Columns = append(m.problem.Columns, []lp.Entry{{Row: row, Value: value}})
	m.problem.Low, m.problem.High = append(m.problem.Low, 0), append(m.problem.High, math.Inf(1))
	m.problem.Typical = append(m.problem.Typical, typical)
	return len(m.problem.Columns) - 1
}

// soft reports whether any bound is kept only if it can be.
func (p *Programme) soft() bool {
	return slices.ContainsFunc(p.Melts, func(m Melt) bool { return m.Finest > 0 || len(m.Window) > 0 })
}

// hard is the programme without the bounds that are kept only if they can be.
func (p *Programme) hard() *Programme {
	q := *p
	q.Melts = slices.Clone(p.Melts)
	for b := range q.Melts {
		q.Melts[b].Window, q.Melts[b].Finest = nil, 0
	}
	return &q
}

// loosen returns the programme with its windows widened, and its finest
// fineness raised, by the least mass in all that lets the other limits be met.
// The error is a *Conflict of those others where even that cannot be.
func (p *Programme) loosen(ctx context.Context) (*Programme, error) {
	m := p.model()
	type passed struct{ row, column int }
	var slacks []passed
	for r, row := range m.rows {
		value := 1.0
		switch row.kind {
		case rowFinest, rowWindowMost:
			value = -1
		case rowWindowLeast:
		default:
			continue
		}
		slacks = append(slacks, passed{r, m.slack(r, value, p.size(&p.Melts[row.melt]))})
	}
	cost := make([]float64, len(m.problem.Columns))
	for _, s := range slacks {
		cost[s.column] = 1
	}
	m.problem.Costs = [][]float64{cost}
	sol, err := m.problem.solve(ctx)
	if err != nil {
		return nil, err
	}
	if sol.Status != lp.Optimal {
		hard := p.hard()
		return nil, &Conflict{programme: hard, model: hard.model()}
	}
	q := *p
	q.Melts = slices.Clone(p.Melts)
	masses := make([][]float64, len(p.Melts))
	for b := range q.Melts {
		q.Melts[b].Window = slices.Clone(p.Melts[b].Window)
		masses[b] = make([]float64, len(p.Lots))
		for k, j := range m.column[b] {
			if j >= 0 {
				masses[b][k] = sol.X[j]
			}
		}
	}
	for _, s := range slacks {
		if sol.X[s.column] <= 0 {
			continue
		}
		row := m.rows[s.row]
		const room = 1e-9 // of the mass: the solver's rounding
		by := sol.X[s.column]/p.Content(masses, row.melt).MassG + room
		melt := &q.Melts[row.melt]
		switch row.kind {
		case rowFinest:
			melt.Finest += by
		case rowWindowMost:
			melt.Window[row.of].Most += by
		case rowWindowLeast:
			melt.Window[row.of].Least -= by
		}
	}
	return &q, nil
}

package blend

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// balance bounds the error of masses and of mass fractions relative to the
// whole: the rounding of sums, not a tolerance of the model.
const balance = 1e-9

var ctx = context.Background()

// someLots draws lots of silver of interval fineness with zinc.
func someLots(t *rapid.T, least, most int) []Lot {
	lots := []Lot{}
	for k := range rapid.IntRange(least, most).Draw(t, "lots") {
		low := float64(rapid.IntRange(0, 999).Draw(t, "low")) / 1000
		high := min(low+float64(rapid.IntRange(0, 40).Draw(t, "width"))/1000, 1)
		zinc := float64(rapid.IntRange(0, 20).Draw(t, "zinc")) / 1000
		s := graded("Ag", low, high)
		s.most["Zn"] = min(zinc, 1-low)
		lots = append(lots, Lot{ID: fmt.Sprint("lot ", k), StockG: float64(rapid.IntRange(1, 600).Draw(t, "stock")) / 10,
			Owner: rapid.SampledFrom([]string{"", "A", "B"}).Draw(t, "owner"), Least: s.least, Most: s.most,
			PricePerG: float64(rapid.IntRange(0, 200).Draw(t, "price")) / 100})
	}
	return lots
}

func somePriced(t *rapid.T) []Lot {
	add := DefaultAdditions("silver")
	add[0].PricePerG, add[1].PricePerG = float64(rapid.IntRange(50, 300).Draw(t, "fine price"))/100, 0.02
	return add
}

func someMelt(t *rapid.T) Melt {
	m := Melt{ID: "melt", Metal: "Ag", Fineness: float64(rapid.IntRange(800, 960).Draw(t, "fineness")) / 1000, ScrapShare: 1}
	m.LeastG = float64(rapid.IntRange(10, 900).Draw(t, "mass")) / 10
	m.MostG = m.LeastG + float64(rapid.IntRange(0, 1).Draw(t, "range"))*20
	if rapid.Bool().Draw(t, "zinc limited") {
		m.Limits = []Limit{{"Zn", 0, 0.005}}
	}
	if rapid.Bool().Draw(t, "share limited") {
		m.ScrapShare = 0.5
	}
	return m
}

var objectives = []Objective{LeastBought, LeastCost, MostClient, LeastChange}

func someProgramme(t *rapid.T) Programme {
	return Programme{Lots: append(someLots(t, 1, 7), somePriced(t)...), Melts: []Melt{someMelt(t)}, Objective: rapid.SampledFrom(objectives).Draw(t, "objective")}
}

// TestPlansKeepTheLimits: whatever the programme, the plan and what the scale
// can weigh of it balance in mass and never fall under the fineness.
func TestPlansKeepTheLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := someProgramme(t)
		plan, weighing, err := p.Weigh(ctx, DefaultResolutionG)
		require.NoError(t, err) // fine metal without end: always possible
		require.True(t, weighing.Rounded)
		weighedG := weighing.MassG
		melt := p.Melts[0]
		c := p.Content(plan.MassG, 0)
		require.InDelta(t, math.Max(melt.LeastG, math.Min(c.MassG, melt.MostG)), c.MassG, balance*melt.MostG)
		require.GreaterOrEqual(t, c.Least["Ag"], melt.Fineness-balance)
		w := p.Content(weighedG, 0)
		require.GreaterOrEqual(t, w.Least["Ag"], melt.Fineness-fineTol)
		require.InDelta(t, math.Max(melt.LeastG, math.Min(w.MassG, melt.MostG)), w.MassG, DefaultResolutionG)
		for _, l := range melt.Limits {
			require.LessOrEqual(t, c.Most[l.Element], l.Most+balance)
			require.LessOrEqual(t, w.Most[l.Element], l.Most+fineTol)
		}
		for k, lot := range p.Lots {
			require.GreaterOrEqual(t, weighedG[0][k], 0.0)
			require.LessOrEqual(t, weighedG[0][k], lot.StockG)
			require.InDelta(t, plan.MassG[0][k], weighedG[0][k], 0.1, "rounding moved %s far", lot.ID) // ten steps
		}
	})
}

// TestScaling: twice (or 0.37 times) the masses, the same charge in
// proportion.
func TestScaling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := someProgramme(t)
		a, err := p.Solve(ctx)
		require.NoError(t, err)
		factor := rapid.SampledFrom([]float64{2, 0.37, 1000}).Draw(t, "factor")
		q := p
		q.Lots, q.Melts = slices.Clone(p.Lots), slices.Clone(p.Melts)
		for k := range q.Lots {
			q.Lots[k].StockG *= factor
		}
		q.Melts[0].LeastG *= factor
		q.Melts[0].MostG *= factor
		b, err := q.Solve(ctx)
		require.NoError(t, err)
		for k := range p.Lots {
			require.InDelta(t, a.MassG[0][k]*factor, b.MassG[0][k], 1e-7*factor*p.Melts[0].MostG, p.Lots[k].ID)
		}
	})
}

// TestOrderHasNoSay: the lots in another order, the same bytes of each.
func TestOrderHasNoSay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := someProgramme(t)
		_, a, err := p.Weigh(ctx, DefaultResolutionG)
		require.NoError(t, err)
		order := rapid.Permutation(indexes(len(p.Lots))).Draw(t, "order")
		q := p
		q.Lots = nil
		for _, k := range order {
			q.Lots = append(q.Lots, p.Lots[k])
		}
		_, b, err := q.Weigh(ctx, DefaultResolutionG)
		require.NoError(t, err)
		for i, k := range order {
			require.Equal(t, a.MassG[0][k], b.MassG[0][i], p.Lots[k].ID)
		}
	})
}

func indexes(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	return list
}

// TestMoreToChooseFrom: one lot more never worsens the optimum.
func TestMoreToChooseFrom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := someProgramme(t)
		a, err := p.Solve(ctx)
		require.NoError(t, err)
		extra := someLots(t, 1, 1)[0]
		extra.ID = "one more"
		p.Lots = append(p.Lots, extra)
		b, err := p.Solve(ctx)
		require.NoError(t, err)
		require.LessOrEqual(t, b.Value, a.Value+1e-7*(1+math.Abs(a.Value)))
	})
}

// bruteForce is the least cost of one melt of exact mass with a fineness and
// nothing else, by the corner points: at a corner every lot but one or two is
// at none or all, and those two follow from mass and fineness. It shares no
// code with the solver.
func bruteForce(lots []Lot, massG, fineness float64, cost func(Lot) float64) float64 {
	best := math.Inf(1)
	state := make([]int, len(lots)) // 0 none, 1 all, 2 free
	var visit func(k, free int, mass, surplus, value float64)
	consider := func(mass, surplus, value float64) {
		if math.Abs(mass-massG) < 1e-9*massG && surplus > -1e-9*massG {
			best = math.Min(best, value)
		}
	}
	visit = func(k, free int, mass, surplus, value float64) {
		if k < len(lots) {
			l := lots[k]
			state[k] = 0
			visit(k+1, free, mass, surplus, value)
			if !math.IsInf(l.StockG, 1) {
				state[k] = 1
				visit(k+1, free, mass+l.StockG, surplus+l.StockG*(l.Least["Ag"]-fineness), value+l.StockG*cost(l))
			}
			if free < 2 {
				state[k] = 2
				visit(k+1, free+1, mass, surplus, value)
			}
			return
		}
		var open []Lot
		for i, s := range state {
			if s == 2 {
				open = append(open, lots[i])
			}
		}
		fits := func(l Lot, x float64) bool { return x >= -1e-9 && x <= l.StockG+1e-9 }
		switch len(open) {
		case 0:
			consider(mass, surplus, value)
		case 1:
			if x := massG - mass; fits(open[0], x) {
				consider(massG, surplus+x*(open[0].Least["Ag"]-fineness), value+x*cost(open[0]))
			}
		case 2:
			a, b := open[0], open[1]
			rest, ga, gb := massG-mass, a.Least["Ag"]-fineness, b.Least["Ag"]-fineness
			if math.Abs(ga-gb) < 1e-12 {
				return // any split: the corners with one free cover it
			}
			x := (-surplus - rest*gb) / (ga - gb) // surplus + x ga + (rest − x) gb = 0
			if fits(a, x) && fits(b, rest-x) {
				consider(massG, 0, value+x*cost(a)+(rest-x)*cost(b))
			}
		}
	}
	visit(0, 0, 0, 0, 0)
	return best
}

func costOf(o Objective) func(Lot) float64 {
	switch o {
	case LeastCost:
		return func(l Lot) float64 { return l.PricePerG }
	case MostClient:
		return func(l Lot) float64 { return -flag(l.clients()) }
	case LeastChange:
		return func(l Lot) float64 { return 2*flag(l.Bought) - 1 }
	}
	return func(l Lot) float64 { return flag(l.Bought) }
}

func TestAgainstBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Programme{Lots: append(someLots(t, 1, 6), somePriced(t)...), Objective: rapid.SampledFrom(objectives).Draw(t, "objective")}
		massG := float64(rapid.IntRange(10, 900).Draw(t, "mass")) / 10
		p.Melts = []Melt{{Metal: "Ag", Fineness: .925, LeastG: massG, MostG: massG, ScrapShare: 1}}
		plan, err := p.Solve(ctx)
		require.NoError(t, err)
		want := bruteForce(p.Lots, massG, .925, costOf(p.Objective))
		require.InDelta(t, want, plan.Value, 1e-7*(1+math.Abs(want)))
	})
}

// TestUncut: lots that must not be cut, against every choice of them.
func TestUncut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lots := append(someLots(t, 2, 6), somePriced(t)...)
		massG := float64(rapid.IntRange(300, 900).Draw(t, "mass")) / 10
		best := math.Inf(1)
		n := len(lots) - 2
		for choice := range 1 << n {
			kept := slices.Clone(lots[n:])
			mass, surplus := 0.0, 0.0
			for k := range n {
				if choice>>k&1 == 1 {
					mass += lots[k].StockG
					surplus += lots[k].StockG * (lots[k].Least["Ag"] - .925)
				}
			}
			if mass > massG {
				continue
			}
			// The rest is bought: as much fine metal as the chosen lots lack.
			for _, l := range kept[:1] {
				need := math.Max(-surplus/(l.Least["Ag"]-.925), 0)
				rest := massG - mass
				if copper := rest - need; copper >= -1e-9 && surplus+need*(l.Least["Ag"]-.925) >= -1e-9 {
					best = math.Min(best, rest)
				}
			}
		}
		p := Programme{Lots: slices.Clone(lots), Melts: []Melt{{Metal: "Ag", Fineness: .925, LeastG: massG, MostG: massG, ScrapShare: 1}}}
		for k := range n {
			p.Lots[k].Undivided = true
		}
		plan, err := p.Solve(ctx)
		require.NoError(t, err)
		require.InDelta(t, best, plan.Value, 1e-6)
		for k := range n {
			x := plan.MassG[0][k]
			require.InDelta(t, 0, math.Min(x, p.Lots[k].StockG-x), 1e-7)
		}
	})
}

// TestConflictsAreIrreducible: of the limits named, none can be spared and
// all together cannot be met, whatever the programme.
func TestConflictsAreIrreducible(t *testing.T) {
	conflicts := 0
	rapid.Check(t, func(t *rapid.T) {
		p := Programme{Lots: someLots(t, 1, 5), Melts: []Melt{someMelt(t)}}
		for k := range p.Lots {
			p.Lots[k].Whole = rapid.Bool().Draw(t, "whole")
			p.Lots[k].Undivided = !p.Lots[k].Whole && rapid.Bool().Draw(t, "undivided")
		}
		_, err := p.Solve(ctx)
		var c *Conflict
		if !errors.As(err, &c) {
			require.NoError(t, err)
			return
		}
		conflicts++
		set, err := c.Irreducible(ctx)
		require.NoError(t, err)
		require.NotEmpty(t, set)
		for spared := -1; spared < len(set); spared++ {
			q := c.model.problem.copied()
			q.Costs = [][]float64{make([]float64, len(q.Columns))}
			for k, j := range c.model.column[0] {
				q.High[j] = p.Lots[k].StockG
			}
			for _, b := range c.model.bounds(&p) {
				in := slices.IndexFunc(set, func(s Bound) bool {
					return s.kind == b.kind && s.melt == b.melt && s.lot == b.lot && s.limit == b.limit
				})
				if in < 0 || in == spared {
					b.relax(&q)
				}
			}
			sol, err := q.solve(ctx)
			require.NoError(t, err)
			require.Equal(t, spared < 0, sol.Status != 0, "spared %d of %d", spared, len(set))
		}
	})
	require.Positive(t, conflicts)
}

// TestReachable: what a refusal calls reachable is, and a little more is not.
func TestReachable(t *testing.T) {
	tried := 0
	rapid.Check(t, func(t *rapid.T) {
		p := Programme{Lots: someLots(t, 1, 5), Melts: []Melt{someMelt(t)}}
		_, err := p.Solve(ctx)
		var c *Conflict
		if !errors.As(err, &c) {
			return
		}
		with := func(change func(*Melt)) error {
			q := p
			q.Melts = slices.Clone(p.Melts)
			change(&q.Melts[0])
			_, err := q.Solve(ctx)
			return err
		}
		best, ok, err := c.HighestFineness(ctx, 0)
		require.NoError(t, err)
		if ok {
			tried++
			free := func(*Melt) {}
			if with(func(m *Melt) { m.Fineness = -1 }) != nil { // nothing of that mass: then at any
				free = func(m *Melt) { m.LeastG, m.MostG = 1e-3, math.Inf(1) }
			}
			require.NoError(t, with(func(m *Melt) { free(m); m.Fineness = best - 1e-7 }))
			require.Error(t, with(func(m *Melt) { free(m); m.Fineness = best + 1e-7 }))
		}
		if p.Melts[0].LeastG < p.Melts[0].MostG {
			return
		}
		mass, ok, err := c.LargestMass(ctx, 0)
		require.NoError(t, err)
		if ok {
			require.NoError(t, with(func(m *Melt) { m.LeastG, m.MostG = mass*(1-1e-7), mass }))
			require.Error(t, with(func(m *Melt) { m.LeastG, m.MostG = mass*(1+1e-7), mass*(1+1e-7) }))
		}
		extra := DefaultAdditions("silver")[0]
		g, ok, err := c.Mend(ctx, extra, true)
		require.NoError(t, err)
		if ok && p.Melts[0].Fineness < .999 {
			q := p
			extra.StockG = g * (1 + 1e-7)
			q.Lots, q.Melts = append(slices.Clone(p.Lots), extra), slices.Clone(p.Melts)
			q.Melts[0].MostG = math.Inf(1)
			_, err := q.Solve(ctx)
			require.NoError(t, err)
		}
	})
	require.Positive(t, tried)
}

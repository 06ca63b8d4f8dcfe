package blend

import (
	"context"
	"errors"
	"math"

	"pourwright/internal/blend/lp"
)

// task is a linear programme in which some columns are all or nothing.
type task struct {
	lp.Problem
	undivided []undivided
}

// undivided is a column that may be 0 or all, and nothing between.
type undivided struct {
	column, lot int
	all         float64
}

// errBranches is returned when too many lots that must not be cut leave too
// many cases to try.
var errBranches = errors.New("too many lots that must not be cut")

// mostBranches is how many cases a programme of n columns may try: about a
// second's work.
func mostBranches(n int) int { return min(4000, 100000/n) }

// solve returns the verified optimum. Where an undivided column comes out cut,
// it is tried both ways, the better case first; a case whose bound is no
// better than the best answer so far is dropped (A. H. Land and A. G. Doig,
// Econometrica 28 (1960) 497-520). When the cases run out, the best so far is
// the answer, and its gap is the distance to what no answer can pass.
func (t task) solve(ctx context.Context) (lp.Solution, error) {
	first, err := lp.Solve(ctx, t.Problem)
	if err != nil || first.Status != lp.Optimal || t.cut(first.X) < 0 {
		return first, err
	}
	var best lp.Solution
	found, iterations, cases, most := false, first.Iterations, 0, mostBranches(len(t.Columns))
	var try func(p lp.Problem, sol lp.Solution) error
	try = func(p lp.Problem, sol lp.Solution) error {
		const better = 1e-9 // relative: less is rounding, and the earlier answer stands
		if sol.Status != lp.Optimal || found && sol.Value >= best.Value-better*math.Abs(best.Value) {
			return nil
		}
		i := t.cut(sol.X)
		if i < 0 {
			best, found = sol, true
			return nil
		}
		if cases++; cases > most {
			return nil
		}
		u := t.undivided[i]
		var sides [2]lp.Problem
		var answers [2]lp.Solution
		for side, bound := range [2]float64{u.all, 0} {
			q := p
			q.Low, q.High = clone(p.Low), clone(p.High)
			q.Low[u.column], q.High[u.column] = bound, bound
			answer, err := lp.Solve(ctx, q)
			if err != nil {
				return err
			}
			iterations += answer.Iterations
			sides[side], answers[side] = q, answer
		}
		near := 0
		if answers[0].Status != lp.Optimal || answers[1].Status == lp.Optimal && answers[1].Value < answers[0].Value {
			near = 1
		}
		if err := try(sides[near], answers[near]); err != nil {
			return err
		}
		return try(sides[1-near], answers[1-near])
	}
	if err := try(t.Problem, first); err != nil {
		return lp.Solution{}, err
	}
	switch {
	case !found && cases > most:
		return lp.Solution{}, errBranches
	case !found:
		return lp.Solution{Status: lp.Infeasible, Iterations: iterations}, nil
	case cases > most:
		best.Check.Gap = max(best.Check.Gap, (best.Value-first.Value)/max(math.Abs(best.Value), math.Abs(first.Value)))
	}
	best.Iterations = iterations
	return best, nil
}

// cut returns the undivided column nearest to half in x, or −1 if none is cut.
func (t task) cut(x []float64) int {
	worst, at := 1e-9, -1 // of the lot: less is the solver's rounding
	for i, u := range t.undivided {
		part := x[u.column] / u.all
		if d := min(part, 1-part); d > worst {
			worst, at = d, i
		}
	}
	return at
}

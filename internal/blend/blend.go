package blend

import (
	"context"
	"errors"
	"iter"
	"slices"

	"pourwright/internal/blend/lp"
	"pourwright/internal/calc"
)

// Solve answers in with the best charge that meets every limit in the worst
// case of what is known of the lots. Masses in g, fineness in parts per
// thousand by mass. The error is a *calc.Refusal that names the fields; when
// the limits conflict it names an irreducible set of them, what can be
// reached, and what would mend it.
func Solve(ctx context.Context, in In) (Out, error) {
	out := Out{Notes: calc.Noting(ctx)}
	joint := JointBlendIn{Stock: in.Stock, Melts: []MeltTarget{{Target: in.Target}}}
	q, err := joint.read(true, &out.Notes)
	if err != nil {
		return Out{}, err
	}
	plan, weighedG, err := q.weigh(ctx, &out.Notes)
	if err != nil {
		return Out{}, err
	}
	out.ChargePlan = q.charge(0, plan, weighedG)
	q.judge(0, &out.ChargePlan, &out.Notes)
	used := map[string]bool{}
	for _, part := range out.Charge {
		used[part.ID] = part.WeighG > 0
	}
	out.Reasons.Join(q.lotReasons(used, out.BoughtG))
	out.Reasons = out.Reasons.Sorted()
	out.Verdict = out.Reasons.Level()
	if out.TestFirst, err = q.testFirst(ctx, &out.Notes); err != nil {
		return Out{}, err
	}
	out.AfterAssay = q.afterAssay(0, out.MassG)
	out.RefusedLots, out.CleanMass = q.refused, q.clean
	out.WhatIf = q.whatIf(ctx, plan)
	out.Verification = q.verification(plan)
	q.note(&out.Notes, plan)
	q.noteMelt(&out.Notes, 0, plan, &out.ChargePlan)
	return out, nil
}

// SolveJoint answers in with the best charges of several melts that share the
// lots, found together: one programme, so never worse than melt by melt.
// Otherwise as Solve.
func SolveJoint(ctx context.Context, in JointBlendIn) (JointBlendOut, error) {
	out := JointBlendOut{Notes: calc.Noting(ctx), Melts: []MeltResult{}, Left: []Left{}}
	in.Melts = slices.Clone(in.Melts)
	q, err := in.read(false, &out.Notes)
	if err != nil {
		return JointBlendOut{}, err
	}
	if in.PourOrder == "best" {
		if err := q.bestOrder(ctx); err != nil {
			return JointBlendOut{}, err
		}
	}
	plan, weighedG, err := q.weigh(ctx, &out.Notes)
	if err != nil {
		return JointBlendOut{}, err
	}
	q.note(&out.Notes, plan)
	used := map[string]bool{}
	for b, melt := range q.programme.Melts {
		charge := q.charge(b, plan, weighedG)
		q.judge(b, &charge, &out.Notes)
		out.FineBoughtG += charge.FineBoughtG
		out.Reasons.Join(charge.Reasons)
		for _, part := range charge.Charge {
			used[part.ID] = used[part.ID] || part.WeighG > 0
		}
		m := MeltResult{ID: melt.ID, ChargePlan: charge}
		for _, r := range melt.Returns {
			m.ReturnsG += r.Share * q.programme.Content(weighedG, r.From).MassG
		}
		q.noteMelt(&out.Notes, b, plan, &charge)
		out.BoughtG += charge.BoughtG
		out.ClientG += charge.ClientG
		out.Melts = append(out.Melts, m)
	}
	for k, lot := range q.programme.Lots {
		if lot.Bought {
			continue
		}
		left := lot.StockG
		for b := range weighedG {
			left -= weighedG[b][k]
		}
		out.Left = append(out.Left, Left{lot.ID, max(left, 0)})
	}
	out.Reasons.Join(q.lotReasons(used, out.BoughtG))
	out.Reasons = out.Reasons.Sorted()
	out.Verdict = out.Reasons.Level()
	if out.TestFirst, err = q.testFirst(ctx, &out.Notes); err != nil {
		return JointBlendOut{}, err
	}
	out.RefusedLots, out.CleanMass = q.refused, q.clean
	out.WhatIf = q.whatIf(ctx, plan)
	out.Verification = q.verification(plan)
	return out, nil
}

func (q *question) weigh(ctx context.Context, notes *calc.Notes) (*Plan, [][]float64, error) {
	plan, weighing, err := q.programme.Weigh(ctx, q.in.ResolutionG)
	if err == nil {
		plan, weighing = q.withoutCrumbs(ctx, plan, weighing)
	}
	var conflict *Conflict
	switch {
	case errors.As(err, &conflict):
		return nil, nil, worded(q.explain(ctx, conflict))
	case err != nil:
		return nil, nil, worded(err)
	}
	if !weighing.Rounded {
		notes.Warn("too_coarse_a_scale", calc.Care, "No masses in steps of %g g keep all the limits; the exact ones are given. Weigh on a finer scale, ask for a little less fineness or allow a range of mass.", q.in.ResolutionG)
	}
	return plan, weighing.MassG, nil
}

// worded makes a refusal of an answer that could not be found.
func worded(err error) error {
	switch {
	case errors.Is(err, lp.ErrUnproved):
		return calc.Refuse("lots", nil, "%s; alter a mass or a limit by a little", err)
	case errors.Is(err, errBranches):
		return calc.Refuse("lots", nil, "%s: let some of them be used in part", err)
	}
	return err
}

// mostOrdered is the number of melts whose every order is tried: 120 orders.
const mostOrdered = 5

// bestOrder puts the melts into the order whose programme has the best
// objective; of equals the first in the order of permutation stands, so that
// the order given is kept where it is as good as any.
func (q *question) bestOrder(ctx context.Context) error {
	n := len(q.programme.Melts)
	if n > mostOrdered {
		return calc.Refuse("pour_order", "best", "give at most %d melts, or as_given", mostOrdered)
	}
	if !q.in.ReuseReturns {
		return nil
	}
	given := slices.Clone(q.programme.Melts)
	var best []int
	least := 0.0
	for order := range permutations(make([]int, 0, n), n) {
		for b, a := range order {
			q.programme.Melts[b] = given[a]
		}
		q.chainReturns()
		plan, err := q.programme.Solve(ctx)
		var conflict *Conflict
		switch {
		case errors.As(err, &conflict):
			continue
		case err != nil:
			return worded(err)
		}
		const better = 1e-9 // g or money: less is rounding
		if best == nil || plan.Value < least-better {
			best, least = slices.Clone(order), plan.Value
		}
	}
	for b := range n { // where none is possible, the order given is explained
		if len(best) <= b {
			best = append(best, b)
		}
	}
	melts, prefix, limits, in := q.programme.Melts, slices.Clone(q.prefix), slices.Clone(q.limits), slices.Clone(q.in.Melts)
	for b, a := range best {
		melts[b], q.prefix[b], q.limits[b], q.in.Melts[b] = given[a], prefix[a], limits[a], in[a]
	}
	q.chainReturns()
	return nil
}

// permutations yields every order of 0 to n−1 that begins with the given ones,
// in lexical order. The slice is reused.
func permutations(begin []int, n int) iter.Seq[[]int] {
	return func(yield func([]int) bool) {
		if len(begin) == n {
			yield(begin)
			return
		}
		for i := range n {
			if slices.Contains(begin, i) {
				continue
			}
			for order := range permutations(append(begin, i), n) {
				if !yield(order) {
					return
				}
			}
		}
	}
}

// Package blend decides how much of each lot of scrap and of each bought
// metal goes into a melt, so that the melt meets its fineness in the worst
// case of what is known about the lots.
//
// The question is one linear programme over all melts that share the lots; a
// single melt is the case of one. Package lp solves it and proves the answer.
package blend

import (
	"context"
	"errors"

	"pourwright/internal/blend/lp"
	"pourwright/internal/metal"
)

// Lot is metal at hand or on sale, as the programme sees it.
type Lot struct {
	ID        string
	StockG    float64           // +Inf when there is no end of it
	Owner     string            // whose it is; "" is the studio
	Bought    bool              // fine metal or alloy to buy, not scrap at hand
	Least     metal.Composition // least mass fraction of each element that it may hold
	Most      metal.Composition // greatest
	Middle    metal.Composition // what it most likely holds, summing to 1; nil: between least and most
	Grain     bool              // casting grain of the very alloy of a melt
	Unready   bool              // something must be done before it is melted; others go first where nothing else decides
	PricePerG float64           // in the caller's money
	Whole     bool              // all of it must go in
	Undivided bool              // all of it goes into one melt, or none
}

// Limit bounds the mass fraction of an element in a melt, in the worst case.
type Limit struct {
	Element     string
	Least, Most float64 // 0 and 1 when open
}

// Return is the share of an earlier melt's charge that comes back from its
// casting (button, sprue) and goes into this melt.
type Return struct {
	From  int // index of the earlier melt
	Share float64
}

// Melt is one charge to be made.
type Melt struct {
	ID            string
	Metal         string  // symbol of the metal whose fineness counts
	Fineness      float64 // mass fraction that the worst case must reach, margin included
	Ceiling       float64 // mass fraction that the same figure may not pass, but for rounding; 0 when open
	LeastG, MostG float64
	Limits        []Limit
	Window        []Limit           // bounds of the middle composition, kept if it can be
	Finest        float64           // mass fraction that the worst case is not to pass if that can be; 0 when open
	Nominal       metal.Composition // the alloy that the charge is to come near; nil when open
	ScrapShare    float64           // largest part of the charge that may be scrap; 1 when open
	OnlyOwner     *string           // when set, scrap of this owner and of the studio only
	Returns       []Return
}

// Objective says what the programme makes least.
type Objective string

const (
	LeastFine   Objective = "least_fine"   // most of the clients' metal, then bought gold and its like, then distance from the alloy, then bought silver
	LeastBought Objective = "least_bought" // grams of bought metal
	LeastCost   Objective = "least_cost"   // price of all that goes in
	MostClient  Objective = "most_client"  // less, the grams of the clients' metal that go in
	LeastChange Objective = "least_change" // grams added less grams of scrap used: nothing added, nothing left over
)

// Apportion says how the clients' metal is shared among several melts where
// the objective leaves a choice.
type Apportion string

const (
	AnyShare   Apportion = "as_it_comes"
	EvenShare  Apportion = "even"        // the least share in any melt is made as great as can be
	FirstShare Apportion = "first_piece" // as much as can be in the first melt, then in the second
)

// Programme is the whole question.
type Programme struct {
	Lots      []Lot
	Melts     []Melt
	Objective Objective
	Apportion Apportion
}

// Plan is a verified answer to a programme.
type Plan struct {
	MassG      [][]float64 // by melt and lot, returns not counted
	Value      float64     // of the objective
	Check      lp.Check
	Iterations int
	Loosened   bool // some bound of a window, or Finest, could not be kept and is passed by as little as can be
	model      *model
	solution   lp.Solution
}

// Solve returns the best plan. The error is a *Conflict when no plan meets
// all limits, the context's, or lp.ErrUnproved.
//
// The answer does not depend on the order of the lots, and ties between equal
// optima are broken by bought mass, price, clients' mass and at last by a
// fixed arbitrary preference, in that order. Windows and Finest are kept where
// the other limits allow it, else passed by the least mass in all.
func (p *Programme) Solve(ctx context.Context) (*Plan, error) {
	plan, err := p.solve(ctx)
	var conflict *Conflict
	if !errors.As(err, &conflict) || !p.soft() {
		return plan, err
	}
	wider, err := p.loosen(ctx)
	if err != nil {
		return nil, err
	}
	plan, err = wider.solve(ctx)
	if errors.As(err, &conflict) { // rounding at the very bound
		hard := p.hard()
		plan, err = hard.solve(ctx)
	}
	if plan != nil {
		plan.Loosened = true
	}
	return plan, err
}

func (p *Programme) solve(ctx context.Context) (*Plan, error) {
	m := p.model()
	sol, err := m.problem.solve(ctx)
	if err != nil {
		return nil, err
	}
	if sol.Status != lp.Optimal {
		return nil, &Conflict{programme: p, model: m}
	}
	plan := &Plan{Value: sol.Value, Check: sol.Check, Iterations: sol.Iterations, model: m, solution: sol}
	for _, columns := range m.column {
		masses := make([]float64, len(p.Lots))
		for k, j := range columns {
			if j >= 0 {
				masses[k] = sol.X[j]
			}
		}
		plan.MassG = append(plan.MassG, masses)
	}
	return plan, nil
}

package blend

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
)

// WhatIf says what a small change of a limit would cost or save.
type WhatIf struct {
	Change    string   `json:"change" doc:"The change" example:"one gram less of spoons"`
	Effect    float64  `json:"effect" doc:"Change of the quantity that was made least or most; for costs and bought metal, more is worse" example:"0.31"`
	Unit      string   `json:"unit" doc:"Its unit" example:"g bought"`
	HoldsUpTo *float64 `json:"holds_up_to,omitempty" doc:"How far the change can go at this rate, in the unit of the change; 0 where the next step already has another rate; left out where nothing ends it" example:"12.5"`
	Text      string   `json:"text" doc:"In a sentence" example:"One gram less of spoons means 0.31 g more bought metal."`
}

var unitOf = map[Objective]string{fineFirst: "g fine bought", LeastFine: "g of clients' metal", LeastBought: "g bought", LeastCost: "money", MostClient: "g of clients' metal", LeastChange: "g added or left over"}

// fineFirst is the objective of the prices of [LeastFine]: fine metal bought.
const fineFirst Objective = "fine_bought"

// priced returns the plan whose prices are worded, and its objective. Of
// [LeastFine], whose first aim is the clients' metal, the prices of the fine
// metal bought say more, where its optimum is the same charge.
func (q *question) priced(ctx context.Context, plan *Plan) (*Plan, Objective) {
	if q.in.Objective != LeastFine {
		return plan, q.in.Objective
	}
	p := q.programme
	p.Objective = fineFirst
	other, err := p.Solve(ctx)
	if err != nil {
		return plan, LeastFine
	}
	for b, masses := range plan.MassG {
		for k, x := range masses {
			const alike = 1e-6 // g, and of the mass
			if math.Abs(other.MassG[b][k]-x) > alike*(1+x) {
				return plan, LeastFine
			}
		}
	}
	return other, fineFirst
}

// whatIf words the prices of the limits that hold the optimum back. A price
// that holds for no step at all, where the optimum is degenerate, is left out.
func (q *question) whatIf(ctx context.Context, plan *Plan) []WhatIf {
	list := []WhatIf{}
	plan, objective := q.priced(ctx, plan)
	add := func(effect, holds float64, format string, args ...any) {
		const nothing = 1e-9 // but for rounding
		if math.Abs(effect) < nothing || math.IsNaN(effect) || holds < nothing {
			return
		}
		if objective == MostClient || objective == LeastFine && q.programme.fixed() { // made least with a minus
			effect = -effect
		}
		change := fmt.Sprintf(format, args...)
		w := WhatIf{Change: change, Effect: effect, Unit: unitOf[objective], Text: sentence(objective, change, effect)}
		if !math.IsInf(holds, 1) {
			w.HoldsUpTo = &holds
		}
		list = append(list, w)
	}
	p, sol := &q.programme, &plan.solution
	for b, columns := range plan.model.column {
		for k, j := range columns {
			if j < 0 || sol.Reduced[j] == 0 {
				continue
			}
			lot := &p.Lots[k]
			down, up := sol.Reach(j)
			switch {
			case lot.Bought && sol.X[j] == 0, lot.Undivided:
			case sol.X[j] == 0:
				add(sol.Reduced[j], up, "one gram of %s put into %s all the same", lot.ID, q.named(b))
			case sol.X[j] >= lot.StockG && len(p.Melts) == 1:
				add(-sol.Reduced[j], down, "one gram less of %s", lot.ID)
			}
		}
	}
	for r, row := range plan.model.rows {
		if y := sol.Y[r]; y != 0 {
			down, up := sol.RowReach(r)
			q.rowPrice(plan, row, y, down, up, add)
		}
	}
	slices.SortStableFunc(list, func(a, b WhatIf) int {
		return cmp.Or(-cmp.Compare(math.Abs(a.Effect), math.Abs(b.Effect)), cmp.Compare(a.Change, b.Change))
	})
	const most = 24
	return list[:min(len(list), most)]
}

// rowPrice words the price y of a row. The rows of shares are written in
// grams over the melt's mass, so a change of the share by δ moves the row's
// bound by δ times that mass.
func (q *question) rowPrice(plan *Plan, row row, y, down, up float64, add func(effect, holds float64, format string, args ...any)) {
	if row.kind == rowLot {
		add(-y, down, "one gram less of %s", q.programme.Lots[row.of].ID)
		return
	}
	name, melt := q.named(row.melt), &q.programme.Melts[row.melt]
	mass := q.programme.Content(plan.MassG, row.melt).MassG
	if mass == 0 {
		return
	}
	perMil, perCent := mass/1000, mass/100
	switch row.kind {
	case rowMass:
		add(y, up, "one gram more of %s", name)
	case rowFineness:
		add(y*perMil, up/perMil, "one part per thousand more fineness of %s", name)
	case rowCeiling:
		add(y*perMil, up/perMil, "one part per thousand finer allowed in %s", name)
	case rowElementMost:
		add(y*perMil, up/perMil, "one part per thousand more %s allowed in %s", melt.Limits[row.of].Element, name)
	case rowElementLeast:
		add(y*perMil, up/perMil, "one part per thousand more %s asked for in %s", melt.Limits[row.of].Element, name)
	case rowFinest:
		add(y*perMil, up/perMil, "one part per thousand finer allowed in %s", name)
	case rowWindowMost:
		add(y*perMil, up/perMil, "one part per thousand more %s in the window of %s", melt.Window[row.of].Element, name)
	case rowWindowLeast:
		add(y*perMil, up/perMil, "one part per thousand more %s asked for by the window of %s", melt.Window[row.of].Element, name)
	case rowScrap:
		add(y*perCent, up/perCent, "one per cent more scrap allowed in %s", name)
	}
}

// named is what a sentence calls melt b.
func (q *question) named(b int) string {
	if len(q.programme.Melts) == 1 {
		return "the melt"
	}
	return q.programme.Melts[b].ID
}

func sentence(objective Objective, change string, effect float64) string {
	more, size := "more", math.Abs(effect)
	if effect < 0 {
		more = "less"
	}
	first := strings.ToUpper(change[:1]) + change[1:]
	switch objective {
	case fineFirst:
		return fmt.Sprintf("%s: %.3g g %s fine metal is bought.", first, size, more)
	case LeastFine:
		return fmt.Sprintf("%s: %.3g g %s of the clients' metal goes in.", first, size, more)
	case LeastCost:
		return fmt.Sprintf("%s: the charge costs %.3g %s.", first, size, more)
	case MostClient:
		return fmt.Sprintf("%s: %.3g g %s of the clients' metal goes in.", first, size, more)
	case LeastChange:
		return fmt.Sprintf("%s: %.3g g %s is added or left over.", first, size, more)
	}
	return fmt.Sprintf("%s: %.3g g %s metal is bought.", first, size, more)
}

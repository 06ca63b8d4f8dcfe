package blend

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// BlendWhatIf says what a small change of a limit would cost or save.
type BlendWhatIf struct {
	Change    string  `json:"change" doc:"The change" example:"one gram less of spoons"`
	Effect    float64 `json:"effect" doc:"Change of the quantity that was made least or most; for costs and bought metal, more is worse" example:"0.31"`
	Unit      string  `json:"unit" doc:"Its unit" example:"g bought"`
	HoldsUpTo float64 `json:"holds_up_to" doc:"How far the change can go at this rate, in the unit of the change; 0 where the next step already has another rate" example:"12.5"`
	Text      string  `json:"text" doc:"In a sentence" example:"One gram less of spoons means 0.31 g more bought metal."`
}

var unitOf = map[Objective]string{LeastBought: "g bought", LeastCost: "money", MostClient: "g of clients' metal", LeastChange: "g added or left over"}

// endless stands for "no limit found" in an answer, which has no infinity.
const endless = 1e9

// whatIf words the prices of the limits that hold the optimum back.
func (q *question) whatIf(plan *Plan) []BlendWhatIf {
	list := []BlendWhatIf{}
	add := func(change string, effect, holds float64) {
		if math.Abs(effect) < 1e-9 || math.IsNaN(effect) {
			return
		}
		if q.in.Objective == MostClient { // made least with a minus
			effect = -effect
		}
		list = append(list, BlendWhatIf{change, effect, unitOf[q.in.Objective], min(holds, endless), q.sentence(change, effect)})
	}
	p, sol := &q.programme, &plan.solution
	for k, j := range plan.model.column[0] {
		if j < 0 || sol.Reduced[j] == 0 {
			continue
		}
		lot := &p.Lots[k]
		down, up := sol.Reach(j)
		switch {
		case lot.Bought && sol.X[j] == 0:
		case sol.X[j] == 0:
			add(fmt.Sprintf("one gram of %s put in all the same", lot.ID), sol.Reduced[j], up)
		case sol.X[j] >= lot.StockG:
			add(fmt.Sprintf("one gram less of %s", lot.ID), -sol.Reduced[j], down)
		}
	}
	mass := p.Content(plan.MassG, 0).MassG
	for r, row := range plan.model.rows {
		y := sol.Y[r]
		if y == 0 || mass == 0 {
			continue
		}
		_, up := sol.RowReach(r)
		melt := &p.Melts[0]
		switch row.kind {
		case rowMass:
			add("one gram more of melt", y, up)
		case rowFineness:
			add("one part per thousand more fineness", y*mass/1000, up/mass*1000)
		case rowElementMost:
			add(fmt.Sprintf("one part per thousand more %s allowed", melt.Limits[row.of].Element), y*mass/1000, up/mass*1000)
		case rowElementLeast:
			add(fmt.Sprintf("one part per thousand more %s asked for", melt.Limits[row.of].Element), y*mass/1000, up/mass*1000)
		case rowScrap:
			add("one per cent more scrap allowed", y*mass/100, up/mass*100)
		}
	}
	slices.SortStableFunc(list, func(a, b BlendWhatIf) int {
		switch x, y := math.Abs(a.Effect), math.Abs(b.Effect); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return strings.Compare(a.Change, b.Change)
	})
	const most = 24
	return list[:min(len(list), most)]
}

func (q *question) sentence(change string, effect float64) string {
	more, size := "more", math.Abs(effect)
	if effect < 0 {
		more = "less"
	}
	first := strings.ToUpper(change[:1]) + change[1:]
	switch q.in.Objective {
	case LeastCost:
		return fmt.Sprintf("%s: the charge costs %.3g %s.", first, size, more)
	case MostClient:
		return fmt.Sprintf("%s: %.3g g %s of the clients' metal goes in.", first, size, more)
	case LeastChange:
		return fmt.Sprintf("%s: %.3g g %s is added or left over.", first, size, more)
	}
	return fmt.Sprintf("%s: %.3g g %s metal is bought.", first, size, more)
}

func words(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], ", ") + " or " + list[len(list)-1]
}

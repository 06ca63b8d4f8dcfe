package blend

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"

	"pourwright/internal/calc"
)

// mend is an addition that would make a refused blend possible.
type mend struct {
	Add   string  `json:"add"`
	MassG float64 `json:"mass_g"`
	Text  string  `json:"text"`
}

// explain turns a conflict into a refusal of the fields at fault, with what
// can be reached and what would mend it.
func (q *question) explain(ctx context.Context, c *Conflict) error {
	set, err := c.Irreducible(ctx)
	if err != nil {
		return err
	}
	enough, err := c.Enough(ctx, set)
	if err != nil {
		return err
	}
	r := &calc.Refusal{}
	alone := []string{}
	for i, b := range set {
		fault := q.fault(b)
		r.Faults = append(r.Faults, fault)
		if enough[i] {
			alone = append(alone, fault.Field)
		}
	}
	r.Detail = conflictDetail(len(set), alone)
	if len(r.Faults) == 0 {
		r.Faults = append(r.Faults, calc.Fault{Field: "lots", Accepts: "no lot may go into this melt"})
	}
	reachable := []map[string]any{}
	for b, melt := range q.in.Melts {
		one, err := reach(ctx, c, b)
		if err != nil {
			return err
		}
		one["melt"] = melt.ID
		reachable = append(reachable, one)
	}
	if len(reachable) == 1 {
		r.Explain = reachable[0]
		delete(r.Explain, "melt")
	} else {
		r.Explain = map[string]any{"reachable": reachable}
	}
	mends, err := q.mends(ctx, c)
	if err != nil {
		return err
	}
	r.Explain["mends"] = mends
	r.Explain["enough_alone"] = alone
	return r
}

// conflictDetail says of n limits that conflict which of them it is enough to
// lift alone.
func conflictDetail(n int, alone []string) string {
	text := "No blend meets all the limits: those named cannot be met together. "
	switch len(alone) {
	case n:
		return text + "Lifting any one of them is enough."
	case 0:
		return text + "Lifting one of them is not enough: a further conflict stands behind it, which the answer then names."
	}
	return text + "Lifting one of these is enough: " + strings.Join(alone, ", ") + "; behind the others a further conflict stands."
}

// reach is what melt b could be.
func reach(ctx context.Context, c *Conflict, b int) (map[string]any, error) {
	found := map[string]any{}
	best, ok, err := c.HighestFineness(ctx, b)
	if err != nil {
		return nil, err
	}
	if ok {
		found["highest_fineness_permil"] = tidy(best * 1000)
	}
	for name, extreme := range map[string]func(context.Context, int) (float64, bool, error){
		"largest_mass_g": c.LargestMass, "smallest_mass_g": c.SmallestMass} {
		mass, ok, err := extreme(ctx, b)
		if err != nil {
			return nil, err
		}
		if ok {
			found[name] = tidy(mass)
		}
	}
	return found, nil
}

// mends are the additions, fine metal or base, that would make the refused
// blend possible: with the masses kept if that can be, else in melts that may
// grow.
func (q *question) mends(ctx context.Context, c *Conflict) ([]mend, error) {
	list := []mend{}
	for _, add := range DefaultAdditions(q.in.Metal) {
		for _, grows := range []bool{false, true} {
			g, ok, err := c.Mend(ctx, add, grows)
			if err != nil {
				return nil, err
			}
			if !ok || g <= 0 {
				continue
			}
			up := grid(math.Ceil(g/q.in.ResolutionG-1e-9), q.in.ResolutionG)
			text := fmt.Sprintf("%.7g g of %s beyond what is at hand would do it", up, add.ID)
			if grows {
				text += ", in a melt that grows past its greatest mass"
			}
			list = append(list, mend{add.ID, tidy(g), text + "."})
			break
		}
	}
	return list, nil
}

// tidy rounds to seven significant digits, as the writer of answers does.
func tidy(v float64) float64 {
	t, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 7, 64), 64)
	return t
}

// fault names the field of the request that a limit comes from.
func (q *question) fault(b Bound) calc.Fault {
	if b.melt < 0 {
		return q.lotFault(b)
	}
	melt, prefix := &q.programme.Melts[b.melt], q.prefix[b.melt]
	mass := func(field, word string, v float64) calc.Fault {
		if q.in.Melts[b.melt].MassG != nil {
			field = "mass_g"
		}
		return calc.Fault{Field: prefix + field, Value: v, Accepts: fmt.Sprintf("the melt is to weigh %s that, in g", word)}
	}
	element := func(word string, v float64) calc.Fault {
		field, usual := q.limits[b.melt][b.limit], ""
		if field == prefix+"limits" {
			usual = ", the usual limit; name the element in limits to set your own"
		}
		return calc.Fault{Field: field, Value: melt.Limits[b.limit].Element, Accepts: fmt.Sprintf("%s %g parts per thousand%s", word, tidy(v*1000), usual)}
	}
	switch b.kind {
	case leastMass:
		return mass("least_mass_g", "at least", melt.LeastG)
	case mostMass:
		return mass("most_mass_g", "at most", melt.MostG)
	case ceiling:
		return calc.Fault{Field: prefix + "no_finer_than_permil", Value: tidy(melt.Ceiling * 1000), Accepts: "the melt is not to be finer, parts per thousand"}
	case elementMost:
		return element("at most", melt.Limits[b.limit].Most)
	case elementLeast:
		return element("at least", melt.Limits[b.limit].Least)
	case scrapShare:
		return calc.Fault{Field: prefix + "largest_scrap_pct", Value: tidy(melt.ScrapShare * 100), Accepts: "no larger part of the melt may be scrap, per cent"}
	}
	return calc.Fault{Field: prefix + "fineness_permil", Value: q.in.Melts[b.melt].FinenessPermil, Accepts: fmt.Sprintf("the worst case is to reach %g", tidy(melt.Fineness*1000))}
}

func (q *question) lotFault(b Bound) calc.Fault {
	if b.kind == scrapStock {
		return calc.Fault{Field: "lots", Value: len(q.in.Lots), Accepts: "there is no more of the lots at hand"}
	}
	lot, field := &q.programme.Lots[b.lot], q.lotField[b.lot]
	switch b.kind {
	case wholeLot:
		return calc.Fault{Field: field + ".use", Value: "whole", Accepts: fmt.Sprintf("all %g g of %s are to go in", lot.StockG, lot.ID)}
	case undividedLot:
		return calc.Fault{Field: field + ".use", Value: "whole_or_none", Accepts: fmt.Sprintf("%s must not be cut", lot.ID)}
	}
	if lot.Bought {
		return calc.Fault{Field: field + ".stock_g", Value: lot.StockG, Accepts: fmt.Sprintf("there is no more of %s", lot.ID)}
	}
	return calc.Fault{Field: field + ".mass_g", Value: lot.StockG, Accepts: fmt.Sprintf("there is no more of %s", lot.ID)}
}

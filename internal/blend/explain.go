package blend

import (
	"context"
	"fmt"
	"math"

	"pourwright/internal/calc"
)

// mend is an addition that would make a refused blend possible.
type mend struct {
	Add   string  `json:"add"`
	MassG float64 `json:"mass_g"`
	Text  string  `json:"text"`
}

// explain turns a conflict into a refusal of the fields at fault.
func (q *question) explain(ctx context.Context, c *Conflict) error {
	set, err := c.Irreducible(ctx)
	if err != nil {
		return err
	}
	r := &calc.Refusal{Detail: "No blend meets all the limits; those named cannot be met together, any all but one of them can.", Explain: map[string]any{}}
	for _, b := range set {
		r.Faults = append(r.Faults, q.fault(b))
	}
	if len(r.Faults) == 0 {
		r.Faults = append(r.Faults, calc.Fault{Field: "lots", Accepts: "no lot may go into this melt"})
	}
	best, ok, err := c.HighestFineness(ctx, 0)
	if err != nil {
		return err
	}
	if ok {
		r.Explain["highest_fineness_permil"] = tidy(best * 1000)
	}
	mass, ok, err := c.LargestMass(ctx, 0)
	if err != nil {
		return err
	}
	if ok {
		r.Explain["largest_mass_g"] = tidy(mass)
	}
	mends := []mend{}
	extra := defaultAdditions(q.in.Metal)
	for _, add := range extra {
		for _, free := range []bool{false, true} {
			g, _, ok, err := c.Mend(ctx, add, free)
			if err != nil {
				return err
			}
			if !ok || g <= 0 {
				continue
			}
			up := math.Ceil(g/q.step-1e-9) * q.step
			text := fmt.Sprintf("%.2f g of %s beyond what is in stock would do it", up, add.ID)
			if free {
				text += ", in a melt that may grow"
			}
			mends = append(mends, mend{add.ID, tidy(g), text + "."})
			break
		}
	}
	r.Explain["mends"] = mends
	return r
}

// tidy rounds to seven significant digits, as the writer of answers does.
func tidy(v float64) float64 {
	if v == 0 {
		return 0
	}
	k := math.Pow(10, 6-math.Floor(math.Log10(math.Abs(v))))
	return math.Round(v*k) / k
}

func (q *question) fault(b Bound) calc.Fault {
	in, melt := q.in, &q.programme.Melts[0]
	switch b.Kind {
	case leastMass, mostMass:
		word, field, v := "at least", "least_mass_g", melt.LeastG
		if b.Kind == mostMass {
			word, field, v = "at most", "most_mass_g", melt.MostG
		}
		if in.MassG != nil {
			field = "mass_g"
		}
		return calc.Fault{Field: field, Value: v, Accepts: fmt.Sprintf("the melt is to weigh %s this, in g", word)}
	case fineness:
		return calc.Fault{Field: "fineness_permil", Value: in.FinenessPermil, Accepts: fmt.Sprintf("the worst case is to reach %g", tidy(melt.Fineness*1000))}
	case elementMost:
		l := melt.Limits[b.Limit]
		return calc.Fault{Field: q.limitName[b.Limit], Value: l.Element, Accepts: fmt.Sprintf("at most %g parts per thousand", tidy(l.Most*1000))}
	case elementLeast:
		l := melt.Limits[b.Limit]
		return calc.Fault{Field: q.limitName[b.Limit], Value: l.Element, Accepts: fmt.Sprintf("at least %g parts per thousand", tidy(l.Least*1000))}
	case scrapShare:
		return calc.Fault{Field: "largest_scrap_pct", Value: *in.LargestScrapPct, Accepts: "no larger part of the melt may be scrap"}
	case wholeLot:
		return calc.Fault{Field: q.lotField[b.Lot] + ".use", Value: "whole", Accepts: fmt.Sprintf("all %g g of %s are to go in", q.programme.Lots[b.Lot].StockG, q.programme.Lots[b.Lot].ID)}
	}
	field := ".mass_g"
	if q.programme.Lots[b.Lot].Bought {
		field = ".stock_g"
	}
	return calc.Fault{Field: q.lotField[b.Lot] + field, Value: q.programme.Lots[b.Lot].StockG, Accepts: fmt.Sprintf("there is no more of %s", q.programme.Lots[b.Lot].ID)}
}

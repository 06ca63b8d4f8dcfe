package blend

import (
	"context"
	"fmt"
	"math"
	"strconv"

	"pourwright/internal/calc"
)

// mend is an addition that would make a refused blend possible.
type mend struct {
	Add   string  `json:"add"`
	MassG float64 `json:"mass_g"`
	Text  string  `json:"text"`
}

// reach is what a melt of a refused request could be.
type reach struct {
	Melt               string   `json:"melt,omitempty"`
	HighestFinenessPml *float64 `json:"highest_fineness_permil,omitempty"`
	LargestMassG       *float64 `json:"largest_mass_g,omitempty"`
}

// explain turns a conflict into a refusal of the fields at fault.
func (q *question) explain(ctx context.Context, c *Conflict) error {
	set, err := c.Irreducible(ctx)
	if err != nil {
		return err
	}
	r := &calc.Refusal{Detail: "No blend meets all the limits: those named cannot be met together, but any all save one of them can.", Explain: map[string]any{}}
	for _, b := range set {
		r.Faults = append(r.Faults, q.fault(b))
	}
	if len(r.Faults) == 0 {
		r.Faults = append(r.Faults, calc.Fault{Field: "lots", Accepts: "no lot may go into this melt"})
	}
	reaches := []reach{}
	for b := range q.programme.Melts {
		one := reach{}
		if len(q.in.Melts) > 1 {
			one.Melt = q.in.Melts[b].ID
		}
		if best, ok, err := c.HighestFineness(ctx, b); err != nil {
			return err
		} else if ok {
			v := tidy(best * 1000)
			one.HighestFinenessPml = &v
		}
		if mass, ok, err := c.LargestMass(ctx, b); err != nil {
			return err
		} else if ok {
			v := tidy(mass)
			one.LargestMassG = &v
		}
		reaches = append(reaches, one)
	}
	r.Explain["reachable"] = reaches
	mends, err := q.mends(ctx, c)
	r.Explain["mends"] = mends
	return cmpErr(err, r)
}

func cmpErr(err error, r *calc.Refusal) error {
	if err != nil {
		return err
	}
	return r
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
		return calc.Fault{Field: q.limits[b.melt][b.limit], Value: melt.Limits[b.limit].Element, Accepts: fmt.Sprintf("%s %g parts per thousand", word, tidy(v*1000))}
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

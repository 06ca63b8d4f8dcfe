package blend

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/verdict"
)

// Symbol is that of a precious metal by its name in a request; "" if it is none.
func Symbol(name string) string { return symbols[name] }

var symbols = map[string]string{"silver": "Ag", "gold": "Au", "platinum": "Pt", "palladium": "Pd"}

// defaultLimits are those of the elements that spoil a melt, parts per
// thousand by mass. Zinc and tin are alloying metals of gold.
var defaultLimits = map[string][]struct {
	element string
	most    float64
}{
	"silver": {{"Al", .1}, {"Bi", .05}, {"Cd", .1}, {"Fe", .5}, {"Mn", 2}, {"Ni", 5}, {"Pb", .5}, {"S", .05}, {"Sb", .05}, {"Se", .05}, {"Si", 1}, {"Sn", 1}, {"Te", .05}, {"Zn", 5}},
	"gold":   {{"Al", .1}, {"Bi", .05}, {"Cd", .1}, {"Fe", .5}, {"Mn", 2}, {"Ni", 5}, {"Pb", .05}, {"S", .05}, {"Sb", .05}, {"Se", .05}, {"Si", 1}, {"Sn", 1}, {"Te", .05}},
}

// question is the request as a programme, with what ties the two together.
type question struct {
	in        *JointBlendIn
	prefix    []string // of the fields of each melt: "melts[1].", "" when there is one
	symbol    string
	programme Programme
	refused   []Refused
	reasons   map[string]verdict.Reasons // of the lots, by name
	clean     []CleanMass
	untested  []SourceLot // lots that nobody vouches for, left out until tested
	lotField  []string    // by lot of the programme: "lots[2]", "additions[0]"
	limits    [][]string  // field of each limit, by melt
}

func (in *JointBlendIn) read(single bool, notes *calc.Notes) (*question, error) {
	var checks calc.Checks
	in.Metal = cmpOr(in.Metal, in.metal())
	in.Objective = Objective(cmpOr(string(in.Objective), string(LeastFine)))
	in.Apportion = Apportion(cmpOr(string(in.Apportion), string(AnyShare)))
	if in.ResolutionG == 0 {
		in.ResolutionG = DefaultResolutionG
	}
	q := &question{in: in, symbol: symbols[in.Metal], refused: []Refused{}, reasons: map[string]verdict.Reasons{}, clean: []CleanMass{}}
	if q.symbol == "" {
		checks.Refuse("metal", in.Metal, "give silver, gold, platinum or palladium")
		return nil, checks.Err()
	}
	if len(in.Melts) == 0 {
		checks.Refuse("melts", nil, "give at least one melt")
	}
	const mostPairs = 2000 // about a second's work
	if n := len(in.Melts) * len(in.Lots); len(in.Melts) > 1 && n > mostPairs {
		checks.Refuse("lots", len(in.Lots), "give fewer lots or melts: at most %d lots for %d melts", mostPairs/len(in.Melts), len(in.Melts))
		return nil, checks.Err()
	}
	checks.Within("resolution_g", in.ResolutionG, 1e-4, 10, "g")
	q.programme.Objective, q.programme.Apportion = in.Objective, in.Apportion
	q.readLots(notes, &checks)
	q.readAdditions(&checks)
	seen := map[string]bool{}
	for b := range in.Melts {
		melt := &in.Melts[b]
		melt.ID = cmpOr(melt.ID, fmt.Sprintf("melt %d", b+1))
		prefix := fmt.Sprintf("melts[%d].", b)
		if single {
			prefix = ""
		}
		if seen[melt.ID] {
			checks.Refuse(prefix+"id", melt.ID, "give each melt a name of its own")
		}
		seen[melt.ID] = true
		q.prefix = append(q.prefix, prefix)
		q.readMelt(b, single, &checks)
	}
	if in.ReuseReturns {
		q.chainReturns()
	}
	return q, checks.Err()
}

// negligible is a share of a charge too small to weigh: a milligram in a kilogram.
const negligible = 1e-6

func (q *question) readMelt(b int, single bool, checks *calc.Checks) {
	given, prefix := &q.in.Melts[b], q.prefix[b]
	given.Composition = cmpOr(given.Composition, "as_alloy")
	checks.Under(strings.TrimSuffix(prefix, "."), calc.InBounds(*given))
	alloy := q.readAlloy(given, prefix, checks)
	switch {
	case (given.SolidusC == nil) != (given.LiquidusC == nil):
		checks.Refuse(prefix+"liquidus_c", nil, "give solidus_c and liquidus_c together, or neither")
	case given.SolidusC != nil && *given.SolidusC > *given.LiquidusC:
		checks.Refuse(prefix+"liquidus_c", *given.LiquidusC, "give a liquidus not below the solidus of %g °C", *given.SolidusC)
	}
	melt := Melt{ID: given.ID, Metal: q.symbol, Fineness: (given.FinenessPermil + given.MarginPermil) / 1000, ScrapShare: 1, MostG: math.Inf(1)}
	if melt.Fineness > 0.9999 {
		checks.Refuse(prefix+"margin_permil", given.MarginPermil, "give a fineness and margin that together stay below 999.9")
	}
	if given.LargestScrapPct != nil {
		melt.ScrapShare = *given.LargestScrapPct / 100
		if melt.ScrapShare < negligible {
			melt.ScrapShare = 0
		}
	}
	if given.NoFinerThan != nil {
		if least := given.FinenessPermil + given.MarginPermil; *given.NoFinerThan < least {
			checks.Refuse(prefix+"no_finer_than_permil", *given.NoFinerThan, "give at least the fineness and its margin, %g", least)
		}
		melt.Ceiling = *given.NoFinerThan / 1000
		if *given.NoFinerThan == given.FinenessPermil+given.MarginPermil {
			melt.Ceiling = melt.Fineness // the same number, whatever its last bit
		}
	}
	q.readMass(&melt, given, prefix, single, checks)
	q.readLimits(&melt, given, prefix, checks)
	q.window(&melt, given, alloy)
	q.readOwners(&melt, given, prefix, checks)
	q.programme.Melts = append(q.programme.Melts, melt)
}

func (q *question) readLots(notes *calc.Notes, checks *calc.Checks) {
	if len(q.in.Lots) == 0 {
		checks.Refuse("lots", nil, "give at least one lot")
	}
	seen := map[string]bool{}
	for i := range q.in.Lots {
		given := q.in.Lots[i]
		field := fmt.Sprintf("lots[%d]", i)
		given.ID = cmpOr(given.ID, fmt.Sprintf("lot %d", i+1))
		checks.Within(field+".mass_g", given.MassG, 0.001, 1e6, "g")
		if seen[given.ID] {
			checks.Refuse(field+".id", given.ID, "give each lot a name of its own")
		}
		seen[given.ID] = true
		if given.OwnerName == "studio" {
			checks.Refuse(field+".owner_name", given.OwnerName, "give the client's name, or owner studio")
		}
		lot, reason, err := given.read(q.symbol, notes)
		if !checks.Under(field, err) {
			continue
		}
		q.reasons[given.ID] = given.reasons(reason)
		if low, high := given.clean(); reason == "" && low < high {
			q.clean = append(q.clean, CleanMass{given.ID, low, high})
		}
		if reason == "" && given.untested() {
			if given.Use != "" && given.Use != "part" {
				checks.Refuse(field+".use", given.Use, "nobody vouches for this lot: give use part until it is tested")
			}
			q.untested = append(q.untested, given)
			continue
		}
		if reason != "" {
			if lot.Whole {
				checks.Refuse(field+".use", "whole", "this lot must not be melted at all: %s", reason)
			}
			q.refused = append(q.refused, Refused{lot.ID, reason})
			continue
		}
		q.programme.Lots = append(q.programme.Lots, lot)
		q.lotField = append(q.lotField, field)
	}
	if len(q.programme.Lots) == 0 && len(q.untested) == 0 && len(q.refused) > 0 {
		checks.Refuse("lots", q.refused[0].ID, "no lot is left that may be melted: %s", q.refused[0].Reason)
	}
}

// DefaultAdditions are fine metal of 999 and something to lower it with,
// without end and without price: silver, gold, platinum or palladium.
func DefaultAdditions(name string) []Lot {
	symbol, inf := symbols[name], math.Inf(1)
	fine, base := graded(symbol, 0.999, 0.999), metal.Composition{"Cu": 1}
	lower := "copper"
	if name == "gold" {
		lower, base = "silver and copper, equal parts", metal.Composition{"Ag": .5, "Cu": .5}
	}
	return []Lot{
		{ID: "fine " + name + " 999", StockG: inf, Bought: true, Least: fine.least, Most: fine.most},
		{ID: lower, StockG: inf, Bought: true, Least: base, Most: base},
	}
}

func (q *question) readAdditions(checks *calc.Checks) {
	if len(q.in.Additions) == 0 {
		for _, lot := range q.offered() {
			q.programme.Lots = append(q.programme.Lots, lot)
			q.lotField = append(q.lotField, "additions")
		}
		if q.in.Objective == LeastCost {
			checks.Refuse("additions", nil, "give what can be bought with price_per_gram, so that the least cost can be found")
		}
		return
	}
	seen := map[string]bool{}
	for i, a := range q.in.Additions {
		field := fmt.Sprintf("additions[%d]", i)
		if seen[a.ID] {
			checks.Refuse(field+".id", a.ID, "give each addition a name of its own")
		}
		seen[a.ID] = true
		lot := Lot{ID: a.ID, StockG: math.Inf(1), Bought: true}
		switch {
		case (a.Alloy != "") == (len(a.CompositionPermil) > 0):
			checks.Refuse(field+".alloy", a.Alloy, "give either alloy or composition_permil")
		case a.Alloy != "":
			m, err := metal.Named(a.Alloy)
			checks.Under(field, err)
			lot.Least = m.Composition
		default:
			var inner calc.Checks
			lot.Least = Analysis("composition_permil", a.CompositionPermil, &inner)
			checks.Under(field, inner.Err())
		}
		lot.Most = lot.Least
		for _, e := range sorted(poisons) {
			if lot.Most[e] > poisonTrace {
				checks.Refuse(field+".composition_permil", e, "%s", poisons[e])
			}
		}
		checks.Under(field, calc.InBounds(a))
		if a.StockG != nil {
			lot.StockG = *a.StockG
		}
		if a.PricePerG != nil {
			lot.PricePerG = *a.PricePerG
		} else if q.in.Objective == LeastCost {
			checks.Refuse(field+".price_per_gram", nil, "give a price, so that the least cost can be found")
		}
		q.programme.Lots = append(q.programme.Lots, lot)
		q.lotField = append(q.lotField, field)
	}
}

func (q *question) readMass(melt *Melt, in *MeltTarget, prefix string, single bool, checks *calc.Checks) {
	if in.MassG != nil {
		if in.LeastMassG != nil || in.MostMassG != nil {
			checks.Refuse(prefix+"mass_g", *in.MassG, "give either mass_g or least_mass_g and most_mass_g")
		}
		melt.LeastG, melt.MostG = *in.MassG, *in.MassG
		return
	}
	if in.MostMassG != nil {
		melt.MostG = *in.MostMassG
	}
	if in.LeastMassG != nil {
		if *in.LeastMassG > melt.MostG {
			checks.Refuse(prefix+"least_mass_g", *in.LeastMassG, "give at most most_mass_g, %g g", melt.MostG)
		}
		melt.LeastG = *in.LeastMassG
	}
	whole := slices.ContainsFunc(q.programme.Lots, func(l Lot) bool { return l.Whole })
	switch {
	case melt.LeastG == 0 && !single:
		checks.Refuse(prefix+"mass_g", nil, "give the mass of each melt, or the least")
	case melt.LeastG == 0 && !whole:
		checks.Refuse(prefix+"mass_g", nil, "give the mass of the melt, or mark a lot with use whole")
	}
}

func (q *question) readLimits(melt *Melt, in *MeltTarget, prefix string, checks *calc.Checks) {
	given, fields := map[string]bool{}, []string{}
	for i, l := range in.Limits {
		field := fmt.Sprintf("%slimits[%d]", prefix, i)
		limit := Limit{Element: l.Element, Most: 1}
		switch {
		case !slices.Contains(elements, l.Element):
			checks.Refuse(field+".element", l.Element, "give the symbol of an element, such as Zn")
		case given[l.Element]:
			checks.Refuse(field+".element", l.Element, "give one limit an element")
		case l.LeastPermil == nil && l.MostPermil == nil:
			checks.Refuse(field+".most_permil", nil, "give most_permil, least_permil or both")
		}
		given[l.Element] = true
		checks.Under(field, calc.InBounds(l))
		if l.MostPermil != nil {
			limit.Most = *l.MostPermil / 1000
		}
		if l.LeastPermil != nil {
			if l.MostPermil != nil && *l.LeastPermil > *l.MostPermil {
				checks.Refuse(field+".least_permil", *l.LeastPermil, "give at most most_permil, %g", *l.MostPermil)
			}
			limit.Least = *l.LeastPermil / 1000
		}
		melt.Limits = append(melt.Limits, limit)
		fields = append(fields, field)
	}
	for _, l := range DefaultLimits(q.in.Metal, q.programme.Lots) {
		if !given[l.Element] && !q.listed(in, l) {
			melt.Limits = append(melt.Limits, l)
			fields = append(fields, prefix+"limits")
		}
	}
	q.limits = append(q.limits, fields)
}

// DefaultLimits are the usual limits of the elements that spoil a melt of the
// metal, for those that any of the lots may hold; on the others a limit would
// only be an idle row.
func DefaultLimits(name string, lots []Lot) []Limit {
	list := []Limit{}
	for _, d := range defaultLimits[name] {
		if slices.ContainsFunc(lots, func(l Lot) bool { return l.Most[d.element] > 0 }) {
			list = append(list, Limit{d.element, 0, d.most / 1000})
		}
	}
	return list
}

func (q *question) readOwners(melt *Melt, in *MeltTarget, prefix string, checks *calc.Checks) {
	owner := in.ForOwner
	if !q.in.KeepOwnersApart {
		if owner != "" {
			checks.Refuse(prefix+"for_owner", owner, "leave it out, or set keep_owners_apart")
		}
		return
	}
	var clients []string
	for _, lot := range q.programme.Lots {
		if lot.clients() && !slices.Contains(clients, lot.Owner) {
			clients = append(clients, lot.Owner)
		}
	}
	names := strings.Join(clients, ", ")
	switch {
	case owner == "" && len(clients) > 1:
		checks.Refuse(prefix+"for_owner", nil, "say whose metal the melt is for: %s", names)
	case owner == "" && len(clients) == 1:
		owner = clients[0]
	case owner != "" && !slices.Contains(clients, owner):
		checks.Refuse(prefix+"for_owner", owner, "give the owner_name of a lot (%s)", names)
	}
	melt.OnlyOwner = &owner
	for k, lot := range q.programme.Lots {
		if lot.Whole && melt.bars(&lot) && len(q.in.Melts) == 1 {
			checks.Refuse(q.lotField[k]+".use", "whole", "this lot is %s's and the melt is for %s", lot.Owner, owner)
		}
	}
}

// chainReturns puts the returns of each melt into the next, as far as the
// next can hold them.
func (q *question) chainReturns() {
	melts := q.programme.Melts
	for b := range melts {
		melts[b].Returns = nil
		if b == 0 {
			continue
		}
		before := &melts[b-1]
		share := q.returns(before.ID)
		// Returns go with their owner.
		if before.OnlyOwner != nil && melts[b].OnlyOwner != nil && *before.OnlyOwner != *melts[b].OnlyOwner {
			continue
		}
		if most := min(melts[b].MostG, melts[b].LeastG) / before.LeastG; share > most {
			share = most
		}
		if share > negligible {
			melts[b].Returns = []Return{{b - 1, share}}
		}
	}
}

func (q *question) returns(id string) float64 {
	for _, m := range q.in.Melts {
		if m.ID == id {
			return m.ReturnsPct / 100
		}
	}
	return 0
}

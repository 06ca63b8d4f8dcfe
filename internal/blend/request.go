package blend

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
)

// BlendAddition is fine metal or an alloy that can be bought for the melt.
type BlendAddition struct {
	ID                string             `json:"id" maxLength:"80" doc:"What you call it" example:"fine silver grain"`
	Alloy             string             `json:"alloy,omitempty" maxLength:"40" doc:"Id of a catalogue alloy, instead of composition_permil" example:"silver-999"`
	CompositionPermil map[string]float64 `json:"composition_permil,omitempty" doc:"Parts per thousand by mass of each element, by symbol; what is missing to 1000 counts as copper"`
	StockG            *float64           `json:"stock_g,omitempty" minimum:"0" maximum:"1000000" doc:"How much can be had, g; without end when left out" example:"50"`
	PricePerG         *float64           `json:"price_per_gram,omitempty" minimum:"0" maximum:"100000" doc:"Price, your money per g" example:"1.05"`
}

// BlendLimit bounds an element of the melt.
type BlendLimit struct {
	Element     string   `json:"element" maxLength:"2" doc:"Symbol" example:"Zn"`
	LeastPermil *float64 `json:"least_permil,omitempty" minimum:"0" maximum:"1000" doc:"Least, parts per thousand by mass, in the worst case"`
	MostPermil  *float64 `json:"most_permil,omitempty" minimum:"0" maximum:"1000" doc:"Greatest, parts per thousand by mass, in the worst case; replaces the default of that element" example:"5"`
}

// BlendTarget is what a melt must be.
type BlendTarget struct {
	FinenessPermil  float64      `json:"fineness_permil" minimum:"1" maximum:"999.9" doc:"Fineness that the melt must reach in the worst case, parts per thousand" example:"925"`
	MarginPermil    float64      `json:"margin_permil,omitempty" minimum:"0" maximum:"100" default:"0" doc:"Margin above it; 2 to 5 is usual for known scrap, 10 or more for unknown" example:"3"`
	NoFinerThan     *float64     `json:"no_finer_than_permil,omitempty" minimum:"1" maximum:"1000" doc:"Fineness that the worst case is not to pass, so that no fine metal is given away; give fineness_permil again to meet it exactly" example:"930"`
	MassG           *float64     `json:"mass_g,omitempty" minimum:"0.01" maximum:"1000000" doc:"Mass of the melt, g; when left out the lots marked whole decide it, within least_mass_g and most_mass_g" example:"80"`
	LeastMassG      *float64     `json:"least_mass_g,omitempty" minimum:"0" maximum:"1000000" doc:"Least mass of the melt, g, instead of mass_g"`
	MostMassG       *float64     `json:"most_mass_g,omitempty" minimum:"0.01" maximum:"1000000" doc:"Greatest mass, g: what the crucible holds, instead of mass_g"`
	Limits          []BlendLimit `json:"limits,omitempty" maxItems:"28" doc:"Bounds of elements, over and above the defaults"`
	LargestScrapPct *float64     `json:"largest_scrap_pct,omitempty" minimum:"0" maximum:"100" doc:"Largest part of the melt that may be scrap, per cent; half is a usual rule, no limit when left out" example:"50"`
	ForOwner        string       `json:"for_owner,omitempty" maxLength:"80" doc:"Which client's melt it is, when owners are kept apart; needed where there are several"`
}

// BlendStock is what there is to melt, and what is wanted of it.
type BlendStock struct {
	Metal           string          `json:"metal,omitempty" enum:"silver,gold,platinum,palladium" default:"silver" doc:"The metal whose fineness counts"`
	Lots            []BlendLot      `json:"lots" minItems:"1" maxItems:"1000" doc:"The scrap at hand"`
	Additions       []BlendAddition `json:"additions,omitempty" maxItems:"50" doc:"What can be bought; fine metal of 999 and copper (for gold: equal parts of silver and copper) without end when left out"`
	Objective       Objective       `json:"objective,omitempty" enum:"least_bought,least_cost,most_client,least_change" default:"least_bought" doc:"What to favour: least_bought, the least bought metal; least_cost, the least money; most_client, the most of the clients' metal; least_change, the least metal added and left over together"`
	KeepOwnersApart bool            `json:"keep_owners_apart,omitempty" default:"false" doc:"Use the metal of one client only in a melt, besides the studio's"`
	ResolutionG     float64         `json:"resolution_g,omitempty" minimum:"0.0001" maximum:"10" default:"0.01" doc:"Step of the scale, g"`
}

// BlendIn asks what to put into one melt.
type BlendIn struct {
	BlendTarget
	BlendStock
}

// BlendMelt is one of several melts.
type BlendMelt struct {
	ID         string  `json:"id,omitempty" maxLength:"80" doc:"What you call it; melt 1, melt 2 and so on when left out" example:"bangle"`
	ReturnsPct float64 `json:"returns_pct,omitempty" minimum:"0" maximum:"95" default:"0" doc:"Part of the charge that comes back as button and sprue, per cent; 25 to 50 is usual" example:"35"`
	BlendTarget
}

// JointBlendIn asks what to put into several melts that share the lots.
type JointBlendIn struct {
	Melts []BlendMelt `json:"melts" minItems:"1" maxItems:"20" doc:"The melts, in the order of the pours"`
	BlendStock
	Apportion    Apportion `json:"apportion,omitempty" enum:"as_it_comes,even,first_piece" default:"as_it_comes" doc:"How the clients' metal is shared where the objective leaves a choice: as_it_comes; even, so that the smallest share in a melt is as large as can be; first_piece, as much as can be in the first melt, then the second"`
	ReuseReturns bool      `json:"reuse_returns,omitempty" default:"false" doc:"Put the returns of each pour into the next melt, as far as it holds them"`
	PourOrder    string    `json:"pour_order,omitempty" enum:"as_given,best" default:"as_given" doc:"best tries every order of up to 5 melts, which matters where returns are used again"`
}

var symbols = map[string]string{"silver": "Ag", "gold": "Au", "platinum": "Pt", "palladium": "Pd"}

// defaultLimits are those of the elements that spoil a melt, parts per
// thousand by mass. Zinc and tin are alloying metals of gold.
var defaultLimits = map[string][]struct {
	element string
	most    float64
}{
	"silver": {{"Al", .1}, {"Bi", .05}, {"Cd", .1}, {"Fe", .5}, {"Mn", 2}, {"Ni", 5}, {"Pb", .5}, {"Sb", .05}, {"Si", 1}, {"Sn", 1}, {"Zn", 5}},
	"gold":   {{"Al", .1}, {"Bi", .05}, {"Cd", .1}, {"Fe", .5}, {"Mn", 2}, {"Ni", 5}, {"Pb", .05}, {"Sb", .05}, {"Si", 1}, {"Sn", 1}},
}

// question is the request as a programme, with what ties the two together.
type question struct {
	in        *JointBlendIn
	prefix    []string // of the fields of each melt: "melts[1].", "" when there is one
	symbol    string
	programme Programme
	refused   []BlendRefused
	lotField  []string   // by lot of the programme: "lots[2]", "additions[0]"
	limits    [][]string // field of each limit, by melt
}

func (in *JointBlendIn) read(single bool, notes *calc.Notes) (*question, error) {
	var checks calc.Checks
	in.Metal = cmpOr(in.Metal, "silver")
	in.Objective = Objective(cmpOr(string(in.Objective), string(LeastBought)))
	in.Apportion = Apportion(cmpOr(string(in.Apportion), string(AnyShare)))
	if in.ResolutionG == 0 {
		in.ResolutionG = DefaultResolutionG
	}
	q := &question{in: in, symbol: symbols[in.Metal], refused: []BlendRefused{}}
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
	checks.Within(prefix+"fineness_permil", given.FinenessPermil, 1, 999.9, "parts per thousand (sterling is 925)")
	checks.Within(prefix+"margin_permil", given.MarginPermil, 0, 100, "parts per thousand")
	checks.Within(prefix+"returns_pct", given.ReturnsPct, 0, 95, "per cent")
	melt := Melt{ID: given.ID, Metal: q.symbol, Fineness: (given.FinenessPermil + given.MarginPermil) / 1000, ScrapShare: 1, MostG: math.Inf(1)}
	if melt.Fineness > 0.9999 {
		checks.Refuse(prefix+"margin_permil", given.MarginPermil, "give a fineness and margin that together stay below 999.9")
	}
	if given.LargestScrapPct != nil {
		checks.Within(prefix+"largest_scrap_pct", *given.LargestScrapPct, 0, 100, "per cent")
		melt.ScrapShare = *given.LargestScrapPct / 100
		if melt.ScrapShare < negligible {
			melt.ScrapShare = 0
		}
	}
	if given.NoFinerThan != nil {
		checks.Within(prefix+"no_finer_than_permil", *given.NoFinerThan, given.FinenessPermil+given.MarginPermil, 1000, "parts per thousand, not below the fineness and its margin")
		melt.Ceiling = *given.NoFinerThan / 1000
		if *given.NoFinerThan == given.FinenessPermil+given.MarginPermil {
			melt.Ceiling = melt.Fineness // the same number, whatever its last bit
		}
	}
	q.readMass(&melt, given, prefix, single, checks)
	q.readLimits(&melt, given, prefix, checks)
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
		if reason != "" {
			if lot.Whole {
				checks.Refuse(field+".use", "whole", "this lot must not be melted at all: %s", reason)
			}
			q.refused = append(q.refused, BlendRefused{lot.ID, reason})
			continue
		}
		q.programme.Lots = append(q.programme.Lots, lot)
		q.lotField = append(q.lotField, field)
	}
	if len(q.programme.Lots) == 0 && len(q.refused) > 0 {
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
		for _, lot := range DefaultAdditions(q.in.Metal) {
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
		if a.StockG != nil {
			checks.Within(field+".stock_g", *a.StockG, 0, 1e6, "g")
			lot.StockG = *a.StockG
		}
		if a.PricePerG != nil {
			checks.Within(field+".price_per_gram", *a.PricePerG, 0, 1e5, "per g")
			lot.PricePerG = *a.PricePerG
		} else if q.in.Objective == LeastCost {
			checks.Refuse(field+".price_per_gram", nil, "give a price, so that the least cost can be found")
		}
		q.programme.Lots = append(q.programme.Lots, lot)
		q.lotField = append(q.lotField, field)
	}
}

func (q *question) readMass(melt *Melt, in *BlendMelt, prefix string, single bool, checks *calc.Checks) {
	if in.MassG != nil {
		checks.Within(prefix+"mass_g", *in.MassG, 0.01, 1e6, "g")
		if in.LeastMassG != nil || in.MostMassG != nil {
			checks.Refuse(prefix+"mass_g", *in.MassG, "give either mass_g or least_mass_g and most_mass_g")
		}
		melt.LeastG, melt.MostG = *in.MassG, *in.MassG
		return
	}
	if in.MostMassG != nil {
		checks.Within(prefix+"most_mass_g", *in.MostMassG, 0.01, 1e6, "g")
		melt.MostG = *in.MostMassG
	}
	if in.LeastMassG != nil {
		checks.Within(prefix+"least_mass_g", *in.LeastMassG, 0, min(melt.MostG, 1e6), "g, not above most_mass_g")
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

func (q *question) readLimits(melt *Melt, in *BlendMelt, prefix string, checks *calc.Checks) {
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
		if l.MostPermil != nil {
			checks.Within(field+".most_permil", *l.MostPermil, 0, 1000, "parts per thousand")
			limit.Most = *l.MostPermil / 1000
		}
		if l.LeastPermil != nil {
			checks.Within(field+".least_permil", *l.LeastPermil, 0, limit.Most*1000, "parts per thousand, not above most_permil")
			limit.Least = *l.LeastPermil / 1000
		}
		melt.Limits = append(melt.Limits, limit)
		fields = append(fields, field)
	}
	for _, l := range DefaultLimits(q.in.Metal, q.programme.Lots) {
		if !given[l.Element] {
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

func (q *question) readOwners(melt *Melt, in *BlendMelt, prefix string, checks *calc.Checks) {
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

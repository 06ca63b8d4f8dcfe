package blend

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"

	"pourwright/internal/blend/lp"
	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/safety"
)

// BlendAddition is fine metal or an alloy that can be bought for the melt.
type BlendAddition struct {
	ID                string             `json:"id" maxLength:"80" doc:"What you call it" example:"fine silver grain"`
	Alloy             string             `json:"alloy,omitempty" maxLength:"40" doc:"Id of a catalogue alloy, instead of composition_permil" example:"silver-999"`
	CompositionPermil map[string]float64 `json:"composition_permil,omitempty" doc:"Parts per thousand by mass of each element, by symbol; what is missing to 1000 counts as copper"`
	StockG            *float64           `json:"stock_g,omitempty" minimum:"0" maximum:"1000000" doc:"How much can be had, g; without end when left out" example:"50"`
	PricePerG         *float64           `json:"price_per_g,omitempty" minimum:"0" maximum:"100000" doc:"Price, your money per g" example:"1.05"`
}

// BlendLimit bounds an element of the melt.
type BlendLimit struct {
	Element     string   `json:"element" maxLength:"2" doc:"Symbol" example:"Zn"`
	LeastPermil *float64 `json:"least_permil,omitempty" minimum:"0" maximum:"1000" doc:"Least, parts per thousand by mass, in the worst case"`
	MostPermil  *float64 `json:"most_permil,omitempty" minimum:"0" maximum:"1000" doc:"Greatest, parts per thousand by mass, in the worst case; replaces the default of that element" example:"5"`
}

// BlendIn asks what to put into one melt.
type BlendIn struct {
	Metal           string          `json:"metal,omitempty" enum:"silver,gold,platinum,palladium" default:"silver" doc:"The metal whose fineness counts"`
	FinenessPermil  float64         `json:"fineness_permil" minimum:"1" maximum:"999.9" doc:"Fineness that the melt must reach in the worst case, parts per thousand" example:"925"`
	MarginPermil    float64         `json:"margin_permil,omitempty" minimum:"0" maximum:"100" default:"0" doc:"Margin above it; 2 to 5 is usual for known scrap, 10 or more for unknown" example:"3"`
	MassG           *float64        `json:"mass_g,omitempty" minimum:"0.01" maximum:"1000000" doc:"Mass of the melt, g; when left out the lots marked whole decide it, within least_mass_g and most_mass_g" example:"80"`
	LeastMassG      *float64        `json:"least_mass_g,omitempty" minimum:"0" maximum:"1000000" doc:"Least mass of the melt, g, instead of mass_g"`
	MostMassG       *float64        `json:"most_mass_g,omitempty" minimum:"0.01" maximum:"1000000" doc:"Greatest mass, g: what the crucible holds, instead of mass_g"`
	Lots            []BlendLot      `json:"lots" minItems:"1" maxItems:"1000" doc:"The scrap at hand"`
	Additions       []BlendAddition `json:"additions,omitempty" maxItems:"50" doc:"What can be bought; fine metal of 999 and copper (for gold: equal parts of silver and copper) without end when left out"`
	Objective       Objective       `json:"objective,omitempty" enum:"least_bought,least_cost,most_client,least_change" default:"least_bought" doc:"What to favour: least_bought, the least bought metal; least_cost, the least money; most_client, the most of the clients' metal; least_change, the least metal added and left over together"`
	Limits          []BlendLimit    `json:"limits,omitempty" maxItems:"28" doc:"Bounds of elements, over and above the defaults"`
	LargestScrapPct *float64        `json:"largest_scrap_pct,omitempty" minimum:"0" maximum:"100" doc:"Largest part of the melt that may be scrap, per cent; half is a usual rule, no limit when left out" example:"50"`
	KeepOwnersApart bool            `json:"keep_owners_apart,omitempty" default:"false" doc:"Use the metal of one client only, besides the studio's"`
	ForOwner        string          `json:"for_owner,omitempty" maxLength:"80" doc:"Which client's, when owners are kept apart; needed where there are several"`
	ResolutionG     float64         `json:"resolution_g,omitempty" minimum:"0.0001" maximum:"10" default:"0.01" doc:"Step of the scale, g"`
}

// BlendPart is what goes in of one lot or addition.
type BlendPart struct {
	ID           string  `json:"id" doc:"The lot or addition"`
	Bought       bool    `json:"bought" doc:"Whether it is bought for the melt"`
	Owner        string  `json:"owner" doc:"Whose it is; studio for bought metal"`
	WeighG       float64 `json:"weigh_g" doc:"Weigh out this much, g: rounded to the scale so that the fineness holds"`
	ExactG       float64 `json:"exact_g" doc:"The programme's own answer, g"`
	LeftG        float64 `json:"left_g" doc:"Left over of the lot, g; 0 for stock without end"`
	SharePct     float64 `json:"share_pct" doc:"Part of the melt, per cent"`
	FineLeastG   float64 `json:"fine_least_g" doc:"Fine metal in it in the worst case, g"`
	FineGreatest float64 `json:"fine_greatest_g" doc:"Fine metal in it in the best case, g"`
}

// BlendRefused is a lot that must stay out of any melt.
type BlendRefused struct {
	ID     string `json:"id" doc:"The lot"`
	Reason string `json:"reason" doc:"Why, and what to do with it"`
}

// BlendElement is what the melt holds of an element.
type BlendElement struct {
	Element        string  `json:"element" doc:"Symbol"`
	LeastPermil    float64 `json:"least_permil" doc:"Parts per thousand, at least"`
	MiddlePermil   float64 `json:"middle_permil" doc:"In the middle of what is known"`
	GreatestPermil float64 `json:"greatest_permil" doc:"At most"`
}

// BlendOwner is an owner's part of the melt.
type BlendOwner struct {
	Owner        string  `json:"owner" doc:"Whose; studio includes what is bought"`
	MassG        float64 `json:"mass_g" doc:"Mass put in, g"`
	FineLeastG   float64 `json:"fine_least_g" doc:"Fine metal in it in the worst case, g"`
	FineGreatest float64 `json:"fine_greatest_g" doc:"Fine metal in it in the best case, g"`
}

// BlendVerification is the proof of the answer.
type BlendVerification struct {
	Optimal bool    `json:"optimal" doc:"Feasible, and no better answer exists: both checked on the data as given after the solve"`
	Primal  float64 `json:"primal_residual" doc:"Greatest breach of a limit, relative"`
	Dual    float64 `json:"dual_residual" doc:"Greatest breach by the prices, relative"`
	Gap     float64 `json:"duality_gap" doc:"Difference between the answer and the bound that the prices prove, relative"`
	Pivots  int     `json:"pivots" doc:"Steps of the simplex method"`
}

// BlendOut is the charge.
type BlendOut struct {
	MassG         float64           `json:"mass_g" doc:"Mass of the charge as weighed out, g"`
	FinenessWorst float64           `json:"fineness_worst_permil" doc:"Fineness as weighed out, in the worst case of what is known, parts per thousand"`
	FinenessBest  float64           `json:"fineness_best_permil" doc:"In the best case"`
	Charge        []BlendPart       `json:"charge" doc:"What to weigh out, lots first, in the order given"`
	BoughtG       float64           `json:"bought_g" doc:"Bought metal, g"`
	ClientG       float64           `json:"client_g" doc:"Clients' metal, g"`
	ScrapPct      float64           `json:"scrap_pct" doc:"Part of the charge that is scrap, per cent"`
	Cost          string            `json:"cost,omitempty" doc:"Price of all that goes in, in your money, where prices were given" example:"12.40"`
	Composition   string            `json:"composition" doc:"Composition in the middle of what is known, parts per thousand, as the other calculations read it" example:"Ag 926.2 Cu 73.8"`
	Elements      []BlendElement    `json:"elements" doc:"The same with its worst and best cases"`
	Owners        []BlendOwner      `json:"owners" doc:"Whose metal is in it"`
	RefusedLots   []BlendRefused    `json:"refused_lots" doc:"Lots that must not be melted, and why"`
	WhatIf        []BlendWhatIf     `json:"what_if" doc:"What a small change would cost or save"`
	Verification  BlendVerification `json:"verification" doc:"Proof of the answer"`
	calc.Notes
}

var symbols = map[string]string{"silver": "Ag", "gold": "Au", "platinum": "Pt", "palladium": "Pd"}

var (
	srcMix    = calc.Source{For: "fineness of a mixture", Text: "alligation: sum of mass × fineness over sum of mass, as in G. E. Gee, The Silversmith's Handbook", Status: calc.Confirmed}
	srcWorst  = calc.Source{For: "worst case", Text: "hallmarking laws know no negative tolerance (UK Hallmarking Act 1973 s. 1(4)); every lot counts at its least fineness", Status: calc.Confirmed}
	srcLP     = calc.Source{For: "linear programme", Text: "V. Chvátal, Linear Programming, 1983, ch. 8-9: bounded simplex method and duality; checked after each solve", Status: calc.FromMemory}
	srcLimits = calc.Source{For: "default limits of elements", Text: "usual trade limits of contaminants in a melt", Status: calc.Practice}
)

// defaults of the elements that spoil a melt, parts per thousand by mass.
// Zinc, tin and nickel are alloying metals of gold and bounded only in silver
// and, for nickel, in yellow gold.
var defaultLimits = map[string][]struct {
	element string
	most    float64
}{
	"silver": {{"Al", .1}, {"Bi", .05}, {"Cd", .1}, {"Fe", .5}, {"Mn", 2}, {"Ni", 5}, {"Pb", .5}, {"Sb", .05}, {"Si", 1}, {"Sn", 1}, {"Zn", 5}},
	"gold":   {{"Al", .1}, {"Bi", .05}, {"Cd", .1}, {"Fe", .5}, {"Mn", 2}, {"Ni", 5}, {"Pb", .05}, {"Sb", .05}, {"Si", 1}, {"Sn", 1}},
}

// Solve answers in with the best charge that meets every limit in the worst
// case of what is known of the lots. Masses in g, fineness in parts per
// thousand by mass. The error is a *calc.Refusal that names the fields; when
// the limits conflict it names an irreducible set of them, what can be
// reached, and what would mend it.
func Solve(ctx context.Context, in BlendIn) (BlendOut, error) {
	out := BlendOut{Notes: calc.Noting(ctx), RefusedLots: []BlendRefused{}, Charge: []BlendPart{}}
	q, err := in.read(&out)
	if err != nil {
		return BlendOut{}, err
	}
	exact, weighed, err := q.programme.Weigh(ctx, q.step)
	var conflict *Conflict
	switch {
	case errors.As(err, &conflict):
		return BlendOut{}, q.explain(ctx, conflict)
	case err != nil:
		return BlendOut{}, err
	}
	q.answer(&out, exact, weighed[0])
	out.WhatIf = q.whatIf(exact)
	q.working(&out, exact)
	return out, nil
}

// question is the request as a programme, with what ties the two together.
type question struct {
	in        *BlendIn
	symbol    string
	step      float64
	programme Programme
	lotField  []string // by lot of the programme: "lots[2]", "additions[0]"
	defaults  int      // element limits of the melt that are defaults come first
	limitName []string
}

func (in *BlendIn) read(out *BlendOut) (*question, error) {
	var checks calc.Checks
	in.Metal = cmpOr(in.Metal, "silver")
	in.Objective = Objective(cmpOr(string(in.Objective), string(LeastBought)))
	q := &question{in: in, symbol: symbols[in.Metal], step: in.ResolutionG}
	if q.symbol == "" {
		checks.Refuse("metal", in.Metal, "give silver, gold, platinum or palladium")
		return nil, checks.Err()
	}
	if q.step == 0 {
		q.step = DefaultResolutionG
	}
	checks.Within("resolution_g", q.step, 1e-4, 10, "g")
	checks.Within("fineness_permil", in.FinenessPermil, 1, 999.9, "parts per thousand (sterling is 925)")
	checks.Within("margin_permil", in.MarginPermil, 0, 100, "parts per thousand")
	q.programme.Objective = in.Objective
	melt := Melt{ID: "melt", Metal: q.symbol, Fineness: (in.FinenessPermil + in.MarginPermil) / 1000, ScrapShare: 1, MostG: math.Inf(1)}
	if melt.Fineness > 0.9999 {
		checks.Refuse("margin_permil", in.MarginPermil, "give a fineness and margin that together stay below 999.9")
	}
	q.readLots(out, &checks)
	q.readAdditions(&checks)
	q.readMass(&melt, &checks)
	q.readLimits(&melt, &checks)
	q.readOwners(&melt, &checks)
	if in.LargestScrapPct != nil {
		checks.Within("largest_scrap_pct", *in.LargestScrapPct, 0, 100, "per cent")
		melt.ScrapShare = *in.LargestScrapPct / 100
	}
	q.programme.Melts = []Melt{melt}
	if err := checks.Err(); err != nil {
		return nil, err
	}
	return q, nil
}

func (q *question) readLots(out *BlendOut, checks *calc.Checks) {
	if len(q.in.Lots) == 0 {
		checks.Refuse("lots", nil, "give at least one lot")
	}
	seen := map[string]bool{}
	usable := false
	for i := range q.in.Lots {
		given := q.in.Lots[i]
		field := fmt.Sprintf("lots[%d]", i)
		given.ID = cmpOr(given.ID, fmt.Sprintf("lot %d", i+1))
		checks.Within(field+".mass_g", given.MassG, 0.001, 1e6, "g")
		if seen[given.ID] {
			checks.Refuse(field+".id", given.ID, "give each lot a name of its own")
		}
		seen[given.ID] = true
		lot, reason, err := given.read(q.symbol, &out.Notes)
		if !checks.Under(field, err) {
			continue
		}
		if reason != "" {
			if lot.Whole {
				checks.Refuse(field+".use", "whole", "this lot must not be melted at all: %s", reason)
			}
			out.RefusedLots = append(out.RefusedLots, BlendRefused{lot.ID, reason})
			continue
		}
		usable = true
		q.programme.Lots = append(q.programme.Lots, lot)
		q.lotField = append(q.lotField, field)
	}
	if !usable && len(out.RefusedLots) > 0 {
		checks.Refuse("lots", out.RefusedLots[0].ID, "no lot is left that may be melted: %s", out.RefusedLots[0].Reason)
	}
}

// defaultAdditions are fine metal and something to lower it with.
func defaultAdditions(name string) []Lot {
	symbol, inf := symbols[name], math.Inf(1)
	fine := graded(symbol, 0.999, 0.999)
	base := Lot{ID: "copper", StockG: inf, Bought: true, Least: pure("Cu").least, Most: pure("Cu").most}
	if name == "gold" {
		half := metal.Composition{"Ag": .5, "Cu": .5}
		base = Lot{ID: "silver and copper, equal parts", StockG: inf, Bought: true, Least: half, Most: half}
	}
	return []Lot{{ID: "fine " + name + " 999", StockG: inf, Bought: true, Least: fine.least, Most: fine.most}, base}
}

func (q *question) readAdditions(checks *calc.Checks) {
	if len(q.in.Additions) == 0 {
		for _, lot := range defaultAdditions(q.in.Metal) {
			q.programme.Lots = append(q.programme.Lots, lot)
			q.lotField = append(q.lotField, "additions")
		}
		if q.in.Objective == LeastCost {
			checks.Refuse("additions", nil, "give what can be bought with price_per_g, so that the least cost can be found")
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
			continue
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
		for e, why := range poisons {
			if lot.Most[e] > poisonTrace {
				checks.Refuse(field+".composition_permil", e, "%s", why)
			}
		}
		if a.StockG != nil {
			checks.Within(field+".stock_g", *a.StockG, 0, 1e6, "g")
			lot.StockG = *a.StockG
		}
		if a.PricePerG != nil {
			checks.Within(field+".price_per_g", *a.PricePerG, 0, 1e5, "per g")
			lot.PricePerG = *a.PricePerG
		} else if q.in.Objective == LeastCost {
			checks.Refuse(field+".price_per_g", nil, "give a price, so that the least cost can be found")
		}
		q.programme.Lots = append(q.programme.Lots, lot)
		q.lotField = append(q.lotField, field)
	}
}

func (q *question) readMass(melt *Melt, checks *calc.Checks) {
	in := q.in
	if in.MassG != nil {
		checks.Within("mass_g", *in.MassG, 0.01, 1e6, "g")
		if in.LeastMassG != nil || in.MostMassG != nil {
			checks.Refuse("mass_g", *in.MassG, "give either mass_g or least_mass_g and most_mass_g")
		}
		melt.LeastG, melt.MostG = *in.MassG, *in.MassG
		return
	}
	if in.MostMassG != nil {
		checks.Within("most_mass_g", *in.MostMassG, 0.01, 1e6, "g")
		melt.MostG = *in.MostMassG
	}
	if in.LeastMassG != nil {
		checks.Within("least_mass_g", *in.LeastMassG, 0, min(melt.MostG, 1e6), "g, not above most_mass_g")
		melt.LeastG = *in.LeastMassG
	}
	for _, lot := range q.programme.Lots {
		if lot.Whole {
			return
		}
	}
	if melt.LeastG == 0 {
		checks.Refuse("mass_g", nil, "give the mass of the melt, or mark a lot with use whole")
	}
}

func (q *question) readLimits(melt *Melt, checks *calc.Checks) {
	given := map[string]bool{}
	for i, l := range q.in.Limits {
		field := fmt.Sprintf("limits[%d]", i)
		limit := Limit{Element: l.Element, Most: 1}
		switch {
		case !contains(elements, l.Element):
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
		q.limitName = append(q.limitName, field)
	}
	for _, d := range defaultLimits[q.in.Metal] {
		if given[d.element] || !q.holds(d.element) {
			continue
		}
		melt.Limits = append(melt.Limits, Limit{d.element, 0, d.most / 1000})
		q.limitName = append(q.limitName, "limits")
	}
}

// holds reports whether any lot may hold the element; a limit on one that
// none holds would only be an idle row.
func (q *question) holds(element string) bool {
	for _, lot := range q.programme.Lots {
		if lot.Most[element] > 0 {
			return true
		}
	}
	return false
}

func (q *question) readOwners(melt *Melt, checks *calc.Checks) {
	if !q.in.KeepOwnersApart {
		if q.in.ForOwner != "" {
			checks.Refuse("for_owner", q.in.ForOwner, "leave it out, or set keep_owners_apart")
		}
		return
	}
	owner := q.in.ForOwner
	var clients []string
	for _, lot := range q.programme.Lots {
		if lot.clients() && !contains(clients, lot.Owner) {
			clients = append(clients, lot.Owner)
		}
	}
	switch {
	case owner == "" && len(clients) > 1:
		checks.Refuse("for_owner", nil, "say whose metal the melt is for: %s", words(clients))
	case owner == "" && len(clients) == 1:
		owner = clients[0]
	case owner != "" && !contains(clients, owner):
		checks.Refuse("for_owner", owner, "give the owner_name of a lot (%s)", words(clients))
	}
	melt.OnlyOwner = &owner
	for k, lot := range q.programme.Lots {
		if lot.Whole && melt.bars(&lot) {
			checks.Refuse(q.lotField[k]+".use", "whole", "this lot is %s's and the melt is for %s", lot.Owner, owner)
		}
	}
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

func (q *question) answer(out *BlendOut, exact *Plan, weighed []float64) {
	p := &q.programme
	content := p.Content([][]float64{weighed}, 0)
	out.MassG = content.MassG
	out.FinenessWorst, out.FinenessBest = content.Least[q.symbol]*1000, content.Most[q.symbol]*1000
	owners := map[string]*BlendOwner{}
	cost := new(big.Rat)
	scrap := 0.0
	for k, x := range weighed {
		lot := &p.Lots[k]
		owner := cmpOr(lot.Owner, "studio")
		part := BlendPart{ID: lot.ID, Bought: lot.Bought, Owner: owner, WeighG: x, ExactG: exact.MassG[0][k],
			FineLeastG: x * lot.Least[q.symbol], FineGreatest: x * lot.Most[q.symbol]}
		if !math.IsInf(lot.StockG, 1) {
			part.LeftG = max(lot.StockG-x, 0)
		}
		if out.MassG > 0 {
			part.SharePct = 100 * x / out.MassG
		}
		if lot.Bought && x == 0 {
			continue
		}
		out.Charge = append(out.Charge, part)
		if lot.Bought {
			out.BoughtG += x
		} else {
			scrap += x
		}
		if lot.clients() {
			out.ClientG += x
		}
		cost.Add(cost, new(big.Rat).Mul(decimal(x), decimal(lot.PricePerG)))
		if x == 0 {
			continue
		}
		o := owners[owner]
		if o == nil {
			o = &BlendOwner{Owner: owner}
			owners[owner] = o
		}
		o.MassG += x
		o.FineLeastG += part.FineLeastG
		o.FineGreatest += part.FineGreatest
	}
	if out.MassG > 0 {
		out.ScrapPct = 100 * scrap / out.MassG
	}
	if cost.Sign() > 0 {
		out.Cost = cost.FloatString(2)
	}
	out.Owners = []BlendOwner{}
	for _, name := range sorted(owners) {
		out.Owners = append(out.Owners, *owners[name])
	}
	q.describe(out, content)
}

// decimal is v as the decimal number it is written as.
func decimal(v float64) *big.Rat {
	r, _ := new(big.Rat).SetString(strconv.FormatFloat(v, 'f', -1, 64))
	return r
}

// describe states the composition; its middle keeps the middle of the metal
// that counts and shares the rest among the other elements.
func (q *question) describe(out *BlendOut, c Content) {
	middle, rest := metal.Composition{}, 0.0
	for e, most := range c.Most {
		middle[e] = (c.Least[e] + most) / 2
		if e != q.symbol {
			rest += middle[e]
		}
	}
	for e := range middle {
		if e != q.symbol {
			middle[e] *= (1 - middle[q.symbol]) / rest
		}
	}
	out.Composition = middle.String()
	out.Elements = []BlendElement{}
	for _, e := range middle.Symbols() {
		out.Elements = append(out.Elements, BlendElement{e, c.Least[e] * 1000, middle[e] * 1000, c.Most[e] * 1000})
	}
}

// sum writes the fineness of the charge out, as far as it fits a line.
func (q *question) sum(out *BlendOut) string {
	var terms []string
	for _, part := range out.Charge {
		if part.WeighG > 0 {
			terms = append(terms, fmt.Sprintf("%.7g × %.4g", part.WeighG, 1000*part.FineLeastG/part.WeighG))
		}
	}
	const most = 8
	if len(terms) > most {
		terms = append(terms[:most], fmt.Sprintf("… %d more", len(terms)-most))
	}
	return fmt.Sprintf("(%s) / %.7g", strings.Join(terms, " + "), out.MassG)
}

func (q *question) working(out *BlendOut, exact *Plan) {
	p, melt := &q.programme, q.programme.Melts[0]
	content := p.Content(exact.MassG, 0)
	out.Step("programme", float64(len(p.Lots)), "", "%d lots and additions, %d limits, %s made least or most", len(p.Lots), len(exact.model.rows), q.in.Objective)
	out.Step("optimum", exact.Value, unitOf[q.in.Objective], "breach %.1e, prices %.1e, duality gap %.1e, %d pivots", exact.Check.Primal, exact.Check.Dual, exact.Check.Gap, exact.Iterations)
	out.Step("mass before rounding", content.MassG, "g", "sum of %d parts", len(out.Charge))
	out.Step("fineness before rounding", content.Least[q.symbol]*1000, "‰", "Σ least fineness × mass / Σ mass, wanted %g", melt.Fineness*1000)
	out.Step("fineness as weighed out", out.FinenessWorst, "‰", "%s, in steps of %g g: metal at or above %g ‰ rounded up, below it down", q.sum(out), q.step, melt.Fineness*1000)
	proved := max(exact.Check.Primal, exact.Check.Dual, exact.Check.Gap) <= lp.Tolerance
	out.Verification = BlendVerification{proved, exact.Check.Primal, exact.Check.Dual, exact.Check.Gap, exact.Iterations}
	out.Cite(srcMix, srcWorst, srcLP)
	if len(melt.Limits) > 0 {
		out.Cite(srcLimits)
	}
	out.Caution(safety.HallmarkLaw, safety.Flux, safety.MoltenMetal)
	if content.Most["Zn"] > 0.005 {
		out.Caution(safety.ZincFume)
	}
	if mass := melt.LeastG; mass > 0 && math.Abs(out.MassG-mass) > q.step && out.MassG < mass {
		out.Warn("mass_rounded", calc.Note, "The scale's step leaves the charge %.3g g under the mass asked for.", mass-out.MassG)
	}
	if out.ScrapPct > 50 {
		out.Warn("much_scrap", calc.Note, "%.0f %% of the charge is scrap. Half new metal is the usual least; remelted scrap carries oxide and traces that make pores and cracks.", out.ScrapPct)
	}
	if q.in.MarginPermil == 0 && out.ScrapPct > 0 {
		out.Warn("no_margin", calc.Note, "No margin above the fineness was asked for. 2 to 5 parts per thousand is usual for known scrap, 10 or more for unknown: loss, solder and segregation are not in the figures.")
	}
	if q.in.Metal == "platinum" || q.in.Metal == "palladium" {
		out.Warn("hot_metal", calc.Danger, "Platinum and palladium melt far above what an ordinary torch, a clay-graphite crucible and oil-bonded clay can bear; leave them to a caster equipped for them.")
	}
}

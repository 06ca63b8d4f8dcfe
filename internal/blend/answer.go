package blend

import (
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"

	"pourwright/internal/blend/lp"
	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/safety"
	"pourwright/internal/verdict"
)

// Part is what goes in of one lot or addition.
type Part struct {
	ID           string  `json:"id" doc:"The lot or addition, or the returns of an earlier melt"`
	Bought       bool    `json:"bought" doc:"Whether it is bought for the melt"`
	Owner        string  `json:"owner" doc:"Whose it is; studio for bought metal, shared for returns"`
	WeighG       float64 `json:"weigh_g" doc:"Weigh out this much, g: rounded to the scale so that the fineness holds"`
	ExactG       float64 `json:"exact_g" doc:"The programme's own answer, g"`
	LeftG        float64 `json:"left_g" doc:"Left over of the lot after this melt, g; 0 for stock without end"`
	SharePct     float64 `json:"share_pct" doc:"Part of the melt, per cent"`
	FineLeastG   float64 `json:"fine_least_g" doc:"Fine metal in it in the worst case, g"`
	FineGreatest float64 `json:"fine_greatest_g" doc:"Fine metal in it in the best case, g"`
}

// Refused is a lot that must stay out of any melt.
type Refused struct {
	ID     string `json:"id" doc:"The lot"`
	Reason string `json:"reason" doc:"Why, and what to do with it"`
}

// CleanMass is what is left of a lot once it has been cleaned as asked.
type CleanMass struct {
	ID    string  `json:"id" doc:"The lot"`
	LowG  float64 `json:"low_g" doc:"Metal in it at least, g: what the plan counts on"`
	HighG float64 `json:"high_g" doc:"At most, g"`
}

// Element is what the melt holds of an element.
type Element struct {
	Element        string  `json:"element" doc:"Symbol"`
	LeastPermil    float64 `json:"least_permil" doc:"Parts per thousand, at least"`
	MiddlePermil   float64 `json:"middle_permil" doc:"In the middle of what is known"`
	GreatestPermil float64 `json:"greatest_permil" doc:"At most"`
}

// Owner is an owner's part of the melt.
type Owner struct {
	Owner        string  `json:"owner" doc:"Whose; studio includes what is bought"`
	MassG        float64 `json:"mass_g" doc:"Mass put in, g"`
	FineLeastG   float64 `json:"fine_least_g" doc:"Fine metal in it in the worst case, g"`
	FineGreatest float64 `json:"fine_greatest_g" doc:"Fine metal in it in the best case, g"`
}

// Verification is the proof of the answer.
type Verification struct {
	Optimal bool    `json:"optimal" doc:"Feasible, and no better answer exists: both checked on the data as given after the solve; false only where lots that must not be cut leave too many cases to try"`
	Primal  float64 `json:"primal_residual" doc:"Greatest breach of a limit, relative"`
	Dual    float64 `json:"dual_residual" doc:"Greatest breach by the prices, relative"`
	Gap     float64 `json:"duality_gap" doc:"Difference between the answer and what no answer can pass, relative"`
	Pivots  int     `json:"pivots" doc:"Steps of the simplex method"`
}

// ChargePlan is what goes into one melt.
type ChargePlan struct {
	MassG         float64         `json:"mass_g" doc:"Mass of the charge as weighed out, g"`
	FinenessWorst float64         `json:"fineness_worst_permil" doc:"Fineness as weighed out, in the worst case of what is known, parts per thousand"`
	FinenessBest  float64         `json:"fineness_best_permil" doc:"In the best case"`
	Charge        []Part          `json:"charge" doc:"What to weigh out, lots first, in the order given"`
	BoughtG       float64         `json:"bought_g" doc:"Bought metal, g"`
	ClientG       float64         `json:"client_g" doc:"Clients' metal, g, besides what is in returns"`
	ScrapPct      float64         `json:"scrap_pct" doc:"Part of the charge that is scrap or returns, per cent"`
	Cost          string          `json:"cost,omitempty" doc:"Price of all that goes in, in your money, where prices were given" example:"12.40"`
	Composition   string          `json:"composition" doc:"Composition in the middle of what is known, parts per thousand, as the other calculations read it" example:"Ag 926.2 Cu 73.8"`
	Elements      []Element       `json:"elements" doc:"The same with its worst and best cases"`
	Owners        []Owner         `json:"owners" doc:"Whose metal is in it, that in returns counted with its owner"`
	FineBoughtG   float64         `json:"fine_bought_g" doc:"Of the bought metal, what is of the metal whose fineness counts, g"`
	ClientPct     float64         `json:"client_pct" doc:"What share of the charge is the clients' own metal, per cent"`
	Match         *Match          `json:"match,omitempty" doc:"Whether it is the alloy that was asked for; left out where none was"`
	Colour        *metal.Colour   `json:"colour,omitempty" doc:"Colour of the polished casting; left out where it is not known"`
	Properties    *Properties     `json:"properties,omitempty" doc:"Density, melting range and the rest, of this charge"`
	Verdict       verdict.Level   `json:"verdict" enum:"go,care,cannot_tell,not_yet,do_not_pour" doc:"What its metal leaves of a go"`
	Reasons       verdict.Reasons `json:"reasons" doc:"Why, worst first; empty for a plain go"`

	own *metal.MeltingRange
}

// Out is the charge of one melt.
type Out struct {
	ChargePlan
	RefusedLots  []Refused     `json:"refused_lots" doc:"Lots that must not be melted, and why"`
	CleanMass    []CleanMass   `json:"clean_mass" doc:"Lots whose mass is not all metal, with what is left of it"`
	TestFirst    *TestFirst    `json:"test_first,omitempty" doc:"What must be tested before it is planned in"`
	AfterAssay   *CorrectionIn `json:"after_assay,omitempty" doc:"What corrections takes once the melt has been assayed: put assay_permil and its uncertainty in"`
	WhatIf       []WhatIf      `json:"what_if" doc:"What a small change would cost or save"`
	Verification Verification  `json:"verification" doc:"Proof of the answer"`
	calc.Notes
}

// MeltResult is the charge of one of several melts.
type MeltResult struct {
	ID       string  `json:"id" doc:"The melt"`
	ReturnsG float64 `json:"returns_g" doc:"Returns of the melt before that go into it, g"`
	ChargePlan
}

// Left is what is left of a lot.
type Left struct {
	ID    string  `json:"id" doc:"The lot"`
	LeftG float64 `json:"left_g" doc:"Left after all melts, g"`
}

// JointBlendOut is the charges of several melts, in the order of the pours.
type JointBlendOut struct {
	Melts        []MeltResult    `json:"melts" doc:"The charges, in the order to pour"`
	Verdict      verdict.Level   `json:"verdict" enum:"go,care,cannot_tell,not_yet,do_not_pour" doc:"What the metal leaves of a go: the worst of the melts and of the lots"`
	Reasons      verdict.Reasons `json:"reasons" doc:"Why, worst first, of all melts and lots; empty for a plain go"`
	BoughtG      float64         `json:"bought_g" doc:"Bought metal in all, g"`
	FineBoughtG  float64         `json:"fine_bought_g" doc:"Of it, what is of the metal whose fineness counts, g"`
	ClientG      float64         `json:"client_g" doc:"Clients' metal in all, g"`
	Left         []Left          `json:"left" doc:"What is left of each lot"`
	RefusedLots  []Refused       `json:"refused_lots" doc:"Lots that must not be melted, and why"`
	CleanMass    []CleanMass     `json:"clean_mass" doc:"Lots whose mass is not all metal, with what is left of it"`
	TestFirst    *TestFirst      `json:"test_first,omitempty" doc:"What must be tested before it is planned in"`
	WhatIf       []WhatIf        `json:"what_if" doc:"What a small change would cost or save"`
	Verification Verification    `json:"verification" doc:"Proof of the answer"`
	calc.Notes
}

var (
	srcMix    = calc.Source{For: "fineness of a mixture", Text: "alligation: sum of mass × fineness over sum of mass, as in G. E. Gee, The Silversmith's Handbook", Status: calc.Confirmed}
	srcWorst  = calc.Source{For: "worst case", Text: "hallmarking laws know no negative tolerance (UK Hallmarking Act 1973 s. 1(4)); every lot counts at its least fineness", Status: calc.Confirmed}
	srcLP     = calc.Source{For: "linear programme", Text: "V. Chvátal, Linear Programming, 1983, ch. 8-9: bounded simplex method and duality; checked after each solve", Status: calc.FromMemory}
	srcLimits = calc.Source{For: "default limits of elements", Text: "usual trade limits of contaminants in a melt; manganese, nickel in silver and zinc are ours", Status: calc.Practice}
)

// charge describes melt b of the weighed masses.
func (q *question) charge(b int, exact *Plan, weighedG [][]float64) ChargePlan {
	p := &q.programme
	content := p.Content(weighedG, b)
	out := ChargePlan{MassG: content.MassG, Charge: []Part{},
		FinenessWorst: content.Least[q.symbol] * 1000, FinenessBest: content.Most[q.symbol] * 1000}
	cost := new(big.Rat)
	scrap := 0.0
	for k, x := range weighedG[b] {
		lot := &p.Lots[k]
		part := Part{ID: lot.ID, Bought: lot.Bought, Owner: cmpOr(lot.Owner, "studio"), WeighG: x, ExactG: exact.MassG[b][k],
			FineLeastG: x * lot.Least[q.symbol], FineGreatest: x * lot.Most[q.symbol]}
		if !math.IsInf(lot.StockG, 1) {
			part.LeftG = lot.StockG
			for a := 0; a <= b; a++ {
				part.LeftG -= weighedG[a][k]
			}
			part.LeftG = max(part.LeftG, 0)
		}
		if x == 0 && (lot.Bought || len(p.Melts) > 1) {
			continue
		}
		out.Charge = append(out.Charge, part)
		if lot.Bought {
			out.BoughtG += x
			out.FineBoughtG += x * lot.Least[q.symbol]
		} else {
			scrap += x
		}
		if lot.clients() {
			out.ClientG += x
		}
		cost.Add(cost, new(big.Rat).Mul(decimal(x), decimal(lot.PricePerG)))
	}
	for _, r := range p.Melts[b].Returns {
		from := p.Content(weighedG, r.From)
		x, was := r.Share*from.MassG, r.Share*p.Content(exact.MassG, r.From).MassG
		out.Charge = append(out.Charge, Part{ID: "returns of " + p.Melts[r.From].ID, Owner: "shared", WeighG: x, ExactG: was,
			FineLeastG: x * from.Least[q.symbol], FineGreatest: x * from.Most[q.symbol]})
		scrap += x
	}
	for i := range out.Charge {
		out.Charge[i].SharePct = percent(out.Charge[i].WeighG, out.MassG)
	}
	out.ScrapPct, out.ClientPct = percent(scrap, out.MassG), percent(out.ClientG, out.MassG)
	if cost.Sign() > 0 {
		out.Cost = cost.FloatString(2)
	}
	out.Owners = q.owners(b, weighedG)
	q.describe(&out, content)
	return out
}

func percent(part, whole float64) float64 {
	if whole == 0 {
		return 0
	}
	return 100 * part / whole
}

// owners says whose metal melt b holds, traced through the returns.
func (q *question) owners(b int, weighedG [][]float64) []Owner {
	by, carry := map[string]*Owner{}, q.programme.carry()
	for a := 0; a <= b; a++ {
		for k, x := range weighedG[a] {
			x *= carry[a][b]
			if x == 0 {
				continue
			}
			lot := &q.programme.Lots[k]
			name := cmpOr(lot.Owner, "studio")
			if by[name] == nil {
				by[name] = &Owner{Owner: name}
			}
			by[name].MassG += x
			by[name].FineLeastG += x * lot.Least[q.symbol]
			by[name].FineGreatest += x * lot.Most[q.symbol]
		}
	}
	list := []Owner{}
	for _, name := range sorted(by) {
		list = append(list, *by[name])
	}
	return list
}

// decimal is v as the decimal number it is written as.
func decimal(v float64) *big.Rat {
	r, _ := new(big.Rat).SetString(strconv.FormatFloat(v, 'f', -1, 64))
	return r
}

// describe states the composition, most likely and at its ends.
func (q *question) describe(out *ChargePlan, c Content) {
	middle := c.Middle
	out.Composition = middle.String()
	out.Elements = []Element{}
	for _, e := range c.Most.Symbols() { // a composition has the largest part first, the worst case too
		out.Elements = append(out.Elements, Element{e, c.Least[e] * 1000, middle[e] * 1000, c.Most[e] * 1000})
	}
}

// sum writes the fineness of the charge out, as far as it fits a line.
func (out *ChargePlan) sum() string {
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

func (q *question) verification(plan *Plan) Verification {
	c := plan.Check
	return Verification{max(c.Primal, c.Dual, c.Gap) <= lp.Tolerance, c.Primal, c.Dual, c.Gap, plan.Iterations}
}

// note adds the working of the programme and what holds for every melt.
func (q *question) note(notes *calc.Notes, plan *Plan) {
	p := &q.programme
	notes.Step("programme", float64(len(p.Lots)), "", "%d lots and additions, %d rows, %s", len(p.Lots), len(plan.model.rows), strings.ReplaceAll(string(q.in.Objective), "_", " "))
	value := plan.Value
	if q.in.Objective == MostClient || q.in.Objective == LeastFine && p.fixed() { // made least with a minus
		value = -value
	}
	unit := unitOf[q.in.Objective]
	if q.in.Objective == LeastFine && !p.fixed() {
		unit = "g of bought gold and its like"
	}
	notes.Step("optimum", value, unit, "relative breach of limits %.1e, of prices %.1e, duality gap %.1e, after %d pivots", plan.Check.Primal, plan.Check.Dual, plan.Check.Gap, plan.Iterations)
	if !q.verification(plan).Optimal {
		notes.Warn("not_proved_best", calc.Care, "The lots that must not be cut leave too many cases to try: the charge keeps every limit, but one better by up to %.2g %% is not ruled out.", 100*plan.Check.Gap)
	}
	notes.Cite(srcMix, srcWorst, srcLP)
	notes.Caution(safety.HallmarkLaw, safety.Flux, safety.MoltenMetal, safety.DampMould)
	if q.in.Metal == "platinum" || q.in.Metal == "palladium" {
		notes.Warn("hot_metal", calc.Danger, "Platinum and palladium melt far above what an ordinary torch, a clay-graphite crucible and oil-bonded clay can bear; leave them to a caster equipped for them.")
	}
}

// noteMelt adds the working and the cautions of one melt.
func (q *question) noteMelt(notes *calc.Notes, b int, plan *Plan, out *ChargePlan) {
	melt, content := &q.programme.Melts[b], q.programme.Content(plan.MassG, b)
	name := ""
	if len(q.in.Melts) > 1 {
		name = melt.ID + ": "
	}
	notes.Step(name+"mass before rounding", content.MassG, "g", "sum of what goes in")
	notes.Step(name+"fineness before rounding", content.Least[q.symbol]*1000, "‰", "Σ mass × least fineness / Σ mass, wanted %.7g", melt.Fineness*1000)
	notes.Step(name+"fineness as weighed out", out.FinenessWorst, "‰", "%s, in steps of %g g: metal at or above %.7g ‰ rounded up, below it down", out.sum(), q.in.ResolutionG, melt.Fineness*1000)
	if len(melt.Limits) > 0 {
		notes.Cite(srcLimits)
	}
	if content.Most["Zn"] > 0.005 {
		notes.Caution(safety.ZincFume)
	}
	if short := melt.LeastG - out.MassG; short > q.in.ResolutionG {
		notes.Warn("mass_rounded", calc.Note, "%sThe scale's step leaves the charge %.3g g under the mass asked for.", name, short)
	}
	if out.ScrapPct > 50 {
		notes.Warn("much_scrap", calc.Note, "%s%.0f %% of the charge is scrap. Half new metal is the usual least; remelted scrap carries oxide and traces that make pores and cracks.", name, out.ScrapPct)
	}
	if q.in.Melts[b].MarginPermil == 0 && out.ScrapPct > 0 {
		notes.Warn("no_margin", calc.Note, "No margin above the fineness was asked for. 2 to 5 parts per thousand is usual for known scrap, 10 or more for unknown: loss, solder and segregation are not in the figures.")
	}
	if len(melt.Returns) > 0 {
		notes.Warn("weigh_returns", calc.Care, "Weigh the returns before they go back in: clean off clay and flux, and if they are lighter than planned make the rest up with metal of the melt's own fineness.")
	}
}

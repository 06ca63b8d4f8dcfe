// Package commission joins the parts of an order into its plan: the way to pour,
// the places of the stones, each piece worked out, the metal shared out, the
// price, the verdict and the steps at the bench. It holds no physics of its own.
package commission

import (
	"context"
	"fmt"
	"slices"

	"pourwright/internal/blend"
	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/options"
	"pourwright/internal/order"
	"pourwright/internal/placing"
	"pourwright/internal/pricing"
	"pourwright/internal/quote"
	"pourwright/internal/safety"
	"pourwright/internal/verdict"
)

// In is a whole order: what the client brings, what is wanted of it, and how
// the studio works.
type In struct {
	order.Order
	PourOptions *options.Wanted `json:"pour_options,omitempty" doc:"Search the ways to pour and take the recommended one, or the one chosen; without it the pieces are poured as given"`
	Paper       string          `json:"paper" enum:"a4,letter" default:"a4" doc:"Paper of the bench sheet, where the answer is asked for as PDF"`
}

// Out is the plan of the order.
type Out struct {
	Verdict       verdict.Level      `json:"verdict" enum:"go,care,cannot_tell,not_yet,do_not_pour" doc:"Whether to pour as planned: the worst of the reasons of the order and its pieces"`
	Summary       string             `json:"summary" doc:"The plan in a few sentences"`
	Reasons       verdict.Reasons    `json:"reasons" doc:"What is not a plain go in the order as a whole, worst first; each piece has its own"`
	PourOption    *options.Option    `json:"pour_option,omitempty" doc:"The way to pour that was taken, where ways were searched"`
	Pieces        []order.PiecePlan  `json:"pieces" doc:"A plan for each piece, in the order given"`
	Flasks        []order.Flask      `json:"flasks,omitempty" doc:"How the pieces of each shared pour lie in their flask"`
	MeltMassG     float64            `json:"melt_mass_g" doc:"Metal to melt for all pieces"`
	ClientMetalG  float64            `json:"client_metal_g" doc:"Of it, the client's"`
	BoughtMetalG  float64            `json:"bought_metal_g" doc:"Of it, bought"`
	FineBoughtG   float64            `json:"fine_bought_g" doc:"Of what is bought, the metal whose fineness counts"`
	Purchase      *Purchase          `json:"purchase,omitempty" doc:"What must be bought for the melts, and what of them comes back"`
	ClientPct     float64            `json:"client_pct" doc:"What share of the metal is the client's own, percent"`
	ReturnsG      float64            `json:"returns_g" doc:"Of it, button and sprue of an earlier pour, so melted twice"`
	PourOrder     []string           `json:"pour_order" doc:"The pieces in the order to pour them"`
	LotsLeft      []blend.Left       `json:"lots_left" doc:"What is left of each lot"`
	RefusedLots   []blend.Refused    `json:"refused_lots" doc:"Lots that must not be melted, and why"`
	CleanMass     []blend.CleanMass  `json:"clean_mass" doc:"Lots whose mass is not all metal, with what is left of it"`
	TestFirst     *blend.TestFirst   `json:"test_first,omitempty" doc:"What must be tested before it is planned in, how, and the charge for the likely findings"`
	WhatIf        []blend.WhatIf     `json:"what_if" doc:"What a small change of the lots or the fineness would cost or save"`
	Verification  blend.Verification `json:"-"`
	Placing       *placing.Plan      `json:"placing,omitempty" doc:"Where the stones went, where they were placed by rule"`
	StonesNotCast []order.NotCast    `json:"stones_not_cast" doc:"Stones that are not cast in place: set afterwards or given back"`
	Price         *quote.Out         `json:"price,omitempty" doc:"The price of the order, for the client, where the studio's prices are given"`
	Steps         []BenchStep        `json:"steps" doc:"What to do, in order"`
	calc.Notes
}

// Plan plans the order. Errors are refusals, with the fields of the piece,
// lot or stone that cannot be planned.
func Plan(ctx context.Context, in In) (Out, error) {
	out := Out{Notes: calc.Noting(ctx), Pieces: []order.PiecePlan{}, StonesNotCast: []order.NotCast{}}
	alloys, err := in.Alloys(ctx)
	if err != nil {
		return Out{}, err
	}
	var unplaced map[string]order.NotCast
	if in.PourOptions != nil {
		if err := out.choose(ctx, &in, alloys); err != nil {
			return Out{}, err
		}
		if alloys, err = in.Alloys(ctx); err != nil { // the masses are others
			return Out{}, err
		}
	}
	if in.Order, out.Placing, unplaced, err = placing.Place(ctx, in.Order, alloys); err != nil {
		return Out{}, err
	}
	pieces, stock, pours, err := work(ctx, &in.Order, alloys)
	if err != nil {
		return Out{}, err
	}
	out.flasks(pours)
	for _, w := range pieces {
		out.StonesNotCast = append(out.StonesNotCast, w.NotCast...)
	}
	out.StonesNotCast = append(out.StonesNotCast, unused(&in.Order, stock, out.Placing, unplaced)...)
	for _, w := range pieces {
		out.Pieces = append(out.Pieces, w.Plan)
	}
	shared, err := in.Share(ctx, pieces)
	if err != nil {
		return Out{}, err
	}
	out.charge(&shared)
	if in.Prices != nil {
		price, err := pricing.For(&in.Order, alloys).Quote(ctx, pieces, &shared)
		if err != nil {
			return Out{}, err
		}
		out.Price = &price
	}
	if out.Purchase, err = purchase(ctx, pieces, &shared, out.Price); err != nil {
		return Out{}, err
	}
	out.optionAsPlanned()
	out.judge(in)
	out.Steps = out.benchSteps(in)
	out.gather()
	out.Caution(safety.MoltenMetal, safety.DampMould, safety.TorchGas, safety.HotMould, safety.OilSmoke, safety.HallmarkLaw)
	if in.Prices != nil || brought(in) != "" {
		out.Caution(safety.ConsumerLaw)
	}
	return out, nil
}

// optionAsPlanned states the metal and the price of the option that was taken as
// the plan has them: the search weighs all options as the metal of the order as
// given, and the plan as that of its own charge, which differs by a little.
func (out *Out) optionAsPlanned() {
	o := out.PourOption
	if o == nil {
		return
	}
	o.MeltG, o.BoughtG = out.MeltMassG, out.BoughtMetalG
	if out.Price != nil {
		o.Price = out.Price.Total
	}
	for i := range o.Pieces {
		o.Pieces[i].MeltG = out.Pieces[i].Melt.MeltMassG
	}
}

// PourOptions searches the ways to pour an order and answers those that no
// other beats in risk, metal, time and cost at once. Errors are refusals.
func PourOptions(ctx context.Context, in In) (options.Out, error) {
	alloys, err := in.Alloys(ctx)
	if err != nil {
		return options.Out{}, err
	}
	return search(ctx, in, alloys)
}

func search(ctx context.Context, in In, alloys []metal.Metal) (options.Out, error) {
	if len(in.SharedPours) > 0 || in.Grouping == "fewest_pours" {
		return options.Out{}, calc.Refuse("pour_options", nil, "leave it out where pieces share pours: options are searched for pieces that are poured one by one")
	}
	with, _, _, err := placing.Place(ctx, in.Order, alloys)
	if err != nil {
		return options.Out{}, err
	}
	var bill options.Bill
	if with.Prices != nil {
		bill = pricing.For(&with, alloys)
	}
	return options.Search(ctx, with, alloys, in.PourOptions, bill)
}

// choose searches the ways to pour and puts the one asked for into the order.
func (out *Out) choose(ctx context.Context, in *In, alloys []metal.Metal) error {
	found, err := search(ctx, *in, alloys)
	if err != nil {
		return err
	}
	number := found.Recommended
	if in.PourOptions.Option != nil {
		if number = *in.PourOptions.Option; number > len(found.Options) {
			return calc.Refuse("pour_options.option", number, "give 1 to %d, as pour-options numbers them for this order", len(found.Options))
		}
	}
	if number == 0 {
		return &calc.Refusal{Detail: found.WhyNone, Faults: []calc.Fault{{Field: "pour_options", Accepts: "allow more risk, metal or time, or consider more ways"}}}
	}
	out.PourOption = &found.Options[number-1]
	in.Pieces = moulded(in.Pieces, out.PourOption)
	return nil
}

// moulded is the pieces poured by an option.
func moulded(pieces []order.Piece, option *options.Option) []order.Piece {
	pieces = slices.Clone(pieces)
	for i := range pieces {
		pieces[i].Mould = option.Pieces[i].Mould
	}
	return pieces
}

// Poured is the pieces of an order as its plan pours them: by the option that
// was taken, with the stones that were placed by rule.
func Poured(in In, out *Out) []order.Piece {
	pieces := slices.Clone(in.Pieces)
	if out.PourOption != nil {
		pieces = moulded(pieces, out.PourOption)
	}
	for i := range pieces {
		if out.Placing == nil || pieces[i].Placing == nil {
			continue
		}
		pieces[i].Stones = nil
		for _, s := range out.Placing.Stones {
			if s.Piece == pieces[i].Name {
				pieces[i].Stones = append(pieces[i].Stones, order.PlacedStones{ID: s.ID, Quantity: 1, AtPct: s.AtPct})
			}
		}
	}
	return pieces
}

// work works the pieces out, puts them together in pours and follows each; the
// stones they do not take stay in the stock.
func work(ctx context.Context, in *order.Order, alloys []metal.Metal) ([]*order.Worked, *order.Stock, []order.Pour, error) {
	stock, err := in.Stock()
	if err != nil {
		return nil, nil, nil, err
	}
	var checks calc.Checks
	pieces, planners := make([]*order.Worked, len(in.Pieces)), make([]order.Planner, len(in.Pieces))
	for i, piece := range in.Pieces {
		planners[i] = order.Planner{Order: in, Piece: piece, Alloy: alloys[i], Stock: stock}
		pieces[i], err = planners[i].Work(ctx)
		checks.Under(fmt.Sprintf("pieces[%d]", i), err)
	}
	if err := checks.Err(); err != nil {
		return nil, nil, nil, err
	}
	pours, err := in.Pours(ctx, pieces)
	if err != nil {
		return nil, nil, nil, err
	}
	for i := range pours {
		if p := &pours[i]; p.Flask != nil {
			checks.Under("", p.Follow(ctx, in, pieces))
		}
	}
	for i := range pieces {
		checks.Under(fmt.Sprintf("pieces[%d]", i), planners[i].Follow(ctx, pieces[i]))
		if ctx.Err() != nil {
			return nil, nil, nil, ctx.Err()
		}
	}
	return pieces, stock, pours, checks.Err()
}

// FlaskOf is the flask that a piece shares with others; nil if it has one of its own.
func (out *Out) FlaskOf(name string) *order.Flask { return flaskOf(out.Flasks, name) }

func flaskOf(flasks []order.Flask, name string) *order.Flask {
	i := slices.IndexFunc(flasks, func(f order.Flask) bool { return f.Holds(name) })
	if i < 0 {
		return nil
	}
	return &flasks[i]
}

// flasks tells the layouts of shared pours.
func (out *Out) flasks(pours []order.Pour) {
	for _, p := range pours {
		if p.Flask != nil {
			out.Flasks = append(out.Flasks, *p.Flask)
			out.Reasons.Join(p.Reasons)
		}
	}
}

// unused lists the stones that no piece took; where they were placed by rule,
// with its reasons, and without the studio's that nothing needed to match.
func unused(in *order.Order, stock *order.Stock, plan *placing.Plan, unplaced map[string]order.NotCast) []order.NotCast {
	list := stock.Unused()
	if plan == nil {
		return list
	}
	list = slices.DeleteFunc(list, func(s order.NotCast) bool { return !in.StoneNamed(s.ID).ClientOwned })
	for i, s := range list {
		if r, ok := unplaced[s.ID]; ok {
			r.Quantity = s.Quantity
			list[i] = r
		}
	}
	return list
}

// charge hands each piece its charge and its turn, and the order its metal.
func (out *Out) charge(shared *order.Metal) {
	for i, c := range shared.Charges {
		p := &out.Pieces[i]
		p.Charge, p.PourTurn, p.ReturnsG = c.ChargePlan, c.Turn, c.ReturnsG
		switch m := p.Charge.Match; {
		case m == nil || m.IsAlloy:
		case len(m.Instead) > 0:
			p.Alloy = m.Instead[0]
		default:
			p.Alloy = p.Charge.Composition
		}
	}
	out.MeltMassG, out.ClientMetalG, out.BoughtMetalG, out.ReturnsG = shared.MeltMassG, shared.ClientG, shared.BoughtG, shared.ReturnsG
	out.PourOrder, out.LotsLeft, out.RefusedLots, out.WhatIf, out.Verification = shared.PourOrder, shared.Left, shared.Refused, shared.WhatIf, shared.Verification
	out.FineBoughtG, out.CleanMass, out.TestFirst = shared.FineBoughtG, shared.Clean, shared.TestFirst
	if out.MeltMassG > 0 {
		out.ClientPct = 100 * out.ClientMetalG / out.MeltMassG
	}
	out.Reasons.Join(shared.Reasons)
	out.take("metal", &shared.Notes)
}

// gather moves the notes of the parts to the order's own, under the names of
// the pieces, so that they are told once.
func (out *Out) gather() {
	for i := range out.Pieces {
		p := &out.Pieces[i]
		out.take(p.Name+", mould", &p.Mould.Notes)
		out.take(p.Name+", fill", &p.Fill.Notes)
		p.Fill = p.Fill.Brief()
		p.Brief()
		out.take(p.Name+", melt", &p.Melt.Notes)
		if p.Stones != nil {
			out.take(p.Name+", stones", &p.Stones.Notes)
		}
	}
	if out.Price != nil {
		out.take("price", &out.Price.Notes)
	}
}

func (out *Out) take(heading string, n *calc.Notes) {
	out.Adopt(heading, *n)
	*n = calc.Notes{Cautions: []calc.Caution{}, Sources: []calc.Source{}}
}

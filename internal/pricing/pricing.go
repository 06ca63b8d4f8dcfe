// Package pricing states an order as a bill: each piece by what its plan found,
// the client's metal by what each lot is sure to hold.
package pricing

import (
	"context"
	"fmt"
	"math"
	"slices"

	"pourwright/internal/metal"
	"pourwright/internal/order"
	"pourwright/internal/quote"
	"pourwright/internal/verdict"
)

// Bill prices an order at the studio's prices and terms.
type Bill struct {
	in     *order.Order
	alloys []metal.Metal
}

// For is the bill of an order that has prices; alloys are those of its pieces.
func For(in *order.Order, alloys []metal.Metal) *Bill { return &Bill{in, alloys} }

// Quote prices the order, pieces worked out and metal shared out. Errors are refusals.
func (b *Bill) Quote(ctx context.Context, pieces []*order.Worked, shared *order.Metal) (quote.Out, error) {
	return quote.Total(ctx, b.whole(pieces, shared))
}

// Order is the price of the order in figures.
func (b *Bill) Order(pieces []*order.Worked, shared *order.Metal) (quote.Amounts, error) {
	return quote.Reckon(b.whole(pieces, shared))
}

// Piece is what piece i costs by itself, all its metal counted, without a round
// figure, so that small differences are seen. Costs of pieces add up but for
// rounding and the cap of the allowance for failed pours.
func (b *Bill) Piece(i int, w *order.Worked) (quote.Amounts, error) {
	o := b.start()
	o.RoundTo = 0
	o.Pieces = []quote.OrderPiece{b.piece(i, w)}
	return quote.Reckon(o)
}

func (b *Bill) start() quote.Order {
	return quote.Order{Terms: *b.in.Prices, Metal: order.MetalName(b.alloys[0])}
}

func (b *Bill) whole(pieces []*order.Worked, shared *order.Metal) quote.Order {
	o := b.start()
	for i, w := range pieces {
		o.Pieces = append(o.Pieces, b.piece(i, w))
	}
	o.ClientMetal = clientMetal(shared)
	o.Bought = b.bought(shared)
	work := b.in.Work
	o.Tasks = append(o.Tasks, quote.Task{Step: "design", Minutes: work.DesignMin}, quote.Task{Step: "paperwork", Minutes: work.PaperworkMin})
	for _, fee := range []struct {
		what string
		each float64
	}{{"assay", work.AssayFee}, {"delivery", work.Delivery}} {
		if fee.each > 0 {
			o.Goods = append(o.Goods, quote.Good{Code: quote.CodeFees, What: fee.what, Count: 1, Each: fee.each})
		}
	}
	return o
}

// clientMetal is the clients' metal that goes into the melts, lot by lot, at
// the fineness that each is sure to have. Returns were counted in their first melt.
func clientMetal(shared *order.Metal) []quote.ClientLot {
	var lots []quote.ClientLot
	for _, c := range pours(shared) {
		for _, part := range c.Charge {
			if part.Owner != "studio" && part.Owner != "shared" && part.WeighG > 0 {
				lots = append(lots, quote.ClientLot{G: part.WeighG, FinenessPermil: permil(part.FineLeastG, part.WeighG)})
			}
		}
	}
	return lots
}

// pours are the charges of the pours: pieces of one pour have one charge.
func pours(shared *order.Metal) []order.Charge {
	var list []order.Charge
	for _, c := range shared.Charges {
		if !slices.ContainsFunc(list, func(o order.Charge) bool { return o.Turn == c.Turn }) {
			list = append(list, c)
		}
	}
	return list
}

// bought is what the plan buys for the melts, at its own price where it has one.
func (b *Bill) bought(shared *order.Metal) []quote.BoughtLot {
	price := map[string]*float64{}
	for _, lot := range b.in.Lots {
		price[lot.ID] = lot.PricePerG
	}
	for _, addition := range b.in.Additions {
		price[addition.ID] = addition.PricePerG
	}
	var list []quote.BoughtLot
	for _, c := range pours(shared) {
		for _, part := range c.Charge {
			if !part.Bought || part.WeighG <= 0 {
				continue
			}
			lot := quote.BoughtLot{What: part.ID, G: part.WeighG, FinenessPermil: permil(part.FineLeastG, part.WeighG)}
			if p := price[part.ID]; p != nil {
				lot.PricePerG = *p
			}
			list = append(list, lot)
		}
	}
	return list
}

// mostFailing is the chance of a failed pour that is still priced, per cent: what
// fails oftener is to be changed, and the plan says so.
const mostFailing = 95

// piece is one piece of the bill. Stones that are not cast in place are not
// placed in the clay: that work goes down with their number.
func (b *Bill) piece(i int, worked *order.Worked) quote.OrderPiece {
	share := float64(max(1, worked.Sharing)) // of a pour, borne by each of its pieces
	in, p, given, w, alloy := b.in, &worked.Plan, worked.Piece, worked.Piece.Work, b.alloys[i]
	q := quote.OrderPiece{
		Name: p.Name, Count: 1, PieceG: p.FinishedG, FinenessPermil: 1000 * alloy.Composition[order.Precious(alloy)],
		CastG: worked.CastingG + p.Melt.FeedMassG/share, MeltLossPct: in.Studio.MeltLossPct, BenchLossPct: w.BenchLossPct,
		GasG: p.Melt.FuelG / share, FailurePct: math.Min(p.FailurePct, mostFailing),
	}
	if c := p.Fill.Chance; c.HighPct > 0 { // none where the fill is left out
		q.FailureBand = &quote.Band{LowPct: math.Min(c.LowPct, q.FailurePct), HighPct: math.Max(c.HighPct, q.FailurePct)}
	}
	for _, t := range []quote.Task{
		{Step: "moulding", Minutes: w.MouldMin + worked.ExtraMouldMin, AtRisk: true}, {Step: "placing stones", Minutes: w.SettingMin * castShare(p), AtRisk: true},
		{Step: "melting and pouring", Minutes: w.PourMin / share, AtRisk: true}, {Step: "cleaning", Minutes: w.CleaningMin + worked.ExtraCleanMin}, {Step: "polishing", Minutes: w.PolishingMin},
	} {
		if t.Minutes > 0 {
			q.Tasks = append(q.Tasks, t)
		}
	}
	good := func(code, what string, count int, each, atRisk float64) {
		if each > 0 && count > 0 {
			q.Goods = append(q.Goods, quote.Good{Code: code, What: what, Count: count, Each: each, AtRiskPct: atRisk})
		}
	}
	good(quote.CodeConsumables, "consumables", 1, w.Consumables, 100)
	good(quote.CodeFees, "hallmark", 1, w.HallmarkFee, 0)
	for j, placed := range given.Stones {
		s := in.StoneNamed(placed.ID)
		level := p.Stones.Stones[j].Verdict
		risk := 100.0
		if order.Unfit(level) != "" {
			risk = 0
			good(quote.CodeSetting, fmt.Sprintf("setting %s", placed.ID), placed.Quantity, w.AfterSetting, 0)
		} else if s.ClientOwned {
			q.ClientStones += placed.Quantity
		}
		if level != verdict.CannotTell {
			good(quote.CodeStones, placed.ID, placed.Quantity, s.PriceEach, risk)
		}
	}
	return q
}

// castShare is the share of a piece's stones that are cast in place; 1 without stones.
func castShare(p *order.PiecePlan) float64 {
	if p.Stones == nil {
		return 1
	}
	cast, all := 0, 0
	for _, s := range p.Stones.Stones {
		all += s.Quantity
		if order.Unfit(s.Verdict) == "" {
			cast += s.Quantity
		}
	}
	return float64(cast) / float64(max(all, 1))
}

// permil is the fineness of a lot in parts per thousand, from its fine metal
// and its mass. A lot of fine metal is never finer than that by rounding, which
// the bill would refuse.
func permil(fineG, massG float64) float64 { return min(1000, 1000*fineG/massG) }

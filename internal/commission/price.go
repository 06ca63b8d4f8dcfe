package commission

import (
	"context"
	"fmt"
	"math"

	"pourwright/internal/metal"
	"pourwright/internal/quote"
	"pourwright/internal/stone"
)

var metalWords = map[string]string{"Ag": "silver", "Au": "gold", "Pt": "platinum", "Pd": "palladium"}

// price prices the order: each piece by what its rooms found, the client's
// metal by what each lot is sure to hold.
func (out *Out) price(ctx context.Context, in In, alloys []metal.Metal) error {
	order := quote.Order{Terms: in.Prices, Metal: metalWords[precious(alloys[0])]}
	for i, p := range out.Pieces {
		order.Pieces = append(order.Pieces, orderPiece(in, i, p, alloys[i]))
	}
	order.ClientMetal = out.clientMetal()
	w := in.Work
	order.Tasks = append(order.Tasks, quote.Task{Step: "design", Minutes: w.DesignMin}, quote.Task{Step: "paperwork", Minutes: w.PaperworkMin})
	for _, fee := range []struct {
		what string
		each float64
	}{{"assay", w.AssayFee}, {"delivery", w.Delivery}} {
		if fee.each > 0 {
			order.Goods = append(order.Goods, quote.Good{Code: quote.CodeFees, What: fee.what, Count: 1, Each: fee.each})
		}
	}
	var err error
	out.Price, err = quote.Total(ctx, order)
	return err
}

// clientMetal is the clients' metal that goes into the melts, lot by lot, at
// the fineness that each is sure to have. Returns were counted in their first melt.
func (out *Out) clientMetal() []quote.ClientLot {
	var lots []quote.ClientLot
	for _, p := range out.Pieces {
		for _, part := range p.Charge.Charge {
			if part.Owner != "studio" && part.Owner != "shared" && part.WeighG > 0 {
				lots = append(lots, quote.ClientLot{G: part.WeighG, FinenessPermil: 1000 * part.FineLeastG / part.WeighG})
			}
		}
	}
	return lots
}

func orderPiece(in In, i int, p PiecePlan, alloy metal.Metal) quote.OrderPiece {
	given, w := in.Pieces[i], in.Pieces[i].Work
	q := quote.OrderPiece{
		Name: p.Name, Count: 1, PieceG: p.FinishedG, FinenessPermil: 1000 * alloy.Composition[precious(alloy)],
		CastG: p.Melt.CastingMassG + p.Melt.FeedMassG, MeltLossPct: in.Studio.MeltLossPct, BenchLossPct: w.BenchLossPct,
		GasG: p.Melt.FuelG, FailurePct: math.Min(p.FailurePct, 95),
	}
	for _, t := range []quote.Task{
		{Step: "moulding", Minutes: w.MouldMin + p.way.mouldMin, AtRisk: true}, {Step: "placing stones", Minutes: w.SettingMin, AtRisk: true},
		{Step: "melting and pouring", Minutes: w.PourMin, AtRisk: true}, {Step: "cleaning", Minutes: w.CleaningMin + p.way.cleanMin}, {Step: "polishing", Minutes: w.PolishingMin},
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
		s := in.Stones[(&bag{stones: in.Stones}).find(placed.ID)]
		verdict := p.Stones.Stones[j].Verdict
		risk := 100.0
		if unfit(verdict) != "" {
			risk = 0
			good(quote.CodeSetting, fmt.Sprintf("setting %s", placed.ID), placed.Quantity, w.AfterSetting, 0)
		} else if s.ClientOwned {
			q.ClientStones += placed.Quantity
		}
		if verdict != stone.CannotTell {
			good(quote.CodeStones, placed.ID, placed.Quantity, s.PriceEach, risk)
		}
	}
	return q
}

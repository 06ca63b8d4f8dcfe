package quote

import (
	"cmp"
	"fmt"
	"time"

	"pourwright/internal/calc"
)

const most = 1e9 // money, mass or minutes of one field

// check refuses what cannot be priced. Ranges that only the sense of a field
// sets are in the tags of the input; here is what the arithmetic needs.
func (o *Order) check() (purse, error) {
	var c calc.Checks
	money, ok := purseOf(o.Currency)
	if !ok {
		c.Refuse("currency", o.Currency, "give a currency code of ISO 4217, such as EUR, GBP or JPY")
	}
	o.Terms.check(&c, money, ok)
	if len(o.Pieces) == 0 {
		c.Refuse("pieces", nil, "give at least one piece")
	}
	for i := range o.Pieces {
		path := "" // flat: the fields of the only piece are the caller's own
		if !o.Pieces[i].flat {
			path = fmt.Sprintf("pieces[%d].", i)
		}
		o.Pieces[i].check(&c, path)
	}
	for i, lot := range o.ClientMetal {
		if !(lot.G >= 0 && lot.G <= most) {
			c.Within(fmt.Sprintf("client_metal[%d].g", i), lot.G, 0, most, "g")
		}
		if !(lot.FinenessPermil >= 0 && lot.FinenessPermil <= 1000) {
			c.Within(fmt.Sprintf("client_metal[%d].fineness_permil", i), lot.FinenessPermil, 0, 1000, "parts per thousand")
		}
	}
	for i, lot := range o.Bought {
		path := fmt.Sprintf("bought[%d].", i)
		c.Within(path+"g", lot.G, 0, most, "g")
		c.Within(path+"fineness_permil", lot.FinenessPermil, 0, 1000, "parts per thousand")
		c.Within(path+"price_per_gram", lot.PricePerG, 0, most, "a gram")
	}
	checkWork(&c, "", o.Tasks, o.Goods)
	return money, c.Err()
}

func (t *Terms) check(c *calc.Checks, money purse, known bool) {
	c.Bounds(*t)
	if t.ScrappedPours > t.CountedPours {
		c.Refuse("scrapped_pours", t.ScrappedPours, "give at most counted_pours, %d", t.CountedPours)
	}
	t.checkOwn(c)
	if t.MarkupPct > 0 && t.MarginPct > 0 {
		c.Refuse("margin_pct", t.MarginPct, "give margin_pct (of the price) or markup_pct (of the cost), not both")
	}
	if known && t.RoundTo > 0 && t.RoundTo <= most {
		if step := new(sums).dec(t.RoundTo); money.round(step).Cmp(step) != 0 {
			c.Refuse("round_to", t.RoundTo, "give a multiple of the smallest unit of %s, %s", t.Currency, money.text(money.coin()))
		}
	}
	for _, d := range []struct{ field, text string }{{"metal_price_date", t.MetalPriceDate}, {"quote_date", t.QuoteDate}} {
		if _, err := time.Parse(time.DateOnly, d.text); err != nil && d.text != "" {
			c.Refuse(d.field, d.text, "give a date as YYYY-MM-DD, such as 2026-11-25")
		}
	}
}

// checkOwn refuses what is wrong with the figures that may be left out.
func (t *Terms) checkOwn(c *calc.Checks) {
	if (t.MetalPricePerG == nil) == (t.MetalPricePerOzt == nil) {
		c.Refuse("metal_price_per_gram", nil, "give one of metal_price_per_gram and metal_price_per_ozt")
	}
	for _, n := range []struct {
		field string
		v     *float64
	}{{"markup_metal_pct", t.MarkupMetalPct}, {"markup_stones_pct", t.MarkupStonesPct}, {"markup_labour_pct", t.MarkupLabourPct}} {
		if n.v != nil && t.MarginPct > 0 {
			c.Refuse(n.field, *n.v, "give mark-ups by class of cost, or margin_pct, not both")
		}
	}
}

func (p *OrderPiece) check(c *calc.Checks, path string) {
	if p.Count < 1 || p.Count > 10000 {
		c.Refuse(path+"count", p.Count, "give 1 to 10000 pieces")
	}
	if !(p.FinenessPermil > 0 && p.FinenessPermil <= 1000) {
		c.Refuse(path+"fineness_permil", p.FinenessPermil, "give more than 0, to 1000 (sterling is 925)")
	}
	c.Within(path+"piece_g", p.PieceG, 0, most, "g")
	c.Within(path+"cast_g", p.CastG, 0, most, "g")
	c.Within(path+"melt_loss_pct", p.MeltLossPct, 0, 100, "percent")
	c.Within(path+"bench_loss_pct", p.BenchLossPct, 0, 100, "percent")
	c.Within(path+"gas_g", p.GasG, 0, most, "g")
	c.Within(path+"failure_pct", p.FailurePct, 0, 95, "percent (a pour that fails oftener is not to be priced but changed)")
	if b := p.FailureBand; b != nil && !(b.LowPct >= 0 && b.LowPct <= p.FailurePct && p.FailurePct <= b.HighPct && b.HighPct <= 100) {
		c.Refuse(path+"failure_low_pct", b.LowPct, "give failure_low_pct and failure_high_pct (%g) around failure_pct (%g)", b.HighPct, p.FailurePct)
	}
	if p.CastG > 0 && p.CastG < p.PieceG {
		c.Refuse(path+"cast_g", p.CastG, "give at least piece_g (%g g): it is the poured mass, with sprue and button", p.PieceG)
	}
	checkWork(c, path, p.Tasks, p.Goods)
}

// checkWork spells paths out only where something is wrong.
func checkWork(c *calc.Checks, path string, tasks []Task, goods []Good) {
	sound := func(v float64) bool { return v >= 0 && v <= most }
	for i, t := range tasks {
		if !sound(t.Minutes) {
			c.Within(cmp.Or(t.field, fmt.Sprintf("%stasks[%d].minutes", path, i)), t.Minutes, 0, most, "min")
		}
		if !sound(t.Rate) {
			c.Within(fmt.Sprintf("%stasks[%d].rate", path, i), t.Rate, 0, most, "an hour")
		}
	}
	for i, g := range goods {
		field := func() string { return cmp.Or(g.field, fmt.Sprintf("%sgoods[%d].each", path, i)) }
		if !sound(g.Each) {
			c.Within(field(), g.Each, 0, most, "each")
		}
		if !sound(float64(g.Count)) || !(g.AtRiskPct >= 0 && g.AtRiskPct <= 100) {
			c.Refuse(field(), g.Count, "give a count from 0 and a share at risk of 0 to 100 percent")
		}
	}
}

package quote

import "github.com/cockroachdb/apd/v3"

// entry is a line of the bill before it is put into words.
type entry struct {
	code, what string
	quantity   *apd.Decimal
	unit       string
	each       *apd.Decimal // nil: no price by the unit
	amount     *apd.Decimal // rounded to the minor unit
}

// bill is an order priced under one assumption of mass, time and metal price.
type bill struct {
	purse
	entries []entry

	price                           *apd.Decimal // of fine metal, a gram
	need, credited, bought, surplus *apd.Decimal // fine metal, g
	minutes                         *apd.Decimal
	remakes, lostOnce               *apd.Decimal // expected number; cost of the mean failed pour
	capped                          bool
	work, rest                      *apd.Decimal // direct cost, with the remake allowance in work
	direct, overhead, cost, asked   *apd.Decimal // asked: cost and profit, before discount
	net, tax, gross                 *apd.Decimal
	deposit, buyBack, balance       *apd.Decimal
}

// spread is how far off the likely values a bill is taken, as factors.
type spread struct{ mass, labour, metal *apd.Decimal }

var likely = spread{one, one, one}

// put enters a line, rounded; a line of nothing is left out. It returns the amount.
func (b *bill) put(code, what string, quantity *apd.Decimal, unit string, each, amount *apd.Decimal) *apd.Decimal {
	amount = b.round(amount)
	if amount.IsZero() {
		return amount
	}
	b.entries = append(b.entries, entry{code, what, quantity, unit, each, amount})
	if isWork(code) {
		b.work = add(b.work, amount)
	} else {
		b.rest = add(b.rest, amount)
	}
	return amount
}

// reckon prices the order. Every line is rounded to the minor unit once, and
// all sums are of rounded lines, so that the bill adds up to the last cent.
func (o Order) reckon(p purse, s spread) bill {
	b := bill{purse: p, entries: make([]entry, 0, 24), price: mul(dec(o.MetalPricePerG), s.metal),
		work: zero, rest: zero, minutes: zero, need: zero}
	b.metal(o, s)
	var lost, once, pours = zero, zero, zero
	b.remakes = zero
	for _, piece := range o.Pieces {
		n := apd.New(int64(piece.Count), 0)
		risk := b.labour(o, piece.Tasks, n, s, piece.label(o))
		risk = add(risk, b.goods(piece.Goods, n, piece.label(o)))
		gas := quo(mul(dec(piece.GasG), dec(o.GasPricePerKg)), thousand)
		b.put(CodeGas, "torch gas"+piece.label(o), mul(dec(piece.GasG), n), "g", nil, mul(gas, n))
		risk = add(add(risk, gas), mul(piece.lostFine(s.mass), b.price))
		fail := dec(piece.FailurePct)
		remakes := mul(n, quo(fail, sub(hundred, fail))) // p/(1−p) for each: tries until one succeeds, less that one
		b.remakes = add(b.remakes, remakes)
		lost = add(lost, mul(risk, remakes))
		once, pours = add(once, mul(risk, n)), add(pours, n)
	}
	b.lostOnce = b.round(quo(once, pours))
	b.labour(o, o.Tasks, one, s, "")
	b.goods(o.Goods, one, "")
	b.allow(o, lost)
	b.close(o)
	return b
}

// metal enters the metal account: what the pieces take, less the client's.
func (b *bill) metal(o Order, s spread) {
	for _, piece := range o.Pieces {
		b.need = add(b.need, mul(piece.fine(s.mass), apd.New(int64(piece.Count), 0)))
	}
	brought := zero
	for _, lot := range o.ClientMetal {
		brought = add(brought, quo(mul(dec(lot.G), dec(lot.FinenessPermil)), thousand))
	}
	kept := sub(brought, pct(brought, dec(o.RefiningPct)))
	b.credited = less(b.need, kept)
	b.bought, b.surplus = sub(b.need, b.credited), sub(kept, b.credited)

	b.put(CodeMetal, "fine metal in the work and lost in making it", b.need, "g", b.price, mul(b.need, b.price))
	b.put(CodeClientMetal, "fine metal of yours", b.credited, "g", b.price, neg(mul(b.credited, b.price)))
	b.put(CodePremium, "premium on metal bought in", b.bought, "g", nil, pct(mul(b.bought, b.price), dec(o.PremiumPct)))
	if !brought.IsZero() {
		b.put(CodeRefining, "refining", one, "", nil, dec(o.RefiningFee))
	}
	b.buyBack = b.round(pct(mul(b.surplus, b.price), dec(o.BuyBackPct)))
}

// labour enters the tasks of n pieces and returns what one failed pour loses of them.
func (b *bill) labour(o Order, tasks []Task, n *apd.Decimal, s spread, label string) *apd.Decimal {
	risk := zero
	for _, t := range tasks {
		if t.Minutes == 0 {
			continue
		}
		rate := t.Rate
		if rate == 0 {
			rate = o.HourlyRate
		}
		minutes := mul(dec(t.Minutes), s.labour)
		cost := quo(mul(minutes, dec(rate)), sixty)
		all := mul(minutes, n)
		b.minutes = add(b.minutes, all)
		b.put(CodeLabour, t.Step+label, quo(all, sixty), "h", dec(rate), mul(cost, n))
		if t.AtRisk {
			risk = add(risk, cost)
		}
	}
	return risk
}

func (b *bill) goods(goods []Good, n *apd.Decimal, label string) *apd.Decimal {
	risk := zero
	for _, g := range goods {
		if g.Count == 0 || g.Each == 0 {
			continue
		}
		count := apd.New(int64(g.Count), 0)
		cost := mul(count, dec(g.Each))
		b.put(g.Code, g.What+label, mul(count, n), "", dec(g.Each), mul(cost, n))
		risk = add(risk, pct(cost, dec(g.AtRiskPct)))
	}
	return risk
}

// allow enters the allowance for failed pours, up to the cap.
func (b *bill) allow(o Order, lost *apd.Decimal) {
	limit := pct(add(b.work, b.rest), dec(o.RemakeCapPct))
	if lost.Cmp(limit) > 0 {
		lost, b.capped = limit, true
	}
	b.put(CodeRemake, "allowance for a failed pour", b.remakes, "", nil, lost)
}

// close carries the direct cost to the total: overhead, profit, discount,
// tax and the round figure.
func (b *bill) close(o Order) {
	work := b.work
	b.direct = add(work, b.rest)
	base := work
	if o.OverheadOn == All {
		base = b.direct
	}
	b.overhead = b.put(CodeOverhead, "overhead", nil, "", nil, pct(base, dec(o.OverheadPct)))
	b.cost = add(b.direct, b.overhead)

	base = add(work, b.overhead)
	if o.ProfitOn == All || o.ProfitOn == "" {
		base = b.cost
	}
	margin := dec(o.MarginPct)
	profit := pct(base, dec(o.MarkupPct))
	if !margin.IsZero() {
		profit = quo(mul(base, margin), sub(hundred, margin)) // base/(1−g) − base
	}
	b.asked = add(b.cost, b.put(CodeProfit, "profit", nil, "", nil, profit))
	discount := b.put(CodeDiscount, "discount", nil, "", nil, neg(pct(b.asked, dec(o.DiscountPct))))
	b.settle(o, add(b.asked, discount))
}

// settle adds the tax to the net price and brings the stated price to its
// round figure. Inclusive: the total is rounded and the tax taken out of it.
// Exclusive: the net price is rounded and the tax put on top.
func (b *bill) settle(o Order, net *apd.Decimal) {
	step := b.coin()
	if o.RoundTo > 0 {
		step = dec(o.RoundTo)
	}
	tax := dec(o.TaxPct)
	if o.TaxShown == Exclusive {
		b.net = b.step(net, step, o.Rounding)
		b.tax = b.round(pct(b.net, tax))
		b.gross = add(b.net, b.tax)
	} else {
		b.gross = b.step(add(net, pct(net, tax)), step, o.Rounding)
		b.tax = b.round(quo(mul(b.gross, tax), add(hundred, tax)))
		b.net = sub(b.gross, b.tax)
	}
	b.put(CodeRounding, "rounding", nil, "", nil, sub(b.net, net))
	b.put(CodeTax, "tax", nil, "", nil, b.tax)
	b.deposit = b.round(pct(b.gross, dec(o.DepositPct)))
	b.balance = sub(sub(b.gross, b.deposit), b.buyBack)
}

// label tells the pieces of an order apart in the lines.
func (p OrderPiece) label(o Order) string {
	if len(o.Pieces) == 1 {
		return ""
	}
	return ", " + p.Name
}

// fine is the fine metal in g that one piece takes, its losses included.
func (p OrderPiece) fine(mass *apd.Decimal) *apd.Decimal {
	gross := add(p.rough(), pct(p.poured(), dec(p.MeltLossPct)))
	return mul(quo(mul(gross, dec(p.FinenessPermil)), thousand), mass)
}

// lostFine is the fine metal in g that one failed pour loses: the rest is melted again.
func (p OrderPiece) lostFine(mass *apd.Decimal) *apd.Decimal {
	return mul(quo(mul(pct(p.poured(), dec(p.MeltLossPct)), dec(p.FinenessPermil)), thousand), mass)
}

// rough is the mass in g of one piece before the bench.
func (p OrderPiece) rough() *apd.Decimal {
	piece := dec(p.PieceG)
	return add(piece, pct(piece, dec(p.BenchLossPct)))
}

func (p OrderPiece) poured() *apd.Decimal {
	if p.CastG > 0 {
		return dec(p.CastG)
	}
	return p.rough()
}

func neg(x *apd.Decimal) *apd.Decimal { return new(apd.Decimal).Neg(x) }

package quote

// entry is a line of the bill before it is put into words.
type entry struct {
	code, what string
	quantity   number // 0: not counted
	unit       string
	each       float64 // 0: no price by the unit; of labour, by the hour
	amount     number  // rounded to the minor unit
}

// bill is an order priced under one assumption of mass, time and metal price.
type bill struct {
	purse
	sums
	entries  []entry
	itemised bool // keep the entries

	price                           number // of fine metal, a gram
	need, credited, bought, surplus number // fine metal, g
	minutes                         number
	remakes, lostOnce               number // expected number; cost of the mean failed pour
	capped                          bool
	by                              [classes]number // direct cost by class, the remake allowance with the work
	melted                          number          // fine metal in the melts, g
	direct, overhead, cost, asked   number          // asked: cost and profit, before discount
	net, tax, gross                 number
	deposit, buyBack, balance       number
}

// spread is how far off the likely values a bill is taken, as factors.
type spread struct {
	mass, labour, metal number
	side                int // -1, 0 or 1: low, likely or high in the chance of a failed pour
}

var likely = spread{one, one, one, 0}

// work is the direct cost of work; rest is that of all else.
func (b *bill) work() number { return b.by[workCost] }
func (b *bill) rest() number { return b.add(b.add(b.by[metalCost], b.by[stoneCost]), b.by[otherCost]) }

// put enters a line, rounded; a line of nothing is left out. It returns the amount.
func (b *bill) put(code, what string, quantity number, unit string, each float64, amount number) number {
	amount = b.round(amount)
	if amount.CmpAbs(dearest) > 0 {
		b.err = errDear
	}
	if amount.IsZero() {
		return amount
	}
	if b.itemised {
		b.entries = append(b.entries, entry{code, what, quantity, unit, each, amount})
	}
	c := classOf(code)
	b.by[c] = b.add(b.by[c], amount)
	return amount
}

// reckon prices the order. Every line is rounded to the minor unit once, and
// all sums are of rounded lines, so that the bill adds up to the last cent.
func (b *bill) reckon(o *Order, s spread) {
	b.price = b.mul(o.perGram(&b.sums), s.metal)
	b.metal(o, s)
	var lost, once, pours = zero, zero, zero
	for i := range o.Pieces {
		piece := &o.Pieces[i]
		n, label := b.count(piece.Count), piece.label(o)
		work, goods := b.labour(o, piece.Tasks, n, s, label), b.goods(piece.Goods, n, label)
		gas := b.permil(b.dec(piece.GasG), b.dec(o.GasPricePerKg))
		b.put(CodeGas, "torch gas"+label, b.permil(b.dec(piece.GasG), n), "kg", o.GasPricePerKg, b.mul(gas, n))
		goods = b.add(b.add(goods, gas), b.mul(piece.lostFine(b, s.mass), b.price))
		risk := b.add(work, b.mul(goods, sixty)) // × 60: the work is in money × minutes an hour
		odds, of := piece.odds(o, &b.sums, s.side)
		fails, holds := b.mul(n, odds), of // for each: tries until one succeeds, less that one
		b.remakes = b.add(b.remakes, b.quo(fails, holds))
		lost = b.add(lost, b.share(b.mul(risk, fails), b.mul(holds, sixty)))
		once, pours = b.add(once, b.mul(risk, n)), b.add(pours, n)
	}
	b.lostOnce = b.share(once, b.mul(pours, sixty))
	b.labour(o, o.Tasks, one, s, "")
	b.goods(o.Goods, one, "")
	b.allow(o, lost)
	b.close(o)
}

// metal enters the metal account: what the pieces take, less the client's.
func (b *bill) metal(o *Order, s spread) {
	for i := range o.Pieces {
		piece := &o.Pieces[i]
		n := b.count(piece.Count)
		b.need = b.add(b.need, b.mul(piece.fine(b, o, s.mass), n))
		b.melted = b.add(b.melted, b.mul(piece.meltedFine(b, s.mass), n))
	}
	brought := zero
	for _, lot := range o.ClientMetal {
		brought = b.add(brought, b.permil(b.dec(lot.G), b.dec(lot.FinenessPermil)))
	}
	kept := b.sub(brought, b.pct(brought, b.dec(o.RefiningPct)))
	b.credited = b.need.Min(kept)
	b.bought, b.surplus = b.sub(b.need, b.credited), b.sub(kept, b.credited)

	if len(o.Bought) > 0 {
		b.purchases(o)
	} else {
		b.put(CodeMetal, "fine metal in the work and lost in making it", b.need, "g", float(b.price), b.mul(b.need, b.price))
		b.put(CodeClientMetal, "fine metal of yours", b.credited.Neg(), "g", float(b.price), b.mul(b.credited, b.price).Neg())
		b.premium(o, b.bought)
	}
	if !brought.IsZero() {
		b.put(CodeRefining, "refining", one, "", o.RefiningFee, b.dec(o.RefiningFee))
	}
	b.buyBack = b.round(b.pct(b.mul(b.surplus, b.price), b.dec(o.BuyBackPct)))
}

// premium enters what metal bought costs above its fine content.
func (b *bill) premium(o *Order, fine number) {
	each := b.pct(b.price, b.dec(o.PremiumPct))
	b.put(CodePremium, "premium on metal bought in", fine, "g", float(each), b.mul(fine, each))
}

// purchases enters the metal bought for the order, whole, and what of it stays
// with the studio as button, sprue and filings; or what the studio's own stock
// gives besides. The client's metal is not on the bill: it is hers already.
func (b *bill) purchases(o *Order) {
	wanted := b.bought // what is needed and not the client's
	b.bought = zero
	unpriced := zero
	for _, lot := range o.Bought {
		g := b.dec(lot.G)
		fine := b.permil(g, b.dec(lot.FinenessPermil))
		b.bought = b.add(b.bought, fine)
		if lot.PricePerG > 0 {
			b.put(CodeBought, "bought: "+lot.What, g, "g", lot.PricePerG, b.mul(g, b.dec(lot.PricePerG)))
			continue
		}
		each := b.permil(b.price, b.dec(lot.FinenessPermil))
		b.put(CodeBought, "bought: "+lot.What, g, "g", float(each), b.mul(g, each))
		unpriced = b.add(unpriced, fine)
	}
	b.premium(o, unpriced)
	own := b.sub(wanted, b.bought)
	code, what := CodeMetal, "fine metal of our own stock"
	if own.IsNeg() {
		code, what = CodeReturned, "fine metal that is left over and stays with us"
	}
	b.put(code, what, own, "g", float(b.price), b.mul(own, b.price))
}

// labour enters the tasks of n pieces and returns what one failed pour loses
// of them, × 60.
func (b *bill) labour(o *Order, tasks []Task, n number, s spread, label string) number {
	risk := zero
	for _, t := range tasks {
		if t.Minutes == 0 {
			continue
		}
		rate := t.Rate
		if rate == 0 {
			rate = o.HourlyRate
		}
		minutes := b.mul(b.dec(t.Minutes), s.labour)
		cost := b.mul(minutes, b.dec(rate)) // × 60
		b.put(CodeLabour, t.Step+label, b.quo(b.mul(minutes, n), sixty), "h", rate, b.share(b.mul(cost, n), sixty))
		b.minutes = b.add(b.minutes, b.mul(minutes, n))
		if t.AtRisk {
			risk = b.add(risk, cost)
		}
	}
	return risk
}

func (b *bill) goods(goods []Good, n number, label string) number {
	risk := zero
	for _, g := range goods {
		if g.Count == 0 || g.Each == 0 {
			continue
		}
		count := b.count(g.Count)
		cost := b.mul(count, b.dec(g.Each))
		b.put(g.Code, g.What+label, b.mul(count, n), "", g.Each, b.mul(cost, n))
		risk = b.add(risk, b.pct(cost, b.dec(g.AtRiskPct)))
	}
	return risk
}

// allow enters the allowance for failed pours, up to the cap.
func (b *bill) allow(o *Order, lost number) {
	limit := b.pct(b.add(b.work(), b.rest()), b.dec(o.RemakeCapPct))
	if lost.Cmp(limit) > 0 {
		lost, b.capped = limit, true
	}
	b.put(CodeRemake, "allowance for a failed pour", b.remakes, "", 0, lost)
}

// close carries the direct cost to the total: overhead, profit, discount,
// tax and the round figure.
func (b *bill) close(o *Order) {
	b.direct = b.add(b.work(), b.rest())
	base := b.work()
	if o.OverheadOn == All {
		base = b.direct
	}
	by := b.by // before overhead and profit
	b.overhead = b.put(CodeOverhead, "overhead", zero, "", 0, b.pct(base, b.dec(o.OverheadPct)))
	b.cost = b.add(b.direct, b.overhead)
	by[workCost] = b.add(by[workCost], b.overhead)

	b.asked = b.add(b.cost, b.put(CodeProfit, "profit", zero, "", 0, b.profit(o, by)))
	discount := b.put(CodeDiscount, "discount", zero, "", 0, b.pct(b.asked, b.dec(o.DiscountPct)).Neg())
	net := b.add(b.asked, discount)
	if least := b.dec(o.MinimumCharge); net.Cmp(least) < 0 {
		net = b.add(net, b.put(CodeMinimum, "up to our minimum charge", zero, "", 0, b.sub(least, net)))
	}
	b.settle(o, net)
}

// profit is the mark-up on each class of cost, or the margin.
func (b *bill) profit(o *Order, by [classes]number) number {
	base := by[workCost]
	if o.ProfitOn == All || o.ProfitOn == "" {
		base = b.cost
	}
	if margin := b.dec(o.MarginPct); !margin.IsZero() {
		return b.share(b.mul(base, margin), b.sub(hundred, margin)) // base/(1−g) − base
	}
	profit := b.pct(base, b.dec(o.MarkupPct))
	for c, own := range [classes]*float64{metalCost: o.MarkupMetalPct, stoneCost: o.MarkupStonesPct, workCost: o.MarkupLabourPct} {
		if own == nil {
			continue
		}
		general := b.dec(o.MarkupPct) // what it would have borne
		if class(c) != workCost && o.ProfitOn == Work {
			general = zero
		}
		profit = b.add(profit, b.pct(by[c], b.sub(b.dec(*own), general)))
	}
	return profit
}

// settle adds the tax to the net price and brings the stated price to its
// round figure. Inclusive: the total is rounded and the tax taken out of it.
// Exclusive: the net price is rounded and the tax put on top.
func (b *bill) settle(o *Order, net number) {
	step := b.coin()
	if o.RoundTo > 0 {
		step = b.dec(o.RoundTo)
	}
	tax := b.dec(o.TaxPct)
	if o.TaxShown == Exclusive {
		b.net = b.step(net, step, o.Rounding)
		b.tax = b.round(b.pct(b.net, tax))
		b.gross = b.add(b.net, b.tax)
	} else {
		b.gross = b.step(b.add(net, b.pct(net, tax)), step, o.Rounding)
		b.tax = b.share(b.mul(b.gross, tax), b.add(hundred, tax))
		b.net = b.sub(b.gross, b.tax)
	}
	b.put(CodeRounding, "rounding", zero, "", 0, b.sub(b.net, net))
	b.put(CodeTax, "tax", zero, "", 0, b.tax)
	b.deposit = b.round(b.pct(b.gross, b.dec(o.DepositPct)))
	b.balance = b.sub(b.sub(b.gross, b.deposit), b.buyBack)
}

// label tells the pieces of an order apart in the lines.
func (p *OrderPiece) label(o *Order) string {
	if len(o.Pieces) == 1 {
		return ""
	}
	return ", " + p.Name
}

// fine is the fine metal in g that one piece takes, its losses included.
// Filings that are recovered are not lost.
func (p *OrderPiece) fine(b *bill, o *Order, mass number) number {
	piece := b.dec(p.PieceG)
	lost := b.sub(hundred, b.dec(o.FilingsRecoveredPct))
	gross := b.add(b.add(piece, b.pct(b.pct(piece, b.dec(p.BenchLossPct)), lost)), b.pct(p.poured(b), b.dec(p.MeltLossPct)))
	return b.mul(b.permil(gross, b.dec(p.FinenessPermil)), mass)
}

// meltedFine is the fine metal in g that is melted for one piece.
func (p *OrderPiece) meltedFine(b *bill, mass number) number {
	poured := p.poured(b)
	gross := b.add(poured, b.pct(poured, b.dec(p.MeltLossPct)))
	return b.mul(b.permil(gross, b.dec(p.FinenessPermil)), mass)
}

// lostFine is the fine metal in g that one failed pour loses: the rest is melted again.
func (p *OrderPiece) lostFine(b *bill, mass number) number {
	return b.mul(b.permil(b.pct(p.poured(b), b.dec(p.MeltLossPct)), b.dec(p.FinenessPermil)), mass)
}

// rough is the mass in g of one piece before the bench.
func (p *OrderPiece) rough(b *bill) number {
	piece := b.dec(p.PieceG)
	return b.add(piece, b.pct(piece, b.dec(p.BenchLossPct)))
}

func (p *OrderPiece) poured(b *bill) number {
	if p.CastG > 0 {
		return b.dec(p.CastG)
	}
	return p.rough(b)
}

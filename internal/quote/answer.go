package quote

import (
	"context"
	"slices"
	"time"

	"pourwright/internal/calc"
	"pourwright/internal/safety"
)

// Line is a line of the bill. The amounts of all lines add up to the
// total exactly.
type Line struct {
	Code      string  `json:"code" enum:"metal,bought_metal,returned_metal,client_metal,premium,refining,labour,stones,setting,consumables,gas,fees,remake,overhead,profit,discount,minimum,rounding,tax" doc:"Kind of the line" example:"labour"`
	Text      string  `json:"text" doc:"What it is for"`
	Quantity  float64 `json:"quantity" doc:"How much of it, below 0 for a credit; 0 where it is not counted. Times unit_price it is the amount, but for the rounding" example:"1.5"`
	Unit      string  `json:"unit" doc:"Unit of the quantity: g of metal, kg of gas, h of work, or empty" example:"h"`
	UnitPrice string  `json:"unit_price,omitempty" doc:"Price of one unit"`
	Amount    string  `json:"amount" doc:"The amount, in the currency's digits; a credit is negative" example:"57.00"`
}

// SidePrice is another price of the same work.
type SidePrice struct {
	Net       string  `json:"net" doc:"Price before tax" example:"210.00"`
	Tax       string  `json:"tax" doc:"Tax on it" example:"44.10"`
	Total     string  `json:"total" doc:"Both" example:"254.10"`
	MarkupPct float64 `json:"markup_pct" doc:"Mark-up on the cost" example:"40"`
}

// Out is a quote. Money is in decimal text with the digits of its currency.
type Out struct {
	Total           string     `json:"total" doc:"What the client pays for the work, tax included" example:"395.00"`
	Currency        string     `json:"currency" doc:"Currency of all amounts, ISO 4217" example:"EUR"`
	Net             string     `json:"net" doc:"Price before tax" example:"326.45"`
	Tax             string     `json:"tax" doc:"Tax in the total" example:"68.55"`
	LowTotal        string     `json:"low_total" doc:"The total if mass, time and metal price all come out low" example:"345.00"`
	HighTotal       string     `json:"high_total" doc:"The total if mass, time and metal price all come out high" example:"450.00"`
	Deposit         string     `json:"deposit" doc:"To be paid before the work begins" example:"195.00"`
	BuyBack         string     `json:"buy_back" doc:"Paid to the client for metal of theirs that is left over" example:"0.00"`
	Balance         string     `json:"balance" doc:"Total less deposit and buy-back; negative if you owe the client" example:"200.00"`
	Cost            string     `json:"cost" doc:"Cost before profit and tax, with overhead and the allowance for failed pours" example:"280.00"`
	Profit          string     `json:"profit" doc:"Net price less cost, after discount and rounding" example:"46.45"`
	MarkupPct       float64    `json:"markup_pct" doc:"That profit as percent of cost; 0 if there is no cost" example:"16.6"`
	MarginPct       float64    `json:"margin_pct" doc:"That profit as percent of the net price; 0 if there is no price" example:"14.2"`
	FineNeededG     float64    `json:"fine_needed_g" doc:"Fine metal in the work and lost in making it"`
	FineCreditedG   float64    `json:"fine_credited_g" doc:"Of it, fine metal of the client's"`
	FineBoughtG     float64    `json:"fine_bought_g" doc:"Fine metal that you supply: what is needed beside the client's, or all of what is bought for the order"`
	ClientSharePct  *float64   `json:"client_share_pct,omitempty" doc:"Share of the metal in the work that is the client's own, percent: what they bring of all that is melted, as a melt mixes"`
	Wholesale       *SidePrice `json:"wholesale,omitempty" doc:"The price for a shop that sells on, where wholesale_markup_pct is given: without discount, minimum charge or round figure"`
	FineSurplusG    float64    `json:"fine_surplus_g" doc:"Fine metal of the client's left over: returned, or bought back where buy_back_pct is given"`
	LabourMin       float64    `json:"labour_min" doc:"All labour, minutes, without what failed pours cost"`
	ExpectedRemakes float64    `json:"expected_remakes" doc:"Failed pours to expect before every piece has succeeded, p/(1−p) for each"`
	LostCost        string     `json:"lost_cost" doc:"Cost of one failed pour (the mean, where pieces differ)" example:"61.20"`
	Remake          string     `json:"remake" doc:"Allowance for failed pours that is in the cost" example:"6.80"`
	RemakeCapped    bool       `json:"remake_capped" doc:"Whether the allowance was held at its cap"`
	QuoteDate       string     `json:"quote_date,omitempty" doc:"Date of the quote as given"`
	ValidUntil      string     `json:"valid_until,omitempty" doc:"Last day on which the price holds, where quote_date is given"`
	MetalPricePerG  string     `json:"metal_price_per_gram" doc:"The price of a gram of fine metal that it rests on"`
	MetalPriceDate  string     `json:"metal_price_date,omitempty" doc:"Its date as given"`
	ClientText      string     `json:"client_text" doc:"The quote in plain words for the client, with the consents to be signed"`
	Lines           []Line     `json:"lines" doc:"The bill; its amounts add up to the total"`
	calc.Notes
}

var (
	srcMoney  = calc.Source{For: "currencies and their smallest units", Text: "ISO 4217, as carried by the currency library in use", Status: calc.Confirmed}
	srcRemake = calc.Source{For: "remake allowance p/(1−p)", Text: "mean number of failures before the first success, geometric distribution; e.g. W. Feller, An Introduction to Probability Theory, vol. 1, ch. VI.8", Status: calc.FromMemory}
	srcRules  = calc.Source{For: "order of overhead, profit, discount, rounding and tax; caps and spreads", Text: "set out in docs/theory/quote.md; all percentages are yours", Status: calc.Choice}
	srcPrices = calc.Source{For: "prices, rates and percentages", Text: "the request", Status: calc.YourInput}
)

const staleDays = 7 // a metal price older than this is worth a word

// Total prices an order. Each line is rounded once to the currency's smallest
// unit, halves away from zero; all sums are of rounded lines and so exact.
//
// Metal: fine content of pieces and losses, less the client's fine content as
// far as it goes. Allowance for failed pours: p/(1−p) times what a failed
// pour costs (its mould, melt, setting in the mould, gas, melt loss), at most
// a percentage of the direct cost. Overhead, then mark-up (of cost) or margin
// (of price), then discount, then tax and the round figure.
//
// The low and the high total take mass, time and metal price all low or all
// high by their spreads: bounds rather than likely values.
// Errors are refusals.
func Total(ctx context.Context, order Order) (Out, error) {
	o := &order
	money, err := o.check()
	if err != nil {
		return Out{}, err
	}
	b := &bill{purse: money, entries: make([]entry, 0, 24), itemised: true}
	b.reckon(o, likely)
	under, over := &bill{purse: money}, &bill{purse: money}
	under.reckon(o, o.off(-1))
	over.reckon(o, o.off(1))
	if over.err != nil || b.err != nil {
		return Out{}, beyond()
	}
	low, high := under.gross, over.gross
	out := Out{
		Total: b.text(b.gross), Currency: o.Currency, Net: b.text(b.net), Tax: b.text(b.tax),
		LowTotal: b.text(low), HighTotal: b.text(high),
		Deposit: b.text(b.deposit), BuyBack: b.text(b.buyBack), Balance: b.text(b.balance),
		Cost:        b.text(b.cost),
		FineNeededG: float(b.need), FineCreditedG: float(b.credited),
		FineBoughtG: float(b.bought), FineSurplusG: float(b.surplus),
		LabourMin: float(b.minutes), ExpectedRemakes: float(b.remakes), LostCost: b.text(b.lostOnce),
		Remake: b.text(b.sum(CodeRemake)), RemakeCapped: b.capped,
		QuoteDate: o.QuoteDate, ValidUntil: o.validUntil(),
		MetalPricePerG: figure(float(o.perGram(&b.sums))), MetalPriceDate: o.MetalPriceDate,
		Lines: b.lines(),
	}
	profit := b.sub(b.net, b.cost)
	out.Profit = b.text(profit)
	if !b.cost.IsZero() {
		out.MarkupPct = float(b.quo(b.mul(profit, hundred), b.cost))
	}
	if !b.net.IsZero() {
		out.MarginPct = float(b.quo(b.mul(profit, hundred), b.net))
	}
	if len(o.ClientMetal) > 0 && !b.melted.IsZero() {
		share := min(100, 100*float(b.add(b.credited, b.surplus))/float(b.melted))
		out.ClientSharePct = &share
	}
	out.Wholesale = o.wholesale(money)
	out.ClientText = o.words(b, low, high, &out)
	out.Notes = calc.Noting(ctx)
	b.show(&out.Notes, o)
	o.caution(&out, profit)
	out.Cite(srcPrices, srcMoney, srcRules)
	if b.remakes.Sign() > 0 {
		out.Cite(srcRemake)
	}
	if o.CountedPours > 0 || slices.ContainsFunc(o.Pieces, func(p OrderPiece) bool { return p.FailureBand != nil }) {
		out.Cite(srcBeta)
	}
	return out, nil
}

// wholesale is the price at the mark-up for a shop, if there is one.
func (o *Order) wholesale(money purse) *SidePrice {
	if o.WholesaleMarkupPct == nil {
		return nil
	}
	shop := *o
	shop.MarkupPct, shop.MarginPct, shop.ProfitOn = *o.WholesaleMarkupPct, 0, All
	shop.MarkupMetalPct, shop.MarkupStonesPct, shop.MarkupLabourPct = nil, nil, nil
	shop.DiscountPct, shop.MinimumCharge, shop.RoundTo, shop.TaxShown = 0, 0, 0, Exclusive
	b := &bill{purse: money}
	b.reckon(&shop, likely)
	return &SidePrice{Net: b.text(b.net), Tax: b.text(b.tax), Total: b.text(b.gross), MarkupPct: *o.WholesaleMarkupPct}
}

// beyond refuses an order whose amounts do not fit.
func beyond() error {
	return calc.Refuse("total", nil, "give smaller figures: mass, prices and percentages together make an amount beyond 1e14")
}

// off returns the spread to one side, sign −1 or 1.
func (o *Order) off(sign int) spread {
	var s sums
	factor := func(percent float64) number { return s.add(one, s.pct(s.dec(percent), s.count(sign))) }
	return spread{factor(o.MassSpreadPct), factor(o.LabourSpreadPct), factor(o.MetalPriceSpreadPct), sign}
}

func (o *Order) validUntil() string {
	day, err := time.Parse(time.DateOnly, o.QuoteDate)
	if err != nil {
		return ""
	}
	return day.AddDate(0, 0, o.ValidDays).Format(time.DateOnly)
}

func (b *bill) lines() []Line {
	lines := make([]Line, len(b.entries))
	for i, e := range b.entries {
		lines[i] = Line{Code: e.code, Text: e.what, Unit: e.unit, Amount: e.amount.String()}
		lines[i].Quantity = float(e.quantity)
		if e.each != 0 {
			lines[i].UnitPrice = figure(e.each)
		}
	}
	return lines
}

// sum adds up the lines of a code.
func (b *bill) sum(code string) number {
	s := zero
	for _, e := range b.entries {
		if e.code == code {
			s = b.add(s, e.amount)
		}
	}
	return s
}

// show writes the working.
func (b *bill) show(n *calc.Notes, o *Order) {
	n.Step("fine metal needed", float(b.need), "g", "Σ pieces × fineness × (mass + bench loss + melt loss)")
	if len(n.Working) == 0 {
		return // the caller wants none
	}
	if len(o.ClientMetal) > 0 {
		n.Step("client's fine metal credited", float(b.credited), "g", "least of need %.6g g and what they bring after refining, %.6g g", float(b.need), float(b.credited)+float(b.surplus))
	}
	n.Step("direct cost", float(b.direct), o.Currency, "work %s + metal, stones and fees %s", b.text(b.work()), b.text(b.rest()))
	if b.remakes.Sign() > 0 {
		n.Step("allowance for failed pours (in work)", float(b.sum(CodeRemake)), o.Currency, "p/(1−p) = %.4g failures × lost cost %s, at most %g %% of the direct cost", float(b.remakes), b.text(b.lostOnce), o.RemakeCapPct)
	}
	n.Step("cost", float(b.cost), o.Currency, "direct cost + overhead %s", b.text(b.overhead))
	if o.MarginPct > 0 {
		n.Step("price", float(b.asked), o.Currency, "cost + base × g/(1−g), g = %g %% of the price (margin)", o.MarginPct)
	} else {
		n.Step("price", float(b.asked), o.Currency, "cost + base × m, m = %g %% of the cost (mark-up)", o.MarkupPct)
	}
	n.Step("net price", float(b.net), o.Currency, "price − discount %s + rounding %s", b.text(b.sum(CodeDiscount).Neg()), b.text(b.sum(CodeRounding)))
	n.Step("total", float(b.gross), o.Currency, "net %s + tax %s at %g %%", b.text(b.net), b.text(b.tax), o.TaxPct)
}

func (o *Order) caution(out *Out, profit number) {
	out.Caution(safety.ConsumerLaw)
	for _, p := range o.Pieces {
		if p.ClientStones > 0 {
			out.Caution(safety.StoneConsent)
		}
	}
	for _, e := range out.Lines {
		if e.Text == "hallmark" {
			out.Caution(safety.HallmarkLaw)
		}
	}
	if out.RemakeCapped {
		out.Warn("remake_capped", calc.Care, "Failed pours cost more than the cap of %g %% of the direct cost lets the price carry. Make the pour safer before you quote.", o.RemakeCapPct)
	}
	if profit.IsNeg() {
		out.Warn("below_cost", calc.Care, "The price is %s %s below your cost: discount or rounding takes more than the profit.", out.Currency, profit.Abs().String())
	}
	o.doubtPrice(out)
	if out.ExpectedRemakes == 0 {
		out.Warn("no_failures_priced", calc.Note, "No failed pour is in the price: failure_pct is 0. Every studio pours some again; count yours (counted_pours, scrapped_pours), or take failure_pct and its band from fills.")
	}
	if len(o.ClientMetal) > 0 {
		out.Warn("client_metal_unproved", calc.Care, "The client's metal is credited by the fineness you gave. Unless it is assayed, take the least it can be: solder and plate lower it.")
		if o.BuyBackPct > 0 {
			out.Warn("buy_back", calc.Note, "Buying metal from a client is a purchase of its own: local law may ask for identity papers, records and separate tax.")
		}
	}
	switch days, ok := o.priceAge(); {
	case ok && days > staleDays:
		out.Warn("metal_price_date", calc.Note, "The metal price is %d days older than the quote.", days)
	case ok && days < 0:
		out.Warn("metal_price_date", calc.Note, "The metal price is dated after the quote.")
	}
}

// doubtPrice warns of a price of metal that is out of all proportion to the
// price of an hour, as when that of an ounce is typed for a gram. A gram of
// silver has cost a few minutes of a goldsmith's work, of gold or platinum one
// to a few hours (common practice, no source); no currency is asked.
func (o *Order) doubtPrice(out *Out) {
	hours := map[string][2]float64{"silver": {0.003, 0.25}, "gold": {0.2, 20}, "platinum": {0.1, 12}, "palladium": {0.1, 12}, CopperAlloy: {0, 0.02}}
	h, known := hours[o.Metal]
	if !known || o.HourlyRate == 0 {
		return
	}
	var s sums
	gram := float(o.perGram(&s))
	switch {
	case gram > h[1]*o.HourlyRate:
		out.Warn("metal_price_high", calc.Care, "%.6g %s for a gram of %s is %.2g hours of your work. If that is the price of a troy ounce, give it as metal_price_per_ozt.", gram, o.Currency, o.metalWord(), gram/o.HourlyRate)
	case gram > 0 && gram < h[0]*o.HourlyRate:
		out.Warn("metal_price_low", calc.Care, "%.4g %s for a gram of %s is little beside %g for an hour: is it the price of this metal, of a gram, in this currency?", gram, o.Currency, o.metalWord(), o.HourlyRate)
	}
}

// priceAge returns the days from the metal price to the quote.
func (o *Order) priceAge() (int, bool) {
	quoted, err := time.Parse(time.DateOnly, o.QuoteDate)
	priced, err2 := time.Parse(time.DateOnly, o.MetalPriceDate)
	if err != nil || err2 != nil {
		return 0, false
	}
	return int(quoted.Sub(priced).Hours() / 24), true
}

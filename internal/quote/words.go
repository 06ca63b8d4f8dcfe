package quote

import (
	"fmt"
	"math"
	"strings"
)

// words puts the quote in plain words for the client, one paragraph a line.
func (o *Order) words(b *bill, low, high number, out *Out) string {
	var w strings.Builder
	w.Grow(1400)
	say := func(format string, args ...any) { fmt.Fprintf(&w, format+"\n", args...) }
	stones, metal := 0, o.fine()
	for _, p := range o.Pieces {
		// Marks are whole parts per thousand and a minimum, so never rounded up;
		// the small addend keeps 1000 × 0.585 from reading 584.
		say("%d × %s, about %.4g g each, fineness %.0f.", p.Count, p.Name, p.PieceG, math.Floor(p.FinenessPermil+1e-6))
		stones += p.Count * p.ClientStones
	}
	o.sayPrice(b, low, high, say)
	if len(o.ClientMetal) > 0 {
		say("Your metal: %.2f g of %s of yours goes into the work and is not charged again.", out.FineCreditedG, metal)
		if o.RefiningPct > 0 {
			say("It is refined first; the refiner keeps %g %%.", o.RefiningPct)
		}
		switch {
		case b.surplus.IsPos() && o.BuyBackPct > 0:
			say("We buy the %.2f g of %s left over for %s.", out.FineSurplusG, metal, b.said(b.buyBack))
		case b.surplus.IsPos():
			say("The rest of your metal, with %.2f g of %s in it, comes back to you: button and sprue of the pour, and what was not melted.", out.FineSurplusG, metal)
		}
	}
	if out.ClientSharePct != nil {
		say("All metal of a melt mixes: of the metal in the work about %.0f %% is your own.", *out.ClientSharePct)
	}
	if b.bought.IsPos() {
		say("We add %.2f g of %s. Button and sprue of the pour stay with us: you pay for what is in the work and what is lost.", out.FineBoughtG, metal)
	}
	o.sayTerms(b, out, say)
	if stones > 0 {
		say("Your stones: %d of your stones are cast in place in hot metal. A stone may crack, cloud or change colour even with every care, and cannot be made good. [ ] I agree that my stones are used at this risk.", stones)
	}
	if len(o.ClientMetal) > 0 {
		say("Your metal is melted: its old form and marks are lost for good, and a little is lost as fume, dross and filings. [ ] I own this metal and agree to its melting.")
	}
	say("Accepted: ______________  Date: __________")
	return strings.TrimSuffix(w.String(), "\n")
}

// metalWord names the metal for people.
func (o *Order) metalWord() string {
	if o.Metal == "" {
		return "metal"
	}
	return strings.ReplaceAll(o.Metal, "_", " ")
}

// fine names what the metal price is for.
func (o *Order) fine() string {
	switch o.Metal {
	case "":
		return "fine metal"
	case CopperAlloy:
		return "copper alloy"
	}
	return "fine " + o.Metal
}

func (o *Order) sayPrice(b *bill, low, high number, say func(string, ...any)) {
	switch {
	case o.TaxPct == 0:
		say("Price: %s.", b.said(b.gross))
	case o.TaxShown == Exclusive:
		say("Price: %s plus %g %% tax %s, together %s.", b.said(b.net), o.TaxPct, b.said(b.tax), b.said(b.gross))
	default:
		say("Price: %s, including %g %% tax (%s).", b.said(b.gross), o.TaxPct, b.said(b.tax))
	}
	if low.Cmp(high) < 0 {
		say("Mass and hours are estimates: it may come to between %s and %s. We ask you before we go above that.", b.said(low), b.said(high))
	}
}

func (o *Order) sayTerms(b *bill, out *Out, say func(string, ...any)) {
	price := fmt.Sprintf("This rests on %s %s for a gram of %s", o.Currency, out.MetalPricePerG, o.fine())
	if o.MetalPricePerOzt != nil {
		price = fmt.Sprintf("This rests on %s %s for a troy ounce of %s", o.Currency, typed(*o.MetalPricePerOzt), o.fine())
	}
	if o.MetalPriceDate != "" {
		price += " on " + o.MetalPriceDate
	}
	if out.ValidUntil != "" {
		say("%s and holds until %s.", price, out.ValidUntil)
	} else {
		say("%s and holds for %d days from the date of this quote.", price, o.ValidDays)
	}
	if b.deposit.IsPos() {
		say("Deposit before we begin: %s.", b.said(b.deposit))
	}
	switch {
	case b.balance.IsNeg():
		say("When it is ready we pay you %s.", b.said(b.balance.Neg()))
	case b.deposit.IsPos() || b.buyBack.IsPos():
		say("To pay when it is ready: %s.", b.said(b.balance))
	}
}

package commission

import (
	"fmt"
	"math/big"
	"strconv"

	"pourwright/internal/order"
)

// Purchase is what must be bought for the melts, whatever of it comes back.
type Purchase struct {
	MassG      float64 `json:"mass_g" doc:"Metal to buy for the melts"`
	FineG      float64 `json:"fine_g" doc:"Of it, the metal whose fineness counts"`
	Cost       string  `json:"cost,omitempty" doc:"What it costs: fine_g at the price of the metal with premium_pct, where prices are given; alloying silver and base metal are not in it" example:"412.30"`
	ComesBackG float64 `json:"comes_back_g" doc:"What comes back of all melts as button, sprue and funnel: it stays the studio's as far as the studio's metal went in"`
	Text       string  `json:"text" doc:"In a sentence"`
}

// purchase is what the charges buy, and what comes back of the melts.
func purchase(in *order.Order, pieces []*order.Worked, shared *order.Metal) *Purchase {
	p := &Purchase{MassG: shared.BoughtG, FineG: shared.FineBoughtG}
	counted := map[int]bool{} // pieces of one pour share its charge
	for i, w := range pieces {
		if counted[shared.Charges[i].Turn] {
			continue
		}
		counted[shared.Charges[i].Turn] = true
		back := w.Plan.Melt.SprueMassG + w.Plan.Melt.ButtonMassG
		p.ComesBackG += min(back, shared.Charges[i].MassG)
	}
	if p.MassG == 0 {
		p.Text = fmt.Sprintf("Nothing is bought. %.1f g come back as button, sprue and funnel.", p.ComesBackG)
		return p
	}
	p.Text = fmt.Sprintf("%.2f g are bought with %.2f g of fine metal in it", p.MassG, p.FineG)
	if in.Prices != nil {
		cost := new(big.Rat).Mul(exact(p.FineG), in.Prices.FinePrice())
		cost.Mul(cost, new(big.Rat).Add(big.NewRat(1, 1), new(big.Rat).Quo(exact(in.Prices.PremiumPct), big.NewRat(100, 1))))
		p.Cost = cost.FloatString(2)
		p.Text += fmt.Sprintf(", for %s %s", p.Cost, in.Prices.Currency)
	}
	p.Text += fmt.Sprintf("; %.1f g come back as button, sprue and funnel: the quote charges the client for what is in the piece and lost, not for that.", p.ComesBackG)
	return p
}

// exact is v as the decimal number it is written as.
func exact(v float64) *big.Rat {
	r, _ := new(big.Rat).SetString(strconv.FormatFloat(v, 'f', -1, 64))
	return r
}

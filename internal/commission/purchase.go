package commission

import (
	"context"
	"fmt"
	"math/big"

	"pourwright/internal/order"
	"pourwright/internal/quote"
)

// Purchase is what must be bought for the melts, whatever of it comes back.
type Purchase struct {
	MassG      float64  `json:"mass_g" doc:"Metal to buy for the melts"`
	FineG      float64  `json:"fine_g" doc:"Of it, the metal whose fineness counts"`
	Cost       string   `json:"cost,omitempty" doc:"What it costs, as the price of the order bills it; left out where no prices are given" example:"412.30"`
	ComesBackG float64  `json:"comes_back_g" doc:"What comes back of all melts as button, sprue and funnel: it stays the studio's as far as the studio's metal went in"`
	OwnMetalG  *float64 `json:"own_metal_casting_g,omitempty" doc:"The largest casting that the client's metal alone makes; where one piece needs more"`
	Text       string   `json:"-"` // in a sentence, which the summary has
}

// purchase is what the charges buy, and what comes back of the melts.
func purchase(ctx context.Context, pieces []*order.Worked, shared *order.Metal, price *quote.Out) (*Purchase, error) {
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
		p.Text = fmt.Sprintf("Nothing is bought; %.1f g come back as button and sprue.", p.ComesBackG)
		return p, nil
	}
	p.Text = fmt.Sprintf("%.2f g are bought with %.2f g of fine metal in it", p.MassG, p.FineG)
	if price != nil {
		cost := new(big.Rat)
		for _, line := range price.Lines {
			if amount, ok := new(big.Rat).SetString(line.Amount); ok && line.Code == quote.CodeBought {
				cost.Add(cost, amount)
			}
		}
		p.Cost = cost.FloatString(2)
		p.Text += fmt.Sprintf(", for %s %s", p.Cost, price.Currency)
	}
	p.Text += fmt.Sprintf("; %.1f g come back as button, sprue and funnel: the quote charges the client for what is in the piece and lost, not for that.", p.ComesBackG)
	if len(pieces) > 1 || shared.ClientG == 0 {
		return p, nil
	}
	possible, wanted, err := pieces[0].Possible(ctx, shared.ClientG)
	if err == nil && possible < wanted {
		p.OwnMetalG = &possible
		p.Text += fmt.Sprintf(" The client's %.1f g alone make a casting of %.1f g at most; this one takes %.1f g.", shared.ClientG, possible, wanted)
	}
	return p, err
}

package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/quote"
)

// Quotes prices a commission.
var Quotes = calc.Define(calc.Info{
	Name: "quotes", Subject: "Price", Summary: "Price of a commission",
	Description: "Metal by fine content with the client's own credited, or all that is bought with what stays with you credited; labour by step, stones and setting, consumables, gas, fees, " +
		"an allowance for failed pours from a stated chance, its band or your own count, overhead, mark-up (of all or by class of cost) or margin, discount, a minimum charge, tax, a round figure, deposit and balance; the wholesale price beside. " +
		"All prices, rates and percentages are yours; money comes back as decimal text with the digits of its currency. " +
		"The answer holds a low and a high total, the bill line by line and the quote in plain words for the client.",
}, []calc.Example{
	calc.Sample("bangle", "A bangle from the client's old silver, three of their stones cast in place (invented figures)",
		`{"currency": "EUR", "piece": "half-round bangle", "piece_g": 38, "fineness_permil": 925, "cast_g": 62, "metal_price_per_gram": 0.95, "metal_price_date": "2026-11-23", "client_metal_g": 45, "client_metal_fineness_permil": 900, "hourly_rate": 38, "mould_min": 40, "pour_min": 30, "setting_min": 20, "cleaning_min": 45, "polishing_min": 40, "client_stones": 3, "consumables": 6.5, "gas_g": 90, "gas_price_per_kg": 4.2, "hallmark_fee": 12.4, "failure_pct": 12, "overhead_pct": 20, "markup_pct": 25, "tax_pct": 21, "rounding": "up", "round_to": 5, "deposit_pct": 50, "quote_date": "2026-11-25"}`),
	calc.Sample("rings", "Four gold rings, priced by margin and shown before tax (invented figures)",
		`{"currency": "GBP", "piece": "signet ring", "pieces": 4, "metal": "gold", "piece_g": 11.2, "fineness_permil": 750, "metal_price_per_gram": 98.4, "premium_pct": 3.5, "hourly_rate": 45, "mould_min": 30, "pour_min": 20, "cleaning_min": 40, "polishing_min": 30, "failure_pct": 5, "margin_pct": 30, "tax_pct": 20, "tax_shown": "exclusive", "discount_pct": 5}`),
	calc.Sample("bought", "A slim gold ring from two grams of the client's, the melt made up with bought metal; priced by the troy ounce, with a band of risk (invented figures)",
		`{"currency": "EUR", "piece": "slim ring", "metal": "gold", "piece_g": 2.1, "fineness_permil": 585, "cast_g": 12.5, "metal_price_per_ozt": 3060, "client_metal_g": 2, "client_metal_fineness_permil": 585, "bought_g": 10.5, "filings_recovered_pct": 75, "hourly_rate": 42, "mould_min": 30, "pour_min": 20, "polishing_min": 40, "failure_pct": 12, "failure_low_pct": 5, "failure_high_pct": 25, "counted_pours": 40, "scrapped_pours": 4, "markup_metal_pct": 15, "markup_labour_pct": 60, "wholesale_markup_pct": 30, "minimum_charge": 90, "tax_pct": 21}`),
	calc.Sample("yen", "A currency without minor units (invented figures)",
		`{"currency": "JPY", "piece_g": 9, "fineness_permil": 925, "metal_price_per_gram": 152, "hourly_rate": 5200, "mould_min": 25, "pour_min": 20, "polishing_min": 35, "markup_pct": 40, "tax_pct": 10, "round_to": 100, "rounding": "up"}`),
}, quote.Price)

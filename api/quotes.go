package api

import (
	"pourwright/internal/calc"
	"pourwright/internal/quote"
)

// Quotes prices a commission.
var Quotes = calc.Define(calc.Info{
	Name: "quotes", Subject: "Price", Summary: "Price of a commission",
	Description: "Metal by fine content with the client's own credited, labour by step, stones and setting, consumables, gas, fees, " +
		"an allowance for failed pours, overhead, mark-up or margin, discount, tax, a round figure, deposit and balance. " +
		"All prices, rates and percentages are yours; money comes back as decimal text with the digits of its currency. " +
		"The answer holds a low and a high total, the bill line by line and the quote in plain words for the client.",
}, []calc.Example{
	calc.Sample("bangle", "A bangle from the client's old silver, three of their stones cast in place (invented figures)",
		`{"currency": "EUR", "piece": "half-round bangle", "piece_g": 38, "fineness_permil": 925, "cast_g": 62, "metal_price_per_gram": 0.95, "metal_price_date": "2026-11-23", "client_metal_g": 45, "client_metal_fineness_permil": 900, "hourly_rate": 38, "mould_min": 40, "pour_min": 30, "setting_min": 20, "cleaning_min": 45, "polishing_min": 40, "client_stones": 3, "consumables": 6.5, "gas_g": 90, "gas_price_per_kg": 4.2, "hallmark_fee": 12.4, "failure_pct": 12, "overhead_pct": 20, "markup_pct": 25, "tax_pct": 21, "rounding": "up", "round_to": 5, "deposit_pct": 50, "quote_date": "2026-11-25"}`),
	calc.Sample("rings", "Four gold rings, priced by margin and shown before tax (invented figures)",
		`{"currency": "GBP", "piece": "signet ring", "pieces": 4, "metal": "gold", "piece_g": 11.2, "fineness_permil": 750, "metal_price_per_gram": 98.4, "premium_pct": 3.5, "hourly_rate": 45, "mould_min": 30, "pour_min": 20, "cleaning_min": 40, "polishing_min": 30, "failure_pct": 5, "margin_pct": 30, "tax_pct": 20, "tax_shown": "exclusive", "discount_pct": 5}`),
	calc.Sample("yen", "A currency without minor units (invented figures)",
		`{"currency": "JPY", "piece_g": 9, "fineness_permil": 925, "metal_price_per_gram": 152, "hourly_rate": 5200, "mould_min": 25, "pour_min": 20, "polishing_min": 35, "markup_pct": 40, "tax_pct": 10, "round_to": 100, "rounding": "up"}`),
}, quote.Price)

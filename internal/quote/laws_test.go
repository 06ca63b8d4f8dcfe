package quote

import (
	"context"
	"math"
	"math/big"
	"reflect"
	"strconv"
	"strings"
	"testing"

	"github.com/govalues/decimal"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
)

// draw makes an order of a sheet's kind: every figure with the digits that
// people type.
func draw(t *rapid.T) In {
	digits := func(label string, most int, places float64) float64 {
		return float64(rapid.IntRange(0, most).Draw(t, label)) / places
	}
	in := plain()
	in.Currency = rapid.SampledFrom([]string{"EUR", "GBP", "JPY", "KWD", "CHF", "INR"}).Draw(t, "currency")
	in.Pieces = rapid.IntRange(1, 12).Draw(t, "pieces")
	in.PieceG, in.FinenessPermil = digits("piece_g", 20000, 100), 1+digits("fineness", 999, 1)
	in.BenchLossPct, in.MeltLossPct = digits("bench", 200, 10), digits("melt", 50, 10)
	in.ClientMetalG, in.ClientMetalFinenessPermil = digits("client_g", 30000, 100), 1+digits("client_fineness", 999, 1)
	in.MetalPricePerG, in.PremiumPct, in.RefiningPct = ptr(digits("metal_price", 1e6, 1e4)), digits("premium", 100, 10), digits("refining", 100, 10)
	in.BuyBackPct, in.HourlyRate = digits("buy_back", 100, 1), digits("rate", 20000, 100)
	in.MouldMin, in.PolishingMin, in.DesignMin = digits("mould", 300, 1), digits("polish", 3000, 10), digits("design", 300, 1)
	in.Stones, in.StonePrice, in.ClientStones = rapid.IntRange(0, 9).Draw(t, "stones"), digits("stone", 10000, 100), rapid.IntRange(0, 3).Draw(t, "own")
	in.Consumables, in.HallmarkFee, in.Delivery = digits("consumables", 5000, 100), digits("hallmark", 5000, 100), digits("delivery", 5000, 100)
	in.FailurePct, in.OverheadPct = digits("failure", 950, 10), digits("overhead", 1000, 10)
	in.OverheadOn = rapid.SampledFrom([]Reach{Work, All}).Draw(t, "overhead_on")
	in.ProfitOn = rapid.SampledFrom([]Reach{Work, All}).Draw(t, "profit_on")
	if rapid.Bool().Draw(t, "by_margin") {
		in.MarginPct = digits("margin", 90, 1)
	} else {
		in.MarkupPct = digits("markup", 3000, 10)
	}
	in.DiscountPct, in.TaxPct = digits("discount", 500, 10), digits("tax", 270, 10)
	in.TaxShown = rapid.SampledFrom([]TaxShown{Inclusive, Exclusive}).Draw(t, "shown")
	in.Rounding = rapid.SampledFrom([]Rounding{Nearest, Up, Down}).Draw(t, "rounding")
	in.RoundTo = rapid.SampledFrom([]float64{0, 1, 5, 50}).Draw(t, "round_to")
	in.DepositPct = digits("deposit", 100, 1)
	return in
}

func rat(t require.TestingT, text string) *big.Rat {
	r, ok := new(big.Rat).SetString(text)
	require.True(t, ok, text)
	return r
}

func minor(out Out) *big.Rat {
	p, _ := purseOf(out.Currency)
	return new(big.Rat).SetFrac(big.NewInt(1), new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(p.digits)), nil))
}

// The bill adds up exactly, in exact rationals, and nothing is lost on the way.
func TestBillAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := draw(t)
		out := price(t, in)
		sum, before := new(big.Rat), new(big.Rat)
		for _, l := range out.Lines {
			sum.Add(sum, rat(t, l.Amount))
			if l.Code != CodeRounding && l.Code != CodeTax {
				before.Add(before, rat(t, l.Amount))
			}
			p, _ := purseOf(out.Currency)
			_, fraction, _ := strings.Cut(l.Amount, ".")
			require.Len(t, fraction, p.digits, "digits of %s", l.Amount)
		}
		total := rat(t, out.Total)
		require.Zero(t, sum.Cmp(total), "lines make %s, total %s", sum.RatString(), out.Total)
		require.Zero(t, new(big.Rat).Add(rat(t, out.Net), rat(t, out.Tax)).Cmp(total))
		paid := new(big.Rat).Add(rat(t, out.Deposit), rat(t, out.Balance))
		require.Zero(t, paid.Add(paid, rat(t, out.BuyBack)).Cmp(total))
		cost := new(big.Rat).Add(rat(t, out.Cost), rat(t, out.Profit))
		require.Zero(t, cost.Cmp(rat(t, out.Net)))
		require.InDelta(t, out.FineNeededG, out.FineCreditedG+out.FineBoughtG, 1e-9*(1+out.FineNeededG)) // rounding of float64

		roundFigure(t, in, out, before)
		require.LessOrEqual(t, rat(t, out.LowTotal).Cmp(total), 0)
		require.LessOrEqual(t, total.Cmp(rat(t, out.HighTotal)), 0)
	})
}

// roundFigure holds the stated price against what it was before it was made
// round: a whole number of steps, off by less than one (half of one for
// nearest), on the side of the rule.
func roundFigure(t *rapid.T, in In, out Out, before *big.Rat) {
	step := minor(out)
	if in.RoundTo > 0 {
		step = rat(t, typed(in.RoundTo))
	}
	stated := rat(t, out.Net)
	if in.TaxShown == Inclusive {
		stated = rat(t, out.Total)
		tax := new(big.Rat).Quo(rat(t, typed(in.TaxPct)), big.NewRat(100, 1))
		before = new(big.Rat).Mul(before, tax.Add(tax, big.NewRat(1, 1)))
	}
	require.True(t, new(big.Rat).Quo(stated, step).IsInt(), "%s in steps of %s", stated.RatString(), step.RatString())
	off := new(big.Rat).Quo(new(big.Rat).Sub(stated, before), step)
	low, high := big.NewRat(-1, 2), big.NewRat(1, 2)
	switch in.Rounding {
	case Up:
		low, high = big.NewRat(0, 1), big.NewRat(1, 1)
	case Down:
		low, high = big.NewRat(-1, 1), big.NewRat(0, 1)
	}
	require.True(t, off.Cmp(low) >= 0 && off.Cmp(high) <= 0, "%s rounded %s by %s steps", before.FloatString(6), in.Rounding, off.FloatString(6))
}

// Labour is minutes × rate / 60, rounded once, against exact rationals.
func TestLabourIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := plain()
		in.Currency = rapid.SampledFrom([]string{"EUR", "JPY", "KWD"}).Draw(t, "currency")
		in.Pieces = rapid.IntRange(1, 100).Draw(t, "pieces")
		in.MouldMin = float64(rapid.IntRange(1, 99999).Draw(t, "minutes")) / 10
		in.HourlyRate = float64(rapid.IntRange(1, 999999).Draw(t, "rate")) / 1000
		out := price(t, in)
		want := rat(t, typed(in.MouldMin))
		want.Mul(want, rat(t, typed(in.HourlyRate))).Mul(want, big.NewRat(int64(in.Pieces), 60))
		p, _ := purseOf(in.Currency)
		require.Zero(t, rat(t, want.FloatString(p.digits)).Cmp(rat(t, out.Total)), "want %s, have %s", want.FloatString(6), out.Total) // FloatString rounds halves away from zero
	})
}

// A price with the tax in it is the price without and the tax on top.
func TestTaxShownEitherWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := draw(t)
		in.RoundTo, in.Rounding = 0, Nearest
		in.TaxShown = Inclusive
		a := price(t, in)
		in.TaxShown = Exclusive
		b := price(t, in)
		off := new(big.Rat).Sub(rat(t, a.Total), rat(t, b.Total))
		// Each rounds net and tax once, at different places: one coin at most.
		require.LessOrEqual(t, off.Abs(off).Cmp(minor(a)), 0, "%s and %s", a.Total, b.Total)
	})
}

// Margin g of the price is mark-up g/(1−g) of the cost.
func TestMarginAndMarkup(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := draw(t)
		same := rapid.SampledFrom([][2]float64{{20, 25}, {50, 100}, {60, 150}, {75, 300}, {80, 400}, {90, 900}}).Draw(t, "margin, markup")
		in.MarginPct, in.MarkupPct = same[0], 0
		a := price(t, in)
		in.MarginPct, in.MarkupPct = 0, same[1]
		b := price(t, in)
		require.Equal(t, a.Total, b.Total)
		if a.MarginPct > 0 && a.MarginPct < 100 {
			require.InEpsilon(t, a.MarginPct/(100-a.MarginPct)*100, a.MarkupPct, 1e-9) // rounding of float64
		}
	})
}

// A number is taken with the digits typed, up to the 15 that a float64 tells apart.
func TestTypedDigits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n, places := rapid.Int64Range(-999999999999999, 999999999999999).Draw(t, "digits"), rapid.IntRange(0, 12).Draw(t, "places")
		want := decimal.MustNew(n, places)
		f, err := strconv.ParseFloat(want.String(), 64)
		require.NoError(t, err)
		var s sums
		require.Zero(t, s.dec(f).Cmp(want), "%s became %s", want, s.dec(f))
		require.NoError(t, s.err)
	})
}

// Whatever is in the fields, the answer adds up or is a refusal.
func TestWildInput(t *testing.T) {
	wild := []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1, 1e-300, 1e-12, 0, 1e9, 1e15, 1e300, 1.0 / 3}
	rapid.Check(t, func(t *rapid.T) {
		in := draw(t)
		for range rapid.IntRange(1, 4).Draw(t, "fields") {
			v := reflect.ValueOf(&in).Elem()
			if rapid.Bool().Draw(t, "terms") {
				v = reflect.ValueOf(&in.Terms).Elem()
			}
			switch f := v.Field(rapid.IntRange(0, v.NumField()-1).Draw(t, "field")); f.Kind() {
			case reflect.Float64:
				f.SetFloat(rapid.SampledFrom(wild).Draw(t, "value"))
			case reflect.Int:
				f.SetInt(rapid.SampledFrom([]int64{-1, 0, 1, 1e4, 1e18}).Draw(t, "int"))
			case reflect.String:
				f.SetString(rapid.SampledFrom([]string{"", "EUR", "2026-02-30", "\x00"}).Draw(t, "text"))
			}
		}
		out, err := Price(context.Background(), in)
		if err != nil {
			var r *calc.Refusal
			require.ErrorAs(t, err, &r)
			return
		}
		sum := new(big.Rat)
		for _, l := range out.Lines {
			sum.Add(sum, rat(t, l.Amount))
		}
		require.Zero(t, sum.Cmp(rat(t, out.Total)))
	})
}

func TestDearerWithRiskMassAndTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := draw(t)
		more := in
		switch rapid.IntRange(0, 3).Draw(t, "what") {
		case 0:
			more.FailurePct = min(95, in.FailurePct+rapid.Float64Range(0, 30).Draw(t, "risk"))
		case 1:
			more.PieceG += rapid.Float64Range(0, 50).Draw(t, "g")
		case 2:
			more.MouldMin += rapid.Float64Range(0, 50).Draw(t, "min")
		case 3:
			more.ClientMetalG = max(0, in.ClientMetalG-rapid.Float64Range(0, 50).Draw(t, "less"))
		}
		require.LessOrEqual(t, rat(t, price(t, in).Total).Cmp(rat(t, price(t, more).Total)), 0)
	})
}

// In a currency worth a hundredth, all figures are a hundredfold.
func TestScaling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := draw(t)
		in.Currency, in.RoundTo, in.Rounding = "EUR", 0, Nearest
		dear := in
		dear.MetalPricePerG = ptr(*in.MetalPricePerG)
		for _, m := range []*float64{dear.MetalPricePerG, &dear.HourlyRate, &dear.StonePrice, &dear.Consumables, &dear.HallmarkFee, &dear.Delivery} {
			*m *= 100
		}
		a, b := rat(t, price(t, in).Total), rat(t, price(t, dear).Total)
		off := new(big.Rat).Sub(new(big.Rat).Mul(a, big.NewRat(100, 1)), b)
		// At most 16 lines, each off by half a coin, multiplied through overhead (2), profit (10, by margin) and tax (1.27).
		require.LessOrEqual(t, off.Abs(off).Cmp(big.NewRat(16*100*2*10*127, 2*100*100)), 0, "%s and %s", a.FloatString(2), b.FloatString(2))
	})
}

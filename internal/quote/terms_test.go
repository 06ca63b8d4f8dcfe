package quote

import (
	"math"
	"math/big"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/schema"
)

func ptr(v float64) *float64 { return &v }

func codes(list []calc.Caution) []string {
	var c []string
	for _, x := range list {
		c = append(c, x.Code)
	}
	return c
}

// Quantity times unit price is the amount, for every line that has a unit
// price: within a coin, as the quantity is written with 15 digits.
func TestUnitPriceTimesQuantityIsTheAmount(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := draw(t)
		in.GasG, in.GasPricePerKg, in.RefiningFee = 80, 4.2, 3
		if rapid.Bool().Draw(t, "bought") {
			in.BoughtG, in.BoughtFinenessPermil = ptr(float64(rapid.IntRange(0, 5000).Draw(t, "g"))/10), ptr(999)
		}
		out := price(t, in)
		codes := schema.For[Line]().Field("code").Enum
		for _, l := range out.Lines {
			require.Contains(t, codes, l.Code)
			if l.UnitPrice == "" {
				continue
			}
			each, err := strconv.ParseFloat(l.UnitPrice, 64)
			require.NoError(t, err)
			got, err := strconv.ParseFloat(l.Amount, 64)
			require.NoError(t, err)
			coin, _ := minor(out).Float64()
			require.InDelta(t, l.Quantity*each, got, 0.51*coin+1e-9*math.Abs(got), "%v", l)
		}
	})
}

// What is bought is billed whole, bought grams times price, and what is left
// over is credited; the total is that of what is needed.
func TestBoughtMetalIsBilledWhole(t *testing.T) {
	in := plain()
	in.Metal, in.PieceG, in.CastG, in.FinenessPermil, in.MetalPricePerG = "gold", 3, 12, 750, ptr(100)
	in.ClientMetalG, in.ClientMetalFinenessPermil = 2, 750
	needed := price(t, in)
	require.Equal(t, "75.00", needed.Total) // 2.25 g fine, 1.5 g of it the client's: 0.75 g at 100
	in.BoughtG, in.BoughtFinenessPermil = ptr(10), ptr(999)
	out := price(t, in)
	require.Equal(t, "999.00", amount(out, CodeBought))    // 10 g × 99.90
	require.Equal(t, "-924.00", amount(out, CodeReturned)) // 9.99 g fine less 0.75 g
	require.Equal(t, needed.Total, out.Total)
	require.InDelta(t, 9.99, out.FineBoughtG, 1e-12)
	require.InDelta(t, 100*1.5/9, *out.ClientSharePct, 1e-9) // 1.5 g of the 9 g fine in the melt
	require.Contains(t, out.ClientText, "about 17 % is your own")
	in.BoughtG = ptr(0.5) // the studio's stock gives the rest
	out = price(t, in)
	require.Equal(t, "49.95", amount(out, CodeBought))
	require.Equal(t, "25.05", amount(out, CodeMetal))
	in.PremiumPct = 4
	require.Equal(t, "2.00", amount(price(t, in), CodePremium)) // 4 % of 49.95
	// A lot with a price of its own.
	o := in.order()
	o.Bought = []BoughtLot{{"alloy", 4, 0, 0.5}}
	own, err := Total(t.Context(), o)
	require.NoError(t, err)
	require.Equal(t, "2.00", amount(own, CodeBought))
	require.Empty(t, amount(own, CodePremium))
}

// A troy ounce is 31.1034768 g: the bill of a price by the ounce against exact rationals.
func TestPriceByTheTroyOunce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := plain()
		in.Currency = rapid.SampledFrom([]string{"EUR", "JPY", "KWD"}).Draw(t, "currency")
		in.MetalPricePerG = nil
		in.MetalPricePerOzt = ptr(float64(rapid.IntRange(1, 5e6).Draw(t, "price")) / 1000)
		in.PieceG = float64(rapid.IntRange(1, 1e6).Draw(t, "g")) / 1000
		out := price(t, in)
		want := rat(t, typed(*in.MetalPricePerOzt))
		want.Mul(want, rat(t, typed(in.PieceG))).Quo(want, rat(t, "31.1034768"))
		p, _ := purseOf(in.Currency)
		require.Zero(t, rat(t, want.FloatString(p.digits)).Cmp(rat(t, out.Total)), "want %s, have %s", want.FloatString(6), out.Total)
		require.Zero(t, new(big.Rat).Mul(in.FinePrice(), rat(t, typed(in.PieceG))).Cmp(want))
	})
	in := plain()
	require.Zero(t, in.FinePrice().Sign())
	in.MetalPricePerG, in.MetalPricePerOzt = nil, ptr(3060)
	out := price(t, in)
	require.Contains(t, out.ClientText, "EUR 3060 for a troy ounce of fine silver")
	require.Equal(t, "98.3812845", out.MetalPricePerG) // 3060/31.1034768 = 98.38128450000
	in = plain()
	in.MetalPricePerOzt = ptr(30)
	_, err := Price(t.Context(), in)
	require.ErrorContains(t, err, "one of metal_price_per_gram and metal_price_per_ozt")
}

// By hand: metal 20, stones 10, work 30 with overhead 6, fees 5.
func TestMarkupByClassOfCost(t *testing.T) {
	in := plain()
	in.PieceG, in.MetalPricePerG = 20, ptr(1)
	in.Stones, in.StonePrice = 1, 10
	in.MouldMin, in.HourlyRate, in.OverheadPct = 60, 30, 20
	in.HallmarkFee = 5
	profit := func() string { return amount(price(t, in), CodeProfit) }
	in.MarkupPct = 10
	require.Equal(t, "7.10", profit()) // of 71
	in.MarkupMetalPct = ptr(25)
	require.Equal(t, "10.10", profit()) // 5 for 2
	in.MarkupStonesPct = ptr(50)
	require.Equal(t, "14.10", profit()) // 5 for 1
	in.MarkupLabourPct = ptr(100)
	require.Equal(t, "46.50", profit()) // 36 for 3.60
	in.ProfitOn = Work                  // fees bear nothing, the classes what is theirs
	require.Equal(t, "46.00", profit())
	in.MarkupLabourPct = nil
	require.Equal(t, "13.60", profit()) // 5 + 5 + 3.60
	in.MarginPct, in.MarkupPct = 20, 0
	_, err := Price(t.Context(), in)
	require.ErrorContains(t, err, "markup_metal_pct")
}

func TestMinimumCharge(t *testing.T) {
	in := plain()
	in.MouldMin, in.HourlyRate, in.MinimumCharge, in.TaxPct = 30, 40, 45, 20
	out := price(t, in)
	require.Equal(t, "25.00", amount(out, CodeMinimum))
	require.Equal(t, "45.00", out.Net)
	require.Equal(t, "54.00", out.Total)
	in.MinimumCharge = 20
	require.Empty(t, amount(price(t, in), CodeMinimum))
}

// 10 g lost at the bench of 100 g, three quarters of it got back.
func TestFilingsRecovered(t *testing.T) {
	in := plain()
	in.PieceG, in.BenchLossPct, in.MetalPricePerG = 100, 10, ptr(2)
	require.Equal(t, "220.00", price(t, in).Total)
	in.FilingsRecoveredPct = 75
	require.Equal(t, "205.00", price(t, in).Total)
}

func TestWholesaleBesideRetail(t *testing.T) {
	in := plain()
	in.MouldMin, in.HourlyRate, in.MarkupPct, in.WholesaleMarkupPct, in.TaxPct, in.RoundTo = 60, 100, 150, ptr(40), 20, 50
	out := price(t, in)
	require.Equal(t, "300.00", out.Total)
	require.Equal(t, SidePrice{Net: "140.00", Tax: "28.00", Total: "168.00", MarkupPct: 40}, *out.Wholesale)
	in.WholesaleMarkupPct = nil
	require.Nil(t, price(t, in).Wholesale)
}

// Beta(2, 18): mean 10 %, standard deviation √(0.1 × 0.9/21) = 6.547 %, of which
// 90 in 100 of a normal are ±10.77 points. The mean of p/(1 − p) is 2/17.
func TestRemakeFromABand(t *testing.T) {
	in := plain()
	in.MouldMin, in.HourlyRate, in.RemakeCapPct = 60, 100, 1000
	in.FailurePct = 10
	in.MassSpreadPct, in.LabourSpreadPct = 0, 0
	stated := price(t, in)
	require.InDelta(t, 1.0/9, stated.ExpectedRemakes, 1e-12)
	require.Equal(t, stated.LowTotal, stated.HighTotal)
	half := 1.6448536269514722 * 100 * math.Sqrt(0.1*0.9/21)
	in.FailureLowPct, in.FailureHighPct = ptr(0), ptr(2*half)
	band := price(t, in)
	require.InDelta(t, 2.0/17, band.ExpectedRemakes, 1e-8)
	require.Equal(t, "11.76", band.Remake)
	require.Negative(t, rat(t, band.LowTotal).Cmp(rat(t, band.Total)))
	require.Positive(t, rat(t, band.HighTotal).Cmp(rat(t, band.Total)))
	// Three failures in twenty pours of one's own: Beta(5, 35), mean of p/(1 − p) 5/34.
	in.CountedPours, in.ScrappedPours = 20, 3
	require.InDelta(t, 5.0/34, price(t, in).ExpectedRemakes, 1e-8)
	// None in two hundred: hardly a failure to expect, but never none.
	in.CountedPours, in.ScrappedPours = 200, 0
	require.InDelta(t, 2.0/217, price(t, in).ExpectedRemakes, 1e-8)
	in.ScrappedPours = 201
	_, err := Price(t.Context(), in)
	require.ErrorContains(t, err, "scrapped_pours")
}

// A count alone, where the plan says nought: 30 pours, none failed.
func TestRemakeFromACountAlone(t *testing.T) {
	in := plain()
	in.MouldMin, in.HourlyRate = 60, 100
	require.Contains(t, codes(price(t, in).Cautions), "no_failures_priced")
	in.CountedPours = 30
	out := price(t, in)
	require.InDelta(t, 0.5/(10.5+30-1), out.ExpectedRemakes, 1e-8)
	require.NotContains(t, codes(out.Cautions), "no_failures_priced")
	for _, bad := range []func(*In){
		func(in *In) { in.FailureLowPct = ptr(5) },
		func(in *In) { in.FailurePct, in.FailureLowPct, in.FailureHighPct = 10, ptr(20), ptr(30) },
	} {
		wrong := in
		bad(&wrong)
		_, err := Price(t.Context(), wrong)
		require.ErrorContains(t, err, "failure_low_pct")
	}
}

// The odds of a band against a sum over its distribution.
func TestOddsOfABand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := OrderPiece{FailurePct: rapid.Float64Range(4, 40).Draw(t, "p")}
		p.FailureBand = &Band{p.FailurePct * 0.5, p.FailurePct * 1.5}
		o := &Order{}
		d := p.chance(o)
		mean := 0.0
		const n = 4000
		for i := range n {
			x := d.Quantile((float64(i) + 0.5) / n)
			mean += x / (1 - x) / n
		}
		var s sums
		v, of := p.odds(o, &s, 0)
		require.InEpsilon(t, mean, float(v)/float(of), 0.01)
		low, _ := p.odds(o, &s, -1)
		high, _ := p.odds(o, &s, 1)
		require.InEpsilon(t, d.Quantile(0.05)/(1-d.Quantile(0.05)), float(low), 1e-6)
		require.InEpsilon(t, d.Quantile(0.95)/(1-d.Quantile(0.95)), float(high), 1e-6)
	})
}

// A price of an ounce typed for a gram is doubted, in any currency.
func TestImplausiblePriceOfMetal(t *testing.T) {
	for _, c := range []struct {
		metal       string
		gram, hour  float64
		code, wrong string
	}{
		{"silver", 0.95, 38, "", ""}, {"silver", 29.5, 38, "metal_price_high", ""}, {"silver", 152, 5200, "", ""}, {"silver", 0.03, 38, "metal_price_low", ""},
		{"gold", 98.4, 45, "", ""}, {"gold", 3060, 45, "metal_price_high", ""}, {"gold", 0.95, 45, "metal_price_low", ""}, {"copper_alloy", 0.01, 40, "", ""},
		{"silver", 29.5, 0, "", ""},
	} {
		in := plain()
		in.Metal, in.PieceG, in.MetalPricePerG, in.HourlyRate, in.MouldMin = c.metal, 10, ptr(c.gram), c.hour, 30
		got := ""
		for _, code := range codes(price(t, in).Cautions) {
			if strings.HasPrefix(code, "metal_price_") {
				got = code
			}
		}
		require.Equal(t, c.code, got, "%v", c)
	}
}

func TestSettingThatCostsNothing(t *testing.T) {
	in := plain()
	in.ClientStones, in.MouldMin, in.HourlyRate = 3, 30, 40
	require.Contains(t, codes(price(t, in).Cautions), "setting_unpriced")
	in.SettingPrice = 5
	out := price(t, in)
	require.NotContains(t, codes(out.Cautions), "setting_unpriced")
	require.Equal(t, "15.00", amount(out, CodeSetting))
	in.StonesInsurance = 12
	require.Equal(t, 12.0, mustFloat(t, price(t, in).Total)-mustFloat(t, out.Total))
}

func mustFloat(t *testing.T, text string) float64 {
	f, _ := new(big.Rat).SetString(text)
	v, _ := f.Float64()
	return v
}

// The price in figures alone is that of the quote, and refuses what it refuses.
func TestReckonAgreesWithTotal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := draw(t)
		out := price(t, in)
		a, err := Reckon(in.order())
		require.NoError(t, err)
		require.Equal(t, []string{out.Total, out.Cost}, []string{a.Text(a.Total), a.Text(a.Cost)})
	})
	in := plain()
	in.Currency = "XXQ"
	_, err := Reckon(in.order())
	require.ErrorContains(t, err, "currency")
}

// TestBoundsAreThoseSaid: the first value beyond each bound is refused by its
// name, the bound itself is not.
func TestBoundsAreThoseSaid(t *testing.T) {
	terms := func(set func(*Terms, float64)) func(*Order, float64) {
		return func(o *Order, v float64) { set(&o.Terms, v) }
	}
	for field, c := range map[string]struct {
		low, high float64
		set       func(*Order, float64)
	}{
		"filings_recovered_pct":           {0, 100, terms(func(t *Terms, v float64) { t.FilingsRecoveredPct = v })},
		"discount_pct":                    {0, 100, terms(func(t *Terms, v float64) { t.DiscountPct = v })},
		"tax_pct":                         {0, 100, terms(func(t *Terms, v float64) { t.TaxPct = v })},
		"premium_pct":                     {0, 200, terms(func(t *Terms, v float64) { t.PremiumPct = v })},
		"client_metal[0].g":               {0, most, func(o *Order, v float64) { o.ClientMetal = []ClientLot{{G: v, FinenessPermil: 925}} }},
		"client_metal[0].fineness_permil": {0, 1000, func(o *Order, v float64) { o.ClientMetal = []ClientLot{{G: 1, FinenessPermil: v}} }},
		"pieces[0].count":                 {1, 10000, func(o *Order, v float64) { o.Pieces[0].Count = int(v) }},
		"pieces[0].fineness_permil":       {1, 1000, func(o *Order, v float64) { o.Pieces[0].FinenessPermil = v }},
		"valid_days":                      {0, 366, terms(func(t *Terms, v float64) { t.ValidDays = int(v) })},
	} {
		check := func(v float64) error {
			in := plain()
			in.PieceG = 5
			o := in.order()
			for i := range o.Pieces {
				o.Pieces[i].flat = false
			}
			c.set(&o, v)
			_, err := o.check()
			return err
		}
		require.NoError(t, check(c.low), "%s %g", field, c.low)
		require.NoError(t, check(c.high), "%s %g", field, c.high)
		require.ErrorContains(t, check(c.low-1), field+":")
		require.ErrorContains(t, check(c.high+1), field+":")
	}
}

// A price of metal dated after the quote, or long before it, is said.
func TestDatesOfThePriceOfMetal(t *testing.T) {
	for date, want := range map[string]string{"2026-11-26": "dated after", "2026-11-25": "", "2026-11-24": "", "2026-01-01": "days older"} {
		in := plain()
		in.PieceG, in.QuoteDate, in.MetalPriceDate = 5, "2026-11-25", date
		said := ""
		for _, c := range price(t, in).Cautions {
			if c.Code == "metal_price_date" {
				said = c.Text
			}
		}
		if want == "" {
			require.Empty(t, said, date)
		} else {
			require.Contains(t, said, want, date)
		}
	}
}

package quote

import (
	"context"
	"encoding/json"
	"fmt"
	"net/url"
	"reflect"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/schema"
)

// plain is an input with the defaults and the fewest figures.
func plain() In {
	in := calc.Default[In]()
	in.Currency, in.FinenessPermil = "EUR", 1000
	in.BenchLossPct, in.MeltLossPct, in.MetalPricePerG = 0, 0, ptr(0)
	return in
}

func price(t require.TestingT, in In) Out {
	out, err := Price(context.Background(), in)
	require.NoError(t, err)
	return out
}

func amount(out Out, code string) string {
	for _, l := range out.Lines {
		if l.Code == code {
			return l.Amount
		}
	}
	return ""
}

// Worked by hand, each figure a finite decimal.
func TestBillByHand(t *testing.T) {
	in := plain()
	in.PieceG, in.FinenessPermil, in.MetalPricePerG = 20, 925, ptr(1) // 18.5 g
	in.HourlyRate, in.MouldMin, in.PolishingMin = 40, 60, 30          // 40.00, 20.00
	in.Consumables = 5
	in.FailurePct = 20 // 0.25 × (40 + 5) = 11.25
	in.OverheadPct = 20
	in.MarkupPct = 50
	in.DiscountPct = 10
	in.TaxPct = 20
	in.Rounding, in.RoundTo = Up, 5
	in.DepositPct = 50
	out := price(t, in)
	var bill []string
	for _, l := range out.Lines {
		bill = append(bill, l.Code+" "+l.Amount)
	}
	require.Equal(t, []string{
		"metal 18.50", "labour 40.00", "labour 20.00", "consumables 5.00", "remake 11.25",
		"overhead 15.25",  // 20 % of 60 + 5 + 11.25
		"profit 55.00",    // 50 % of 110.00
		"discount -16.50", // 10 % of 165.00
		"rounding 1.50",   // 148.50 × 1.2 = 178.20, up to 180; of it 30.00 tax
		"tax 30.00",
	}, bill)
	require.Equal(t, []string{"180.00", "150.00", "30.00", "110.00", "40.00", "90.00", "90.00", "45.00"},
		[]string{out.Total, out.Net, out.Tax, out.Cost, out.Profit, out.Deposit, out.Balance, out.LostCost})
	require.InDelta(t, 100*40.0/110, out.MarkupPct, 1e-12)
	require.InDelta(t, 100*40.0/150, out.MarginPct, 1e-12)
	require.InDelta(t, 0.25, out.ExpectedRemakes, 1e-15)
}

func TestTradePriceTaxOnTop(t *testing.T) {
	in := plain()
	in.AssayFee, in.MarginPct, in.TaxPct = 100, 20, 19
	in.TaxShown, in.RoundTo, in.Rounding = Exclusive, 10, Down
	out := price(t, in)
	// 100/(1 − 0.2) = 125, down to 120; 19 % of it 22.80.
	require.Equal(t, []string{"120.00", "22.80", "142.80", "-5.00", "25.00"},
		[]string{out.Net, out.Tax, out.Total, amount(out, CodeRounding), amount(out, CodeProfit)})
}

func TestClientMetal(t *testing.T) {
	in := plain()
	in.PieceG, in.FinenessPermil, in.MetalPricePerG = 20, 925, ptr(1)
	in.ClientMetalG, in.ClientMetalFinenessPermil = 30, 900 // 27 g fine
	in.RefiningPct, in.RefiningFee = 2, 15                  // 26.46 g come back
	in.BuyBackPct = 80                                      // 7.96 g × 0.8 = 6.368
	out := price(t, in)
	require.Equal(t, []string{"18.50", "-18.50", "15.00", "15.00", "6.37", "8.63"},
		[]string{amount(out, CodeMetal), amount(out, CodeClientMetal), amount(out, CodeRefining), out.Total, out.BuyBack, out.Balance})
	require.Equal(t, []float64{18.5, 18.5, 0, 7.96}, []float64{out.FineNeededG, out.FineCreditedG, out.FineBoughtG, out.FineSurplusG})

	in.ClientMetalG, in.PremiumPct = 10, 4 // 8.82 g; 9.68 g bought, premium 0.3872
	out = price(t, in)
	require.Equal(t, []string{"-8.82", "0.39", "0.00"}, []string{amount(out, CodeClientMetal), amount(out, CodePremium), out.BuyBack})
	require.Equal(t, 9.68, out.FineBoughtG)
}

func TestMetalLossesAreCharged(t *testing.T) {
	in := plain()
	in.PieceG, in.CastG, in.MetalPricePerG, in.FinenessPermil = 40, 70, ptr(2), 500
	in.BenchLossPct, in.MeltLossPct = 5, 1 // (42 + 0.7) × 0.5 = 21.35 g
	in.Pieces = 3
	require.Equal(t, "128.10", price(t, in).Total)
}

// Halves go away from zero, in the minor unit of the currency: ISO 4217 has
// none for yen and Icelandic krona and three for dinars.
func TestMinorUnits(t *testing.T) {
	for _, c := range []struct {
		currency   string
		fee        float64
		total      string
		smallCoins string
	}{
		{"EUR", 0.125, "0.13", "0.01"}, {"EUR", 1.005, "1.01", "0.01"}, {"EUR", 2.675, "2.68", "0.01"},
		{"JPY", 1234.5, "1235", "1"}, {"ISK", 99.4, "99", "1"}, {"KWD", 1.2345, "1.235", "0.001"},
		{"TND", 1, "1.000", "0.001"}, {"IQD", 250, "250.000", "0.001"}, {"HUF", 1, "1.00", "0.01"}, {"CLF", 1, "1.0000", "0.0001"},
	} {
		in := plain()
		in.Currency, in.AssayFee = c.currency, c.fee
		require.Equal(t, c.total, price(t, in).Total, "%s %g", c.currency, c.fee)
		p, ok := purseOf(c.currency)
		require.True(t, ok)
		require.Equal(t, c.smallCoins, p.coin().String())
	}
}

func TestCashRounding(t *testing.T) {
	for _, c := range []struct {
		rule Rounding
		fee  float64
		want string
	}{
		{Nearest, 10.02, "10.00"}, {Nearest, 10.025, "10.05"}, {Nearest, 10.03, "10.05"},
		{Up, 10.01, "10.05"}, {Up, 10.05, "10.05"}, {Down, 10.04, "10.00"},
	} {
		in := plain()
		in.Currency, in.AssayFee, in.Rounding, in.RoundTo = "CHF", c.fee, c.rule, 0.05
		require.Equal(t, c.want, price(t, in).Total, "%s %g", c.rule, c.fee)
	}
	in := plain()
	in.AssayFee, in.RoundTo = 102.5, 5
	require.Equal(t, "105.00", price(t, in).Total) // half a step goes up
}

func TestRemakeAllowanceIsCapped(t *testing.T) {
	in := plain()
	in.HourlyRate, in.MouldMin = 60, 100
	in.FailurePct, in.RemakeCapPct = 75, 50 // 3 × 100 against 50
	out := price(t, in)
	require.Equal(t, []string{"50.00", "150.00", "100.00"}, []string{out.Remake, out.Total, out.LostCost})
	require.True(t, out.RemakeCapped)
	require.Equal(t, "remake_capped", out.Cautions[0].Code)
}

func TestStonesSetAfterThePourAreNotAtRisk(t *testing.T) {
	in := plain()
	in.Stones, in.StonePrice, in.SettingPrice, in.FailurePct = 4, 10, 5, 50 // lost once over
	require.Equal(t, "60.00", price(t, in).LostCost)
	in.ClientStones, in.FailurePct = 2, 0
	require.Equal(t, "70.00", price(t, in).Total) // setting is paid for the client's too
	in.ClientStones, in.FailurePct = 0, 50
	in.StonesLostPct = 25
	require.Equal(t, "30.00", price(t, in).LostCost) // 10 of stones, 20 of setting
	in.SetInMould = false
	require.Equal(t, "0.00", price(t, in).LostCost)
}

func TestWhatAFailedPourCosts(t *testing.T) {
	in := plain()
	in.HourlyRate, in.PourMin, in.CleaningMin = 60, 30, 500 // 30.00 at risk; cleaning is not
	in.GasG, in.GasPricePerKg = 250, 4                      // 1.00
	in.PieceG, in.CastG, in.MeltLossPct, in.FinenessPermil = 50, 80, 2.5, 500
	in.MetalPricePerG = ptr(3) // 2 g lost, half of it fine: 3.00; the rest is melted again
	in.Consumables = 6
	require.Equal(t, "40.00", price(t, in).LostCost)
}

func TestReachOfOverheadAndProfit(t *testing.T) {
	for _, c := range []struct {
		overhead, profit Reach
		want             string // of 100 of work and 50 of fees
	}{{Work, Work, "194.00"}, {Work, All, "204.00"}, {All, Work, "206.00"}, {All, All, "216.00"}} {
		in := plain()
		in.HourlyRate, in.DesignMin, in.AssayFee = 60, 100, 50
		in.OverheadPct, in.MarkupPct, in.OverheadOn, in.ProfitOn = 20, 20, c.overhead, c.profit
		if c.overhead == Work && c.profit == Work {
			require.Equal(t, "24.00", amount(price(t, in), CodeProfit)) // 20 % of 100 + 20
		}
		require.Equal(t, c.want, price(t, in).Total, "%s %s", c.overhead, c.profit)
	}
}

func TestOrderOfManyPieces(t *testing.T) {
	o := Order{Terms: plain().Terms, Metal: "silver",
		Pieces: []OrderPiece{
			{Name: "bangle", Count: 2, PieceG: 30, FinenessPermil: 900, FailurePct: 50,
				Tasks: []Task{{Step: "mould", Minutes: 30, AtRisk: true}, {Step: "polish", Minutes: 15, Rate: 80}}},
			{Name: "ring", Count: 1, PieceG: 10, FinenessPermil: 800, Tasks: []Task{{Step: "mould", Minutes: 60, AtRisk: true}}},
		},
		ClientMetal: []ClientLot{{50, 900}, {10, 800}}, // 45 + 8 = 53 g of 62
		Goods:       []Good{{Code: CodeFees, What: "assay", Count: 2, Each: 7.5}},
	}
	o.MetalPricePerG, o.HourlyRate = ptr(1), 40
	out, err := Total(context.Background(), o)
	require.NoError(t, err)
	require.Equal(t, []float64{62, 53, 9}, []float64{out.FineNeededG, out.FineCreditedG, out.FineBoughtG})
	// 9 metal + 2×20 + 2×20 + 40 labour + 2×1×20 remakes + 15 assay
	require.Equal(t, "184.00", out.Total)
	require.Equal(t, "26.67", out.LostCost) // (2×20 + 40)/3
	require.Equal(t, "mould, bangle", out.Lines[2].Text)
}

func TestWords(t *testing.T) {
	in := plain()
	in.Piece, in.PieceG, in.FinenessPermil, in.MetalPricePerG, in.ClientStones = "bangle", 30, 925, ptr(0.95), 3
	in.ClientMetalG, in.ClientMetalFinenessPermil = 40, 925
	in.HourlyRate, in.MouldMin, in.TaxPct, in.DepositPct = 60, 120, 20, 25
	in.QuoteDate, in.MetalPriceDate = "2026-12-28", "2026-12-01"
	out := price(t, in)
	require.Equal(t, "2027-01-04", out.ValidUntil)
	for _, s := range []string{
		"1 × bangle, about 30 g each", "EUR 144.00, including 20 % tax (EUR 24.00)",
		"between EUR 122.40 and EUR 165.60", "27.75 g of fine silver of yours", "with 9.25 g of fine silver in it, comes back to you: button and sprue of the pour, and what was not melted",
		"EUR 0.95 for a gram of fine silver on 2026-12-01 and holds until 2027-01-04", "Deposit before we begin: EUR 36.00",
		"To pay when it is ready: EUR 108.00", "3 of your stones", "I agree that my stones", "I own this metal",
	} {
		require.Contains(t, out.ClientText, s)
	}
	codes := ""
	for _, c := range out.Cautions {
		codes += c.Code + " "
	}
	for _, c := range []string{"stone_consent", "consumer_law", "client_metal_unproved", "metal_price_date"} {
		require.Contains(t, codes, c)
	}
	in.ClientStones, in.ClientMetalG = 0, 0
	require.NotContains(t, price(t, in).ClientText, "I agree")
}

// A client reads the fineness as it is marked: whole, and never more than
// the metal holds.
func TestFinenessInTheClientsWords(t *testing.T) {
	for permil, want := range map[float64]string{585.1: "fineness 585.", 916.67: "fineness 916.", 1000 * 0.585: "fineness 585.", 999.9: "fineness 999."} {
		in := plain()
		in.FinenessPermil, in.MetalPricePerG = permil, ptr(0.95)
		require.Contains(t, price(t, in).ClientText, want, permil)
	}
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		field string
		set   func(*In)
		says  string
	}{
		{"currency", func(in *In) { in.Currency = "EURO" }, "EUR"},
		{"currency", func(in *In) { in.Currency = "" }, "ISO 4217"},
		{"margin_pct", func(in *In) { in.MarginPct, in.MarkupPct = 20, 20 }, "not both"},
		{"rounding", func(in *In) { in.Rounding = "sideways" }, "nearest"},
		{"profit_on", func(in *In) { in.ProfitOn = "metal" }, "work"},
		{"round_to", func(in *In) { in.RoundTo = 0.125 }, "0.01"},
		{"round_to", func(in *In) { in.Currency, in.RoundTo = "JPY", 0.5 }, "multiple"},
		{"quote_date", func(in *In) { in.QuoteDate = "25.11.2026" }, "YYYY-MM-DD"},
		{"metal_price_date", func(in *In) { in.MetalPriceDate = "2026-13-01" }, "YYYY-MM-DD"},
		{"client_metal_fineness_permil", func(in *In) { in.ClientMetalG = 5 }, "925"},
		{"cast_g", func(in *In) { in.PieceG, in.CastG = 30, 20 }, "30"},
		{"fineness_permil", func(in *In) { in.FinenessPermil = 0 }, "925"},
		{"failure_pct", func(in *In) { in.FailurePct = 100 }, "95"},
		{"mould_min", func(in *In) { in.MouldMin = -1 }, "0"},
		{"hourly_rate", func(in *In) { in.HourlyRate = nan() }, "0"},
		{"stone_price", func(in *In) { in.Stones, in.StonePrice = 1, nan() }, "0"},
		{"total", func(in *In) { in.PieceG, in.MetalPricePerG = 3e5, ptr(1e9) }, "1e14"},
		{"total", func(in *In) { in.Pieces, in.PieceG, in.MetalPricePerG = 1000, 1e5, ptr(1e9) }, "smaller"},
	} {
		in := plain()
		c.set(&in)
		_, err := Price(context.Background(), in)
		var r *calc.Refusal
		require.ErrorAs(t, err, &r, c.field)
		require.Equal(t, c.field, r.Faults[0].Field, "%v", err)
		require.Contains(t, r.Faults[0].Accepts, c.says)
	}
}

func nan() float64 { z := 0.0; return z / z }

// A sheet calls with everything filled in, and a URL in a cell must stay
// under 2000 characters.
func TestAddressFitsACell(t *testing.T) {
	query := url.Values{}
	in := typical()
	v := reflect.ValueOf(in)
	for _, f := range schema.For[In]().Fields {
		query.Set(f.Name, fmt.Sprint(f.Of(v).Interface()))
	}
	require.Less(t, len("http://192.168.100.100:8080/v1/quotes?pick=client_text&errors=text&"+query.Encode()), 2000)
}

// typical is a row of a busy sheet, invented.
func typical() In {
	in := plain()
	in.Piece, in.PieceG, in.FinenessPermil, in.CastG = "half-round bangle", 38.25, 925, 62.4
	in.BenchLossPct, in.MeltLossPct = 5, 1
	in.ClientMetalG, in.ClientMetalFinenessPermil = 45.35, 900
	in.DesignMin, in.MouldMin, in.PourMin, in.SettingMin, in.CleaningMin, in.PolishingMin, in.PaperworkMin = 20, 40, 30, 20, 45, 40, 15
	in.Stones, in.StonePrice, in.ClientStones, in.SettingPrice = 2, 12.5, 3, 4.75
	in.Consumables, in.GasG, in.HallmarkFee, in.AssayFee, in.Delivery, in.FailurePct = 6.5, 90, 12.4, 18, 9.9, 12.5
	in.Terms.Currency = "EUR"
	in.MetalPricePerG, in.MetalPriceDate, in.HourlyRate, in.PremiumPct = ptr(0.9487), "2026-11-23", 38.5, 3.5
	in.RefiningFee, in.BuyBackPct, in.GasPricePerKg = 0, 85, 4.2
	in.OverheadPct, in.MarkupPct, in.TaxPct, in.DepositPct = 20, 25, 21, 50
	in.Rounding, in.RoundTo, in.QuoteDate = Up, 5, "2026-11-25"
	return in
}

// BenchmarkPrice prices rows as a sheet sends them, working off; the encoding
// of the same answer by encoding/json is the yardstick.
func BenchmarkPrice(b *testing.B) {
	ctx, in := calc.Silent(context.Background()), typical()
	out := price(b, in)
	b.Run("price", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := Price(ctx, in); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("encoding-json-of-the-answer", func(b *testing.B) {
		for b.Loop() {
			if _, err := json.Marshal(out); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func ExamplePrice() {
	in := calc.Default[In]()
	in.Currency, in.PieceG, in.FinenessPermil, in.MetalPricePerG = "EUR", 10, 925, ptr(1)
	in.HourlyRate, in.MouldMin, in.MarginPct = 40, 90, 20
	out, err := Price(context.Background(), in)
	fmt.Println(out.Total, out.Currency, err)
	// Output: 87.26 EUR <nil>
}

// A fee that is typed with up to fifteen figures goes into the bill as typed.
func TestAmountsAreTheDigitsTyped(t *testing.T) {
	for _, v := range []float64{0, 0.1, 0.123456, 1234.567, 1e6, 0.1234567, 2.675} {
		var s sums
		d := s.dec(v)
		require.NoError(t, s.err)
		require.Equal(t, strconv.FormatFloat(v, 'f', -1, 64), d.Trim(0).String())
	}
}

// Stones that nobody is paid to set are counted, the studio's and the client's.
func TestUnpricedSettingCountsAllStones(t *testing.T) {
	in := plain()
	in.PieceG, in.Stones, in.ClientStones = 5, 2, 5
	out := price(t, in)
	i := slices.IndexFunc(out.Cautions, func(c calc.Caution) bool { return c.Code == "setting_unpriced" })
	require.GreaterOrEqual(t, i, 0)
	require.Contains(t, out.Cautions[i].Text, "7 stones a piece")
}

// The client's share is hers of what is melted: 10 g of her fine metal and 10 g
// bought are half. The rule of remakes is cited where remakes are priced.
func TestClientShareAndRemakeSource(t *testing.T) {
	in := plain()
	in.PieceG, in.MetalPricePerG = 20, ptr(1)
	in.ClientMetalG, in.ClientMetalFinenessPermil = 10, 1000
	out := price(t, in)
	require.NotNil(t, out.ClientSharePct)
	require.InDelta(t, 50, *out.ClientSharePct, 1e-9)
	cites := func(o Out) bool {
		return slices.ContainsFunc(o.Sources, func(s calc.Source) bool { return s.For == srcRemake.For })
	}
	require.False(t, cites(out), "no failures, no remakes")
	in.FailurePct = 10
	require.True(t, cites(price(t, in)))
}

// The doubt of a metal's price stands at 20 hours of work a gram for gold and
// at a fifth of an hour, and likewise for the others.
func TestDoubtfulPricesOfMetal(t *testing.T) {
	for metal, hours := range map[string][2]float64{"silver": {0.003, 0.25}, "gold": {0.2, 20}, "platinum": {0.1, 12}, "palladium": {0.1, 12}} {
		for _, c := range []struct {
			hours float64
			code  string
		}{{hours[0] * 0.97, "metal_price_low"}, {hours[0] * 1.03, ""}, {hours[1] * 0.97, ""}, {hours[1] * 1.03, "metal_price_high"}} {
			in := plain()
			in.PieceG, in.Metal, in.HourlyRate = 5, metal, 100
			in.MetalPricePerG = ptr(100 * c.hours)
			out := price(t, in)
			for _, code := range []string{"metal_price_low", "metal_price_high"} {
				require.Equal(t, code == c.code, slices.ContainsFunc(out.Cautions, func(k calc.Caution) bool { return k.Code == code }), "%s, %g hours a gram: %s", metal, c.hours, code)
			}
		}
	}
}

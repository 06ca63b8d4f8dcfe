package pricing

import (
	"context"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/blend"
	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/melt"
	"pourwright/internal/metal"
	"pourwright/internal/order"
	"pourwright/internal/quote"
	"pourwright/internal/stone"
	"pourwright/internal/verdict"
)

// sterling is a studio with one piece of 10 g finished, 11 g cast and 9 g of
// sprue and button, of a charge of 12 g of the client's and 8.5 g bought.
func sterling(t testing.TB) (*Bill, []*order.Worked, *order.Metal) {
	alloy, err := metal.Named("silver-925")
	require.NoError(t, err)
	terms := calc.Default[quote.Terms]()
	price := 1.0
	terms.Currency, terms.MetalPricePerG, terms.HourlyRate = "EUR", &price, 60
	terms.RemakeCapPct = 1000
	in := order.Order{Prices: &terms}
	in.Studio = calc.Default[order.Studio]()
	in.Work = order.OrderWork{DesignMin: 30, PaperworkMin: 6, AssayFee: 20}
	w := &order.Worked{CastingG: 11}
	w.Piece.Work = order.PieceWork{MouldMin: 45, PourMin: 30, CleaningMin: 40, PolishingMin: 20, BenchLossPct: 5, Consumables: 3, HallmarkFee: 4}
	w.Plan = order.PiecePlan{Name: "ring", FinishedG: 10, Melt: melt.Out{FeedMassG: 9, FuelG: 50}}
	shared := &order.Metal{Charges: []order.Charge{{Turn: 1, ChargePlan: blend.ChargePlan{Charge: []blend.Part{
		{ID: "spoon", Owner: "client", WeighG: 12, FineLeastG: 11.04},
		{ID: "grain", Owner: "studio", Bought: true, WeighG: 8.5, FineLeastG: 7.8625},
		{ID: "button", Owner: "shared", WeighG: 1, FineLeastG: 0.9},
	}}}}}
	return For(&in, []metal.Metal{alloy}), []*order.Worked{w}, shared
}

func line(t testing.TB, q quote.Out, code string) float64 {
	sum := 0.0
	for _, l := range q.Lines {
		if l.Code == code {
			v, err := strconv.ParseFloat(l.Amount, 64)
			require.NoError(t, err)
			sum += v
		}
	}
	return sum
}

func priced(t testing.TB, b *Bill, pieces []*order.Worked, shared *order.Metal) quote.Out {
	q, err := b.Quote(context.Background(), pieces, shared)
	require.NoError(t, err)
	return q
}

// By hand: 171 min and 36 min of an hour at 60, 8.5 g × 0.925 at 1 a gram, gas at nothing.
func TestBillByHand(t *testing.T) {
	b, pieces, shared := sterling(t)
	q := priced(t, b, pieces, shared)
	require.InDelta(t, 45+30+40+20+30+6, line(t, q, quote.CodeLabour), 1e-9)
	require.InDelta(t, 7.86, line(t, q, quote.CodeBought), 0.005)
	require.InDelta(t, 3, line(t, q, quote.CodeConsumables), 1e-9)
	require.InDelta(t, 24, line(t, q, quote.CodeFees), 1e-9)
	require.Zero(t, line(t, q, quote.CodeRemake))
	require.InDelta(t, 7.8625, q.FineBoughtG, 1e-9)
	// The client's own at what it is sure to hold; the button came of an earlier pour.
	require.Equal(t, []quote.ClientLot{{G: 12, FinenessPermil: 920}}, b.whole(pieces, shared).ClientMetal)
	shared.Charges[0].Charge[0].WeighG = 0
	require.Empty(t, b.whole(pieces, shared).ClientMetal)
	shared.Charges[0].Charge[0].WeighG = 12
	b.in.Prices.GasPricePerKg = 4
	require.InDelta(t, 0.20, line(t, priced(t, b, pieces, shared), quote.CodeGas), 1e-9)
}

// What is bought is billed: grams weighed × fineness × the price of fine metal,
// or grams × the lot's own price, whatever else is on the bill.
func TestBoughtGramsTimesPrice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, pieces, shared := sterling(nil)
		g := float64(rapid.IntRange(1, 20000).Draw(t, "centigrams")) / 100
		fine := float64(rapid.IntRange(100, 1000).Draw(t, "permil"))
		price := float64(rapid.IntRange(1, 20000).Draw(t, "price")) / 100
		b.in.Prices.MetalPricePerG = &price
		own := rapid.Bool().Draw(t, "own price")
		part := &shared.Charges[0].Charge[1]
		part.WeighG, part.FineLeastG = g, g*fine/1000
		want := g * fine / 1000 * price
		if own {
			each := float64(rapid.IntRange(1, 20000).Draw(t, "each")) / 100
			b.in.Additions = []blend.Addition{{ID: "grain", PricePerG: &each}}
			want = g * each
		}
		q, err := b.Quote(context.Background(), pieces, shared)
		require.NoError(t, err)
		got := 0.0
		for _, l := range q.Lines {
			if l.Code == quote.CodeBought {
				v, _ := strconv.ParseFloat(l.Amount, 64)
				got += v
			}
		}
		require.InDelta(t, want, got, 0.0051, "a coin's half")
	})
}

// Two pieces of one pour have one charge, which is billed once, and bear half
// its sprue, gas and work at the torch each.
func TestSharedPourIsBilledOnce(t *testing.T) {
	b, pieces, shared := sterling(t)
	b.in.Prices.GasPricePerKg = 4
	alone := priced(t, b, pieces, shared)
	other := *pieces[0]
	other.Plan.Name = "twin"
	pieces = append(pieces, &other)
	shared.Charges = append(shared.Charges, shared.Charges[0])
	b.alloys = append(b.alloys, b.alloys[0])
	for _, w := range pieces {
		w.Sharing = 2
	}
	both := priced(t, b, pieces, shared)
	require.InDelta(t, line(t, alone, quote.CodeBought), line(t, both, quote.CodeBought), 1e-9)
	require.InDelta(t, line(t, alone, quote.CodeGas), line(t, both, quote.CodeGas), 0.011)
	require.InDelta(t, line(t, alone, quote.CodeLabour)+45+40+20, line(t, both, quote.CodeLabour), 0.011)
	p := b.piece(0, pieces[0])
	require.InDelta(t, 11+9.0/2, p.CastG, 1e-12)
	require.InDelta(t, 25, p.GasG, 1e-12)
	shared.Charges[1].Turn = 2
	require.InDelta(t, 2*line(t, alone, quote.CodeBought), line(t, priced(t, b, pieces, shared), quote.CodeBought), 0.011)
}

// The remake is priced by the band of the fill, the middle of p/(1 − p) over it,
// and the low and the high total stand apart by it; the studio's own count is
// evidence on the same chance. Without a band the chance is taken as known.
func TestRemakeByTheBandOfTheFill(t *testing.T) {
	b, pieces, shared := sterling(t)
	plan := &pieces[0].Plan
	plan.FailurePct = 10
	known := priced(t, b, pieces, shared)
	require.InDelta(t, 1.0/9, known.ExpectedRemakes, 1e-9)
	plan.Fill.Chance = fill.Chance{FailurePct: 10, LowPct: 1, HighPct: 40}
	band := priced(t, b, pieces, shared)
	require.Greater(t, band.ExpectedRemakes, known.ExpectedRemakes, "p/(1 − p) is convex")
	require.Greater(t, line(t, band, quote.CodeRemake), line(t, known, quote.CodeRemake))
	spread := func(q quote.Out) float64 {
		low, _ := strconv.ParseFloat(q.LowTotal, 64)
		high, _ := strconv.ParseFloat(q.HighTotal, 64)
		return high - low
	}
	require.Greater(t, spread(band), spread(known)+1)
	b.in.Prices.CountedPours, b.in.Prices.ScrappedPours = 400, 8
	require.InDelta(t, 0.02, priced(t, b, pieces, shared).ExpectedRemakes, 0.003, "400 pours outweigh the band")
	// A pour that fails nearly always is still priced, at the most that can be.
	b.in.Prices.CountedPours, b.in.Prices.ScrappedPours = 0, 0
	plan.FailurePct = 99.5
	plan.Fill.Chance = fill.Chance{FailurePct: 99.5, LowPct: 99.5, HighPct: 99.5}
	p := b.piece(0, pieces[0])
	require.Equal(t, 95.0, p.FailurePct)
	require.Equal(t, quote.Band{LowPct: 95, HighPct: 99.5}, *p.FailureBand)
	priced(t, b, pieces, shared)
}

// Stones cast in place are at risk with the pour and their placing is work;
// those set afterwards are charged by the piece and are not at risk; those that
// must be asked about are not sold.
func TestStonesOnTheBill(t *testing.T) {
	b, pieces, shared := sterling(t)
	b.in.Stones = []order.Stone{{ID: "garnets", PriceEach: 5}, {ID: "opal", PriceEach: 50}, {ID: "hers"}, {ID: "doubtful", PriceEach: 7}}
	b.in.Stones[2].ClientOwned = true
	w := pieces[0]
	w.Piece.Work.SettingMin, w.Piece.Work.AfterSetting = 40, 25
	w.Piece.Stones = []order.PlacedStones{{ID: "garnets", Quantity: 4}, {ID: "opal", Quantity: 2}, {ID: "hers", Quantity: 1}, {ID: "doubtful", Quantity: 1}}
	w.Plan.Stones = &stone.SettingOut{Stones: []stone.Judgement{{Quantity: 4, Verdict: verdict.Go}, {Quantity: 2, Verdict: verdict.DoNotPour}, {Quantity: 1, Verdict: verdict.Care}, {Quantity: 1, Verdict: verdict.CannotTell}}}
	p := b.piece(0, w)
	require.Equal(t, 1, p.ClientStones)
	require.Contains(t, p.Tasks, quote.Task{Step: "placing stones", Minutes: 40 * 5.0 / 8, AtRisk: true})
	require.Equal(t, []quote.Good{
		{Code: quote.CodeConsumables, What: "consumables", Count: 1, Each: 3, AtRiskPct: 100},
		{Code: quote.CodeFees, What: "hallmark", Count: 1, Each: 4},
		{Code: quote.CodeStones, What: "garnets", Count: 4, Each: 5, AtRiskPct: 100},
		{Code: quote.CodeSetting, What: "setting opal", Count: 2, Each: 25},
		{Code: quote.CodeStones, What: "opal", Count: 2, Each: 50},
		{Code: quote.CodeSetting, What: "setting doubtful", Count: 1, Each: 25},
	}, p.Goods)
	q := priced(t, b, pieces, shared)
	require.InDelta(t, 120, line(t, q, quote.CodeStones), 1e-9)
	require.InDelta(t, 75, line(t, q, quote.CodeSetting), 1e-9)
}

// The price of a piece by itself is without a round figure, and that of the
// order in figures is that of its bill.
func TestFiguresForTheSearch(t *testing.T) {
	b, pieces, shared := sterling(t)
	b.in.Prices.RoundTo = 50
	whole, err := b.Order(pieces, shared)
	require.NoError(t, err)
	require.Equal(t, priced(t, b, pieces, shared).Total, whole.Text(whole.Total))
	one, err := b.Piece(0, pieces[0])
	require.NoError(t, err)
	// 135 of labour, 3, 4, and the fine metal of 20 g less nothing: loss of the melt 1 %, of the bench 5 %.
	require.InDelta(t, 135+3+4+0.925*(10+0.2+0.5), quote.Float(one.Total), 0.02)
}

// 1000 × 2.05 / 2.05 is 1000.0000000000001 in binary.
func TestFineMetalIsNotFinerThanFine(t *testing.T) {
	for _, g := range []float64{2.05, 1, 0.01, 31.1} {
		require.Equal(t, 1000.0, permil(g, g), g)
	}
	require.InDelta(t, 925, permil(18.5, 20), 1e-9)
}

package options

import (
	"context"
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/order"
	"pourwright/internal/pricing"
	"pourwright/internal/wire"
	"pourwright/testdata"
)

var ctx = context.Background()

// read reads the order of a body as the server does; its pour options are not of
// this package.
func read(t testing.TB, body string) order.Order {
	type whole struct {
		order.Order
		PourOptions *struct {
			MaxRiskPct float64 `json:"max_risk_pct" minimum:"0" maximum:"100" doc:"Not read here"`
			Favour     string  `json:"favour" doc:"Not read here"`
		} `json:"pour_options,omitempty" doc:"Not read here"`
	}
	in, err := wire.ShapeOf(reflect.TypeFor[whole]()).ReadJSON([]byte(body))
	require.NoError(t, err)
	return in.(*whole).Order
}

// small is an order of two small pieces with few ways to pour, so that all of
// them can be tried here too.
func small(t testing.TB) (order.Order, Wanted) {
	in := read(t, testdata.Mixed)
	in.Stones, in.Pieces = nil, in.Pieces[:2]
	for i := range in.Pieces {
		in.Pieces[i].Placing = nil
	}
	in.Pieces[0].ThinPlaces[0].ThicknessMM = 1
	w := calc.Default[Wanted]()
	w.Postures, w.Gates, w.SprueCounts, w.TurnsPct = []string{"standing", "lying"}, []string{"top"}, []int{1}, []float64{0, 50}
	w.RaiseMM, w.ThickenMM, w.HotterK, w.Show = []float64{8}, []float64{0, 0.3}, []float64{0}, 24
	return in, w
}

// TestSearchAgainstEveryWay tries every way of each piece and every
// combination here, by the packages themselves, and compares the front.
func TestSearchAgainstEveryWay(t *testing.T) {
	if testing.Short() {
		t.Skip("every way to pour two pieces")
	}
	in, wanted := small(t)
	alloys, err := in.Wanted()
	require.NoError(t, err)
	s, err := newSearch(&in, alloys, &wanted, pricing.For(&in, alloys))
	require.NoError(t, err)
	out, err := s.answer(ctx)
	require.NoError(t, err)
	require.True(t, out.Exhaustive)
	type made struct {
		mould order.Mould
		goods objectives
	}
	tried := [][]made{}
	for i := range in.Pieces {
		list := []made{}
		for _, posture := range wanted.Postures {
			for _, turn := range []float64{0, 50} {
				for _, raise := range wanted.RaiseMM {
					for _, thicken := range wanted.ThickenMM {
						m := in.Pieces[i].Mould
						m.Posture, m.TurnPct, m.SprueLengthMM, m.ThickenMM = posture, turn, m.SprueLengthMM-raise, thicken
						if i == 1 && turn != 0 {
							continue // a pendant is not turned
						}
						c, err := s.candidate(ctx, i, m)
						require.NoError(t, err)
						if c.barred {
							continue
						}
						c.band, err = fill.Risk(ctx, c.worked.Pour)
						require.NoError(t, err)
						c.p = c.band.FailurePct / 100
						c.worked.Plan.FailurePct, c.worked.Plan.Fill.Chance = c.band.FailurePct, c.band
						require.NoError(t, s.priced(i, c))
						list = append(list, made{c.worked.Piece.Mould, c.objectives()})
					}
				}
			}
		}
		tried = append(tried, list)
	}
	sums, pairs := []objectives{}, [][2]order.Mould{}
	for _, a := range tried[0] {
		for _, b := range tried[1] {
			sum := slices.Clone(a.goods)
			for k, v := range b.goods {
				sum[k] += v
			}
			sums, pairs = append(sums, sum), append(pairs, [2]order.Mould{a.mould, b.mould})
		}
	}
	want := [][2]order.Mould{}
	for _, i := range front(sums) {
		want = append(want, pairs[i])
	}
	require.Equal(t, len(want), out.FrontSize)
	for _, p := range out.Options {
		require.Contains(t, want, [2]order.Mould{p.Pieces[0].Mould, p.Pieces[1].Mould})
		// One studio pours both: at each end of the band the chances that a pour comes out multiply.
		a, b := &p.Pieces[0], &p.Pieces[1]
		require.InDelta(t, 100-(100-a.LowPct)*(100-b.LowPct)/100, p.LowPct, 1e-9)
		require.InDelta(t, 100-(100-min(a.HighPct, 99.9999))*(100-min(b.HighPct, 99.9999))/100, p.HighPct, 1e-6)
		require.Less(t, p.LowPct, p.RiskPct)
		require.Less(t, p.RiskPct, p.HighPct)
	}
}

// BenchmarkSearch is a two-piece order; the aim is 2 s on two idle cores.
// Risk is one probability of the first piece, to hold it against.
func BenchmarkSearch(b *testing.B) {
	in := read(b, testdata.Bangles)
	alloys, err := in.Wanted()
	require.NoError(b, err)
	b.Run("two_pieces", func(b *testing.B) {
		for b.Loop() {
			_, err := Search(ctx, in, alloys, nil, pricing.For(&in, alloys))
			require.NoError(b, err)
		}
	})
	b.Run("one_risk", func(b *testing.B) {
		s, err := newSearch(&in, alloys, nil, nil)
		require.NoError(b, err)
		c, err := s.candidate(ctx, 0, in.Pieces[0].Mould)
		require.NoError(b, err)
		for b.Loop() {
			_, err := fill.Risk(ctx, c.worked.Pour)
			require.NoError(b, err)
		}
	})
}

// TestTooManyWaysAreRefused: every list at its longest, before any way is worked
// out; at a thousand ways a piece is a matter of seconds still.
func TestTooManyWaysAreRefused(t *testing.T) {
	in := read(t, testdata.Mixed)
	alloys, err := in.Wanted()
	require.NoError(t, err)
	wanted := calc.Default[Wanted]()
	wanted.TurnsPct = []float64{0, 10, 20, 30, 40, 50, 60, 70}
	wanted.RaiseMM = []float64{0, 1, 2, 3, 4, 5}
	wanted.ThickenMM = []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5}
	wanted.HotterK = []float64{0, 5, 10, 15, 20, 25}
	s, err := newSearch(&in, alloys, &wanted, nil)
	require.NoError(t, err)
	var refusal *calc.Refusal
	require.ErrorAs(t, s.run(t.Context()), &refusal)
	require.Equal(t, "pour_options", refusal.Faults[0].Field)
	require.Contains(t, refusal.Faults[0].Accepts, "more than 1000 ways to pour "+in.Pieces[0].Name)
	require.Empty(t, s.candidates)

	usual := calc.Default[Wanted]()
	given := s.planner(0, in.Pieces[0].Mould)
	worked, err := given.Prepare(t.Context())
	require.NoError(t, err)
	list := usual.moulds(given, drops(worked.Cavity))
	require.Greater(t, len(list), 50)
	require.LessOrEqual(t, len(list), mostWays/5)
	for i := range list {
		for j := range i {
			same := list[i]
			same.PourC = list[j].PourC
			require.False(t, same == list[j] && (list[i].PourC == nil) == (list[j].PourC == nil) && (list[i].PourC == nil || *list[i].PourC == *list[j].PourC), "%d is %d", i, j)
		}
	}
}

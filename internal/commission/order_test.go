package commission

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/blend"
	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/plan"
	"pourwright/testdata"
)

var ctx = context.Background()

// order reads a body as the server does, defaults first; pointers to structs
// that are given get theirs too.
func order(t testing.TB, body string) In {
	in := calc.Default[In]()
	require.NoError(t, json.Unmarshal([]byte(body), &in))
	// Items of lists start from nothing in encoding/json: set and read them again.
	for i := range in.Pieces {
		in.Pieces[i] = calc.Default[Piece]()
	}
	for i := range in.Stones {
		in.Stones[i] = calc.Default[Stone]()
	}
	for i := range in.Lots {
		in.Lots[i] = calc.Default[blend.SourceLot]()
	}
	if in.Ways != nil {
		*in.Ways = calc.Default[PourWays]()
	}
	require.NoError(t, json.Unmarshal([]byte(body), &in))
	return in
}

// small is an order of two small pieces with few ways to pour, so that all of
// them can be tried here too.
func small(t testing.TB) In {
	in := order(t, testdata.Order)
	in.Stones, in.Pieces = nil, in.Pieces[:2]
	for i := range in.Pieces {
		in.Pieces[i].Placing = nil
	}
	in.Pieces[0].ThinSpot.ThicknessMM = 1
	w := calc.Default[PourWays]()
	w.Postures, w.Gates, w.SprueCounts, w.TurnsPct = []string{"standing", "lying"}, []string{"top"}, []int{1}, []float64{0, 50}
	w.RaiseMM, w.ThickenMM, w.HotterK, w.Show = []float64{0, 8}, []float64{0, 0.3}, []float64{0}, 24
	in.Ways = &w
	return in
}

// TestSearchAgainstEveryWay tries every way of each piece and every
// combination here, by the rooms themselves, and compares the front.
func TestSearchAgainstEveryWay(t *testing.T) {
	in := small(t)
	out, s, err := pourPlans(ctx, in)
	require.NoError(t, err)
	require.True(t, out.Exhaustive)
	type made struct {
		mould Mould
		goods plan.Goods
	}
	tried := [][]made{}
	for i := range in.Pieces {
		list := []made{}
		for _, posture := range in.Ways.Postures {
			for _, turn := range []float64{0, 50} {
				for _, raise := range in.Ways.RaiseMM {
					for _, thicken := range in.Ways.ThickenMM {
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
						p, _, err := fill.Risk(ctx, c.pour)
						require.NoError(t, err)
						c.p = p
						c.plan.FailurePct = 100 * p
						require.NoError(t, s.priced(ctx, i, c))
						list = append(list, made{m, c.goods()})
					}
				}
			}
		}
		tried = append(tried, list)
	}
	sums, pairs := []plan.Goods{}, [][2]Mould{}
	for _, a := range tried[0] {
		for _, b := range tried[1] {
			sum := slices.Clone(a.goods)
			for k, v := range b.goods {
				sum[k] += v
			}
			sums, pairs = append(sums, sum), append(pairs, [2]Mould{a.mould, b.mould})
		}
	}
	want := [][2]Mould{}
	for _, i := range plan.Front(sums) {
		want = append(want, pairs[i])
	}
	require.Equal(t, len(want), out.FrontSize)
	for _, p := range out.Plans {
		require.Contains(t, want, [2]Mould{p.Pieces[0].Mould, p.Pieces[1].Mould})
	}
}

// TestTakenPlanKeepsToTheLimits: what is taken keeps to what was asked, and
// commissions pours it so.
func TestTakenPlanKeepsToTheLimits(t *testing.T) {
	in := small(t)
	in.Pieces = in.Pieces[:1]
	in.Ways.TurnsPct = []float64{0}
	limit := 20.0
	in.Ways.MostRiskPct = &limit
	out, err := PourPlans(ctx, in)
	require.NoError(t, err)
	require.Greater(t, out.Plans[len(out.Plans)-1].RiskPct, limit, "the limit rules some plans out")
	require.NotZero(t, out.Taken)
	taken := out.Plans[out.Taken-1]
	require.LessOrEqual(t, taken.RiskPct, limit)
	for _, p := range out.Plans {
		if p.RiskPct <= limit {
			require.LessOrEqual(t, money(taken.Price), money(p.Price))
		}
	}
	whole, err := Plan(ctx, in)
	require.NoError(t, err)
	require.Equal(t, taken.Price, whole.PourPlan.Price)
	require.Equal(t, taken.Price, whole.Price.Total)
	for i, p := range whole.Pieces {
		require.Equal(t, taken.Pieces[i].RiskPct, p.FailurePct)
		require.InDelta(t, taken.Pieces[i].MeltG, p.Melt.MeltMassG, 1e-9)
	}
	in.Ways.MostBenchMin = ptr(1.0)
	_, err = Plan(ctx, in)
	require.ErrorContains(t, err, "ways")
	in.Ways.MostBenchMin, in.Ways.Plan = nil, ptr(30)
	_, err = Plan(ctx, in)
	require.ErrorContains(t, err, "ways.plan: 30 refused")
}

func ptr[T any](v T) *T { return &v }

func TestSearchStopsWhenCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(ctx)
	in := order(t, testdata.Order)
	done := make(chan error, 1)
	go func() {
		_, err := PourPlans(ctx, in)
		if err != nil {
			done <- err
		}
	}()
	time.Sleep(50 * time.Millisecond)
	cancel()
	<-done // it stops and says so; else go test ends the wait
}

// TestPlacedStonesAreClearOfWhatTheyMake works the placing of the demo out and
// looks at its consistency by the rooms themselves.
func TestPlacedStonesAreClearOfWhatTheyMake(t *testing.T) {
	in := order(t, testdata.Order)
	in.Ways, in.Pieces = nil, in.Pieces[:2] // those that take stones
	placedIn, stones, err := placed(ctx, in)
	require.NoError(t, err)
	require.True(t, stones.Converged)
	require.NotEmpty(t, stones.Stones)
	alloys, err := in.alloys()
	require.NoError(t, err)
	for i, piece := range placedIn.Pieces {
		if len(piece.Stones) == 0 {
			continue
		}
		bag, err := newBag(placedIn)
		require.NoError(t, err)
		room := &pieceRoom{in: &placedIn, piece: piece, alloy: alloys[i], bag: bag}
		p, pour, err := room.prepare(ctx)
		require.NoError(t, err)
		require.Empty(t, room.back)
		require.True(t, p.Stones.Carried)
		look, err := fill.Screen(ctx, pour, 0)
		require.NoError(t, err)
		for _, st := range piece.Stones {
			along := p.Mould.ArcLengthMM * math.Abs(math.Remainder(st.AtPct/100, 1))
			require.Greater(t, along, piece.Mould.SprueDiameterMM/2+clearMM)
			for _, meets := range look.Meetings {
				away := p.Mould.ArcLengthMM * math.Abs(math.Remainder(st.AtPct/100-meets, 1))
				require.Greater(t, away, piece.Mould.VentDiameterMM/2+clearMM)
			}
		}
	}
	whole, err := Plan(ctx, in)
	require.NoError(t, err)
	count := 0
	for _, b := range whole.StonesBack {
		require.NotEmpty(t, b.Why)
		count += b.Quantity
	}
	for _, p := range whole.Pieces {
		if p.Stones != nil {
			count += p.Stones.Count
		}
	}
	brought := 0
	for _, st := range in.Stones {
		if st.ClientOwned {
			brought += st.Quantity
		}
	}
	for _, st := range whole.Placing.Stones {
		if st.Balance {
			brought++
		}
	}
	require.Equal(t, brought, count, "each stone is cast in place or accounted for")
}

// TestMetalBalancesOverTheOrder: over all pours with returns melted again,
// what leaves the lots and what is bought is what the charges hold less what
// came back, in mass and in fine metal; each charge has its fineness.
func TestMetalBalancesOverTheOrder(t *testing.T) {
	const balance = 1e-9 // relative: rounding of a few dozen sums
	given := order(t, testdata.Order)
	rapid.Check(t, func(t *rapid.T) {
		in := given
		in.Ways = nil
		out := Out{Notes: calc.Noting(ctx)}
		alloys, err := in.alloys()
		require.NoError(t, err)
		for i := range in.Pieces {
			p := PiecePlan{Name: fmt.Sprint(i)}
			p.Melt.MeltMassG = rapid.Float64Range(20, 120).Draw(t, "melt")
			p.Melt.SprueMassG = p.Melt.MeltMassG * rapid.Float64Range(0.05, 0.2).Draw(t, "sprue")
			p.Melt.ButtonMassG = p.Melt.MeltMassG * rapid.Float64Range(0.05, 0.25).Draw(t, "button")
			out.Pieces = append(out.Pieces, p)
		}
		in.Returns = rapid.Bool().Draw(t, "returns")
		require.NoError(t, out.charge(ctx, in, alloys))
		charged, fine, in0, fine0, returned, fineBack := 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
		for _, p := range out.Pieces {
			charged += p.Charge.MassG
			fine += p.Charge.MassG * p.Charge.FinenessWorst / 1000
			require.GreaterOrEqual(t, p.Charge.FinenessWorst, 925+in.Margin-1e-6)
			for _, part := range p.Charge.Charge {
				if part.Owner == "shared" {
					returned += part.WeighG
					fineBack += part.FineLeastG
					continue
				}
				in0 += part.WeighG
				fine0 += part.FineLeastG
			}
		}
		require.InEpsilon(t, charged, in0+returned, balance)
		require.InEpsilon(t, fine, fine0+fineBack, balance)
		require.InDelta(t, out.ReturnsG, returned, balance*charged)
		require.InDelta(t, charged-returned, out.ClientMetalG+out.BoughtMetalG+studio(&out), balance*charged)
		used := 0.0
		for _, l := range out.LotsLeft {
			used += lotMass(in, l.ID) - l.LeftG
		}
		require.InDelta(t, in0-out.BoughtMetalG, used, balance*charged)
	})
}

func studio(out *Out) float64 {
	g := 0.0
	for _, p := range out.Pieces {
		for _, part := range p.Charge.Charge {
			if part.Owner == "studio" && !part.Bought {
				g += part.WeighG
			}
		}
	}
	return g
}

func lotMass(in In, id string) float64 {
	for _, l := range in.Lots {
		if l.ID == id {
			return l.MassG
		}
	}
	return math.NaN()
}

// BenchmarkPourPlans is a two-piece order; the aim is 2 s on two idle cores.
// Risk is one probability of the first piece, to hold it against.
func BenchmarkPourPlans(b *testing.B) {
	in := order(b, testdata.Commission)
	b.Run("two_pieces", func(b *testing.B) {
		for b.Loop() {
			_, err := PourPlans(ctx, in)
			require.NoError(b, err)
		}
	})
	b.Run("one_risk", func(b *testing.B) {
		s, err := newSearch(in)
		require.NoError(b, err)
		c, err := s.candidate(ctx, 0, in.Pieces[0].Mould)
		require.NoError(b, err)
		for b.Loop() {
			_, _, err := fill.Risk(ctx, c.pour)
			require.NoError(b, err)
		}
	})
}

// A thin spot that is no thinner, or at the gate of a closed band, contradicts
// the section there.
func TestThinSpotsMustBeThin(t *testing.T) {
	for field, change := range map[string]func(*fill.Thin){
		"pieces[0].thin_spot.thickness_mm": func(f *fill.Thin) { f.ThicknessMM = 30 },
		"pieces[0].thin_spot.at_pct":       func(f *fill.Thin) { f.AtPct = 100 },
	} {
		in := small(t)
		change(in.Pieces[0].ThinSpot)
		_, err := Plan(ctx, in)
		var refusal *calc.Refusal
		require.ErrorAs(t, err, &refusal)
		require.Equal(t, field, refusal.Faults[0].Field)
	}
}

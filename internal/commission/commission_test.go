package commission

import (
	"cmp"
	"context"
	"reflect"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/options"
	"pourwright/internal/wire"
	"pourwright/testdata"
)

var ctx = context.Background()

// readAs reads a body as the server does.
func readAs[T any](t require.TestingT, body string) T {
	in, err := wire.ShapeOf(reflect.TypeFor[T]()).ReadJSON([]byte(body))
	require.NoError(t, err)
	return *in.(*T)
}

func read(t testing.TB, body string) In { return readAs[In](t, body) }

// small is an order of two small pieces with few ways to pour, so that all of
// them can be tried here too.
func small(t testing.TB) In {
	in := read(t, testdata.Mixed)
	in.Stones, in.Pieces = nil, in.Pieces[:2]
	for i := range in.Pieces {
		in.Pieces[i].Placing = nil
	}
	in.Pieces[0].ThinPlaces[0].ThicknessMM = 1
	w := calc.Default[options.Wanted]()
	w.Postures, w.Gates, w.SprueCounts, w.TurnsPct = []string{"standing", "lying"}, []string{"top"}, []int{1}, []float64{0, 50}
	w.RaiseMM, w.ThickenMM, w.HotterK, w.Show = []float64{0, 8}, []float64{0, 0.3}, []float64{0}, 24
	in.PourOptions = &w
	return in
}

// TestTheRecommendedOptionKeepsToTheLimits: what is taken keeps to what was asked, and
// commissions pours it so.
func TestTheRecommendedOptionKeepsToTheLimits(t *testing.T) {
	if testing.Short() {
		t.Skip("a search of ways to pour")
	}
	in := small(t)
	in.Pieces = in.Pieces[:1]
	in.PourOptions.TurnsPct, in.PourOptions.RaiseMM, in.Improvements = []float64{0}, []float64{0}, false
	out, err := PourOptions(ctx, in)
	require.NoError(t, err)
	byRisk := func(a, b options.Option) int { return cmp.Compare(a.RiskPct, b.RiskPct) }
	limit := (slices.MinFunc(out.Options, byRisk).RiskPct + slices.MaxFunc(out.Options, byRisk).RiskPct) / 2
	in.PourOptions.MaxRiskPct = &limit
	out, err = PourOptions(ctx, in)
	require.NoError(t, err)
	require.Greater(t, slices.MaxFunc(out.Options, byRisk).RiskPct, limit, "the limit rules some plans out")
	require.NotZero(t, out.Recommended)
	taken := out.Options[out.Recommended-1]
	require.LessOrEqual(t, taken.RiskPct, limit)
	for _, p := range out.Options {
		if p.RiskPct <= limit {
			require.LessOrEqual(t, amount(t, taken.Price), amount(t, p.Price))
		}
	}
	whole, err := Plan(ctx, in)
	require.NoError(t, err)
	require.Equal(t, taken.Price, whole.PourOption.Price)
	require.Equal(t, taken.Price, whole.Price.Total)
	for i, p := range whole.Pieces {
		require.Equal(t, taken.Pieces[i].RiskPct, p.FailurePct)
		require.Equal(t, whole.PourOption.Pieces[i].MeltG, p.Melt.MeltMassG, "one number in one answer")
		// The search weighs every option as the metal of the order as given; that of the
		// option's own charge is denser by parts per million.
		require.InEpsilon(t, taken.Pieces[i].MeltG, p.Melt.MeltMassG, 1e-5)
	}
	in.PourOptions.MaxBenchMin = ptr(1.0)
	_, err = Plan(ctx, in)
	require.ErrorContains(t, err, "pour_options")
	in.PourOptions.MaxBenchMin, in.PourOptions.Option = nil, ptr(30)
	_, err = Plan(ctx, in)
	require.ErrorContains(t, err, "pour_options.option: 30 refused")
}

func ptr[T any](v T) *T { return &v }

func amount(t *testing.T, text string) float64 {
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return v
}

func TestSearchStopsWhenCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(ctx)
	in := read(t, testdata.Mixed)
	done := make(chan error, 1)
	go func() {
		_, err := PourOptions(ctx, in)
		if err != nil {
			done <- err
		}
	}()
	time.Sleep(50 * time.Millisecond)
	cancel()
	<-done // it stops and says so; else go test ends the wait
}

// TestStonesAreAccountedFor: each of the client's stones is cast in place or
// told of, with the studio's that match them.
func TestStonesAreAccountedFor(t *testing.T) {
	if testing.Short() {
		t.Skip("random orders")
	}
	in := read(t, testdata.Mixed)
	in.PourOptions, in.Pieces = nil, in.Pieces[:2] // those that take stones
	whole, err := Plan(ctx, in)
	require.NoError(t, err)
	count := 0
	for _, b := range whole.StonesNotCast {
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
		if st.FromStudio {
			brought++
		}
	}
	require.Equal(t, brought, count, "each stone is cast in place or accounted for")
}

// A thin place that is no thinner contradicts the section there.
func TestThinPlacesMustBeThin(t *testing.T) {
	in := small(t)
	in.Pieces[0].ThinPlaces[0].ThicknessMM = 30
	_, err := Plan(ctx, in)
	var refusal *calc.Refusal
	require.ErrorAs(t, err, &refusal)
	require.Equal(t, "pieces[0].thin_places[0].thickness_mm", refusal.Faults[0].Field)
}

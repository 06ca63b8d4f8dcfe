package blend

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	gonum "gonum.org/v1/gonum/optimize/convex/lp"
	"pgregory.net/rapid"

	"pourwright/internal/metal"
)

// The catalogue golds and silvers whose melting range is computed: what a
// studio casts and what clients bring.
var castable = []string{"gold-750-yellow", "gold-750-yellow-160-90", "gold-750-rose", "gold-585-yellow", "gold-585-rose", "gold-417-rose", "gold-375-yellow", "silver-925", "silver-958", "silver-800"}

// someOrder draws an order for one melt: an alloy, a mass, and lots of other
// alloys of the same metal, known by alloy, analysis, mark or test.
func someOrder(t *rapid.T) In {
	in := In{Target: Target{Alloy: rapid.SampledFrom(castable).Draw(t, "alloy"), MassG: at(float64(rapid.IntRange(50, 800).Draw(t, "mass")) / 10)}, Stock: Stock{ResolutionG: DefaultResolutionG}}
	w, _ := metal.WindowOf(in.Alloy)
	kin := slices.DeleteFunc(slices.Clone(castable), func(id string) bool { v, _ := metal.WindowOf(id); return v.Metal != w.Metal })
	for range rapid.IntRange(1, 5).Draw(t, "lots") {
		lot := SourceLot{MassG: float64(rapid.IntRange(5, 400).Draw(t, "lot")) / 10, Owner: rapid.SampledFrom([]string{"client", "client", "studio"}).Draw(t, "owner")}
		id := rapid.SampledFrom(kin).Draw(t, "of")
		m, _ := metal.Named(id)
		fine := math.Round(1000 * m.Composition[w.Metal])
		switch rapid.IntRange(0, 3).Draw(t, "known by") {
		case 0:
			lot.Alloy = id
		case 1:
			lot.CompositionPermil = map[string]float64{}
			for e, v := range m.Composition {
				lot.CompositionPermil[e] = 1000 * v
			}
		case 2:
			lot.FinenessPermil, lot.Evidence = at(fine), rapid.SampledFrom([]string{"marked", "xray_bench", "fire_assay"}).Draw(t, "evidence")
		default:
			lot.FinenessLow, lot.FinenessHigh = at(fine-10), at(fine)
		}
		if lot.FinenessPermil != nil && w.Metal == "Au" {
			lot.Colour = rapid.SampledFrom([]string{"yellow", "rose"}).Draw(t, "colour")
		}
		in.Lots = append(in.Lots, lot)
	}
	return in
}

// outside states the same question for a general-purpose library, from the
// lots as read and the rules as written, without this package's model, and
// returns the most clients' metal and the least bought gold (or silver) at it.
// ok is false where the library gives no answer, as it is known to do
// (gonum/gonum#1914).
func outside(lots []Lot, melt Melt) (client, bought float64, ok bool) {
	type rule struct {
		a    []float64
		most float64
	}
	n := len(lots)
	var rules []rule
	add := func(per func(*Lot) float64, most float64) {
		r := rule{make([]float64, n), most}
		for k := range lots {
			r.a[k] = per(&lots[k])
		}
		rules = append(rules, r)
	}
	add(func(l *Lot) float64 { return melt.Fineness - l.Least[melt.Metal] }, 0)
	add(func(l *Lot) float64 { return l.Least[melt.Metal] - melt.Fineness }, 0)
	for _, w := range melt.Window {
		add(func(l *Lot) float64 { return l.Middle[w.Element] - w.Most }, 0)
		add(func(l *Lot) float64 { return w.Least - l.Middle[w.Element] }, 0)
	}
	for _, l := range melt.Limits {
		add(func(lot *Lot) float64 { return lot.Most[l.Element] - l.Most }, 0)
	}
	for k := range lots {
		if !math.IsInf(lots[k].StockG, 1) {
			add(func(l *Lot) float64 { return flag(l == &lots[k]) }, lots[k].StockG)
		}
	}
	solve := func(cost []float64, extra ...rule) (float64, bool) {
		all := append(slices.Clone(rules), extra...)
		a, b := mat.NewDense(len(all)+1, n+len(all), nil), make([]float64, len(all)+1)
		for i, r := range all {
			for k, v := range r.a {
				a.Set(i, k, v)
			}
			a.Set(i, n+i, 1)
			b[i] = r.most
		}
		for k := range n {
			a.Set(len(all), k, 1)
		}
		b[len(all)] = melt.LeastG
		value, _, err := gonum.Simplex(append(slices.Clone(cost), make([]float64, len(all))...), a, b, 1e-10, nil)
		return value, err == nil
	}
	theirs, fine := make([]float64, n), make([]float64, n)
	for k := range lots {
		theirs[k] = -flag(lots[k].clients())
		fine[k] = flag(lots[k].Bought) * lots[k].Least[melt.Metal]
	}
	client, ok = solve(theirs)
	if !ok {
		return 0, 0, false
	}
	const slack = 1e-7 // g: room for the library's own tolerance
	bought, ok = solve(fine, rule{theirs, client + slack})
	return -client, bought, ok
}

// TestAgainstALibraryWithWindows: of any order the charge takes as much of the
// clients' metal, and at that buys as little fine metal, as an independent
// linear programme over the same rules.
func TestAgainstALibraryWithWindows(t *testing.T) {
	compared := 0
	rapid.Check(t, func(t *rapid.T) {
		in := someOrder(t)
		joint := JointBlendIn{Stock: in.Stock, Melts: []MeltTarget{{Target: in.Target}}}
		q, err := joint.read(true, quiet())
		require.NoError(t, err)
		plan, err := q.programme.Solve(ctx)
		require.NoError(t, err)
		if plan.Loosened {
			return
		}
		client, bought, ok := outside(q.programme.Lots, q.programme.Melts[0])
		if !ok {
			return
		}
		compared++
		var ours, fine float64
		for k, x := range plan.MassG[0] {
			lot := &q.programme.Lots[k]
			if lot.clients() {
				ours += x
			}
			if lot.Bought {
				fine += x * lot.Least[q.symbol]
			}
		}
		const close = 1e-5 // g: twice what the library's tolerances leave
		require.InDelta(t, client, ours, close, "clients' metal")
		require.LessOrEqual(t, fine, bought+close, "fine metal bought")
	})
	require.Greater(t, compared, 10, "the library must answer some")
}

// TestChargesAreTheirAlloy: an order that says its charge is the alloy has the
// middle of the charge in the window, its worst case at the fineness and no
// finer than rounding and 5 per mil; else its verdict is not go. The pour is
// over the liquidus.
func TestChargesAreTheirAlloy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := someOrder(t)
		if rapid.Bool().Draw(t, "whole") {
			in.Lots[0].Use = "whole"
			in.Lots[0].MassG = min(in.Lots[0].MassG, *in.MassG)
		}
		out, err := Solve(ctx, in)
		if err != nil {
			require.ErrorContains(t, err, "refused")
			return
		}
		w, _ := metal.WindowOf(in.Alloy)
		m, _ := metal.Named(in.Alloy)
		middle := metal.Composition{}
		for _, e := range out.Elements {
			middle[e.Element] = e.MiddlePermil / 1000
		}
		const rounding = 0.004 // of the charge: two hundredths of a gram in 5 g
		if out.Match.IsAlloy {
			require.Empty(t, w.Breaches(middle, rounding))
			require.Empty(t, out.Match.Instead)
		} else {
			require.NotEqual(t, "go", string(out.Verdict), "%v", out.Match)
		}
		require.GreaterOrEqual(t, out.FinenessWorst, 1000*m.Composition[w.Metal]-1e-6)
		if out.Properties.Known {
			require.GreaterOrEqual(t, out.Properties.PourC, out.Properties.LiquidusC.High+49.9)
		} else {
			require.NotEqual(t, "go", string(out.Verdict))
		}
	})
}

package ledger

import (
	"context"
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
)

func at[T any](v T) *T { return &v }

func codes(n calc.Notes) (list []string) {
	for _, c := range n.Cautions {
		list = append(list, c.Code)
	}
	return list
}

// TestBaseLost: 50 g of 925 that loses 0.5 g of copper is 934.3 fine
// (46.25 / 49.5, derived exactly; printed to one place).
func TestBaseLost(t *testing.T) {
	out, err := Reconcile(context.Background(), ReconciliationIn{
		In:  []Entry{{Kind: "scrap", MassG: 50, FinenessPermil: at(925.)}},
		Out: []Entry{{Kind: "casting", MassG: 49.5}}})
	require.NoError(t, err)
	require.InDelta(t, 934.3, out.FinenessBase, 0.05)
	require.InDelta(t, 1, out.LossPct, 1e-9)
	require.NotContains(t, codes(out.Notes), "loss_past_practice")
}

// TestScale: two weighings in and one out on a scale of 0.1 g with no other
// error: k = 2, u = 0.1/√12 each (JCGM 100:2008, 4.3.7), so ± 2 √3 × 0.1/√12 = 0.1 g.
func TestScale(t *testing.T) {
	out, err := Reconcile(context.Background(), ReconciliationIn{ResolutionG: 0.1, ScaleErrorG: at(0.),
		In:  []Entry{{Kind: "scrap", MassG: 10, FinenessPermil: at(900.)}, {Kind: "bought", MassG: 5, FinenessPermil: at(999.)}},
		Out: []Entry{{Kind: "casting", MassG: 15.2}}})
	require.NoError(t, err)
	require.InDelta(t, 0.1, out.LossPlusMinus, 1e-12)
	require.Contains(t, codes(out.Notes), "more_out_than_in")
}

// TestAccounts: the client puts in 30 g and the studio 10 g of the same 900;
// 2 g are lost, the client's casting weighs 20 g and 18 g are to be divided.
// By hand: the client keeps 30 × 38/40 = 28.5 g, so gets 8.5 g; the studio 9.5 g.
func TestAccounts(t *testing.T) {
	out, err := Reconcile(context.Background(), ReconciliationIn{
		In:  []Entry{{Kind: "scrap", MassG: 30, FinenessPermil: at(900.)}, {Kind: "scrap", MassG: 10, FinenessPermil: at(900.), Owner: "studio"}},
		Out: []Entry{{Kind: "casting", MassG: 20.2, StonesCt: 1}, {Kind: "button", MassG: 18}}})
	require.NoError(t, err)
	require.InDelta(t, 18, out.ToDivideG, 1e-12)
	require.Equal(t, "client", out.Owners[0].Owner)
	require.InDelta(t, 8.5, out.Owners[0].MassDueG, 1e-9)
	require.InDelta(t, 9.5, out.Owners[1].MassDueG, 1e-9)
	require.Contains(t, codes(out.Notes), "loss_past_practice") // 5 %
}

// TestBalances: element losses sum to the loss, what is due sums to what is
// to be divided, and no owner's account leaks.
func TestBalances(t *testing.T) {
	const rounding = 1e-9 // of sums of some hundreds of grams
	rapid.Check(t, func(t *rapid.T) {
		entry := func(kind string) Entry {
			e := Entry{Kind: kind, MassG: rapid.Float64Range(0.5, 200).Draw(t, "g"), StonesCt: rapid.Float64Range(0, 2).Draw(t, "ct")}
			if rapid.Bool().Draw(t, "described") || kind == "scrap" || kind == "bought" {
				e.FinenessPermil = at(rapid.Float64Range(300, 1000).Draw(t, "fineness"))
			}
			e.OwnerName = rapid.SampledFrom([]string{"", "A", "B"}).Draw(t, "owner")
			return e
		}
		in := ReconciliationIn{In: []Entry{entry("scrap"), entry("scrap"), entry("bought")}, Out: []Entry{entry("casting"), entry("button"), {Kind: "filings", MassG: 3}}}
		out, err := Reconcile(context.Background(), in)
		require.NoError(t, err)
		loss, due, massDue, fineLoss := 0.0, 0.0, 0.0, 0.0
		for _, e := range out.Elements {
			loss += e.LossG
		}
		for _, a := range out.Owners {
			due += a.FineDueG
			massDue += a.MassDueG
			fineLoss += a.FineLossG
			require.InDelta(t, a.FineInG, a.FineLossG+a.FineTaken+a.FineDueG, rounding)
		}
		require.InDelta(t, out.LossG, loss, rounding)
		require.InDelta(t, out.ToDivideG, massDue, rounding)
		for _, e := range out.Elements {
			if e.Element == "Ag" {
				require.InDelta(t, e.LossG, fineLoss, rounding)
			}
		}
		require.False(t, math.IsNaN(due))
	})
}

func TestRefusals(t *testing.T) {
	good := func() ReconciliationIn {
		return ReconciliationIn{In: []Entry{{Kind: "scrap", MassG: 30, FinenessPermil: at(900.)}}, Out: []Entry{{Kind: "casting", MassG: 20}}}
	}
	for field, spoil := range map[string]func(*ReconciliationIn){
		"in[0].mass_g":           func(in *ReconciliationIn) { in.In[0].MassG = -1 },
		"in[0].kind":             func(in *ReconciliationIn) { in.In[0].Kind = "casting" },
		"in[0].fineness_permil":  func(in *ReconciliationIn) { in.In[0].FinenessPermil = nil },
		"out[0].stones_ct":       func(in *ReconciliationIn) { in.Out[0].StonesCt = 200 },
		"out[0].metal_pct":       func(in *ReconciliationIn) { in.Out[0].Kind = "sweeps" },
		"out":                    func(in *ReconciliationIn) { in.Out = nil },
		"metal":                  func(in *ReconciliationIn) { in.Metal = "tin" },
		"scale_error_g":          func(in *ReconciliationIn) { in.ScaleErrorG = at(-1.) },
		"out[0].fineness_permil": func(in *ReconciliationIn) { in.Out[0].FinenessPermil = at(9250.) },
	} {
		in := good()
		spoil(&in)
		_, err := Reconcile(context.Background(), in)
		require.ErrorContains(t, err, field)
	}
}

// TestAnyAccount: whatever was weighed, a refusal or finite figures.
func TestAnyAccount(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entry := func(kinds []string) Entry {
			e := Entry{Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), MassG: rapid.Float64Range(0, 1e6).Draw(t, "g"),
				StonesCt: rapid.SampledFrom([]float64{0, 0, 3}).Draw(t, "ct"), FinenessPlusMinus: rapid.Float64Range(0, 500).Draw(t, "doubt"),
				Owner: rapid.SampledFrom([]string{"", "client", "studio"}).Draw(t, "owner")}
			if rapid.Bool().Draw(t, "fineness given") {
				e.FinenessPermil = at(rapid.Float64Range(0, 1000).Draw(t, "fineness"))
			}
			if rapid.Bool().Draw(t, "part given") {
				e.MetalPct = at(rapid.Float64Range(0, 100).Draw(t, "part"))
			}
			return e
		}
		in := ReconciliationIn{Metal: rapid.SampledFrom([]string{"silver", "gold"}).Draw(t, "metal"), Finished: rapid.Bool().Draw(t, "finished")}
		for range rapid.IntRange(1, 3).Draw(t, "in") {
			in.In = append(in.In, entry(kindsIn))
		}
		for range rapid.IntRange(1, 3).Draw(t, "out") {
			in.Out = append(in.Out, entry(kindsOut))
		}
		out, err := Reconcile(context.Background(), in)
		if err != nil {
			require.IsType(t, &calc.Refusal{}, err)
			return
		}
		_, err = json.Marshal(out) // fails on a NaN or an infinity
		require.NoError(t, err)
	})
}

// TestUncertaintyByHand: 10 g in of 900 ± 6 and 4 g out of 800 ± 3, scale
// without error and step 1e-4 g. u²(m f) = f² u²(m) + m² u²(f), u(f) = half/√3:
// silver ± 2 √((10 × .006)² + (4 × .003)²) / √3 g (JCGM 100:2008, 5.1.2, k = 2).
func TestUncertaintyByHand(t *testing.T) {
	out, err := Reconcile(context.Background(), ReconciliationIn{ResolutionG: 1e-4, ScaleErrorG: at(0.),
		In:  []Entry{{Kind: "scrap", MassG: 10, FinenessPermil: at(900.), FinenessPlusMinus: 6}},
		Out: []Entry{{Kind: "casting", MassG: 4, FinenessPermil: at(800.), FinenessPlusMinus: 3}}})
	require.NoError(t, err)
	found := 0
	for _, e := range out.Elements {
		if e.Element != "Ag" {
			continue
		}
		found++
		require.InDelta(t, 9.0, e.InG, 1e-12)
		require.InDelta(t, 3.2, e.OutG, 1e-12)
		require.InDelta(t, 5.8, e.LossG, 1e-12)
		require.InDelta(t, 2*math.Sqrt((0.06*0.06+0.012*0.012)/3), e.PlusMinus, 1e-4)
	}
	require.Equal(t, 1, found)
}

// TestUsualLossByHand: 50 g of scrap, 10 g of filings and 5 g of sweeps of which
// 40 % is metal: (50 × 1 % + 10 × 5 % + 2 × 40 %) / 62, finishing 2.5 % more.
func TestUsualLossByHand(t *testing.T) {
	in := ReconciliationIn{In: []Entry{{Kind: "scrap", MassG: 50, FinenessPermil: at(925.)}, {Kind: "filings", MassG: 10, FinenessPermil: at(925.)},
		{Kind: "sweeps", MassG: 5, MetalPct: at(40.), FinenessPermil: at(925.)}}, Out: []Entry{{Kind: "casting", MassG: 60}}}
	out, err := Reconcile(context.Background(), in)
	require.NoError(t, err)
	require.InDelta(t, 100*(0.5+0.5+0.8)/62, out.UsualLossPct, 1e-9)
	in.Finished = true
	out, err = Reconcile(context.Background(), in)
	require.NoError(t, err)
	require.InDelta(t, 100*(0.5+0.5+0.8)/62+2.5, out.UsualLossPct, 1e-9)
}

// TestSharesByHand: A puts in 30 g of 900, B 10 g of 500: 27 and 5 g fine. 34 g
// come out as the mixture, 32/40 fine: 27.2 g, so the loss is 4.8 g fine, of
// which A bears 27/32.
func TestSharesByHand(t *testing.T) {
	out, err := Reconcile(context.Background(), ReconciliationIn{
		In:  []Entry{{Kind: "scrap", MassG: 30, FinenessPermil: at(900.), OwnerName: "A"}, {Kind: "scrap", MassG: 10, FinenessPermil: at(500.), OwnerName: "B"}},
		Out: []Entry{{Kind: "button", MassG: 34}}})
	require.NoError(t, err)
	require.InDelta(t, 4.8*27/32, out.Owners[0].FineLossG, 1e-9)
	require.InDelta(t, 4.8*5/32, out.Owners[1].FineLossG, 1e-9)
	require.InDelta(t, 34*27.0/32, out.Owners[0].MassDueG, 1e-9)
}

// The fineness of what went in is its fine metal over its mass, and each element is
// as uncertain as the weighings that hold it: 40 g of 925 with 10 g of 800 are 45 g of
// silver and 5 g of copper, 900 fine; u² = Σ f² u²(m), u(m) = 0.1 g/√12.
func TestFinenessOfWhatWentIn(t *testing.T) {
	out, err := Reconcile(context.Background(), ReconciliationIn{ResolutionG: 0.1, ScaleErrorG: at(0.),
		In:  []Entry{{Kind: "scrap", MassG: 40, FinenessPermil: at(925.)}, {Kind: "scrap", MassG: 10, FinenessPermil: at(800.)}},
		Out: []Entry{{Kind: "casting", MassG: 50}}})
	require.NoError(t, err)
	require.InDelta(t, 900, out.FinenessIn, 1e-9)
	require.Len(t, out.Elements, 2)
	want := map[string][]float64{"Ag": {45, .925, .8, .9}, "Cu": {5, .075, .2, .1}}
	for _, e := range out.Elements {
		w := want[e.Element]
		require.InDelta(t, w[0], e.InG, 1e-9)
		require.InDelta(t, w[0], e.OutG, 1e-9)
		u := 0.1 / math.Sqrt(12)
		require.InDelta(t, 2*u*math.Sqrt(w[1]*w[1]+w[2]*w[2]+w[3]*w[3]), e.PlusMinus, 1e-9)
	}
	_, err = Reconcile(context.Background(), ReconciliationIn{In: []Entry{{Kind: "scrap", MassG: 0.00105, FinenessPermil: at(925.)}}, Out: []Entry{{Kind: "casting", MassG: 0.001}}})
	require.NoError(t, err, "from a milligram on")
}

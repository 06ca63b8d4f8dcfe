package commission

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/melt"
	"pourwright/internal/verdict"
	"pourwright/testdata"
)

// sum is the rounding of a few dozen sums, relative.
const sum = 1e-9

// drawn is an order of one or two rings or bangles, poured apart or together.
func drawn(t *rapid.T) DraftIn {
	in := calc.Default[DraftIn]()
	whole := `{"lots": [{"id": "old", "mass_g": 400, "alloy": "silver-925", "owner": "client"}], "pieces": [`
	n := rapid.IntRange(1, 2).Draw(t, "pieces")
	for i := range n {
		if i > 0 {
			whole += ","
		}
		kind, inside := "ring", rapid.Float64Range(15, 22).Draw(t, "inside of a ring")
		if rapid.Bool().Draw(t, "a bangle") {
			kind, inside = "bangle", rapid.Float64Range(50, 66).Draw(t, "inside of a bangle")
		}
		whole += fmt.Sprintf(`{"name": "piece %d", "kind": %q, "inside_diameter_mm": %.2f, "profile": %q, "thickness_mm": %.2f, "width_mm": %.2f, "mould": {"vent_count": %d}}`, i,
			kind, inside, rapid.SampledFrom([]string{"d", "half_round", "rectangular", "oval"}).Draw(t, "profile"),
			rapid.Float64Range(1.2, 4).Draw(t, "thickness"), rapid.Float64Range(2, 9).Draw(t, "width"), rapid.IntRange(0, 4).Draw(t, "vents"))
	}
	whole += `]}`
	given := readAs[DraftIn](t, whole)
	in.Job, in.Lots = given.Job, given.Lots
	if n == 2 && rapid.Bool().Draw(t, "together") {
		in.Grouping = "fewest_pours"
	}
	return in
}

// TestTheSameNumberHasTheSameValue: wherever a mass, a temperature or a size stands
// in an answer it has one value, the parts of a mass add up to it, and melts answers
// what the order does.
func TestTheSameNumberHasTheSameValue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := drawn(t)
		out, err := Draft(calc.Silent(ctx), in)
		require.NoError(t, err)
		require.Empty(t, out.Open)
		charged, castings := 0.0, 0.0
		seen := map[float64]bool{}
		for _, d := range out.Pieces {
			m := d.Melt
			require.InEpsilon(t, m.MeltMassG, m.CastingMassG+m.FeedMassG+m.ReserveG+m.LossG, sum)
			require.InDelta(t, m.FeedMassG, m.SprueMassG+m.ButtonMassG+m.VentsMassG, sum*m.MeltMassG)
			require.InEpsilon(t, m.PourTemperatureC, *d.Pour.PourC, sum, "what is melted to is what is poured at")
			require.Less(t, d.FinishedG, d.Mould.CastingMassG, "filing takes off")
			castings += d.Mould.CastingMassG
			weighed := 0.0
			for _, c := range d.Charge.Charge {
				weighed += c.WeighG
			}
			require.InEpsilon(t, d.Charge.MassG, weighed, sum)
			require.InDelta(t, m.MeltMassG, d.Charge.MassG, 0.1, "what is needed is weighed out, to the scale")
			if !seen[m.MeltMassG] {
				charged += d.Charge.MassG
			}
			seen[m.MeltMassG] = true
		}
		require.InEpsilon(t, out.Metal.MeltMassG, charged, sum)
		require.InDelta(t, out.Metal.MeltMassG, out.Metal.ClientMetalG+out.Metal.BoughtMetalG, sum*charged)
		cast := 0.0
		for m := range seen {
			for _, d := range out.Pieces {
				if d.Melt.MeltMassG == m {
					cast += d.Melt.CastingMassG
					break
				}
			}
		}
		require.InEpsilon(t, castings, cast, sum, "the mould's casting is the melt's")

		d := out.Pieces[0]
		if len(seen) == len(out.Pieces) { // poured alone
			ask := calc.Default[melt.In]()
			ask.Alloy, ask.VolumeMM3 = in.Alloy, d.Melt.CastingVolumeMM3
			ask.Sprues, ask.SprueDiameterMM, ask.SprueLengthMM = d.Pour.SprueCount, d.Pour.SprueDiameterMM, d.Pour.SprueLengthMM
			ask.FunnelDiameterMM, ask.FunnelHeadMM = d.Pour.FunnelDiameterMM, d.Pour.FunnelHeadMM
			ask.VentsG = &d.Melt.VentsMassG
			alone, err := melt.Plan(calc.Silent(ctx), ask)
			require.NoError(t, err)
			require.InEpsilon(t, alone.MeltMassG, d.Melt.MeltMassG, 1e-6, "melts and commissions never differ")
			require.InEpsilon(t, alone.PourTemperatureC, d.Melt.PourTemperatureC, 1e-6)
			require.InEpsilon(t, alone.HeatKJ, d.Melt.HeatKJ, 1e-6)
		}
	})
}

// TestAPlanIsItsDraftWithTheFill: what a draft has found stands in the plan, to the
// last digit.
func TestAPlanIsItsDraftWithTheFill(t *testing.T) {
	in := read(t, testdata.Commission)
	in.Improvements = false
	plan, err := Plan(calc.Silent(ctx), in)
	require.NoError(t, err)
	draft, err := Draft(calc.Silent(ctx), DraftIn{Job: in.Job, Lots: in.Lots, Prices: in.Prices})
	require.NoError(t, err)
	require.Equal(t, plan.MeltMassG, draft.Metal.MeltMassG)
	require.Equal(t, plan.LotsLeft, draft.Metal.LotsLeft)
	for i, p := range plan.Pieces {
		d := draft.Pieces[i]
		require.Equal(t, p.InsideMM, d.InsideMM)
		require.Equal(t, p.FinishedG, d.FinishedG)
		require.Equal(t, p.Charge, *d.Charge)
		require.Equal(t, p.Melt.MeltMassG, d.Melt.MeltMassG)
		require.Equal(t, p.Mould.Mould, d.Mould.Mould)
		require.Equal(t, p.PourC, *d.Pour.PourC)
	}
	// The price differs by the allowance for failed pours alone.
	require.Equal(t, plan.Price.FineNeededG, draft.Price.FineNeededG)
	require.Equal(t, plan.Price.LabourMin, draft.Price.LabourMin)

	// The verdict is the worst of what stands under it.
	worst := plan.Reasons.Level()
	for _, p := range plan.Pieces {
		require.Equal(t, p.Reasons.Level(), p.Verdict, p.Name)
		worst = verdict.Worst(worst, p.Verdict)
	}
	require.Equal(t, worst, plan.Verdict)
}

package commission

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/melt"
	"pourwright/internal/order"
	"pourwright/internal/section"
	"pourwright/internal/shape"
	"pourwright/internal/sprue"
	"pourwright/internal/verdict"
	"pourwright/testdata"
)

// sum is the rounding of a few dozen sums, relative.
const sum = 1e-9

// drawn is an order of one to three pieces of any kind, poured apart or together.
func drawn(t *rapid.T) DraftIn {
	in := calc.Default[DraftIn]()
	whole := `{"lots": [{"id": "old", "mass_g": 400, "alloy": "silver-925", "owner": "client"}], "pieces": [`
	n := rapid.IntRange(1, 3).Draw(t, "pieces")
	number := func(low, high float64, what string) float64 { return rapid.Float64Range(low, high).Draw(t, what) }
	posture := rapid.SampledFrom([]string{"standing", "lying"}).Draw(t, "posture")
	for i := range n {
		if i > 0 {
			whole += ","
		}
		kind := rapid.SampledFrom([]string{"ring", "bangle", "signet", "cuff", "drop", "bar", "disc"}).Draw(t, "kind")
		measure := ""
		switch kind {
		case "ring", "signet":
			measure = fmt.Sprintf(`"inside_diameter_mm": %.2f`, number(15, 22, "inside of a ring"))
			if kind == "signet" {
				measure += `, "head": {"length_mm": 11, "width_mm": 9.5, "thickness_mm": 4.5}`
			}
		case "bangle":
			measure = fmt.Sprintf(`"inside_width_mm": %.2f, "inside_height_mm": %.2f`, number(52, 66, "inside width"), number(48, 60, "inside height"))
		case "cuff":
			measure = fmt.Sprintf(`"inside_diameter_mm": %.2f, "gap_mm": 28`, number(50, 60, "inside of a cuff"))
		default:
			measure = fmt.Sprintf(`"length_mm": %.2f`, number(12, 40, "length"))
		}
		whole += fmt.Sprintf(`{"name": "piece %d", "kind": %q, %s, "profile": %q, "thickness_mm": %.2f, "width_mm": %.2f, "mould": {"vent_count": %d, "posture": %q}}`, i,
			kind, measure, rapid.SampledFrom([]string{"d", "half_round", "rectangular"}).Draw(t, "profile"),
			number(1.2, 4, "thickness"), number(4, 9, "width"), rapid.IntRange(0, 4).Draw(t, "vents"), posture)
	}
	whole += `]}`
	given := readAs[DraftIn](t, whole)
	in.Job, in.Lots = given.Job, given.Lots
	if n > 1 && rapid.Bool().Draw(t, "together") {
		in.Grouping = "fewest_pours"
	}
	return in
}

// TestTheSameNumberHasTheSameValue: wherever a mass, a temperature or a size stands
// in an answer it has one value, the parts of a mass add up to it, and melts answers
// what the order does.
func TestTheSameNumberHasTheSameValue(t *testing.T) {
	if testing.Short() {
		t.Skip("a hundred drawn orders")
	}
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
			poursWhatIsMoulded(t, &d)
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

		for i := range out.Flasks {
			sharesWhatIsLaidOut(t, &out, &out.Flasks[i])
		}
		d := out.Pieces[0]
		if len(d.SharesPourWith) == 0 {
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

// poursWhatIsMoulded: the pour of a piece is followed in the mould that is told.
func poursWhatIsMoulded(t require.TestingT, d *DraftPiece) {
	pour, m := d.Pour, d.Mould
	const stations = 0.02 // of the volume: 36 stations, between which a head steps
	cavity := m.CastingVolumeMM3 * math.Pow(1+m.SectionContraction/100, 2) * (1 + m.ContractionPct/100)
	profile := section.Uniform(pour.Section)
	if len(pour.Stations) > 0 {
		profile = pour.Stations
	}
	switch {
	case pour.Shape != nil:
		w, h := m.Mould.InsideWidthMM, m.Mould.InsideHeightMM
		s := pour.Shape
		if s.InsideWidthMM != nil {
			require.InEpsilon(t, w, *s.InsideWidthMM, sum)
			require.InEpsilon(t, h, *s.InsideHeightMM, sum)
		} else {
			require.InEpsilon(t, m.Mould.InsideDiameterMM, *s.InsideDiameterMM, sum)
		}
		require.InDelta(t, m.Mould.GapMM, gapOf(s), sum)
	case pour.Piece == "bangle":
		require.InEpsilon(t, m.Mould.InsideDiameterMM, pour.InsideDiameterMM, sum)
		require.InEpsilon(t, cavity, profile.Volume(m.ArcLengthMM), stations)
	default:
		require.InEpsilon(t, m.ArcLengthMM, pour.LengthMM, sum)
	}
	require.Equal(t, m.FillSection.Shape, pour.Section.Shape)
	require.InEpsilon(t, m.FillSection.ThicknessMM, pour.Section.ThicknessMM, sum)
}

func gapOf(s *shape.Shape) float64 {
	if s.GapMM == nil {
		return 0
	}
	return *s.GapMM
}

// sharesWhatIsLaidOut: what the pieces of a flask share stands in the layout, in their
// melt and in their pours alike.
func sharesWhatIsLaidOut(t require.TestingT, out *DraftOut, f *order.Flask) {
	cast := 0.0
	for _, place := range f.Places {
		i := slices.IndexFunc(out.Pieces, func(d DraftPiece) bool { return d.Name == place.Name })
		d := &out.Pieces[i]
		require.Len(t, d.SharesPourWith, len(f.Places)-1)
		require.InEpsilon(t, d.Mould.CastingMassG, place.CastG, sum, "a piece weighs the same in its flask")
		cast += place.CastG
		require.Equal(t, f.GateMM, d.Pour.SprueDiameterMM)
		require.Equal(t, f.FunnelMM, d.Pour.FunnelDiameterMM)
		require.Equal(t, f.HeadMM, d.Pour.FunnelHeadMM)
		m := d.Melt
		require.InEpsilon(t, m.DensityGCm3/1000*math.Pi/4*f.FunnelMM*f.FunnelMM*f.HeadMM, m.ButtonMassG, sum)
		channels := f.GateMM * f.GateMM * float64(len(f.Places)) * calc.Default[sprue.In]().GateLengthMM
		channels += f.RunnerMM * f.RunnerMM * f.RunnerLong
		channels += f.SprueMM * f.SprueMM * f.SprueLongMM
		require.InEpsilon(t, m.DensityGCm3/1000*math.Pi/4*channels, m.SprueMassG, 1e-6, "sprue, runners and gates of the layout are what is melted for them")
	}
	first := out.Pieces[slices.IndexFunc(out.Pieces, func(d DraftPiece) bool { return d.Name == f.Places[0].Name })]
	require.InEpsilon(t, cast, first.Melt.CastingMassG, sum)
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

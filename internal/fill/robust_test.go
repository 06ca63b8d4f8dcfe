package fill

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/fluid"
	"pourwright/internal/section"
)

// Anything that is accepted is answered, in numbers, within a bounded number
// of steps.
func TestAnyAcceptedPourIsAnswered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		real := func(name string, lo, hi float64) float64 {
			return rapid.OneOf(rapid.Float64Range(lo, hi), rapid.SampledFrom([]float64{lo, hi})).Draw(t, name)
		}
		in := calc.Default[In]()
		in.Piece = rapid.SampledFrom([]string{"bangle", "bar"}).Draw(t, "piece")
		in.InsideDiameterMM, in.LengthMM = real("inside", 8, 150), real("length", 2, 400)
		in.Section = section.Section{Shape: rapid.SampledFrom(section.Shapes).Draw(t, "shape"), ThicknessMM: real("thickness", 0.1, 60), WidthMM: real("width", 0.1, 200)}
		if rapid.Bool().Draw(t, "thin") && in.Section.ThicknessMM > 0.2 {
			in.ThinSpot = &Thin{ThicknessMM: real("thin", 0.2, in.Section.ThicknessMM), AtPct: real("at", 1, 100)}
		}
		if in.Piece == "bangle" {
			in.Thickest = rapid.SampledFrom([]string{"as_given", "at_gate", "far"}).Draw(t, "thickest")
		}
		in.Posture = rapid.SampledFrom([]string{"standing", "lying"}).Draw(t, "posture")
		in.Gate = rapid.SampledFrom([]string{"top", "side", "bottom"}).Draw(t, "gate")
		in.SprueCount = rapid.IntRange(1, 2).Draw(t, "sprues")
		in.SpreadDeg = real("spread", 20, 180)
		in.SprueLengthMM, in.SprueDiameterMM = real("sprue length", 2, 200), real("sprue diameter", 1, 30)
		in.FunnelHeadMM, in.FunnelDiameterMM = real("head", 0, 80), real("funnel", 2, 80)
		in.VentCount, in.VentDiameterMM = rapid.IntRange(0, 12).Draw(t, "vents"), real("vent", 0.2, 4)
		in.Alloy = rapid.SampledFrom([]string{"silver-925", "silver-999", "gold-750-yellow"}).Draw(t, "alloy")
		in.ClayC, in.PourTimeS = real("clay", -20, 300), real("pour time", 0.1, 30)
		in.InterfaceLowWM2K = real("low", 20, 20000)
		in.InterfaceHighWM2K = real("high", in.InterfaceLowWM2K, 20000)
		in.Clay = &Clay{fluid.Clay{ConductivityWMK: real("k", 0.05, 5), DensityKgM3: real("rho", 300, 4000), HeatCapacityJKgK: real("c", 300, 3000)}, real("afs", 0.1, 1000), real("wall", 2, 100)}
		in.Details = []Detail{{Kind: "line", SizeMM: real("line", 0.05, 20), AtPct: real("line at", 0, 100)}}
		j, err := prepare(t.Context(), in)
		if err != nil {
			return // refused, which is an answer
		}
		w := new(run)
		for _, u := range []float64{0.5, 0.01, 0.99} {
			var point [dims]float64
			for i := range point {
				point[i] = u
			}
			w.follow(j, j.draw(point[:]))
			o := w.judge()
			require.Less(t, w.Steps, 20000)
			_, err := json.Marshal([]any{o.margin, w.nominal(o), w.feedingPlan(), j.flask(), w.detail(&in.Details[0])})
			require.NoError(t, err, "a NaN or an infinity")
			require.InEpsilon(t, w.Brought+1, w.Held()+w.Heat+1, 1e-6)
		}
	})
}

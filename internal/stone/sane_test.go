package stone

import (
	"context"
	"encoding/json"
	"errors"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/section"
)

// Whatever is asked within the limits of the input, the answer is a refusal
// that names a field, or numbers: no NaN, no infinity (which JSON refuses).
func TestAnswersAreNumbersOrRefusals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		maybe := func(name string, lo, hi float64) *float64 {
			if rapid.Bool().Draw(t, "give "+name) {
				return ptr(draw(name, lo, hi))
			}
			return nil
		}
		sec := section.Section{Shape: rapid.SampledFrom(section.Shapes).Draw(t, "shape"), ThicknessMM: draw("thick", 0.1, 60), WidthMM: draw("wide", 0.1, 200)}
		cut := rapid.SampledFrom(cutRules).Draw(t, "cut").cut
		s := In{Gem: rapid.SampledFrom(catalogue).Draw(t, "gem").ID, Cut: cut, LengthMM: draw("length", 0.3, 60), Quantity: 3,
			WidthMM: maybe("width", 0.3, 60), DepthMM: maybe("depth", 0.1, 60), CrownMM: maybe("crown", 0.02, 30), GirdleMM: maybe("girdle", 0.005, 10),
			SG: maybe("sg", 0.8, 8), MassCt: maybe("mass", 0.0005, 10000), GrainMM: maybe("grain", 0.1, 10), PressMM: maybe("press", 0.02, 30),
			Grains: rapid.IntRange(0, 12).Draw(t, "grains"), Across: rapid.Bool().Draw(t, "across"), Condition: Clean}
		in := setting(s)
		in.Alloy = rapid.SampledFrom(metal.IDs()).Draw(t, "alloy")
		in.MetalC, in.ClayC, in.HeadMM = draw("metal", 300, 2000), draw("clay", -20, 750), draw("head", 2, 500)
		in.FilmWM2K, in.ClayWM2K, in.Section = draw("film", 100, 1e5), draw("contact", 50, 1e4), sec
		in.OutsideMM = maybe("outside", 8, 250)
		out, err := Judge(context.Background(), in)
		soundly(t, out, err)

		l := bangle()
		l.Profile = section.Uniform(sec)
		l.InsideDiameterMM, l.HeadMM = draw("inside", 10, 200), in.HeadMM
		l.Rows = rapid.SampledFrom([]string{"middle", "one_half", "both_halves"}).Draw(t, "rows")
		l.Grains = rapid.IntRange(0, 8).Draw(t, "layout grains")
		l.Stones = []LayoutStone{{Cut: cut, LengthMM: max(0.5, s.LengthMM), WidthMM: s.WidthMM, DepthMM: s.DepthMM, Quantity: 4}}
		placed, err := Lay(context.Background(), l)
		soundly(t, placed, err)
	})
}

func soundly(t *rapid.T, answer any, err error) {
	if err != nil {
		var r *calc.Refusal
		require.True(t, errors.As(err, &r), "%v", err)
		require.NotEmpty(t, r.Faults)
		return
	}
	_, err = json.Marshal(answer)
	require.NoError(t, err)
}

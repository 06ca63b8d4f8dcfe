package commission

import (
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/order"
	"pourwright/internal/section"
	"pourwright/internal/shape"
)

// anyPiece is a piece of any kind.
func anyPiece(t *rapid.T) string {
	f := func(lo, hi float64, name string) float64 {
		return float64(int(100*rapid.Float64Range(lo, hi).Draw(t, name))) / 100
	}
	band := fmt.Sprintf(`"thickness_mm": %g, "width_mm": %g`, f(1.6, 3.2, "thickness"), f(3, 7, "width"))
	switch kind := rapid.SampledFrom([]string{"ring", "oval", "wave", "worn", "taper", "signet", "cuff", "bar", "drop", "disc"}).Draw(t, "kind"); kind {
	case "ring":
		return fmt.Sprintf(`"kind": "ring", "inside_diameter_mm": %g, %s`, f(15, 22, "inside"), band)
	case "oval":
		return fmt.Sprintf(`"kind": "bangle", "inside_width_mm": %g, "inside_height_mm": %g, %s`, f(55, 65, "inside"), f(45, 55, "height"), band)
	case "wave":
		return fmt.Sprintf(`"kind": "bangle", "inside_diameter_mm": %g, "wave": {"rise_mm": %g, "repeats": 3}, %s`, f(55, 65, "inside"), f(1, 5, "rise"), band)
	case "worn":
		return fmt.Sprintf(`"kind": "bangle", "inside_diameter_mm": %g, "thin_places": [{"at_pct": %g, "length_mm": 25, "thickness_mm": %g}], %s`, f(55, 65, "inside"), f(20, 80, "at"), f(0.8, 1.5, "thin"), band)
	case "taper":
		return fmt.Sprintf(`"kind": "ring", "inside_diameter_mm": %g, "back": {"thickness_mm": 1.5, "width_mm": 2.8}, %s`, f(15, 22, "inside"), band)
	case "signet":
		return fmt.Sprintf(`"kind": "signet", "inside_diameter_mm": %g, "head": {"length_mm": %g, "width_mm": 10, "thickness_mm": 2.8}, %s`, f(17, 22, "inside"), f(8, 13, "table"), band)
	case "cuff":
		return fmt.Sprintf(`"kind": "cuff", "inside_diameter_mm": %g, "gap_mm": 27, %s`, f(52, 62, "inside"), band)
	case "bar":
		return fmt.Sprintf(`"kind": "bar", "length_mm": %g, %s`, f(15, 50, "length"), band)
	case "disc":
		return fmt.Sprintf(`"kind": "disc", "length_mm": %g, "thickness_mm": %g`, f(12, 30, "length"), f(1.4, 3, "thickness"))
	}
	return fmt.Sprintf(`"kind": "drop", "length_mm": %g, "thickness_mm": %g, "width_mm": %g, "bail": {"inside_diameter_mm": 2.4, "wire_mm": 1.5}`, f(16, 34, "length"), f(2, 3.4, "thickness"), f(6, 12, "width"))
}

// TestOneGeometry: mass, volume and sizes of a piece are the
// same in the answer for the shape, the draft's mould, melt and pour, and the
// body that is drawn.
func TestOneGeometry(t *testing.T) {
	const exact = 1e-9 // relative: one computation
	rapid.Check(t, func(t *rapid.T) {
		piece := anyPiece(t)
		in := calc.Default[DraftIn]()
		require.NoError(t, json.Unmarshal([]byte(`{"pieces": [{"name": "p", `+piece+`}]}`), &in))
		in.Pieces[0].Mould = calc.Default[order.Mould]()
		in.Studio = calc.Default[order.Studio]()
		draft, err := Draft(ctx, in)
		require.NoError(t, err, piece)
		require.Empty(t, draft.Open, piece)
		d := draft.Pieces[0]
		alone := calc.Default[shape.In]()
		require.NoError(t, json.Unmarshal([]byte("{"+piece+"}"), &alone))
		s, err := shape.Describe(ctx, alone)
		require.NoError(t, err)

		require.InEpsilon(t, s.CastMM3, d.Mould.CastingVolumeMM3, exact)
		require.InEpsilon(t, s.CastG, d.Mould.CastingMassG, exact)
		require.InEpsilon(t, s.CastG, d.Melt.CastingMassG, exact)
		require.InEpsilon(t, s.FinishedG, d.FinishedG, exact)
		require.Equal(t, s.InsideMM, d.InsideMM)
		require.Equal(t, s.Wear, *d.Wear)
		require.Equal(t, s.Parting.Parting, d.Parting.Parting)

		whole := order.Order{Job: in.Job}
		drawn, err := whole.CavityOf(ctx, in.Pieces[0])
		require.NoError(t, err)
		path, across := 1+d.Mould.ContractionPct/100, 1+d.Mould.SectionContraction/100
		require.InEpsilon(t, d.Mould.CastingVolumeMM3*path*across*across, drawn.VolumeMM3(), 0.01, "a path that curves grows by both")
		require.InEpsilon(t, d.Mould.ArcLengthMM, drawn.LengthMM(), exact)

		// The pour that fills follows holds the same metal; its stations are straight between.
		held := section.Profile(d.Pour.Stations)
		if len(held) == 0 {
			held = section.Uniform(d.Pour.Section)
		}
		volume := held.Volume(drawn.LengthMM())
		if drawn.Kind != shape.Drop && drawn.Kind != shape.Disc { // whose gate is let in, and whose bail is no part of the way
			require.InEpsilon(t, drawn.VolumeMM3(), volume, 0.03, piece)
		}
	})
}

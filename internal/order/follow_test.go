package order

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestEachHangsOnItsSide: the way round a piece begins upwards in the one that lies
// to the left of the sprue and downwards in the one to its right, as the layout
// turns them, so that a thin place is followed where it lies in the flask.
func TestEachHangsOnItsSide(t *testing.T) {
	for _, kind := range []string{
		`"kind": "ring", "inside_diameter_mm": 18, "thickness_mm": 2, "width_mm": 4`,
		`"kind": "bangle", "inside_width_mm": 50, "inside_height_mm": 42, "thickness_mm": 3, "width_mm": 6`,
	} {
		in := read(t, fmt.Sprintf(`{"lots": [{"id": "grain", "alloy": "silver-925", "mass_g": 400, "owner": "studio"}],
			"shared_pours": [{"pieces": ["a", "b"]}], "pieces": [{"name": "a", %s}, {"name": "b", %s}]}`, kind, kind))
		alloys, err := in.Wanted()
		require.NoError(t, err)
		pieces, err := in.weighed(t.Context(), alloys)
		require.NoError(t, err)
		pours, err := in.Pours(t.Context(), pieces)
		require.NoError(t, err)
		require.Len(t, pours, 1)
		require.NoError(t, pours[0].Follow(t.Context(), &in, pieces))
		for _, place := range pours[0].Flask.Places {
			i := slices.IndexFunc(pieces, func(w *Worked) bool { return w.Plan.Name == place.Name })
			way := pieces[i].Plan.Fill.Nominal.Stretches[0].Places
			quarter := way[len(way)/2] // of the half way round: a quarter of the whole
			require.Equal(t, place.GateXMM < 0, quarter.HeightMM > place.GateYMM, "%s of %s", place.Name, kind)
		}
	}
}

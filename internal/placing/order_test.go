package placing

import (
	"context"
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/fill"
	"pourwright/internal/order"
	"pourwright/internal/wire"
	"pourwright/testdata"
)

var ctx = context.Background()

// read reads the order of a body as the server does; its pour options are not of
// this package.
func read(t testing.TB, body string) order.Order {
	type whole struct {
		order.Order
		PourOptions *struct {
			MaxRiskPct float64 `json:"max_risk_pct" minimum:"0" maximum:"100" doc:"Not read here"`
			Favour     string  `json:"favour" doc:"Not read here"`
		} `json:"pour_options,omitempty" doc:"Not read here"`
	}
	in, err := wire.ShapeOf(reflect.TypeFor[whole]()).ReadJSON([]byte(body))
	require.NoError(t, err)
	return in.(*whole).Order
}

// TestPlacedStonesAreClearOfWhatTheyMake works the placing of the demo out and
// looks at its consistency by the packages themselves.
func TestPlacedStonesAreClearOfWhatTheyMake(t *testing.T) {
	in := read(t, testdata.Mixed)
	in.Pieces = in.Pieces[:2] // those that take stones
	alloys, err := in.Wanted()
	require.NoError(t, err)
	placedIn, stones, _, err := Place(ctx, in, alloys)
	require.NoError(t, err)
	require.True(t, stones.Converged)
	require.NotEmpty(t, stones.Stones)
	for i, piece := range placedIn.Pieces {
		if len(piece.Stones) == 0 {
			continue
		}
		stock, err := placedIn.Stock()
		require.NoError(t, err)
		planner := &order.Planner{Order: &placedIn, Piece: piece, Alloy: alloys[i], Stock: stock}
		w, err := planner.Prepare(ctx)
		require.NoError(t, err)
		require.Empty(t, w.NotCast)
		require.True(t, w.Plan.Stones.Carried)
		look, err := fill.Screen(ctx, w.Pour, 0)
		require.NoError(t, err)
		for _, st := range piece.Stones {
			along := w.Plan.Mould.ArcLengthMM * math.Abs(math.Remainder(st.AtPct/100, 1))
			require.Greater(t, along, piece.Mould.SprueDiameterMM/2+order.ClearMM)
			for _, meets := range look.Meetings {
				away := w.Plan.Mould.ArcLengthMM * math.Abs(math.Remainder(st.AtPct/100-meets, 1))
				require.Greater(t, away, piece.Mould.VentDiameterMM/2+order.ClearMM)
			}
		}
	}
}

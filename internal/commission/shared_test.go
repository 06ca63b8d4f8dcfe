package commission

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/order"
	"pourwright/internal/verdict"
)

// charms is an order of six discs on one runner, poured at c °C.
func charms(mould string) string {
	var pieces, names []string
	for i := range 6 {
		names = append(names, fmt.Sprintf(`"charm %d"`, i+1))
		pieces = append(pieces, fmt.Sprintf(`{"name": %s, "kind": "disc", "length_mm": 14, "thickness_mm": 0.9, "mould": {%s}}`, names[i], mould))
	}
	return fmt.Sprintf(`{"alloy": "silver-925", "lots": [{"id": "grain", "alloy": "silver-925", "mass_g": 200, "owner": "studio"}],
		"shared_pours": [{"pieces": [%s]}], "pieces": [%s]}`, strings.Join(names, ","), strings.Join(pieces, ","))
}

// TestASharedFlaskIsOnePour: each charm has its own risk, mirror images the same
// within what the sampling is worth, and those far from the sprue fill last; what
// helps is told for the whole flask, and a new order with it gives its figures.
func TestASharedFlaskIsOnePour(t *testing.T) {
	if testing.Short() {
		t.Skip("two flasks of six")
	}
	out, err := Plan(t.Context(), read(t, charms("")))
	require.NoError(t, err)
	p := out.Pieces
	require.Len(t, p, 6)
	for i := range 3 {
		require.InDelta(t, p[i].FailurePct, p[5-i].FailurePct, 2, "left and right")
		require.Equal(t, p[0].Fill.Flask, p[i].Fill.Flask, "one flask")
		require.Equal(t, out.Flasks[0].HoldKg, p[i].Fill.Flask.HoldKg)
	}
	require.Greater(t, math.Abs(p[0].FailurePct-p[2].FailurePct), 2.0, "each its own")
	require.Greater(t, *p[0].Fill.Nominal.FillTimeS, *p[2].Fill.Nominal.FillTimeS, "the ends of the runner")

	worst := slices.MaxFunc(p, func(a, b order.PiecePlan) int { return cmp.Compare(a.FailurePct, b.FailurePct) })
	best := worst.Fill.Improvements[0]
	require.Positive(t, best.GainPct)
	require.True(t, slices.ContainsFunc(worst.Reasons, func(r verdict.Reason) bool { return strings.Contains(r.Do, best.Do) }), "%v", worst.Reasons)
	var mould string
	switch q := best.Patch; {
	case q.PourC != nil:
		mould = fmt.Sprintf(`"pour_c": %v`, *q.PourC)
	case q.SprueLengthMM != nil:
		mould = fmt.Sprintf(`"sprue_length_mm": %v`, *q.SprueLengthMM)
	default:
		mould = fmt.Sprintf(`"sprue_diameter_mm": %v`, *q.SprueDiameterMM)
	}
	again, err := Plan(t.Context(), read(t, charms(mould)))
	require.NoError(t, err)
	i := slices.IndexFunc(p, func(q order.PiecePlan) bool { return q.Name == worst.Name })
	require.Equal(t, best.Chance, again.Pieces[i].Fill.Chance, mould)
}

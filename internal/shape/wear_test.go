package shape

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/section"
	"pourwright/internal/verdict"
)

func TestBendingModulus(t *testing.T) {
	const polygon = 5e-3 // relative: 96 places
	// Handbook: rectangle w t²/6, round π d³/32, half a round of radius r: 0.1098 r⁴ over the farther face, r(1 - 4/3π).
	require.InEpsilon(t, 5*2*2/6.0, bendingMM3(section.Section{Shape: section.Rectangular, ThicknessMM: 2, WidthMM: 5}), polygon)
	require.InEpsilon(t, math.Pi*27/32, bendingMM3(section.Section{Shape: section.Round, ThicknessMM: 3}), polygon)
	require.InEpsilon(t, 0.1098*16/(2*(1-4/(3*math.Pi))), bendingMM3(section.Section{Shape: section.HalfRound, ThicknessMM: 2, WidthMM: 4}), polygon)
}

func TestWear(t *testing.T) {
	stoutRing := body(t, `{"kind":"ring","inside_diameter_mm":18,"thickness_mm":2,"width_mm":4,"profile":"rectangular"}`).Worn()
	require.Empty(t, stoutRing.Reasons)
	// π × 130 MPa × 4 × 2²/6 mm³ / 10 mm.
	require.InEpsilon(t, math.Pi*130*4*4/6/10, *stoutRing.BendsN, 5e-3)

	shank := body(t, `{"kind":"ring","inside_diameter_mm":18,"thickness_mm":2,"width_mm":4,"back":{"thickness_mm":0.8,"width_mm":2}}`).Worn()
	require.Contains(t, shank.Reasons[0].Why, "too thin for wear")
	require.InDelta(t, 0.8, shank.ThinnestMM, 0.02)
	require.Contains(t, shank.At, "6 o'clock")

	worn := body(t, pieces["worn bangle"]).Worn()
	require.InDelta(t, 1.1, worn.ThinnestMM, 0.02)
	require.Equal(t, verdict.Care, worn.Reasons.Level())

	cuff := body(t, `{"kind":"cuff","inside_diameter_mm":56,"thickness_mm":2,"width_mm":5}`).Worn()
	require.Equal(t, verdict.Care, cuff.Reasons.Level())
	require.Greater(t, *cuff.SpringPct, elasticPct)
	// An even arc of 24.4 mm mid-line radius … opened by 10 mm: R' from its chord, by hand.
	r := 29.0
	length := math.Pi * 58 * (1 - 28/(math.Pi*56))
	require.InDelta(t, length, body(t, `{"kind":"cuff","inside_diameter_mm":56,"thickness_mm":2,"width_mm":5}`).LengthMM(), 0.01)
	opening := 2 * r * math.Sin(math.Pi-length/(2*r))
	wider, ok := Sprung(length, opening+10)
	require.True(t, ok)
	require.InDelta(t, opening+10, 2*wider*math.Sin(math.Pi-length/(2*wider)), 1e-6)
	require.InEpsilon(t, 100*(1/r-1/wider), *cuff.SpringPct, 1e-6)

	bail := body(t, `{"kind":"drop","length_mm":24,"thickness_mm":3,"width_mm":9,"bail":{"inside_diameter_mm":3,"wire_mm":0.7}}`).Worn()
	require.Contains(t, bail.Reasons[0].Why, "bail")
	require.Contains(t, bail.Reasons[0].Why, "soon saws through")
}

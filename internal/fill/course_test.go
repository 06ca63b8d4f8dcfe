package fill

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/section"
	"pourwright/internal/shape"
)

func described(kind shape.Kind, change func(s *shape.Shape)) In {
	in := calc.Default[In]()
	in.Improvements = false
	thick, wide := 3.0, 6.0
	in.Shape = &shape.Shape{Kind: kind, ThicknessMM: &thick, WidthMM: &wide, Profile: section.HalfRound}
	change(in.Shape)
	return in
}

func laid(t *testing.T, in In) *job {
	j, err := prepare(t.Context(), in)
	require.NoError(t, err)
	return j
}

// TestARoundShapePoursAsItsMeasuresDo.
func TestARoundShapePoursAsItsMeasuresDo(t *testing.T) {
	for _, posture := range []string{"standing", "lying"} {
		plain := bangle(3, posture)
		in := described(shape.Bangle, func(s *shape.Shape) { s.InsideDiameterMM = ptr(62.0) })
		in.Posture = posture
		a, b := laid(t, plain), laid(t, in)
		require.InEpsilon(t, a.length, b.length, 1e-6)
		require.InEpsilon(t, a.volume, b.volume, 1e-6)
		require.InDelta(t, a.lowest(), b.lowest(), 1e-6)
		require.InDelta(t, failure(t, plain), failure(t, in), 1e-9)
	}
}

// TestHeightsOfAnOval: standing with the gate on its long axis it is as deep as
// that axis, with the gate a quarter round as the short one; a wave rises over
// its gate by what it waves.
func TestHeightsOfAnOval(t *testing.T) {
	centroid := 4 * 3 / (3 * math.Pi)
	oval := func(s *shape.Shape) { s.InsideWidthMM, s.InsideHeightMM = ptr(58.0), ptr(48.0) }
	in := described(shape.Bangle, oval)
	require.InDelta(t, -(58 + 2*centroid), 1e3*laid(t, in).lowest(), 0.1, "a step of the way")
	in.GatePct = 25
	require.InDelta(t, -(48 + 2*centroid), 1e3*laid(t, in).lowest(), 0.1)
	in = described(shape.Bangle, func(s *shape.Shape) { s.InsideDiameterMM, s.Wave = ptr(60.0), &shape.Wave{RiseMM: 6, Repeats: 3} })
	in.Posture = "lying"
	require.InDelta(t, -6, 1e3*laid(t, in).lowest(), 0.05, "the gate is on a crest")
}

// TestACuffIsOpen: as long as its metal, fed in its middle, its ends lowest where
// it hangs from its gate, and no streams meet.
func TestACuffIsOpen(t *testing.T) {
	in := described(shape.Cuff, func(s *shape.Shape) { s.InsideDiameterMM, s.GapMM = ptr(52.0), ptr(28.0) })
	j := laid(t, in)
	centroid := 4 * 3 / (3 * math.Pi)
	share := 1 - 28/(math.Pi*52)
	require.InEpsilon(t, math.Pi*(52+2*centroid)*share, 1e3*j.length, 1e-6)
	out, err := Follow(t.Context(), in)
	require.NoError(t, err)
	require.Empty(t, out.Nominal.Meetings)
	require.LessOrEqual(t, out.FailurePct, 12.0, "thick and open: no harder than F1")
	in.Posture, in.Gate, in.SprueLengthMM = "standing", "side", 45
	j = laid(t, in)
	require.Len(t, j.net.Reaches, 3, "sprue and two arms")
	end := func(reach int) float64 {
		s := j.net.Reaches[reach].Sections
		return s[len(s)-1].Height
	}
	require.InDelta(t, -end(1), end(2), 1e-4, "one end up, the other down")
	require.Greater(t, math.Abs(end(1)), 10e-3)
	in.GatePct = 20
	_, err = Follow(t.Context(), in)
	require.ErrorContains(t, err, "gate_pct")
	var refusal *calc.Refusal
	require.ErrorAs(t, err, &refusal)
	require.Equal(t, "gate_pct", refusal.Faults[0].Field, "the field is named, with its value")
	require.Equal(t, 20.0, refusal.Faults[0].Value)
}

// TestACuffIsNotTurned: a disc at one end freezes last; a cuff is fed in its
// middle whichever way its pattern lies.
func TestACuffIsNotTurned(t *testing.T) {
	in := described(shape.Cuff, func(s *shape.Shape) {
		s.InsideDiameterMM, s.GapMM = ptr(52.0), ptr(28.0)
		s.Head = &shape.Head{Form: "disc", Outline: "oval", LengthMM: 18, WidthMM: 18, ThicknessMM: 4, AtPct: 100}
	})
	in.SprueDiameterMM = 10 // wide enough, so that the disc is what is said
	out, err := Follow(t.Context(), in)
	require.NoError(t, err)
	require.False(t, out.Feeding.LeadsToSprue)
	require.Contains(t, out.Reasons[0].Do, "to the thick place")
	for _, r := range out.Reasons {
		require.NotContains(t, r.Do, "Turn the pattern")
	}
}

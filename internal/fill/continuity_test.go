package fill

import (
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
)

// drawn is a random piece and pour, and which of its figures moves by how much.
func drawn(rng *rand.Rand) (in In, move func(in *In, share float64)) {
	between := func(low, high float64) float64 { return low + (high-low)*rng.Float64() }
	in = bangle(between(1.2, 4), []string{"standing", "lying"}[rng.IntN(2)])
	in.InsideDiameterMM = between(16, 70)
	in.Section.WidthMM = between(4, 9)
	in.SprueLengthMM = between(12, 40)
	in.SprueDiameterMM = between(4, 7)
	in.FunnelHeadMM = between(8, 18)
	in.PourC = ptr(between(940, 1040))
	if rng.IntN(2) == 0 {
		in.ThinSpot = &Thin{ThicknessMM: in.Section.ThicknessMM * between(0.4, 0.95), AtPct: 50}
	}
	in.PourTimeS = ptr(between(0.8, 2))
	moves := []func(in *In, share float64){
		func(in *In, s float64) { in.Section.ThicknessMM *= 1 + 0.01*s },
		func(in *In, s float64) { in.InsideDiameterMM *= 1 + 0.01*s },
		func(in *In, s float64) { in.Section.WidthMM *= 1 + 0.01*s },
		func(in *In, s float64) { in.SprueDiameterMM *= 1 + 0.01*s },
		func(in *In, s float64) { in.FunnelHeadMM *= 1 + 0.02*s },
		func(in *In, s float64) { in.SprueLengthMM *= 1 + 0.01*s },
		func(in *In, s float64) { in.PourC = ptr(*in.PourC + 2*s) },
		func(in *In, s float64) { in.PourTimeS = ptr(*in.PourTimeS * (1 + 0.01*s)) },
		func(in *In, s float64) { in.ClayC += 2 * s },
	}
	return in, moves[rng.IntN(len(moves))]
}

// bend is by how many points the answer to a whole step differs from twice that
// to half of it, from the pours of the first studios; false where a step is refused.
//
// A stream that breaks off does so before the piece is full or after: one of a
// few pours more or less is no small change, so that is left out here.
func bend(t *testing.T, in In, move func(in *In, share float64), studios, pours int) (points float64, ok bool) {
	var pct [3]float64
	for k, share := range []float64{0, 0.5, 1} {
		changed := in
		move(&changed, share)
		j, err := prepare(t.Context(), changed)
		if refusal := new(calc.Refusal); errors.As(err, &refusal) {
			return 0, false
		}
		require.NoError(t, err)
		r, err := assess(t.Context(), j, studios, pours)
		require.NoError(t, err)
		pct[k] = 100 * r.share(func(o *outcome) float64 { return 1 - (1-soft(o.misrun))*(1-soft(o.cold)) })
	}
	return math.Abs(pct[2] - 2*pct[1] + pct[0]), true
}

// TestContinuity (S7): a small change of any input is a small change of the
// answer, and half the change changes it half as much, over random cases.
// They are screened on a few pours; those that bend are followed in full, as a
// request is.
func TestContinuity(t *testing.T) {
	if testing.Short() {
		t.Skip("60 cases")
	}
	wanted := 60 // FILL_CASES=300 is the full study, some two minutes
	if text := os.Getenv("FILL_CASES"); text != "" {
		var err error
		wanted, err = strconv.Atoi(text)
		require.NoError(t, err)
	}
	const noise = 2.0 // points, as for the signs
	// The aim is that no case bends by more than the noise. One in a hundred does;
	// these limits keep it from growing.
	const known, farthest = 2, 6.0 // in a hundred cases; points
	over := 0
	rng := rand.New(rand.NewPCG(7, 7))
	for cases := 0; cases < wanted; {
		in, move := drawn(rng)
		d, ok := bend(t, in, move, 16, 2)
		if !ok {
			continue
		}
		cases++
		if d <= noise {
			continue
		}
		d, _ = bend(t, in, move, studios, each)
		if d <= noise {
			continue
		}
		over++
		t.Logf("%.1f points: %s, %+v, thin spot %+v, sprue %.3g x %.3g mm, head %.3g mm, poured at %.4g C in %.3g s",
			d, in.Posture, in.Section, in.ThinSpot, in.SprueLengthMM, in.SprueDiameterMM, in.FunnelHeadMM, *in.PourC, *in.PourTimeS)
		require.LessOrEqual(t, d, farthest)
	}
	require.LessOrEqual(t, over, (known*wanted+99)/100)
}

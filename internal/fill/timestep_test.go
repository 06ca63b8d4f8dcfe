package fill

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// stepFailure is the failure in per cent of a piece with its time steps held
// under most, s: the first pour of each studio.
func stepFailure(t *testing.T, in In, most float64) (pct, steps float64) {
	j, err := prepare(t.Context(), in)
	require.NoError(t, err)
	w := new(run)
	w.MaxDt = most
	for i := range studios {
		w.follow(j, j.pour(j.studio(i), points.pour[i*each][:]))
		o := w.judge(nil)
		pct += 100 * o.fails() / studios
		steps += float64(w.Steps) / studios
	}
	return pct, steps
}

// TestTimeStep: the answer does not hang on the time step, whether the metal
// falls, runs level or rises.
func TestTimeStep(t *testing.T) {
	if testing.Short() {
		t.Skip("some 600 pours in small steps")
	}
	bottom := bangle(2.6, "standing")
	bottom.Gate, bottom.SprueLengthMM = "bottom", 90
	two := bottom
	two.SprueCount = 2
	for _, c := range []struct {
		name string
		in   In
	}{{"standing", bangle(2.6, "standing")}, {"lying", bangle(2.6, "lying")}, {"bottom gate", bottom}, {"two sprues, bottom gate", two}} {
		const most = 2.0 // per cent: under what an answer's band is worth
		long, n := stepFailure(t, c.in, 3e-3)
		short, m := stepFailure(t, c.in, 3e-4)
		t.Logf("%s: %.1f %% in %.0f steps, %.1f %% in %.0f", c.name, long, n, short, m)
		assert.InDelta(t, short, long, most, c.name)
	}
}

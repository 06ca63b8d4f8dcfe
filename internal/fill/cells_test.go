package fill

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourwright/internal/fill/network"
)

// coarse are the pieces whose failure twice the cells move by more than two
// points, and by how many at most. They are kept in sight.
var coarse = map[string]float64{
	"F4 standing, 2.6 thinning to 1 mm":               6,
	"F5 standing, 2.6 thinning to 0.8 mm":             6,
	"F10 lying, ring 1.2 mm":                          4,
	"F12 standing, even 3 mm, 20 K over the liquidus": 6,
	"2.6 mm standing, gate side":                      7,
	"2.6 mm standing, gate bottom":                    4,
}

// cellFailure is the failure in per cent with cells of the given share of the
// usual length: the first pour of every studio.
func cellFailure(t *testing.T, in In, share float64) (pct float64) {
	j, err := prepare(t.Context(), in)
	require.NoError(t, err)
	longest := 0.0
	for i := range j.net.Reaches {
		longest = max(longest, j.net.Reaches[i].Length())
	}
	j.net.Spacing = share * longest / network.DefaultCells
	j.mesh = network.NewMesh(&j.net)
	w := new(run)
	for i := range studios {
		w.follow(j, j.pour(j.studio(i), points.pour[i*each+i%each][:]))
		o := w.judge(nil)
		pct += 100 * o.fails() / studios
	}
	return pct
}

// TestCells: twice as many cells move the failure of a standard piece by less
// than two points.
func TestCells(t *testing.T) {
	if testing.Short() {
		t.Skip("some 1,700 pours")
	}
	rows, err := practice()
	require.NoError(t, err)
	list := map[string]In{}
	for _, r := range rows {
		for _, c := range r.Cases {
			switch r.Row {
			case "F2", "F3", "F4", "F5", "F7", "F10", "F12": // what can move
				list[r.Row+" "+c.Name], err = c.input(r.Super)
				require.NoError(t, err)
			}
		}
	}
	for _, gate := range []string{"side", "bottom"} {
		in := bangle(2.6, "standing")
		in.Gate, in.SprueLengthMM = gate, 90
		list["2.6 mm standing, gate "+gate] = in
	}
	held := 0
	for name, in := range list {
		most := 2.0
		if c, known := coarse[name]; known {
			most = c
		} else {
			held++
		}
		usual, fine := cellFailure(t, in, 1), cellFailure(t, in, 0.5)
		t.Logf("%s: %.1f, twice the cells %.1f", name, usual, fine)
		assert.InDelta(t, fine, usual, most, name)
	}
	require.GreaterOrEqual(t, held, 9)
}

package fill

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestPractice(t *testing.T) {
	rows, err := practice()
	require.NoError(t, err)
	for _, r := range rows {
		for _, c := range r.Cases {
			in, err := c.input(r.Super)
			require.NoError(t, err)
			out, err := Follow(t.Context(), in)
			require.NoError(t, err)
			mark := " "
			if out.FailurePct < c.Low || out.FailurePct > c.High {
				mark = "X"
			}
			fmt.Printf("%s %-4s %-40s %5.1f (%4.1f-%4.1f) want %g-%g %s margin %.2f fed %v\n", mark, r.Row, c.Name, out.FailurePct, out.LowPct, out.HighPct, c.Low, c.High, out.Verdict, out.Nominal.Margin, out.Feeding.LeadsToSprue)
		}
	}
}

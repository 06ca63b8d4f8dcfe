package sprue

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// TestWaysLeadFromTheFunnelToEveryGate: over random flasks the channels hang
// together, go downhill in a standing flask, hold the metal of the system but
// for the stubs past the last gates, and are as long as places tells.
func TestWaysLeadFromTheFunnelToEveryGate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]string{`"kind":"ring","inside_diameter_mm":17.5,"thickness_mm":1.7,"width_mm":4`,
			`"kind":"disc","length_mm":12,"thickness_mm":1.6`, `"kind":"drop","length_mm":22,"thickness_mm":2,"width_mm":8`}).Draw(t, "kind")
		in := read1(t, fmt.Sprintf(`{"pieces":[{"name":"piece","count":%d,%s}],"posture":%q,"sprue_length_mm":%d}`,
			rapid.IntRange(1, 9).Draw(t, "count"), kind, rapid.SampledFrom([]string{"standing", "lying"}).Draw(t, "posture"), rapid.IntRange(15, 40).Draw(t, "sprue")))
		if in.Pieces[0].Count > 1 {
			in.System = rapid.SampledFrom([]string{"", Tree, Runner}).Draw(t, "system")
		}
		p, err := read(ctx, in)
		require.NoError(t, err)
		l := Lay(p.system, p.bodies)
		ways, gates := l.Ways()
		require.Len(t, gates, len(p.bodies))

		far := map[int]float64{0: 0} // way to each junction
		rest := ways
		for len(rest) > 0 {
			var later []Way
			for _, w := range rest {
				at, known := far[w.From]
				if !known {
					later = append(later, w)
					continue
				}
				_, twice := far[w.To]
				require.False(t, twice, "a junction is led to once")
				far[w.To] = at + w.LengthMM
				require.Greater(t, w.LengthMM, 0.0)
				if !l.System.Lying {
					require.LessOrEqual(t, w.ToMM, w.FromMM+1e-9)
				}
			}
			require.Less(t, len(later), len(rest), "channels hang together")
			rest = later
		}
		for i, g := range gates {
			want := l.Placed[i].WayMM
			require.InDelta(t, want, far[g], p.system.Sprue.Diameter/2+p.system.Runner/2+1e-6, "the wall of the channel that a gate leaves is half of it from its middle")
			if l.System.Lying {
				require.InDelta(t, -p.system.Sprue.Length, ways[0].ToMM, 1e-9)
			}
		}
		var out Out
		out.metal(p, &l)
		volume := 0.0
		for _, w := range ways {
			volume += Bore{w.DiameterMM, w.LengthMM}.VolumeMM3()
		}
		want := 1000 * out.SystemG / p.alloy.DensityGCm3()
		stubs := 2 * Bore{p.system.Runner, p.system.Gate.Diameter / 2}.VolumeMM3()
		require.LessOrEqual(t, volume, want+1e-6)
		require.GreaterOrEqual(t, volume, want-stubs-1e-6)
	})
}

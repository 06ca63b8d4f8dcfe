package stone

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Textbook intervals: none lost of n has the exact upper end 1 − 0.025^(1/n);
// 10 of 100 has 4.9 to 17.6 % (Clopper & Pearson, Biometrika 26 (1934) 404,
// and any statistics package).
func TestLossIntervals(t *testing.T) {
	none, err := HoldingCounts{Placed: 30, Lost: 0}.Chance(5)
	require.NoError(t, err)
	require.Zero(t, none.LowPct)
	require.Zero(t, none.ExactLowPct)
	require.InDelta(t, 100*(1-math.Pow(0.025, 1.0/30)), none.ExactHighPct, 1e-6)
	ten, err := HoldingCounts{Placed: 100, Lost: 10}.Chance(1)
	require.NoError(t, err)
	require.InDelta(t, 4.90, ten.ExactLowPct, 0.01)
	require.InDelta(t, 17.62, ten.ExactHighPct, 0.01)
	require.InDelta(t, 100*10.5/101, ten.AnyPct, 1e-9, "one stone: the posterior mean")
	all, err := HoldingCounts{Placed: 2, Lost: 2}.Chance(3)
	require.NoError(t, err)
	require.Equal(t, 100.0, all.HighPct)
	require.Equal(t, 100.0, all.ExactHighPct)
}

func TestLossIsOrderly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		placed := rapid.IntRange(1, 500).Draw(t, "placed")
		c := HoldingCounts{placed, rapid.IntRange(0, placed).Draw(t, "lost")}
		few, err := c.Chance(3)
		require.NoError(t, err)
		many, err := c.Chance(30)
		require.NoError(t, err)
		require.True(t, few.LowPct <= few.EachPct && few.EachPct <= few.HighPct, "%+v", few)
		require.True(t, few.ExactLowPct <= few.LowPct+1e-6 || c.Lost == 0, "%+v", few)
		require.True(t, few.ExactHighPct >= few.HighPct-1e-6 || c.Lost == placed, "%+v", few)
		require.True(t, few.AnyPct <= many.AnyPct && many.AnyPct <= 100)
		require.InEpsilon(t, 10, many.Expected/few.Expected, 1e-9)
	})
}

// 1 mg of pentacosane is 2.84 µmol; at 1000 °C one mole fills 0.1045 m³.
func TestGreaseGas(t *testing.T) {
	require.InEpsilon(t, 1e-3/352.7*0.104473*1e9, gasMM3PerMG, 1e-3)
}

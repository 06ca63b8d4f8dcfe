package metal

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Every alloy of gold and silver lies in its own window with room to spare or
// at its end, is named as itself, and every window names an alloy.
func TestEveryAlloyLiesInItsWindow(t *testing.T) {
	for id := range windows {
		require.True(t, slices.Contains(IDs(), id), id)
	}
	for _, a := range catalogue {
		w, ok := WindowOf(a.id)
		require.Equal(t, a.kind == "gold" || a.kind == "silver", ok, a.id)
		if !ok {
			continue
		}
		c := mustParse(a.composition)
		require.Empty(t, w.Breaches(c, 1e-9), "%s is outside %s", a.id, w)
		require.Equal(t, a.id, c.Is()[0], "%s is called %v", a.id, c.Is())
		require.NotEmpty(t, w.Source.Text)
	}
}

// Unlike golds are told apart.
func TestWindowsTellGoldsApart(t *testing.T) {
	for _, row := range []struct{ text, is, isNot string }{
		{"Au 750 Ag 150 Pd 100", "gold-750-white-palladium", "gold-750-yellow"},
		{"Au 750 Ag 250", "gold-750-green", "gold-750-rose"},
		{"Au 585 Ag 300 Cu 115", "gold-585-yellow", "gold-585-rose"},
		{"Au 597 Cu 295 Ag 107", "gold-585-yellow", "gold-583-rose"},
		{"Au 587 Cu 413", "", "gold-585-yellow"},
		{"Ag 800 Au 200", "", "silver-800"},
		{"Au 812 Ag 94 Cu 94", "", "gold-750-yellow"},
	} {
		is := mustParse(row.text).Is()
		require.NotContains(t, is, row.isNot, row.text)
		if row.is != "" {
			require.Contains(t, is, row.is, row.text)
		} else {
			require.Empty(t, is, row.text)
		}
	}
}

// A spread holds the metal of every composition drawn from within.
func TestSpreadsHoldWhatLiesWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ag := rapid.Float64Range(0.10, 0.2).Draw(t, "silver")
		half := rapid.Float64Range(0, 0.03).Draw(t, "half")
		middle := Composition{"Au": .75, "Ag": ag, "Cu": .25 - ag}
		least := Composition{"Au": .75, "Ag": ag - half, "Cu": .25 - ag - half}
		most := Composition{"Au": .75, "Ag": ag + half, "Cu": .25 - ag + half}
		s, err := Between(middle, least, most, "", nil)
		require.NoError(t, err)
		require.Empty(t, s.Unknown)
		u := rapid.Float64Range(-1, 1).Draw(t, "at")
		m, err := Of(Composition{"Au": .75, "Ag": ag + u*half, "Cu": .25 - ag - u*half}, nil)
		require.NoError(t, err)
		const curved, unvaried = 1.5, 0.02 // K: the liquidus bends across 60 per mil; g/cm³: intervals under 2 per mil are not varied
		require.LessOrEqual(t, m.LiquidusC(), s.Liquidus.High+curved)
		require.GreaterOrEqual(t, m.LiquidusC(), s.Liquidus.Low-curved)
		require.LessOrEqual(t, m.DensityGCm3(), s.Density.High+unvaried)
		require.GreaterOrEqual(t, m.DensityGCm3(), s.Density.Low-unvaried)
		pour := s.PourC()
		require.GreaterOrEqual(t, pour, s.Liquidus.High+leastSuperheat)
		require.GreaterOrEqual(t, pour, s.LiquidusC()+usualSuperheat)
	})
}

// A charge in the window of a white gold keeps the tabulated range of the
// alloy; one outside has none, and says so.
func TestChargesOfWhiteGold(t *testing.T) {
	in := Composition{"Au": .75, "Ag": .135, "Cu": .01, "Pd": .105}
	s, err := Between(in, in, in, "gold-750-white-palladium", nil)
	require.NoError(t, err)
	require.Equal(t, 1250.0, s.LiquidusC())
	require.GreaterOrEqual(t, s.RangeBandK(), 30.0)
	again, err := Named(s.Ref())
	require.NoError(t, err)
	require.Equal(t, s.LiquidusC(), again.LiquidusC())
	require.Equal(t, s.DensityGCm3(), again.DensityGCm3())
	out := Composition{"Au": .75, "Ag": .05, "Cu": .14, "Pd": .06}
	_, err = Between(out, out, out, "gold-750-white-palladium", nil)
	require.ErrorContains(t, err, "not known")
}

// A melting range of the caller's own travels with the metal's name.
func TestOwnRangeInTheName(t *testing.T) {
	for _, id := range []string{"silver-935-germanium", "silver-925", "Ag 930 Cu 40 Ge 20 Si 10"} {
		m, err := Melting(id, MeltingRange{770.5, 885})
		require.NoError(t, err, id)
		require.Equal(t, 770.5, m.SolidusC())
		require.Equal(t, 885.0, m.LiquidusC())
		require.Equal(t, 985.0, m.PourC())
		again, err := Named(m.Ref())
		require.NoError(t, err, m.Ref())
		require.Equal(t, 885.0, again.LiquidusC())
		require.Equal(t, m.ID, again.ID)
		require.Equal(t, m.Composition, again.Composition)
		require.Equal(t, m.Ref(), again.Ref())
	}
	bare, err := Of(Composition{"Ag": .925, "Cu": .075}, nil)
	require.NoError(t, err)
	require.NotContains(t, bare.Ref(), "melts", "the remembered metal of the same composition has no range of its own")
	for _, bad := range []string{"silver-925 melts", "silver-925 melts 890", "silver-925 melts a-b", "nonsense melts 800-900"} {
		_, err := Named(bad)
		require.ErrorContains(t, err, "alloy", bad)
	}
	_, err = Melting("silver-925", MeltingRange{900, 800})
	require.ErrorContains(t, err, "liquidus_c")
}

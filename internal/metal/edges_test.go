package metal

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// The words of a colour on both sides of their bounds.
func TestWordsOfColours(t *testing.T) {
	for lab, want := range map[Lab]string{
		{90, 1, 8}: "whitish", {90, 1, 10}: "pale yellow", {91, -4.4, 17.6}: "greenish yellow", {91, -2.3, 22}: "yellow",
		{91, 2, 20}: "pale yellow", {91, 2.5, 24}: "yellow", {91, 5, 21}: "pink to rose", {91, 8, 20}: "rose", {88, 11, 17}: "red",
	} {
		require.Equal(t, want, lab.Words(), "%v", lab)
	}
}

// Silver and nickel do not mix without a metal that carries the nickel.
func TestWhatCarriesNickel(t *testing.T) {
	const apart = "do not mix"
	why := func(text string) string {
		c := mustParse(text)
		return unknown(c, estimate(c))
	}
	require.Contains(t, why("Ag 950 Ni 50"), apart)
	require.Contains(t, why("Ag 950 Cu 25 Ni 25"), apart)
	for _, text := range []string{"Ag 800 Cu 190 Ni 10", "Au 750 Ni 170 Cu 80", "Ag 925 Cu 75", "Ag 998 Ni 2", "Ag 400 Ni 600"} {
		require.NotContains(t, why(text), apart, text)
	}
}

// The table of freezing goes evenly from liquidus to the end, and below the solidus
// everything is solid.
func TestFreezingTableEvenly(t *testing.T) {
	m, err := Named("silver-925")
	require.NoError(t, err)
	rows := m.freezingTable(nil)
	require.Len(t, rows, 11)
	require.InDelta(t, m.LiquidusC(), rows[0].TemperatureC, 1e-9)
	require.InDelta(t, (m.LiquidusC()+m.end)/2, rows[5].TemperatureC, 1e-9)
	require.InDelta(t, m.end, rows[10].TemperatureC, 1e-9)
	f, ok := m.EquilibriumSolidFraction(m.SolidusC() - 1)
	require.True(t, ok)
	require.Equal(t, 1.0, f)
}

// Far over the liquidus the answers say that they go beyond what was measured, and
// the melt conducts as its liquid metal does: silver 175 W/(m K).
func TestFarOverTheLiquidus(t *testing.T) {
	m, err := Named("silver")
	require.NoError(t, err)
	require.Empty(t, m.CautionsAt(m.LiquidusC()+liquidReach-1))
	require.Equal(t, "outside_validity", m.CautionsAt(m.LiquidusC() + liquidReach + 1)[0].Code)
	require.InDelta(t, 175, m.ConductivityWMK(m.LiquidusC()+50), 1e-9)
	require.InDelta(t, 429, m.ConductivityWMK(27), 5) // the table's figure at 300 K, with no scatter in a pure metal
}

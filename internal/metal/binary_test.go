package metal

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Pairs against points read: Ag-Pd at 60 palladium 1310/1360; copper-nickel
// 90/10 1100-1145 and 50/50 1250-1315; cartridge brass 916/954 (AWS A5.8-1981);
// gold-nickel minimum 955 at 18 (Okamoto and Massalski); gold with 8 palladium
// 1200/1240. The tolerance is the band of the table.
func TestTabledPairs(t *testing.T) {
	for _, row := range []struct {
		text              string
		solidus, liquidus float64
	}{
		{"Ag 400 Pd 600", 1310, 1360}, {"Cu 900 Ni 100", 1110, 1145}, {"Cu 500 Ni 500", 1250, 1315},
		{"Cu 600 Zn 400", 899, 904}, {"Au 820 Ni 180", 955, 955}, {"Au 920 Pd 80", 1200, 1240},
	} {
		m, err := Of(mustParse(row.text), nil)
		require.NoError(t, err, row.text)
		require.InDelta(t, row.solidus, m.SolidusC(), m.RangeBandK(), row.text)
		require.InDelta(t, row.liquidus, m.LiquidusC(), m.RangeBandK(), row.text)
		require.LessOrEqual(t, m.RangeBandK(), 30.0)
	}
	// The silver-palladium and copper-nickel systems rise throughout.
	for _, pair := range [][2]string{{"Ag", "Pd"}, {"Cu", "Ni"}} {
		last := 0.0
		for x := 0.01; x < 1; x += 0.01 {
			m, err := Of(Composition{pair[0]: 1 - x, pair[1]: x}, nil)
			require.NoError(t, err)
			require.Greater(t, m.LiquidusC(), last, "%v at %g", pair, x)
			require.Less(t, m.SolidusC(), m.LiquidusC())
			last = m.LiquidusC()
		}
	}
}

// What no data cover is refused with what would be accepted.
func TestUnknownRangesAreRefused(t *testing.T) {
	for text, why := range map[string]string{
		"Ag 900 Ni 100":               "do not mix",
		"Ag 935 Cu 30 Ge 35":          "germanium",
		"Ag 925 Cu 60 Si 15":          "silicon",
		"Pt 950 Cu 50":                "platinum",
		"Ag 700 Cu 200 Pd 100":        "palladium",
		"Au 750 Cu 100 Pd 60 Ag 90":   "palladium",
		"Sn 500 Zn 500":               "no tabulated alloy",
		"Au 500 Ag 200 Cu 200 Ni 100": "nickel",
	} {
		_, err := Of(mustParse(text), nil)
		require.ErrorContains(t, err, why, text)
		require.ErrorContains(t, err, "solidus_c", text)
		_, err = Of(mustParse(text), &MeltingRange{700, 900})
		require.NoError(t, err, "the caller's own range stands")
	}
	m, err := Of(mustParse("Ag 935 Cu 53 Ge 12"), nil)
	require.NoError(t, err)
	require.Equal(t, Tabulated, m.RangeBasis())
	require.Less(t, m.SolidusC(), 800.0)
}

// Each entry of the catalogue: solidus under liquidus, and no carat gold with
// copper or silver alone above fine gold; 10 carat between 9 and 14.
func TestCatalogueRanges(t *testing.T) {
	liquidus := map[string]float64{}
	for _, id := range IDs() {
		m, err := Named(id)
		require.NoError(t, err)
		liquidus[id] = m.LiquidusC()
		if m.RangeBasis() != Element && id != "silver-720" {
			require.Less(t, m.SolidusC(), m.LiquidusC(), id)
		}
	}
	require.LessOrEqual(t, liquidus["gold-417-yellow"], liquidus["gold-375-yellow"])
	for _, id := range []string{"gold-917-yellow", "gold-750-yellow", "gold-750-rose", "gold-585-yellow", "gold-375-yellow"} {
		require.Less(t, liquidus[id], 1064.18, id)
	}
}

// A composition is taken wherever an alloy is.
func TestNamedTakesCompositions(t *testing.T) {
	m, err := Named("Ag 925 Cu 75")
	require.NoError(t, err)
	n, err := Named("silver-925")
	require.NoError(t, err)
	require.Equal(t, n.LiquidusC(), m.LiquidusC())
	require.Equal(t, n.EnthalpyKJKg(900), m.EnthalpyKJKg(900))
	_, err = Named("Ag 925 Cu 95")
	require.ErrorContains(t, err, "alloy")
	_, err = Named("Ag 900 Ni 100")
	require.ErrorContains(t, err, "do not mix")
}

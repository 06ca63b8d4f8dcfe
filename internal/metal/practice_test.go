package metal

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Metals for a class: melting ranges and densities as printed, their fumes said,
// and no fineness.
func TestPracticeMetals(t *testing.T) {
	for _, c := range []struct {
		id                string
		solidus, liquidus float64
		density, within   float64 // g/cm³
		caution           string
	}{
		// The same page as the catalogue's, its densities; ideal mixing is good to 1 %.
		{"tin-copper-993", 227, 227, 7.31, 0.07, "tin_apart"},
		{"tin-copper-970", 227, 300, 7.32, 0.07, "tin_apart"},
		// The data base's page on pewter of ASTM B560 type 2; Alloy Digest for white metal,
		// whose density is that of tin and antimony, 1/ρ = 0.92/7.30 + 0.08/6.68.
		{"tin-antimony-pewter", (470 - 32) / 1.8, (560 - 32) / 1.8, 7.3, 0.07, "antimony"},
		{"tin-antimony-white", 246, 250, 7.25, 0.07, "antimony"},
		// Data sheets of copper alloys: C90300 1570 to 1832 °F and 8.80; C90500 1570
		// to 1830 °F and 8.72; C87500 1510 to 1683 °F. Mixing is ideal within 4 %.
		{"bronze-tin-8", (1570 - 32) / 1.8, (1832 - 32) / 1.8, 8.80, 0.35, "zinc_fume"},
		{"bronze-tin-10", (1570 - 32) / 1.8, (1830 - 32) / 1.8, 8.72, 0.35, "zinc_fume"},
		{"brass-silicon", (1510 - 32) / 1.8, (1683 - 32) / 1.8, 8.28, 0.7, "zinc_fume"},
		{"brass-70-30", 915, 955, 8.53, 0.35, "zinc_fume"},
	} {
		m, err := Named(c.id)
		require.NoError(t, err, c.id)
		require.InDelta(t, c.solidus, m.SolidusC(), 2, c.id) // °F rounded to tens
		require.InDelta(t, c.liquidus, m.LiquidusC(), 2, c.id)
		require.InDelta(t, c.density, m.DensityGCm3(), c.within, c.id)
		codes := []string{}
		for _, caution := range m.Cautions() {
			codes = append(codes, caution.Code)
		}
		require.Contains(t, codes, c.caution, c.id)
		e, err := Find(c.id)
		require.NoError(t, err)
		require.Zero(t, e.FinenessPermil, c.id)
		out, err := Query(t.Context(), AlloyPropertyIn{Alloy: c.id})
		require.NoError(t, err)
		require.Empty(t, out.Fineness, c.id)
		for _, caution := range out.Cautions {
			require.NotEqual(t, "hallmark_law", caution.Code, c.id)
		}
	}
}

// The same page gives pewter 69 kJ/kg of latent heat: the sum of its metals'.
func TestHeatOfPewter(t *testing.T) {
	m, err := Named("tin-antimony-pewter")
	require.NoError(t, err)
	require.InDelta(t, 69, m.LatentKJKg(), 3) // the figure of antimony is from memory
}

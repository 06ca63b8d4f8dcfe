package metal

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestSterling(t *testing.T) {
	m, err := Named("silver-925")
	require.NoError(t, err)
	require.InDelta(t, 10.36, m.DensityGCm3(), 0.01)
	for tC := 30.0; tC < 1200; tC += 7 {
		require.InDelta(t, tC, m.TemperatureC(m.EnthalpyKJKg(tC)), 1e-6)
	}
}

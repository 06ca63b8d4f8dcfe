package fluid

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
)

func TestPressureOfSilver(t *testing.T) {
	// 10 mm of liquid silver: 9320 × 9.80665 × 0.01.
	require.InDelta(t, 913.97978, Pressure(9320, 0.01), 1e-4)
	require.InDelta(t, 0.01, Head(9320, Pressure(9320, 0.01)), 1e-15)
	require.InDelta(t, 0.45698989, OpeningForce(9320, 0.01, 500e-6), 1e-8)
}

// TestCapillaryLimits: least slit and tube from the Young-Laplace equation,
// computed by hand with g = 9.81 (printed to three places).
func TestCapillaryLimits(t *testing.T) {
	for _, r := range []struct{ gamma, rho, deg, headMM, slitMM, tubeMM float64 }{
		{0.966, 9320, 180, 20, 1.057, 2.113}, {0.966, 9320, 180, 50, 0.423, 0.845},
		{0.966, 9320, 140, 50, 0.324, 0.647}, {1.169, 17310, 140, 50, 0.211, 0.422},
		{1.303, 8020, 140, 50, 0.507, 1.015},
	} {
		w := NonWetting(r.deg)
		p := Pressure(r.rho, r.headMM/1e3)
		const printed = 7e-7 // m: half of the last place, and 3.4e-4 of the largest for g
		require.InDelta(t, r.slitMM/1e3, SpillGap(r.gamma, w, r.rho, r.headMM/1e3), printed)
		require.InEpsilon(t, p, SectionPressure(r.gamma, w, r.slitMM/2e3), 2e-3)
		require.InEpsilon(t, p, SectionPressure(r.gamma, w, r.tubeMM/4e3), 2e-3)
		require.InEpsilon(t, 2*MeniscusRadius(r.gamma, r.rho, r.headMM/1e3)*w, SpillGap(r.gamma, w, r.rho, r.headMM/1e3), 1e-12)
	}
}

// TestVentFlow: both ends of the series and the sum between them.
func TestVentFlow(t *testing.T) {
	const d, l = 1e-3, 15e-3
	area := math.Pi / 4 * d * d
	for _, p := range []float64{1, 30, 800, 20000} {
		q := VentFlow(p, d, l)
		require.InEpsilon(t, p, TubeLoss(AirViscosity, q, d, l)+OrificeLoss(AirDensity, q, area), 1e-9)
	}
	require.Zero(t, VentFlow(-1, d, l))
	require.Zero(t, VentFlow(10, 0, l))
	// Water at 20 °C, 1.002 mPa s, 1e-8 m³/s through 1 mm × 1 m: 128 μ L Q/(π d⁴) = 408.25 Pa.
	require.InDelta(t, 408.25, TubeLoss(1.002e-3, 1e-8, 1e-3, 1), 0.01)
	// Sharp orifice, water, 10 mm: 0.65 × 7.854e-5 m² × √(2 × 1000 Pa/998) = 7.227e-5 m³/s.
	require.InEpsilon(t, 1000, OrificeLoss(998, 7.2268e-5, 7.85398e-5), 1e-3)
}

// TestTurbulentFriction: Blasius's own range ends at Re 1e5, f 0.0178 (F. M. White,
// Fluid Mechanics, ch. 6, from memory).
func TestTurbulentFriction(t *testing.T) {
	require.InDelta(t, 0.0316, TurbulentFriction(1e4), 1e-12)
	require.InDelta(t, 0.0178, TurbulentFriction(1e5), 5e-5)
}

// TestClay: the defaults that a caller reads are those of the program.
func TestClay(t *testing.T) {
	require.Equal(t, OilClay, calc.Default[Clay]())
	require.InDelta(t, math.Sqrt(0.6*1600*1100), OilClay.Effusivity(), 1e-9)
	require.InDelta(t, 1.76e6, OilClay.VolumeHeat(), 1e-6)
	require.Less(t, EffusivityLow, OilClay.Effusivity())
	require.Greater(t, EffusivityHigh, OilClay.Effusivity())
}

package exact

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

const lastDigit = 6e-7 // of the tabulated λ

func TestStefanTable(t *testing.T) {
	for ste, want := range map[float64]float64{0.05: 0.156821, 0.1: 0.220016, 0.2: 0.306424, 0.5: 0.464786, 1: 0.620063, 2: 0.800601, 3: 0.913751} {
		require.InDelta(t, want, Stefan(ste), lastDigit, "Ste %g", ste)
	}
}

func TestSchwarzSilverSlab(t *testing.T) {
	silver := Material{K: 360, Rho: 9700, C: 297}
	for _, c := range []struct{ b, lambda, ti, t float64 }{
		{887.4, 0.041189, 960.58, 1.1792}, {1059.8, 0.049129, 960.08, 0.8289}, {1272.9, 0.058899, 959.33, 0.5767}} {
		f := Schwarz(silver, Material{K: 1, Rho: c.b, C: c.b}, 104.7e3, 25, 961.78)
		require.InDelta(t, c.lambda, f.Lambda, 1.5e-6)
		require.InDelta(t, c.ti, f.Interface, 0.006)
		require.InDelta(t, c.t, f.Time(1e-3), 6e-5)
	}
}

func TestNeumannHasItsLimits(t *testing.T) {
	solid, liquid := Material{360, 9700, 297}, Material{175, 9700, 310}
	ste := solid.C * 900 / 104.7e3
	require.InDelta(t, Stefan(ste), Neumann(solid, liquid, 104.7e3, 61.78, 961.78, 961.78).Lambda, 1e-9, "no superheat: Stefan")
	require.Less(t, Neumann(solid, liquid, 104.7e3, 61.78, 961.78, 1100).Lambda, Stefan(ste), "superheat delays")
	hard := Schwarz(solid, Material{1e6, 1e9, 1e9}, 104.7e3, 61.78, 961.78)
	require.InDelta(t, Stefan(ste), hard.Lambda, 1e-6, "a mould of no resistance: Stefan")
}

func TestMouldHeatThroughHasItsLimits(t *testing.T) {
	m := Material{0.6, 1600, 1170}
	require.InEpsilon(t, MouldHeat(m, 25, 900, 3), MouldHeatThrough(m, 1e7, 25, 900, 3), 2e-4)
	require.InEpsilon(t, 5*875*3, MouldHeatThrough(m, 5, 25, 900, 3), 0.01, "a poor contact decides alone")
}

func TestCoolingSeries(t *testing.T) {
	m := Material{0.6, 1600, 1170}
	for _, s := range []Shape{Plate, Cylinder, Sphere} {
		require.InDelta(t, 1, Cooling(s, m, 5e-3, 400, 1e-4), 1e-2, "%v at the start", s)
		lumped := math.Exp(-0.6 * 1 * 600 / (1600 * 1170 * 5e-3) * float64(s+1) / 0.6)
		require.InEpsilon(t, lumped, Cooling(s, m, 5e-3, 1, 600), 5e-3, "%v of small Biot number is lumped", s)
	}
	// Bi = 1, Fo = 1: one-term table of Heisler type, plate ζ1 = 0.8603 (from memory of Incropera, table 5.1).
	mu, _ := eigen(Plate, 1, 0)
	require.InDelta(t, 0.8603, mu, 5e-5)
	mu, _ = eigen(Cylinder, 1, 0)
	require.InDelta(t, 1.2558, mu, 5e-5)
	mu, _ = eigen(Sphere, 1, 0)
	require.InDelta(t, 1.5708, mu, 5e-5)
}

// The radial reference against Schwarz: a plate frozen from both sides meets
// in the middle when the front of the half-space passes it, near enough for a
// metal that conducts thirty times better than the mould.
func TestRadialPlateAgainstSchwarz(t *testing.T) {
	silver, mould := Material{360, 9700, 297}, Material{0.6, 1600, 1170}
	const latent, tm = 104.7e3, 961.78
	f := Freezing{Shape: Plate, Radius: 1e-3, Rho: silver.Rho, K: silver.K, Mould: mould, H: math.Inf(1),
		Start: latent, End: 0, MouldStart: 25, Temperature: func(h float64) float64 {
			return tm + math.Min(h, 0)/silver.C + math.Max(h-latent, 0)/310
		}}
	exact := Schwarz(silver, mould, latent, 25, tm).Time(1e-3)
	require.InEpsilon(t, exact, f.Radial(40, 200), 3e-4)
}

// Without a contact resistance the radial reference of a sphere falls below
// the plate of equal modulus, by the divergence of heat into the mould.
func TestRadialOrder(t *testing.T) {
	mould := Material{0.6, 1600, 1170}
	var before float64
	for _, s := range []Shape{Plate, Cylinder, Sphere} {
		f := Freezing{Shape: s, Radius: 1e-3 * float64(s+1), Rho: 9700, K: 360, Mould: mould, H: 1000,
			Start: 105e3, End: 0, MouldStart: 25, Temperature: func(h float64) float64 {
				return 961.78 + math.Min(h, 0)/297 + math.Max(h-104.7e3, 0)/310
			}}
		coarse, fine := f.Radial(20, 100), f.Radial(40, 200)
		require.InEpsilon(t, fine, coarse, 1e-3, "%v", s)
		if s > Plate {
			require.Less(t, fine, before)
		}
		before = fine
	}
}

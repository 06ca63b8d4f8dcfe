package shock

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Liquid silver and the stones of the contact table: recomputed from the
// printed k, ρ, c; effusivity rule Carslaw & Jaeger §2.15.
func TestContactTable(t *testing.T) {
	silver := Medium{175, 9300, 297}
	require.InDelta(t, 21990, silver.Effusivity(), 5) // printed to four digits
	for _, row := range []struct {
		name              string
		stone             Medium
		e, at20, at200, τ float64
	}{
		{"diamond", Medium{1000, 3520, 510}, 42370, 355, 473, 0.0018},
		{"moissanite", Medium{330, 3220, 670}, 26682, 463, 561, 0.00654},
		{"corundum", Medium{35, 4000, 760}, 10315, 687, 745, 0.0869},
		{"quartz", Medium{7.7, 2650, 710}, 3806, 855, 882, 0.244},
		{"garnet", Medium{3.3, 3900, 750}, 3107, 879, 901, 0.886},
		{"cz", Medium{2.2, 5800, 460}, 2423, 903, 921, 1.21},
		{"soda glass", Medium{1, 2500, 840}, 1449, 939, 951, 2.1},
	} {
		e := row.stone.Effusivity()
		require.InEpsilon(t, row.e, e, 1e-3, row.name)
		const printed = 0.6 // °C: rounded to whole degrees
		require.InDelta(t, row.at20, Contact(silver.Effusivity(), 1000, e, 20), printed, row.name)
		require.InDelta(t, row.at200, Contact(silver.Effusivity(), 1000, e, 200), printed, row.name)
		require.InEpsilon(t, row.τ, 1e-6/row.stone.Diffusivity(), 0.01, row.name)
	}
}

// Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, table 5.1
// (figures from memory, recomputed).
func TestFirstTerms(t *testing.T) {
	const printed = 6e-5 // four decimals
	for _, row := range []struct{ bi, slabZ, slabC, sphereZ, sphereC float64 }{
		{0.1, 0.3111, 1.0161, 0.5423, 1.0298},
		{1, 0.8603, 1.1191, 1.5708, 1.2732},
		{10, 1.4289, 1.2620, 2.8363, 1.9249},
	} {
		z, c := NewSlab(row.bi, 0.2).First()
		require.InDelta(t, row.slabZ, z, printed)
		require.InDelta(t, row.slabC, c, printed)
		z, c = NewSphere(row.bi, 0.2).First()
		require.InDelta(t, row.sphereZ, z, printed)
		require.InDelta(t, row.sphereC, c, printed)
	}
}

func TestSeriesBeginsAtOne(t *testing.T) {
	for _, bi := range []float64{0.01, 0.3, 1, 5, 50} {
		s := NewSphere(bi, 1e-5)
		require.InDelta(t, 1, s.Theta(1e-5, 0), 1e-9)
		require.InDelta(t, 1, s.Mean(1e-5), 0.02+3*bi*1e-5)
		require.InDelta(t, 1, NewSlab(bi, 1e-5).Theta(1e-5, 0), 1e-9)
	}
}

// Peak stresses of a sphere against the table in units of EαΔT/(1−ν).
func TestSpherePeaks(t *testing.T) {
	const printed = 0.0006 // three decimals
	for _, row := range []struct{ bi, surface, centre float64 }{
		{0.1, 0.0185, 0.0184}, {0.3, 0.050, 0.049}, {1, 0.130, 0.123},
		{3, 0.262, 0.225}, {10, 0.450, 0.320}, {30, 0.619, 0.362},
	} {
		surface, centre := SpherePeak(row.bi)
		require.InDelta(t, row.surface, surface, printed, "surface at Bi %g", row.bi)
		require.InDelta(t, row.centre, centre, printed, "centre at Bi %g", row.bi)
	}
	require.InDelta(t, SphereInfinite, CentrePeak(1e5), printed)
}

// Resistance parameters worked for materials of the ceramics handbooks.
func TestResistance(t *testing.T) {
	for _, row := range []struct {
		name                       string
		sigma, e, nu, alpha, k     float64
		r, rPrime, tolR, tolRPrime float64
	}{
		{"alumina", 350, 390, 0.22, 8.0, 30, 88, 2.6, 1, 0.06},
		{"zirconia", 900, 205, 0.30, 10.5, 2.5, 290, 0.73, 5, 0.01},
		{"silicon carbide", 400, 410, 0.17, 4.0, 120, 200, 24, 5, 0.5},
		{"fused silica", 50, 72, 0.16, 0.55, 1.3, 1060, 1.4, 5, 0.05},
		{"soda glass", 60, 72, 0.23, 9.0, 1.0, 71, 0.07, 1, 0.005},
		{"diamond", 400, 1100, 0.10, 1.0, 1000, 330, 330, 5, 5},
		{"sapphire", 400, 400, 0.28, 6.0, 35, 120, 4.2, 1, 0.05},
		{"quartz", 60, 87, 0.15, 11, 7.7, 53, 0.41, 1, 0.01},
	} {
		e := Elastic{row.e * 1e9, row.sigma * 1e6, row.nu, row.alpha * 1e-6}
		require.InDelta(t, row.r, e.Resistance(), row.tolR, row.name)
		require.InDelta(t, row.rPrime, e.MildResistance(row.k)/1000, row.tolRPrime, row.name)
	}
}

// steps marches s to time end with each step a fraction of the time so far.
func steps(t require.TestingT, s *Stack, end, first, growth float64) {
	for now := 0.0; now < end; {
		dt := min(max(first, growth*now), end-now)
		require.NoError(t, s.Step(dt))
		now += dt
	}
}

// A sphere in a fluid, against the exact series; refining space and time
// together brings the error down in first order.
func TestSphereAgainstSeries(t *testing.T) {
	m := Medium{3.3, 3900, 750}
	const r, h, fourier = 1e-3, 3000.0, 0.3
	bi := h * r / m.K
	end := fourier * r * r / m.Diffusivity()
	exact := NewSphere(bi, 0.01)
	sphere := func(r float64) float64 { return 4 * math.Pi * r * r }
	var errors []float64
	for _, n := range []int{20, 40, 80} {
		s := NewStack([]Layer{{r, n, 1, m.K, m.Rho, Constant(m.C), 20, math.Inf(1)}}, sphere, h, 900)
		steps(t, s, end, end/float64(50*n), 0.8/float64(n))
		worst := 0.0
		for i, temp := range s.T {
			x := (float64(i) + 0.5) / float64(n)
			worst = max(worst, math.Abs(temp-(900-880*exact.Theta(fourier, x))))
		}
		require.InDelta(t, 900-880*exact.Mean(fourier), s.Mean(0), 2*worst)
		errors = append(errors, worst)
	}
	require.Less(t, errors[2], 2.0, "°C of 880 at 80 cells: %v", errors)
	order := math.Log2(errors[1] / errors[2])
	require.Greater(t, order, 0.9, "observed order; errors %v", errors)
}

// At low Biot number the solver is the lumped law.
func TestLumpedLimit(t *testing.T) {
	m := Medium{1000, 3520, 510}
	const r, h, end = 0.65e-3, 3000.0, 0.2
	s := NewStack([]Layer{{r, 10, 1, m.K, m.Rho, Constant(m.C), 20, math.Inf(1)}},
		func(r float64) float64 { return 4 * math.Pi * r * r }, h, 900)
	steps(t, s, end, 1e-4, 0.002)
	require.InDelta(t, 900-880*Lumped(m, h, r/3, end), s.Mean(0), 2) // °C: Bi 0.002 and time steps
}

// Two half-spaces in perfect contact keep the contact temperature; so the
// solver's interface is right.
func TestContactAgainstSolver(t *testing.T) {
	stone, silver := Medium{35, 4000, 760}, Medium{175, 9300, 297}
	s := NewStack([]Layer{
		{5e-3, 200, 1 / 1.03, stone.K, stone.Rho, Constant(stone.C), 20, math.Inf(1)},
		{20e-3, 200, 1.03, silver.K, silver.Rho, Constant(silver.C), 1000, math.Inf(1)},
	}, func(float64) float64 { return 1 }, 0, 0)
	steps(t, s, 0.02, 1e-6, 0.01)
	i := s.First[1]
	// the face lies between two cells of unlike width and conductivity: weigh by conductance
	w0, w1 := stone.K/s.Volume[i-1], silver.K/s.Volume[i]
	face := (w0*s.T[i-1] + w1*s.T[i]) / (w0 + w1)
	require.InDelta(t, Contact(stone.Effusivity(), 20, silver.Effusivity(), 1000), face, 3)
}

// Freezing of a slab from a cold wall: Neumann's one-phase solution,
// Carslaw & Jaeger §11.2, λ exp(λ²) erf λ = Ste/√π; λ = 0.464786 at Ste 0.5.
func TestFreezingAgainstNeumann(t *testing.T) {
	const k, rho, c, latent, melt, lambda = 1.0, 1000.0, 1000.0, 200e3, 100.0, 0.464786
	ice := Curve(0, 4e5, 4001, func(h float64) float64 { // 0 at 0 °C; Ste = c·100/L = 0.5
		switch {
		case h < c*melt:
			return h / c
		case h < c*melt+latent:
			return melt
		}
		return melt + (h-c*melt-latent)/c
	})
	const end, depth = 100.0, 20e-3
	alpha := k / (rho * c)
	front := 2 * lambda * math.Sqrt(alpha*end)
	s := NewStack([]Layer{{depth, 400, 1, k, rho, ice, melt, math.Inf(1)}}, func(float64) float64 { return 1 }, 1e9, 0)
	for i := range s.h {
		s.h[i] = c*melt + latent // liquid, at the melting point
	}
	start := s.Heat(0)
	steps(t, s, end, 0.05, 0.01)
	// heat lost through the wall: k·100/(erf λ √(πα t)) integrated
	exact := 2 * k * melt / math.Erf(lambda) * math.Sqrt(end/(math.Pi*alpha))
	require.InEpsilon(t, exact, start-s.Heat(0), 0.02)
	frozen := 0.0
	for i := range s.h {
		frozen += s.Volume[i] * min(1, (c*melt+latent-s.h[i])/latent)
	}
	require.InEpsilon(t, front, frozen, 0.02)
}

func TestHeatIsConserved(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		s := NewStack([]Layer{
			{draw("r", 3e-4, 3e-3), 12, 1, draw("k", 1, 1000), 4000, Constant(700), 20, math.Inf(1)},
			{draw("shell", 3e-4, 3e-3), 12, 1, 350, 9300, Constant(290), draw("hot", 300, 1100), draw("film", 300, 30000)},
		}, func(r float64) float64 { return 12.6 * r * r }, 0, 0)
		before := s.Heat(0) + s.Heat(1)
		hot := s.T[len(s.T)-1]
		steps(t, s, 1, 1e-4, 0.1)
		require.InEpsilon(t, before, s.Heat(0)+s.Heat(1), 1e-6)
		for _, temp := range s.T {
			require.True(t, temp > 20-1e-6 && temp < hot+1e-6, "no temperature leaves the bounds of the start: %v", s.T)
		}
	})
}

func ExampleContact() {
	silver, sapphire := Medium{175, 9300, 297}, Medium{35, 4000, 760}
	fmt.Printf("%.0f °C\n", Contact(silver.Effusivity(), 1000, sapphire.Effusivity(), 20))
	// Output: 687 °C
}

// Silver freezing in sand, both with their own temperatures: Schwarz's exact
// solution, λ exp(λ²)(erf λ + b_s/b_m) = Ste/√π. A slab of half-thickness 1 mm
// is solid after (S/2λ)²/α_s, its face at T_i all the while (recomputed table).
func TestFreezingInAMouldAgainstSchwarz(t *testing.T) {
	const ks, rho, c, latent, melt, cold, half = 360.0, 9700.0, 297.0, 104.7e3, 961.78, 25.0, 1e-3
	silver := Curve(0, c*melt+2*latent, 8001, func(h float64) float64 {
		switch {
		case h < c*melt:
			return h / c
		case h < c*melt+latent:
			return melt
		}
		return melt + (h-c*melt-latent)/c
	})
	for _, row := range []struct{ bm, lambda, face, seconds float64 }{
		{887.4, 0.041189, 960.58, 1.1792}, {1059.8, 0.049129, 960.08, 0.8289}, {1272.9, 0.058899, 959.33, 0.5767},
	} {
		alpha := ks / (rho * c)
		require.InEpsilon(t, row.seconds, math.Pow(half/2/row.lambda, 2)/alpha, 2e-3, "the table itself")
		sand := Medium{0.6, 1600, row.bm * row.bm / 0.6 / 1600}
		s := NewStack([]Layer{
			{half, 20, 1, ks, rho, silver, melt, math.Inf(1)},
			{20e-3, 120, 1.05, sand.K, sand.Rho, Constant(sand.C), cold, math.Inf(1)},
		}, func(float64) float64 { return 1 }, 0, 0)
		for i := range s.First[1] {
			s.h[i] = c*melt + latent
		}
		now := 0.0
		for s.h[0] > c*melt { // the middle freezes last
			dt := max(1e-5, 0.004*now)
			require.NoError(t, s.Step(dt))
			now += dt
		}
		require.InEpsilon(t, row.seconds, now, 0.02, "b_m %g", row.bm)
		require.InDelta(t, row.face, s.T[s.First[1]-1], 1)
	}
}

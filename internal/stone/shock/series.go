package shock

import "math"

// Lumped returns the excess temperature left, as a fraction of the first
// excess, of a body of uniform temperature: exp(−h A t/(ρ c V)). Good while
// Biot h(V/A)/k is below 0.1. vOverA in m, h in W/(m² K).
func Lumped(m Medium, h, vOverA, t float64) float64 {
	return math.Exp(-h * t / (m.Rho * m.C * vOverA))
}

// Sphere is a sphere of Biot number h r/k that is put into a fluid: the exact
// series, with enough terms for Fourier numbers αt/r² from the least given.
// Carslaw & Jaeger §9.4; Incropera & DeWitt, ch. 5.
type Sphere struct{ zeta, c []float64 }

// NewSphere finds the terms of the series.
func NewSphere(biot, leastFourier float64) Sphere {
	n := terms(leastFourier)
	s := Sphere{make([]float64, n), make([]float64, n)}
	for i := range n {
		// 1 − ζ cot ζ = Bi, without its poles
		z := root(func(z float64) float64 { return z*math.Cos(z) + (biot-1)*math.Sin(z) }, float64(i)*math.Pi, float64(i+1)*math.Pi)
		s.zeta[i] = z
		s.c[i] = 4 * (math.Sin(z) - z*math.Cos(z)) / (2*z - math.Sin(2*z))
	}
	return s
}

// Theta returns the excess left at x = r/r0, 0 to 1, as a fraction of the first.
func (s Sphere) Theta(fourier, x float64) float64 {
	sum := 0.0
	for i, z := range s.zeta {
		shape := 1.0
		if x > 0 {
			shape = math.Sin(z*x) / (z * x)
		}
		sum += s.c[i] * math.Exp(-z*z*fourier) * shape
	}
	return sum
}

// Mean returns the excess left, averaged over the volume.
func (s Sphere) Mean(fourier float64) float64 {
	sum := 0.0
	for i, z := range s.zeta {
		sum += s.c[i] * math.Exp(-z*z*fourier) * 3 * (math.Sin(z) - z*math.Cos(z)) / (z * z * z)
	}
	return sum
}

// Slab is a slab of half-thickness L and Biot number hL/k in a fluid.
type Slab struct{ zeta, c []float64 }

// NewSlab finds the terms of the series.
func NewSlab(biot, leastFourier float64) Slab {
	n := terms(leastFourier)
	s := Slab{make([]float64, n), make([]float64, n)}
	for i := range n {
		// ζ tan ζ = Bi
		z := root(func(z float64) float64 { return z*math.Sin(z) - biot*math.Cos(z) }, float64(i)*math.Pi, (float64(i)+0.5)*math.Pi)
		s.zeta[i] = z
		s.c[i] = 4 * math.Sin(z) / (2*z + math.Sin(2*z))
	}
	return s
}

// Theta returns the excess left at x = distance from the middle / L.
func (s Slab) Theta(fourier, x float64) float64 {
	sum := 0.0
	for i, z := range s.zeta {
		sum += s.c[i] * math.Exp(-z*z*fourier) * math.Cos(z*x)
	}
	return sum
}

// First returns the first root and coefficient, which alone serve above Fo 0.2.
func (s Sphere) First() (zeta, c float64) { return s.zeta[0], s.c[0] }

// First returns the first root and coefficient.
func (s Slab) First() (zeta, c float64) { return s.zeta[0], s.c[0] }

// terms is how many keep the remainder below e^−36 of the sum.
func terms(leastFourier float64) int { return 2 + int(6/(math.Pi*math.Sqrt(leastFourier))) }

// SpherePeak returns the greatest thermal stresses of a sphere in a fluid of
// another temperature, in units of EαΔT/(1−ν): at the surface (compression
// when heated) and at the centre (tension when heated). Elastic, smooth,
// alike on all sides: Timoshenko & Goodier, Theory of Elasticity, thermal
// stress in a sphere.
func SpherePeak(biot float64) (surface, centre float64) {
	const least = 1e-5 // Fourier number; earlier than any peak below Biot 100
	s := NewSphere(biot, least)
	surface = peak(least, 1, func(fo float64) float64 { return s.Mean(fo) - s.Theta(fo, 1) })
	return surface, CentrePeak(biot)
}

// CentrePeak is the centre's part of [SpherePeak], which is found sooner.
func CentrePeak(biot float64) float64 {
	const least = 5e-3
	s := NewSphere(biot, least)
	return 2.0 / 3 * peak(least, 1, func(fo float64) float64 { return s.Theta(fo, 0) - s.Mean(fo) })
}

// peak is the greatest value of f, which has one maximum, between lo and hi:
// golden section in the logarithm.
func peak(lo, hi float64, f func(float64) float64) float64 {
	const golden = 0.6180339887498949
	a, b := math.Log(lo), math.Log(hi)
	g := func(x float64) float64 { return f(math.Exp(x)) }
	c, d := b-golden*(b-a), a+golden*(b-a)
	fc, fd := g(c), g(d)
	for b-a > 1e-4 {
		if fc > fd {
			b, d, fd = d, c, fc
			c = b - golden*(b-a)
			fc = g(c)
		} else {
			a, c, fc = c, d, fd
			d = a + golden*(b-a)
			fd = g(d)
		}
	}
	return max(fc, fd)
}

// root bisects f between lo and hi, where it changes sign once.
func root(f func(float64) float64, lo, hi float64) float64 {
	nudge := 1e-12 * (1 + hi)
	lo, hi = lo+nudge, hi-nudge
	below := f(lo) < 0
	for range 60 {
		mid := (lo + hi) / 2
		if (f(mid) < 0) == below {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

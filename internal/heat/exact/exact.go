// Package exact holds answers to heat conduction and freezing problems that
// are known in closed form, or as a series, or from a one-dimensional grid
// refined until it no longer matters. The solver in package heat is tested
// against them. SI units; temperatures in °C where only differences count.
package exact

import (
	"fmt"
	"math"
)

// Material is a phase with constant properties.
type Material struct {
	K   float64 // conductivity, W/(m K)
	Rho float64 // density, kg/m³
	C   float64 // specific heat, J/(kg K)
}

// Diffusivity returns k/(ρc) in m²/s.
func (m Material) Diffusivity() float64 { return m.K / (m.Rho * m.C) }

// Effusivity returns sqrt(kρc) in J/(m² K s½).
func (m Material) Effusivity() float64 { return math.Sqrt(m.K * m.Rho * m.C) }

// Stefan returns λ of the one-phase Stefan problem: λ exp(λ²) erf λ = Ste/√π,
// with the front at 2λ√(αt). Ste = c (Tm − T0)/L > 0.
//
// H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, ch. 11.
func Stefan(ste float64) float64 {
	return root(func(l float64) float64 { return l*math.Exp(l*l)*math.Erf(l) - ste/math.SqrtPi })
}

// Front is a plane front that moves as 2λ√(αt) into a liquid, with α of the solid.
type Front struct {
	Lambda, Alpha float64
	Interface     float64 // temperature of the wall, °C
	Tm            float64
	solid         Material
	wall          float64 // temperature of the far mould, for Schwarz
	mould         Material
}

// Depth returns the solid thickness in m at time t in s.
func (f Front) Depth(t float64) float64 { return 2 * f.Lambda * math.Sqrt(f.Alpha*t) }

// Time returns the time in s at which the front passes depth x in m.
func (f Front) Time(x float64) float64 { return math.Pow(x/(2*f.Lambda), 2) / f.Alpha }

// Temperature returns the temperature at depth x > 0 in the solid behind the
// front, or in the mould for x < 0 (Schwarz), at time t.
func (f Front) Temperature(x, t float64) float64 {
	if x < 0 {
		return f.wall + (f.Interface-f.wall)*math.Erfc(-x/(2*math.Sqrt(f.mould.Diffusivity()*t)))
	}
	return f.Interface + (f.Tm-f.Interface)*math.Erf(x/(2*math.Sqrt(f.Alpha*t)))/math.Erf(f.Lambda)
}

// Neumann returns the front into a liquid at tp over a wall held at t0, both
// phases conducting and of the solid's density; latent heat in J/kg, tm the
// melting temperature, t0 < tm <= tp.
//
// F. Neumann's solution, Carslaw & Jaeger, ch. 11.
func Neumann(solid, liquid Material, latent, t0, tm, tp float64) Front {
	as, al := solid.Diffusivity(), liquid.K/(solid.Rho*liquid.C)
	l := root(func(l float64) float64 {
		in := liquid.K * (tp - tm) * math.Exp(-l*l*as/al) / (math.Sqrt(math.Pi*al) * math.Erfc(l*math.Sqrt(as/al)))
		out := solid.K * (tm - t0) * math.Exp(-l*l) / (math.Sqrt(math.Pi*as) * math.Erf(l))
		return solid.Rho*latent*l*math.Sqrt(as) + in - out
	})
	return Front{Lambda: l, Alpha: as, Interface: t0, Tm: tm, solid: solid}
}

// Schwarz returns the front into a liquid at its melting temperature tm from a
// thick mould first at t0, in perfect contact with it; latent heat in J/kg.
//
// After C. Schwarz (1931); derived anew from the similarity solution:
// λ exp(λ²) (erf λ + b_s/b_m) = c_s (Tm − T0)/(√π L).
func Schwarz(solid, mould Material, latent, t0, tm float64) Front {
	ratio := solid.Effusivity() / mould.Effusivity()
	l := root(func(l float64) float64 {
		return l*math.Exp(l*l)*(math.Erf(l)+ratio) - solid.C*(tm-t0)/(math.SqrtPi*latent)
	})
	n := ratio / math.Erf(l)
	return Front{l, solid.Diffusivity(), (tm*n + t0) / (1 + n), tm, solid, t0, mould}
}

// MouldHeat returns the heat in J/m² that a thick mould first at t0 has taken
// after time t from a face held at ti: 2 b (Ti − T0) √(t/π).
//
// Carslaw & Jaeger, section 2.5.
func MouldHeat(mould Material, t0, ti, t float64) float64 {
	return 2 * mould.Effusivity() * (ti - t0) * math.Sqrt(t/math.Pi)
}

// MouldHeatThrough is [MouldHeat] with a contact coefficient h in W/(m² K) on
// the face: b²(Ti−T0)/h · (exp(τ²) erfc τ − 1 + 2τ/√π), τ = h√t/b.
//
// Integral of the flux at a radiating face, Carslaw & Jaeger, section 2.7.
func MouldHeatThrough(mould Material, h, t0, ti, t float64) float64 {
	b := mould.Effusivity()
	tau := h * math.Sqrt(t) / b
	return b * b * (ti - t0) / h * (erfcx(tau) - 1 + 2*tau/math.SqrtPi)
}

// erfcx returns exp(x²) erfc(x), x >= 0.
func erfcx(x float64) float64 {
	if x < 20 {
		return math.Exp(x*x) * math.Erfc(x)
	}
	i := 1 / (2 * x * x) // asymptotic series; next term 15 i³ < 1e-7 of it
	return (1 - i + 3*i*i) / (x * math.SqrtPi)
}

// Shape is a body in which heat flows in one direction.
type Shape int

// The three shapes; the number is the power of the radius in the area.
const (
	Plate Shape = iota
	Cylinder
	Sphere
)

func (s Shape) String() string { return [...]string{"plate", "cylinder", "sphere"}[s] }

// Cooling returns the mean temperature excess, as a fraction of the first, of
// a plate of half-thickness a, or a cylinder or sphere of radius a (m), that
// is put at time 0 into surroundings with coefficient h, after time t:
// eigenfunction series, Bi = ha/k, Fo = αt/a².
//
// Carslaw & Jaeger, sections 3.11, 7.7 and 9.4.
func Cooling(s Shape, m Material, a, h, t float64) float64 {
	bi, fo := h*a/m.K, m.Diffusivity()*t/(a*a)
	sum := 0.0
	for n := range 200 {
		mu, b := eigen(s, bi, n)
		term := b * math.Exp(-mu*mu*fo)
		sum += term
		if term < 1e-13 {
			break
		}
	}
	return sum
}

// eigen returns the n-th eigenvalue and its share in the mean.
func eigen(s Shape, bi float64, n int) (mu, b float64) {
	low, high := float64(n)*math.Pi, float64(n)*math.Pi+math.Pi/2
	var f func(x float64) float64
	switch s {
	case Plate:
		f = func(x float64) float64 { return x*math.Sin(x) - bi*math.Cos(x) }
	case Sphere:
		f = func(x float64) float64 { return (1-bi)*math.Sin(x) - x*math.Cos(x) }
		high += math.Pi / 2
	default:
		f = func(x float64) float64 { return x*math.J1(x) - bi*math.J0(x) }
		low, high = besselZero(math.J1, n), besselZero(math.J0, n+1)
	}
	mu = bisect(f, low+1e-9, high-1e-12)
	d := float64(s) + 1
	// Mean of the n-th term: 2d Bi²/(μ²(μ² + Bi² − (d−2)Bi)), d = 1, 2, 3.
	return mu, 2 * d * bi * bi / (mu * mu * (mu*mu + bi*bi - (d-2)*bi))
}

// besselZero returns the n-th positive zero of J0 or J1 (0 for n = 0).
func besselZero(j func(float64) float64, n int) float64 {
	if n == 0 {
		return 0
	}
	found, x, before := 0, 0.5, j(0.5)
	for {
		x += 0.25
		now := j(x)
		if before*now <= 0 {
			if found++; found == n {
				return bisect(j, x-0.25, x)
			}
		}
		before = now
	}
}

// root finds the zero of an increasing f on (0, ∞).
func root(f func(float64) float64) float64 {
	high := 1e-3
	for f(high) < 0 {
		if high *= 1.5; high > 20 {
			panic(fmt.Sprintf("exact: no root below %g", high))
		}
	}
	return bisect(f, 1e-12, high)
}

func bisect(f func(float64) float64, low, high float64) float64 {
	sign := f(low) < 0
	for range 200 {
		mid := (low + high) / 2
		if mid == low || mid == high {
			break
		}
		if (f(mid) < 0) == sign {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

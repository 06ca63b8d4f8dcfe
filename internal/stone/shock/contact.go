// Package shock holds the thermal physics of a stone that meets hot metal:
// the contact temperature, the exact series of a sphere and a slab in a
// fluid, the thermal stress they give, resistance to thermal shock, and a
// small implicit solver for layers with freezing.
//
// Temperatures are in °C, all else in SI units.
package shock

import "math"

// Medium is what conducts: conductivity W/(m K), density kg/m³, specific heat J/(kg K).
type Medium struct{ K, Rho, C float64 }

// Effusivity returns √(k ρ c) in W s^½/(m² K).
func (m Medium) Effusivity() float64 { return math.Sqrt(m.K * m.Rho * m.C) }

// Diffusivity returns k/(ρ c) in m²/s.
func (m Medium) Diffusivity() float64 { return m.K / (m.Rho * m.C) }

// Contact returns the temperature at once taken by the common face of two
// bodies of effusivity e1, e2 at t1, t2, in perfect contact: Carslaw & Jaeger,
// Conduction of Heat in Solids, 2nd ed. 1959, §2.15. It holds for times short
// against r²/α of the smaller body, and while nothing freezes.
func Contact(e1, t1, e2, t2 float64) float64 { return (e1*t1 + e2*t2) / (e1 + e2) }

// Elastic is what breaks: Young's modulus and strength in Pa, Poisson's
// ratio, linear expansion in 1/K.
type Elastic struct{ E, Strength, Nu, Alpha float64 }

// Resistance returns R = σ(1−ν)/(Eα) in K (Kingery 1955): the sudden step of
// surface temperature that the material bears.
func (e Elastic) Resistance() float64 { return e.Strength * (1 - e.Nu) / (e.E * e.Alpha) }

// MildResistance returns R' = kR in W/m, for mild heat transfer.
func (e Elastic) MildResistance(k float64) float64 { return k * e.Resistance() }

// SphereInfinite is the greatest centre tension of a sphere whose surface
// takes the new temperature at once, in units of EαΔT/(1−ν).
const SphereInfinite = 0.386

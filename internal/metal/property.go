package metal

import (
	"math"

	"pourwright/internal/calc"
)

var (
	srcIdeal   = calc.Source{For: "density of an alloy", Text: "ideal mixing of specific volumes, 1/ρ = Σ w/ρ; within 0.9 % of the densities of gold-silver alloys and coin gold in T. K. Rose, The Metallurgy of Gold, table XIV", Status: calc.Computed}
	srcKopp    = calc.Source{For: "specific heat of an alloy", Text: "Kopp's rule: the heats of the elements by mass", Status: calc.FromMemory}
	srcButler  = calc.Source{For: "surface tension of an alloy", Text: "J. A. V. Butler, Proc. R. Soc. Lond. A 135 (1932) 348-375, for an ideal solution", Status: calc.FromMemory}
	srcOxygen  = calc.Source{For: "surface tension of the metal", Text: "clean metal; dissolved oxygen lowers that of silver and copper by tens of per cent (K. C. Mills, Y. C. Su, Int. Mater. Rev. 51 (2006) 329-351)", Status: calc.FromMemory}
	srcAndrade = calc.Source{For: "viscosity of the metal", Text: "E. N. da C. Andrade, exponential in 1/T; logarithms mixed by mole", Status: calc.FromMemory}
	srcNordh   = calc.Source{For: "thermal conductivity of a solid alloy", Text: "L. Nordheim's rule for the resistance of a solid solution with the Wiedemann-Franz law; as cast, nothing precipitated", Status: calc.FromMemory}
	srcShrink  = calc.Source{For: "pattern allowance", Text: "free contraction of the solid from the end of freezing to 20 °C, band ± 30 % for the restraint of the mould; no measured allowance for silver or gold in clay was found: measure your own", Status: calc.Choice}
)

// mean returns the mass-weighted mean of f.
func (m Metal) mean(f func(*element) float64) float64 {
	sum := 0.0
	for i := range m.parts {
		sum += m.parts[i].mass * f(m.parts[i].element)
	}
	return sum
}

// moleMean returns the mole-weighted mean of f.
func (m Metal) moleMean(f func(*element) float64) float64 {
	sum := 0.0
	for i := range m.parts {
		sum += m.parts[i].mole * f(m.parts[i].element)
	}
	return sum
}

// DensityGCm3 returns the density of the solid at 20 °C, g/cm³, by ideal
// mixing of specific volumes: within 1 % for alloys of Ag, Au and Cu, within
// 2 % with Zn, Sn, Ni and Pd. Real castings run up to 2 % below by their pores.
func (m Metal) DensityGCm3() float64 {
	return 1e-3 / m.mean(func(e *element) float64 { return 1 / e.density.value })
}

// LiquidDensityKgM3 returns the density of the liquid at tC, kg/m³, by ideal
// mixing of specific volumes; within about 3 %. Each element's own density is
// linear in temperature, carried below its melting point where the alloy is
// liquid there, and held at half its value at the most.
func (m Metal) LiquidDensityKgM3(tC float64) float64 {
	return 1 / m.mean(func(e *element) float64 { return 1 / e.liquidDensityAt(tC) })
}

func (e *element) liquidDensityAt(tC float64) float64 {
	rho := e.liquidDensity.value
	return max(rho-e.thermalLoss.value*(tC-e.melting.value), rho/2)
}

// CpSolidKJKgK returns the mean specific heat of the solid between 25 °C and
// the end of freezing, kJ/(kg K); within 3 %.
func (m Metal) CpSolidKJKgK() float64 { return m.EnthalpyKJKg(m.end) / (m.end - coldC) }

// CpLiquidKJKgK returns the specific heat of the liquid above the liquidus,
// kJ/(kg K); within 5 %.
func (m Metal) CpLiquidKJKgK() float64 {
	return (m.EnthalpyKJKg(m.liquidus+100) - m.EnthalpyKJKg(m.liquidus)) / 100
}

// SurfaceTensionNM returns the surface tension of the clean liquid at tC, N/m:
// Butler's equation for an ideal solution, in which the elements of low
// tension gather at the surface. Within 10 %; oxygen in silver or copper
// lowers it by up to a third.
func (m Metal) SurfaceTensionNM(tC float64) float64 {
	rt := gasConstant * (tC + zeroC)
	var tension, area [32]float64 // more than there are elements
	top := 0.0
	for i := range m.parts {
		e := m.parts[i].element
		tension[i] = max(0.05, e.surface.value+e.surfaceSlope.value*(tC-e.melting.value))
		volume := e.molar.value * 1e-3 / e.liquidDensityAt(tC)
		area[i] = 1.091 * math.Cbrt(6.02214076e23*volume*volume) // m²/mol
		top = max(top, tension[i])
	}
	if len(m.parts) == 1 {
		return tension[0]
	}
	// Σ x exp(A(σ − σ_i)/RT) = 1 is convex and rises: Newton from above.
	for range 60 {
		f, slope := -1.0, 0.0
		for i := range m.parts {
			v := m.parts[i].mole * math.Exp(area[i]*(top-tension[i])/rt)
			f += v
			slope += v * area[i] / rt
		}
		step := f / slope
		top -= step
		if math.Abs(step) < 1e-9 {
			break
		}
	}
	return top
}

// ViscosityPaS returns the viscosity of the liquid at tC, Pa s, with no solid
// in it; within 30 %.
func (m Metal) ViscosityPaS(tC float64) float64 {
	T := max(tC+zeroC, 300)
	return 1e-3 * math.Exp(m.moleMean(func(e *element) float64 {
		return math.Log(e.viscosity.value) + e.flowHeat.value*1e3/gasConstant*(1/T-1/(e.melting.value+zeroC))
	}))
}

// expansionRise is how much the mean expansion from 20 °C to the melting point
// exceeds that at 20 °C, as a part of it: from the polynomial of a supplier for
// silver, whose 2.14 % to 961.8 °C is 1.20 times 18.9e-6/K.
const expansionRise = 0.20

// ContractionPct returns the linear contraction of the solid from the end of
// freezing to 20 °C, per cent: free (typical) and with a band of 30 % to both
// sides for restraint and movement of the mould, an engineering choice.
func (m Metal) ContractionPct() (typical, low, high float64) {
	volume := m.mean(func(e *element) float64 { return 1 / e.density.value })
	for i := range m.parts {
		e := m.parts[i].element
		u := (m.end - 20) / (e.melting.value - 20)
		share := m.parts[i].mass / e.density.value / volume
		typical += share * e.expansion.value * 1e-4 * (1 + expansionRise*min(1, u)) * (m.end - 20)
	}
	return typical, 0.7 * typical, 1.3 * typical
}

// lorenz is the Lorenz number, W Ω/K².
const lorenz = 2.44e-8

// residual holds Nordheim's coefficients of solid solutions, 1e-8 Ω m: the
// resistance added is C x_i x_j. All from memory of handbook resistivities,
// good to 30 %; a pair that is not named takes anyPair.
var residual = map[[2]string]float64{
	{"Ag", "Cu"}: 7.7, {"Ag", "Au"}: 33, {"Au", "Cu"}: 48, {"Cu", "Zn"}: 24, {"Ag", "Zn"}: 60,
	{"Au", "Zn"}: 90, {"Cu", "Ni"}: 120, {"Ag", "Pd"}: 110, {"Au", "Pd"}: 45, {"Au", "Ni"}: 80,
	{"Cu", "Sn"}: 250, {"Ag", "Sn"}: 400, {"Cu", "Si"}: 350, {"Cu", "Pd"}: 85, {"Au", "Pt"}: 100,
}

const anyPair = 100.0 // 1e-8 Ω m

// scatter returns Σ C x_i x_j of the metal, Ω m.
func scatter(parts []part) float64 {
	sum := 0.0
	for i := range parts {
		for j := range i {
			a, b := parts[i].symbol, parts[j].symbol
			if a > b {
				a, b = b, a
			}
			c, ok := residual[[2]string{a, b}]
			if !ok {
				c = anyPair
			}
			sum += 1e-8 * c * parts[i].mole * parts[j].mole
		}
	}
	return sum
}

// ConductivityWMK returns the thermal conductivity at tC, W/(m K): of the
// solid as cast below the end of freezing (within 25 %; annealing raises it),
// of the liquid at rest above the liquidus (within 20 %), by fraction between.
func (m Metal) ConductivityWMK(tC float64) float64 {
	fs := m.SolidFraction(tC)
	k := 0.0
	if fs > 0 {
		resistance := m.moleMean(func(e *element) float64 {
			u := min(1, max(0, (tC-27)/(e.melting.value-27)))
			return 1 / (e.conductCold.value + u*(e.conductHot.value-e.conductCold.value))
		})
		k = fs / (resistance + m.scatter/(lorenz*max(200, tC+zeroC)))
	}
	if fs < 1 {
		k += (1 - fs) / m.moleMean(func(e *element) float64 { return 1 / e.conductLiquid.value })
	}
	return k
}

// Package metal gives the properties of the metals a jeweller casts, as
// functions of composition and temperature.
package metal

import (
	"math"
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/safety"
)

// Metal is an alloy of known composition. Its zero value is not usable; get
// one from [Named] or [Of]. It may be copied and shared between goroutines.
type Metal struct {
	ID, Name    string
	Composition Composition
	solidus     float64
	liquidus    float64
	end         float64
	curve       *curve
	latent      float64
	sources     []calc.Source
	cautions    []calc.Caution
}

// MeltingRange is the user's own solidus and liquidus, °C.
type MeltingRange struct{ SolidusC, LiquidusC float64 }

// pureSpan is the width in K that is given to the freezing of a pure metal
// or of a eutectic, so that enthalpy stays a function of temperature.
const pureSpan = 0.5

// Named returns the catalogue alloy of that id. The error is a refusal of field "alloy".
func Named(id string) (Metal, error) {
	for _, a := range catalogue {
		if a.id == id {
			c, err := ParseComposition(a.composition)
			if err != nil {
				return Metal{}, err
			}
			var r *MeltingRange
			if a.liquidus.value != 0 {
				r = &MeltingRange{a.solidus.value, a.liquidus.value}
			}
			m, err := Of(c, r)
			m.ID, m.Name = a.id, a.name
			return m, err
		}
	}
	ids := IDs()
	if near := calc.Nearest(id, ids); near != "" {
		return Metal{}, calc.Refuse("alloy", id, "did you mean %q?", near)
	}
	return Metal{}, calc.Refuse("alloy", id, "give one of %s", strings.Join(ids, ", "))
}

// IDs lists the catalogue alloys in order.
func IDs() []string {
	ids := make([]string, len(catalogue))
	for i, a := range catalogue {
		ids[i] = a.id
	}
	return ids
}

// Of returns the metal of composition c. r is the user's own melting range, or nil.
func Of(c Composition, r *MeltingRange) (Metal, error) {
	c, err := c.normal()
	if err != nil {
		return Metal{}, err
	}
	m := Metal{Name: c.String(), Composition: c}
	symbols := c.Symbols()
	switch {
	case r != nil:
		if math.IsNaN(r.SolidusC) || math.IsNaN(r.LiquidusC) || r.SolidusC < 100 || r.LiquidusC > 2500 || r.SolidusC > r.LiquidusC {
			return Metal{}, calc.Refuse("liquidus_c", r.LiquidusC, "give 100 <= solidus_c <= liquidus_c <= 2500")
		}
		m.solidus, m.liquidus = r.SolidusC, r.LiquidusC
	case len(symbols) == 1:
		m.solidus = elements[symbols[0]].melting.value
		m.liquidus = m.solidus
	default:
		m.solidus, m.liquidus = nearestRange(c)
	}
	m.end = min(m.solidus, m.liquidus-pureSpan)
	m.curve = m.lever()
	m.hazards()
	for _, s := range symbols {
		m.sources = append(m.sources, elements[s].sources()...)
	}
	return m, nil
}

// nearestRange takes the melting range of the catalogue by inverse distance.
func nearestRange(c Composition) (solidus, liquidus float64) {
	var weights float64
	for _, a := range catalogue {
		if a.liquidus.value == 0 {
			continue
		}
		other, err := ParseComposition(a.composition)
		if err != nil {
			panic(err)
		}
		d := 0.0
		for s := range elements {
			d += (c[s] - other[s]) * (c[s] - other[s])
		}
		w := 1 / (d*d + 1e-12)
		weights += w
		solidus += w * a.solidus.value
		liquidus += w * a.liquidus.value
	}
	return solidus / weights, liquidus / weights
}

func (m *Metal) hazards() {
	if m.Composition["Zn"] > 0 {
		m.cautions = append(m.cautions, safety.ZincFume)
	}
	if m.Composition["Cd"] > 0 {
		m.cautions = append(m.cautions, safety.Cadmium)
	}
	if m.Composition["Pb"] > 0 {
		m.cautions = append(m.cautions, safety.Lead)
	}
}

func (e *element) sources() []calc.Source {
	s := *e.density.source
	s.For = "density of " + e.name
	h := *e.latent.source
	h.For = "heat of " + e.name
	return []calc.Source{s, h}
}

// DensityGCm3 returns the density of the solid at 20 °C, g/cm³, by ideal
// mixing of specific volumes. Real castings run up to 2 % below it by porosity.
func (m Metal) DensityGCm3() float64 {
	return 1e-3 / m.Composition.mix(func(e *element) float64 { return 1 / e.density.value })
}

// LiquidDensityKgM3 returns the density of the liquid, kg/m³.
func (m Metal) LiquidDensityKgM3(tC float64) float64 {
	return 1 / m.Composition.mix(func(e *element) float64 {
		return 1 / max(e.liquidDensity.value-e.thermalLoss.value*(tC-e.melting.value), e.liquidDensity.value/2)
	})
}

// SolidusC returns the equilibrium solidus, °C.
func (m Metal) SolidusC() float64 { return m.solidus }

// LiquidusC returns the liquidus, °C.
func (m Metal) LiquidusC() float64 { return m.liquidus }

// FreezingEndC returns where the last liquid freezes in a casting, °C.
func (m Metal) FreezingEndC() float64 { return m.end }

// SolidFraction returns the mass fraction solid at tC while a casting
// freezes: 0 at the liquidus and above, 1 at [Metal.FreezingEndC] and below.
func (m Metal) SolidFraction(tC float64) float64 {
	return min(1, max(0, at(m.curve.t, m.curve.solid, tC)))
}

// EnthalpyKJKg returns the enthalpy above the solid at 25 °C, kJ/kg.
func (m Metal) EnthalpyKJKg(tC float64) float64 { return at(m.curve.t, m.curve.h, tC) }

// TemperatureC is the inverse of [Metal.EnthalpyKJKg].
func (m Metal) TemperatureC(hKJKg float64) float64 { return at(m.curve.h, m.curve.t, hKJKg) }

// LatentKJKg returns the latent heat of freezing, kJ/kg.
func (m Metal) LatentKJKg() float64 { return m.latent }

// CpSolidKJKgK returns the mean specific heat of the solid, 25 °C to the end of freezing.
func (m Metal) CpSolidKJKgK() float64 { return m.EnthalpyKJKg(m.end) / (m.end - 25) }

// CpLiquidKJKgK returns the specific heat of the liquid.
func (m Metal) CpLiquidKJKgK() float64 {
	return m.Composition.mix(func(e *element) float64 { return e.cpLiquid.value })
}

// ConductivityWMK returns the thermal conductivity, W/(m K).
func (m Metal) ConductivityWMK(tC float64) float64 {
	solid := m.Composition.mix(func(e *element) float64 {
		u := min(1, max(0, (tC-27)/(e.melting.value-27)))
		return e.conductCold.value + u*(e.conductHot.value-e.conductCold.value)
	})
	liquid := m.Composition.mix(func(e *element) float64 { return e.conductLiquid.value })
	fs := m.SolidFraction(tC)
	return fs*solid + (1-fs)*liquid
}

// SurfaceTensionNM returns the surface tension of the clean liquid, N/m.
func (m Metal) SurfaceTensionNM(tC float64) float64 {
	return m.Composition.mix(func(e *element) float64 {
		return e.surface.value + e.surfaceSlope.value*(tC-e.melting.value)
	})
}

// ViscosityPaS returns the viscosity of the liquid, Pa s.
func (m Metal) ViscosityPaS(tC float64) float64 {
	return m.Composition.mix(func(e *element) float64 { return e.viscosity.value * 1e-3 })
}

// ContractionPct returns the linear pattern allowance, per cent.
func (m Metal) ContractionPct() (typical, low, high float64) { return 1.7, 1.2, 2.2 }

// Sources returns what the figures rest on.
func (m Metal) Sources() []calc.Source { return slices.Clone(m.sources) }

// Cautions returns what to beware of in this metal.
func (m Metal) Cautions() []calc.Caution { return slices.Clone(m.cautions) }

package metal

import "math"

// Band is a quantity with its uncertainty and where it holds.
type Band struct {
	Quantity string  `json:"quantity" doc:"The quantity" example:"liquid density"`
	Value    float64 `json:"value" doc:"Its value" example:"9.23"`
	Low      float64 `json:"low" doc:"Low end of the uncertainty" example:"9"`
	High     float64 `json:"high" doc:"High end" example:"9.5"`
	Unit     string  `json:"unit" doc:"Unit" example:"g/cm³"`
	FromC    float64 `json:"from_c" doc:"The figure holds from this temperature, °C" example:"896"`
	ToC      float64 `json:"to_c" doc:"to this one, °C" example:"1300"`
}

// liquidReach is how far above the liquidus the linear laws of the liquid are
// taken to hold, K: measurements of the pure metals seldom go further.
const liquidReach = 500.0

// relative returns the mass-weighted half-width of f's band as a part of its value.
func (m Metal) relative(f func(*element) figure) float64 {
	return m.mean(func(e *element) float64 {
		v := f(e)
		return v.band / math.Abs(v.value)
	})
}

// Bands returns the properties at tC with their uncertainty and range of
// validity: the bands of the elements' figures by mass, and the error of the
// mixing rule, added.
func (m Metal) Bands(tC float64) []Band {
	bands := []Band{}
	add := func(quantity string, value, relative float64, unit string, from, to float64) {
		bands = append(bands, Band{quantity, value, value * (1 - relative), value * (1 + relative), unit, from, to})
	}
	add("density, solid at 20 °C", m.DensityGCm3(), m.relative(func(e *element) figure { return e.density })+m.mixingError(), "g/cm³", 15, 25)
	warm := m.enthalpyError()
	add("enthalpy above 25 °C", m.EnthalpyKJKg(tC), warm, "kJ/kg", 25, m.liquidus+liquidReach)
	add("latent heat", m.latent, 2*warm, "kJ/kg", m.end, m.liquidus)
	if tC < m.liquidus {
		add("thermal conductivity", m.ConductivityWMK(tC), m.conductError(), "W/(m K)", 20, m.liquidus)
	} else {
		add("liquid density", m.LiquidDensityKgM3(tC)/1000, m.relative(func(e *element) figure { return e.liquidDensity })+0.01+m.mixingError(), "g/cm³", m.liquidus, m.liquidus+liquidReach)
		add("thermal conductivity", m.ConductivityWMK(tC), 0.2, "W/(m K)", m.liquidus, m.liquidus+liquidReach)
		add("surface tension, clean", m.SurfaceTensionNM(tC), m.relative(func(e *element) figure { return e.surface })+m.alloyed(0.06), "N/m", m.liquidus, m.liquidus+liquidReach)
		add("viscosity", m.ViscosityPaS(tC)*1000, m.relative(func(e *element) figure { return e.viscosity })+m.alloyed(0.2), "mPa s", m.liquidus, m.liquidus+liquidReach)
	}
	typical, low, high := m.ContractionPct()
	bands = append(bands, Band{"linear contraction", typical, low, high, "%", 20, m.end},
		Band{"liquidus", m.liquidus, m.liquidus - m.band, m.liquidus + m.band, "°C", m.liquidus, m.liquidus})
	return bands
}

// alloyed is an error of a mixing rule: none for a pure metal.
func (m Metal) alloyed(relative float64) float64 {
	if len(m.parts) == 1 {
		return 0
	}
	return relative
}

// mixingError is the error of ideal mixing of volumes, as a part: 0.9 % for
// silver, gold and copper (largest difference from measured densities of
// gold-silver and coin gold); zinc and tin contract with copper, 2.5 % at 30 % zinc; silicon
// and germanium, open crystals when pure, far more.
func (m Metal) mixingError() float64 {
	c := m.Composition
	return m.alloyed(0.009) + 0.07*c["Zn"] + 0.05*(c["Sn"]+c["Cd"]) + 0.03*(c["Ni"]+c["Pd"]) + 1.2*(c["Si"]+c["Ge"])
}

// enthalpyError is 2 % for assessed alloys and pure metals, more where the
// heat of mixing is left out.
func (m Metal) enthalpyError() float64 {
	if m.basis == Assessed || m.basis == Element {
		return 0.02
	}
	return 0.05 + 0.3*(m.Composition["Si"]+m.Composition["Ge"])
}

func (m Metal) conductError() float64 {
	if len(m.parts) == 1 {
		return 0.05
	}
	return 0.25
}

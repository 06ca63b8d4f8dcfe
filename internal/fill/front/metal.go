// Package front follows molten metal through the ducts of a mould: where its
// fronts run, how they cool, where they stop and how cold they meet. It knows
// ducts, gates and clay; what piece of jewellery they make is package fill's.
// SI units throughout; temperatures in °C, enthalpies in J/kg over the solid
// at 25 °C.
package front

import "sort"

// Metal is the melt with its properties tabulated for speed.
type Metal struct {
	Rho    float64 // density as poured, kg/m³; held constant, so that volume is mass
	Gamma  float64 // surface tension times |cos| of the contact angle, N/m
	Mu     float64 // viscosity, Pa s
	Alpha  float64 // thermal diffusivity of the liquid, m²/s
	low    float64 // lowest enthalpy tabulated
	scale  float64 // entries per J/kg
	states []state
}

type state struct{ t, dt, solid, dsolid float64 }

const metalPoints = 1024

// Tabulate fills the table of temperature and solid fraction against enthalpy
// between low and high. Both functions must be continuous and monotone.
func (m *Metal) Tabulate(low, high float64, temperature, solid func(h float64) float64) {
	m.low, m.scale = low, metalPoints/(high-low)
	m.states = make([]state, metalPoints)
	for i := range m.states {
		a, b := low+float64(i)/m.scale, low+float64(i+1)/m.scale
		ta, sa := temperature(a), solid(a)
		m.states[i] = state{ta, temperature(b) - ta, sa, solid(b) - sa}
	}
}

func (m *Metal) at(h float64) (*state, float64) {
	x := (h - m.low) * m.scale
	i := int(x)
	switch {
	case x < 0:
		return &m.states[0], 0
	case i >= metalPoints:
		return &m.states[metalPoints-1], 1
	}
	return &m.states[i], x - float64(i)
}

// Temperature returns °C at the enthalpy h.
func (m *Metal) Temperature(h float64) float64 {
	s, f := m.at(h)
	return s.t + f*s.dt
}

// Solid returns the fraction solid at the enthalpy h.
func (m *Metal) Solid(h float64) float64 {
	s, f := m.at(h)
	return s.solid + f*s.dsolid
}

// AtSolid returns the enthalpy in J/kg at which the fraction f is solid, f
// strictly between 0 and 1.
func (m *Metal) AtSolid(f float64) float64 {
	i := sort.Search(metalPoints, func(i int) bool { return m.states[i].solid+m.states[i].dsolid <= f })
	s := &m.states[min(i, metalPoints-1)]
	part := 0.0
	if s.dsolid < 0 {
		part = max(0, min(1, (f-s.solid)/s.dsolid))
	}
	return m.low + (float64(i)+part)/m.scale
}

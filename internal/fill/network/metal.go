package network

import "sort"

// Metal is the melt with its properties tabulated for speed.
type Metal struct {
	Rho    float64 // density as poured, kg/m³; held constant, so that volume is mass
	Gamma  float64 // surface tension times |cos| of the contact angle, N/m
	Mu     float64 // viscosity, Pa s
	Alpha  float64 // thermal diffusivity of the liquid, m²/s
	low    float64 // lowest enthalpy tabulated
	scale  float64 // entries per J/kg
	states []phase
}

type phase struct{ t, solid float64 }

const metalPoints = 512

// Tabulate fills the table of temperature and solid fraction against enthalpy
// between low and high. Both functions must be continuous and monotone.
func (m *Metal) Tabulate(low, high float64, temperature, solid func(h float64) float64) {
	m.low, m.scale = low, metalPoints/(high-low)
	m.states = make([]phase, metalPoints+1)
	for i := range m.states {
		h := low + float64(i)/m.scale
		m.states[i] = phase{temperature(h), solid(h)}
	}
}

// at returns the entry below h and how far h lies on the way to the next; the
// ends hold outside the table.
func (m *Metal) at(h float64) (int, float64) {
	x := max(0, min((h-m.low)*m.scale, metalPoints))
	i := min(int(x), metalPoints-1)
	return i, x - float64(i)
}

// Temperature returns °C at the enthalpy h.
func (m *Metal) Temperature(h float64) float64 {
	i, f := m.at(h)
	s := m.states[i : i+2]
	return s[0].t + f*(s[1].t-s[0].t)
}

// Solid returns the fraction solid at the enthalpy h.
func (m *Metal) Solid(h float64) float64 {
	i, f := m.at(h)
	s := m.states[i : i+2]
	return s[0].solid + f*(s[1].solid-s[0].solid)
}

// AtSolid returns the enthalpy in J/kg at which the fraction f is solid, f
// strictly between 0 and 1.
func (m *Metal) AtSolid(f float64) float64 {
	i := sort.Search(metalPoints-1, func(i int) bool { return m.states[i+1].solid <= f })
	from, to := m.states[i].solid, m.states[i+1].solid
	part := 0.0
	if to < from {
		part = max(0, min(1, (f-from)/(to-from)))
	}
	return m.low + (float64(i)+part)/m.scale
}

package heat

import (
	"math"

	"pourwright/internal/heat/exact"
	"pourwright/internal/metal"
)

// Alloy is what the solver needs of a metal: temperature, solid fraction and
// the integral of conductivity over temperature (Kirchhoff), all against
// enthalpy, tabulated evenly. Enthalpy is per kg of metal.
type Alloy struct {
	Rho        float64   // kg/m³, one for solid and liquid: the mould's volume is full at the end
	From, Step float64   // J/kg, of the table
	perStep    float64   // its inverse
	T          []float32 // °C
	Theta      []float32 // ∫ k dT, W/m, from the end of freezing
	Solid      []float32
	lines      *lines  // of Theta
	EndT       float64 // °C, where the last liquid freezes
	EndH       float64 // J/kg, there
	StartH     float64 // J/kg, where the first solid forms
	K          float64 // W/(m K), at the end of freezing
}

// entries of the table: 100 J/kg a step, a thousandth of the latent heat.
const entries = 4096

// NewAlloy tabulates an alloy up to a temperature.
func NewAlloy(rho, endT, startT, upToT float64, enthalpy func(tC float64) float64, temperature func(hJKg float64) float64, solid, k func(tC float64) float64) Alloy {
	a := Alloy{Rho: rho, EndT: endT, K: k(endT), EndH: enthalpy(endT - hair), StartH: enthalpy(startT + hair)}
	plateau := enthalpy(endT + shelf) // below it, and for a pure metal up to StartH, only heat tells how far freezing is
	plateauSolid := 0.0
	if plateau < a.StartH {
		plateauSolid = solid(endT + shelf)
	} else {
		plateau = a.StartH
	}
	const coldest = 20.0
	a.From = enthalpy(coldest)
	a.Step = (enthalpy(upToT+5) - a.From) / (entries - 1)
	a.perStep = 1 / a.Step
	a.T, a.Theta, a.Solid = make([]float32, entries), make([]float32, entries), make([]float32, entries)
	theta := make([]float64, entries)
	before := coldest
	for i := range entries {
		h := a.From + float64(i)*a.Step
		t := temperature(h)
		a.T[i] = float32(t)
		switch {
		case h <= a.EndH:
			a.Solid[i] = 1
		case h >= a.StartH:
			a.Solid[i] = 0
		case h <= plateau:
			a.Solid[i] = float32(1 - (1-plateauSolid)*(h-a.EndH)/(plateau-a.EndH))
		default:
			a.Solid[i] = float32(solid(t))
		}
		if i > 0 {
			theta[i] = theta[i-1] + (t-before)*k((t+before)/2)
		}
		before = t
	}
	at := int((a.EndH - a.From) / a.Step)
	a.lines = new(lines)
	for i, v := range theta {
		v -= theta[at]
		a.Theta[i] = float32(v)
		if i > 0 {
			rise := v - (theta[i-1] - theta[at])
			a.lines[i-1] = line{float32(v - float64(i)*rise), float32(rise)}
		}
	}
	return a
}

// line is what a table says between two entries, as start + rise·x, x being the
// place in the table. In single precision it is met to a ten-thousandth of a
// degree.
type line struct{ start, rise float32 }

type lines [entries]line

// at returns the value at a place; beyond the ends it goes on straight.
func (l *lines) at(x float32) float32 {
	piece := &l[min(max(int32(x), 0), entries-2)]
	return piece.start + piece.rise*x
}

// Of tabulates a catalogue or user's alloy up to the temperature of the pour.
func Of(m metal.Metal, pourC float64) Alloy {
	liquidus := m.LiquidusC()
	return NewAlloy(HotDensity(m), m.FreezingEndC(), liquidus, pourC,
		func(t float64) float64 { return 1e3 * m.EnthalpyKJKg(t) },
		func(h float64) float64 { return m.TemperatureC(h / 1e3) },
		m.SolidFraction, m.ConductivityWMK)
}

// A plateau of the freezing curve, a pure metal's or a eutectic's, is met by
// its enthalpy: a hair off to each side of its temperature.
const (
	hair  = 1e-3 // K
	shelf = 0.05 // K
)

// HotDensity returns the density of the solid at the end of freezing, kg/m³,
// by the alloy's free contraction: what fills a mould that has been fed.
func HotDensity(m metal.Metal) float64 {
	_, _, free := m.ContractionPct()
	return 1e3 * m.DensityGCm3() / math.Pow(1+free/100, 3)
}

// look returns a table's value at enthalpy h; beyond the ends it goes on straight.
func (a *Alloy) look(table []float32, h float64) float32 {
	x := (h - a.From) * a.perStep
	i := min(max(int(x), 0), entries-2)
	return table[i] + float32(x-float64(i))*(table[i+1]-table[i])
}

// slope returns the steepest rise of a table per J/kg between two enthalpies.
func (a *Alloy) slope(table []float32, low, high float64) float64 {
	from := min(max(int((low-a.From)/a.Step)-1, 0), entries-2)
	to := min(max(int((high-a.From)/a.Step)+1, from), entries-2)
	steepest := float32(0)
	for i := from; i <= to; i++ {
		steepest = max(steepest, table[i+1]-table[i])
	}
	return float64(steepest) / a.Step
}

// enthalpyAt returns the enthalpy at which the solid fraction is fs.
func (a *Alloy) enthalpyAt(fs float64) float64 {
	for i := entries - 1; i > 0; i-- {
		if float64(a.Solid[i-1]) >= fs {
			s0, s1 := float64(a.Solid[i-1]), float64(a.Solid[i])
			if s0 == s1 {
				return a.From + float64(i-1)*a.Step
			}
			return a.From + a.Step*(float64(i-1)+(s0-fs)/(s0-s1))
		}
	}
	return a.EndH
}

// Clay is the mould.
type Clay struct {
	exact.Material
	Start float64 // °C
}

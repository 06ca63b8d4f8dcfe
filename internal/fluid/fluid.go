// Package fluid holds the physics of liquid metal at rest and in motion that
// several parts need: gravity, head, losses, capillarity, the force that opens
// a flask, and the clay of the mould. Units are SI unless a name says otherwise.
package fluid

import (
	"math"

	"pourwright/internal/calc"
)

// Gravity is the standard acceleration of free fall, m/s².
const Gravity = 9.80665

// Sources of this package, to be cited where its figures are used.
var (
	SourceGravity = calc.Source{For: "gravity 9.80665 m/s²", Text: "standard acceleration of free fall, 3rd General Conference on Weights and Measures, 1901", Status: calc.FromMemory}
	SourceHead    = calc.Source{For: "pressure, speed of outflow and force on a plane", Text: "hydrostatics p = ρ g h; E. Torricelli 1643, v = √(2 g h); force ρ g h A with h the mean depth of the area", Status: calc.Computed}
	SourceLosses  = calc.Source{For: "wall friction and losses at mouth, turn and exit", Text: "Hagen-Poiseuille; H. Blasius 1913, f = 0.316/Re^¼; velocity heads 0.5 for a sharp mouth, 1.1 for a sharp right-angled turn, 1 for an exit: handbook values", Status: calc.FromMemory}
	SourceOrifice = calc.Source{For: "gas through a vent", Text: "laminar loss 128 μ L Q/(π d⁴) and orifice loss ρ/2 (Q/(Cd A))² in series, Cd 0.65 of a sharp orifice (0.6 to 0.7)", Status: calc.FromMemory}
)

// Pressure returns ρ g h in Pa of a column of the given head in m.
func Pressure(rho, head float64) float64 { return rho * Gravity * head }

// Head returns the head in m of metal of density rho that balances p Pa.
func Head(rho, p float64) float64 { return p / (rho * Gravity) }

// OpeningForce returns the force in N on an area in m² of the parting plane
// whose mean depth under the free surface is head, m.
func OpeningForce(rho, head, area float64) float64 { return Pressure(rho, head) * area }

// Losses in velocity heads ρ v²/2.
const (
	EntryLoss = 0.5 // sharp mouth
	TurnLoss  = 1.1 // sharp right-angled turn
	ExitLoss  = 1.0 // all of the velocity head of a free outflow
)

// Blasius is the coefficient of [TurbulentFriction].
const Blasius = 0.316

// TurbulentFriction returns the Darcy friction factor of a smooth wall at the
// Reynolds number re > 0 of the hydraulic diameter: 0.316/Re^¼.
func TurbulentFriction(re float64) float64 { return Blasius / math.Sqrt(math.Sqrt(re)) }

// TubeLoss returns the laminar pressure loss in Pa of q m³/s through a round
// bore, d and length in m, viscosity mu in Pa s.
func TubeLoss(mu, q, d, length float64) float64 {
	return 128 * mu * length * q / (math.Pi * d * d * d * d)
}

// Air at 25 °C and 101.3 kPa (from memory of common tables).
const (
	AirViscosity = 1.84e-5 // Pa s
	AirDensity   = 1.184   // kg/m³
)

// OrificeCoefficient of a sharp orifice, 0.6 to 0.7 reported.
const OrificeCoefficient = 0.65

// OrificeLoss returns the pressure loss in Pa of q m³/s of a fluid of density
// rho through sharp orifices of the given total area, m².
func OrificeLoss(rho, q, area float64) float64 {
	v := q / (OrificeCoefficient * area)
	return rho / 2 * v * v
}

// VentFlow returns the flow in m³/s of air out of one round vent under the
// excess pressure p, Pa: laminar loss along the bore and orifice loss in series.
func VentFlow(p, d, length float64) float64 {
	if p <= 0 || d <= 0 {
		return 0
	}
	area := math.Pi / 4 * d * d
	lam := TubeLoss(AirViscosity, 1, d, length)
	orifice := OrificeLoss(AirDensity, 1, area)
	return 2 * p / (lam + math.Sqrt(lam*lam+4*orifice*p))
}

// AFSPermeability is the permeability in m² of one AFS number: the definition
// with air at 25 °C.
const AFSPermeability = 3.08e-13

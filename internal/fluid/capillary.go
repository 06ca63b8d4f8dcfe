package fluid

import (
	"math"

	"pourwright/internal/calc"
)

// Contact angles of liquid metal on clay and stone, degrees.
const (
	ContactDeg     = 140.0 // the value to reckon with
	ContactLowDeg  = 120.0 // what does not fill at this angle does not fill
	ContactHighDeg = 180.0 // what fills at this angle fills
)

// SourceCapillary stands behind the capillary figures.
var SourceCapillary = calc.Source{For: "surface tension", Text: "Young-Laplace: a section of perimeter P and area A asks γ |cos θ| P/A, a slit of width w 2 γ |cos θ|/w, a tube of diameter d 4 γ |cos θ|/d; contact angle 140°, 120 to 150° reported on oxide moulds, 180° as the safe value", Status: calc.FromMemory}

// NonWetting returns −cos θ for a contact angle in degrees: 1 at 180°, 0 at 90°.
func NonWetting(contactDeg float64) float64 { return -math.Cos(contactDeg * math.Pi / 180) }

// SectionPressure returns the pressure in Pa that drives metal of surface
// tension gamma, N/m, times nonWetting into a section of the given modulus, area
// over perimeter in m: γ |cos θ|/M. The modulus of a slit is half its width,
// that of a tube a quarter of its diameter.
func SectionPressure(gamma, nonWetting, modulus float64) float64 { return gamma * nonWetting / modulus }

// SpillGap returns the width in m of the widest slit that metal under the
// given head, m, does not enter.
func SpillGap(gamma, nonWetting, rho, head float64) float64 {
	return 2 * gamma * nonWetting / Pressure(rho, head)
}

// MeniscusRadius returns γ/(ρ g h) in m: of the meniscus along an edge. A
// spherical one is twice as large.
func MeniscusRadius(gamma, rho, head float64) float64 { return gamma / Pressure(rho, head) }

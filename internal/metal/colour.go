package metal

import (
	"fmt"
	"math"

	"pourwright/internal/calc"
)

// Lab is a colour in CIE 1976 L*a*b* under D65 for the 2° observer, of a
// polished surface with its gloss included.
type Lab struct{ L, A, B float64 }

// Colour is the computed colour of a metal, as answers carry it.
type Colour struct {
	L             float64 `json:"l_star" doc:"CIE L*, lightness, D65 and 2° observer" example:"91.2"`
	A             float64 `json:"a_star" doc:"CIE a*: red above 0, green below" example:"2.5"`
	B             float64 `json:"b_star" doc:"CIE b*: yellow above 0, blue below" example:"24.1"`
	DeltaEBand    float64 `json:"delta_e_band" doc:"Expected error of the colour as Delta E*ab (CIE 1976); about 1 is just seen side by side" example:"3"`
	SRGB          string  `json:"srgb" doc:"The same as an sRGB swatch" example:"#F4E0B7"`
	ISO8654       string  `json:"iso_8654" doc:"Nearest colour designation of ISO 8654; empty where none lies within Delta E 6" example:"3N"`
	DeltaEISO8654 float64 `json:"delta_e_iso_8654" doc:"Delta E*ab from the nearest designation" example:"1.4"`
}

var (
	srcColour = calc.Source{For: "colour", Text: "least squares fit in atomic fractions to a published model of gold-silver films (D. Rioux et al., Adv. Opt. Mater. 2 (2014) 176-182), to copper (P. B. Johnson, R. W. Christy, Phys. Rev. B 6 (1972) 4370-4379) and to the chromaticities of ISO 8654 as printed by a supplier after EN 28654; worst residual 3.0 in L*, 2.2 in a*, 2.3 in b*", Status: calc.Computed}
	srcZinc   = calc.Source{For: "colour with zinc", Text: "brasses of 10, 15 and 30 % zinc from the optical constants of M. R. Querry (1985) and one 14 carat gold of US patent 5 749 979", Status: calc.Computed}
	srcISO    = calc.Source{For: "colour designations", Text: "ISO 8654: chromaticities x, y as printed by a supplier after EN 28654; luminance Y read for 1N to 3N and taken as 80 for 0N, 4N and 5N; x of 5N and its tolerances not read", Status: calc.FromMemory}
)

// Further elements up to this mass fraction are left out of the colour.
const colourlessTrace = 0.008

// Colour returns the colour of a polished metal of composition c, and its
// expected error as Delta E*ab. It is known for gold, silver, copper and up to
// 30 % zinc; false for other metals (white golds with palladium or nickel).
// Model: polynomials in the atomic fractions A of gold, G of silver and C of
// copper with zinc; error 3 from 585 gold upwards, 5 with zinc there, 8 below,
// where nothing was measured between the binaries.
func (c Composition) Colour() (Lab, float64, bool) {
	known := Composition{}
	sum := 0.0
	for _, s := range [...]string{"Au", "Ag", "Cu", "Zn"} {
		if c[s] > 0 {
			known[s] = c[s]
			sum += c[s]
		}
	}
	if sum < 1-colourlessTrace || c["Zn"] > 0.3 {
		return Lab{}, 0, false
	}
	for s := range known {
		known[s] /= sum
	}
	x := known.moles()
	a, g, z := x["Au"], x["Ag"], x["Zn"]
	cu := x["Cu"] + z
	lab := Lab{
		L: 92.0*a + 99.6*g + 88.5*cu,
		A: 1.7*a - 0.1*g + 12.7*cu - 22.1*a*g - 21.5*a*g*(a-g) + 21.8*a*cu - 120.7*a*g*cu,
		B: 39.2*a + 0.5*g + 15.0*cu - 8.5*a*g + 22.9*a*g*(a-g) - 43.1*a*cu + 185.9*a*g*cu,
	}
	// Zinc takes the red of copper away and makes it yellower.
	lab.A += -88*z + 122*z*z
	lab.B += cu * (90*z - 135*z*z)
	band := 3.0
	switch {
	case c["Ag"] > 0.9: // the end of the binary, where silver is measured
	case c["Au"] < 0.58:
		band = 8
	case z > 0.02:
		band = 5
	}
	return lab, band, true
}

// DeltaE returns the difference of two colours, Delta E*ab of CIE 1976.
func (l Lab) DeltaE(o Lab) float64 {
	return math.Sqrt((l.L-o.L)*(l.L-o.L) + (l.A-o.A)*(l.A-o.A) + (l.B-o.B)*(l.B-o.B))
}

// white is the white of D65 for the 2° observer, Y = 100.
var white = [3]float64{95.047, 100, 108.883}

// xyz returns the tristimulus values, Y of a perfect white 100.
func (l Lab) xyz() [3]float64 {
	fy := (l.L + 16) / 116
	f := [3]float64{fy + l.A/500, fy, fy - l.B/200}
	var out [3]float64
	for i, v := range f {
		const knee = 6.0 / 29
		if v > knee {
			out[i] = white[i] * v * v * v
		} else {
			out[i] = white[i] * 3 * knee * knee * (v - 4.0/29)
		}
	}
	return out
}

// labOf returns the colour of chromaticity x, y and luminance Y.
func labOf(x, y, luminance float64) Lab {
	f := func(v float64) float64 {
		const knee = 6.0 / 29
		if v > knee*knee*knee {
			return math.Cbrt(v)
		}
		return v/(3*knee*knee) + 4.0/29
	}
	fx, fy, fz := f(luminance*x/y/white[0]), f(luminance/white[1]), f(luminance*(1-x-y)/y/white[2])
	return Lab{116*fy - 16, 500 * (fx - fy), 200 * (fy - fz)}
}

// SRGB returns the colour as an sRGB swatch (IEC 61966-2-1), "#RRGGBB"; what
// lies outside the gamut is clipped.
func (l Lab) SRGB() string {
	v := l.xyz()
	x, y, z := v[0]/100, v[1]/100, v[2]/100
	text := "#"
	for _, linear := range [3]float64{3.2406*x - 1.5372*y - 0.4986*z, -0.9689*x + 1.8758*y + 0.0415*z, 0.0557*x - 0.2040*y + 1.0570*z} {
		encoded := 12.92 * linear
		if linear > 0.0031308 {
			encoded = 1.055*math.Pow(linear, 1/2.4) - 0.055
		}
		text += fmt.Sprintf("%02X", int(math.Round(255*min(1, max(0, encoded)))))
	}
	return text
}

// designations of ISO 8654; see srcISO.
var designations = []struct {
	code            string
	x, y, luminance float64
}{
	{"0N", .3383, .3662, 80}, {"1N", .3526, .3700, 82}, {"2N", .3590, .3766, 82},
	{"3N", .3601, .3729, 79}, {"4N", .3612, .3659, 80}, {"5N", .362, .3591, 80},
}

// nearISO is the Delta E within which a metal is said to be near a designation.
const nearISO = 6.0

// Designation returns the colour of a designation of ISO 8654 ("0N" to "5N").
func Designation(code string) (Lab, bool) {
	for _, d := range designations {
		if d.code == code {
			return labOf(d.x, d.y, d.luminance), true
		}
	}
	return Lab{}, false
}

// ColourOf returns the colour of c as answers carry it; nil where it is not
// known. A designation of ISO 8654 is named for gold only.
func ColourOf(c Composition) *Colour {
	lab, band, ok := c.Colour()
	if !ok {
		return nil
	}
	out := &Colour{L: tenth(lab.L), A: tenth(lab.A), B: tenth(lab.B), DeltaEBand: band, SRGB: lab.SRGB()}
	if c["Au"] < 0.3 {
		return out
	}
	best := math.Inf(1)
	for _, d := range designations {
		if e := lab.DeltaE(labOf(d.x, d.y, d.luminance)); e < best {
			best, out.ISO8654 = e, d.code
		}
	}
	out.DeltaEISO8654 = tenth(best)
	if best > nearISO {
		out.ISO8654 = ""
	}
	return out
}

// Lab is the colour without its standing.
func (c Colour) Lab() Lab { return Lab{c.L, c.A, c.B} }

// ColourSources are the sources of the colours of compositions.
func ColourSources() []calc.Source { return []calc.Source{srcColour, srcZinc, srcISO} }

func tenth(v float64) float64 { return math.Round(10*v) / 10 }

// Words name the colour of a gold for a reader: yellow, pale yellow, greenish
// yellow, pink, rose, red, whitish. Bounds are ours.
func (l Lab) Words() string {
	switch chroma := math.Hypot(l.A, l.B); {
	case chroma < 9:
		return "whitish"
	case l.A < -2.5:
		return "greenish yellow"
	case l.A < 4 && l.B < 20.5:
		return "pale yellow"
	case l.A < 4:
		return "yellow"
	case l.A < 7:
		return "pink to rose"
	case l.A < 9.5:
		return "rose"
	}
	return "red"
}

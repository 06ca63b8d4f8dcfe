package stone

import (
	"pourwright/internal/calc"
	"pourwright/internal/stone/shock"
)

// GemBody is what a material is to heat and to stress, at room temperature.
type GemBody struct {
	Conductivity GemFigure `json:"conductivity_w_mk" doc:"Thermal conductivity, W/(m K); falls 2-4 times in crystals by 600 °C"`
	SpecificHeat GemFigure `json:"specific_heat_j_gk" doc:"Specific heat, J/(g K)"`
	Expansion    GemFigure `json:"expansion_1e6_per_k" doc:"Linear thermal expansion, mean over directions, 10⁻⁶/K"`
	Modulus      GemFigure `json:"modulus_gpa" doc:"Young's modulus, GPa"`
	Strength     GemFigure `json:"strength_mpa" doc:"Tensile or bending strength, MPa; ±50 %, ruled by flaws nobody measured"`
	Poisson      GemFigure `json:"poisson" doc:"Poisson's ratio"`
	Note         string    `json:"note" doc:"What to beware of in these figures"`
}

const (
	srcHot           = "computed from Holland & Powell 2011, data set 6.2 (read as transcribed)"
	srcElastic       = "from bulk and shear modulus of Stixrude & Lithgow-Bertelloni 2011 (read as transcribed)"
	srcElasticMemory = "from bulk and shear modulus of Bass, AGU Reference Shelf 2 (1995), from memory"
	srcThermalTables = "K. Horai, J. Geophys. Res. 76 (1971) 1278 (k); Touloukian TPRC vols. 2, 5, 13; Fei, and Bass, AGU Reference Shelf 2 (1995)"
	srcRead          = "material data sheet or encyclopedia, read"
	notFound         = "no figure found"
)

func mem(typical, low, high float64) GemFigure {
	return fig(typical, low, high, calc.FromMemory, srcThermalTables)
}
func read(typical, low, high float64) GemFigure {
	return fig(typical, low, high, calc.Confirmed, srcRead)
}
func derived(typical, low, high float64, how string) GemFigure {
	return fig(typical, low, high, calc.Computed, how)
}

// hot is an expansion whose high end is the mean up to 900 °C.
func hot(typical, low, high float64) GemFigure { return derived(typical, low, high, srcHot) }
func derivedMemory(typical, low, high float64) GemFigure {
	return fig(typical, low, high, calc.FromMemory, srcElasticMemory)
}

var missing = unknown(notFound)

// The bodies. Typical values are those of the worked resistance table where
// it has the material, else the middle of the range.
var (
	diamondBody  = GemBody{read(1000, 600, 2000), read(0.51, 0.51, 0.51), hot(1.0, 0.8, 3.4), fig(1143, 990, 1200, calc.Confirmed, "Young's modulus of CVD diamond, abstract"), read(400, 210, 490), fig(0.07, 0.07, 0.10, calc.Confirmed, "Young's modulus of CVD diamond, abstract"), "expansion 1.3 at 25 °C, mean to 900 °C 3.4; specific heat trebles by 500 °C; conductivity depends on nitrogen"}
	corundumBody = GemBody{mem(35, 35, 35), read(0.76, 0.76, 1.25), hot(6.0, 5.0, 8.3), derived(403, 345, 435, srcElastic), read(400, 275, 895), derived(0.23, 0.23, 0.28, srcElastic), "conductivity 25 at 100 °C, 12.6 at 400 °C; expansion to 500 °C averages 7.7; weakest in compression along its axis when hot"}
	spinelBody   = GemBody{mem(15, 9.5, 25), read(0.82, 0.82, 1.29), hot(6.4, 5.6, 8.5), derived(275, 275, 276, srcElastic), read(150, 85, 225), derived(0.27, 0.26, 0.27, srcElastic), "conductivity of natural spinel 9.5, of dense ceramic spinel 25"}
	chrysoBody   = GemBody{mem(23, 23, 23), missing, mem(6.2, 5.9, 6.7), mem(450, 450, 450), mem(650, 400, 900), missing, "specific heat and Poisson's ratio not found: no index"}
	berylBody    = GemBody{read(4, 4, 4), mem(0.8, 0.8, 0.8), read(2.75, 2.6, 2.9), derivedMemory(207, 200, 230), missing, derivedMemory(0.31, 0.25, 0.31), "strength not found: no index; along the c axis the expansion is near zero or negative in some"}
	quartzBody   = GemBody{read(7.7, 6.2, 10.7), read(0.71, 0.71, 0.71), read(11, 7.1, 13.2), read(87, 77, 97), mem(60, 50, 100), mem(0.15, 0.08, 0.17), "expansion diverges at the 573 °C inversion, where the volume jumps about 2 %: the index does not hold there"}
	topazBody    = GemBody{mem(11, 11, 11), mem(0.8, 0.8, 0.8), hot(5.2, 4, 7.5), derivedMemory(280, 260, 285), missing, derivedMemory(0.22, 0.22, 0.24), "strength not found: no index"}
	tourmBody    = GemBody{mem(4.9, 4.5, 5.3), mem(0.8, 0.8, 0.8), mem(6.5, 4, 10.5), derivedMemory(201, 200, 201), missing, derivedMemory(0.24, 0.2, 0.24), "strength not found: no index"}
	garnetBody   = GemBody{mem(3.3, 3.2, 3.5), mem(0.75, 0.70, 0.80), hot(8, 7.1, 11), derived(240, 234, 243, srcElastic+"; O'Neill et al. 1989, 1991, abstracts"), fig(150, 100, 200, calc.FromMemory, "doubtful: no measurement found, the range is a guess of the trade literature"), derived(0.27, 0.27, 0.27, "from the bulk and shear moduli"), "pyrope-almandine; expansion 10-11 at 1130 °C (Thieblot, Roux & Richet, Eur. J. Mineral. 10 (1998) 7); strength doubtful"}
	grossBody    = GemBody{mem(5.4, 5.4, 5.4), mem(0.73, 0.73, 0.73), mem(7.75, 6.5, 9), derived(254, 254, 254, "from the bulk and shear moduli of O'Neill et al., abstract"), missing, derived(0.25, 0.25, 0.25, "from the bulk and shear moduli"), "strength not found: no index"}
	zirconBody   = GemBody{mem(5, 4.5, 5.5), mem(0.54, 0.54, 0.54), hot(4.2, 3.3, 5.5), derivedMemory(283, 280, 283), missing, derivedMemory(0.29, 0.28, 0.29), "crystalline; metamict zircon is weaker; strength not found: no index"}
	peridotBody  = GemBody{mem(5, 5, 5), mem(0.83, 0.83, 0.83), hot(9.5, 9, 12.3), derived(202, 195, 202, srcElastic), missing, derived(0.24, 0.24, 0.24, srcElastic), "strength not found: no index; along b the expansion is 1.6 times that along a"}
	jadeiteBody  = GemBody{mem(5.1, 4.6, 5.6), mem(0.77, 0.77, 0.77), mem(8, 8, 8), mem(205, 205, 205), mem(150, 100, 200), mem(0.22, 0.22, 0.22), "felted rock, not a crystal"}
	czBody       = GemBody{mem(2.2, 1.8, 2.5), mem(0.46, 0.46, 0.46), mem(10.3, 10, 10.5), read(208, 103, 208), mem(200, 150, 300), read(0.30, 0.22, 0.32), "cubic, fully stabilised; tough zirconia ceramic is another material"}
	moissBody    = GemBody{read(330, 270, 390), mem(0.67, 0.67, 0.67), mem(4.2, 4.2, 4.7), mem(430, 410, 450), mem(400, 300, 500), mem(0.17, 0.17, 0.17), "expansion to 1000 °C averages 4.7"}
	yagBody      = GemBody{read(11.2, 11, 14), read(0.59, 0.59, 0.59), read(6.14, 6.1, 8.2), read(335, 280, 335), derived(196, 130, 250, "solved back from a published R' of 0.80 kW/m"), mem(0.25, 0.25, 0.25), "strength solved back from R'"}
	sodaBody     = GemBody{read(1.0, 0.94, 1.1), read(0.84, 0.80, 0.88), read(9.0, 8.3, 9.5), read(72, 70, 74), read(60, 19, 100), read(0.23, 0.23, 0.23), "41 MPa tensile, 19 for design, 100 in bending; 60 as in the resistance table"}
	leadBody     = GemBody{mem(0.75, 0.75, 0.75), mem(0.55, 0.5, 0.6), mem(9, 9, 9), mem(60, 58, 62), mem(42, 25, 60), mem(0.22, 0.22, 0.22), ""}
)

// medium is the body as a conductor of heat, if all is known that it takes.
func (b *GemBody) medium(densityGCm3 float64) (shock.Medium, bool) {
	if b == nil {
		return shock.Medium{}, false
	}
	k, okK := b.Conductivity.Is()
	c, okC := b.SpecificHeat.Is()
	return shock.Medium{K: k, Rho: 1000 * densityGCm3, C: 1000 * c}, okK && okC
}

// elastic is the body under stress, if all is known that it takes.
func (b *GemBody) elastic() (shock.Elastic, bool) {
	if b == nil {
		return shock.Elastic{}, false
	}
	e, ok1 := b.Modulus.Is()
	s, ok2 := b.Strength.Is()
	nu, ok3 := b.Poisson.Is()
	alpha, ok4 := b.Expansion.Is()
	return shock.Elastic{E: e * 1e9, Strength: s * 1e6, Nu: nu, Alpha: alpha * 1e-6}, ok1 && ok2 && ok3 && ok4
}

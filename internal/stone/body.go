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

var missing = unknown(notFound)

// The bodies. Typical values are those of the worked resistance table where
// it has the material, else the middle of the range.
var (
	diamondBody  = GemBody{read(1000, 600, 2000), read(0.51, 0.51, 0.51), read(1.0, 0.8, 1.0), mem(1100, 990, 1200), read(400, 210, 490), mem(0.10, 0.10, 0.10), "expansion to 800 °C averages 3; conductivity depends on nitrogen"}
	corundumBody = GemBody{mem(35, 35, 35), read(0.76, 0.76, 0.76), mem(6.0, 5.0, 7.7), mem(400, 345, 435), read(400, 275, 895), mem(0.28, 0.28, 0.28), "conductivity 25 at 100 °C, 12.6 at 400 °C; expansion to 500 °C averages 7.7 (data sheet, read)"}
	spinelBody   = GemBody{mem(15, 15, 25), read(0.82, 0.82, 0.82), mem(7.0, 5.6, 8), read(276, 276, 276), read(150, 85, 225), mem(0.26, 0.26, 0.26), "conductivity 25 is also given for dense ceramic spinel"}
	chrysoBody   = GemBody{mem(23, 23, 23), missing, mem(6.2, 5.9, 6.7), mem(450, 450, 450), mem(650, 400, 900), missing, "specific heat and Poisson's ratio not found: no index"}
	berylBody    = GemBody{read(4, 4, 4), mem(0.8, 0.8, 0.8), read(2.75, 2.6, 2.9), mem(215, 200, 230), missing, mem(0.25, 0.25, 0.25), "strength not found: no index; along the c axis the expansion is near zero or negative in some"}
	quartzBody   = GemBody{read(7.7, 6.2, 10.7), read(0.71, 0.71, 0.71), read(11, 7.1, 13.2), read(87, 77, 97), mem(60, 50, 100), mem(0.15, 0.08, 0.17), "expansion diverges at the 573 °C inversion, where the volume jumps about 2 %: the index does not hold there"}
	topazBody    = GemBody{mem(11, 11, 11), mem(0.8, 0.8, 0.8), mem(5, 4, 6), mem(272, 260, 285), missing, mem(0.24, 0.24, 0.24), "strength not found: no index"}
	tourmBody    = GemBody{mem(4.9, 4.5, 5.3), mem(0.8, 0.8, 0.8), mem(6.5, 4, 9), mem(200, 200, 200), missing, mem(0.2, 0.2, 0.2), "strength not found: no index"}
	garnetBody   = GemBody{mem(3.3, 3.2, 3.5), mem(0.75, 0.70, 0.80), mem(8, 7, 11), derived(234, 234, 234, "from the bulk and shear moduli of O'Neill et al. 1989, 1991, abstracts"), fig(150, 100, 200, calc.FromMemory, "doubtful: no measurement found, the range is a guess of the trade literature"), derived(0.27, 0.27, 0.27, "from the bulk and shear moduli"), "pyrope-almandine; expansion 10-11 at 1130 °C (Thieblot, Roux & Richet, Eur. J. Mineral. 10 (1998) 7); strength doubtful"}
	grossBody    = GemBody{mem(5.4, 5.4, 5.4), mem(0.73, 0.73, 0.73), mem(7.75, 6.5, 9), derived(254, 254, 254, "from the bulk and shear moduli of O'Neill et al., abstract"), missing, derived(0.25, 0.25, 0.25, "from the bulk and shear moduli"), "strength not found: no index"}
	zirconBody   = GemBody{mem(5, 4.5, 5.5), mem(0.54, 0.54, 0.54), mem(4, 3.3, 5.5), mem(280, 280, 280), missing, mem(0.28, 0.28, 0.28), "crystalline; metamict zircon is weaker; strength not found: no index"}
	peridotBody  = GemBody{mem(5, 5, 5), mem(0.83, 0.83, 0.83), mem(9.5, 9, 10), mem(195, 195, 195), missing, mem(0.24, 0.24, 0.24), "strength not found: no index"}
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

package metal

import (
	"maps"
	"slices"

	"pourwright/internal/calc"
)

// figure is a number with the half-width of its uncertainty band, in its own
// unit, and its source.
type figure struct {
	value, band float64
	source      *calc.Source
}

// element holds what is known of a pure metal.
type element struct {
	symbol, name  string
	molar         figure // g/mol
	density       figure // solid, 20 to 25 °C, kg/m³
	liquidDensity figure // at the melting point, kg/m³
	thermalLoss   figure // −dρ/dT of the liquid, kg/(m³ K)
	melting       figure // °C
	boiling       figure // °C
	expansion     figure // linear, 20 to 25 °C, 1e-6/K
	latent        figure // handbook heat of melting, kJ/kg; the heats used are those of unary, this is their check
	cpSolid       figure // handbook, 25 °C, kJ/(kg K); likewise
	conductCold   figure // solid, 300 K, W/(m K)
	conductHot    figure // solid near the melting point, W/(m K)
	conductLiquid figure // liquid near the melting point, W/(m K)
	surface       figure // liquid at the melting point, N/m
	surfaceSlope  figure // dσ/dT, N/(m K)
	viscosity     figure // liquid at the melting point, mPa s
	flowHeat      figure // activation energy of the viscosity, kJ/mol
}

// Where the figures come from. The status is that of the figure as read.
var (
	ec       = &calc.Source{Text: "Electrical-contacts handbook, tables of the physical and thermal properties of metals, open wiki edition", Status: calc.Confirmed}
	crc      = &calc.Source{Text: "CRC Handbook of Chemistry and Physics, sec. 4, Density of molten elements, and sec. 12, Thermal and physical properties of pure metals", Status: calc.Confirmed}
	crcMem   = &calc.Source{Text: "CRC Handbook of Chemistry and Physics, sec. 4, Density of molten elements, and sec. 12, Thermal and physical properties of pure metals", Status: calc.FromMemory}
	inc      = &calc.Source{Text: "F. P. Incropera, D. P. DeWitt, Fundamentals of Heat and Mass Transfer, table A.1", Status: calc.Confirmed}
	incMem   = &calc.Source{Text: "F. P. Incropera, D. P. DeWitt, Fundamentals of Heat and Mass Transfer, table A.1", Status: calc.FromMemory}
	supplier = &calc.Source{Text: "data sheet of a supplier of fine silver", Status: calc.Practice}
	its90    = &calc.Source{Text: "International Temperature Scale of 1990, fixed points", Status: calc.Confirmed}
	iupac    = &calc.Source{Text: "IUPAC standard atomic weights", Status: calc.Confirmed}
	iupacMem = &calc.Source{Text: "IUPAC standard atomic weights", Status: calc.FromMemory}
	mmk      = &calc.Source{Text: "K. C. Mills, B. J. Monaghan, B. J. Keene, Thermal conductivities of molten metals, Int. Mater. Rev. 41 (1996) 209-242", Status: calc.FromMemory}
	iida     = &calc.Source{Text: "T. Iida, R. I. L. Guthrie, The Physical Properties of Liquid Metals, 1988", Status: calc.FromMemory}
	keene    = &calc.Source{Text: "B. J. Keene, Review of data for the surface tension of pure metals, Int. Mater. Rev. 38 (1993) 157-192", Status: calc.FromMemory}
	guess    = &calc.Source{Text: "estimate from neighbouring metals; no figure found", Status: calc.Choice}
)

// elements by symbol. Bands are half-widths: the last digit where handbooks
// agree, their spread where they do not.
var elements = map[string]*element{
	"Ag": {"Ag", "silver", figure{107.8682, 2e-4, iupac},
		figure{10490, 15, ec}, figure{9320, 50, crc}, figure{0.90, 0.05, crc},
		figure{961.78, 0.01, its90}, figure{2162, 15, crcMem}, figure{18.9, 0.5, crcMem},
		figure{104.2, 1, supplier}, figure{0.235, 0.002, inc},
		figure{429, 9, inc}, figure{361, 11, inc}, figure{175, 15, mmk},
		figure{0.925, 0.04, keene}, figure{-2.0e-4, 3e-5, keene}, figure{3.88, 0.3, iida}, figure{22.2, 3, iida}},
	"Cu": {"Cu", "copper", figure{63.546, 3e-3, iupac},
		figure{8960, 20, crcMem}, figure{8020, 60, crcMem}, figure{0.609, 0.1, crcMem},
		figure{1084.62, 0.05, its90}, figure{2560, 40, crcMem}, figure{16.5, 0.4, crcMem},
		figure{208.7, 4, crcMem}, figure{0.385, 0.003, inc},
		figure{401, 8, inc}, figure{339, 10, inc}, figure{163, 16, mmk},
		figure{1.303, 0.05, iida}, figure{-2.4e-4, 4e-5, iida}, figure{4.1, 0.4, iida}, figure{30.5, 4, iida}},
	"Au": {"Au", "gold", figure{196.967, 1e-3, iupacMem},
		figure{19300, 30, inc}, figure{17310, 100, crc}, figure{1.343, 0.1, crc},
		figure{1064.18, 0.01, its90}, figure{2836, 40, crcMem}, figure{14.2, 0.3, crcMem},
		figure{63.7, 1, crcMem}, figure{0.129, 0.001, inc},
		figure{317, 6, inc}, figure{255, 8, inc}, figure{105, 12, mmk},
		figure{1.145, 0.04, keene}, figure{-2.2e-4, 4e-5, keene}, figure{5.2, 0.4, iida}, figure{15.9, 3, iida}},
	"Zn": {"Zn", "zinc", figure{65.38, 0.02, iupacMem},
		figure{7130, 15, ec}, figure{6570, 60, crcMem}, figure{1.1, 0.2, crcMem},
		figure{419.53, 0.05, crcMem}, figure{907, 5, crcMem}, figure{30.2, 1.5, crcMem},
		figure{112.0, 2, crcMem}, figure{0.388, 0.004, crcMem},
		figure{116, 3, crcMem}, figure{103, 5, incMem}, figure{50, 6, mmk},
		figure{0.782, 0.03, iida}, figure{-2.0e-4, 5e-5, iida}, figure{3.5, 0.32, iida}, figure{12.7, 2, iida}},
	"Sn": {"Sn", "tin", figure{118.71, 0.01, iupacMem},
		figure{7300, 20, ec}, figure{6990, 50, crcMem}, figure{0.601, 0.1, crcMem},
		figure{231.93, 0.05, crcMem}, figure{2600, 60, crcMem}, figure{22.0, 1, crcMem},
		figure{60.4, 2, crcMem}, figure{0.227, 0.003, inc},
		figure{66.6, 2, inc}, figure{62.2, 3, inc}, figure{28, 3, mmk},
		figure{0.560, 0.02, iida}, figure{-9e-5, 2e-5, iida}, figure{1.92, 0.15, iida}, figure{5.44, 1, iida}},
	"Ni": {"Ni", "nickel", figure{58.693, 1e-3, iupacMem},
		figure{8900, 15, inc}, figure{7810, 80, crcMem}, figure{0.726, 0.2, crcMem},
		figure{1455, 2, crcMem}, figure{2913, 40, crcMem}, figure{13.4, 0.4, crcMem},
		figure{297.8, 6, crcMem}, figure{0.444, 0.005, inc},
		figure{90.7, 3, inc}, figure{76.2, 4, inc}, figure{60, 10, mmk},
		figure{1.78, 0.06, iida}, figure{-3.5e-4, 8e-5, iida}, figure{4.75, 0.6, iida}, figure{50.2, 8, iida}},
	"Pd": {"Pd", "palladium", figure{106.42, 0.01, iupacMem},
		figure{12020, 25, inc}, figure{10380, 150, crcMem}, figure{1.169, 0.3, crcMem},
		figure{1554.8, 0.5, crcMem}, figure{2963, 40, crcMem}, figure{11.8, 0.4, crcMem},
		figure{157, 6, crcMem}, figure{0.244, 0.003, inc},
		figure{71.8, 3, inc}, figure{102, 6, inc}, figure{87, 25, mmk},
		figure{1.50, 0.06, iida}, figure{-2.2e-4, 6e-5, iida}, figure{4.2, 0.8, iida}, figure{40, 15, guess}},
	"Pt": {"Pt", "platinum", figure{195.084, 0.01, iupacMem},
		figure{21450, 40, inc}, figure{19770, 300, crcMem}, figure{2.4, 0.5, crcMem},
		figure{1768.2, 0.5, crcMem}, figure{3825, 60, crcMem}, figure{8.8, 0.2, crcMem},
		figure{113.7, 5, crcMem}, figure{0.133, 0.002, inc},
		figure{71.6, 3, inc}, figure{99.4, 6, inc}, figure{66, 20, mmk},
		figure{1.80, 0.08, iida}, figure{-3.1e-4, 9e-5, iida}, figure{6, 1.5, iida}, figure{50, 20, guess}},
	"Cd": {"Cd", "cadmium", figure{112.414, 0.01, iupacMem},
		figure{8650, 40, crcMem}, figure{7996, 60, crcMem}, figure{1.218, 0.2, crcMem},
		figure{321.07, 0.05, crcMem}, figure{767, 2, ec}, figure{30.8, 5, crcMem},
		figure{55.1, 1.5, crcMem}, figure{0.231, 0.003, crcMem},
		figure{96.8, 3, ec}, figure{95, 8, guess}, figure{42, 5, mmk},
		figure{0.60, 0.04, iida}, figure{-2.6e-4, 8e-5, iida}, figure{2.4, 0.22, iida}, figure{10.9, 2, iida}},
	"Pb": {"Pb", "lead", figure{207.2, 0.1, iupac},
		figure{11340, 20, inc}, figure{10660, 60, crcMem}, figure{1.22, 0.15, crcMem},
		figure{327.46, 0.05, crcMem}, figure{1749, 10, crcMem}, figure{28.9, 0.6, crcMem},
		figure{25, 2.5, ec}, figure{0.129, 0.002, inc},
		figure{35.3, 1, inc}, figure{31.4, 1, inc}, figure{15.5, 1.5, mmk},
		figure{0.458, 0.015, iida}, figure{-1.3e-4, 3e-5, iida}, figure{2.65, 0.2, iida}, figure{8.61, 1.5, iida}},
	"Fe": {"Fe", "iron", figure{55.845, 2e-3, iupacMem},
		figure{7870, 15, incMem}, figure{7030, 60, crcMem}, figure{0.88, 0.2, crcMem},
		figure{1538, 2, crcMem}, figure{2861, 40, crcMem}, figure{11.8, 0.4, crcMem},
		figure{247, 10, crcMem}, figure{0.447, 0.008, incMem},
		figure{80.2, 3, incMem}, figure{33, 3, incMem}, figure{35, 5, mmk},
		figure{1.87, 0.08, iida}, figure{-4.3e-4, 1e-4, iida}, figure{5.5, 0.6, iida}, figure{41.4, 6, iida}},
	"Ge": {"Ge", "germanium", figure{72.63, 0.01, iupacMem},
		figure{5323, 10, crcMem}, figure{5600, 80, crcMem}, figure{0.55, 0.15, crcMem},
		figure{938.25, 1, crcMem}, figure{2833, 40, crcMem}, figure{5.8, 0.3, crcMem},
		figure{508, 15, crcMem}, figure{0.320, 0.01, crcMem},
		figure{60, 4, crcMem}, figure{17, 3, incMem}, figure{39, 6, mmk},
		figure{0.61, 0.03, keene}, figure{-1.8e-4, 8e-5, keene}, figure{0.73, 0.1, iida}, figure{10, 5, guess}},
	"Si": {"Si", "silicon", figure{28.085, 1e-3, iupacMem},
		figure{2329, 5, crcMem}, figure{2570, 40, crcMem}, figure{0.36, 0.1, crcMem},
		figure{1414, 2, crcMem}, figure{3265, 60, crcMem}, figure{2.6, 0.2, crcMem},
		figure{1788, 40, crcMem}, figure{0.705, 0.02, crcMem},
		figure{148, 5, incMem}, figure{24, 4, incMem}, figure{55, 8, mmk},
		figure{0.85, 0.05, keene}, figure{-2e-4, 1e-4, keene}, figure{0.75, 0.2, iida}, figure{20, 10, guess}},
}

// symbols are those of the elements known here, in order.
var symbols []string

func sortedSymbols() []string { return slices.Sorted(maps.Keys(elements)) }

// Symbols lists the elements known here.
func Symbols() []string { return slices.Clone(symbols) }

// Knows reports whether the properties of the element are kept here.
func Knows(symbol string) bool { return elements[symbol] != nil }

package metal

import "pourwright/internal/calc"

var minor = &calc.Source{Text: "handbook figures of the metal; good enough for the traces in which a casting holds it", Status: calc.FromMemory}

// minors are metals that castings hold in traces, as deoxidiser, grain refiner
// or contaminant: figures in the order of [element], all from memory.
var minors = []struct {
	symbol, name string
	f            [16]float64
}{
	{"Al", "aluminium", [16]float64{26.982, 2700, 2375, .28, 660.32, 2519, 23.1, 397, .897, 237, 218, 94, .95, -2e-4, 1.3, 16.5}},
	{"Bi", "bismuth", [16]float64{208.98, 9790, 10050, 1.18, 271.4, 1564, 13.4, 54, .122, 7.9, 7, 15, .378, -7e-5, 1.8, 6.5}},
	{"Co", "cobalt", [16]float64{58.933, 8860, 7750, 1.1, 1495, 2927, 13, 272, .421, 100, 52, 36, 1.87, -4.9e-4, 4.5, 44}},
	{"Ga", "gallium", [16]float64{69.723, 5910, 6080, .62, 29.76, 2229, 18, 80.2, .371, 33, 30, 26, .718, -1e-4, 2, 4}},
	{"In", "indium", [16]float64{114.818, 7310, 7020, .7, 156.6, 2027, 32.1, 28.6, .233, 81.8, 75, 37, .556, -9e-5, 1.85, 6.7}},
	{"Ir", "iridium", [16]float64{192.217, 22560, 19000, .85, 2446, 4428, 6.4, 214, .131, 147, 111, 70, 2.25, -3.1e-4, 7, 60}},
	{"Mn", "manganese", [16]float64{54.938, 7300, 5950, 1, 1246, 2061, 21.7, 235, .479, 7.8, 15, 20, 1.09, -2e-4, 5, 30}},
	{"Rh", "rhodium", [16]float64{102.906, 12410, 10700, .9, 1964, 3695, 8.2, 258, .243, 150, 110, 70, 2, -3e-4, 5, 50}},
	{"Ru", "ruthenium", [16]float64{101.07, 12300, 10650, .6, 2334, 4150, 6.4, 382, .238, 117, 86, 60, 2.25, -3.1e-4, 6, 60}},
	{"Sb", "antimony", [16]float64{121.76, 6680, 6530, .67, 630.63, 1587, 11, 163, .207, 24.3, 17, 25, .367, -5e-5, 1.22, 22}},
}

// spoilers are elements that no casting metal here may hold, and why.
var spoilers = map[string]string{
	"As": "arsenic fume is deadly", "Hg": "mercury fume is deadly",
	"S": "sulphur makes silver and gold brittle in traces", "Se": "selenium makes silver and gold brittle in traces", "Te": "tellurium makes silver and gold brittle in traces",
}

func init() {
	const doubt = 0.1 // of each figure but mass and melting point
	for _, m := range minors {
		f := func(i int, band float64) figure {
			v := m.f[i]
			return figure{v, max(band*v, -band*v), minor}
		}
		elements[m.symbol] = &element{m.symbol, m.name, f(0, 1e-4), f(1, 0.01), f(2, 0.03), f(3, 0.3), f(4, 2e-3), f(5, 0.02), f(6, doubt), f(7, 0.05), f(8, 0.03),
			f(9, doubt), f(10, 0.2), f(11, 0.3), f(12, doubt), f(13, 0.5), f(14, 0.3), f(15, 0.5)}
		unary[m.symbol] = constantHeat(m.f[0], m.f[8], m.f[7], m.f[4])
	}
	symbols = sortedSymbols()
}

// constantHeat makes Gibbs energies of a metal of one specific heat, kJ/(kg K),
// in both states, with its latent heat, kJ/kg: for traces only.
func constantHeat(molar, cp, latent, meltingC float64) (u struct{ solid, liquid piecewise }) {
	const lowest, far = 298.15, 6000.0 // K
	c, l, tm := cp*molar, latent*molar, meltingC+zeroC
	u.solid = piecewise{{far, -c * lowest, 0, -c, 0, 0, 0, 0, 0}}
	u.liquid = piecewise{{far, -c*lowest + l, -l / tm, -c, 0, 0, 0, 0, 0}}
	return u
}

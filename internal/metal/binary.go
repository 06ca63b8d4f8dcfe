package metal

import (
	"fmt"
	"math"
	"slices"

	"pourwright/internal/calc"
)

// pairRange is the tabulated diagram of two metals between which no assessed
// model is kept here: solidus and liquidus over the mass fraction of the second.
type pairRange struct {
	second string
	points [][3]float64 // mass fraction of the second, solidus and liquidus in °C
	band   float64      // K, of the table and of the straight lines between
	source *calc.Source
}

var (
	srcAgPd = calc.Source{Text: "diagram of silver and palladium at 10, 20, 50 and 60 % palladium, straight lines between; the last point read, the others", Status: calc.FromMemory}
	srcCuNi = calc.Source{Text: "diagram of copper and nickel: COST 507 at 10, 20 and 50 % nickel, copper-nickel 70/30 at 1170 to 1240 °C read; straight lines between", Status: calc.Computed}
	srcCuZn = calc.Source{Text: "copper-zinc brazing filler metals of AWS A5.8-1981 at 20, 30, 40 and 50 % zinc, straight lines between", Status: calc.Confirmed}
	srcAgZn = calc.Source{Text: "diagram of silver and zinc at 10, 20 and 50 % zinc, straight lines between", Status: calc.FromMemory}
	srcAuPd = calc.Source{Text: "diagram of gold and palladium at 8 (read), 10, 20 and 50 % palladium, straight lines between", Status: calc.FromMemory}
	srcAuNi = calc.Source{Text: "H. Okamoto, T. B. Massalski, gold-nickel: minimum of 955 °C at 18 % nickel; other points computed with recalled parameters, about 8 K low", Status: calc.FromMemory}
)

// tabled holds the pairs by their first metal.
var tabled = map[string][]pairRange{
	"Ag": {
		{"Pd", [][3]float64{{0, 961.8, 961.8}, {.1, 1002, 1065}, {.2, 1070, 1160}, {.5, 1290, 1340}, {.6, 1310, 1360}, {1, 1554.8, 1554.8}}, 25, &srcAgPd},
		{"Zn", [][3]float64{{0, 961.8, 961.8}, {.1, 855, 885}, {.2, 730, 775}}, 25, &srcAgZn},
	},
	"Cu": {
		{"Ni", [][3]float64{{0, 1084.6, 1084.6}, {.1, 1126, 1147}, {.2, 1164, 1201}, {.3, 1190, 1240}, {.5, 1259, 1317}, {1, 1455, 1455}}, 25, &srcCuNi},
		{"Zn", [][3]float64{{0, 1084.6, 1084.6}, {.1, 1035, 1047}, {.2, 966, 999}, {.3, 916, 954}, {.4, 899, 904}, {.5, 868, 877}}, 15, &srcCuZn},
	},
	"Au": {
		{"Pd", [][3]float64{{0, 1064.2, 1064.2}, {.08, 1200, 1240}, {.1, 1230, 1270}, {.2, 1330, 1370}, {.5, 1490, 1505}, {1, 1554.8, 1554.8}}, 30, &srcAuPd},
		{"Ni", [][3]float64{{0, 1064.2, 1064.2}, {.1, 980, 1003}, {.18, 954, 956}, {.2, 953, 960}, {.5, 986, 1215}}, 25, &srcAuNi},
	},
}

// pairOf returns the tabulated range of a metal of two elements; false where
// there is no table or it does not reach so far.
func pairOf(c Composition) (meltingRange, bool) {
	if len(c) != 2 {
		return meltingRange{}, false
	}
	for first, list := range tabled {
		w, has := c[first]
		if !has {
			continue
		}
		i := slices.IndexFunc(list, func(p pairRange) bool { _, ok := c[p.second]; return ok })
		if i < 0 {
			continue
		}
		p, x := list[i], 1-w
		n := slices.IndexFunc(p.points, func(q [3]float64) bool { return q[0] >= x-1e-12 })
		if n < 0 {
			return meltingRange{}, false
		}
		n = max(n, 1)
		a, b := p.points[n-1], p.points[n]
		u := (x - a[0]) / (b[0] - a[0])
		source := *p.source
		source.For = fmt.Sprintf("melting range of %s with %s", elements[first].name, elements[p.second].name)
		// Near a pure metal the melting point holds the range.
		return meltingRange{solidus: a[1] + u*(b[1]-a[1]), liquidus: a[2] + u*(b[2]-a[2]), basis: Estimated,
			band: min(p.band, 2+400*min(x, 1-x)), source: source}, true
	}
	return meltingRange{}, false
}

// Bounds within which a melting range may be interpolated between alloys.
const (
	mostHardener = 0.02  // palladium, nickel or platinum without an alloy close by
	mostFilm     = 0.002 // germanium or silicon, which freeze last, without an alloy close by
	closeBy      = 0.06  // of a tabulated alloy: mass fraction that differs
	widestBand   = 60.0  // K: more is no answer
)

// unknown says why the melting range of c cannot be told from other alloys;
// empty where it can.
func unknown(c Composition, r meltingRange) string {
	if ni := c["Ni"]; ni > 0.003 && c["Ag"] > 0.5 && c["Au"]+c["Cu"]+c["Pd"] < 5*ni {
		return "silver and nickel do not mix, liquid or solid: nickel needs gold, copper or palladium to carry it"
	}
	nearest := math.Inf(1)
	for _, s := range samples() {
		nearest = min(nearest, c.apart(s.c))
	}
	if nearest <= closeBy && r.band <= widestBand {
		return ""
	}
	for _, s := range [...]string{"Pd", "Pt", "Ni", "Co", "Fe", "Mn", "Ir", "Ru", "Rh"} {
		if c[s] > mostHardener {
			return fmt.Sprintf("no tabulated alloy is close enough to tell what %.3g parts per thousand of %s do", 1000*c[s], elements[s].name)
		}
	}
	for _, s := range [...]string{"Ge", "Si", "Al", "In", "Ga", "Bi", "Sb"} {
		if c[s] > mostFilm {
			return fmt.Sprintf("%.3g parts per thousand of %s lower the solidus by an amount that no tabulated alloy close by tells", 1000*c[s], elements[s].name)
		}
	}
	if r.far || r.band > widestBand {
		return "no tabulated alloy is close to it"
	}
	return ""
}

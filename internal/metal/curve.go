package metal

import "sort"

// curve tabulates enthalpy and fraction solid over rising temperature; all
// three are piecewise linear between the knots.
type curve struct{ t, h, solid []float64 }

// at interpolates y over rising x, and goes on in a straight line beyond.
func at(x, y []float64, v float64) float64 {
	i := sort.SearchFloat64s(x, v)
	i = min(max(i, 1), len(x)-1)
	return y[i-1] + (y[i]-y[i-1])*((v-x[i-1])/(x[i]-x[i-1]))
}

// coldC and hotC bound the tables; beyond them the specific heat is constant.
const coldC, hotC = 25.0, 2000.0

// lever builds the curve of a metal of which only the range is known.
func (m *Metal) lever() *curve {
	solidH := func(t float64) float64 {
		return m.Composition.mix(func(e *element) float64 { return e.solidEnthalpy(t) })
	}
	liquidH := func(t float64) float64 {
		return m.Composition.mix(func(e *element) float64 { return e.liquidEnthalpy(t) })
	}
	c := &curve{}
	add := func(from, to float64, n int) {
		for i := range n {
			t := from + (to-from)*float64(i)/float64(n)
			fs := min(1, max(0, (m.liquidus-t)/(m.liquidus-m.end)))
			c.t = append(c.t, t)
			c.solid = append(c.solid, fs)
			c.h = append(c.h, fs*solidH(t)+(1-fs)*liquidH(t))
		}
	}
	add(coldC, m.end, 100)
	add(m.end, m.liquidus, 64)
	add(m.liquidus, hotC, 20)
	mid := (m.liquidus + m.end) / 2
	m.latent = liquidH(mid) - solidH(mid)
	return c
}

// solidEnthalpy returns kJ/kg above 25 °C.
func (e *element) solidEnthalpy(t float64) float64 {
	d := t - 25
	return e.cpSolid.value*d + e.cpRise.value*d*d/2
}

// liquidEnthalpy returns kJ/kg above the solid at 25 °C.
func (e *element) liquidEnthalpy(t float64) float64 {
	return e.solidEnthalpy(e.melting.value) + e.latent.value + e.cpLiquid.value*(t-e.melting.value)
}

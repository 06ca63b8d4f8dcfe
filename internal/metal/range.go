package metal

import (
	"math"
	"sync"

	"pourwright/internal/calc"
)

// Basis says where a melting range comes from.
type Basis string

const (
	Assessed  Basis = "assessed"  // computed from assessed Gibbs energies
	Element   Basis = "element"   // melting point of a pure metal
	Tabulated Basis = "tabulated" // handbook figures for this very alloy
	Estimated Basis = "estimated" // interpolated between tabulated alloys
	Given     Basis = "given"     // the caller's own
)

// Uncertainty of the liquidus by basis, K. The first is the largest
// difference from handbook figures between 80 and 100 % silver, the second
// that from the handbook ranges of carat golds (both tested). A second
// assessment of silver-copper differs by less than 2 K; the error of the
// measurements that assessments share does not show in that.
const (
	bandSilverCopper = 5.0
	bandTernary      = 20.0
)

// meltingRange is a solidus and liquidus with their standing.
type meltingRange struct {
	solidus, liquidus float64 // °C
	band              float64 // K
	basis             Basis
	source            calc.Source
	far               bool // from every alloy it rests on
}

// sample is a tabulated alloy, taken apart for interpolation.
type sample struct {
	c              Composition
	liquidus       float64 // K per unit of mass fraction of the further elements, above the Ag-Au-Cu part
	further        float64
	tableS, tableL float64 // °C
}

// leastFurther is the mass fraction of further elements below which the error
// of the Ag-Au-Cu model hides what they do.
const leastFurther = 0.02

// samples are the catalogue alloys whose range is tabulated for want of a model.
var samples = sync.OnceValue(func() []sample {
	var list []sample
	for _, a := range catalogue {
		c := mustParse(a.composition)
		base, further, ok := foundation(c)
		if a.liquidus.value == 0 || further < leastFurther || !ok {
			continue
		}
		list = append(list, sample{c, (a.liquidus.value - base.liquidus) / further, further, a.solidus.value, a.liquidus.value})
	}
	return list
})

// foundation returns the computed range of the Ag-Au-Cu part of c, and the
// mass fraction of its further elements.
func foundation(c Composition) (r meltingRange, further float64, ok bool) {
	core, further := c.core()
	if further > 0.8 {
		return r, further, false
	}
	if len(core) == 1 {
		tm := elements[core.Symbols()[0]].melting.value
		r.solidus, r.liquidus = tm, tm
	} else {
		s, x := systemOf(core)
		T, _, err := s.liquidus(x)
		if err != nil {
			return r, further, false
		}
		S, _, err := s.solidus(x)
		if err != nil {
			return r, further, false
		}
		r.solidus, r.liquidus = S-zeroC, T-zeroC
	}
	return r, further, true
}

// kinship is the weight of sample s for c: inverse square of the distance in
// composition, in which the kinds of further elements count as much as their
// amounts.
func kinship(c Composition, further float64, s *sample) (weight, distance float64) {
	d := 0.0
	for _, symbol := range symbols { // in a fixed order, for the same rounding
		a := c[symbol] - s.c[symbol]
		d += a * a
		switch symbol {
		case "Ag", "Au", "Cu":
			continue
		}
		if further > 0 {
			b := (c[symbol]/further - s.c[symbol]/s.further)
			d += b * b
		}
	}
	return 1 / (d + 1e-6), math.Sqrt(d)
}

// estimate interpolates the range of c: that of its Ag-Au-Cu part, moved by
// what the further elements do in the kindred tabulated alloys, by inverse
// square distance. Its band is twice the root mean square error with which
// those alloys, weighted alike, are estimated from the others.
func estimate(c Composition) meltingRange {
	errors := leftOut()
	return interpolate(c, -1, func(i int) float64 { return errors[i] })
}

// interpolate does the work of [estimate] with the sample skip left out, −1
// for none. errorOf gives the left-out error of a sample, K per unit of mass
// fraction of the further elements.
func interpolate(c Composition, skip int, errorOf func(int) float64) meltingRange {
	base, further, ok := foundation(c)
	if !ok {
		// Nothing to stand on: the mean of the melting points, a guess.
		tm := 0.0
		for _, s := range c.Symbols() {
			tm += c.moles()[s] * elements[s].melting.value
		}
		return meltingRange{solidus: tm - 50, liquidus: tm, band: 200, far: true}
	}
	var sum, width, liquidus, squares float64
	nearest := math.Inf(1)
	list := samples()
	for i := range list {
		if i == skip {
			continue
		}
		w, d := kinship(c, further, &list[i])
		nearest = min(nearest, d)
		sum += w
		width += w * (list[i].tableL - list[i].tableS)
		liquidus += w * list[i].liquidus
		squares += w * errorOf(i) * errorOf(i)
	}
	r := meltingRange{liquidus: base.liquidus + further*liquidus/sum}
	// The width of the range, not the solidus, is interpolated: the two never cross.
	share := min(1, further/leastFurther)
	r.solidus = r.liquidus - (1-share)*(base.liquidus-base.solidus) - share*width/sum
	r.far = nearest > 0.3 && further > 0.01
	r.band = bandTernary + 2*further*math.Sqrt(squares/sum)
	return r
}

// leftOut is the error of the liquidus of each tabulated alloy estimated from
// the others, K per unit of mass fraction of its further elements.
var leftOut = sync.OnceValue(func() []float64 {
	list := samples()
	errors := make([]float64, len(list))
	for i := range list {
		r := interpolate(list[i].c, i, func(int) float64 { return 0 })
		errors[i] = (r.liquidus - list[i].tableL) / list[i].further
	}
	return errors
})

func mustParse(text string) Composition {
	c, err := ParseComposition(text)
	if err != nil {
		panic(err)
	}
	return c
}

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
// that from the handbook ranges of carat golds (both tested).
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
	c                 Composition
	solidus, liquidus float64 // K per unit of mass fraction of the further elements, above the Ag-Au-Cu part
	further           float64
	tableS, tableL    float64 // °C
}

// samples are the catalogue alloys whose range is tabulated for want of a model.
var samples = sync.OnceValue(func() []sample {
	var list []sample
	for _, a := range catalogue {
		c := mustParse(a.composition)
		base, further, ok := foundation(c)
		if a.liquidus.value == 0 || further == 0 || !ok {
			continue
		}
		list = append(list, sample{c, (a.solidus.value - base.solidus) / further, (a.liquidus.value - base.liquidus) / further,
			further, a.solidus.value, a.liquidus.value})
	}
	return list
})

// foundation returns the computed range of the Ag-Au-Cu part of c, and the
// mass fraction of its further elements.
func foundation(c Composition) (r meltingRange, further float64, ok bool) {
	core, sum := Composition{}, 0.0
	for _, s := range [...]string{"Ag", "Au", "Cu"} {
		if c[s] > 0 {
			core[s] = c[s]
			sum += c[s]
		}
	}
	if sum < 0.2 {
		return r, 1 - sum, false
	}
	for s := range core {
		core[s] /= sum
	}
	if len(core) == 1 {
		tm := elements[core.Symbols()[0]].melting.value
		r.solidus, r.liquidus = tm, tm
	} else {
		s, x := systemOf(core)
		T, _, err := s.liquidus(x)
		if err != nil {
			return r, 1 - sum, false
		}
		S, _, err := s.solidus(x)
		if err != nil {
			return r, 1 - sum, false
		}
		r.solidus, r.liquidus = S-zeroC, T-zeroC
	}
	if sum > 1-1e-9 {
		sum = 1
	}
	return r, 1 - sum, true
}

// kinship is the weight of sample s for c: inverse square of the distance in
// composition, in which the kinds of further elements count as much as their
// amounts.
func kinship(c Composition, further float64, s *sample) (weight, distance float64) {
	d := 0.0
	for symbol := range elements {
		a := c[symbol] - s.c[symbol]
		d += a * a
		switch symbol {
		case "Ag", "Au", "Cu":
			continue
		}
		if further > 0 {
			b := 0.5 * (c[symbol]/further - s.c[symbol]/s.further)
			d += b * b
		}
	}
	return 1 / (d + 1e-6), math.Sqrt(d)
}

// estimate interpolates the range of c: that of its Ag-Au-Cu part, moved by
// what the further elements do in the kindred tabulated alloys, by inverse
// square distance. skip leaves one sample out, −1 none.
func estimate(c Composition, skip int) meltingRange {
	base, further, ok := foundation(c)
	if !ok {
		// Nothing to stand on: the mean of the melting points, a guess.
		tm := 0.0
		for s, x := range c.moles() {
			tm += x * elements[s].melting.value
		}
		return meltingRange{solidus: tm - 50, liquidus: tm, far: true}
	}
	var sum, solidus, liquidus float64
	nearest := math.Inf(1)
	list := samples()
	for i := range list {
		if i == skip {
			continue
		}
		w, d := kinship(c, further, &list[i])
		nearest = min(nearest, d)
		sum += w
		solidus += w * list[i].solidus
		liquidus += w * list[i].liquidus
	}
	r := meltingRange{solidus: base.solidus + further*solidus/sum, liquidus: base.liquidus + further*liquidus/sum}
	r.liquidus = max(r.liquidus, r.solidus+1)
	r.far = nearest > 0.25 && further > 0.01
	return r
}

// leftOut is the root mean square error of [estimate] over the tabulated
// alloys, each estimated from the others, K.
var leftOut = sync.OnceValue(func() float64 {
	list := samples()
	sum := 0.0
	for i := range list {
		r := estimate(list[i].c, i)
		sum += (r.liquidus - list[i].tableL) * (r.liquidus - list[i].tableL)
	}
	return math.Sqrt(sum / float64(len(list)))
})

func mustParse(text string) Composition {
	c, err := ParseComposition(text)
	if err != nil {
		panic(err)
	}
	return c
}

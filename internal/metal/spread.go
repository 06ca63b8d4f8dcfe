package metal

import (
	"errors"
	"math"
	"slices"

	"pourwright/internal/calc"
)

// Interval is a quantity in the middle of what is known and at its ends.
type Interval struct {
	Low    float64 `json:"low" doc:"Least, over all compositions that the lots leave open"`
	Middle float64 `json:"middle" doc:"In the middle of what is known"`
	High   float64 `json:"high" doc:"Greatest"`
}

// Spread is the metal of a charge whose lots are known within intervals: the
// metal of the middle composition, and the extremes of its properties over all
// compositions within. The ranges leave out the errors of the properties
// themselves (see [Metal.Bands]). Get one from [Between].
type Spread struct {
	Metal
	Density    Interval // g/cm³
	Solidus    Interval // °C
	Liquidus   Interval // °C
	FreezesAt  Interval // °C, end of freezing in a casting
	Contracts  Interval // %, linear
	Tension    Interval // N/m, clean, 100 K above the liquidus of the middle
	Unknown    string   // why some composition within could not be followed; empty where all could
	LastToMelt Composition
}

// Extremes of a property over a small box of compositions lie at its corners,
// as the property is nearly linear across it; only the widest elements are
// varied, and more corners than this are not tried.
const (
	mostVaried  = 4
	leastVaried = 0.002 // mass fraction: less is within the figures' own error
)

// Between returns the spread of a charge of the given middle composition,
// whose elements lie between least and most (mass fractions; each element by
// itself). nominal is the id of the alloy that the charge is meant to be, or
// empty: where the range of a composition in its window is not known, the
// alloy's tabulated range stands in. own, if not nil, is the caller's melting range
// for all of them. The error is a refusal of "composition".
func Between(middle, least, most Composition, nominal string, own *MeltingRange) (Spread, error) {
	follow := alike
	if own != nil {
		follow = func(c Composition, _ string) (Metal, error) { return Of(c, own) }
	}
	m, err := follow(middle, nominal)
	if err != nil {
		return Spread{}, err
	}
	s := Spread{Metal: m, LastToMelt: m.Composition}
	hot := m.liquidus + 100
	first := true
	widen := func(v Metal) {
		typical, _, _ := v.ContractionPct()
		for _, q := range []struct {
			to *Interval
			v  float64
		}{{&s.Density, v.DensityGCm3()}, {&s.Solidus, v.solidus}, {&s.Liquidus, v.liquidus}, {&s.FreezesAt, v.end}, {&s.Contracts, typical}, {&s.Tension, v.SurfaceTensionNM(hot)}} {
			if first {
				*q.to = Interval{q.v, q.v, q.v}
			}
			q.to.Low, q.to.High = min(q.to.Low, q.v), max(q.to.High, q.v)
		}
		if v.liquidus >= s.Liquidus.High {
			s.LastToMelt = v.Composition
		}
		first = false
	}
	widen(m)
	for _, c := range Corners(middle, least, most) {
		v, err := follow(c, nominal)
		if err != nil {
			var refusal *calc.Refusal
			if errors.As(err, &refusal) && len(refusal.Faults) > 0 {
				s.Unknown = refusal.Faults[0].Accepts
			} else {
				s.Unknown = err.Error()
			}
			continue
		}
		widen(v)
	}
	s.pour = s.Liquidus.High + leastSuperheat
	return s, nil
}

// What the band of an alloy's tabulated range grows by, K per mass fraction:
// palladium raises gold's by 2.2 K a part per thousand (tabled, Au-Pd), nickel
// moves it as fast; the rest is the slope of carat golds.
const (
	perHardener = 2200.0
	perOther    = 300.0
)

// alike returns the metal of c, with the range of the catalogue alloy id where
// c lies in its window, no range of c itself is known, and the difference does
// not move it past the widest band.
func alike(c Composition, id string) (Metal, error) {
	m, err := Of(c, nil)
	if err == nil || id == "" {
		return m, err
	}
	w, ok := WindowOf(id)
	if !ok || len(w.Breaches(c, 0.001)) > 0 {
		return m, err
	}
	named, failed := Named(id)
	if failed != nil {
		return m, err
	}
	off := named.Composition
	hardener := math.Abs(c["Pd"]-off["Pd"]) + math.Abs(c["Ni"]-off["Ni"])
	band := named.band + perHardener*hardener + perOther*max(0, c.apart(off)-hardener)
	if band > widestBand+named.band {
		return m, err
	}
	c, err = c.normal()
	if err != nil {
		return m, err
	}
	source := named.sources[0]
	source.For = "melting range, of " + named.Name
	m, err = build(c, meltingRange{solidus: named.solidus, liquidus: named.liquidus, band: band, basis: Tabulated, source: source})
	m.near = id
	return m, err
}

// Corners are compositions at the ends of the intervals: each of the widest
// elements at its least or greatest, one of them taking up the rest.
func Corners(middle, least, most Composition) []Composition {
	var wide []string
	for _, s := range middle.Symbols() {
		if most[s]-least[s] > leastVaried {
			wide = append(wide, s)
		}
	}
	slices.SortStableFunc(wide, func(a, b string) int {
		return int(math.Copysign(1, (most[b]-least[b])-(most[a]-least[a])))
	})
	wide = wide[:min(len(wide), mostVaried)]
	var list []Composition
	for free := range wide {
		for bits := range 1 << (len(wide) - 1) {
			c, sum, n := Composition{}, 0.0, 0
			for s, v := range middle {
				c[s] = v
			}
			for i, s := range wide {
				if i == free {
					continue
				}
				c[s] = least[s]
				if bits>>n&1 == 1 {
					c[s] = most[s]
				}
				n++
			}
			for s, v := range c {
				if s != wide[free] {
					sum += v
				}
			}
			rest := 1 - sum
			const slack = 1e-9
			if rest < least[wide[free]]-slack || rest > most[wide[free]]+slack || rest < 0 {
				continue
			}
			if rest == 0 {
				delete(c, wide[free])
			} else {
				c[wide[free]] = rest
			}
			if !slices.ContainsFunc(list, func(o Composition) bool { return c.apart(o) < slack }) {
				list = append(list, c)
			}
		}
	}
	return list
}

// Superheats of a pour, K over the liquidus.
const (
	usualSuperheat = 100.0
	leastSuperheat = 50.0
)

// PourC returns the temperature to pour the metal at, °C: 100 K over its
// liquidus; of the metal of a charge ([Spread]) no less than 50 K over the
// highest liquidus that the charge may have.
func (m Metal) PourC() float64 { return max(m.liquidus+usualSuperheat, m.pour) }

// Raised reports whether the highest liquidus decides [Metal.PourC].
func (s Spread) Raised() bool { return s.pour > s.liquidus+usualSuperheat }

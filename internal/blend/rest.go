package blend

import (
	"fmt"
	"math"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
)

var srcColourRest = calc.Source{For: "rest of gold of a known colour", Text: "the window of the catalogue alloy of that colour nearest in fineness", Status: calc.Choice}

// rest makes the span of a lot whose fineness is low to high: the other
// elements as listed, of gold by its colour or anything between silver and
// copper, else copper.
func (l *SourceLot) rest(symbol string, low, high float64, notes *calc.Notes, checks *calc.Checks) span {
	switch {
	case len(l.ElementsPermil) > 0:
		return l.reported(symbol, low, high, checks)
	case l.Colour != "" && symbol != "Au":
		checks.Refuse("colour", l.Colour, "give it for gold only")
	case l.Colour != "":
		notes.Cite(srcColourRest)
		return coloured(l.Colour, low, high)
	}
	notes.Cite(srcRest)
	s := graded(symbol, low, high)
	if symbol == "Au" && low < 0.99 {
		notes.Warn("rest_unknown", calc.Care, "%s: what it holds besides gold is not known, so it counts as anything between all silver and all copper, half of each in the middle. Colour and melting range hang on it: give colour, the elements, or the alloy.", l.ID)
		s.least["Ag"], s.most["Ag"], s.least["Cu"] = 0, 1-low, 0
	}
	return s
}

// reported is a lot of a laboratory's report: the fineness within its
// interval, the elements as listed, the rest copper.
func (l *SourceLot) reported(symbol string, low, high float64, checks *calc.Checks) span {
	s := span{least: metal.Composition{symbol: low}, most: metal.Composition{symbol: high}}
	sum := 0.0
	for _, e := range sorted(l.ElementsPermil) {
		v := l.ElementsPermil[e]
		checks.Within("elements_permil."+e, v, 0, 1000, "parts per thousand")
		if !known(e) || e == symbol {
			checks.Refuse("elements_permil", e, "give symbols of the other elements: %s", strings.Join(elements, ", "))
			continue
		}
		s.least[e], s.most[e] = v/1000, v/1000
		sum += v / 1000
	}
	if sum > 1-low+5e-3 {
		checks.Refuse("elements_permil", tidy(1000*sum), "the other elements come to more than the %g parts per thousand that the fineness leaves", tidy(1000*(1-low)))
		return s
	}
	if _, listed := l.ElementsPermil["Cu"]; !listed {
		s.least["Cu"], s.most["Cu"] = max(0, 1-high-sum), max(0, 1-low-sum)
	}
	return s
}

// known reports whether e is an element that may be listed.
func known(e string) bool {
	for _, s := range elements {
		if s == e {
			return true
		}
	}
	return false
}

// coloured is gold of a colour: the alloy of that colour nearest in fineness,
// and of its window about it what looks like it.
func coloured(colour string, low, high float64) span {
	at, best := (low+high)/2, math.Inf(1)
	var nominal metal.Composition
	var window metal.Window
	for _, id := range metal.IDs() {
		if !strings.Contains(id, "-"+strings.ReplaceAll(colour, "_", "-")) {
			continue
		}
		w, ok := metal.WindowOf(id)
		m, err := metal.Named(id)
		if !ok || err != nil || w.Metal != "Au" {
			continue
		}
		if d := math.Abs(m.Composition["Au"] - at); d < best {
			best, nominal, window = d, m.Composition, w
		}
	}
	s := span{least: metal.Composition{"Au": low}, most: metal.Composition{"Au": high}, likely: metal.Composition{"Au": at}}
	scale := 0.0 // of the alloying metals, to the fineness of the lot
	if nominal["Au"] < 1 {
		scale = (1 - at) / (1 - nominal["Au"])
	}
	for part := 1.0; part >= 0; part -= 0.1 {
		for e, v := range nominal {
			if e == "Au" {
				continue
			}
			r := window.Of(e)
			s.least[e] = scale * (v + part*(min(r.Least, v)-v))
			s.most[e] = min(1-low, scale*(v+part*(max(r.Most, v)-v)))
			s.likely[e] = v * scale
		}
		if s.looks() {
			break
		}
	}
	return s
}

// seen is the Delta E*ab from the usual colour of its name at which a gold is
// no longer called by it at sight. Ours.
const seen = 6.0

// looks reports whether every end of the span looks like its middle.
func (s span) looks() bool {
	middle, _, ok := s.likely.Colour()
	for _, c := range metal.Corners(s.likely, s.least, s.most) {
		if lab, _, known := c.Colour(); ok && known && lab.DeltaE(middle) > seen {
			return false
		}
	}
	return true
}

// clean is the mass that is sure to be metal once what was noticed has been
// dealt with, and its range, g.
func (l *SourceLot) clean() (lowG, highG float64) {
	low, high := 1.0, 1.0
	for _, o := range l.open() {
		if sign := observed[o]; sign.low > 0 {
			low, high = low*sign.low, high*sign.high
		}
	}
	return l.MassG * low, l.MassG * high
}

// open lists what was noticed and not yet dealt with.
func (l *SourceLot) open() []string {
	var list []string
	for _, o := range l.Observations {
		done := false
		for _, d := range l.DealtWith {
			done = done || d == o
		}
		if !done {
			list = append(list, o)
		}
	}
	return list
}

// cleanText says what is left of a lot after cleaning.
func cleanText(lowG, highG float64) string {
	if lowG == highG {
		return ""
	}
	return fmt.Sprintf(" Of its mass about %.3g to %.3g g are metal; the plan takes the least. Weigh it again.", lowG, highG)
}

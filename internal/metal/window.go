package metal

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"pourwright/internal/calc"
)

// Range bounds the mass fraction of an element.
type Range struct{ Least, Most float64 }

// Window is what an alloy may hold to be that alloy: bounds of each alloying
// element, as mass fractions. The metal that its fineness counts is bounded by
// the fineness; an element that is not named may be there up to [Stray].
type Window struct {
	Metal  string // symbol of the metal whose fineness counts
	Bounds map[string]Range
	Source calc.Source
}

// Stray is the mass fraction up to which an element that an alloy does not
// name may be in it. Ours; the elements that spoil a melt have limits far below.
const Stray = 0.005

var (
	srcTradeWindow = calc.Source{For: "window of elements", Text: "usual limits of the trade for this carat and colour", Status: calc.FromMemory}
	srcGostWindow  = calc.Source{For: "window of elements", Text: "GOST 30649-99, precious alloys for jewellery: silver 925 to 930, rest copper", Status: calc.Confirmed}
	srcOwnWindow   = calc.Source{For: "window of elements", Text: "about the nominal composition, as wide as the neighbouring trade limits", Status: calc.Choice}
	srcNarrow      = calc.Source{For: "window of elements", Text: "about the nominal composition, as far as its melting range still holds; GOST 30649-99 gives white golds 10 parts per thousand of palladium or nickel", Status: calc.Choice}
	srcPatent      = calc.Source{For: "window of elements", Text: "patents of deoxidised silvers, US 2008/0069722 and GB 2561376: ranges of germanium, zinc and tin", Status: calc.Confirmed}
)

// windows by alloy, parts per thousand by mass, least-most.
var windows = map[string]struct {
	bounds string
	source *calc.Source
}{
	"gold-917-yellow":                 {"Ag 20-60 Cu 25-60 Zn 0-15", &srcTradeWindow},
	"gold-917-coin":                   {"Ag 0-20 Cu 60-84", &srcTradeWindow},
	"gold-900-coin":                   {"Ag 0-20 Cu 80-100", &srcOwnWindow},
	"gold-750-yellow":                 {"Ag 100-170 Cu 80-150 Zn 0-20", &srcTradeWindow},
	"gold-750-yellow-160-90":          {"Ag 100-170 Cu 80-150 Zn 0-20", &srcTradeWindow},
	"gold-750-rose":                   {"Ag 20-90 Cu 155-230 Zn 0-20", &srcTradeWindow},
	"gold-750-red":                    {"Ag 0-45 Cu 205-250 Zn 0-20", &srcTradeWindow},
	"gold-750-green":                  {"Ag 200-250 Cu 0-50", &srcTradeWindow},
	"gold-750-white-palladium":        {"Pd 88-115 Ag 125-165 Cu 0-20 Zn 0-10", &srcNarrow},
	"gold-750-white-palladium-nickel": {"Pd 88-115 Ag 85-125 Cu 15-55 Zn 0-20 Ni 0-20", &srcNarrow},
	"gold-750-white-nickel":           {"Ni 160-180 Cu 10-40 Zn 40-65", &srcNarrow},
	"gold-625-yellow":                 {"Ag 80-280 Cu 90-300 Zn 0-50", &srcOwnWindow},
	"gold-585-yellow":                 {"Ag 90-300 Cu 110-310 Zn 0-70", &srcTradeWindow},
	"gold-585-yellow-300-115":         {"Ag 260-320 Cu 95-155 Zn 0-20", &srcOwnWindow},
	"gold-585-yellow-205-210":         {"Ag 90-300 Cu 110-310 Zn 0-70", &srcTradeWindow},
	"gold-585-yellow-zinc":            {"Ag 30-120 Cu 250-330 Zn 40-80", &srcOwnWindow},
	"gold-585-rose":                   {"Ag 60-200 Cu 220-330 Zn 0-20", &srcTradeWindow},
	"gold-583-rose":                   {"Ag 10-90 Cu 325-405 Zn 0-20", &srcTradeWindow},
	"gold-583-white-palladium":        {"Pd 85-105 Ag 295-335 Cu 0-20 Zn 0-15", &srcNarrow},
	"gold-583-white-nickel":           {"Ni 77-98 Cu 260-300 Zn 35-60 Ag 0-15", &srcNarrow},
	"gold-417-yellow":                 {"Ag 50-120 Cu 370-450 Zn 40-100", &srcTradeWindow},
	"gold-417-rose":                   {"Ag 20-60 Cu 500-560 Zn 0-20", &srcTradeWindow},
	"gold-375-yellow":                 {"Ag 95-200 Cu 425-530 Zn 0-25", &srcOwnWindow},
	"gold-375-yellow-zinc":            {"Ag 95-210 Cu 350-455 Zn 25-90", &srcTradeWindow},
	"gold-375-red":                    {"Ag 40-110 Cu 480-560 Zn 0-20", &srcTradeWindow},
	"gold-378-white-nickel":           {"Ni 106-130 Cu 375-425 Zn 85-115", &srcNarrow},
	"silver-935-germanium":            {"Ge 5-30 Cu 0-60 Zn 0-40 Sn 0-4", &srcPatent},
	"silver-925-deoxidised":           {"Cu 30-65 Zn 10-40 Sn 0-9 Ge 0-5", &srcPatent},
}

// WindowOf returns the window of a catalogue alloy of gold or silver; false
// for other metals, which have no fineness to meet. Silver of copper alone
// takes copper as its rest.
func WindowOf(id string) (Window, bool) {
	m, err := Named(id)
	if err != nil || m.ID == "" {
		return Window{}, false
	}
	symbol := ""
	for _, s := range [...]string{"Au", "Ag"} {
		if m.Composition[s] >= 0.3 {
			symbol = s
			break
		}
	}
	if symbol == "" || kindOf(m.ID) != "gold" && kindOf(m.ID) != "silver" {
		return Window{}, false
	}
	w := Window{Metal: symbol, Bounds: map[string]Range{}}
	row, ok := windows[m.ID]
	switch {
	case ok:
		w.Bounds, w.Source = mustRanges(row.bounds), *row.source
	case symbol == "Ag":
		w.Bounds["Cu"], w.Source = Range{0, 1}, srcGostWindow
	default: // fine gold
		for s, v := range m.Composition {
			if s != symbol {
				w.Bounds[s] = Range{0, 2 * v}
			}
		}
		w.Source = srcOwnWindow
	}
	w.Source.For += " of " + m.Name
	return w, true
}

func kindOf(id string) string {
	if i := slices.IndexFunc(catalogue, func(a alloy) bool { return a.id == id }); i >= 0 {
		return catalogue[i].kind
	}
	return ""
}

// mustRanges reads "Ag 100-170 Cu 80-150".
func mustRanges(text string) map[string]Range {
	words, out := strings.Fields(text), map[string]Range{}
	for i := 0; i+1 < len(words); i += 2 {
		least, most, ok := strings.Cut(words[i+1], "-")
		a, errA := strconv.ParseFloat(least, 64)
		b, errB := strconv.ParseFloat(most, 64)
		if !ok || errA != nil || errB != nil || a > b || elements[words[i]] == nil {
			panic("metal: bad window " + text)
		}
		out[words[i]] = Range{a / 1000, b / 1000}
	}
	return out
}

// Breach is an element of a composition outside a window, parts per thousand.
type Breach struct {
	Element string  `json:"element" doc:"Symbol" example:"Pd"`
	Permil  float64 `json:"permil" doc:"Parts per thousand by mass that it has" example:"98"`
	Least   float64 `json:"least_permil" doc:"Least that the alloy asked for has" example:"0"`
	Most    float64 `json:"most_permil" doc:"Greatest that it may have" example:"5"`
}

// Breaches lists the elements of c, other than the metal of its fineness, that
// lie outside w by more than tolerance (a mass fraction).
func (w Window) Breaches(c Composition, tolerance float64) []Breach {
	names := c.Symbols()
	for s := range w.Bounds {
		if _, ok := c[s]; !ok {
			names = append(names, s)
		}
	}
	slices.Sort(names)
	list := []Breach{}
	for _, s := range names {
		if s == w.Metal {
			continue
		}
		r := w.Of(s)
		if v := c[s]; v < r.Least-tolerance || v > r.Most+tolerance {
			list = append(list, Breach{s, permil(v), permil(r.Least), permil(r.Most)})
		}
	}
	return list
}

// Of returns the bounds of an alloying element.
func (w Window) Of(symbol string) Range {
	if r, ok := w.Bounds[symbol]; ok {
		return r
	}
	return Range{0, Stray}
}

// String writes the window in parts per thousand: "Ag 100-170, Cu 80-150".
func (w Window) String() string {
	var parts []string
	for _, s := range symbols {
		if r, ok := w.Bounds[s]; ok && r.Most < 1 {
			parts = append(parts, fmt.Sprintf("%s %g-%g", s, permil(r.Least), permil(r.Most)))
		} else if ok {
			parts = append(parts, s+" the rest")
		}
	}
	return strings.Join(parts, ", ")
}

func permil(v float64) float64 { return tenth(1000 * v) }

// Is returns the catalogue alloys of gold and silver, nearest first, whose
// fineness c reaches (at most 15 parts per thousand finer) and in whose window
// it lies within 1 part per thousand.
func (c Composition) Is() []string {
	const tolerance, finer = 0.001, 0.015
	type near struct {
		id       string
		distance float64
	}
	var found []near
	for _, t := range targets() {
		over := c[t.w.Metal] - t.nominal[t.w.Metal]
		if over < -tolerance || over > finer || len(t.w.Breaches(c, tolerance)) > 0 {
			continue
		}
		found = append(found, near{t.id, c.apart(t.nominal)})
	}
	slices.SortStableFunc(found, func(a, b near) int {
		switch {
		case a.distance < b.distance:
			return -1
		case a.distance > b.distance:
			return 1
		}
		return strings.Compare(a.id, b.id)
	})
	ids := make([]string, len(found))
	for i, f := range found {
		ids[i] = f.id
	}
	return ids
}

type target struct {
	id      string
	nominal Composition
	w       Window
}

// targets are the alloys of the catalogue that have windows.
var targets = sync.OnceValue(func() []target {
	var list []target
	for _, a := range catalogue {
		if w, ok := WindowOf(a.id); ok {
			list = append(list, target{a.id, mustParse(a.composition), w})
		}
	}
	return list
})

// apart is half the sum of the differences of two compositions: the mass
// fraction that would have to be exchanged.
func (c Composition) apart(o Composition) float64 {
	sum := 0.0
	for _, s := range symbols {
		sum += max(c[s]-o[s], o[s]-c[s])
	}
	return sum / 2
}

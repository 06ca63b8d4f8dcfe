package metal

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"pourwright/internal/calc"
)

// Composition is a mass fraction by element symbol; the fractions sum to 1.
type Composition map[string]float64

// sumTolerance is how far a composition may be from 1 before it is refused:
// printed compositions are rounded to 0.1 % a part.
const sumTolerance = 2e-3

// normal returns the composition scaled to sum to exactly 1, without zeros, or
// a refusal on field "composition".
func (c Composition) normal() (Composition, error) {
	var checks calc.Checks
	sum := 0.0
	out := Composition{}
	for _, symbol := range c.Symbols() {
		w := c[symbol]
		if why, ok := spoilers[symbol]; ok {
			checks.Refuse("composition", symbol, "leave it out, or send the metal to a refiner: %s", why)
			continue
		}
		if _, ok := elements[symbol]; !ok {
			checks.Refuse("composition", symbol, "give symbols of %s", strings.Join(Symbols(), ", "))
			continue
		}
		if math.IsNaN(w) || w < 0 || w > 1 {
			checks.Refuse("composition", fmt.Sprintf("%s %g", symbol, w*1000), "give 0 to 1000 per mil of each element")
			continue
		}
		sum += w
		if w > 0 {
			out[symbol] = w
		}
	}
	if err := checks.Err(); err != nil {
		return nil, err
	}
	if math.Abs(sum-1) > sumTolerance {
		return nil, calc.Refuse("composition", math.Round(sum*1e6)/1e3, "give parts that sum to 1000 per mil (within %g)", sumTolerance*1000)
	}
	for symbol := range out {
		out[symbol] /= sum
	}
	return out, nil
}

// Symbols returns the elements of c, the largest part first, ties by name.
func (c Composition) Symbols() []string {
	list := make([]string, 0, len(c))
	for s := range c {
		list = append(list, s)
	}
	slices.SortFunc(list, func(a, b string) int {
		switch {
		case c[a] > c[b]:
			return -1
		case c[a] < c[b]:
			return 1
		}
		return strings.Compare(a, b)
	})
	return list
}

// String writes c as [ParseComposition] reads it: "Ag 925 Cu 75", per mil.
func (c Composition) String() string {
	parts := make([]string, 0, 2*len(c))
	for _, s := range c.Symbols() {
		parts = append(parts, s, strconv.FormatFloat(math.Round(c[s]*1e6)/1e3, 'f', -1, 64))
	}
	return strings.Join(parts, " ")
}

// core returns the silver, gold and copper of c by themselves, and the mass
// fraction of the further elements.
func (c Composition) core() (core Composition, further float64) {
	core = Composition{}
	sum := 0.0
	for _, s := range [...]string{"Ag", "Au", "Cu"} {
		if c[s] > 0 {
			core[s] = c[s]
			sum += c[s]
		}
	}
	for s := range core {
		core[s] /= sum
	}
	if len(core) == len(c) {
		return core, 0
	}
	return core, 1 - sum
}

// key names c and r exactly.
func (c Composition) key(r *MeltingRange) string {
	b := make([]byte, 0, 64)
	for _, s := range c.Symbols() {
		b = append(b, s...)
		b = strconv.AppendFloat(b, c[s], 'b', -1, 64)
	}
	if r != nil {
		b = strconv.AppendFloat(append(b, '/'), r.SolidusC, 'b', -1, 64)
		b = strconv.AppendFloat(append(b, '/'), r.LiquidusC, 'b', -1, 64)
	}
	return string(b)
}

// ParseComposition reads pairs of an element's symbol and its parts per
// thousand by mass, such as "Ag 925 Cu 75". The parts must sum to 1000 within
// 2; they are then scaled to sum exactly. Errors are refusals of field
// "composition".
func ParseComposition(text string) (Composition, error) {
	const form = `give symbol and per mil in turn, such as "Ag 925 Cu 75"`
	words := strings.Fields(strings.NewReplacer(",", " ", ";", " ").Replace(text))
	if len(words) == 0 || len(words)%2 != 0 {
		return nil, calc.Refuse("composition", text, form)
	}
	c := Composition{}
	for i := 0; i < len(words); i += 2 {
		v, err := strconv.ParseFloat(words[i+1], 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, calc.Refuse("composition", words[i+1], form)
		}
		if _, twice := c[words[i]]; twice {
			return nil, calc.Refuse("composition", words[i], "give each element once")
		}
		c[words[i]] = v / 1000
	}
	return c.normal()
}

// moles returns the mole fractions of c.
func (c Composition) moles() map[string]float64 {
	total := 0.0
	for _, s := range c.Symbols() {
		total += c[s] / elements[s].molar.value
	}
	x := make(map[string]float64, len(c))
	for s, w := range c {
		x[s] = w / elements[s].molar.value / total
	}
	return x
}

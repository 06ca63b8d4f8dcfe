package metal

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"sync"

	"pourwright/internal/calc"
)

// named caches the catalogue alloys, which are asked for again and again.
var named sync.Map

// Named returns the catalogue alloy of that id, or the metal of a composition
// written as [ParseComposition] reads it ("Ag 925 Cu 75"), so that whatever
// takes an alloy also takes the metal of a charge; "as" with an id behind it
// names the alloy whose melting range stands in where none is known of the
// composition itself; "melts 890-940" behind either gives it a solidus and
// liquidus of the caller's own, °C. [Metal.Ref] writes all of it. The error is a
// refusal of field "alloy" that offers the nearest id.
func Named(id string) (Metal, error) {
	if m, ok := named.Load(id); ok {
		return m.(Metal), nil
	}
	if text, ends, ok := strings.Cut(id, " melts "); ok {
		return melting(text, ends)
	}
	i := slices.IndexFunc(catalogue, func(a alloy) bool { return a.id == id })
	if i < 0 && strings.ContainsRune(strings.TrimSpace(id), ' ') {
		text, like, _ := strings.Cut(id, " as ")
		c, err := ParseComposition(text)
		if err == nil {
			var m Metal
			if m, err = alike(c, strings.TrimSpace(like)); err == nil {
				return m, nil
			}
		}
		return Metal{}, renamed(err, "alloy")
	}
	if i < 0 {
		ids := IDs()
		if near := calc.Nearest(id, ids); near != "" {
			return Metal{}, calc.Refuse("alloy", id, "did you mean %q?", near)
		}
		return Metal{}, calc.Refuse("alloy", id, "give one of %s", strings.Join(ids, ", "))
	}
	a := catalogue[i]
	c, err := ParseComposition(a.composition)
	if err != nil {
		return Metal{}, err
	}
	r, err := rangeOf(c, &a, nil)
	if err != nil {
		return Metal{}, err
	}
	m, err := build(c, r)
	if err != nil {
		return Metal{}, err
	}
	m.ID, m.Name = a.id, a.name
	named.Store(id, m)
	return m, nil
}

// melting is the metal of that id or composition with a melting range written
// "890-940".
func melting(text, ends string) (Metal, error) {
	solidus, liquidus, _ := strings.Cut(ends, "-")
	s, errS := strconv.ParseFloat(solidus, 64)
	l, errL := strconv.ParseFloat(liquidus, 64)
	if errS != nil || errL != nil {
		return Metal{}, calc.Refuse("alloy", text+" melts "+ends, "give solidus and liquidus in °C behind melts, such as 890-940")
	}
	return Melting(text, MeltingRange{s, l})
}

// Melting is the metal of a catalogue id or a composition with the caller's own
// melting range. Errors are refusals of "alloy", "solidus_c" or "liquidus_c".
func Melting(id string, r MeltingRange) (Metal, error) {
	i := slices.IndexFunc(catalogue, func(a alloy) bool { return a.id == id })
	if i >= 0 {
		m, err := Of(nominal()[i], &r)
		m.ID, m.Name = id, catalogue[i].name
		return m, err
	}
	c, err := ParseComposition(id)
	if err != nil {
		return Metal{}, renamed(err, "alloy")
	}
	return Of(c, &r)
}

// Ref is the name by which [Named] finds the metal again: its id, or its
// composition, and a melting range that the caller gave.
func (m Metal) Ref() string {
	if r := m.own; r != nil {
		m.own = nil
		return fmt.Sprintf("%s melts %g-%g", m.Ref(), r.SolidusC, r.LiquidusC)
	}
	switch {
	case m.ID != "":
		return m.ID
	case m.near != "":
		return m.Composition.String() + " as " + m.near
	}
	return m.Composition.String()
}

// IDs lists the catalogue alloys in order.
func IDs() []string {
	ids := make([]string, len(catalogue))
	for i, a := range catalogue {
		ids[i] = a.id
	}
	return ids
}

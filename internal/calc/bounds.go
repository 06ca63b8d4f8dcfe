package calc

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// Bounds records a fault for every field of the struct in that lies outside
// its `minimum`, `maximum`, `enum`, `minItems` or `maxItems` tag, so that
// callers in Go are held to what a request is held to. It looks at numbers,
// texts, pointers to them, lists of them and how long a list is, in embedded
// structs too; structs inside are theirs to check. Absent (nil, or the empty
// text, list or zero of a field that may be left out and has no default)
// passes; a NaN does not.
func (c *Checks) Bounds(in any) {
	v := reflect.ValueOf(in)
	for _, b := range boundsOf(v.Type()) {
		b.check(c, v.FieldByIndex(b.index))
	}
}

// InBounds is what [Checks.Bounds] finds, for [Checks.Under] to move.
func InBounds(in any) error {
	var c Checks
	c.Bounds(in)
	return c.Err()
}

type bound struct {
	index       []int
	name        string
	lo, hi      float64
	enum        []string
	least, most float64 // items of a list
	absent      bool    // empty text, empty list and zero pass
}

var boundsByType sync.Map // reflect.Type -> []bound

func boundsOf(t reflect.Type) []bound {
	if known, ok := boundsByType.Load(t); ok {
		return known.([]bound)
	}
	list := appendBounds(nil, t, nil)
	boundsByType.Store(t, list)
	return list
}

func appendBounds(list []bound, t reflect.Type, prefix []int) []bound {
	for i := range t.NumField() {
		f := t.Field(i)
		index := append(slices.Clone(prefix), i)
		tag, tagged := f.Tag.Lookup("json")
		if f.Anonymous && !tagged {
			list = appendBounds(list, f.Type, index)
			continue
		}
		name, options, _ := strings.Cut(tag, ",")
		_, defaulted := f.Tag.Lookup("default")
		b := bound{index, name, limit(f, "minimum", math.Inf(-1)), limit(f, "maximum", math.Inf(1)), nil,
			limit(f, "minItems", 0), limit(f, "maxItems", math.Inf(1)), strings.Contains(options, "omitempty") && !defaulted}
		if e, ok := f.Tag.Lookup("enum"); ok {
			b.enum = strings.Split(e, ",")
		}
		if b.ofValues() || b.least > 0 || !math.IsInf(b.most, 1) {
			list = append(list, b)
		}
	}
	return list
}

func limit(f reflect.StructField, tag string, absent float64) float64 {
	text, ok := f.Tag.Lookup(tag)
	if !ok {
		return absent
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		panic(fmt.Sprintf("calc: %s of %s: %v", tag, f.Name, err))
	}
	return v
}

// ofValues says whether it bounds values, not only how many there are.
func (b bound) ofValues() bool {
	return b.enum != nil || !math.IsInf(b.lo, -1) || !math.IsInf(b.hi, 1)
}

func (b bound) check(c *Checks, v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			b.absent = false // what is given is given, zero too
			b.check(c, v.Elem())
		}
	case reflect.Slice:
		if n := float64(v.Len()); (n < b.least || n > b.most) && (n > 0 || !b.absent) {
			c.Refuse(b.name, v.Len(), "give%s", between(b.least, b.most, " in the list"))
		}
		if !b.ofValues() {
			return
		}
		for i := range v.Len() {
			item := b
			item.name, item.absent = fmt.Sprintf("%s[%d]", b.name, i), false
			item.check(c, v.Index(i))
		}
	case reflect.Float64:
		b.number(c, v.Float())
	case reflect.Int:
		b.number(c, float64(v.Int()))
	case reflect.String:
		if s := v.String(); b.enum != nil && !slices.Contains(b.enum, s) && (s != "" || !b.absent) {
			c.Refuse(b.name, s, "give one of %s", strings.Join(b.enum, ", "))
		}
	}
}

func (b bound) number(c *Checks, v float64) {
	if v == 0 && b.absent || v >= b.lo && v <= b.hi {
		return
	}
	c.Refuse(b.name, v, "give%s", between(b.lo, b.hi, ""))
}

// between says the bounds of a value in words.
func between(lo, hi float64, of string) string {
	switch {
	case math.IsInf(lo, -1), lo == 0 && of != "":
		return fmt.Sprintf(" at most %g%s", hi, of)
	case math.IsInf(hi, 1):
		return fmt.Sprintf(" at least %g%s", lo, of)
	}
	return fmt.Sprintf(" %g to %g%s", lo, hi, of)
}

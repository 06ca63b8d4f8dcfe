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
// its `minimum`, `maximum` or `enum` tag, so that callers in Go are held to
// what a request is held to. It looks at numbers, texts, pointers to them and
// lists of numbers; structs inside are theirs to check. Absent (nil, or the
// empty text or zero of a field that may be left out) passes; a NaN does not.
func (c *Checks) Bounds(in any) {
	v := reflect.ValueOf(in)
	for _, b := range boundsOf(v.Type()) {
		b.check(c, v.Field(b.index))
	}
}

type bound struct {
	index  int
	name   string
	lo, hi float64
	enum   []string
	absent bool // empty text and zero pass
}

var boundsByType sync.Map // reflect.Type -> []bound

func boundsOf(t reflect.Type) []bound {
	if known, ok := boundsByType.Load(t); ok {
		return known.([]bound)
	}
	var list []bound
	for i := range t.NumField() {
		f := t.Field(i)
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		b := bound{i, name, limit(f, "minimum", math.Inf(-1)), limit(f, "maximum", math.Inf(1)), nil, strings.Contains(options, "omitempty")}
		if e, ok := f.Tag.Lookup("enum"); ok {
			b.enum = strings.Split(e, ",")
		}
		if b.enum != nil || !math.IsInf(b.lo, -1) || !math.IsInf(b.hi, 1) {
			list = append(list, b)
		}
	}
	boundsByType.Store(t, list)
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

func (b bound) check(c *Checks, v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			b.absent = false // what is given is given, zero too
			b.check(c, v.Elem())
		}
	case reflect.Slice:
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
	switch {
	case math.IsInf(b.lo, -1):
		c.Refuse(b.name, v, "give at most %g", b.hi)
	case math.IsInf(b.hi, 1):
		c.Refuse(b.name, v, "give at least %g", b.lo)
	default:
		c.Refuse(b.name, v, "give %g to %g", b.lo, b.hi)
	}
}

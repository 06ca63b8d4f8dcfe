package schema

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Within reports whether v is a finite number inside the bounds.
func (t *Type) Within(v float64) bool {
	return !math.IsNaN(v) && !math.IsInf(v, 0) &&
		(v > t.Min || v == t.Min && !t.OpenMin) && (v < t.Max || v == t.Max && !t.OpenMax)
}

// Takes reports whether s is a text of the choices, length and form asked for.
func (t *Type) Takes(s string) bool {
	if t.Enum != nil {
		return slices.Contains(t.Enum, s)
	}
	if t.MinLen > 0 || t.MaxLen < math.MaxInt {
		if n := utf8.RuneCountInString(s); n < t.MinLen || n > t.MaxLen {
			return false
		}
	}
	return t.Pattern == nil || t.Pattern.MatchString(s)
}

// Holds reports whether a list or map may have n items.
func (t *Type) Holds(n int) bool { return n >= t.MinLen && n <= t.MaxLen }

// bounded reports whether there is anything that Check would look at: of every
// number, that it is one.
func (t *Type) bounded() bool {
	return t.Kind == Number || t.MinLen > 0 || t.MaxLen < math.MaxInt || t.Enum != nil || t.Pattern != nil ||
		!math.IsInf(t.Min, -1) || !math.IsInf(t.Max, 1) || t.Item != nil && t.Item.bounded()
}

// Check reports each field of the struct v that its tags do not accept, with
// its value and what would be accepted: the fields themselves, pointers to
// them, the items of lists and maps of scalars, and how many there are. What
// may be left out and is (nil, or the empty text, list or zero of a field
// with omitempty and no default) passes; a NaN does not. Objects inside are
// theirs to check.
func (t *Type) Check(v reflect.Value, report func(field string, value any, accepts string)) {
	for _, f := range t.Fields {
		if f.Kind == Object || f.Kind == Any || f.Kind == Bytes || !f.bounded() {
			continue
		}
		value := v.FieldByIndex(f.Index)
		absent := f.OmitEmpty && f.Default == nil
		if f.Pointer {
			if value.IsNil() {
				continue
			}
			value, absent = value.Elem(), false // what is given is given, zero too
		}
		if absent && empty(value) {
			continue
		}
		f.check(f.Name, value, report)
	}
}

func empty(v reflect.Value) bool {
	if k := v.Kind(); k == reflect.Slice || k == reflect.Map {
		return v.Len() == 0
	}
	return v.IsZero()
}

func (t *Type) check(at string, v reflect.Value, report func(string, any, string)) {
	switch t.Kind {
	case Number:
		if f := v.Float(); !t.Within(f) {
			report(at, f, t.Accepts)
		}
	case Integer:
		if n := v.Int(); !t.Within(float64(n)) {
			report(at, n, t.Accepts)
		}
	case Text:
		if s := v.String(); !t.Takes(s) {
			report(at, s, t.Accepts)
		}
	case List:
		if !t.Holds(v.Len()) {
			report(at, v.Len(), t.Accepts)
		}
		if t.Item.Kind.Scalar() && t.Item.bounded() {
			for i := range v.Len() {
				t.Item.check(at+"["+strconv.Itoa(i)+"]", v.Index(i), report)
			}
		}
	case Map:
		if !t.Holds(v.Len()) {
			report(at, v.Len(), t.Accepts)
		}
		if t.Item.Kind.Scalar() && t.Item.bounded() {
			keys := v.MapKeys()
			slices.SortFunc(keys, func(a, b reflect.Value) int { return strings.Compare(a.String(), b.String()) })
			for _, key := range keys {
				t.Item.check(at+"."+key.String(), v.MapIndex(key), report)
			}
		}
	}
}

// accepts words what the type accepts.
func (t *Type) accepts() string {
	switch t.Kind {
	case Integer:
		return "give a whole number" + t.bounds()
	case Boolean:
		return "give true or false"
	case Bytes:
		return "give base64 text"
	case Text:
		switch {
		case t.Enum != nil:
			return "give one of " + strings.Join(t.Enum, ", ")
		case t.Pattern != nil:
			return "give a text of the form " + t.Pattern.String()
		}
		return "give a text" + t.span("characters")
	case List:
		return "give a list" + t.span("items")
	case Map:
		return "give an object" + t.span("members")
	case Object:
		return "give an object"
	case Any:
		return "give any value"
	}
	clause := "give a number" + t.bounds()
	if t.Unit != "" {
		clause += fmt.Sprintf(" in %s, or a text with a unit such as %q", t.Unit, t.UnitSample)
	}
	return clause
}

// bounds words the bounds of a number: " from 0 to 5000".
func (t *Type) bounds() string {
	lo, hi := !math.IsInf(t.Min, 0), !math.IsInf(t.Max, 0)
	from, to := "from", "to"
	if t.OpenMin {
		from = "above"
	}
	if t.OpenMax {
		to = "below"
	}
	switch {
	case lo && hi:
		return fmt.Sprintf(" %s %s %s %s", from, plain(t.Min), to, plain(t.Max))
	case lo && t.OpenMin:
		return " above " + plain(t.Min)
	case lo:
		return " of at least " + plain(t.Min)
	case hi && t.OpenMax:
		return " below " + plain(t.Max)
	case hi:
		return " of at most " + plain(t.Max)
	}
	return ""
}

func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// span words how long a text or list may be: " of 1 to 5 items".
func (t *Type) span(of string) string {
	switch {
	case t.MinLen > 0 && t.MaxLen < math.MaxInt:
		return fmt.Sprintf(" of %d to %d %s", t.MinLen, t.MaxLen, of)
	case t.MinLen > 0:
		return fmt.Sprintf(" of at least %d %s", t.MinLen, of)
	case t.MaxLen < math.MaxInt:
		return fmt.Sprintf(" of at most %d %s", t.MaxLen, of)
	}
	return ""
}

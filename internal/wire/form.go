package wire

import (
	"encoding/base64"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// form is the compiled form of an answer's type: it writes what package json
// would under jsonOptions, at a third of the cost, since it asks nothing of a
// type twice. What it does not know (maps, interfaces, types that write
// themselves) it leaves to package json.
type form struct {
	kind    reflect.Kind // Invalid: left to package json
	item    *form        // of a slice, a pointer
	members []formMember
}

type formMember struct {
	*form
	index               int
	inline              bool   // an embedded struct, whose members stand among these
	key                 string // `"mass_g":`
	omitEmpty, omitZero bool
}

var forms sync.Map // reflect.Type -> *form

func formOf(t reflect.Type) *form {
	if f, ok := forms.Load(t); ok {
		return f.(*form)
	}
	f, _ := forms.LoadOrStore(t, compileForm(t, map[reflect.Type]*form{}))
	return f.(*form)
}

var selfWriting = []reflect.Type{
	reflect.TypeFor[json.Marshaler](), reflect.TypeFor[json.MarshalerTo](),
	reflect.TypeFor[interface{ MarshalText() ([]byte, error) }](), reflect.TypeFor[interface{ AppendText([]byte) ([]byte, error) }](),
}

func compileForm(t reflect.Type, seen map[reflect.Type]*form) *form {
	if f := seen[t]; f != nil {
		return f
	}
	f := &form{}
	seen[t] = f
	if slices.ContainsFunc(selfWriting, func(w reflect.Type) bool { return t.Implements(w) || reflect.PointerTo(t).Implements(w) }) {
		return f
	}
	switch k := t.Kind(); {
	case k == reflect.Float64 || k == reflect.Int || k == reflect.Int64 || k == reflect.String || k == reflect.Bool:
		f.kind = k
	case t == reflect.TypeFor[[]byte]():
		f.kind = reflect.Uint8
	case k == reflect.Slice && t.Elem().Kind() != reflect.Uint8 || k == reflect.Pointer:
		f.item = compileForm(t.Elem(), seen)
		f.kind = k
	case k == reflect.Struct:
		if members, ok := compileMembers(t, seen); ok {
			f.members, f.kind = members, k
		}
	}
	return f
}

// compileMembers is false for a struct with tags or names that only package
// json knows to honour.
func compileMembers(t reflect.Type, seen map[reflect.Type]*form) (members []formMember, ok bool) {
	names := map[string]bool{}
	for _, v := range reflect.VisibleFields(t) {
		name, _, _ := strings.Cut(v.Tag.Get("json"), ",")
		if v.Anonymous && name == "" || !v.IsExported() || name == "-" {
			continue
		}
		if name == "" || names[name] || strings.ContainsFunc(name, func(r rune) bool { return r != '_' && (r < '0' || r > 'z' || r > '9' && r < 'A' || r > 'Z' && r < 'a') }) {
			return nil, false
		}
		names[name] = true
	}
	for i := range t.NumField() {
		f := t.Field(i)
		tag, tagged := f.Tag.Lookup("json")
		name, options, _ := strings.Cut(tag, ",")
		switch {
		case f.Anonymous && !tagged:
			inner := compileForm(f.Type, seen)
			if inner.kind != reflect.Struct {
				return nil, false
			}
			members = append(members, formMember{form: inner, index: i, inline: true})
			continue
		case !f.IsExported() || name == "-":
			continue
		}
		m := formMember{form: compileForm(f.Type, seen), index: i, key: `"` + name + `":`}
		for option := range strings.SplitSeq(options, ",") {
			switch option {
			case "":
			case "omitempty":
				m.omitEmpty = true
			case "omitzero":
				m.omitZero = true
			default:
				return nil, false
			}
		}
		members = append(members, m)
	}
	return members, true
}

// append writes v behind dst.
func (f *form) append(dst []byte, v reflect.Value) ([]byte, error) {
	switch f.kind {
	case reflect.Float64:
		x := v.Float()
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return dst, &NotFinite{x}
		}
		return appendNumber(dst, x), nil
	case reflect.String:
		return jsontext.AppendQuote(dst, v.String())
	case reflect.Struct:
		dst, _, err := f.appendMembers(append(dst, '{'), v, true)
		return append(dst, '}'), err
	case reflect.Slice:
		dst = append(dst, '[')
		for i := range v.Len() {
			if i > 0 {
				dst = append(dst, ',')
			}
			var err error
			if dst, err = f.item.append(dst, v.Index(i)); err != nil {
				return dst, err
			}
		}
		return append(dst, ']'), nil
	case reflect.Pointer:
		if v.IsNil() {
			return append(dst, "null"...), nil
		}
		return f.item.append(dst, v.Elem())
	case reflect.Int, reflect.Int64:
		return strconv.AppendInt(dst, v.Int(), 10), nil
	case reflect.Bool:
		return strconv.AppendBool(dst, v.Bool()), nil
	case reflect.Uint8:
		return append(base64.StdEncoding.AppendEncode(append(dst, '"'), v.Bytes()), '"'), nil
	}
	b, err := json.Marshal(v.Interface(), jsonOptions)
	return append(dst, b...), err
}

// appendMembers writes the members of the struct v; first says that none
// stands before them.
func (f *form) appendMembers(dst []byte, v reflect.Value, first bool) (_ []byte, stillFirst bool, err error) {
	for i := range f.members {
		m := &f.members[i]
		field := v.Field(m.index)
		if m.inline {
			if dst, first, err = m.appendMembers(dst, field, first); err != nil {
				return dst, first, err
			}
			continue
		}
		if m.omitZero && field.IsZero() {
			continue
		}
		before := len(dst)
		if !first {
			dst = append(dst, ',')
		}
		dst = append(dst, m.key...)
		value := len(dst)
		if dst, err = m.append(dst, field); err != nil {
			return dst, first, err
		}
		if m.omitEmpty && emptyJSON(dst[value:]) {
			dst = dst[:before]
			continue
		}
		first = false
	}
	return dst, first, nil
}

// emptyJSON reports whether a value is one that omitempty leaves out.
func emptyJSON(b []byte) bool {
	switch string(b) {
	case "null", `""`, "[]", "{}":
		return true
	}
	return false
}

package wire

import (
	"encoding/base64"
	"math"
	"reflect"
	"slices"
	"strconv"
	"sync"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"pourwright/internal/schema"
)

// form is a type's description made ready for writing: it writes what package
// json would under jsonOptions, at half the cost (BenchmarkWriteJSON),
// since it asks nothing of a type twice. Maps and interfaces, of which only
// problems have any, are left to package json.
type form struct {
	*schema.Type
	item    *form // of a list
	members []member
	places  int // of a number
}

type member struct {
	*schema.Field
	form *form
	key  string // `"mass_g":`
}

var (
	forms   sync.Map // *schema.Type -> *form
	forming sync.Mutex
)

func formOf(t *schema.Type) *form {
	if f, ok := forms.Load(t); ok {
		return f.(*form)
	}
	forming.Lock()
	defer forming.Unlock()
	seen := map[*schema.Type]*form{}
	made := compileForm(t, seen)
	for t, f := range seen {
		forms.Store(t, f)
	}
	return made
}

func compileForm(t *schema.Type, seen map[*schema.Type]*form) *form {
	if f := seen[t]; f != nil {
		return f
	}
	if f, ok := forms.Load(t); ok {
		return f.(*form)
	}
	f := &form{Type: t, places: placesOf(t.Named, unrounded)}
	seen[t] = f
	if t.Kind == schema.List {
		f.item = compileForm(t.Item, seen)
	}
	for _, field := range t.Fields {
		f.members = append(f.members, member{field, compileForm(field.Type, seen).within(field.Name), `"` + field.Name + `":`})
	}
	return f
}

// within is the form of an object in a field of that name: numbers in it whose
// names tell no unit have the field's.
func (f *form) within(field string) *form {
	around := placesOf(field, unrounded)
	if f.Kind != schema.Object || around == unrounded {
		return f
	}
	own := *f
	own.members = slices.Clone(f.members)
	for i := range own.members {
		m := &own.members[i]
		if m.form.Kind == schema.Number {
			number := *m.form
			number.places = placesOf(m.Name, around)
			m.form = &number
		}
	}
	return &own
}

// append writes v behind dst.
func (f *form) append(dst []byte, v reflect.Value) ([]byte, error) {
	switch f.Kind {
	case schema.Number:
		x := v.Float()
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return dst, &NotFinite{x}
		}
		return appendNumber(dst, rounded(x, f.places)), nil
	case schema.Text:
		return jsontext.AppendQuote(dst, v.String())
	case schema.Object:
		return f.appendObject(dst, v)
	case schema.List:
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
	case schema.Integer:
		return strconv.AppendInt(dst, v.Int(), 10), nil
	case schema.Boolean:
		return strconv.AppendBool(dst, v.Bool()), nil
	case schema.Bytes:
		return append(base64.StdEncoding.AppendEncode(append(dst, '"'), v.Bytes()), '"'), nil
	}
	b, err := json.Marshal(v.Interface(), jsonOptions)
	return append(dst, b...), err
}

func (f *form) appendObject(dst []byte, v reflect.Value) (_ []byte, err error) {
	dst = append(dst, '{')
	first := len(dst)
	for i := range f.members {
		m := &f.members[i]
		field := m.Of(v)
		if m.OmitZero && field.IsZero() {
			continue
		}
		before := len(dst)
		if before > first {
			dst = append(dst, ',')
		}
		dst = append(dst, m.key...)
		value := len(dst)
		if !m.Pointer {
			dst, err = m.form.append(dst, field)
		} else if field.IsNil() {
			dst = append(dst, "null"...)
		} else {
			dst, err = m.form.append(dst, field.Elem())
		}
		if err != nil {
			return dst, err
		}
		if m.OmitEmpty && emptyJSON(dst[value:]) {
			dst = dst[:before]
		}
	}
	return append(dst, '}'), nil
}

// emptyJSON reports whether a value is one that omitempty leaves out.
func emptyJSON(b []byte) bool {
	switch string(b) {
	case "null", `""`, "[]", "{}":
		return true
	}
	return false
}

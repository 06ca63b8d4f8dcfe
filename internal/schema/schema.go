// Package schema is the one description of an input or output type: its
// fields, what they accept, their units, defaults and words, and where they
// stand in the Go value. It is read from the struct's tags once; whatever
// reads, writes, checks or publishes a type works from it. It knows no format.
//
// The tags: `json` the name with its unit, and omitempty or omitzero; `doc`
// what the field means; `minimum`, `maximum`, `exclusiveMinimum`,
// `exclusiveMaximum`, `enum`, `pattern`, `minLength`, `maxLength`, `minItems`,
// `maxItems`, `minProperties`, `maxProperties` what is accepted; `default` what
// holds when the field is absent; `example`; `format`. Bounds, choices and
// lengths of text on a list or map are those of its items.
package schema

import (
	"fmt"
	"math"
	"reflect"
	"regexp"
	"slices"
	"sync"
)

// Kind of a value.
type Kind uint8

// The kinds. The first four are the scalars.
const (
	Number  Kind = iota // float64
	Integer             // int, int64
	Text                // string and types made of it
	Boolean             // bool
	List                // slice
	Map                 // map from a text
	Object              // struct
	Bytes               // []byte: base64 in JSON
	Any                 // an interface, or JSON as it is: written, never read
)

// Scalar reports whether a value of the kind is a number, a text or a truth.
func (k Kind) Scalar() bool { return k <= Boolean }

// Type describes a value under the constraints of the field that holds it.
type Type struct {
	Kind   Kind
	Go     reflect.Type // never a pointer
	Item   *Type        // of a list or map
	Fields []*Field     // of an object, those of embedded structs in their place

	Min, Max         float64 // of a number; infinite where there is none
	OpenMin, OpenMax bool    // the bound itself is not accepted
	Enum             []string
	Pattern          *regexp.Regexp
	MinLen, MaxLen   int // characters of a text, items of a list, members of a map
	Format           string

	// Unit is that of a number: "g". UnitSample is a text with another unit
	// that is accepted: "2.5 ozt". Both are empty for a pure number.
	Unit, UnitSample string
	// Named is the field that the value stands in, whose ending names the unit.
	Named string

	// Accepts is the clause that says what is accepted: "give true or false".
	Accepts string

	byName map[string]int
	proto  reflect.Value // an object that holds the defaults
	fresh  []listDefault // its defaults that are lists, made anew for each object
}

// Field is a member of an object.
type Field struct {
	*Type
	Name, Doc           string
	Index               []int // for [reflect.Value.FieldByIndex]
	Pointer             bool
	OmitEmpty, OmitZero bool
	// Required of an input: no default, no pointer, not left out when empty.
	Required bool
	Default  any // as decoded JSON; nil if there is none
	Example  any // likewise

	value reflect.Value // of the default
}

var (
	types     sync.Map // reflect.Type -> *Type
	compiling sync.Mutex
)

// Of describes t; pointers are followed. Each struct is compiled once, however
// many hold it. It panics on a type or tag that it does not know: a mistake in
// a definition, never in a request.
func Of(t reflect.Type) *Type {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if known, ok := types.Load(t); ok {
		return known.(*Type)
	}
	compiling.Lock()
	defer compiling.Unlock()
	seen := map[reflect.Type]*Type{}
	made := compile(t, seen)
	seen[t] = made
	for t, made := range seen { // whole now
		types.Store(t, made)
	}
	return made
}

// For is Of a type known at compile time.
func For[T any]() *Type { return Of(reflect.TypeFor[T]()) }

// Field finds a member of an object by its name; nil if there is none.
func (t *Type) Field(name string) *Field {
	if i, ok := t.byName[name]; ok {
		return t.Fields[i]
	}
	return nil
}

// FieldIndex is the place of a member among Fields.
func (t *Type) FieldIndex(name string) (int, bool) {
	i, ok := t.byName[name]
	return i, ok
}

// Names lists the members of an object.
func (t *Type) Names() []string {
	names := make([]string, len(t.Fields))
	for i, f := range t.Fields {
		names[i] = f.Name
	}
	return names
}

// Scalar is the type itself, or that of the items of a list.
func (t *Type) Scalar() *Type {
	if t.Kind == List {
		return t.Item
	}
	return t
}

func compile(t reflect.Type, seen map[reflect.Type]*Type) *Type {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if known := seen[t]; known != nil {
		return known
	}
	if known, ok := types.Load(t); ok {
		return known.(*Type)
	}
	n := &Type{Go: t, Min: math.Inf(-1), Max: math.Inf(1), MaxLen: math.MaxInt}
	switch k := t.Kind(); {
	case k == reflect.Float64:
		n.Kind = Number
	case k == reflect.Int || k == reflect.Int64:
		n.Kind = Integer
	case k == reflect.String:
		n.Kind = Text
	case k == reflect.Bool:
		n.Kind = Boolean
	case t == reflect.TypeFor[[]byte]():
		n.Kind = Bytes
	case k == reflect.Interface || k == reflect.Slice && t.Elem().Kind() == reflect.Uint8:
		n.Kind = Any
	case k == reflect.Slice && t.Elem().Kind() != reflect.Pointer:
		n.Kind, n.Item = List, compile(t.Elem(), seen)
	case k == reflect.Map && t.Key().Kind() == reflect.String && t.Elem().Kind() != reflect.Pointer:
		n.Kind, n.Item = Map, compile(t.Elem(), seen)
	case k == reflect.Struct:
		n.Kind = Object
		seen[t] = n
		n.byName = map[string]int{}
		n.addFields(t, nil, seen)
		n.prototype()
	default:
		panic(fmt.Sprintf("schema: a %s cannot be described", t))
	}
	n.Accepts = n.accepts()
	return n
}

// addFields adds the fields of the struct t, which stands at prefix.
func (t *Type) addFields(of reflect.Type, prefix []int, seen map[reflect.Type]*Type) {
	for i := range of.NumField() {
		f := of.Field(i)
		index := append(slices.Clone(prefix), i)
		tags := tagsOf(of, f)
		if _, tagged := tags["json"]; f.Anonymous && !tagged {
			t.addFields(f.Type, index, seen)
			continue
		}
		if !f.IsExported() || tags["json"] == "-" {
			continue
		}
		field := newField(of, f, tags, seen)
		field.Index = index
		if _, twice := t.byName[field.Name]; twice {
			panic(fmt.Sprintf("schema: %s has two fields named %s", t.Go, field.Name))
		}
		t.byName[field.Name] = len(t.Fields)
		t.Fields = append(t.Fields, field)
	}
}

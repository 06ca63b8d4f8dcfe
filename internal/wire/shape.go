// Package wire reads inputs from what callers send (JSON, query strings, CSV
// records) and writes answers in what they ask for (JSON, CSV, plain text).
//
// A [Shape] is compiled once from an input type and its tags. It reads in one
// strict pass: unknown fields, other letter case, duplicate keys, wrong types
// and values out of bounds are all gathered with their paths; absent fields
// take their defaults; quantities may carry a unit of the trade.
package wire

import (
	"fmt"
	"math"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"pourwright/internal/calc"
	"pourwright/internal/unit"
)

// Shape is the compiled form of an input type.
type Shape struct {
	root *node
	flat flatForm
}

var shapes sync.Map // reflect.Type -> *Shape

// ShapeOf compiles the struct type t. It panics on a type that cannot be
// read, which is a mistake in a definition, never in a request.
func ShapeOf(t reflect.Type) *Shape {
	if s, ok := shapes.Load(t); ok {
		return s.(*Shape)
	}
	n := compile(t, map[reflect.Type]*node{})
	if n.kind != object {
		panic(fmt.Sprintf("wire: %s is not a struct", t))
	}
	s, _ := shapes.LoadOrStore(t, &Shape{n, flatten(n)})
	return s.(*Shape)
}

// New returns a pointer to a new input that holds the defaults.
func (s *Shape) New() any {
	v := reflect.New(s.root.typ)
	s.root.reset(v.Elem())
	return v.Interface()
}

// Field is a field of an input, as the contract shows it.
type Field struct {
	Name     string
	Required bool
	Number   bool // a number or a list of them
	List     bool // a list
}

// Fields lists the top fields in the order of the type.
func (s *Shape) Fields() []Field {
	fields := make([]Field, len(s.root.props))
	for i, p := range s.root.props {
		fields[i] = Field{Name: p.name, Required: p.required, Number: p.kind <= integer, List: p.kind == list}
	}
	return fields
}

type kind int

const (
	number kind = iota
	integer
	text
	boolean
	list
	dictionary
	object
	octets
)

// node is a value of the input: its Go type and what it accepts.
type node struct {
	kind             kind
	typ              reflect.Type // without pointer
	min, max         float64
	openMin, openMax bool // bounds excluded
	enum             []string
	pattern          *regexp.Regexp
	minLen, maxLen   int // of a text, list or dictionary
	item             *node

	props   []*prop // of an object
	byName  map[string]int
	proto   reflect.Value // an object that holds the defaults
	lists   bool          // and a default is a list
	accepts string
}

// prop is a field of an object.
type prop struct {
	*node
	name      string
	index     []int
	pointer   bool
	defaulted bool
	required  bool
}

func compile(t reflect.Type, seen map[reflect.Type]*node) *node {
	if n := seen[t]; n != nil {
		return n
	}
	n := &node{typ: t, min: math.Inf(-1), max: math.Inf(1), maxLen: math.MaxInt}
	switch {
	case t.Kind() == reflect.Float64:
		n.kind = number
	case t.Kind() == reflect.Int || t.Kind() == reflect.Int64:
		n.kind = integer
	case t.Kind() == reflect.String:
		n.kind = text
	case t.Kind() == reflect.Bool:
		n.kind = boolean
	case t == reflect.TypeFor[[]byte]():
		n.kind = octets
	case t.Kind() == reflect.Slice:
		n.kind, n.item = list, compile(t.Elem(), seen)
	case t.Kind() == reflect.Map && t.Key().Kind() == reflect.String:
		n.kind, n.item = dictionary, compile(t.Elem(), seen)
	case t.Kind() == reflect.Struct:
		n.kind = object
		seen[t] = n
		n.compileFields(t, nil, seen)
		n.byName = make(map[string]int, len(n.props))
		for i, p := range n.props {
			n.byName[p.name] = i
		}
		n.proto = reflect.New(t).Elem()
		calc.SetDefaults(n.proto)
		n.lists = n.hasListDefault()
	default:
		panic(fmt.Sprintf("wire: a %s cannot be read from a request", t))
	}
	n.describe("")
	return n
}

func (n *node) compileFields(t reflect.Type, prefix []int, seen map[reflect.Type]*node) {
	for i := range t.NumField() {
		f := t.Field(i)
		index := append(slices.Clone(prefix), i)
		tag, tagged := f.Tag.Lookup("json")
		if f.Anonymous && !tagged {
			n.compileFields(f.Type, index, seen)
			continue
		}
		name, options, _ := strings.Cut(tag, ",")
		if !f.IsExported() || name == "-" {
			continue
		}
		if name == "" {
			panic(fmt.Sprintf("wire: %s.%s has no json name", t, f.Name))
		}
		ft, pointer := f.Type, f.Type.Kind() == reflect.Pointer
		if pointer {
			ft = ft.Elem()
		}
		_, defaulted := f.Tag.Lookup("default")
		p := &prop{
			node: compile(ft, seen).tagged(name, f.Tag), name: name, index: index, pointer: pointer, defaulted: defaulted,
			required: !pointer && !defaulted && !strings.Contains(options, "omitempty") && !strings.Contains(options, "omitzero"),
		}
		n.props = append(n.props, p)
	}
}

// reset gives the object v its defaults.
func (n *node) reset(v reflect.Value) {
	if n.lists {
		calc.SetDefaults(v) // lists are made afresh
		return
	}
	v.Set(n.proto)
}

// hasListDefault reports whether a default of the object is a list, whose
// memory a prototype would share.
func (n *node) hasListDefault() bool {
	for _, p := range n.props {
		if p.kind == list && p.defaulted || p.kind == object && !p.pointer && p.lists {
			return true
		}
	}
	return false
}

// tagged returns the node under the constraints of a field's tags. Bounds and
// choices of a list are those of its items, as in the contract.
func (n *node) tagged(name string, tag reflect.StructTag) *node {
	c := *n
	scalar := &c
	if c.kind == list && c.item.kind <= boolean {
		item := *c.item
		c.item, scalar = &item, &item
	}
	float := func(key string, to *float64) bool {
		s, ok := tag.Lookup(key)
		if !ok {
			return false
		}
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			panic(fmt.Sprintf("wire: %s of %s: %v", key, name, err))
		}
		*to = v
		return true
	}
	float("minimum", &scalar.min)
	float("maximum", &scalar.max)
	scalar.openMin = float("exclusiveMinimum", &scalar.min)
	scalar.openMax = float("exclusiveMaximum", &scalar.max)
	if e := tag.Get("enum"); e != "" {
		scalar.enum = strings.Split(e, ",")
	}
	if p := tag.Get("pattern"); p != "" {
		scalar.pattern = regexp.MustCompile(p)
	}
	length := func(key string, to *int) {
		if s, ok := tag.Lookup(key); ok {
			v, err := strconv.Atoi(s)
			if err != nil {
				panic(fmt.Sprintf("wire: %s of %s: %v", key, name, err))
			}
			*to = v
		}
	}
	length("minLength", &scalar.minLen)
	length("maxLength", &scalar.maxLen)
	length("minItems", &c.minLen)
	length("maxItems", &c.maxLen)
	length("minProperties", &c.minLen)
	length("maxProperties", &c.maxLen)
	if scalar != &c {
		scalar.describe(name)
	}
	c.describe(name)
	return &c
}

// describe sets the clause that says what the node accepts.
func (n *node) describe(name string) {
	switch n.kind {
	case number, integer:
		n.accepts = "give a number" + n.bounds()
		if n.kind == integer {
			n.accepts = "give a whole number" + n.bounds()
		}
		if canonical, example, ok := unit.Of(name); ok && n.kind == number {
			n.accepts += fmt.Sprintf(" in %s, or a text with a unit such as %q", canonical, example)
		}
	case boolean:
		n.accepts = "give true or false"
	case octets:
		n.accepts = "give base64 text"
	case text:
		switch {
		case n.enum != nil:
			n.accepts = "give one of " + strings.Join(n.enum, ", ")
		case n.pattern != nil:
			n.accepts = "give a text of the form " + n.pattern.String()
		default:
			n.accepts = "give a text" + n.span("characters")
		}
	case list:
		n.accepts = "give a list" + n.span("items")
	case dictionary:
		n.accepts = "give an object" + n.span("members")
	case object:
		n.accepts = "give an object"
	}
}

func (n *node) bounds() string {
	lo, hi := !math.IsInf(n.min, 0), !math.IsInf(n.max, 0)
	from, to := "from", "to"
	if n.openMin {
		from = "above"
	}
	if n.openMax {
		to = "below"
	}
	switch {
	case lo && hi:
		return fmt.Sprintf(" %s %s %s %s", from, Number(n.min), to, Number(n.max))
	case lo && n.openMin:
		return " above " + Number(n.min)
	case lo:
		return " of at least " + Number(n.min)
	case hi && n.openMax:
		return " below " + Number(n.max)
	case hi:
		return " of at most " + Number(n.max)
	}
	return ""
}

func (n *node) span(of string) string {
	switch {
	case n.minLen > 0 && n.maxLen < math.MaxInt:
		return fmt.Sprintf(" of %d to %d %s", n.minLen, n.maxLen, of)
	case n.minLen > 0:
		return fmt.Sprintf(" of at least %d %s", n.minLen, of)
	case n.maxLen < math.MaxInt:
		return fmt.Sprintf(" of at most %d %s", n.maxLen, of)
	}
	return ""
}

// within reports whether v is a finite number inside the bounds.
func (n *node) within(v float64) bool {
	return !math.IsNaN(v) && !math.IsInf(v, 0) &&
		(v > n.min || v == n.min && !n.openMin) && (v < n.max || v == n.max && !n.openMax)
}

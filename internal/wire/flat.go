package wire

import (
	"reflect"
	"slices"
	"strings"

	"pourwright/internal/calc"
)

// flatForm is how a query or a row of a table holds an input: a name for
// each scalar or list of scalars, those of nested objects with dots
// ("section.width_mm").
type flatForm struct {
	whole  bool // every required field has such a name
	leaves []*leaf
	byName map[string]int
}

// leaf is a scalar or a list of scalars in the input.
type leaf struct {
	*prop
	name string
	path []*prop // the objects around it, outermost first
	// optional lists the objects around it that may be absent; the leaf is
	// only required once something in the innermost of them is given.
	optional []*prop
}

func flatten(root *node) flatForm {
	f := flatForm{whole: true, byName: map[string]int{}}
	f.add(root, "", nil, nil)
	for i, l := range f.leaves {
		f.byName[l.name] = i
	}
	return f
}

func (f *flatForm) add(n *node, prefix string, path, optional []*prop) {
	for _, p := range n.props {
		name := prefix + p.name
		switch {
		case p.kind <= boolean || p.kind == list && p.item.kind <= boolean:
			f.leaves = append(f.leaves, &leaf{p, name, path, optional})
		case p.kind == object && !slices.ContainsFunc(path, func(q *prop) bool { return q.typ == p.typ }):
			inner := optional
			if !p.required {
				inner = append(slices.Clone(optional), p)
			}
			f.add(p.node, name+".", append(slices.Clone(path), p), inner)
		case p.required || p.kind == octets: // a file has no place in a query
			f.whole = false
		}
	}
}

// Flat reports whether a query or a row of a table can hold the input: every
// required field is a scalar or a list of scalars, be it inside an object,
// and none is a file.
func (s *Shape) Flat() bool { return s.flat.whole }

// FlatFields lists the names that a query or a row of a table may use.
func (s *Shape) FlatFields() []Field {
	fields := make([]Field, len(s.flat.leaves))
	for i, l := range s.flat.leaves {
		scalar := l.node
		if l.kind == list {
			scalar = l.item
		}
		fields[i] = Field{l.name, l.required && l.optional == nil, scalar.kind <= integer, l.kind == list}
	}
	return fields
}

// Pair is a name with its text, from a query or a table.
type Pair struct{ Name, Text string }

// ReadPairs reads an input from names and texts. An empty text is absent.
func (s *Shape) ReadPairs(pairs []Pair) (any, error) {
	in := s.New()
	return in, s.ReadPairsInto(pairs, in, true)
}

// ReadPairsInto reads into in; complete asks that nothing required be missing.
func (s *Shape) ReadPairsInto(pairs []Pair, in any, complete bool) error {
	var r reader
	given := make([]bool, len(s.flat.leaves))
	var touched []*prop
	for _, pair := range pairs {
		i, ok := s.flat.byName[pair.Name]
		at := &place{name: pair.Name}
		switch {
		case !ok:
			r.fault(at, pair.Text, s.unknownFlat(pair.Name))
		case given[i]:
			r.fault(at, pair.Text, "given more than once; give it once")
		case pair.Text != "":
			given[i] = true
			l := s.flat.leaves[i]
			touched = append(touched, l.optional...)
			r.plain(l.node, at, l.open(reflect.ValueOf(in).Elem()), l.prop.name, pair.Text)
		}
	}
	for i, l := range s.flat.leaves {
		wanted := complete && l.required && !given[i]
		if wanted && (l.optional == nil || slices.Contains(touched, l.optional[len(l.optional)-1])) {
			r.fault(&place{name: l.name}, nil, "missing; "+l.accepts)
		}
	}
	return r.refusal()
}

// open returns the leaf's field in the input v; objects on the way that are
// pointers are made where they are not there yet.
func (l *leaf) open(v reflect.Value) reflect.Value {
	for _, p := range l.path {
		f := v.FieldByIndex(p.index)
		switch {
		case !p.pointer:
			v = f
		case f.IsNil():
			v = p.in(v)
		default:
			v = f.Elem()
		}
	}
	return l.in(v)
}

func (s *Shape) unknownFlat(name string) string {
	if i, nested := s.root.byName[name]; nested {
		if s.root.props[i].kind == object {
			return "name one of its fields, such as " + name + "." + s.root.props[i].props[0].name
		}
		return "only in a JSON body"
	}
	names := make([]string, len(s.flat.leaves))
	for i, l := range s.flat.leaves {
		names[i] = l.name
	}
	return unknown(name, names)
}

// unknown says what to write instead of an unknown name.
func unknown(name string, known []string) string {
	if near := calc.Nearest(name, known); near != "" {
		return "no such field; did you mean " + near + "?"
	}
	return "no such field; known here: " + strings.Join(known, ", ")
}

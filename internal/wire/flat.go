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
	files  []*leaf
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
		case p.kind == octets:
			f.files = append(f.files, &leaf{p, name, path, optional})
			f.whole = f.whole && !p.required
		case p.required:
			f.whole = false
		}
	}
}

// Flat reports whether a query or a row of a table can hold the input: every
// required field is a scalar or a list of scalars, be it inside an object.
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

// HasFile reports whether the input has a place for a file.
func (s *Shape) HasFile() bool { return len(s.flat.files) > 0 }

// Files lists the names under which a form may send a file.
func (s *Shape) Files() []string {
	names := make([]string, len(s.flat.files))
	for i, l := range s.flat.files {
		names[i] = strings.TrimSuffix(l.name, "_base64")
	}
	return names
}

// file finds the place of a file by its dotted name, with or without the
// ending _base64, or by the object that it alone stands for.
func (s *Shape) file(name string) *leaf {
	for _, l := range s.flat.files {
		object, _ := strings.CutSuffix(l.name, "."+l.prop.name)
		if name == l.name || name+"_base64" == l.name || name == object {
			return l
		}
	}
	return nil
}

// IsFile reports whether a file may be sent under that name.
func (s *Shape) IsFile(name string) bool { return s.file(name) != nil }

// SetFile puts a file into the input in, a pointer to the shape's type.
func (s *Shape) SetFile(in any, name string, data []byte) {
	s.file(name).open(reflect.ValueOf(in).Elem()).SetBytes(data)
}

// Pair is a name with its text, from a query or a table.
type Pair struct{ Name, Text string }

// ReadPairs reads an input from names and texts. An empty text is absent.
func (s *Shape) ReadPairs(pairs []Pair) (any, error) {
	in := s.New()
	return in, s.ReadPairsInto(pairs, in)
}

// ReadPairsInto reads into in.
func (s *Shape) ReadPairsInto(pairs []Pair, in any) error {
	var r reader
	given := make([]bool, len(s.flat.leaves))
	var touched []*prop
	for _, pair := range pairs {
		i, ok := s.flat.byName[pair.Name]
		r.enter(step{name: pair.Name})
		switch {
		case !ok:
			r.fault(pair.Text, s.unknownFlat(pair.Name))
		case given[i]:
			r.fault(pair.Text, "given more than once; give it once")
		case pair.Text != "":
			given[i] = true
			l := s.flat.leaves[i]
			touched = append(touched, l.optional...)
			r.plain(l.node, l.open(reflect.ValueOf(in).Elem()), l.prop.name, pair.Text)
		}
		r.leave()
	}
	for i, l := range s.flat.leaves {
		wanted := l.required && !given[i]
		if wanted && (l.optional == nil || slices.Contains(touched, l.optional[len(l.optional)-1])) {
			r.faultIn(l.name, nil, "missing; "+l.accepts)
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

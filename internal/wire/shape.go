// Package wire reads inputs from what callers send (JSON, query strings, CSV
// records) and writes answers in what they ask for (JSON, CSV, plain text).
//
// A [Shape] reads one type by its description. It reads in one strict pass:
// unknown fields, other letter case, duplicate keys, wrong types and values
// out of bounds are all gathered with their paths; absent fields take their
// defaults; quantities may carry a unit of the trade.
package wire

import (
	"fmt"
	"reflect"
	"strings"
	"sync"

	"pourwright/internal/calc"
	"pourwright/internal/schema"
)

// Shape reads the inputs of one type.
type Shape struct {
	*schema.Type
	leaves []*schema.Leaf // that a query or a row of a table may name
	paths  []string       // their names
	byPath map[string]int
	files  []*schema.Leaf
	flat   bool
}

var shapes sync.Map // reflect.Type -> *Shape

// ShapeOf makes the shape of the struct type t. It panics on a type that
// cannot be read, which is a mistake in a definition, never in a request.
func ShapeOf(t reflect.Type) *Shape {
	if s, ok := shapes.Load(t); ok {
		return s.(*Shape)
	}
	s := &Shape{Type: schema.Of(t), byPath: map[string]int{}}
	if s.Kind != schema.Object {
		panic(fmt.Sprintf("wire: %s is not a struct", t))
	}
	var leaves []*schema.Leaf
	leaves, s.flat = s.Type.Flat()
	for _, l := range leaves {
		if l.Kind == schema.Bytes {
			s.files = append(s.files, l)
			continue
		}
		s.byPath[l.Path] = len(s.leaves)
		s.leaves, s.paths = append(s.leaves, l), append(s.paths, l.Path)
	}
	known, _ := shapes.LoadOrStore(t, s)
	return known.(*Shape)
}

// New returns a pointer to a new input that holds the defaults.
func (s *Shape) New() any { return s.Type.New().Interface() }

// Flat reports whether a query or a row of a table can hold the input: every
// required field is a scalar or a list of scalars, be it inside an object.
func (s *Shape) Flat() bool { return s.flat }

// Leaves lists the fields that a query or a row of a table may name.
func (s *Shape) Leaves() []*schema.Leaf { return s.leaves }

// Leaf finds one of them by its name; nil if there is none.
func (s *Shape) Leaf(path string) *schema.Leaf {
	if i, ok := s.byPath[path]; ok {
		return s.leaves[i]
	}
	return nil
}

// Paths lists their names.
func (s *Shape) Paths() []string { return s.paths }

// HasFile reports whether the input has a place for a file.
func (s *Shape) HasFile() bool { return len(s.files) > 0 }

// Files lists the names under which a form may send a file.
func (s *Shape) Files() []string {
	names := make([]string, len(s.files))
	for i, l := range s.files {
		names[i] = strings.TrimSuffix(l.Path, "_base64")
	}
	return names
}

// file finds the place of a file by its dotted name, with or without the
// ending _base64, or by the object that it alone stands for.
func (s *Shape) file(name string) *schema.Leaf {
	for _, l := range s.files {
		object, _ := strings.CutSuffix(l.Path, "."+l.Name)
		if name == l.Path || name+"_base64" == l.Path || name == object {
			return l
		}
	}
	return nil
}

// IsFile reports whether a file may be sent under that name.
func (s *Shape) IsFile(name string) bool { return s.file(name) != nil }

// SetFile puts a file into the input in, a pointer to the shape's type.
func (s *Shape) SetFile(in any, name string, data []byte) {
	s.file(name).Open(reflect.ValueOf(in).Elem()).SetBytes(data)
}

// unknown says what to write instead of an unknown name.
func unknown(name string, known []string) string {
	if near := calc.Nearest(name, known); near != "" {
		return "no such field; did you mean " + near + "?"
	}
	return "no such field; known here: " + strings.Join(known, ", ")
}

package wire

import (
	"reflect"
	"slices"

	"pourwright/internal/schema"
)

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
	root := reflect.ValueOf(in).Elem()
	given := make([]bool, len(s.leaves))
	var touched []*schema.Field
	for _, pair := range pairs {
		i, ok := s.byPath[pair.Name]
		r.enter(step{name: pair.Name})
		switch {
		case r.full() && !ok:
		case !ok:
			r.fault(pair.Text, s.unknownPath(pair.Name))
		case given[i]:
			r.fault(pair.Text, "given more than once; give it once")
		case pair.Text != "":
			given[i] = true
			l := s.leaves[i]
			touched = append(touched, l.Optional...)
			r.plain(l.Type, l.Open(root), pair.Text)
		}
		r.leave()
	}
	for i, l := range s.leaves {
		wanted := l.Required && !given[i]
		if wanted && (l.Optional == nil || slices.Contains(touched, l.Optional[len(l.Optional)-1])) {
			r.faultIn(l.Path, nil, "missing; "+l.Accepts)
		}
	}
	return r.refusal()
}

func (s *Shape) unknownPath(name string) string {
	if f := s.Field(name); f != nil {
		if f.Kind == schema.Object {
			return "name one of its fields, such as " + name + "." + f.Fields[0].Name
		}
		return "only in a JSON body"
	}
	return unknown(name, s.paths)
}

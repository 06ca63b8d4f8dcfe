package schema

import (
	"reflect"
	"slices"
)

// Leaf is a field that stands by itself in a query or in a row of a table: a
// scalar, a list of scalars or bytes, of the object or of one inside it.
type Leaf struct {
	*Field
	Path string   // the names that lead to it, with dots: "section.width_mm"
	Via  []*Field // the objects around it, outermost first
	// Optional lists those of Via that may be absent. The leaf is only wanted
	// once something in the innermost of them is given.
	Optional []*Field
}

// Flat lists the leaves of an object in order. whole says that they hold all
// that is required. Objects that hold themselves are entered once; an optional
// object with required parts that are no leaves has none.
func (t *Type) Flat() (leaves []*Leaf, whole bool) {
	f := flat{whole: true}
	f.add(t, "", nil, nil)
	return f.leaves, f.whole
}

type flat struct {
	leaves []*Leaf
	whole  bool
}

func (f *flat) add(t *Type, prefix string, via, optional []*Field) {
	for _, field := range t.Fields {
		path := prefix + field.Name
		switch {
		case field.Kind.Scalar() || field.Kind == Bytes || field.Kind == List && field.Item.Kind.Scalar():
			f.leaves = append(f.leaves, &Leaf{field, path, via, optional})
			f.whole = f.whole && (field.Kind != Bytes || !field.Required)
		case field.Kind == Object && !slices.ContainsFunc(via, func(v *Field) bool { return v.Type == field.Type }):
			within := append(slices.Clone(via), field)
			if field.Required {
				f.add(field.Type, path+".", within, optional)
				continue
			}
			// An optional object that leaves cannot say is left out as a whole.
			part := flat{whole: true}
			part.add(field.Type, path+".", within, append(slices.Clone(optional), field))
			if part.whole {
				f.leaves = append(f.leaves, part.leaves...)
			}
		case field.Required:
			f.whole = false
		}
	}
}

// Open returns the leaf's place in the input v; objects on the way that are
// pointers are made where they are not there yet.
func (l *Leaf) Open(v reflect.Value) reflect.Value {
	for _, f := range l.Via {
		switch at := f.Of(v); {
		case !f.Pointer:
			v = at
		case at.IsNil():
			v = f.In(v)
		default:
			v = at.Elem()
		}
	}
	return l.In(v)
}

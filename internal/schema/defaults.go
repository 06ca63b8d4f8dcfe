package schema

import (
	"reflect"
	"slices"
)

// listDefault is a default that is a list, whose memory no two objects share.
type listDefault struct {
	index []int
	items reflect.Value
}

// prototype makes an object that holds the defaults of its fields and of the
// objects inside it.
func (t *Type) prototype() {
	t.proto = reflect.New(t.Go).Elem()
	for _, f := range t.Fields {
		switch field := t.proto.FieldByIndex(f.Index); {
		case f.Default != nil && f.Kind == List && !f.Pointer:
			t.fresh = append(t.fresh, listDefault{f.Index, f.value})
		case f.Default != nil && f.Kind.Scalar() && !f.Pointer:
			field.Set(f.value)
		case f.Default != nil:
			panic("schema: " + t.Go.String() + "." + f.Name + " cannot have a default: it is a pointer, an object, a map or bytes")
		case f.Kind == Object && !f.Pointer:
			field.Set(f.proto)
			for _, inner := range f.fresh {
				t.fresh = append(t.fresh, listDefault{append(slices.Clone(f.Index), inner.index...), inner.items})
			}
		}
	}
}

// Reset gives the object v, of the type's Go type, its defaults; every other
// field becomes zero. Lists are made anew.
func (t *Type) Reset(v reflect.Value) {
	v.Set(t.proto)
	for _, d := range t.fresh {
		items := reflect.MakeSlice(d.items.Type(), d.items.Len(), d.items.Len())
		reflect.Copy(items, d.items)
		v.FieldByIndex(d.index).Set(items)
	}
}

// New returns a pointer to a new object that holds the defaults.
func (t *Type) New() reflect.Value {
	v := reflect.New(t.Go)
	t.Reset(v.Elem())
	return v
}

// In returns the field of the object v, made anew with its defaults where it
// is a pointer.
func (f *Field) In(v reflect.Value) reflect.Value {
	field := f.Of(v)
	if !f.Pointer {
		return field
	}
	made := reflect.New(f.Go)
	if f.Kind == Object {
		f.Reset(made.Elem())
	}
	field.Set(made)
	return made.Elem()
}

// Of returns the field of the object v as it is: a pointer where it is one.
func (f *Field) Of(v reflect.Value) reflect.Value {
	if len(f.Index) == 1 {
		return v.Field(f.Index[0])
	}
	return v.FieldByIndex(f.Index)
}

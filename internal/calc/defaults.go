package calc

import (
	"encoding/json"
	"fmt"
	"reflect"
	"sync"
)

// Default returns an input that holds what its `default` tags say, for
// callers in Go; a request's input starts from the same values.
func Default[In any]() In {
	t := reflect.TypeFor[In]()
	if known, ok := defaults.Load(t); ok {
		return known.(In)
	}
	var in In
	v := reflect.ValueOf(&in).Elem()
	SetDefaults(v)
	if !refers(v) {
		defaults.Store(t, in)
	}
	return in
}

var defaults sync.Map // reflect.Type -> its default, if a copy shares no memory with it

// refers reports whether a copy of v would share memory with it.
func refers(v reflect.Value) bool {
	switch v.Kind() {
	case reflect.Slice, reflect.Map, reflect.Pointer, reflect.Interface, reflect.Func, reflect.Chan:
		return !v.IsNil()
	case reflect.Struct:
		for i := range v.NumField() {
			if refers(v.Field(i)) {
				return true
			}
		}
	case reflect.Array:
		return true
	}
	return false
}

// SetDefaults gives the fields of the struct v, and of the structs inside it,
// the values of their `default` tags: JSON, or bare text for a string. Lists
// are made afresh, so that no two inputs share memory. It panics on a tag
// that does not fit its field, which is a mistake in a definition.
func SetDefaults(v reflect.Value) {
	for i := range v.NumField() {
		field, f := v.Field(i), v.Type().Field(i)
		tag, ok := f.Tag.Lookup("default")
		switch {
		case !ok && field.Kind() == reflect.Struct && (f.Anonymous || f.IsExported()):
			SetDefaults(field)
		case ok && field.Kind() == reflect.String:
			field.SetString(tag)
		case ok:
			if err := json.Unmarshal([]byte(tag), field.Addr().Interface()); err != nil {
				panic(fmt.Sprintf("default of %s.%s: %v", v.Type(), f.Name, err))
			}
		}
	}
}

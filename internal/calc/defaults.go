package calc

import (
	"encoding/json"
	"fmt"
	"reflect"
)

// Default returns an input that holds what its `default` tags say, for
// callers in Go; a request's input starts from the same values.
func Default[In any]() In {
	var in In
	SetDefaults(reflect.ValueOf(&in).Elem())
	return in
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

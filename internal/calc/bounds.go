package calc

import (
	"reflect"

	"pourwright/internal/schema"
)

// Default returns an input that holds what its `default` tags say, for
// callers in Go; a request's input starts from the same values.
func Default[In any]() In {
	var in In
	schema.For[In]().Reset(reflect.ValueOf(&in).Elem())
	return in
}

// Bounds records a fault for every field of the struct in that its tags do not
// accept, so that callers in Go are held to what a request is held to, by the
// same description (see [schema.Type.Check]). Structs inside are theirs to check.
func (c *Checks) Bounds(in any) {
	schema.Of(reflect.TypeOf(in)).Check(reflect.ValueOf(in), func(field string, value any, accepts string) {
		c.faults = append(c.faults, Fault{field, value, accepts})
	})
}

// InBounds is what [Checks.Bounds] finds, for [Checks.Under] to move.
func InBounds(in any) error {
	var c Checks
	c.Bounds(in)
	return c.Err()
}

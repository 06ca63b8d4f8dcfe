package wire

import (
	"fmt"
	"iter"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/schema"
)

// mostPicked bounds the fields that one pick names.
const mostPicked = 32

// Pickable refuses a pick that no answer of the type out can hold.
func Pickable(out reflect.Type, pick string) error {
	paths := strings.Split(pick, ",")
	if len(paths) > mostPicked {
		return calc.Refuse("pick", pick, "pick at most %d fields at once", mostPicked)
	}
	for _, path := range paths {
		t, accepts := schema.Of(out), ""
		for at, step := range steps(path) {
			if t, accepts = into(t, step, at); accepts != "" {
				return calc.Refuse("pick", path, "%s", accepts)
			}
		}
		switch t.Kind {
		case schema.Object:
			return calc.Refuse("pick", path, "pick one value inside it, such as %s.%s", path, t.Fields[0].Name)
		case schema.Map, schema.Any:
			return calc.Refuse("pick", path, "pick one value inside it")
		}
	}
	return nil
}

// Pick returns the values of an answer at dotted paths, such as "price" or
// "price,pieces.0.mass_g", as plain text: of several each on its line.
func Pick(out any, pick string) (string, error) {
	root := follow(reflect.ValueOf(out))
	if err := Pickable(root.Type(), pick); err != nil {
		return "", err
	}
	var b []byte
	for i, path := range strings.Split(pick, ",") {
		v, err := picked(root, path)
		if err != nil {
			return "", err
		}
		if i > 0 {
			b = append(b, '\n')
		}
		if v.IsValid() {
			begun := len(b)
			if b, err = appendPlain(b, v, placesAt(path)); err != nil {
				return "", err
			}
			for j, c := range b[begun:] { // a value stays on its line
				if c == '\n' || c == '\r' {
					b[begun+j] = ' '
				}
			}
		}
	}
	return string(b), nil
}

// picked is the value at a path that the type can hold; not valid if it is absent.
func picked(v reflect.Value, path string) (reflect.Value, error) {
	t := schema.Of(v.Type())
	for at, step := range steps(path) {
		if !v.IsValid() {
			return v, calc.Refuse("pick", path, "%s holds nothing in this answer", at)
		}
		switch t.Kind {
		case schema.Object:
			v = t.Field(step).Of(v)
		case schema.List:
			n, _ := strconv.Atoi(step)
			if n >= v.Len() {
				return v, calc.Refuse("pick", path, "%s needs a number from 0 to %d", at, v.Len()-1)
			}
			v = v.Index(n)
		default:
			if v = v.MapIndex(reflect.ValueOf(step).Convert(v.Type().Key())); !v.IsValid() {
				return v, calc.Refuse("pick", path, "%s is not in this answer", at)
			}
		}
		t, _ = into(t, step, at)
		v = follow(v)
	}
	if v.IsValid() && t.Kind == schema.List && t.Item.Kind == schema.Object && v.Len() > 0 {
		return v, calc.Refuse("pick", path, "pick one of its %d items, such as %s.0", v.Len(), path)
	}
	return v, nil
}

// placesAt is the decimals of the number at a path: its field is the last step
// that is no place in a list.
func placesAt(path string) int {
	around, of := unrounded, unrounded
	for _, step := range steps(path) {
		if _, err := strconv.Atoi(step); err != nil {
			around, of = placesOf(step, unrounded), placesOf(step, around)
		}
	}
	return of
}

// steps are the steps of a path, each with the path to its end.
func steps(path string) iter.Seq2[string, string] {
	return func(yield func(at, step string) bool) {
		end := 0
		for step := range strings.SplitSeq(path, ".") {
			end += len(step)
			if !yield(path[:end], step) {
				return
			}
			end++
		}
	}
}

// into goes one step into the type t, or says what would be accepted; at is the
// path with the step.
func into(t *schema.Type, step, at string) (*schema.Type, string) {
	switch t.Kind {
	case schema.Object:
		if f := t.Field(step); f != nil {
			return f.Type, ""
		}
		accepts := "pick one of " + strings.Join(t.Names(), ", ")
		if near := calc.Nearest(step, t.Names()); near != "" {
			accepts = fmt.Sprintf("did you mean %s? %s", near, accepts)
		}
		return t, accepts
	case schema.List:
		if n, err := strconv.Atoi(step); err != nil || n < 0 {
			return t, at + " needs the number of an item, from 0"
		}
		return t.Item, ""
	case schema.Map:
		return t.Item, ""
	}
	return t, at + " is past a single value"
}

func follow(v reflect.Value) reflect.Value {
	for v.Kind() == reflect.Pointer || v.Kind() == reflect.Interface {
		v = v.Elem()
	}
	return v
}

// Column is a scalar of an answer, as a table shows it.
type Column struct {
	Name   string
	index  []int
	codes  bool // the cautions, shown by their codes
	places int
}

// Columns lists the scalars of an output type in order: nested ones with
// dots, lists of scalars in one cell, cautions by their codes; working,
// sources and other lists of objects have no place in a table.
func Columns(out reflect.Type) []Column {
	return columnsOf(schema.Of(out), "", nil, unrounded)
}

func columnsOf(t *schema.Type, prefix string, index []int, around int) []Column {
	var found []Column
	for _, f := range t.Fields {
		at := append(slices.Clone(index), f.Index...)
		scalar := f.Type
		for scalar.Kind == schema.List {
			scalar = scalar.Item
		}
		switch {
		case f.Kind == schema.List && f.Item.Go == reflect.TypeFor[calc.Caution]():
			found = append(found, Column{prefix + f.Name, at, true, 0})
		case f.Kind == schema.Object && !f.Pointer:
			found = append(found, columnsOf(f.Type, prefix+f.Name+".", at, placesOf(f.Name, unrounded))...)
		case scalar.Kind.Scalar():
			found = append(found, Column{prefix + f.Name, at, false, placesOf(f.Name, around)})
		}
	}
	return found
}

// Append writes the column's cell of the answer out (a struct) to dst.
func (c Column) Append(dst []byte, out reflect.Value) ([]byte, error) {
	v := out.FieldByIndex(c.index)
	if !c.codes {
		return appendPlain(dst, v, c.places)
	}
	for i, caution := range v.Interface().([]calc.Caution) {
		if i > 0 {
			dst = append(dst, "; "...)
		}
		dst = append(dst, caution.Code...)
	}
	return dst, nil
}

// appendPlain writes a scalar, or a list of them parted by semicolons; numbers
// to so many decimals.
func appendPlain(dst []byte, v reflect.Value, places int) ([]byte, error) {
	v = follow(v)
	switch v.Kind() {
	case reflect.Float64:
		f := v.Float()
		if math.IsNaN(f) || math.IsInf(f, 0) {
			return dst, &NotFinite{f}
		}
		return appendNumber(dst, rounded(f, places)), nil
	case reflect.Int, reflect.Int64:
		return strconv.AppendInt(dst, v.Int(), 10), nil
	case reflect.String:
		return append(dst, v.String()...), nil
	case reflect.Bool:
		return strconv.AppendBool(dst, v.Bool()), nil
	case reflect.Slice:
		var err error
		for i := range v.Len() {
			if i > 0 {
				dst = append(dst, "; "...)
			}
			if dst, err = appendPlain(dst, v.Index(i), places); err != nil {
				return dst, err
			}
		}
	}
	return dst, nil
}

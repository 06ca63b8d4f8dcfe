package wire

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/schema"
)

// Pick returns the one value of an answer at a dotted path, such as
// "price" or "pieces.0.mass_g", as plain text.
func Pick(out any, path string) (string, error) {
	v := follow(reflect.ValueOf(out))
	t := schema.Of(v.Type())
	for at := 0; at <= len(path); {
		step, _, _ := strings.Cut(path[at:], ".")
		at += len(step) + 1
		if !v.IsValid() {
			return "", calc.Refuse("pick", path, "%s holds nothing in this answer", path[:at-1])
		}
		var accepts string
		if v, t, accepts = into(v, t, step, path[:at-1]); accepts != "" {
			return "", calc.Refuse("pick", path, "%s", accepts)
		}
		v = follow(v)
	}
	switch {
	case !v.IsValid():
		return "", nil
	case t.Kind == schema.Object:
		return "", calc.Refuse("pick", path, "pick one value inside it, such as %s.%s", path, t.Fields[0].Name)
	case t.Kind == schema.Map || t.Kind == schema.Any:
		return "", calc.Refuse("pick", path, "pick one value inside it")
	case t.Kind == schema.List && t.Item.Kind == schema.Object && v.Len() > 0:
		return "", calc.Refuse("pick", path, "pick one of its %d items, such as %s.0", v.Len(), path)
	}
	b, err := appendPlain(nil, v)
	return string(b), err
}

// into goes one step into the value v of type t, or says what would be accepted;
// at is the path with the step.
func into(v reflect.Value, t *schema.Type, step, at string) (reflect.Value, *schema.Type, string) {
	switch t.Kind {
	case schema.Object:
		if f := t.Field(step); f != nil {
			return f.Of(v), f.Type, ""
		}
		accepts := "pick one of " + strings.Join(t.Names(), ", ")
		if near := calc.Nearest(step, t.Names()); near != "" {
			accepts = fmt.Sprintf("did you mean %s? %s", near, accepts)
		}
		return v, t, accepts
	case schema.List:
		n, err := strconv.Atoi(step)
		if err != nil || n < 0 || n >= v.Len() {
			return v, t, fmt.Sprintf("%s needs a number from 0 to %d", at, v.Len()-1)
		}
		return v.Index(n), t.Item, ""
	case schema.Map:
		if next := v.MapIndex(reflect.ValueOf(step).Convert(v.Type().Key())); next.IsValid() {
			return next, t.Item, ""
		}
		return v, t, at + " is not in this answer"
	}
	return v, t, at + " is past a single value"
}

func follow(v reflect.Value) reflect.Value {
	for v.Kind() == reflect.Pointer || v.Kind() == reflect.Interface {
		v = v.Elem()
	}
	return v
}

// Column is a scalar of an answer, as a table shows it.
type Column struct {
	Name  string
	index []int
	codes bool // the cautions, shown by their codes
}

// Columns lists the scalars of an output type in order: nested ones with
// dots, lists of scalars in one cell, cautions by their codes; working,
// sources and other lists of objects have no place in a table.
func Columns(out reflect.Type) []Column { return columnsOf(schema.Of(out), "", nil) }

func columnsOf(t *schema.Type, prefix string, index []int) []Column {
	var found []Column
	for _, f := range t.Fields {
		at := append(slices.Clone(index), f.Index...)
		scalar := f.Type
		for scalar.Kind == schema.List {
			scalar = scalar.Item
		}
		switch {
		case f.Kind == schema.List && f.Item.Go == reflect.TypeFor[calc.Caution]():
			found = append(found, Column{prefix + f.Name, at, true})
		case f.Kind == schema.Object && !f.Pointer:
			found = append(found, columnsOf(f.Type, prefix+f.Name+".", at)...)
		case scalar.Kind.Scalar():
			found = append(found, Column{prefix + f.Name, at, false})
		}
	}
	return found
}

// Append writes the column's cell of the answer out (a struct) to dst.
func (c Column) Append(dst []byte, out reflect.Value) ([]byte, error) {
	v := out.FieldByIndex(c.index)
	if !c.codes {
		return appendPlain(dst, v)
	}
	for i, caution := range v.Interface().([]calc.Caution) {
		if i > 0 {
			dst = append(dst, "; "...)
		}
		dst = append(dst, caution.Code...)
	}
	return dst, nil
}

// appendPlain writes a scalar, or a list of them parted by semicolons.
func appendPlain(dst []byte, v reflect.Value) ([]byte, error) {
	v = follow(v)
	switch v.Kind() {
	case reflect.Float64:
		f := v.Float()
		if math.IsNaN(f) || math.IsInf(f, 0) {
			return dst, &NotFinite{f}
		}
		return appendNumber(dst, f), nil
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
			if dst, err = appendPlain(dst, v.Index(i)); err != nil {
				return dst, err
			}
		}
	}
	return dst, nil
}

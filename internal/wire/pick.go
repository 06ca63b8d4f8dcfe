package wire

import (
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"
	"sync"

	"pourwright/internal/calc"
)

// Pick returns the one value of an answer at a dotted path, such as
// "price" or "pieces.0.mass_g", as plain text.
func Pick(out any, path string) (string, error) {
	v := reflect.ValueOf(out)
	for i, step := range strings.Split(path, ".") {
		v = follow(v)
		at := strings.Join(strings.Split(path, ".")[:i+1], ".")
		switch {
		case !v.IsValid():
			return "", calc.Refuse("pick", path, "%s holds nothing in this answer", at)
		case v.Kind() == reflect.Struct:
			next, known := member(v, step)
			if !next.IsValid() {
				accepts := "pick one of " + strings.Join(known, ", ")
				if near := calc.Nearest(step, known); near != "" {
					accepts = fmt.Sprintf("did you mean %s? %s", near, accepts)
				}
				return "", calc.Refuse("pick", path, "%s", accepts)
			}
			v = next
		case v.Kind() == reflect.Slice:
			n, err := strconv.Atoi(step)
			if err != nil || n < 0 || n >= v.Len() {
				return "", calc.Refuse("pick", path, "%s needs a number from 0 to %d", at, v.Len()-1)
			}
			v = v.Index(n)
		case v.Kind() == reflect.Map:
			next := v.MapIndex(reflect.ValueOf(step).Convert(v.Type().Key()))
			if !next.IsValid() {
				return "", calc.Refuse("pick", path, "%s is not in this answer", at)
			}
			v = next
		default:
			return "", calc.Refuse("pick", path, "%s is past a single value", at)
		}
	}
	v = follow(v)
	if !v.IsValid() {
		return "", nil
	}
	if v.Kind() == reflect.Struct || v.Kind() == reflect.Map {
		_, known := member(v, "")
		return "", calc.Refuse("pick", path, "pick one value inside it, such as %s.%s", path, strings.Join(known, ", "))
	}
	if v.Kind() == reflect.Slice && v.Len() > 0 && follow(v.Index(0)).Kind() == reflect.Struct {
		return "", calc.Refuse("pick", path, "pick one of its %d items, such as %s.0", v.Len(), path)
	}
	b, err := appendPlain(nil, v)
	return string(b), err
}

func follow(v reflect.Value) reflect.Value {
	for v.Kind() == reflect.Pointer || v.Kind() == reflect.Interface {
		v = v.Elem()
	}
	return v
}

// member finds a struct's field by its JSON name, and lists the names.
func member(v reflect.Value, name string) (found reflect.Value, known []string) {
	if v.Kind() != reflect.Struct {
		return reflect.Value{}, nil
	}
	for _, c := range memberNames(v.Type()) {
		if c.name == name {
			found = v.FieldByIndex(c.index)
		}
		known = append(known, c.name)
	}
	return found, known
}

type named struct {
	name  string
	index []int
}

func memberNames(t reflect.Type) []named {
	var names []named
	for _, f := range reflect.VisibleFields(t) {
		tag, tagged := f.Tag.Lookup("json")
		name, _, _ := strings.Cut(tag, ",")
		if f.IsExported() && tagged && name != "-" && name != "" {
			names = append(names, named{name, f.Index})
		}
	}
	return names
}

// Column is a scalar of an answer, as a table shows it.
type Column struct {
	Name  string
	index []int
	codes bool // the cautions, shown by their codes
}

var columns sync.Map // reflect.Type -> []Column

// Columns lists the scalars of an output type in order: nested ones with
// dots, lists of scalars in one cell, cautions by their codes; working,
// sources and other lists of objects have no place in a table.
func Columns(out reflect.Type) []Column {
	if c, ok := columns.Load(out); ok {
		return c.([]Column)
	}
	c := columnsOf(out, "", nil)
	columns.Store(out, c)
	return c
}

func columnsOf(t reflect.Type, prefix string, index []int) []Column {
	var found []Column
	for _, m := range memberNames(t) {
		at := append(append([]int{}, index...), m.index...)
		ft := t.FieldByIndex(m.index).Type
		scalar := ft
		for scalar.Kind() == reflect.Pointer || scalar.Kind() == reflect.Slice {
			scalar = scalar.Elem()
		}
		switch {
		case ft == reflect.TypeFor[[]calc.Caution]():
			found = append(found, Column{prefix + m.name, at, true})
		case ft.Kind() == reflect.Struct:
			found = append(found, columnsOf(ft, prefix+m.name+".", at)...)
		case scalar.Kind() != reflect.Struct && scalar.Kind() != reflect.Map && scalar.Kind() != reflect.Interface:
			found = append(found, Column{prefix + m.name, at, false})
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

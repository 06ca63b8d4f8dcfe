package wire

import (
	"encoding/base64"
	"fmt"
	"reflect"
	"strconv"
	"strings"
	"unicode/utf8"

	"pourwright/internal/calc"
	"pourwright/internal/schema"
	"pourwright/internal/unit"
)

// fromString reads a JSON string: a text, base64, or a number with or without
// a unit, so that money need not pass through a client's binary fractions.
func (r *reader) fromString(n *schema.Type, v reflect.Value, s string) {
	switch n.Kind {
	case schema.Text:
		r.text(n, v, s)
	case schema.Bytes:
		b, err := base64.StdEncoding.DecodeString(s)
		if err != nil {
			r.fault(nil, n.Accepts+": "+err.Error())
			return
		}
		v.SetBytes(b)
	case schema.Number:
		r.quantity(n, v, s)
	default:
		r.fault(s, n.Accepts)
	}
}

func (r *reader) quantity(n *schema.Type, v reflect.Value, s string) {
	f, err := unit.Parse(n.Named, s)
	if err != nil {
		r.fault(s, err.Error())
		return
	}
	if !n.Within(f) {
		r.fault(s, n.Accepts)
		return
	}
	v.SetFloat(f)
}

func (r *reader) text(n *schema.Type, v reflect.Value, s string) {
	switch {
	case n.Enum == nil && !utf8.ValidString(s): // of a query, a form or a table; JSON is checked as it is read
		r.fault(s, "give text in UTF-8")
	case n.Takes(s):
		v.SetString(s)
	default:
		accepts := n.Accepts
		if near := calc.Nearest(s, n.Enum); near != "" {
			accepts = fmt.Sprintf("did you mean %s? %s", near, n.Accepts)
		}
		r.fault(s, accepts)
	}
}

// plain reads the text of a query value or a table's cell: a scalar, or a
// list of scalars parted by commas or semicolons.
func (r *reader) plain(n *schema.Type, v reflect.Value, s string) {
	switch n.Kind {
	case schema.Number:
		r.quantity(n, v, s)
	case schema.Integer:
		f, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
		if err != nil {
			r.fault(s, n.Accepts)
			return
		}
		r.number(n, v, f)
	case schema.Boolean:
		switch strings.ToLower(strings.TrimSpace(s)) {
		case "true", "1", "yes":
			v.SetBool(true)
		case "false", "0", "no":
			v.SetBool(false)
		default:
			r.fault(s, n.Accepts)
		}
	case schema.Text:
		r.text(n, v, s)
	case schema.List:
		r.plainList(n, v, s)
	default:
		r.fault(nil, "only in a JSON body")
	}
}

func (r *reader) plainList(n *schema.Type, v reflect.Value, s string) {
	var parts []string
	if strings.TrimSpace(s) != "" {
		parts = strings.FieldsFunc(s, func(c rune) bool { return c == ',' || c == ';' })
	}
	if !n.Holds(len(parts)) {
		r.fault(len(parts), n.Accepts)
		return
	}
	items := reflect.MakeSlice(n.Go, len(parts), len(parts))
	for i, part := range parts {
		r.enter(step{index: i})
		r.plain(n.Item, items.Index(i), strings.TrimSpace(part))
		r.leave()
	}
	v.Set(items)
}

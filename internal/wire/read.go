package wire

import (
	"bytes"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/go-json-experiment/json/jsontext"

	"pourwright/internal/calc"
	"pourwright/internal/unit"
)

// maxFaults bounds how many faults are gathered from one input.
const maxFaults = 20

// Unparsable is the error of a text that is not JSON at all.
type Unparsable struct{ Reason string }

func (e *Unparsable) Error() string { return e.Reason }

// ReadJSON reads one JSON object from body into a new input. The error is an
// *Unparsable for broken JSON and a *calc.Refusal for an input not accepted.
func (s *Shape) ReadJSON(body []byte) (any, error) {
	in := s.New()
	return in, s.ReadJSONInto(body, in)
}

// ReadJSONInto reads one JSON object from body into in, a pointer to the
// shape's type that already holds what is to stay where body says nothing.
func (s *Shape) ReadJSONInto(body []byte, in any) error {
	if len(bytes.TrimSpace(body)) == 0 {
		return &Unparsable{"the body is empty; send a JSON object"}
	}
	if !utf8.Valid(body) {
		return &Unparsable{"the body is not UTF-8 text"}
	}
	r := reader{dec: jsontext.NewDecoder(bytes.NewReader(body))}
	if err := r.value(s.root, nil, reflect.ValueOf(in).Elem(), ""); err != nil {
		return unparsable(err)
	}
	if _, err := r.dec.ReadToken(); err != io.EOF {
		return &Unparsable{"there is more after the JSON object; send one object"}
	}
	return r.refusal()
}

func unparsable(err error) error {
	var syntax *jsontext.SyntacticError
	if !errors.As(err, &syntax) {
		return &Unparsable{"not JSON: " + err.Error()}
	}
	reason := fmt.Sprintf("not JSON at byte %d: %v", syntax.ByteOffset, syntax.Err)
	if errors.Is(err, jsontext.ErrDuplicateName) {
		reason = fmt.Sprintf("the name %q is given twice", syntax.JSONPointer.LastToken())
	} else if syntax.Err == io.ErrUnexpectedEOF || syntax.Err == io.EOF {
		reason = "not JSON: the text ends too early"
	}
	return &Unparsable{reason}
}

// place is a path into the input, spelled out only when something is wrong.
type place struct {
	up    *place
	name  string
	index int
}

func (p *place) String() string {
	switch {
	case p == nil:
		return ""
	case p.name == "":
		return fmt.Sprintf("%s[%d]", p.up, p.index)
	case p.up == nil:
		return p.name
	}
	return p.up.String() + "." + p.name
}

// reader reads tokens into values and gathers faults.
type reader struct {
	dec    *jsontext.Decoder
	faults []calc.Fault
}

func (r *reader) fault(at *place, value any, accepts string) {
	if len(r.faults) < maxFaults {
		r.faults = append(r.faults, calc.Fault{Field: at.String(), Value: value, Accepts: accepts})
	}
}

func (r *reader) refusal() error {
	if r.faults == nil {
		return nil
	}
	return &calc.Refusal{Faults: r.faults}
}

// value reads the next JSON value into v. Only broken JSON is an error.
func (r *reader) value(n *node, at *place, v reflect.Value, name string) error {
	switch k := r.dec.PeekKind(); {
	case k == '{' && n.kind == object:
		return r.object(n, at, v)
	case k == '{' && n.kind == dictionary:
		return r.dictionary(n, at, v)
	case k == '[' && n.kind == list:
		return r.list(n, at, v, name)
	case k == '{' || k == '[':
		r.fault(at, nil, n.accepts)
		return r.dec.SkipValue()
	case k == 'n':
		r.fault(at, "null", "leave the field out, or "+n.accepts)
		return r.dec.SkipValue()
	}
	tok, err := r.dec.ReadToken()
	if err != nil {
		return err
	}
	switch tok.Kind() {
	case '"':
		r.fromString(n, at, v, name, tok.String())
	case '0':
		f, err := tok.Float()
		if err != nil {
			r.fault(at, tok.String(), n.accepts)
			return nil
		}
		if n.kind != number && n.kind != integer {
			r.fault(at, f, n.accepts)
			return nil
		}
		r.number(n, at, v, f)
	default:
		if n.kind != boolean {
			r.fault(at, tok.Bool(), n.accepts)
			return nil
		}
		v.SetBool(tok.Bool())
	}
	return nil
}

func (r *reader) object(n *node, at *place, v reflect.Value) error {
	if _, err := r.dec.ReadToken(); err != nil {
		return err
	}
	var given [4]uint64 // 256 fields are more than any input has
	for r.dec.PeekKind() != '}' {
		tok, err := r.dec.ReadToken()
		if err != nil {
			return err
		}
		key := tok.String()
		i, ok := n.byName[key]
		if !ok {
			r.fault(&place{up: at, name: key}, nil, n.unknown(key))
			if err := r.dec.SkipValue(); err != nil {
				return err
			}
			continue
		}
		p := n.props[i]
		given[i/64] |= 1 << (i % 64)
		if err := r.value(p.node, &place{up: at, name: p.name}, p.in(v), p.name); err != nil {
			return err
		}
	}
	if _, err := r.dec.ReadToken(); err != nil {
		return err
	}
	for i, p := range n.props {
		if p.required && given[i/64]&(1<<(i%64)) == 0 {
			r.fault(&place{up: at, name: p.name}, nil, "missing; "+p.accepts)
		}
	}
	return nil
}

// in returns the field of the object v, made anew where it is a pointer.
func (p *prop) in(v reflect.Value) reflect.Value {
	f := v.FieldByIndex(p.index)
	if !p.pointer {
		return f
	}
	made := reflect.New(p.typ)
	if p.kind == object {
		p.reset(made.Elem())
	}
	f.Set(made)
	return made.Elem()
}

func (n *node) unknown(key string) string {
	names := make([]string, len(n.props))
	for i, p := range n.props {
		names[i] = p.name
	}
	return unknown(key, names)
}

func (r *reader) list(n *node, at *place, v reflect.Value, name string) error {
	if _, err := r.dec.ReadToken(); err != nil {
		return err
	}
	items := reflect.MakeSlice(n.typ, 0, 4)
	zero := reflect.Zero(n.typ.Elem())
	i := 0
	for ; r.dec.PeekKind() != ']'; i++ {
		if i >= n.maxLen {
			if err := r.dec.SkipValue(); err != nil {
				return err
			}
			continue
		}
		items = reflect.Append(items, zero)
		item := items.Index(i)
		if n.item.kind == object {
			n.item.reset(item)
		}
		if err := r.value(n.item, &place{up: at, index: i}, item, name); err != nil {
			return err
		}
	}
	if _, err := r.dec.ReadToken(); err != nil {
		return err
	}
	r.length(n, at, i)
	v.Set(items)
	return nil
}

func (r *reader) length(n *node, at *place, length int) {
	if length < n.minLen || length > n.maxLen {
		r.fault(at, fmt.Sprintf("%d", length), n.accepts)
	}
}

func (r *reader) dictionary(n *node, at *place, v reflect.Value) error {
	if _, err := r.dec.ReadToken(); err != nil {
		return err
	}
	members := reflect.MakeMap(n.typ)
	for r.dec.PeekKind() != '}' {
		tok, err := r.dec.ReadToken()
		if err != nil {
			return err
		}
		key := tok.String()
		item := reflect.New(n.typ.Elem()).Elem()
		if n.item.kind == object {
			n.item.reset(item)
		}
		if err := r.value(n.item, &place{up: at, name: key}, item, ""); err != nil {
			return err
		}
		if members.Len() < n.maxLen {
			members.SetMapIndex(reflect.ValueOf(key).Convert(n.typ.Key()), item)
		}
	}
	if _, err := r.dec.ReadToken(); err != nil {
		return err
	}
	r.length(n, at, members.Len())
	v.Set(members)
	return nil
}

func (r *reader) number(n *node, at *place, v reflect.Value, f float64) {
	if !n.within(f) {
		r.fault(at, f, n.accepts)
		return
	}
	if n.kind == number {
		v.SetFloat(f)
		return
	}
	if f != float64(int64(f)) {
		r.fault(at, f, n.accepts)
		return
	}
	v.SetInt(int64(f))
}

// fromString reads a JSON string: a text, base64, or a quantity with its unit.
func (r *reader) fromString(n *node, at *place, v reflect.Value, name, s string) {
	switch n.kind {
	case text:
		r.text(n, at, v, s)
	case octets:
		b, err := base64.StdEncoding.DecodeString(s)
		if err != nil {
			r.fault(at, nil, n.accepts+": "+err.Error())
			return
		}
		v.SetBytes(b)
	case number:
		if _, _, quantity := unit.Of(name); quantity {
			r.quantity(n, at, v, name, s)
			return
		}
		r.fault(at, s, n.accepts)
	default:
		r.fault(at, s, n.accepts)
	}
}

func (r *reader) quantity(n *node, at *place, v reflect.Value, name, s string) {
	f, err := unit.Parse(name, s)
	if err != nil {
		r.fault(at, s, err.Error())
		return
	}
	if !n.within(f) {
		r.fault(at, s, n.accepts)
		return
	}
	v.SetFloat(f)
}

func (r *reader) text(n *node, at *place, v reflect.Value, s string) {
	if n.enum != nil {
		for _, e := range n.enum {
			if s == e {
				v.SetString(s)
				return
			}
		}
		accepts := n.accepts
		if near := calc.Nearest(s, n.enum); near != "" {
			accepts = fmt.Sprintf("did you mean %s? %s", near, n.accepts)
		}
		r.fault(at, s, accepts)
		return
	}
	if l := utf8.RuneCountInString(s); l < n.minLen || l > n.maxLen || n.pattern != nil && !n.pattern.MatchString(s) {
		r.fault(at, s, n.accepts)
		return
	}
	v.SetString(s)
}

// plain reads the text of a query value or a table's cell: a scalar, or a
// list of scalars parted by commas or semicolons.
func (r *reader) plain(n *node, at *place, v reflect.Value, name, s string) {
	switch n.kind {
	case number:
		r.quantity(n, at, v, name, s)
	case integer:
		f, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
		if err != nil {
			r.fault(at, s, n.accepts)
			return
		}
		r.number(n, at, v, f)
	case boolean:
		switch strings.ToLower(strings.TrimSpace(s)) {
		case "true", "1", "yes":
			v.SetBool(true)
		case "false", "0", "no":
			v.SetBool(false)
		default:
			r.fault(at, s, n.accepts)
		}
	case text:
		r.text(n, at, v, s)
	case list:
		var parts []string
		if strings.TrimSpace(s) != "" {
			parts = strings.FieldsFunc(s, func(c rune) bool { return c == ',' || c == ';' })
		}
		items := reflect.MakeSlice(n.typ, len(parts), len(parts))
		for i, part := range parts {
			r.plain(n.item, &place{up: at, index: i}, items.Index(i), name, strings.TrimSpace(part))
		}
		r.length(n, at, len(parts))
		v.Set(items)
	default:
		r.fault(at, nil, "only in a JSON body")
	}
}

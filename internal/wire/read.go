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
	"sync"
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
	r := readers.Get().(*reader)
	defer r.release()
	r.dec.Reset(bytes.NewBuffer(body))
	if err := r.value(s.root, reflect.ValueOf(in).Elem(), ""); err != nil {
		return unparsable(err)
	}
	if _, err := r.dec.ReadToken(); err != io.EOF {
		return &Unparsable{"there is more after the JSON object; send one object"}
	}
	return r.refusal()
}

// readers keeps decoders and their stacks from one input to the next.
var readers = sync.Pool{New: func() any { return &reader{dec: new(jsontext.Decoder)} }}

// release gives the reader back; it holds on to nothing of the input.
func (r *reader) release() {
	r.dec.Reset(&nothing)
	*r = reader{dec: r.dec, path: r.path[:0]}
	readers.Put(r)
}

var nothing bytes.Buffer

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

// step leads to a member of an object, or to an item of a list.
type step struct {
	name  string
	index int
}

// reader reads tokens into values and gathers faults.
type reader struct {
	dec    *jsontext.Decoder
	path   []step // to the value being read; spelled out only when something is wrong
	faults []calc.Fault
}

func (r *reader) enter(s step) { r.path = append(r.path, s) }
func (r *reader) leave()       { r.path = r.path[:len(r.path)-1] }

// at spells the path out: "sizes[1].thickness_mm".
func (r *reader) at() string {
	var b []byte
	for _, s := range r.path {
		switch {
		case s.name == "":
			b = append(strconv.AppendInt(append(b, '['), int64(s.index), 10), ']')
		case b == nil:
			b = append(b, s.name...)
		default:
			b = append(append(b, '.'), s.name...)
		}
	}
	return string(b)
}

func (r *reader) fault(value any, accepts string) {
	if len(r.faults) < maxFaults {
		r.faults = append(r.faults, calc.Fault{Field: r.at(), Value: value, Accepts: accepts})
	}
}

// faultIn is fault for a member of the value being read.
func (r *reader) faultIn(name string, value any, accepts string) {
	r.enter(step{name: name})
	r.fault(value, accepts)
	r.leave()
}

func (r *reader) refusal() error {
	if r.faults == nil {
		return nil
	}
	return &calc.Refusal{Faults: r.faults}
}

// value reads the next JSON value into v. Only broken JSON is an error.
func (r *reader) value(n *node, v reflect.Value, name string) error {
	switch k := r.dec.PeekKind(); {
	case k == '{' && n.kind == object:
		return r.object(n, v)
	case k == '{' && n.kind == dictionary:
		return r.dictionary(n, v)
	case k == '[' && n.kind == list:
		return r.list(n, v, name)
	case k == '{' || k == '[':
		r.fault(nil, n.accepts)
		return r.dec.SkipValue()
	case k == 'n':
		r.fault("null", "leave the field out, or "+n.accepts)
		return r.dec.SkipValue()
	}
	tok, err := r.dec.ReadToken()
	if err != nil {
		return err
	}
	switch tok.Kind() {
	case '"':
		r.fromString(n, v, name, tok.String())
	case '0':
		f, err := tok.Float()
		if err != nil {
			r.fault(tok.String(), n.accepts)
			return nil
		}
		if n.kind != number && n.kind != integer {
			r.fault(f, n.accepts)
			return nil
		}
		r.number(n, v, f)
	default:
		if n.kind != boolean {
			r.fault(tok.Bool(), n.accepts)
			return nil
		}
		v.SetBool(tok.Bool())
	}
	return nil
}

func (r *reader) object(n *node, v reflect.Value) error {
	if _, err := r.dec.ReadToken(); err != nil {
		return err
	}
	var given [4]uint64 // 256 fields are more than any input has
	for r.dec.PeekKind() != '}' {
		tok, err := r.dec.ReadToken()
		if err != nil {
			return err
		}
		i, ok := n.byName[tok.String()]
		if !ok {
			key := tok.String()
			r.faultIn(key, nil, n.unknown(key))
			if err := r.dec.SkipValue(); err != nil {
				return err
			}
			continue
		}
		p := n.props[i]
		given[i/64] |= 1 << (i % 64)
		r.enter(step{name: p.name})
		if err := r.value(p.node, p.in(v), p.name); err != nil {
			return err
		}
		r.leave()
	}
	if _, err := r.dec.ReadToken(); err != nil {
		return err
	}
	for i, p := range n.props {
		if p.required && given[i/64]&(1<<(i%64)) == 0 {
			r.faultIn(p.name, nil, "missing; "+p.accepts)
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

func (r *reader) list(n *node, v reflect.Value, name string) error {
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
		r.enter(step{index: i})
		if err := r.value(n.item, item, name); err != nil {
			return err
		}
		r.leave()
	}
	if _, err := r.dec.ReadToken(); err != nil {
		return err
	}
	r.length(n, i)
	v.Set(items)
	return nil
}

func (r *reader) length(n *node, length int) {
	if length < n.minLen || length > n.maxLen {
		r.fault(fmt.Sprintf("%d", length), n.accepts)
	}
}

func (r *reader) dictionary(n *node, v reflect.Value) error {
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
		r.enter(step{name: key})
		if err := r.value(n.item, item, ""); err != nil {
			return err
		}
		r.leave()
		if members.Len() < n.maxLen {
			members.SetMapIndex(reflect.ValueOf(key).Convert(n.typ.Key()), item)
		}
	}
	if _, err := r.dec.ReadToken(); err != nil {
		return err
	}
	r.length(n, members.Len())
	v.Set(members)
	return nil
}

func (r *reader) number(n *node, v reflect.Value, f float64) {
	if !n.within(f) {
		r.fault(f, n.accepts)
		return
	}
	if n.kind == number {
		v.SetFloat(f)
		return
	}
	if f != float64(int64(f)) {
		r.fault(f, n.accepts)
		return
	}
	v.SetInt(int64(f))
}

// fromString reads a JSON string: a text, base64, or a quantity with its unit.
func (r *reader) fromString(n *node, v reflect.Value, name, s string) {
	switch n.kind {
	case text:
		r.text(n, v, s)
	case octets:
		b, err := base64.StdEncoding.DecodeString(s)
		if err != nil {
			r.fault(nil, n.accepts+": "+err.Error())
			return
		}
		v.SetBytes(b)
	case number:
		if _, _, quantity := unit.Of(name); quantity {
			r.quantity(n, v, name, s)
			return
		}
		r.fault(s, n.accepts)
	default:
		r.fault(s, n.accepts)
	}
}

func (r *reader) quantity(n *node, v reflect.Value, name, s string) {
	f, err := unit.Parse(name, s)
	if err != nil {
		r.fault(s, err.Error())
		return
	}
	if !n.within(f) {
		r.fault(s, n.accepts)
		return
	}
	v.SetFloat(f)
}

func (r *reader) text(n *node, v reflect.Value, s string) {
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
		r.fault(s, accepts)
		return
	}
	if !utf8.ValidString(s) { // of a query, a form or a table; JSON is checked as it is read
		r.fault(s, "give text in UTF-8")
		return
	}
	if l := utf8.RuneCountInString(s); l < n.minLen || l > n.maxLen || n.pattern != nil && !n.pattern.MatchString(s) {
		r.fault(s, n.accepts)
		return
	}
	v.SetString(s)
}

// plain reads the text of a query value or a table's cell: a scalar, or a
// list of scalars parted by commas or semicolons.
func (r *reader) plain(n *node, v reflect.Value, name, s string) {
	switch n.kind {
	case number:
		r.quantity(n, v, name, s)
	case integer:
		f, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
		if err != nil {
			r.fault(s, n.accepts)
			return
		}
		r.number(n, v, f)
	case boolean:
		switch strings.ToLower(strings.TrimSpace(s)) {
		case "true", "1", "yes":
			v.SetBool(true)
		case "false", "0", "no":
			v.SetBool(false)
		default:
			r.fault(s, n.accepts)
		}
	case text:
		r.text(n, v, s)
	case list:
		var parts []string
		if strings.TrimSpace(s) != "" {
			parts = strings.FieldsFunc(s, func(c rune) bool { return c == ',' || c == ';' })
		}
		items := reflect.MakeSlice(n.typ, len(parts), len(parts))
		for i, part := range parts {
			r.enter(step{index: i})
			r.plain(n.item, items.Index(i), name, strings.TrimSpace(part))
			r.leave()
		}
		r.length(n, len(parts))
		v.Set(items)
	default:
		r.fault(nil, "only in a JSON body")
	}
}

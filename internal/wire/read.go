package wire

import (
	"bytes"
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
	"pourwright/internal/schema"
)

const (
	maxFaults = 20 // gathered from one input
	maxName   = 64 // bytes of a caller's name that are shown
)

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
	if err := r.value(s.Type, reflect.ValueOf(in).Elem()); err != nil {
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
		reason = fmt.Sprintf("the name %q is given twice", clip(syntax.JSONPointer.LastToken()))
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
			b = append(b, clip(s.name)...)
		default:
			b = append(append(b, '.'), clip(s.name)...)
		}
	}
	return string(b)
}

// full reports whether no more faults are gathered: nothing need be looked up
// for another.
func (r *reader) full() bool { return len(r.faults) >= maxFaults }

// clip shortens a name that a caller made up.
func clip(name string) string {
	if len(name) <= maxName {
		return name
	}
	return strings.ToValidUTF8(name[:maxName], "") + "…"
}

func (r *reader) fault(value any, accepts string) {
	if !r.full() {
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
func (r *reader) value(n *schema.Type, v reflect.Value) error {
	switch k := r.dec.PeekKind(); {
	case k == '{' && n.Kind == schema.Object:
		return r.object(n, v)
	case k == '{' && n.Kind == schema.Map:
		return r.dictionary(n, v)
	case k == '[' && n.Kind == schema.List:
		return r.list(n, v)
	case k == '{' || k == '[':
		r.fault(nil, n.Accepts)
		return r.dec.SkipValue()
	case k == 'n':
		r.fault("null", "leave the field out, or "+n.Accepts)
		return r.dec.SkipValue()
	}
	tok, err := r.dec.ReadToken()
	if err != nil {
		return err
	}
	switch tok.Kind() {
	case '"':
		r.fromString(n, v, tok.String())
	case '0':
		f, err := tok.Float()
		switch {
		case err != nil:
			r.fault(tok.String(), n.Accepts)
		case n.Kind != schema.Number && n.Kind != schema.Integer:
			r.fault(f, n.Accepts)
		default:
			r.number(n, v, f)
		}
	default:
		if n.Kind != schema.Boolean {
			r.fault(tok.Bool(), n.Accepts)
			return nil
		}
		v.SetBool(tok.Bool())
	}
	return nil
}

func (r *reader) object(n *schema.Type, v reflect.Value) error {
	if _, err := r.dec.ReadToken(); err != nil {
		return err
	}
	var given [4]uint64 // 256 fields are more than any input has
	for r.dec.PeekKind() != '}' {
		tok, err := r.dec.ReadToken()
		if err != nil {
			return err
		}
		i, ok := n.FieldIndex(tok.String())
		if !ok {
			if !r.full() {
				key := tok.String()
				r.faultIn(key, nil, unknown(key, n.Names()))
			}
			if err := r.dec.SkipValue(); err != nil {
				return err
			}
			continue
		}
		f := n.Fields[i]
		given[i/64] |= 1 << (i % 64)
		r.enter(step{name: f.Name})
		if err := r.value(f.Type, f.In(v)); err != nil {
			return err
		}
		r.leave()
	}
	if _, err := r.dec.ReadToken(); err != nil {
		return err
	}
	for i, f := range n.Fields {
		if f.Required && given[i/64]&(1<<(i%64)) == 0 {
			r.faultIn(f.Name, nil, "missing; "+f.Accepts)
		}
	}
	return nil
}

func (r *reader) list(n *schema.Type, v reflect.Value) error {
	if _, err := r.dec.ReadToken(); err != nil {
		return err
	}
	items := reflect.MakeSlice(n.Go, 0, 4)
	zero := reflect.Zero(n.Go.Elem())
	i := 0
	for ; r.dec.PeekKind() != ']'; i++ {
		if i >= n.MaxLen {
			if err := r.dec.SkipValue(); err != nil {
				return err
			}
			continue
		}
		items = reflect.Append(items, zero)
		r.enter(step{index: i})
		if err := r.item(n.Item, items.Index(i)); err != nil {
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

// item reads a value that starts from its own defaults.
func (r *reader) item(n *schema.Type, v reflect.Value) error {
	if n.Kind == schema.Object {
		n.Reset(v)
	}
	return r.value(n, v)
}

func (r *reader) length(n *schema.Type, length int) {
	if !n.Holds(length) {
		r.fault(length, n.Accepts)
	}
}

// dictionary reads a map. Members beyond the most that it may have are counted
// and refused.
func (r *reader) dictionary(n *schema.Type, v reflect.Value) error {
	if _, err := r.dec.ReadToken(); err != nil {
		return err
	}
	members := reflect.MakeMap(n.Go)
	count := 0
	for ; r.dec.PeekKind() != '}'; count++ {
		tok, err := r.dec.ReadToken()
		if err != nil {
			return err
		}
		key := tok.String()
		if count >= n.MaxLen {
			if err := r.dec.SkipValue(); err != nil {
				return err
			}
			continue
		}
		item := reflect.New(n.Go.Elem()).Elem()
		r.enter(step{name: key})
		if err := r.item(n.Item, item); err != nil {
			return err
		}
		r.leave()
		members.SetMapIndex(reflect.ValueOf(key).Convert(n.Go.Key()), item)
	}
	if _, err := r.dec.ReadToken(); err != nil {
		return err
	}
	r.length(n, count)
	v.Set(members)
	return nil
}

func (r *reader) number(n *schema.Type, v reflect.Value, f float64) {
	switch {
	case !n.Within(f) || n.Kind == schema.Integer && f != float64(int64(f)):
		r.fault(f, n.Accepts)
	case n.Kind == schema.Number:
		v.SetFloat(f)
	default:
		v.SetInt(int64(f))
	}
}

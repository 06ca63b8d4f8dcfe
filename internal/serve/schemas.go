package serve

import (
	"math"
	"path"
	"reflect"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"pourwright/internal/calc"
	"pourwright/internal/schema"
)

const refPrefix = "#/components/schemas/"

// schemas writes descriptions of types as the schemas of the contract. A type
// that is read, with what it accepts and its optional fields, and the same type
// written, with all fields, are two schemas.
type schemas struct {
	old  bool // OpenAPI 3.0, which knows nothing beside a $ref
	made map[string]*huma.Schema
	in   map[*schema.Type]string
	out  map[*schema.Type]string
}

// name names the schemas: those of a calculation after its registration
// ("fills" makes FillsInput and FillsAnswer), others after their type, with
// their package in front where two packages have a type of that name. What is
// read ends in Input.
func (s *schemas) name(calculations []calc.Calculation, collections []calc.Collection) {
	s.in, s.out = map[*schema.Type]string{}, map[*schema.Type]string{}
	var in, out []*schema.Type
	for _, c := range slices.Backward(calculations) { // of several that take one type, the last in the order of the job names it
		read, written, title := schema.Of(c.In()), schema.Of(c.Out()), camel(c.Info().Name)
		register(s.in, read, title+"Input")
		register(s.out, written, title+"Answer")
		in, out = append(in, read), append(out, written)
	}
	for _, c := range collections {
		title := camel(c.Info().Name)
		register(s.out, schema.Of(c.Page()), title+"Page")
		register(s.out, schema.Of(c.Entry()), title+"Entry")
		in, out = append(in, schema.Of(c.Filter())), append(out, schema.Of(c.Page()), schema.Of(c.Entry()))
	}
	out = append(out, schema.For[Problem]())
	nameAfterTypes(s.in, in, "Input")
	nameAfterTypes(s.out, out, "")
	taken := map[string]*schema.Type{}
	for _, names := range []map[*schema.Type]string{s.in, s.out} {
		for t, name := range names {
			if other := taken[name]; other != nil {
				panic("serve: " + t.Go.String() + " and " + other.Go.String() + " are both named " + name + " in the contract")
			}
			taken[name] = t
		}
	}
}

func register(names map[*schema.Type]string, t *schema.Type, name string) {
	if names[t] == "" {
		names[t] = name
	}
}

// nameAfterTypes names the objects under roots that have no name yet.
func nameAfterTypes(names map[*schema.Type]string, roots []*schema.Type, ending string) {
	var found []*schema.Type
	seen := map[*schema.Type]bool{}
	var walk func(t *schema.Type)
	walk = func(t *schema.Type) {
		for t.Item != nil {
			t = t.Item
		}
		if t.Kind != schema.Object || seen[t] {
			return
		}
		seen[t] = true
		if names[t] == "" {
			found = append(found, t)
		}
		for _, f := range t.Fields {
			walk(f.Type)
		}
	}
	for _, t := range roots {
		walk(t)
	}
	title := func(t *schema.Type) (name string, own bool) {
		name = t.Go.Name()
		if ending != "" {
			name = strings.TrimSuffix(name, "In")
		}
		if name == "" || name == "Out" {
			return camel(path.Base(t.Go.PkgPath())), true
		}
		return name, false
	}
	count := map[string]int{}
	for _, name := range names {
		count[name]++
	}
	for _, t := range found {
		name, _ := title(t)
		count[name+ending]++
	}
	for _, t := range found {
		name, own := title(t)
		if count[name+ending] > 1 && !own {
			name = camel(path.Base(t.Go.PkgPath())) + name
		}
		names[t] = name + ending
	}
}

// camel writes "ring-sizes" as RingSizes.
func camel(name string) string {
	var b strings.Builder
	for word := range strings.SplitSeq(name, "-") {
		b.WriteString(strings.ToUpper(word[:1]) + word[1:])
	}
	return b.String()
}

// input returns a reference to the schema of a type that is read.
func (s *schemas) input(t reflect.Type) *huma.Schema { return s.of(schema.Of(t), true) }

// output returns a reference to the schema of a type that is written.
func (s *schemas) output(t reflect.Type) *huma.Schema { return s.of(schema.Of(t), false) }

// of is the schema of a value; an object is put among the components.
func (s *schemas) of(t *schema.Type, read bool) *huma.Schema {
	v := &huma.Schema{}
	switch t.Kind {
	case schema.Number, schema.Integer:
		v.Type, v.Format = huma.TypeNumber, "double"
		if t.Kind == schema.Integer {
			v.Type, v.Format = huma.TypeInteger, "int32"
			if t.Go.Kind() == reflect.Int64 {
				v.Format = "int64"
			}
		}
		if read {
			s.bound(v, t)
		}
	case schema.Boolean:
		v.Type = huma.TypeBoolean
	case schema.Text:
		v.Type, v.Format = huma.TypeString, t.Format
		for _, choice := range t.Enum {
			v.Enum = append(v.Enum, choice)
		}
		if read {
			v.MinLength, v.MaxLength = lengths(t)
			if t.Pattern != nil {
				v.Pattern = t.Pattern.String()
			}
		}
	case schema.Bytes:
		v.Type = huma.TypeString
		if s.old {
			v.Format = "byte"
		} else {
			v.ContentEncoding = "base64"
		}
	case schema.List:
		v.Type, v.Items = huma.TypeArray, s.of(t.Item, read)
		if read {
			v.MinItems, v.MaxItems = lengths(t)
		}
	case schema.Map:
		v.Type, v.AdditionalProperties = huma.TypeObject, s.of(t.Item, read)
		if read {
			v.MinProperties, v.MaxProperties = lengths(t)
		}
	case schema.Object:
		return s.object(t, read)
	}
	return v
}

// bound gives a number its bounds.
func (s *schemas) bound(v *huma.Schema, t *schema.Type) {
	limit := func(at float64, open bool, closed, exclusive **float64, key string) {
		switch {
		case math.IsInf(at, 0):
		case !open:
			*closed = &at
		case s.old: // a truth beside the bound
			*closed = &at
			if v.Extensions == nil {
				v.Extensions = map[string]any{}
			}
			v.Extensions[key] = true
		default:
			*exclusive = &at
		}
	}
	limit(t.Min, t.OpenMin, &v.Minimum, &v.ExclusiveMinimum, "exclusiveMinimum")
	limit(t.Max, t.OpenMax, &v.Maximum, &v.ExclusiveMaximum, "exclusiveMaximum")
}

func lengths(t *schema.Type) (least, most *int) {
	if t.MinLen > 0 {
		least = &t.MinLen
	}
	if t.MaxLen < math.MaxInt {
		most = &t.MaxLen
	}
	return least, most
}

func (s *schemas) object(t *schema.Type, read bool) *huma.Schema {
	name := s.out[t]
	if read {
		name = s.in[t]
	}
	if name == "" {
		panic("serve: " + t.Go.String() + " has no name in the contract")
	}
	ref := &huma.Schema{Ref: refPrefix + name}
	if s.made[name] != nil {
		return ref
	}
	o := &huma.Schema{Type: huma.TypeObject, Properties: map[string]*huma.Schema{}}
	s.made[name] = o // before its fields: it may hold itself
	if read {
		o.AdditionalProperties = false
	}
	for _, f := range t.Fields {
		o.Properties[f.Name] = s.property(f, read)
		if read && f.Required || !read && !f.OmitEmpty && !f.OmitZero {
			o.Required = append(o.Required, f.Name)
		}
	}
	slices.Sort(o.Required)
	return ref
}

// property is the schema of a field with its words. What holds when the field
// is absent stands in the words: in the schema, generators take it for a reason
// to ask for the field.
func (s *schemas) property(f *schema.Field, read bool) *huma.Schema {
	v := s.of(f.Type, read)
	doc := sentence(f.Doc)
	if read && f.Default != nil {
		doc += " Default: " + said(f.Default, ", ") + "."
	}
	if v.Ref != "" && s.old {
		v = &huma.Schema{AllOf: []*huma.Schema{v}}
	}
	v.Description = doc
	if f.Example != nil && s.old {
		if v.Extensions == nil {
			v.Extensions = map[string]any{}
		}
		v.Extensions["example"] = f.Example
	} else if f.Example != nil {
		v.Examples = []any{f.Example}
	}
	if !read && f.Pointer && !f.OmitEmpty && f.Kind != schema.Object {
		s.nullable(v)
	}
	return v
}

func (s *schemas) nullable(v *huma.Schema) {
	if !s.old {
		v.Nullable = true
		return
	}
	if v.Extensions == nil {
		v.Extensions = map[string]any{}
	}
	v.Extensions["nullable"] = true
}

// sentence ends a text of ours with a full stop.
func sentence(text string) string {
	text = strings.TrimSpace(text)
	if text == "" || strings.ContainsRune(".!?", rune(text[len(text)-1])) {
		return text
	}
	return text + "."
}

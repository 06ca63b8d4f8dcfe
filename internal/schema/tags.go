package schema

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"regexp"
	"strconv"
	"strings"

	"pourwright/internal/unit"
)

// vocabulary holds the tags that a field may have.
var vocabulary = map[string]bool{
	"json": true, "doc": true, "default": true, "example": true, "format": true, "enum": true, "pattern": true,
	"minimum": true, "maximum": true, "exclusiveMinimum": true, "exclusiveMaximum": true,
	"minLength": true, "maxLength": true, "minItems": true, "maxItems": true, "minProperties": true, "maxProperties": true,
}

// tagsOf parts the tag of a field into its keys (the syntax of
// [reflect.StructTag]). A key that is not of the vocabulary is a slip of the
// pen, and panics.
func tagsOf(of reflect.Type, f reflect.StructField) map[string]string {
	tags := map[string]string{}
	rest := strings.TrimSpace(string(f.Tag))
	for rest != "" {
		key, after, ok := strings.Cut(rest, ":")
		quoted, err := strconv.QuotedPrefix(after)
		value, _ := strconv.Unquote(quoted)
		if !ok || err != nil || !vocabulary[key] {
			panic(fmt.Sprintf("schema: %s.%s has a tag that is not known at %.40q", of, f.Name, rest))
		}
		tags[key] = value
		rest = strings.TrimSpace(after[len(quoted):])
	}
	return tags
}

func newField(of reflect.Type, f reflect.StructField, tags map[string]string, seen map[reflect.Type]*Type) *Field {
	name, options, _ := strings.Cut(tags["json"], ",")
	at := of.String() + "." + f.Name
	if name == "" {
		panic("schema: " + at + " has no json name")
	}
	field := &Field{Name: name, Doc: tags["doc"], Pointer: f.Type.Kind() == reflect.Pointer}
	for option := range strings.SplitSeq(options, ",") {
		switch option {
		case "":
		case "omitempty":
			field.OmitEmpty = true
		case "omitzero":
			field.OmitZero = true
		default:
			panic("schema: " + at + " has the json option " + option)
		}
	}
	t := f.Type
	if field.Pointer {
		t = t.Elem()
	}
	field.Type = compile(t, seen).under(at, name, tags)
	text, defaulted := tags["default"]
	if defaulted {
		field.value = reflect.New(t).Elem()
		field.Default = decode(at, field.Type, text, field.value.Addr().Interface())
	}
	if text, ok := tags["example"]; ok {
		field.Example = decode(at, field.Type, text, reflect.New(t).Interface())
	}
	field.Required = !field.Pointer && !defaulted && !field.OmitEmpty && !field.OmitZero
	return field
}

// decode reads the text of a default or an example: JSON, or bare for a text.
// It fills in into, and returns it as decoded JSON.
func decode(at string, t *Type, text string, into any) any {
	b := []byte(text)
	if t.Kind == Text {
		b, _ = json.Marshal(text)
	}
	var v any
	if err := json.Unmarshal(b, into); err != nil {
		panic(fmt.Sprintf("schema: %q of %s: %v", text, at, err))
	}
	_ = json.Unmarshal(b, &v) // what filled in a Go value is JSON
	return v
}

// under returns the type under the constraints of a field's tags. Those of a
// list or map of scalars are its items' own, but for how many there may be.
func (t *Type) under(at, name string, tags map[string]string) *Type {
	if t.Kind == Object || t.Kind == Any {
		return t // shared by all fields that hold it: it may hold itself
	}
	c := *t
	scalar := &c
	if c.Item != nil && c.Item.Kind.Scalar() {
		item := *c.Item
		c.Item, scalar = &item, &item
	}
	float := func(key string, to *float64) bool {
		text, ok := tags[key]
		if ok {
			*to = number(at, key, text)
		}
		return ok
	}
	float("minimum", &scalar.Min)
	float("maximum", &scalar.Max)
	scalar.OpenMin = float("exclusiveMinimum", &scalar.Min)
	scalar.OpenMax = float("exclusiveMaximum", &scalar.Max)
	if choices := tags["enum"]; choices != "" {
		scalar.Enum = strings.Split(choices, ",")
	}
	if pattern := tags["pattern"]; pattern != "" {
		scalar.Pattern = regexp.MustCompile(pattern)
	}
	scalar.Format = tags["format"]
	whole := func(key string, to *int) {
		if text, ok := tags[key]; ok {
			*to = int(number(at, key, text))
		}
	}
	whole("minLength", &scalar.MinLen)
	whole("maxLength", &scalar.MaxLen)
	whole("minItems", &c.MinLen)
	whole("maxItems", &c.MaxLen)
	whole("minProperties", &c.MinLen)
	whole("maxProperties", &c.MaxLen)
	scalar.Named, c.Named = name, name
	if scalar.Kind == Number {
		scalar.Unit, scalar.UnitSample, _ = unit.Of(name)
	}
	scalar.Accepts = scalar.accepts()
	c.Accepts = c.accepts()
	return &c
}

func number(at, key, text string) float64 {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(v) {
		panic(fmt.Sprintf("schema: %s of %s is %q", key, at, text))
	}
	return v
}

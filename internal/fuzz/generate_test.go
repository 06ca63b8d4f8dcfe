// Package fuzz sends the server requests made from its own contract: valid
// ones, near misses and nonsense.
package fuzz

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
)

type object = map[string]any

// generator makes values from the schemas of a contract.
type generator struct {
	*rand.Rand
	contract object
	// known holds the values that the contract's examples give each name, so
	// that ids and texts are often ones that exist.
	known map[string][]any
}

// resolve follows references.
func resolve(contract, schema object) object {
	for {
		ref, ok := schema["$ref"].(string)
		if !ok {
			return schema
		}
		at := any(contract)
		for step := range strings.SplitSeq(strings.TrimPrefix(ref, "#/"), "/") {
			at = at.(object)[step]
		}
		schema = at.(object)
	}
}

func typeOf(schema object) string {
	switch t := schema["type"].(type) {
	case string:
		return t
	case []any:
		for _, name := range t {
			if name != "null" {
				return name.(string)
			}
		}
	}
	return ""
}

const maxDepth = 8

// value makes a value that the schema accepts, or nearly.
func (g *generator) value(schema object, name string, depth int) any {
	schema = resolve(g.contract, schema)
	if enum, ok := schema["enum"].([]any); ok {
		return pick(g, enum)
	}
	switch typeOf(schema) {
	case "number":
		return g.number(schema)
	case "integer":
		return math.Round(g.number(schema))
	case "boolean":
		return g.IntN(2) == 0
	case "array":
		return g.array(schema, name, depth)
	case "object":
		return g.object(schema, depth)
	}
	if list := g.known[name]; len(list) > 0 && g.IntN(8) > 0 {
		return pick(g, list)
	}
	return pick(g, texts)
}

var texts = []any{"", "x", "silver-925", "gold-750", "sapphire", "ring", "a name with spaces", "=1+1", "ü€😀", "\u0000", strings.Repeat("long ", 60), "2.5 ozt", "2026-11-25", "../../etc/passwd", "<b>&amp;</b>"}

func pick[T any](g *generator, list []T) T { return list[g.IntN(len(list))] }

func bound(schema object, name, exclusive string, fallback float64) float64 {
	for _, key := range []string{name, exclusive} {
		if v, ok := schema[key].(float64); ok {
			return v
		}
	}
	return fallback
}

// number stands inside the bounds: even, near the small end, or at one of them.
func (g *generator) number(schema object) float64 {
	lo, hi := bound(schema, "minimum", "exclusiveMinimum", -1e3), bound(schema, "maximum", "exclusiveMaximum", 1e6)
	if list, ok := schema["examples"].([]any); ok && g.IntN(3) == 0 {
		if v, ok := pick(g, list).(float64); ok {
			return v
		}
	}
	switch g.IntN(8) {
	case 0:
		return lo
	case 1:
		return hi
	case 2:
		return lo + (hi-lo)*1e-9
	case 3, 4:
		return lo + (hi-lo)*g.Float64()
	}
	return lo + (hi-lo)*math.Pow(10, -6*g.Float64())
}

func (g *generator) array(schema object, name string, depth int) any {
	lo, hi := int(bound(schema, "minItems", "", 0)), int(bound(schema, "maxItems", "", 3))
	n := lo + g.IntN(max(1, min(hi, lo+3)-lo+1))
	items, _ := schema["items"].(object)
	list := make([]any, 0, n)
	for range n {
		if depth < maxDepth {
			list = append(list, g.value(items, name, depth+1))
		}
	}
	return list
}

func (g *generator) object(schema object, depth int) any {
	made := object{}
	required, _ := schema["required"].([]any)
	properties, _ := schema["properties"].(object)
	for _, name := range sorted(properties) {
		if slices.Contains(required, any(name)) || g.IntN(3) == 0 && depth < maxDepth {
			made[name] = g.value(properties[name].(object), name, depth+1)
		}
	}
	if extra, ok := schema["additionalProperties"].(object); ok {
		for range g.IntN(4) {
			made[pick(g, []string{"Ag", "Cu", "Au", "Zn", "x"})] = g.value(extra, "", depth+1)
		}
	}
	return made
}

func sorted(m object) []string {
	names := make([]string, 0, len(m))
	for name := range m {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// learn gathers the values that examples give each name.
func learn(known map[string][]any, name string, v any) {
	switch v := v.(type) {
	case object:
		for n, member := range v {
			learn(known, n, member)
		}
	case []any:
		for _, item := range v {
			learn(known, name, item)
		}
	case string:
		if !slices.Contains(known[name], any(v)) {
			known[name] = append(known[name], v)
		}
	}
}

// slot is a place in a value that can be set to another.
type slot struct {
	name   string
	schema object // nil where the contract has none
	set    func(any)
	remove func()
}

// slots lists every place in v, a copy that may be changed.
func (g *generator) slots(v any, schema object) []slot {
	var found []slot
	if schema != nil {
		schema = resolve(g.contract, schema)
	}
	switch v := v.(type) {
	case object:
		properties, _ := schema["properties"].(object)
		extra, _ := schema["additionalProperties"].(object)
		for _, name := range sorted(v) {
			inner, ok := properties[name].(object)
			if !ok {
				inner = extra
			}
			found = append(found, slot{name, inner, func(x any) { v[name] = x }, func() { delete(v, name) }})
			found = append(found, g.slots(v[name], inner)...)
		}
	case []any:
		items, _ := schema["items"].(object)
		for i := range v {
			found = append(found, slot{"", items, func(x any) { v[i] = x }, func() {}})
			found = append(found, g.slots(v[i], items)...)
		}
	}
	return found
}

func clone(v any) any {
	text, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	var c any
	if err := json.Unmarshal(text, &c); err != nil {
		panic(err)
	}
	return c
}

// vary changes one to three places of a value to others that may be accepted.
func (g *generator) vary(v any, schema object) any {
	for range 1 + g.IntN(3) {
		all := g.slots(v, schema)
		if len(all) == 0 {
			return v
		}
		if s := pick(g, all); s.schema != nil {
			s.set(g.value(s.schema, s.name, 3))
		}
	}
	return v
}

// odd are values that hardly any place accepts.
var odd = []any{nil, true, -1.0, 0.0, 1e300, -1e300, 1e-300, 0.1, "", "NaN", "Infinity", "1e400 g", "2.5 ozt", "14 B&S", "-3 in", "1/2 in", "1830 F", []any{}, []any{[]any{}}, object{}, object{"a": object{}}, strings.Repeat("9", 400), "\ufeff"}

// spoil makes one to three places wrong.
func (g *generator) spoil(v any, schema object) any {
	for range 1 + g.IntN(3) {
		all := g.slots(v, schema)
		if len(all) == 0 {
			return pick(g, odd)
		}
		s := pick(g, all)
		switch g.IntN(4) {
		case 0:
			s.remove()
		default:
			s.set(clone(pick(g, odd)))
		}
	}
	if o, ok := v.(object); ok && g.IntN(4) == 0 {
		o[pick(g, []string{"unknown", "Mass_g", "", "alloy ", "__proto__"})] = 1.0
	}
	return v
}

// damage breaks the text itself.
func (g *generator) damage(text []byte) []byte {
	text = slices.Clone(text)
	if len(text) == 0 {
		return []byte(pick(g, []string{"{", "[", "nul", "\xff", "[[[["}))
	}
	at := g.IntN(len(text))
	switch g.IntN(6) {
	case 0:
		return text[:at]
	case 1:
		text[at] = byte(g.IntN(256))
	case 2:
		return slices.Insert(text, at, text[:g.IntN(min(len(text), 64))]...)
	case 3:
		return append(text, text...)
	case 4:
		depth := 1 + g.IntN(20_000)
		return []byte(strings.Repeat(pick(g, []string{"[", `{"a":`}), depth))
	case 5:
		return slices.Delete(text, at, min(len(text), at+1+g.IntN(8)))
	}
	return text
}

package workbook

import (
	"strings"

	"pourwright/api"
	"pourwright/internal/calc"
	"pourwright/internal/schema"
)

// named finds a calculation.
func named(calculation string) calc.Calculation {
	for _, c := range api.All {
		if c.Info().Name == calculation {
			return c
		}
	}
	panic("workbook: no calculation " + calculation)
}

// describe tells of the field at a dotted path of a type what its schema has: its
// name in words without the unit, the unit and the meaning.
func describe(t *schema.Type, path string) (words, unit, doc string) {
	steps := strings.Split(path, ".")
	for i, step := range steps {
		if t.Kind == schema.List {
			t = t.Item // at the item of that number
			continue
		}
		f := t.Field(step)
		if f == nil {
			panic("workbook: no field " + path)
		}
		t, unit, doc = f.Type, f.Unit, f.Doc
		if unit != "" && i == len(steps)-1 {
			step, _, _ = strings.Cut(step, "_per_gram")
			if step == f.Name {
				step = step[:strings.LastIndex(step, "_")]
			}
		}
		steps[i] = step
	}
	return strings.ReplaceAll(strings.Join(steps, " "), "_", " "), unit, doc
}

// of is the line of a form for an input of a calculation.
func of(calculation, path string, value any) field {
	words, unit, doc := describe(schema.Of(named(calculation).In()), path)
	return field{capital(words), value, unit, doc}
}

// column heads a column: what it is and its unit.
func column(t *schema.Type, path string) string {
	words, unit, _ := describe(t, path)
	if unit != "" {
		words += ", " + unit
	}
	return words
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

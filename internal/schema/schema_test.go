package schema

import (
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
)

type section struct {
	ThicknessMM float64 `json:"thickness_mm" minimum:"0.1" maximum:"60" doc:"Finished" example:"2.4"`
	Shape       string  `json:"shape" enum:"round,oval" default:"oval"`
}

type lengths struct {
	Most  string  `json:"most,omitempty" maxLength:"2"`
	Least string  `json:"least,omitempty" minLength:"2"`
	Some  []int   `json:"some,omitempty" minItems:"2"`
	Free  any     `json:"free"`
	Raw   rawText `json:"raw"`
}

type rawText []byte

func TestLengthsOfOneEnd(t *testing.T) {
	faults := func(l lengths) (fields []string) {
		For[lengths]().Check(reflect.ValueOf(l), func(field string, _ any, _ string) { fields = append(fields, field) })
		return fields
	}
	require.Equal(t, []string{"most", "least"}, faults(lengths{Most: "abc", Least: "a"}))
	require.Empty(t, faults(lengths{Most: "ab", Least: "ab", Some: []int{}}), "an empty list that may be left out passes")
	require.Equal(t, []string{"some"}, faults(lengths{Some: []int{1}}))
	require.Equal(t, Any, For[lengths]().Field("free").Kind)
	require.Equal(t, Any, For[lengths]().Field("raw").Kind, "bytes of another name are JSON as it is")
}

type shared struct {
	D float64 `json:"d" maximum:"9" default:"1"`
}

type piece struct {
	A        float64   `json:"a_mm" minimum:"1" maximum:"5"`
	B        *float64  `json:"b_mm,omitempty" minimum:"0"`
	Open     float64   `json:"open_g" exclusiveMinimum:"0" exclusiveMaximum:"2" default:"1"`
	N        int       `json:"n" maximum:"3"`
	Kind     string    `json:"kind,omitempty" enum:"x,y"`
	Currency string    `json:"currency" pattern:"^[A-Z]{3}$" default:"EUR"`
	Note     string    `json:"note" minLength:"2" maxLength:"3" default:"ab"`
	List     []float64 `json:"list_mm,omitempty" minimum:"1" maximum:"2"`
	Free     float64   `json:"free" default:"0"`
	shared
	Some   []struct{}         `json:"some,omitempty" minItems:"2" maxItems:"3"`
	Each   []int              `json:"each" maxItems:"1" default:"[7]"`
	Mix    map[string]float64 `json:"mix_permil,omitempty" maxProperties:"2" minimum:"0" maximum:"1000"`
	Inner  section            `json:"inner"`
	Maybe  *section           `json:"maybe"`
	Inside *piece             `json:"inside,omitempty"`
	Solid  []byte             `json:"solid,omitempty"`
	Off    int                `json:"-"`
	own    int
}

func valid() piece {
	p := For[piece]().New().Interface().(*piece)
	p.A, p.own = 1, 1
	return *p
}

func TestDescription(t *testing.T) {
	d := For[piece]()
	require.Same(t, d, Of(reflect.TypeFor[*piece]()), "compiled once")
	require.Equal(t, []string{"a_mm", "b_mm", "open_g", "n", "kind", "currency", "note", "list_mm", "free", "d", "some", "each", "mix_permil", "inner", "maybe", "inside", "solid"}, d.Names())
	required := []string{}
	for _, f := range d.Fields {
		if f.Required {
			required = append(required, f.Name)
		}
	}
	require.Equal(t, []string{"a_mm", "n", "inner"}, required)
	require.Equal(t, "mm", d.Field("a_mm").Unit)
	require.Equal(t, "mm", d.Field("list_mm").Scalar().Unit)
	require.Equal(t, "‰", d.Field("mix_permil").Item.Unit)
	require.Equal(t, 2.4, d.Field("inner").Field("thickness_mm").Example)
	require.Equal(t, []any{7.0}, d.Field("each").Default)
	require.Same(t, d, d.Field("inside").Type, "a type may hold itself")
	require.Nil(t, d.Field("no_such"))
}

func TestAccepts(t *testing.T) {
	d := For[piece]()
	for name, want := range map[string]string{
		"a_mm": `give a number from 1 to 5 in mm, or a text with a unit such as "0.25 in"`, "b_mm": `give a number of at least 0 in mm, or a text with a unit such as "0.25 in"`,
		"open_g": `give a number above 0 below 2 in g, or a text with a unit such as "2.5 ozt"`, "n": "give a whole number of at most 3", "kind": "give one of x, y",
		"currency": "give a text of the form ^[A-Z]{3}$", "note": "give a text of 2 to 3 characters", "some": "give a list of 2 to 3 items", "each": "give a list of at most 1 items",
		"mix_permil": "give an object of at most 2 members", "inner": "give an object", "solid": "give base64 text", "free": "give a number", "list_mm": "give a list",
	} {
		require.Equal(t, want, d.Field(name).Accepts)
	}
}

func TestCheck(t *testing.T) {
	faults := func(change func(*piece)) (fields []string) {
		p := valid()
		change(&p)
		For[piece]().Check(reflect.ValueOf(p), func(field string, _ any, accepts string) {
			require.NotEmpty(t, accepts)
			fields = append(fields, field)
		})
		return fields
	}
	minus, nought := -1.0, 0.0
	for _, c := range []struct {
		why    string
		change func(*piece)
		fields []string
	}{
		{"as made", func(*piece) {}, nil},
		{"zero is a number", func(p *piece) { p.A = 0 }, []string{"a_mm"}},
		{"a NaN does not pass", func(p *piece) { p.A = math.NaN() }, []string{"a_mm"}},
		{"above", func(p *piece) { p.A = 5.1 }, []string{"a_mm"}},
		{"at the bounds", func(p *piece) { p.A = 5 }, nil},
		{"open bounds", func(p *piece) { p.Open = 0 }, []string{"open_g"}},
		{"open bounds", func(p *piece) { p.Open = 2 }, []string{"open_g"}},
		{"behind a pointer", func(p *piece) { p.B = &minus }, []string{"b_mm"}},
		{"a zero behind a pointer is given", func(p *piece) { p.B = &nought }, nil},
		{"whole", func(p *piece) { p.N = 4 }, []string{"n"}},
		{"choice", func(p *piece) { p.Kind = "z" }, []string{"kind"}},
		{"form", func(p *piece) { p.Currency = "eur" }, []string{"currency"}},
		{"length, in characters", func(p *piece) { p.Note = "äöü" }, nil},
		{"too long", func(p *piece) { p.Note = "abcd" }, []string{"note"}},
		{"a default makes the empty text a value", func(p *piece) { p.Note = "" }, []string{"note"}},
		{"items", func(p *piece) { p.List = []float64{1, 3, 0} }, []string{"list_mm[1]", "list_mm[2]"}},
		{"how many", func(p *piece) { p.Some, p.Each = make([]struct{}, 1), []int{1, 2} }, []string{"some", "each"}},
		{"embedded", func(p *piece) { p.D = 10 }, []string{"d"}},
		{"members", func(p *piece) { p.Mix = map[string]float64{"Ag": 1, "Cu": -2, "Zn": 3} }, []string{"mix_permil", "mix_permil.Cu"}},
	} {
		require.Equal(t, c.fields, faults(c.change), c.why)
	}
}

func TestDefaultsShareNoMemory(t *testing.T) {
	a, b := valid(), valid()
	require.Equal(t, piece{A: 1, Open: 1, Currency: "EUR", Note: "ab", shared: shared{1}, Each: []int{7}, Inner: section{Shape: "oval"}, own: 1}, a)
	a.Each[0] = 9
	require.Equal(t, []int{7}, b.Each)
	require.Equal(t, []int{7}, valid().Each)
}

func TestFlat(t *testing.T) {
	leaves, whole := For[piece]().Flat()
	require.True(t, whole)
	paths := map[string]*Leaf{}
	for _, l := range leaves {
		paths[l.Path] = l
	}
	require.Contains(t, paths, "inner.thickness_mm")
	require.Empty(t, paths["inner.thickness_mm"].Optional)
	require.Len(t, paths["maybe.shape"].Optional, 1)
	require.Contains(t, paths, "solid")
	require.NotContains(t, paths, "some")
	p := valid()
	paths["maybe.thickness_mm"].Open(reflect.ValueOf(&p).Elem()).SetFloat(3)
	paths["inside.n"].Open(reflect.ValueOf(&p).Elem()).SetInt(2)
	require.Equal(t, &section{3, "oval"}, p.Maybe, "made with its defaults")
	require.Equal(t, 2, p.Inside.N)

	type sections struct {
		N    int       `json:"n"`
		Some []section `json:"some"`
	}
	_, whole = For[sections]().Flat()
	require.False(t, whole)

	leaves, whole = For[struct {
		D     float64   `json:"d"`
		Maybe *sections `json:"maybe"`
	}]().Flat()
	require.True(t, whole, "an optional object may be left out")
	require.Len(t, leaves, 1, "and only as a whole")
}

func TestMistakesInADefinitionPanic(t *testing.T) {
	for why, mistake := range map[string]any{
		"misspelt tag": struct {
			A int `json:"a" minimun:"1"`
		}{},
		"no colon": reflect.New(reflect.StructOf([]reflect.StructField{{Name: "A", Type: reflect.TypeFor[int](), Tag: `json:"a" doc`}})).Elem().Interface(),
		"bound not a number": struct {
			A int `json:"a" minimum:"x"`
		}{},
		"default not of type": struct {
			A int `json:"a" default:"x"`
		}{},
		"no name": struct{ A int }{},
		"option": struct {
			A int `json:"a,string"`
		}{},
		"kind": struct {
			A chan int `json:"a"`
		}{},
		"default behind a pointer": struct {
			A *int `json:"a" default:"1"`
		}{},
		"twice": struct {
			shared
			D int `json:"d"`
		}{},
	} {
		require.Panics(t, func() { Of(reflect.TypeOf(mistake)) }, why)
	}
}

package wire

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
)

type size struct {
	ThicknessMM float64 `json:"thickness_mm" minimum:"0.1" maximum:"60"`
	Shape       string  `json:"shape" enum:"round,oval" default:"oval"`
}

type input struct {
	MassG   float64            `json:"mass_g" minimum:"0" maximum:"5000"`
	Reserve float64            `json:"reserve_g" minimum:"0" default:"10"`
	PourC   *float64           `json:"pour_c" maximum:"1600"`
	Count   int                `json:"count" minimum:"1" maximum:"9" default:"1"`
	Hollow  bool               `json:"hollow" default:"true"`
	Note    string             `json:"note,omitempty" maxLength:"5"`
	Sizes   []size             `json:"sizes,omitempty" maxItems:"2"`
	Steps   []float64          `json:"steps_mm" default:"[1,2]" minimum:"0" maximum:"9"`
	Mix     map[string]float64 `json:"mix,omitempty" maxProperties:"3"`
	Inner   size               `json:"inner,omitempty"`
}

func read(t *testing.T, body string) (*input, error) {
	t.Helper()
	in, err := ShapeOf(reflect.TypeFor[input]()).ReadJSON([]byte(body))
	return in.(*input), err
}

func TestAbsentFieldsTakeDefaultsAndZeroStaysZero(t *testing.T) {
	in, err := read(t, `{"mass_g": 4}`)
	require.NoError(t, err)
	require.Equal(t, &input{MassG: 4, Reserve: 10, Count: 1, Hollow: true, Steps: []float64{1, 2}, Inner: size{Shape: "oval"}}, in)

	in, err = read(t, `{"mass_g": 0, "reserve_g": 0, "hollow": false, "pour_c": 0, "steps_mm": [], "sizes": [{"thickness_mm": 2}]}`)
	require.NoError(t, err)
	zero := 0.0
	require.Equal(t, &input{PourC: &zero, Count: 1, Steps: []float64{}, Sizes: []size{{2, "oval"}}, Inner: size{Shape: "oval"}}, in)
}

func TestDefaultsAreNotShared(t *testing.T) {
	a, _ := read(t, `{"mass_g": 4}`)
	a.Steps[0] = 99
	b, _ := read(t, `{"mass_g": 4}`)
	require.Equal(t, []float64{1, 2}, b.Steps)
}

func TestQuantitiesCarryUnitsOfTheTrade(t *testing.T) {
	in, err := read(t, `{"mass_g": "2 ozt", "pour_c": "1832 F", "inner": {"thickness_mm": "0.25 in"}}`)
	require.NoError(t, err)
	require.InDelta(t, 62.2069536, in.MassG, 1e-12) // 2 x 31.1034768 g, exact by definition
	require.InDelta(t, 1000, *in.PourC, 1e-12)
	require.InDelta(t, 6.35, in.Inner.ThicknessMM, 1e-12)
}

func TestFaultsNameFieldValueAndRemedy(t *testing.T) {
	for _, c := range []struct{ body, field, accepts string }{
		{`{}`, "mass_g", "missing; give a number from 0 to 5000 in g, or a text with a unit such as \"2.5 ozt\""},
		{`{"mass_g": -1}`, "mass_g", "give a number from 0 to 5000 in g, or a text with a unit such as \"2.5 ozt\""},
		{`{"mass_g": "heavy"}`, "mass_g", "give a number in g, or with one of the units ct, dwt, g, gr, kg, lb, lbt, mg, oz, ozt, tola (\"2.5 ozt\")"},
		{`{"mass_g": true}`, "mass_g", "give a number from 0 to 5000 in g, or a text with a unit such as \"2.5 ozt\""},
		{`{"mass_g": null}`, "mass_g", "leave the field out, or give a number from 0 to 5000 in g, or a text with a unit such as \"2.5 ozt\""},
		{`{"mass_g": 1, "Reserve_g": 2}`, "Reserve_g", "no such field; did you mean reserve_g?"},
		{`{"mass_g": 1, "zzz": {"a": [1]}}`, "zzz", "no such field; known here: mass_g, reserve_g, pour_c, count, hollow, note, sizes, steps_mm, mix, inner"},
		{`{"mass_g": 1, "count": 1.5}`, "count", "give a whole number from 1 to 9"},
		{`{"mass_g": 1, "note": "too long"}`, "note", "give a text of at most 5 characters"},
		{`{"mass_g": 1, "sizes": [{"thickness_mm": 1}, {"thickness_mm": 0}]}`, "sizes[1].thickness_mm", "give a number from 0.1 to 60 in mm, or a text with a unit such as \"0.25 in\""},
		{`{"mass_g": 1, "sizes": [{"shape": "ovel", "thickness_mm": 1}]}`, "sizes[0].shape", "did you mean oval? give one of round, oval"},
		{`{"mass_g": 1, "sizes": [{"thickness_mm": 1},{"thickness_mm": 1},{"thickness_mm": 1}]}`, "sizes", "give a list of at most 2 items"},
		{`{"mass_g": 1, "steps_mm": [1, 10]}`, "steps_mm[1]", "give a number from 0 to 9 in mm, or a text with a unit such as \"0.25 in\""},
		{`{"mass_g": 1, "mix": {"Ag": "x"}}`, "mix.Ag", "give a number"},
		{`{"mass_g": 1, "inner": 5}`, "inner", "give an object"},
		{`{"mass_g": 1, "inner": {}}`, "inner.thickness_mm", "missing; give a number from 0.1 to 60 in mm, or a text with a unit such as \"0.25 in\""},
	} {
		_, err := read(t, c.body)
		var refusal *calc.Refusal
		require.ErrorAs(t, err, &refusal, c.body)
		require.Len(t, refusal.Faults, 1, c.body)
		require.Equal(t, c.field, refusal.Faults[0].Field, c.body)
		require.Equal(t, c.accepts, refusal.Faults[0].Accepts, c.body)
	}
}

func TestAllFaultsAreTold(t *testing.T) {
	_, err := read(t, `{"mass_g": -1, "count": 0, "wrong": 1, "inner": {"shape": "x"}}`)
	var refusal *calc.Refusal
	require.ErrorAs(t, err, &refusal)
	require.Len(t, refusal.Faults, 5)
}

func TestBrokenJSONIsUnparsable(t *testing.T) {
	for _, body := range []string{``, ` `, `{`, `{"mass_g": 1} x`, `{"mass_g": 1}{}`, `{"mass_g": 1, "mass_g": 2}`, `{"mass_g": NaN}`, "{\"note\": \"\xff\"}", `[`, `{"mass_g": 1,}`} {
		_, err := read(t, body)
		var broken *Unparsable
		require.ErrorAs(t, err, &broken, body)
	}
}

func TestNumbersTooLargeAreRefused(t *testing.T) {
	_, err := read(t, `{"mass_g": 1e400}`)
	require.Error(t, err)
}

type flat struct {
	MassG float64   `json:"mass_g" minimum:"0" maximum:"5000"`
	Alloy string    `json:"alloy" default:"silver-925"`
	Steps []float64 `json:"steps_mm,omitempty"`
	Dry   bool      `json:"dry" default:"false"`
}

func TestPairs(t *testing.T) {
	s := ShapeOf(reflect.TypeFor[flat]())
	require.True(t, s.Flat())
	in, err := s.ReadPairs([]Pair{{"mass_g", "2 g"}, {"steps_mm", "1, 2;3"}, {"dry", "yes"}, {"alloy", ""}})
	require.NoError(t, err)
	require.Equal(t, &flat{2, "silver-925", []float64{1, 2, 3}, true}, in)

	for _, pairs := range [][]Pair{
		{}, {{"mass_g", "nan"}}, {{"mass_g", "1"}, {"mass_g", "2"}}, {{"mass_g", "1"}, {"mas", "2"}}, {{"mass_g", "1"}, {"dry", "perhaps"}},
	} {
		_, err := s.ReadPairs(pairs)
		var refusal *calc.Refusal
		require.ErrorAs(t, err, &refusal, "%v", pairs)
	}
}

type nested struct {
	Name    string `json:"name"`
	Section size   `json:"section"`
	Spot    *spot  `json:"spot"`
	Many    []size `json:"many,omitempty"`
}
type spot struct {
	AtPct float64 `json:"at_pct" minimum:"0" maximum:"100"`
	Deep  float64 `json:"deep_mm" default:"0.5"`
}

func TestNestedObjectsAreFlatByDots(t *testing.T) {
	s := ShapeOf(reflect.TypeFor[nested]())
	require.True(t, s.Flat())
	in, err := s.ReadPairs([]Pair{{"name", "x"}, {"section.thickness_mm", "2"}})
	require.NoError(t, err)
	require.Equal(t, &nested{Name: "x", Section: size{2, "oval"}}, in)
	in, err = s.ReadPairs([]Pair{{"name", "x"}, {"section.thickness_mm", "2"}, {"spot.at_pct", "50"}})
	require.NoError(t, err)
	require.Equal(t, &spot{50, 0.5}, in.(*nested).Spot)

	for _, c := range []struct {
		pairs   []Pair
		accepts string
	}{
		{[]Pair{{"name", "x"}}, "section.thickness_mm: missing"},
		{[]Pair{{"name", "x"}, {"section.thickness_mm", "2"}, {"spot.deep_mm", "1"}}, "spot.at_pct: missing"},
		{[]Pair{{"name", "x"}, {"section", "2"}}, "name one of its fields, such as section.thickness_mm"},
		{[]Pair{{"many", "x"}}, "only in a JSON body"},
		{[]Pair{{"section.thicknes_mm", "2"}}, "did you mean section.thickness_mm?"},
	} {
		_, err := s.ReadPairs(c.pairs)
		require.ErrorContains(t, err, c.accepts)
	}
}

type filed struct {
	Name string `json:"name"`
	Mesh *drawn `json:"mesh,omitempty"`
}
type drawn struct {
	STL  []byte `json:"stl_base64,omitempty"`
	Unit string `json:"unit" default:"mm"`
}

func TestFilesHaveNames(t *testing.T) {
	s := ShapeOf(reflect.TypeFor[filed]())
	require.True(t, s.Flat())
	require.Equal(t, []string{"mesh.stl"}, s.Files())
	for _, name := range []string{"mesh", "mesh.stl", "mesh.stl_base64"} {
		in := s.New()
		require.True(t, s.IsFile(name))
		s.SetFile(in, name, []byte("solid"))
		require.NoError(t, s.ReadPairsInto([]Pair{{"name", "x"}}, in))
		require.Equal(t, &filed{"x", &drawn{[]byte("solid"), "mm"}}, in)
	}
	require.False(t, s.IsFile("name"))
	in, err := s.ReadJSON([]byte(`{"name": "x", "mesh": {"stl_base64": "c29saWQ="}}`))
	require.NoError(t, err)
	require.Equal(t, "solid", string(in.(*filed).Mesh.STL))
}

func TestNumber(t *testing.T) {
	for v, want := range map[float64]string{
		0: "0", math.Copysign(0, -1): "0", 0.1 + 0.2: "0.3", 0.20980000000000001: "0.2098", 54.4211834: "54.42118",
		1234567.8: "1234568", 12345678.9: "12345679", 1e-9: "0.000000001", -2.5: "-2.5", 100: "100", 1e20: "100000000000000000000",
	} {
		require.Equal(t, want, Number(v))
	}
}

type output struct {
	PriceText string   `json:"price"`
	Parts     []part   `json:"parts"`
	Depth     *float64 `json:"depth_mm"`
	calc.Notes
}
type part struct {
	MassG float64 `json:"mass_g"`
}

// TestRounded: by the place of the unit, which the name's ending tells.
func TestRounded(t *testing.T) {
	for _, r := range []struct {
		field    string
		v, worth float64
	}{
		{"diameter_mm", 17.3228, 17.32}, {"gap_mm", 0.2663132, 0.266}, {"gap_mm", -0.99512, -1}, {"gap_mm", 0.0088, 0.0088},
		{"mass_g", 4.969223, 4.969}, {"weigh_g", 35.117, 35.117}, {"pour_c", 977.2278, 977.2}, {"volume_mm3", 34299.9642, 34299.96},
		{"fineness_permil", 999.95, 999.95}, {"mean", 0.1234567, 0.1234567}, {"c", 977.2278, 977.2278},
		{"expansion_per_k", 1.92345e-5, 1.92345e-5}, {"mass_g", 0, 0}, {"mass_g", 1.23456789e8, 1.23456789e8},
	} {
		require.Equal(t, r.worth, Rounded(r.field, r.v), "%s %v", r.field, r.v)
	}
	type ends struct {
		Low   float64 `json:"low"`
		WideK float64 `json:"wide_k"`
	}
	type answer struct {
		Solidus  ends  `json:"solidus_c"`
		Liquidus *ends `json:"liquidus_c"`
		Pieces   []struct {
			Masses []float64 `json:"masses_g"`
		} `json:"pieces"`
		PourC *float64 `json:"pour_c"`
	}
	hot := 977.2278
	out := answer{Solidus: ends{779.1258, 5.12345}, Liquidus: &ends{Low: 0.123456}, PourC: &hot}
	out.Pieces = append(out.Pieces, struct {
		Masses []float64 `json:"masses_g"`
	}{[]float64{1.23456, 0.0123456}})
	b, err := JSON(out)
	require.NoError(t, err)
	require.Equal(t, `{"solidus_c":{"low":779.1,"wide_k":5.12},"liquidus_c":{"low":0.123,"wide_k":0},"pieces":[{"masses_g":[1.235,0.0123]}],"pour_c":977.2}`, string(b))
	picked, err := Pick(out, "pieces.0.masses_g.1")
	require.NoError(t, err)
	require.Equal(t, "0.0123", picked)
	picked, err = Pick(out, "solidus_c.low")
	require.NoError(t, err)
	require.Equal(t, "779.1", picked)
	cells := []string{}
	for _, c := range Columns(reflect.TypeFor[answer]()) {
		cell, err := c.Append(nil, reflect.ValueOf(out))
		require.NoError(t, err)
		cells = append(cells, string(cell))
	}
	require.Equal(t, []string{"779.1", "5.12", "977.2"}, cells)
}

func TestPickAndColumns(t *testing.T) {
	out := output{PriceText: "12.30", Parts: []part{{1.25}, {2}}}
	out.Caution(calc.Caution{Code: "hot", Severity: calc.Danger})
	for path, want := range map[string]string{"price": "12.30", "parts.1.mass_g": "2", "depth_mm": "", "cautions.0.code": "hot", "price,depth_mm,parts.0.mass_g": "12.30\n\n1.25"} {
		got, err := Pick(out, path)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
	for _, path := range []string{"prize", "parts", "parts.2", "parts.0", "price.x", "", "price,", "price,prize", "parts.-1", strings.Repeat("price,", mostPicked) + "price"} {
		_, err := Pick(out, path)
		require.Error(t, err, path)
	}
	got, err := Pick(output{PriceText: "two\r\nlines"}, "price")
	require.NoError(t, err)
	require.Equal(t, "two  lines", got, "a value stays on its line")
	for path, ok := range map[string]bool{"price,parts.7.mass_g": true, "prize": false, "parts.x": false, "parts.0": false, "price.x": false} {
		require.Equal(t, ok, Pickable(reflect.TypeFor[output](), path) == nil, path)
	}
	b, err := Table(Columns(reflect.TypeFor[output]()), []any{out})
	require.NoError(t, err)
	require.Equal(t, "price,depth_mm,cautions\n12.30,,hot\n", string(b))
}

func TestNaNIsAnErrorBeforeAnythingIsWritten(t *testing.T) {
	_, err := JSON(part{math.NaN()})
	var notFinite *NotFinite
	require.True(t, errors.As(err, &notFinite))
}

func TestInert(t *testing.T) {
	for in, want := range map[string]string{"=1+1": "'=1+1", "@x": "'@x", "-2.5": "-2.5", "-cmd": "'-cmd", "+1": "+1", "ring": "ring"} {
		require.Equal(t, want, Inert(in))
	}
}

func BenchmarkReadJSON(b *testing.B) {
	s := ShapeOf(reflect.TypeFor[input]())
	body := []byte(`{"mass_g": 12.5, "reserve_g": 8, "count": 3, "note": "band", "sizes": [{"thickness_mm": 2.2, "shape": "round"}], "mix": {"Ag": 925, "Cu": 75}}`)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := s.ReadJSON(body); err != nil {
			b.Fatal(err)
		}
	}
}

// TestHintsAreBounded: however many names a caller makes up, and however long,
// few are looked up and none is given back whole.
func TestHintsAreBounded(t *testing.T) {
	long := strings.Repeat("é", 1<<19)
	var b strings.Builder
	b.WriteString(`{"mass_g": 1, "` + long + `": 2, "mix": {"` + long + `": "x"}`)
	for i := range 90_000 {
		fmt.Fprintf(&b, `, "reserve_%d": 1`, i)
	}
	b.WriteString("}")
	_, err := read(t, b.String())
	var refusal *calc.Refusal
	require.ErrorAs(t, err, &refusal)
	require.Len(t, refusal.Faults, maxFaults)
	require.LessOrEqual(t, len(refusal.Error()), maxFaults*500)
	require.NotContains(t, refusal.Faults[0].Accepts, "did you mean", "no name of ours is so long")
	require.True(t, utf8.ValidString(refusal.Error()))

	pairs := make([]Pair, 300_000)
	for i := range pairs {
		pairs[i] = Pair{fmt.Sprintf("mas%d", i), "1"}
	}
	_, err = ShapeOf(reflect.TypeFor[flat]()).ReadPairs(pairs)
	require.ErrorAs(t, err, &refusal)
	require.Len(t, refusal.Faults, maxFaults)

	_, err = read(t, `{"`+long+`": 1, "`+long+`": 2}`)
	require.Less(t, len(err.Error()), 200)
}

func TestSurplusMembersAreRefused(t *testing.T) {
	_, err := read(t, `{"mass_g": 1, "mix": {"Ag": 1, "Cu": 2, "Zn": 3, "Sn": 4}}`)
	require.ErrorContains(t, err, "mix: 4 refused; give an object of at most 3 members")
}

func TestNumbersAsDecimalText(t *testing.T) {
	in, err := read(t, `{"mass_g": "0.95", "mix": {"Ag": "925"}}`)
	require.NoError(t, err)
	require.Equal(t, 0.95, in.MassG)
	require.Equal(t, 925.0, in.Mix["Ag"])
}

// Twice the unknown names may cost twice the time, not four times.
func BenchmarkUnknownNames(b *testing.B) {
	for _, n := range []int{10_000, 20_000} {
		var body strings.Builder
		body.WriteString(`{"mass_g": 1`)
		for i := range n {
			fmt.Fprintf(&body, `, "reserve_%d": 1`, i)
		}
		body.WriteString("}")
		text := []byte(body.String())
		b.Run(strconv.Itoa(n), func(b *testing.B) {
			for b.Loop() {
				_, _ = ShapeOf(reflect.TypeFor[input]()).ReadJSON(text)
			}
		})
	}
}

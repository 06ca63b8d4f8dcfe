package wire

import (
	"bytes"
	"math"
	"strconv"
	"testing"

	"github.com/go-json-experiment/json"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
)

type written struct {
	Text    string             `json:"text"`
	Maybe   *float64           `json:"maybe_mm"`
	Left    *leaning           `json:"left,omitempty"`
	None    []string           `json:"none"`
	Gone    []string           `json:"gone,omitempty"`
	Empty   leaning            `json:"empty,omitempty"`
	Zero    float64            `json:"zero,omitempty"`
	Nought  float64            `json:"nought,omitempty,omitzero"`
	Off     bool               `json:"off,omitempty"`
	Table   [][]string         `json:"table"`
	Solid   []byte             `json:"solid"`
	Mix     map[string]float64 `json:"mix"`
	Any     any                `json:"any"`
	private int
	sides
	calc.Notes
}

// leaning is written as {} when it holds nothing, and may lean on another.
type leaning struct {
	On   *leaning `json:"on,omitempty"`
	Name string   `json:"name,omitempty"`
}

type sides struct {
	A int   `json:"a"`
	B int64 `json:"b,omitzero"`
}

func TestJSONIsWhatTheLibraryWrites(t *testing.T) {
	half := 0.5
	w := written{Text: "a \"b\" <c> \u2028 ×\n", private: 1}
	full := written{
		Maybe: &half, Left: &leaning{On: &leaning{}, Name: "x"}, None: []string{}, Gone: []string{"y", "z"},
		Zero: 1.0 / 3, Nought: -2e-9, Off: true, Table: [][]string{{"p"}, nil, {}}, Solid: []byte("solid"),
		Mix: map[string]float64{"Cu": 75.000000001, "Ag": 925}, Any: []any{1.00000001, "s", nil},
		sides: sides{1, 2}, Notes: calc.Noting(t.Context()),
	}
	full.Step("mass", 1.23456789, "g", "%g × %g", 1.0, 2.5)
	full.Caution(calc.Caution{Code: "hot", Severity: calc.Danger, Text: "hot"})
	for _, out := range []any{w, full, &full, full.Left, half, []leaning{{}, *full.Left}} {
		want, err := json.Marshal(out, jsonOptions)
		require.NoError(t, err)
		got, err := JSON(out)
		require.NoError(t, err)
		require.Equal(t, string(want), string(got))
	}
	_, err := JSON(leaning{Name: "\xff"})
	require.Error(t, err, "not UTF-8")
	b := bytes.NewBufferString("before")
	require.Error(t, WriteJSON(b, part{math.Inf(1)}))
	require.Equal(t, "before", b.String(), "an answer is written whole or not at all")
}

// TestNumberIsTheRoundedShortest holds the writer of numbers against the
// standard library: round to seven digits, read back, print shortest.
func TestNumberIsTheRoundedShortest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-1e16, 1e16), rapid.Float64Range(-1, 1),
			rapid.Map(rapid.IntRange(-99_999_999, 99_999_999), func(i int) float64 { return float64(i) / 8 })).Draw(t, "v")
		if math.Abs(v) < 1e-300 || math.IsInf(v, 0) || math.IsNaN(v) {
			return // below, a double has fewer than seven digits
		}
		rounded, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', digits, 64), 64)
		want := strconv.FormatFloat(rounded, 'f', -1, 64)
		if math.Abs(v) >= 1e7 && math.Abs(v) < 1e15 {
			want = strconv.FormatFloat(v, 'f', 0, 64)
		}
		require.Equal(t, want, Number(v))
	})
}

// The writer beside the library's, on a usual answer.
func BenchmarkWriteJSON(b *testing.B) {
	out := output{PriceText: "12.30", Parts: []part{{1.25}, {2}, {3.5}}, Notes: calc.Noting(b.Context())}
	for range 8 {
		out.Step("mass", 1.23456789, "g", "V × ρ = %g × %g", 1.0, 2.5)
		out.Sources = append(out.Sources, calc.Source{For: "density", Text: "a handbook, table 3", Status: calc.Confirmed})
	}
	b.Run("ours", func(b *testing.B) {
		b.ReportAllocs()
		var buffer bytes.Buffer
		for b.Loop() {
			buffer.Reset()
			require.NoError(b, WriteJSON(&buffer, out))
		}
	})
	b.Run("library", func(b *testing.B) {
		b.ReportAllocs()
		var buffer bytes.Buffer
		for b.Loop() {
			buffer.Reset()
			require.NoError(b, json.MarshalWrite(&buffer, out, jsonOptions))
		}
	})
}

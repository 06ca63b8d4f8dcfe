package wire

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
)

type edges struct {
	Count  int                `json:"count" doc:"Count"`
	Shares map[string]float64 `json:"shares,omitempty" doc:"Shares"`
	Values []float64          `json:"values" doc:"Values"`
	Share  float64            `json:"share" doc:"Share"`
}

func TestWholeNumbersAreDecimal(t *testing.T) {
	out := edges{Count: 1234, Values: []float64{}}
	b, err := JSON(out)
	require.NoError(t, err)
	require.Contains(t, string(b), `"count":1234`)
	got, err := Pick(out, "count")
	require.NoError(t, err)
	require.Equal(t, "1234", got)
}

func TestPickOfAMap(t *testing.T) {
	out := edges{Shares: map[string]float64{"Ag": 925}}
	got, err := Pick(out, "shares.Ag")
	require.NoError(t, err)
	require.Equal(t, "925", got)
	_, err = Pick(out, "shares.Au")
	require.ErrorContains(t, err, "is not in this answer")
}

func TestHintsAreOfNearNamesOnly(t *testing.T) {
	_, err := Pick(edges{}, "coumt")
	require.ErrorContains(t, err, "did you mean count?")
	_, err = Pick(edges{}, "qqqqqqqqqqqq")
	require.ErrorContains(t, err, "pick one of count")
	require.NotContains(t, err.Error(), "did you mean")
}

func TestNothingPlainIsNotFinite(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		for _, out := range []edges{{Share: v}, {Values: []float64{1, v}}} {
			_, err := Table(Columns(reflect.TypeFor[edges]()), []any{out})
			var notFinite *NotFinite
			require.ErrorAs(t, err, &notFinite)
			_, err = JSON(out)
			require.ErrorAs(t, err, &notFinite)
		}
	}
}

func TestBrokenTextIsToldInItsOwnWords(t *testing.T) {
	s := ShapeOf(reflect.TypeFor[edges]())
	for body, says := range map[string]string{
		`{"count": 1, "count": 2}`:  `the name "count" is given twice`,
		`{"count":`:                 "not JSON: the text ends too early",
		`{"count": 1`:               "not JSON: the text ends too early",
		`{"count": 1, x}`:           "not JSON at byte 13",
		`{"count": 1} {"count": 2}`: "there is more after the JSON object",
		` `:                         "the body is empty",
	} {
		_, err := s.ReadJSON([]byte(body))
		require.ErrorContains(t, err, says, body)
	}
}

func TestFaultsAreBounded(t *testing.T) {
	s := ShapeOf(reflect.TypeFor[edges]())
	_, err := s.ReadJSON([]byte("{" + unknownKeys(30) + "}"))
	var refusal *calc.Refusal
	require.ErrorAs(t, err, &refusal)
	require.Len(t, refusal.Faults, maxFaults)
	require.Equal(t, 20, maxFaults, "more is no help to whoever reads them")
}

// unknownKeys are members of an object that no input has.
func unknownKeys(n int) string {
	keys := make([]string, n)
	for i := range keys {
		keys[i] = `"` + strings.Repeat("x", i+1) + `":1`
	}
	return strings.Join(keys, ",")
}

func TestAWholeNumberIsAskedFor(t *testing.T) {
	s := ShapeOf(reflect.TypeFor[edges]())
	require.False(t, s.HasFile())
	for body, ok := range map[string]bool{`{"count": 2, "values": [], "share": 1}`: true, `{"count": 1.5, "values": [], "share": 1}`: false} {
		_, err := s.ReadJSON([]byte(body))
		require.Equal(t, ok, err == nil, "%s: %v", body, err)
	}
}

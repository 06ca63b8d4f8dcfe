package api_test

import (
	"encoding/json"
	"math"
	"net/http"
	"net/http/httptest"
	"reflect"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/api"
	"pourwright/internal/calc"
	"pourwright/internal/wire"
)

// role is the variable that says which server a process of a load test is.
const role = "POURWRIGHT_TEST_SERVE"

// bare answers the calculation as a plain handler would: encoding/json both
// ways, nothing checked but the syntax.
func bare(c calc.Calculation) http.Handler {
	shape := wire.ShapeOf(c.In())
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		in := shape.New() // a copy of the defaults, as a literal would be
		if err := json.NewDecoder(r.Body).Decode(in); err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		out, err := c.Run(r.Context(), in)
		if err != nil {
			http.Error(w, err.Error(), http.StatusUnprocessableEntity)
			return
		}
		w.Header().Set("Content-Type", "application/json")
		_ = json.NewEncoder(w).Encode(out)
	})
}

// asked is the calculation's first example. A bare handler knows no defaults
// inside lists and pointers: an example that leans on them is spelt out.
func asked(t testing.TB, c calc.Calculation) string {
	body := c.Examples()[0].JSON
	in, err := wire.ShapeOf(c.In()).ReadJSON([]byte(body))
	require.NoError(t, err)
	plain := wire.ShapeOf(c.In()).New()
	if json.Unmarshal([]byte(body), plain) == nil && reflect.DeepEqual(in, plain) {
		return body
	}
	whole, err := json.Marshal(in)
	require.NoError(t, err)
	return string(whole)
}

func ask(h http.Handler, c calc.Calculation, body string) *httptest.ResponseRecorder {
	r := httptest.NewRequest("POST", "/v1/"+c.Info().Name, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func eachLight(f func(c calc.Calculation)) {
	for _, c := range api.All {
		if !c.Info().Heavy {
			f(c)
		}
	}
}

// TestBareHandlerAnswersTheSame keeps the comparison honest: the bare handler
// writes all that the server writes, but for the rounding of numbers.
func TestBareHandlerAnswersTheSame(t *testing.T) {
	eachLight(func(c calc.Calculation) {
		t.Run(c.Info().Name, func(t *testing.T) {
			body := asked(t, c)
			ours, theirs := ask(server, c, body), ask(bare(c), c, body)
			require.Equal(t, http.StatusOK, ours.Code, ours.Body)
			require.Equal(t, http.StatusOK, theirs.Code, theirs.Body)
			same(t, "", parse(t, theirs.Body.Bytes()), parse(t, ours.Body.Bytes()))
		})
	})
}

func parse(t *testing.T, body []byte) (v any) {
	require.NoError(t, json.Unmarshal(body, &v))
	return v
}

// sevenDigits is half a unit in the seventh significant digit of 1.000000,
// where rounding changes a number the most in proportion.
const sevenDigits = 5e-7

func same(t *testing.T, at string, want, got any) {
	switch got := got.(type) {
	case map[string]any:
		members, ok := want.(map[string]any)
		require.True(t, ok, at)
		for name, member := range got {
			if w, ok := members[name]; ok {
				same(t, at+"."+name, w, member)
			} else {
				require.Contains(t, []any{0.0, false}, member, "%s.%s: encoding/json leaves out nothing else", at, name)
			}
		}
		for name := range members {
			require.Contains(t, got, name, at)
		}
	case []any:
		items, ok := want.([]any)
		require.True(t, ok, at)
		require.Len(t, got, len(items), at)
		for i := range got {
			same(t, at+"[]", items[i], got[i])
		}
	case float64:
		number, ok := want.(float64)
		require.True(t, ok, at)
		names := strings.Split(strings.ReplaceAll(at, "[]", ""), ".")
		worth := wire.Rounded(names[len(names)-1], number)
		if worth == number { // an end of a range, whose field tells the unit
			worth = wire.Rounded(names[len(names)-2], number)
		}
		require.InDelta(t, worth, got, sevenDigits*math.Abs(number), at)
	default:
		require.Equal(t, want, got, at)
	}
}

// processorTime is what this process has had of it, in nanoseconds.
func processorTime(b *testing.B) int64 {
	var u syscall.Rusage
	require.NoError(b, syscall.Getrusage(syscall.RUSAGE_SELF, &u))
	return u.Utime.Nano() + u.Stime.Nano()
}

// BenchmarkLight sets every light calculation, asked for its first example,
// beside a bare handler of the same computation. Processor time, the
// collector's included, is what other work on the machine disturbs least.
func BenchmarkLight(b *testing.B) {
	eachLight(func(c calc.Calculation) {
		body := asked(b, c)
		for _, side := range []struct {
			name string
			h    http.Handler
		}{{"pourwright", server}, {"bare", bare(c)}} {
			b.Run(c.Info().Name+"/"+side.name, func(b *testing.B) {
				b.ReportAllocs()
				before := processorTime(b)
				for b.Loop() {
					if w := ask(side.h, c, body); w.Code != http.StatusOK {
						b.Fatal(w.Code, w.Body)
					}
				}
				b.ReportMetric(float64(processorTime(b)-before)/float64(b.N), "cpu-ns/op")
			})
		}
	})
}

// BenchmarkContract writes the contract, which the first reader waits for.
func BenchmarkContract(b *testing.B) {
	for b.Loop() {
		if _, err := newServer().Contract("3.1", "json"); err != nil {
			b.Fatal(err)
		}
	}
}

package api_test

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"reflect"
	"strings"
	"testing"

	"pourwright/api"
	"pourwright/internal/calc"
)

// bare answers the calculation as a plain handler would: encoding/json both
// ways, nothing checked but the syntax.
func bare(c calc.Calculation) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		in := reflect.New(c.In())
		calc.SetDefaults(in.Elem())
		if err := json.NewDecoder(r.Body).Decode(in.Interface()); err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		out, err := c.Run(r.Context(), in.Interface())
		if err != nil {
			http.Error(w, err.Error(), http.StatusUnprocessableEntity)
			return
		}
		w.Header().Set("Content-Type", "application/json")
		_ = json.NewEncoder(w).Encode(out)
	})
}

// BenchmarkLight sets every light calculation, asked for its first example,
// beside a bare handler of the same computation.
func BenchmarkLight(b *testing.B) {
	for _, c := range api.All {
		if c.Info().Heavy {
			continue
		}
		body := c.Examples()[0].JSON
		for name, h := range map[string]http.Handler{"pourwright": server, "bare": bare(c)} {
			b.Run(c.Info().Name+"/"+name, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					r := httptest.NewRequest("POST", "/v1/"+c.Info().Name, strings.NewReader(body))
					r.Header.Set("Content-Type", "application/json")
					w := httptest.NewRecorder()
					h.ServeHTTP(w, r)
					if w.Code != http.StatusOK && name == "bare" {
						b.Skip("it leans on defaults inside lists, which a bare handler does not know")
					}
					if w.Code != http.StatusOK {
						b.Fatal(w.Code, w.Body)
					}
				}
			})
		}
	}
}

package serve

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"pourwright/internal/calc"
)

// A light calculation of six numbers in, six numbers and three texts out.
type sixIn struct {
	A float64 `json:"a" minimum:"0" maximum:"1000" doc:"a"`
	B float64 `json:"b" minimum:"0" maximum:"1000" doc:"b"`
	C float64 `json:"c" minimum:"0" maximum:"1000" doc:"c"`
	D float64 `json:"d" minimum:"0" maximum:"1000" doc:"d"`
	E float64 `json:"e" minimum:"0" maximum:"1000" doc:"e"`
	F float64 `json:"f" minimum:"0" maximum:"1000" doc:"f"`
}

type sixNumbers struct {
	A float64 `json:"a" doc:"a"`
	B float64 `json:"b" doc:"b"`
	C float64 `json:"c" doc:"c"`
	D float64 `json:"d" doc:"d"`
	E float64 `json:"e" doc:"e"`
	F float64 `json:"f" doc:"f"`
	X string  `json:"x" doc:"x"`
	Y string  `json:"y" doc:"y"`
	Z string  `json:"z" doc:"z"`
}

type sixOut struct {
	sixNumbers
	calc.Notes
}

func sixOf(in sixIn) sixNumbers {
	return sixNumbers{in.A * in.B, in.B * in.C, in.C * in.D, in.D * in.E, in.E * in.F, in.F * in.A, "one", "two", "three"}
}

const sixBody = `{"a": 1.25, "b": 2.5, "c": 3.75, "d": 4.125, "e": 5.5, "f": 6.25}`

func bare(w http.ResponseWriter, r *http.Request) {
	body, err := io.ReadAll(io.LimitReader(r.Body, maxBody))
	if err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	var in sixIn
	if err := json.Unmarshal(body, &in); err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	b, err := json.Marshal(sixOf(in))
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", mediaJSON)
	_, _ = w.Write(b)
}

// BenchmarkLight sets a light calculation through the whole mechanism beside
// the same computation in a bare net/http and encoding/json handler.
func BenchmarkLight(b *testing.B) {
	six := calc.Define(calc.Info{Name: "sixes", Subject: "Toys", Summary: "Six"},
		[]calc.Example{{Name: "six", JSON: sixBody}},
		func(ctx context.Context, in sixIn) (sixOut, error) { return sixOut{sixOf(in), calc.Noting(ctx)}, nil })
	server := must(New(testSettings(), []calc.Calculation{six}, nil))
	mux := http.NewServeMux()
	mux.HandleFunc("POST /v1/sixes", bare)
	for name, h := range map[string]http.Handler{"pourwright": server, "bare": mux} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				r := httptest.NewRequest("POST", "/v1/sixes", strings.NewReader(sixBody))
				r.Header.Set("Content-Type", mediaJSON)
				w := httptest.NewRecorder()
				h.ServeHTTP(w, r)
				if w.Code != http.StatusOK {
					b.Fatal(w.Code, w.Body)
				}
			}
		})
	}
}

// BenchmarkRows sets a CSV batch of a light calculation beside the reading
// and writing of the same table with encoding/csv alone.
func BenchmarkRows(b *testing.B) {
	const rows = 10000
	table := "order,length_mm,width_mm\n" + strings.Repeat("A-17,12.5,3.25\n", rows)
	b.Run("pourwright", func(b *testing.B) {
		for b.Loop() {
			r := httptest.NewRequest("POST", "/v1/toys/rows", strings.NewReader(table))
			r.Header.Set("Content-Type", mediaCSV)
			w := httptest.NewRecorder()
			toyServer.ServeHTTP(w, r)
			if w.Code != http.StatusOK || strings.Count(w.Body.String(), "\n") != rows+1 {
				b.Fatal(w.Code)
			}
		}
		b.ReportMetric(float64(rows*b.N)/b.Elapsed().Seconds(), "rows/s")
	})
	b.Run("encoding-csv", func(b *testing.B) {
		for b.Loop() {
			copyTable(b, table)
		}
		b.ReportMetric(float64(rows*b.N)/b.Elapsed().Seconds(), "rows/s")
	})
}

func copyTable(b *testing.B, table string) {
	records, err := csv.NewReader(strings.NewReader(table)).ReadAll()
	if err != nil {
		b.Fatal(err)
	}
	if err := csv.NewWriter(io.Discard).WriteAll(records); err != nil {
		b.Fatal(err)
	}
}

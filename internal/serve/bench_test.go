package serve

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"pourwright/api"
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

const benchRows = 10000

// BenchmarkRows sets batches of a light calculation, in each form, beside the
// reading and writing of the same table with encoding/csv alone.
func BenchmarkRows(b *testing.B) {
	table := "order,length_mm,width_mm\n" + strings.Repeat("A-17,12.5,3.25\n", benchRows)
	lines := strings.Repeat(`{"length_mm": 12.5, "width_mm": 3.25, "name": "A-17"}`+"\n", benchRows)
	array := "[" + strings.TrimSuffix(strings.ReplaceAll(lines, "\n", ","), ",") + "]"
	batch := func(b *testing.B, mediaType, body string) {
		rowsOf(b, toyServer, "/v1/toys/rows", mediaType, body)
	}
	b.Run("csv", func(b *testing.B) { batch(b, mediaCSV, table) })
	b.Run("ndjson", func(b *testing.B) { batch(b, mediaNDJSON, lines) })
	b.Run("json", func(b *testing.B) { batch(b, mediaJSON, array) })
	b.Run("xlsx", func(b *testing.B) { batch(b, mediaXLSX, string(bookOf(b, table))) })
	b.Run("encoding-csv", func(b *testing.B) { copyTable(b, table) })
}

// BenchmarkQuoteRows prices ten thousand enquiries in one table.
func BenchmarkQuoteRows(b *testing.B) {
	server := must(New(testSettings(), []calc.Calculation{api.Quotes}, nil))
	table := "order,currency,piece,piece_g,cast_g,fineness_permil,metal_price_per_gram,client_metal_g,client_metal_fineness_permil,hourly_rate,mould_min,pour_min,polishing_min,failure_pct,overhead_pct,markup_pct,tax_pct,deposit_pct\n" +
		strings.Repeat("A-17,EUR,bangle,38,62,925,0.95,45,900,38,40,30,40,12,20,25,21,50\n", benchRows)
	b.Run("csv", func(b *testing.B) { rowsOf(b, server, "/v1/quotes/rows", mediaCSV, table) })
	b.Run("xlsx", func(b *testing.B) { rowsOf(b, server, "/v1/quotes/rows", mediaXLSX, string(bookOf(b, table))) })
	b.Run("encoding-csv", func(b *testing.B) { copyTable(b, table) })
}

func rowsOf(b *testing.B, server http.Handler, target, mediaType, body string) {
	b.ReportAllocs()
	for b.Loop() {
		r := httptest.NewRequest("POST", target, strings.NewReader(body))
		r.Header.Set("Content-Type", mediaType)
		w := httptest.NewRecorder()
		server.ServeHTTP(w, r)
		if w.Code != http.StatusOK || strings.Contains(w.Body.String(), "give") {
			b.Fatal(w.Code)
		}
		if mediaType == mediaCSV && strings.Count(w.Body.String(), "\n") < benchRows+1 {
			b.Fatal("rows are lost")
		}
	}
	b.ReportMetric(float64(benchRows*b.N)/b.Elapsed().Seconds(), "rows/s")
}

func copyTable(b *testing.B, table string) {
	for b.Loop() {
		records, err := csv.NewReader(strings.NewReader(table)).ReadAll()
		if err != nil {
			b.Fatal(err)
		}
		if err := csv.NewWriter(io.Discard).WriteAll(records); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(benchRows*b.N)/b.Elapsed().Seconds(), "rows/s")
}

// bookOf makes a workbook of a table.
func bookOf(b *testing.B, table string) []byte {
	records, err := csv.NewReader(strings.NewReader(table)).ReadAll()
	require.NoError(b, err)
	f := excelize.NewFile()
	s, err := f.NewStreamWriter("Sheet1")
	require.NoError(b, err)
	for i, record := range records {
		cells := make([]any, len(record))
		for j, cell := range record {
			cells[j] = cell
			if v, err := strconv.ParseFloat(cell, 64); err == nil {
				cells[j] = v
			}
		}
		at, _ := excelize.CoordinatesToCellName(1, i+1)
		require.NoError(b, s.SetRow(at, cells))
	}
	require.NoError(b, s.Flush())
	var book bytes.Buffer
	require.NoError(b, f.Write(&book))
	return book.Bytes()
}

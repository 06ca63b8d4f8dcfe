package serve

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/unicode"
)

func TestTablesOfOtherSpreadsheets(t *testing.T) {
	for _, c := range []struct {
		target, mediaType, body string
		header                  []string
		status                  int
		want                    string
	}{
		{"", mediaCSV, "width_mm (in);own;length_mm (cm)\n0.5;7,5;1\n2 mm;=1;\"1.5\"\n", nil, 200,
			"width_mm (in);own;length_mm (cm);area_mm2;label;cautions;error\n0.5;7,5;1;127;;;\n2 mm;'=1;1.5;30;;;\n"},
		{"", mediaCSV, "length_mm\twidth_mm\n3\t2\n", nil, 200, "3\t2\t6\t"},
		{"", mediaCSV, "length_mm;width_mm\n1,250;2\n3;2\n", nil, 200, "1,250;2;;;;\"length_mm: write the decimals with a point"},
		{"?decimal=comma", mediaCSV, "length_mm;width_mm (cm);name\n12,5;1;a.b, c\n3;0,25\n1.250;2\n", nil, 200,
			"12,5;1;a.b, c;125;a.b, c;;\n3;0,25;;7,5;;;\n1.250;2;;;;;length_mm: write the decimals with a comma"},
		{"?decimal=dot", mediaCSV, "length_mm\n3\n", nil, 422, "give point or comma"},
		{"", mediaCSV, "length_mm (g)\n3\n", nil, 422, `unit \"g\" is not known here`},
		{"", mediaCSV, "length_mm,name (mm)\n3,x\n", nil, 422, `name is not a quantity`},
		{"", mediaCSV, "length_mm,length_mm (cm)\n3,3\n", nil, 422, `stands twice`},
		{"", mediaCSV, "order,price\n3,3\n", nil, 422, `no column of the header names an input; the inputs are length_mm, width_mm, name`},
		{"", mediaCSV, "length_mm,error,area_mm2\n3,mine,also\n", nil, 200, "length_mm,error,area_mm2,answer.area_mm2,label,cautions,answer.error\n3,mine,also,6,,,\n"},
		{"", mediaCSV, "length_mm\n3,4\n3\n\"3\n", nil, 200, "3,,,,the row has more cells than the header\n3,6,,,\n"},

		{"?format=json", mediaCSV, "length_mm\n3\nx\n", nil, 200, `{"row":1,"answer":{"area_mm2":6,`},
		{"?format=ndjson", mediaCSV, "length_mm\n3\n", nil, 200, `{"row":1,"answer":{"area_mm2":6,`},
		{"", mediaCSV, "length_mm\n3\n", []string{"Accept", "application/json"}, 200, `{"row":1,"answer":{"area_mm2":6,`},
		{"", mediaCSV, "length_mm\n3\n", []string{"Accept", "*/*"}, 200, "length_mm,area_mm2"},
		{"", mediaCSV, "length_mm\n3\n", []string{"Accept", "image/png"}, 406, "ask for"},
		{"?format=csv", mediaJSON, `[{"length_mm": 3}, {"length_mm": -3}]`, nil, 200, "area_mm2,label,cautions,error\n6,,,\n,,,\"length_mm: give a number"},
		{"?format=xlsx", mediaCSV, "length_mm\n3\n", nil, 422, "give one of json, ndjson, csv"},
		{"?pick=area_mm2", mediaCSV, "length_mm\n3\n", nil, 422, "query.pick"},
		{"?length_mm=3", mediaCSV, "length_mm\n3\n", nil, 422, "put it in the rows"},
	} {
		w := ask(t, "POST", "/v1/toys/rows"+c.target, c.body, append([]string{"Content-Type", c.mediaType}, c.header...)...)
		require.Equal(t, c.status, w.Code, "%s %s", c.body, w.Body)
		require.Contains(t, w.Body.String(), c.want, "%s%s", c.body, c.target)
	}
}

// Most clients send all before they read anything, and a server in Go drops
// what is left of a body once its answer has begun.
func TestNoRowOfALongTableIsLost(t *testing.T) {
	const rows = 30_000
	server := httptest.NewServer(toyServer)
	defer server.Close()
	response, err := http.Post(server.URL+"/v1/toys/rows", mediaCSV, strings.NewReader("length_mm,order\n"+strings.Repeat("3,\"A, 1\"\n", rows)))
	require.NoError(t, err)
	defer response.Body.Close()
	records, err := csv.NewReader(response.Body).ReadAll()
	require.NoError(t, err)
	require.Len(t, records, rows+1)
	require.Equal(t, []string{"3", "A, 1", "6", "", "", ""}, records[rows])
}

// endless is a body without end.
type endless struct{ line []byte }

func (e endless) Read(p []byte) (int, error) {
	n := 0
	for n < len(p) {
		n += copy(p[n:], e.line)
	}
	return n, nil
}

func TestEndlessBodiesAreRefused(t *testing.T) {
	for mediaType, line := range map[string]string{mediaCSV: "3\n", mediaNDJSON: "{\"length_mm\": 3}\n", mediaJSON: "[[[[", mediaXLSX: "PK"} {
		r := httptest.NewRequest("POST", "/v1/toys/rows", endless{[]byte(line)})
		r.Header.Set("Content-Type", mediaType)
		w := httptest.NewRecorder()
		toyServer.ServeHTTP(w, r)
		require.Equal(t, http.StatusRequestEntityTooLarge, w.Code, mediaType)
	}
}

func FuzzTable(f *testing.F) {
	f.Add("length_mm;own\n3;=1\n")
	f.Add("length_mm,name\n3,\"a\"\"b\"\n")
	f.Fuzz(func(t *testing.T, table string) {
		for _, target := range []string{"/v1/toys/rows", "/v1/toys/rows?decimal=comma"} {
			r := httptest.NewRequest("POST", target, strings.NewReader(table))
			r.Header.Set("Content-Type", mediaCSV)
			w := httptest.NewRecorder()
			toyServer.ServeHTTP(w, r)
			if w.Code >= 500 {
				t.Fatal(w.Body)
			}
			inert(t, w)
		}
	})
}

var toyEndpoint = newEndpoint(toy, class{})

// inert checks that no cell of an answer begins a formula.
func inert(t *testing.T, w *httptest.ResponseRecorder) {
	if w.Code != http.StatusOK {
		return
	}
	r := csv.NewReader(bytes.NewReader(w.Body.Bytes()))
	r.Comma = delimiter(toyEndpoint, bufio.NewReader(bytes.NewReader(w.Body.Bytes())))
	r.FieldsPerRecord = -1
	for {
		record, err := r.Read()
		if err == io.EOF {
			return
		}
		if err != nil {
			t.Fatalf("the answer is no table: %v in %q", err, w.Body)
		}
		for _, cell := range record {
			if cell != "" && strings.ContainsRune("=@", rune(cell[0])) {
				t.Fatalf("%q would be a formula", cell)
			}
		}
	}
}

// Tables as spreadsheets write them: with a byte order mark or none, in UTF-16,
// in the code page of the desk, with a line that names the mark between columns.
func TestTablesAsSpreadsheetsWriteThem(t *testing.T) {
	const want = "Müller,3,6,,,\n"
	utf16 := func(s string) string {
		text, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(s)
		require.NoError(t, err)
		return text
	}
	plain := "client,length_mm\nMüller,3\n"
	for _, c := range []struct{ name, mediaType, body string }{
		{"UTF-8", "text/csv", plain},
		{"UTF-8 with a mark", "text/csv; charset=UTF-8", "\ufeff" + plain},
		{"UTF-16", "text/csv", utf16(plain)},
		{"UTF-16, declared", "text/csv; charset=utf-16", utf16(plain)},
		{"Windows-1252", "text/csv; charset=windows-1252", "client,length_mm\nM\xfcller,3\n"},
		{"ISO-8859-1", `text/csv; charset="ISO-8859-1"`, "client,length_mm\nM\xfcller,3\n"},
		{"Macintosh", "text/csv; charset=macintosh", "client,length_mm\nM\x9fller,3\n"},
	} {
		w := ask(t, "POST", "/v1/toys/rows", c.body, "Content-Type", c.mediaType)
		require.Equal(t, 200, w.Code, c.name)
		require.Contains(t, w.Body.String(), want, c.name)
	}
	for _, first := range []string{"sep=;\r\n", "\"sep=;\"\n", "sep=;\n"} {
		w := ask(t, "POST", "/v1/toys/rows", first+"length_mm;width_mm\n3;4\n", "Content-Type", "text/csv")
		require.Contains(t, w.Body.String(), "\n3;4;12;", first)
	}
	w := ask(t, "POST", "/v1/toys/rows", "length_mm\twidth_mm\n3\t4\n", "Content-Type", "text/tab-separated-values")
	require.Contains(t, w.Body.String(), "\n3\t4\t12\t")

	w = ask(t, "POST", "/v1/toys/rows", "client,length_mm\nM\xfcller,3\n", "Content-Type", "text/csv")
	require.Equal(t, 400, w.Code, "not guessed: a wrong guess makes a wrong name")
	require.Contains(t, w.Body.String(), "charset=windows-1252")
	w = ask(t, "POST", "/v1/toys/rows", plain, "Content-Type", "text/csv; charset=ebcdic")
	require.Equal(t, 400, w.Code)
	require.Contains(t, w.Body.String(), "ebcdic is not read")
}

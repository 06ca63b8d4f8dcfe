package serve

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"pourwright/internal/calc"
)

// The committed inputs of each target stand in testdata/fuzz.

func calm(ctx context.Context, in toyIn) (toyOut, error) {
	return toyOut{AreaMM2: in.LengthMM * in.WidthMM, Label: in.Name, Notes: calc.Noting(ctx)}, nil
}

// fuzzServer believes proxies, counts clients, lets pages call, and has a
// light and a heavy calculation and one that takes a file.
var fuzzServer = must(New(func() Settings {
	s := testSettings()
	s.RatePerMinute, s.TrustedProxies, s.Origins = 1<<30, []string{"192.0.2.0/24", "10.0.0.0/8"}, []string{"https://studio.example"}
	return s
}(), []calc.Calculation{
	calc.Define(calc.Info{Name: "calms", Subject: "Toys", Summary: "Area"}, []calc.Example{calc.Sample("calm", "A toy", `{"length_mm": 3}`)}, calm),
	calc.Define(calc.Info{Name: "slows", Subject: "Toys", Summary: "Area", Heavy: true}, []calc.Example{calc.Sample("slow", "A toy", `{"length_mm": 3}`)}, calm),
	calc.Define(calc.Info{Name: "files", Subject: "Toys", Summary: "Length of a file"}, []calc.Example{calc.Sample("file", "A file", `{"name": "a", "data_base64": "YWJj"}`)},
		func(ctx context.Context, in filedIn) (filedOut, error) {
			return filedOut{len(in.Data), in.Name, calc.Noting(ctx)}, nil
		}),
}, nil))

// standing answers a request that must not be a 5xx, and must be JSON where it says so.
func standing(t *testing.T, r *http.Request) *httptest.ResponseRecorder {
	w := httptest.NewRecorder()
	fuzzServer.ServeHTTP(w, r)
	require.Less(t, w.Code, 500, w.Body)
	if media := w.Header().Get("Content-Type"); media == mediaJSON || media == mediaProblem {
		require.True(t, r.Method == http.MethodHead || json.Valid(w.Body.Bytes()), w.Body)
	}
	return w
}

// FuzzQuery: any query is answered or refused.
func FuzzQuery(f *testing.F) {
	f.Fuzz(func(t *testing.T, query string) {
		for _, path := range []string{"/v1/calms", "/v1/calms/rows"} {
			r := httptest.NewRequest("GET", path, nil)
			if strings.HasSuffix(path, "rows") {
				r = httptest.NewRequest("POST", path, strings.NewReader(`[{"length_mm": 3}]`))
				r.Header.Set("Content-Type", mediaJSON)
			}
			r.URL.RawQuery = query
			standing(t, r)
		}
	})
}

// FuzzHeaders: any headers that we read are taken or refused, for an answer,
// events and batches.
func FuzzHeaders(f *testing.F) {
	f.Fuzz(func(t *testing.T, accept, contentType, match, forwarded, id, origin string) {
		for _, path := range []string{"/v1/calms", "/v1/slows", "/v1/calms/rows"} {
			body := `{"length_mm": 3}`
			if strings.HasSuffix(path, "rows") {
				body = "[" + body + "]"
			}
			r := httptest.NewRequest("POST", path, strings.NewReader(body))
			for name, v := range map[string]string{"Accept": accept, "Content-Type": contentType, "X-Forwarded-For": forwarded, "X-Request-Id": id, "Origin": origin} {
				r.Header.Set(name, v)
			}
			standing(t, r)
		}
		r := httptest.NewRequest("GET", "/v1/calms?length_mm=3", nil)
		r.Header.Set("Accept", accept)
		r.Header.Set("If-None-Match", match)
		standing(t, r)
	})
}

// FuzzForm: any form is read, or refused; a file that is read has its length.
func FuzzForm(f *testing.F) {
	f.Fuzz(func(t *testing.T, boundary string, body []byte) {
		r := httptest.NewRequest("POST", "/v1/files", bytes.NewReader(body))
		r.Header.Set("Content-Type", "multipart/form-data; boundary="+boundary)
		w := standing(t, r)
		if w.Code != http.StatusOK {
			return
		}
		read, err := multipart.NewReader(bytes.NewReader(body), boundary).ReadForm(1 << 20)
		if err != nil {
			return // a part that the library's own reader of whole forms is stricter on
		}
		longest := 0
		for _, files := range read.File {
			for _, file := range files {
				longest = max(longest, int(file.Size))
			}
		}
		var answer filedOut
		require.NoError(t, json.Unmarshal(w.Body.Bytes(), &answer))
		require.LessOrEqual(t, answer.Length, longest)
	})
}

// FuzzRows: a batch of JSON comes back with as many rows, in order, whatever
// is in them.
func FuzzRows(f *testing.F) {
	f.Fuzz(func(t *testing.T, body string, lines bool) {
		r := httptest.NewRequest("POST", "/v1/calms/rows", strings.NewReader(body))
		r.Header.Set("Content-Type", mediaJSON)
		if lines {
			r.Header.Set("Content-Type", mediaNDJSON)
		}
		r.Header.Set("Accept", mediaJSON)
		w := standing(t, r)
		if w.Code != http.StatusOK {
			return
		}
		var answers []struct{ Row int }
		require.NoError(t, json.Unmarshal(w.Body.Bytes(), &answers))
		for i := range answers {
			require.Equal(t, i+1, answers[i].Row)
		}
		var sent []json.RawMessage
		if lines {
			for line := range strings.SplitSeq(body, "\n") {
				if strings.TrimSpace(line) != "" {
					sent = append(sent, nil)
				}
			}
		} else if json.Unmarshal([]byte(body), &sent) != nil {
			return // broken off midway; its last row says so
		}
		require.Len(t, answers, len(sent), w.Body)
	})
}

// FuzzWorkbook: any bytes are a workbook that is answered, or refused.
func FuzzWorkbook(f *testing.F) {
	f.Fuzz(answersBook)
}

// FuzzWorkbookParts: so is a package of any XML. Random changes to the bytes
// of an archive seldom come past its checksums.
func FuzzWorkbookParts(f *testing.F) {
	f.Fuzz(func(t *testing.T, sheet, texts, styles string) { answersBook(t, packed(t, sheet, texts, styles)) })
}

const packageHead = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>`

// packed is a workbook of one sheet with those parts.
func packed(t testing.TB, sheet, texts, styles string) []byte {
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, p := range [][2]string{
		{"[Content_Types].xml", `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>`},
		{"_rels/.rels", `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		{"xl/workbook.xml", `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="Orders" sheetId="1" r:id="r1"/></sheets></workbook>`},
		{"xl/_rels/workbook.xml.rels", `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="r2" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings" Target="sharedStrings.xml"/><Relationship Id="r3" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/styles" Target="styles.xml"/></Relationships>`},
		{"xl/worksheets/sheet1.xml", sheet}, {"xl/sharedStrings.xml", texts}, {"xl/styles.xml", styles},
	} {
		part, err := w.Create(p[0])
		require.NoError(t, err)
		_, err = fmt.Fprint(part, packageHead, p[1])
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	return b.Bytes()
}

// answersBook sends a workbook: it comes back whole, as a table, or refused.
func answersBook(t *testing.T, book []byte) {
	for _, target := range []string{"/v1/calms/rows", "/v1/calms/rows?format=csv"} {
		r := httptest.NewRequest("POST", target, bytes.NewReader(book))
		r.Header.Set("Content-Type", mediaXLSX)
		w := standing(t, r)
		if w.Code == http.StatusOK && w.Header().Get("Content-Type") == mediaXLSX {
			keeps(t, book, w.Body.Bytes())
		}
	}
}

// keeps checks that the answer opens and holds every cell that was sent,
// other than values of formulas, which are worked out anew.
func keeps(t *testing.T, sent, answered []byte) {
	before, err := excelize.OpenReader(bytes.NewReader(sent))
	require.NoError(t, err)
	after, err := excelize.OpenReader(bytes.NewReader(answered))
	require.NoError(t, err)
	sheet := before.GetSheetName(before.GetActiveSheetIndex())
	raw := excelize.Options{RawCellValue: true}
	rows, err := before.GetRows(sheet, raw)
	require.NoError(t, err)
	again, err := after.GetRows(sheet, raw)
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(again), len(rows))
	for i, row := range rows {
		for j, cell := range row {
			at, err := excelize.CoordinatesToCellName(j+1, i+1)
			require.NoError(t, err)
			if formula, err := before.GetCellFormula(sheet, at); err == nil && formula == "" && cell != "" {
				require.Less(t, j, len(again[i]), at)
				require.Equal(t, cell, again[i][j], at)
			}
		}
	}
}

// FuzzHashes: a file of keys is refused whole, or holds the hash of every line
// that is no remark.
func FuzzHashes(f *testing.F) {
	f.Fuzz(func(t *testing.T, file string) {
		hashes, err := readHashes(strings.NewReader(file))
		if err != nil {
			require.Empty(t, hashes)
			return
		}
		k := keys{hashes: hashes, read: time.Now()}
		for line := range strings.SplitSeq(file, "\n") {
			if words := strings.Fields(line); len(words) > 0 && words[0][0] != '#' {
				require.NotEmpty(t, hashes, line)
				require.Equal(t, strings.ToLower(words[0]), hex.EncodeToString(hashes[0][:]))
				hashes = hashes[1:]
			}
		}
		require.Empty(t, hashes)
		require.False(t, k.allows("a key that nobody hashed"))
	})
}

// FuzzNumberFormat: any number format is a look, and quoted text is none.
func FuzzNumberFormat(f *testing.F) {
	f.Fuzz(func(t *testing.T, code string, number int) {
		l := lookOf(&excelize.Style{CustomNumFmt: &code, NumFmt: number})
		require.Contains(t, []look{plainNumber, dateNumber, percentNumber}, l)
		quoted := `"` + strings.ReplaceAll(code, `"`, "") + `"`
		require.Equal(t, lookOf(&excelize.Style{NumFmt: 0}), lookOf(&excelize.Style{CustomNumFmt: &quoted}))
	})
}

// FuzzHeaderOfColumn: a column's head names an input, with a unit or without,
// or none, or is refused.
func FuzzHeaderOfColumn(f *testing.F) {
	e := newEndpoint(toy, class{})
	f.Fuzz(func(t *testing.T, head string) {
		fed, err := e.feedOf(head)
		if err == nil && fed.Leaf != nil {
			require.True(t, strings.HasPrefix(strings.TrimSpace(head), fed.Path), head)
		}
	})
}

package serve

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

// orderBook is a workbook as a studio might keep it: a title above the
// header, columns of its own, a date, a format, a second sheet with a formula
// and a chart.
func orderBook(t testing.TB) []byte {
	t.Helper()
	f := excelize.NewFile()
	bold, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}})
	require.NoError(t, err)
	for cell, v := range map[string]any{
		"A1": "Orders", "A3": "order", "B3": "width_mm", "C3": "length_mm", "D3": "due",
		"A4": "=evil", "B4": 2.5, "C4": 4, "D4": time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC),
		"A5": "B-2", "B5": "0.5 in", "C5": 10,
		"A7": "B-3", "C7": -4,
	} {
		require.NoError(t, f.SetCellValue("Sheet1", cell, v))
	}
	require.NoError(t, f.SetCellFormula("Sheet1", "B4", "5/2"))
	require.NoError(t, f.SetCellStyle("Sheet1", "A1", "A1", bold))
	_, err = f.NewSheet("Sums")
	require.NoError(t, err)
	require.NoError(t, f.SetCellFormula("Sums", "A1", "SUM(Sheet1!E4:E7)"))
	require.NoError(t, f.SetCellValue("Sums", "B1", 3))
	require.NoError(t, f.AddChart("Sums", "D2", &excelize.Chart{Type: excelize.Col, Series: []excelize.ChartSeries{{Name: "x", Values: "Sums!$A$1:$B$1"}}}))
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	return b.Bytes()
}

func postWorkbook(body []byte) *httptest.ResponseRecorder { return send(toyServer, "", body) }

func send(h http.Handler, options string, book []byte) *httptest.ResponseRecorder {
	r := httptest.NewRequest("POST", "/v1/toys/rows"+options, bytes.NewReader(book))
	r.Header.Set("Content-Type", mediaXLSX)
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func TestWorkbookKeepsWhatIsNotItsOwn(t *testing.T) {
	w := postWorkbook(orderBook(t))
	require.Equal(t, http.StatusOK, w.Code, w.Body)
	f, err := excelize.OpenReader(bytes.NewReader(w.Body.Bytes()))
	require.NoError(t, err)
	for cell, want := range map[string]string{
		"A1": "Orders", "A4": "=evil", "D4": "11-25-26",
		"E3": "area_mm2", "F3": "label", "G3": "cautions", "H3": "error",
		"E4": "10", "H4": "", "E5": "127", "E6": "", "E7": "",
	} {
		got, err := f.GetCellValue("Sheet1", cell)
		require.NoError(t, err)
		require.Equal(t, want, got, cell)
	}
	fault, err := f.GetCellValue("Sheet1", "H7")
	require.NoError(t, err)
	require.Contains(t, fault, "length_mm: give a number from 0 to 1000")

	for cell, want := range map[string]string{"A4": "", "B4": "5/2"} {
		formula, err := f.GetCellFormula("Sheet1", cell)
		require.NoError(t, err)
		require.Equal(t, want, formula, "text never becomes a formula, and a formula stays one")
	}
	formula, err := f.GetCellFormula("Sums", "A1")
	require.NoError(t, err)
	require.Equal(t, "SUM(Sheet1!E4:E7)", formula)
	style, err := f.GetCellStyle("Sheet1", "A1")
	require.NoError(t, err)
	look, err := f.GetStyle(style)
	require.NoError(t, err)
	require.True(t, look.Font.Bold)
	require.Contains(t, parts(f), "xl/charts/chart1.xml")
}

func parts(f *excelize.File) []string {
	var names []string
	f.Pkg.Range(func(name, _ any) bool {
		names = append(names, name.(string))
		return true
	})
	return names
}

// A sheet keeps every byte that is not an answer: what the library would not
// know how to write again too.
func TestWorkbookKeepsTheBytesOfItsSheet(t *testing.T) {
	f, err := excelize.OpenReader(bytes.NewReader(orderBook(t)))
	require.NoError(t, err)
	const sheet = "xl/worksheets/sheet1.xml"
	raw, _ := f.Pkg.Load(sheet)
	odd := strings.Replace(string(raw.([]byte)), "</worksheet>", `<extLst><ext uri="{ours}"><x:own xmlns:x="urn:x" a='1'/></ext></extLst></worksheet>`, 1)
	odd = strings.Replace(odd, `<row r="4">`, `<!-- kept --><row r="4" spans="1:4" custom="1">`, 1)
	f.Pkg.Store(sheet, []byte(odd))
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))

	w := postWorkbook(b.Bytes())
	require.Equal(t, http.StatusOK, w.Code, w.Body)
	f, err = excelize.OpenReader(w.Body)
	require.NoError(t, err)
	raw, _ = f.Pkg.Load(sheet)
	got := regexp.MustCompile(`<c r="[E-H]\d+".*?</c>`).ReplaceAllString(string(raw.([]byte)), "")
	want := strings.Replace(odd, ` spans="1:4"`, "", 1)
	want = regexp.MustCompile(`<dimension.*?</dimension>`).ReplaceAllString(want, "")
	require.Equal(t, want, got)
}

func TestWorkbookCellsSayWhatTheyShow(t *testing.T) {
	f := excelize.NewFile()
	look := func(cell, format string) {
		style, err := f.NewStyle(&excelize.Style{CustomNumFmt: &format})
		require.NoError(t, err)
		require.NoError(t, f.SetCellStyle("Sheet1", cell, cell, style))
	}
	for cell, v := range map[string]any{
		"A1": "length_mm (cm)", "B1": "name", "C1": "width_mm", "F2": "a note of mine",
		"A2": 2.5, "B2": time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC),
		"A3": "2,5", "B3": 0.5, "A4": 1, "C4": 0.12,
	} {
		require.NoError(t, f.SetCellValue("Sheet1", cell, v))
	}
	look("B3", `0.00 "y"[Red]`)
	look("C4", "0 %")
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	w := postWorkbook(b.Bytes())
	require.Equal(t, http.StatusOK, w.Code, w.Body)
	f, err := excelize.OpenReader(w.Body)
	require.NoError(t, err)
	for cell, want := range map[string]string{
		"F2": "a note of mine", "G1": "area_mm2", // right of everything
		"G2": "50", "H2": "2026-11-25", "J2": "", "H3": "", "G4": "",
	} {
		got, err := f.GetCellValue("Sheet1", cell)
		require.NoError(t, err)
		require.Equal(t, want, got, cell)
	}
	for cell, want := range map[string]string{"J3": "length_mm: write the decimals with a point", "J4": `width_mm: unit "%" is not known here`} {
		got, err := f.GetCellValue("Sheet1", cell)
		require.NoError(t, err)
		require.Contains(t, got, want)
	}
	for _, target := range []string{"?format=csv", "?format=json"} {
		w := send(toyServer, target, b.Bytes())
		require.Equal(t, http.StatusOK, w.Code, w.Body)
		require.Contains(t, w.Body.String(), "2026-11-25")
	}
}

func TestWorkbooksThatCannotBeRead(t *testing.T) {
	require.Equal(t, http.StatusBadRequest, postWorkbook([]byte("not a workbook")).Code)
	f := excelize.NewFile()
	require.NoError(t, f.SetCellValue("Sheet1", "A1", "nothing of ours"))
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	w := postWorkbook(b.Bytes())
	require.Equal(t, http.StatusUnprocessableEntity, w.Code)
	require.Contains(t, w.Body.String(), "length_mm, width_mm, name")
}

// repacked is a workbook with one part put in place of another.
func repacked(t testing.TB, part string, body io.Reader) []byte {
	book := orderBook(t)
	in, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	require.NoError(t, err)
	var b bytes.Buffer
	out := zip.NewWriter(&b)
	for _, f := range in.File {
		if f.Name == part {
			w, err := out.Create(part)
			require.NoError(t, err)
			_, err = io.Copy(w, body)
			require.NoError(t, err)
			continue
		}
		require.NoError(t, out.Copy(f))
	}
	require.NoError(t, out.Close())
	return b.Bytes()
}

func TestWorkbooksThatUnpackTooFarAreRefused(t *testing.T) {
	bomb := repacked(t, "xl/worksheets/sheet1.xml", io.LimitReader(endless{[]byte("<row/>")}, maxUnzipped+1))
	require.Less(t, len(bomb), 1<<20)
	w := postWorkbook(bomb)
	require.Equal(t, http.StatusRequestEntityTooLarge, w.Code)
	require.Contains(t, w.Body.String(), "unpacks to more than")

	// One that understates what it holds is cut off where it says it ends.
	at := bytes.LastIndex(bomb, []byte("xl/worksheets/sheet1.xml")) - 46
	binary.LittleEndian.PutUint32(bomb[at+24:], 1000)
	require.Equal(t, http.StatusUnprocessableEntity, postWorkbook(bomb).Code)
}

func TestSheetsInAnOddOrderAreAnswered(t *testing.T) {
	const rows = `<row r="1"><c r="A1" t="inlineStr"><is><t>length_mm</t></is></c></row><row r="2"><c r="A2"><v>3</v></c></row>`
	for _, sheet := range []string{
		`<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>` + rows + `</sheetData><dimension ref="A1"/></worksheet>`,
		`<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row/>` + strings.ReplaceAll(strings.ReplaceAll(strings.ReplaceAll(rows, "A2", "A3"), `r="2"`, `r="3"`), "1\"", "2\"") + `</sheetData></worksheet>`,
		`<x:worksheet xmlns:x="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><x:sheetData>` + strings.NewReplacer("</", "</x:", "<", "<x:").Replace(rows) + `</x:sheetData></x:worksheet>`,
	} {
		w := postWorkbook(repacked(t, "xl/worksheets/sheet1.xml", strings.NewReader(sheet)))
		require.Equal(t, http.StatusOK, w.Code, w.Body)
		f, err := excelize.OpenReader(w.Body)
		require.NoError(t, err)
		got := ""
		for _, cell := range []string{"B2", "B3"} {
			v, err := f.GetCellValue("Sheet1", cell)
			require.NoError(t, err)
			got += v
		}
		require.Equal(t, "6", strings.TrimPrefix(got, "area_mm2"), sheet)
	}
}

func TestBrokenSheetsAreRefused(t *testing.T) {
	for _, rows := range []string{
		`<row r="3"><c r="A3" t="inlineStr"><is><t>length_mm</t></is></c></row><row r="2"><c r="A2"><v>1</v></c></row>`,
		`<row r="1"><c r="A1" t="inlineStr"><is><t>length_mm</t></is></c></row><row r="2"><c r="A9"><v>1</v></c></row>`,
		`<row r="1"><c r="A1" t="inlineStr"><is><t>length_mm</t></is></c></row><row r="2"><c r="A2"><v>&unknown;</v></c></row>`,
		`<row r="1"><c r="A1" t="inlineStr"><is><t>length_mm</t></is></c></row><row r="9999999"/>`,
		`<row r="1"><c r="A1" t="inlineStr"><is><t>length_mm</t></is></c><c r="XFD1"><v>1</v></c></row>`,
	} {
		w := postWorkbook(repacked(t, "xl/worksheets/sheet1.xml", strings.NewReader(`<worksheet><sheetData>`+rows+`</sheetData></worksheet>`)))
		require.GreaterOrEqual(t, w.Code, 400, rows)
		require.Less(t, w.Code, 500, rows)
	}
}

func TestSheetsThatAreTooLongAreRefused(t *testing.T) {
	const head = `<worksheet><sheetData><row><c t="inlineStr"><is><t>length_mm</t></is></c></row>`
	sheet := head + strings.Repeat(`<row><c><v>3</v></c></row>`, maxSheetRows+1) + `</sheetData></worksheet>`
	w := postWorkbook(repacked(t, "xl/worksheets/sheet1.xml", strings.NewReader(sheet)))
	require.Equal(t, http.StatusRequestEntityTooLarge, w.Code)
	require.Contains(t, w.Body.String(), "send them in parts")
}

// Whatever the sheet, the places that the scanner notes are inside it and in
// order, so that a splice loses nothing but what it cuts.
func FuzzSheet(f *testing.F) {
	f.Add(`<row r="1"><c r="A1" t="inlineStr"><is><t>length_mm</t></is></c></row><row><c s="1"><f>1+1</f><v>2</v></c></row>`)
	f.Add(`<dimension ref="A1"/><row><c t="s"><v>3</v></c><c r="D1"><f/><v/></c></row><row r="9"/>`)
	f.Fuzz(func(t *testing.T, sheet string) {
		scanner, s := newSheetScanner([]byte(sheet)), &splice{raw: []byte(sheet)}
		var at, cut int64
		for {
			row, err := scanner.next()
			if err != nil {
				break
			}
			require.True(t, at <= row.tag.from && row.tag.from < row.tag.to && row.tag.to <= row.end && row.end <= int64(len(sheet)), "%+v", row)
			column := 0
			for _, c := range row.cells {
				require.Greater(t, c.column, column)
				column = c.column
				if c.formula && c.cached.to > 0 {
					require.True(t, row.tag.to <= c.cached.from && c.cached.from < c.cached.to && c.cached.to <= row.end, "%+v", c)
					s.cut(c.cached)
					cut += c.cached.to - c.cached.from
				}
			}
			at = row.end
		}
		require.Len(t, s.finish(), len(sheet)-int(cut))
	})
}

// BenchmarkWorkbook sets a batch in a workbook of 10,000 × 20 cells beside
// what the library takes to open it, add a column and save it.
func BenchmarkWorkbook(b *testing.B) {
	header, cells := "length_mm,width_mm", "1.5,2.5"
	for i := range 18 {
		header += ",own " + string(rune('A'+i))
		cells += fmt.Sprintf(",%d.5", i)
	}
	book := bookOf(b, header+"\n"+strings.Repeat(cells+"\n", benchRows))

	b.Run("pourwright", func(b *testing.B) {
		for b.Loop() {
			if w := postWorkbook(book); w.Code != http.StatusOK {
				b.Fatal(w.Code)
			}
		}
	})
	b.Run("excelize", func(b *testing.B) {
		for b.Loop() {
			f, err := excelize.OpenReader(bytes.NewReader(book))
			require.NoError(b, err)
			for i := range benchRows {
				at, _ := excelize.CoordinatesToCellName(21, i+2)
				require.NoError(b, f.SetCellValue("Sheet1", at, 1.5))
			}
			var out bytes.Buffer
			require.NoError(b, f.Write(&out))
		}
	})
}

// A workbook is read at the sheet that is named; the others stay as they are.
func TestNamedSheet(t *testing.T) {
	f := excelize.NewFile()
	require.NoError(t, f.SetSheetRow("Sheet1", "A1", &[]any{"to read", "first"}))
	_, err := f.NewSheet("Toys")
	require.NoError(t, err)
	require.NoError(t, f.SetSheetRow("Toys", "A1", &[]any{"length_mm", "width_mm"}))
	require.NoError(t, f.SetSheetRow("Toys", "A2", &[]any{3, 5}))
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	w := send(toyServer, "?sheet=Toys", b.Bytes())
	require.Equal(t, http.StatusOK, w.Code, w.Body)
	back, err := excelize.OpenReader(bytes.NewReader(w.Body.Bytes()))
	require.NoError(t, err)
	rows, err := back.GetRows("Toys")
	require.NoError(t, err)
	require.Equal(t, []string{"3", "5", "15"}, rows[1][:3])
	rows, err = back.GetRows("Sheet1")
	require.NoError(t, err)
	require.Equal(t, [][]string{{"to read", "first"}}, rows)

	for options, want := range map[string]string{"": "none of the first", "?sheet=Tyos": "give one of the workbook's sheets: Sheet1, Toys"} {
		w = send(toyServer, options, b.Bytes())
		require.Equal(t, http.StatusUnprocessableEntity, w.Code)
		require.Contains(t, w.Body.String(), want)
	}
	w = ask(t, "POST", "/v1/toys/rows?sheet=Toys", "length_mm\n3\n", "Content-Type", "text/csv")
	require.Equal(t, http.StatusUnprocessableEntity, w.Code)
	require.Contains(t, w.Body.String(), "only a workbook has sheets")
}

// A workbook under a password is a compound file (MS-CFB) and no archive.
func TestWorkbookUnderAPassword(t *testing.T) {
	f := excelize.NewFile()
	require.NoError(t, f.SetSheetRow("Sheet1", "A1", &[]any{"length_mm"}))
	var b bytes.Buffer
	require.NoError(t, f.Write(&b, excelize.Options{Password: "secret"}))
	w := postWorkbook(b.Bytes())
	require.Equal(t, http.StatusBadRequest, w.Code)
	require.Contains(t, w.Body.String(), "password")
	for cut := 0; cut < b.Len(); cut += 97 { // and broken anywhere it is refused all the same
		require.Equal(t, http.StatusBadRequest, postWorkbook(b.Bytes()[:cut]).Code, cut)
	}
}

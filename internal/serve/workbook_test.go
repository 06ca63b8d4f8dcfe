package serve

import (
	"bytes"
	"net/http"
	"net/http/httptest"
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

func postWorkbook(body []byte) *httptest.ResponseRecorder {
	r := httptest.NewRequest("POST", "/v1/toys/rows", bytes.NewReader(body))
	r.Header.Set("Content-Type", mediaXLSX)
	w := httptest.NewRecorder()
	toyServer.ServeHTTP(w, r)
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

// BenchmarkWorkbook sets a batch in a workbook of 10,000 × 20 cells beside
// what the library takes to open it, add a column and save it.
func BenchmarkWorkbook(b *testing.B) {
	f := excelize.NewFile()
	s, err := f.NewStreamWriter("Sheet1")
	require.NoError(b, err)
	header := []any{"length_mm", "width_mm"}
	for i := range 18 {
		header = append(header, "own "+string(rune('A'+i)))
	}
	require.NoError(b, s.SetRow("A1", header))
	for i := range 10000 {
		cells := make([]any, 20)
		for j := range cells {
			cells[j] = float64(j) + 0.5
		}
		at, _ := excelize.CoordinatesToCellName(1, i+2)
		require.NoError(b, s.SetRow(at, cells))
	}
	require.NoError(b, s.Flush())
	var book bytes.Buffer
	require.NoError(b, f.Write(&book))

	b.Run("pourwright", func(b *testing.B) {
		for b.Loop() {
			if w := postWorkbook(book.Bytes()); w.Code != http.StatusOK {
				b.Fatal(w.Code)
			}
		}
	})
	b.Run("excelize", func(b *testing.B) {
		for b.Loop() {
			f, err := excelize.OpenReader(bytes.NewReader(book.Bytes()))
			require.NoError(b, err)
			for i := range 10000 {
				at, _ := excelize.CoordinatesToCellName(21, i+2)
				require.NoError(b, f.SetCellValue("Sheet1", at, 1.5))
			}
			var out bytes.Buffer
			require.NoError(b, f.Write(&out))
		}
	})
}

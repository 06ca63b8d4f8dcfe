package workbook

import (
	"bytes"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"pourwright/api"
	"pourwright/internal/wire"
)

func open(t *testing.T, book []byte) *excelize.File {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(book))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, f.Close()) })
	return f
}

func TestTheCommittedWorkbookIsThatOfTheProgram(t *testing.T) {
	committed, err := os.ReadFile("../../docs/starter-workbook.xlsx")
	require.NoError(t, err)
	made, err := Build(Address)
	require.NoError(t, err)
	was, is := open(t, committed), open(t, made)
	n := 0
	is.Pkg.Range(func(name, part any) bool {
		old, _ := was.Pkg.Load(name)
		require.Equal(t, string(part.([]byte)), string(old.([]byte)), "%s differs; run make workbook", name)
		n++
		return true
	})
	require.Greater(t, n, 5)
}

func TestTheSameAddressGivesTheSameBytes(t *testing.T) {
	one, err := Build("http://studio.example:8080")
	require.NoError(t, err)
	two, err := Build("http://studio.example:8080")
	require.NoError(t, err)
	require.True(t, bytes.Equal(one, two))
	at, err := open(t, one).GetCellValue("Start", "B3")
	require.NoError(t, err)
	require.Equal(t, "http://studio.example:8080", at)
}

// Limits of spreadsheets (Microsoft, "Excel specifications and limits"):
// 8192 characters a formula, 255 a text in it. From memory.
const maxFormula, maxText = 8192, 255

func formulas(t *testing.T, each func(sheet, cell, formula string)) {
	made, err := Build(Address)
	require.NoError(t, err)
	f := open(t, made)
	for _, sheet := range f.GetSheetList() {
		for row := range 60 {
			for column := range 26 {
				cell, err := excelize.CoordinatesToCellName(column+1, row+1)
				require.NoError(t, err)
				formula, err := f.GetCellFormula(sheet, cell)
				require.NoError(t, err)
				if formula != "" {
					each(sheet, cell, formula)
				}
			}
		}
	}
}

func TestFormulasAreOnesThatSpreadsheetsTake(t *testing.T) {
	text := regexp.MustCompile(`"[^"]*"`)
	newer := regexp.MustCompile(`[A-Z_a-z.]*(WEBSERVICE|NUMBERVALUE|ENCODEURL)\(`)
	count := map[string]int{}
	formulas(t, func(sheet, cell, formula string) {
		count[sheet]++
		require.LessOrEqual(t, len(formula), maxFormula, "%s.%s", sheet, cell)
		for _, s := range text.FindAllString(formula, -1) {
			require.LessOrEqual(t, len(s), maxText+2, "%s.%s", sheet, cell)
		}
		for _, call := range newer.FindAllString(formula, -1) {
			require.True(t, strings.HasPrefix(call, "_xlfn."), "%s.%s: %s", sheet, cell, call)
		}
		require.NotContains(t, formula, "http", "the address stands in one cell")
	})
	require.Equal(t, 7*Enquiries, count["Quotes"], "of each a question, its answer, four prices and what is wrong")
	for _, sheet := range []string{"Start", "Order", "Sizes", "Melt"} {
		require.NotZero(t, count[sheet], sheet)
	}
}

func TestEveryQuestionIsOfACalculationThatGETAnswers(t *testing.T) {
	asks := regexp.MustCompile(`/v1/([a-z-]+)\?`)
	flat := map[string]bool{}
	for _, c := range api.All {
		flat[c.Info().Name] = wire.ShapeOf(c.In()).Flat()
	}
	asked := map[string]bool{}
	formulas(t, func(sheet, cell, formula string) {
		for _, name := range asks.FindAllStringSubmatch(formula, -1) {
			asked[name[1]] = true
			require.True(t, flat[name[1]], "%s.%s asks %s, which takes a JSON body only", sheet, cell, name[1])
		}
	})
	require.Contains(t, asked, "fills")
}

// TestEachQuestionIsFetchedOnce: a row that asked once for each price would spend
// a client's requests of a minute on a few changes.
func TestEachQuestionIsFetchedOnce(t *testing.T) {
	fetches, questions := map[string]int{}, map[string]int{}
	formulas(t, func(sheet, cell, formula string) {
		fetches[sheet] += strings.Count(formula, "WEBSERVICE(")
		questions[sheet] += strings.Count(formula, "/v1/")
	})
	require.Equal(t, map[string]int{"Start": 1, "Order": 5, "Quotes": Enquiries, "Sizes": 12, "Melt": 1}, fetches)
	require.Equal(t, fetches, questions)
}

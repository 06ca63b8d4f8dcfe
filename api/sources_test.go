package api_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pourwright/internal/calc"
)

var (
	// A year, the number of a standard or patent, or a handbook known by its title.
	namesASource = regexp.MustCompile(`\b(1[5-9]|20)\d\d\b|\b(ISO|EN|JIS|ASTM|AWS|GOST|UNS|CFR|patent|US|GB) ?[A-Z]?\d|[A-Z][\w.]* (of|Act|Handbook|Assay|Commission|Center|Convention|Digest)\b|Handbook|handbook|\b(sec|ch|table)\. ?\d|Euclid|Rowlett|article Ring size|Fundamentals|How Many|Metallurgy|Formulas|Incropera|IUPAC|Feingehaltsgesetz|Hallmarking Convention|Finnish safety`)
	namesNobody  = regexp.MustCompile(`a supplier|trade press|trade range|'s published chart|public (property pages|tables)|retail charts|as collected|dealers'|handbooks:|a reference page|data base of|data sheet`)
)

// requireNamed holds a source that counts as read to a name that another can look up.
func requireNamed(t *testing.T, where string, s calc.Source) {
	t.Helper()
	if s.Status != calc.Confirmed {
		return
	}
	require.Regexp(t, namesASource, s.Text, "%s: %s is confirmed by a source without a name", where, s.For)
	require.NotRegexp(t, namesNobody, s.Text, "%s: %s is confirmed by nobody that can be asked", where, s.For)
}

func TestNoConfirmedSourceIsNameless(t *testing.T) {
	line := regexp.MustCompile(`Text: +("(?:[^"\\]|\\.)*"), Status: calc\.Confirmed`)
	found := 0
	err := filepath.WalkDir("../internal", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		body, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		for _, m := range line.FindAllStringSubmatch(string(body), -1) {
			text, err := strconv.Unquote(m[1])
			require.NoError(t, err)
			found++
			requireNamed(t, path, calc.Source{For: text, Text: text, Status: calc.Confirmed})
		}
		return nil
	})
	require.NoError(t, err)
	require.Greater(t, found, 30, "the tables of sources are not where this test looks")
}

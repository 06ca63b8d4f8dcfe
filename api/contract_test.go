package api_test

import (
	"compress/gzip"
	"encoding/json"
	"io"
	"maps"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/andybalholm/brotli"
	"github.com/stretchr/testify/require"

	"pourwright/api"
)

// contractOnWire and contractAsBrotli bound the compressed contract, in bytes.
const contractOnWire, contractAsBrotli = 120_000, 90_000

func contract(t *testing.T, version string) map[string]any {
	text, err := server.Contract(version, "json")
	require.NoError(t, err)
	var doc map[string]any
	require.NoError(t, json.Unmarshal(text, &doc))
	return doc
}

// walk calls f with each object of the contract but examples.
func walk(v any, at string, f func(at string, object map[string]any)) {
	switch v := v.(type) {
	case map[string]any:
		f(at, v)
		for _, key := range slices.Sorted(maps.Keys(v)) {
			if key != "example" && key != "value" && key != "examples" {
				walk(v[key], at+"/"+key, f)
			}
		}
	case []any:
		for _, item := range v {
			walk(item, at, f)
		}
	}
}

// TestContractSuitsGenerators holds the contract to what generators stumble over.
func TestContractSuitsGenerators(t *testing.T) {
	for _, version := range []string{"3.1", "3.0"} {
		answers := 0
		walk(contract(t, version), "", func(at string, o map[string]any) {
			if d, ok := o["description"].(string); ok && !strings.HasSuffix(d, ".") {
				t.Errorf("%s: %q does not end with a full stop", at, d)
			}
			if kind, _ := o["type"].(string); (kind == "number" || kind == "integer") && o["format"] == nil {
				t.Errorf("%s is a number without a format", at)
			}
			if kind, _ := o["type"].(string); kind != "" && o["default"] != nil {
				t.Errorf("%s has a default, of which generators make a required field", at)
			}
			if content, ok := o["content"].(map[string]any); ok && strings.HasSuffix(at, "/responses/200") {
				answers++
				if len(content) != 1 {
					t.Errorf("%s has %d media types; a generated client then has no one type for it", at, len(content))
				}
			}
		})
		require.Greater(t, answers, 2*len(api.All))
	}
}

func TestContractIsSmallOnTheWire(t *testing.T) {
	plain := send("GET", "/openapi.json", "", nil)
	require.Empty(t, plain.Header().Get("Content-Encoding"))
	tags := map[string]bool{plain.Header().Get("ETag"): true}
	for _, c := range []struct {
		accept, encoding string
		most             int
		unpack           func(io.Reader) (io.Reader, error)
	}{
		{"gzip, deflate", "gzip", contractOnWire, func(r io.Reader) (io.Reader, error) { return gzip.NewReader(r) }},
		{"gzip, deflate, br", "br", contractAsBrotli, func(r io.Reader) (io.Reader, error) { return brotli.NewReader(r), nil }},
	} {
		r := httptest.NewRequest("GET", "/openapi.json", nil)
		r.Header.Set("Accept-Encoding", c.accept)
		w := httptest.NewRecorder()
		server.ServeHTTP(w, r)
		require.Equal(t, c.encoding, w.Header().Get("Content-Encoding"))
		require.Less(t, w.Body.Len(), c.most)
		z, err := c.unpack(w.Body)
		require.NoError(t, err)
		packed, err := io.ReadAll(z)
		require.NoError(t, err)
		require.Equal(t, plain.Body.Bytes(), packed)
		tag := w.Header().Get("ETag")
		require.False(t, tags[tag], "other bytes, another tag")
		tags[tag] = true

		for _, match := range []string{tag, "W/" + tag, `"x", ` + tag} {
			again := httptest.NewRecorder()
			r.Header.Set("If-None-Match", match)
			server.ServeHTTP(again, r)
			require.Equal(t, 304, again.Code, match)
			require.Zero(t, again.Body.Len())
		}
	}
}

// names are those under /v1: calculations, catalogues and the workbook.
func names() map[string]bool {
	known := map[string]bool{"workbook": true}
	for _, c := range api.All {
		known[c.Info().Name] = true
	}
	for _, c := range api.Collections {
		known[c.Info().Name] = true
	}
	return known
}

var (
	pathNamed     = regexp.MustCompile(`/v1/([a-z]+(?:-[a-z]+)*)`)
	questionNamed = regexp.MustCompile(`question\([^,]+, "([a-z-]+)"`)
)

// TestDocumentsNameEveryCalculation holds the table of the README against the
// list of calculations, and whatever else names an endpoint against what there is.
func TestDocumentsNameEveryCalculation(t *testing.T) {
	readme, err := os.ReadFile("../README.md")
	require.NoError(t, err)
	_, table, ok := strings.Cut(string(readme), "## What it answers")
	require.True(t, ok)
	table, _, _ = strings.Cut(table, "\n## ")
	listed := map[string]bool{"workbook": true}
	for _, m := range pathNamed.FindAllStringSubmatch(table, -1) {
		listed[m[1]] = true
	}
	require.Equal(t, slices.Sorted(maps.Keys(names())), slices.Sorted(maps.Keys(listed)), "README.md, What it answers")

	for _, pattern := range []string{"../README.md", "../docs/*.md", "../docs/theory/*.md", "../docs/*.html", "../internal/web/page/*", "../internal/workbook/*.go"} {
		files, err := filepath.Glob(pattern)
		require.NoError(t, err)
		require.NotEmpty(t, files, pattern)
		for _, file := range files {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			for _, expression := range []*regexp.Regexp{pathNamed, questionNamed} {
				for _, m := range expression.FindAllSubmatch(text, -1) {
					require.True(t, names()[string(m[1])], "%s asks /v1/%s, which nothing answers", file, m[1])
				}
			}
		}
	}
}

// TestDocsIndexIsWhole: every page of the documentation stands in its index.
func TestDocsIndexIsWhole(t *testing.T) {
	index, err := os.ReadFile("../docs/README.md")
	require.NoError(t, err)
	for _, pattern := range []string{"../docs/*.md", "../docs/theory/*.md"} {
		files, err := filepath.Glob(pattern)
		require.NoError(t, err)
		for _, file := range files {
			page, err := filepath.Rel("../docs", file)
			require.NoError(t, err)
			if page != "README.md" {
				require.Contains(t, string(index), "("+page+")")
			}
		}
	}
	for _, m := range regexp.MustCompile(`\]\(([^)#:]+)\)`).FindAllSubmatch(index, -1) {
		require.FileExists(t, "../docs/"+string(m[1]))
	}
}

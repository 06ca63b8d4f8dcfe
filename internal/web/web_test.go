package web

import (
	"compress/gzip"
	"io"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func get(path string, header ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(http.MethodGet, path, nil)
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	Page().ServeHTTP(w, r)
	return w
}

func TestPageAndItsFiles(t *testing.T) {
	page := get("/")
	require.Equal(t, http.StatusOK, page.Code)
	require.Equal(t, policy, page.Header().Get("Content-Security-Policy"))
	require.NotContains(t, policy, "unsafe")
	weight := 0
	for _, m := range regexp.MustCompile(`(?:src|href)="(/page/[^"]+)"`).FindAllStringSubmatch(page.Body.String(), -1) {
		w := get(m[1], "Accept-Encoding", "gzip")
		require.Equal(t, http.StatusOK, w.Code, m[1])
		weight += w.Body.Len()
		z, err := gzip.NewReader(w.Body)
		require.NoError(t, err)
		packed, err := io.ReadAll(z)
		require.NoError(t, err)
		require.Equal(t, get(m[1]).Body.String(), string(packed), "plain and packed are one")
	}
	require.Less(t, weight+get("/", "Accept-Encoding", "gzip").Body.Len(), 150_000, "bytes on the wire, with no help from a cache")
	require.Equal(t, http.StatusNotFound, get("/page/none.js").Code)
}

func TestNothingInlineNothingFromElsewhere(t *testing.T) {
	html := get("/").Body.String()
	require.NotRegexp(t, `<style|<script>|\son[a-z]+=|\sstyle=|javascript:`, html)
	require.NotRegexp(t, `(src|href)="https?:`, html)
}

func TestUnchangedFilesAreNotSentAgain(t *testing.T) {
	first := get("/page/style.css")
	again := get("/page/style.css", "If-None-Match", first.Header().Get("ETag"))
	require.Equal(t, http.StatusNotModified, again.Code)
	require.Zero(t, again.Body.Len())
	require.NotEqual(t, first.Header().Get("ETag"), get("/page/style.css", "Accept-Encoding", "gzip").Header().Get("ETag"))
}

// Entries say what the contract says: the words, units and choices come from
// the same tags.
func TestEntriesComeFromTheTags(t *testing.T) {
	a := find("pieces[].head.thickness_mm", "Thickness")
	require.Equal(t, "head.thickness_mm", a.Name)
	require.Equal(t, "mm", a.Unit)
	require.True(t, a.Number)
	require.NotEmpty(t, a.Hint)
	a = find("pieces[].stones[].at_pct", "Place")
	require.Equal(t, "at_pct", a.Name)
	require.Equal(t, "25", a.Default)
	require.Len(t, find("pieces[].mould.posture", "Flask").Options, 2)
	require.Panics(t, func() { find("pieces[].no_such_field", "") })
	require.Equal(t, "X-ray", words("xray"))
	require.Equal(t, "Half round", words("half_round"))
	html := string(field("pieces[].name", `<b>"`))
	require.NotContains(t, html, "<b>", "labels are escaped")
	require.Equal(t, 1, strings.Count(html, "<label>"))
}

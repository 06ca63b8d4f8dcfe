package serve

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestPreferredMediaTypes(t *testing.T) {
	offered := []string{mediaJSON, mediaCSV, "image/svg+xml"}
	for _, c := range []struct{ accept, want string }{
		{"*/*", mediaJSON}, {"*", mediaJSON}, {"text/*", mediaCSV}, {"image/*, text/*;q=0.9", "image/svg+xml"},
		{"text/csv", mediaCSV}, {"Text/CSV ; q=1", mediaCSV}, {"text/csv;q=0.5, application/json;q=0.4", mediaCSV},
		{"text/csv, application/json", mediaJSON}, {"text/csv;header=present;q=0.9, */*;q=0.1", mediaCSV},
		{"application/json;q=0, */*", mediaCSV}, {"*/*;q=0", ""}, {"application/json;q=0", ""},
		{"text/html, */*;q=0.1", mediaJSON}, {"application/pdf", ""}, {"", ""}, {",;", ""},
		{"application/json;q", mediaJSON}, {"application/json;q=", ""}, {"application/json;q=NaN, text/csv;q=2", ""},
	} {
		require.Equal(t, c.want, preferred(c.accept, offered), c.accept)
	}
}

package cli

import (
	"bytes"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestContractIsCommitted holds the files under openapi/ against the program;
// make openapi writes them.
func TestContractIsCommitted(t *testing.T) {
	for version, file := range map[string]string{"3.1": "openapi.yaml", "3.0": "openapi-3.0.yaml"} {
		var written bytes.Buffer
		require.NoError(t, openapiCommand(t.Context(), []string{"--format", version}, nil, &written, os.Stderr))
		committed, err := os.ReadFile("../../openapi/" + file)
		require.NoError(t, err)
		if !bytes.Equal(written.Bytes(), committed) {
			t.Errorf("openapi/%s is not what the program writes: run make openapi", file)
		}
	}
}

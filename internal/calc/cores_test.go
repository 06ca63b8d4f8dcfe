package calc

import (
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestCores(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(4))
	ctx := t.Context()
	require.Equal(t, 4, Cores(ctx))
	require.Equal(t, 2, Cores(WithCores(ctx, 2)))
	require.Equal(t, 1, Cores(WithCores(ctx, 0)))
	require.Equal(t, 4, Cores(WithCores(ctx, 100)))
}

// TestCalculationsAskTheContextForCores: one that asked the machine would take
// the cores of every other place.
func TestCalculationsAskTheContextForCores(t *testing.T) {
	allowed := map[string]bool{"../calc/cores.go": true, "../serve": true} // serve shares the cores out
	require.NoError(t, filepath.WalkDir("..", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") || allowed[path] || allowed[filepath.Dir(path)] {
			return err
		}
		source, err := os.ReadFile(path)
		require.NoError(t, err)
		require.NotRegexp(t, `runtime\.(GOMAXPROCS|NumCPU)\(`, string(source), path)
		return nil
	}))
}

package fuzz

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// fewest and largest bound the committed inputs of a target: enough to hold
// each kind of malformed input, small enough to be read. In files and bytes.
const (
	fewest  = 10
	largest = 4 << 10
)

// TestEveryTargetHasInputs: without committed inputs a target tests nothing
// when it is not being fuzzed.
func TestEveryTargetHasInputs(t *testing.T) {
	target, targets := regexp.MustCompile(`(?m)^func (Fuzz\w+)\(f \*testing\.F\)`), 0
	require.NoError(t, filepath.WalkDir("../..", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		source, err := os.ReadFile(path)
		for _, found := range target.FindAllSubmatch(source, -1) {
			targets++
			inputs, err := os.ReadDir(filepath.Join(filepath.Dir(path), "testdata", "fuzz", string(found[1])))
			require.NoError(t, err)
			require.GreaterOrEqual(t, len(inputs), fewest, "%s", found[1])
			for _, input := range inputs {
				info, err := input.Info()
				require.NoError(t, err)
				require.LessOrEqual(t, info.Size(), int64(largest), "%s/%s", found[1], input.Name())
			}
		}
		return err
	}))
	require.Greater(t, targets, 20)
}

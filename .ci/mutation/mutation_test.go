package main

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// sample has one formula that its test holds and one that it does not.
var sample = map[string]string{
	"go.mod": "module sample\n\ngo 1.26\n",
	"area/area.go": `package area

func Rectangle(a, b float64) float64 { return a * b }

func Untested(a, b float64) float64 { return a * b }
`,
	"area/area_test.go": `package area

import "testing"

func TestRectangle(t *testing.T) {
	if Rectangle(2, 3) != 6 {
		t.Fatal()
	}
}

func TestGolden(t *testing.T) {
	if Untested(2, 3) != 6 {
		t.Fatal()
	}
}
`,
}

func inSample(t *testing.T) {
	dir := t.TempDir()
	for name, text := range sample {
		require.NoError(t, os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o755))
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	t.Chdir(dir)
}

func TestTellsWhatNoTestNotices(t *testing.T) {
	inSample(t)
	p, err := load("./area")
	require.NoError(t, err)
	require.Equal(t, 3, p.lines)
	require.Len(t, p.sites, 2)
	r := runner{work: t.TempDir(), tests: []string{"./area"}}
	require.NoError(t, r.baseline(context.Background()))
	for _, m := range p.draw(1, 1, 0) {
		got, err := r.run(context.Background(), p, m)
		require.NoError(t, err)
		require.Equal(t, map[int]fate{3: killed, 5: lives}[m.line], got, m)
	}
	text, err := os.ReadFile("area/area.go")
	require.NoError(t, err)
	require.Equal(t, sample["area/area.go"], string(text), "the tree stays as it is")
}

func TestDrawsTheSameOfASeed(t *testing.T) {
	inSample(t)
	p, err := load("./area")
	require.NoError(t, err)
	require.Equal(t, p.draw(5, 1, 0), p.draw(5, 1, 0))
	require.Len(t, p.draw(5, 1, 1), 1)
}

func TestEquivalentMutantsNeedAReason(t *testing.T) {
	path := filepath.Join(t.TempDir(), "list")
	require.NoError(t, os.WriteFile(path, []byte("# list\na.go | * -> / | x := a * b | b is 1\n"), 0o600))
	known, err := readEquivalent(path)
	require.NoError(t, err)
	require.True(t, known[mutant{site: site{name: "p/a.go", was: "*", text: "x := a * b"}, becomes: "/"}.key()])
	require.NoError(t, os.WriteFile(path, []byte("a.go | * -> / | x := a * b\n"), 0o600))
	_, err = readEquivalent(path)
	require.Error(t, err)
}

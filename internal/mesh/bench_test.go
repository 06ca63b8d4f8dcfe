package mesh

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/require"
)

// A bangle of one million triangles: 50 MB of STL.
func million(b *testing.B) []byte {
	var file bytes.Buffer
	require.NoError(b, Torus(30, 2.5, 2000, 250).WriteSTL(&file, "torus"))
	return file.Bytes()
}

// BenchmarkMillion reads, welds, pairs and checks a million triangles and
// takes volume, area and centre; memory is that of the whole, per triangle.
func BenchmarkMillion(b *testing.B) {
	file := million(b)
	b.SetBytes(int64(len(file)))
	b.ReportAllocs()
	for b.Loop() {
		var p Pattern
		require.NoError(b, p.ReadBody(bytes.NewReader(file)))
		c := &Checked{Mesh: p.body, perUnit: 1}
		require.NoError(b, c.check(b.Context(), "body"))
	}
}

func BenchmarkMillionReadOnly(b *testing.B) {
	file := million(b)
	b.SetBytes(int64(len(file)))
	for b.Loop() {
		_, _, err := Read(bytes.NewReader(file), "body")
		require.NoError(b, err)
	}
}

// BenchmarkMillionCopy is the least that any reader does: one pass over the bytes.
func BenchmarkMillionCopy(b *testing.B) {
	file := million(b)
	to := make([]byte, len(file))
	b.SetBytes(int64(len(file)))
	for b.Loop() {
		copy(to, file)
	}
}

func BenchmarkMillionEverything(b *testing.B) {
	file := million(b)
	for b.Loop() {
		var p Pattern
		require.NoError(b, p.ReadBody(bytes.NewReader(file)))
		_, err := Measure(b.Context(), In{Pattern: p, Thickness: true})
		require.NoError(b, err)
	}
}

package mesh

import (
	"bytes"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// FuzzRead: whatever is read can be written and read again to the same mesh,
// and measuring it answers or refuses. The seeds are in testdata/fuzz/FuzzRead.
func FuzzRead(f *testing.F) {
	seeds, err := os.ReadDir("testdata/fuzz/FuzzRead")
	require.NoError(f, err)
	require.NotEmpty(f, seeds)
	f.Fuzz(func(t *testing.T, file []byte) {
		m, _, err := Read(bytes.NewReader(file), "stl")
		if err != nil {
			require.Nil(t, m)
			return
		}
		var again bytes.Buffer
		require.NoError(t, m.WriteSTL(&again, "again"))
		twin, _, err := Read(&again, "stl")
		require.NoError(t, err)
		require.Len(t, twin.T, len(m.T))
		for i := range m.T { // corners may be numbered otherwise
			for k := range 3 {
				require.Equal(t, m.V[m.T[i][k]], twin.V[twin.T[i][k]])
			}
		}
		if len(m.T) < 500 {
			_, _ = Measure(t.Context(), In{Pattern: Of(m), Thickness: true})
		}
	})
}

package heat

import (
	"context"
	"encoding/json"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"
)

// The same question has the same answer, to the byte, on one core and on three.
func TestSameOnAnyCores(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	var answers []string
	for _, cores := range []int{1, 3} {
		runtime.GOMAXPROCS(cores)
		in := band(12, 0.6, at(0, 2, 3))
		in.FillS = 0.4
		out, err := Freeze(context.Background(), in)
		require.NoError(t, err)
		text, err := json.Marshal(out)
		require.NoError(t, err)
		answers = append(answers, string(text))
	}
	require.Equal(t, answers[0], answers[1])
}

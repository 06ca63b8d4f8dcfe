package serve

import (
	"context"
	"io"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
)

// TestASlowReaderOfEventsHoldsNoPlace: it reads nothing of more progress than
// any buffer between holds, and the calculation ends and gives its place back.
func TestASlowReaderOfEventsHoldsNoPlace(t *testing.T) {
	ended := make(chan struct{})
	telling := calc.Define(calc.Info{Name: "tells", Subject: "Toys", Summary: "Tell", Heavy: true},
		[]calc.Example{calc.Sample("tell", "Tell", `{"for_s": 1}`)},
		func(ctx context.Context, in waitIn) (waitOut, error) {
			for range 1000 {
				calc.Progress(ctx, 0.5, strings.Repeat("x", 1<<16))
			}
			close(ended)
			return waitOut{true, calc.Noting(ctx)}, nil
		})
	s := must(New(testSettings(), []calc.Calculation{telling}, nil))
	live := httptest.NewServer(s)
	t.Cleanup(live.Close) // when the hostile connection has been closed
	conn := dialed(t, live.URL)
	body := `{"for_s": 1}`
	_, err := io.WriteString(conn, "POST /v1/tells HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nAccept: "+mediaEvents+"\r\nContent-Length: 12\r\n\r\n"+body)
	require.NoError(t, err)
	<-ended
}

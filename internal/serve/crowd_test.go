package serve

import (
	"io"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
)

// TestIdleConnectionsKeepNobodyOut: a server of ten connections is full of
// silent ones, and a request still comes through.
func TestIdleConnectionsKeepNobodyOut(t *testing.T) {
	s := must(New(testSettings(), []calc.Calculation{toy}, nil))
	crowd := newCrowd(10)
	live := httptest.NewUnstartedServer(s)
	live.Config.ConnState = crowd.changed
	live.Start()
	t.Cleanup(live.Close)
	first := dialed(t, live.URL)
	for range 30 {
		dialed(t, live.URL)
	}
	r, err := http.Get(live.URL + "/v1/toys?length_mm=3")
	require.NoError(t, err)
	require.NoError(t, r.Body.Close())
	require.Equal(t, 200, r.StatusCode)
	_, err = first.Read(make([]byte, 1))
	require.ErrorIs(t, err, io.EOF, "the one that was idle longest is closed")
	crowd.lock.Lock()
	defer crowd.lock.Unlock()
	require.LessOrEqual(t, len(crowd.all), 10)
}

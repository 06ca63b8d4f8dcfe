package serve

import (
	"bufio"
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

// TestRefusedBodiesKeepNobodyOut: connections that were answered 413 and wait
// for their end, half a second each, give way to new ones.
func TestRefusedBodiesKeepNobodyOut(t *testing.T) {
	s := must(New(testSettings(), []calc.Calculation{toy}, nil))
	crowd := newCrowd(10)
	live := httptest.NewUnstartedServer(crowd.watched(s))
	live.Config.ConnState, live.Config.ConnContext = crowd.changed, crowd.known
	live.Start()
	t.Cleanup(live.Close)
	for range 40 {
		conn := dialed(t, live.URL)
		_, err := io.WriteString(conn, "POST /v1/toys HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 900000000\r\n\r\n{")
		require.NoError(t, err)
		answer, err := http.ReadResponse(bufio.NewReader(conn), nil)
		require.NoError(t, err, "a new connection is not the one that is closed")
		require.NoError(t, answer.Body.Close())
		require.Equal(t, 413, answer.StatusCode)
		crowd.lock.Lock()
		require.LessOrEqual(t, len(crowd.all), 10)
		crowd.lock.Unlock()
	}
}

package cli

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestHealthAsksWhetherTheServerIsReady(t *testing.T) {
	status := http.StatusOK
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		require.Equal(t, "/readyz", r.URL.Path)
		w.WriteHeader(status)
	}))
	_, port, _ := strings.Cut(strings.TrimPrefix(server.URL, "http://"), ":")
	health := func(addr string) int {
		return Run(context.Background(), []string{"health"}, func(string) string { return addr }, io.Discard, io.Discard)
	}
	require.Equal(t, 0, health("127.0.0.1:"+port))
	require.Equal(t, 0, health("0.0.0.0:"+port), "a server on all addresses is asked on this one")
	status = http.StatusServiceUnavailable
	require.Equal(t, 1, health("127.0.0.1:"+port))
	server.Close()
	require.Equal(t, 1, health("127.0.0.1:"+port))
}

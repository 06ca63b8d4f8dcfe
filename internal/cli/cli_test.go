package cli

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func noEnv(string) string { return "" }

// TestDemoPrintsThePlan also holds the README's shortened answer to the
// demo's own. When the model moves, the README moves with it, on purpose.
func TestDemoPrintsThePlan(t *testing.T) {
	if testing.Short() {
		t.Skip("works a whole order out")
	}
	var out, problems bytes.Buffer
	require.Equal(t, 0, Run(context.Background(), []string{"demo"}, noEnv, &out, &problems), problems.String())
	for _, want := range []string{"invented", "SIGNET RING", "STEPS", "CAUTIONS", "PRICE"} {
		require.Contains(t, out.String(), want)
	}
	require.Regexp(t, `mould inside [1-9][\d.]+ mm; melt [1-9][\d.]+ g for a casting of [1-9]`, out.String(), "figures of the answer as it is written")
	require.Empty(t, problems.String())
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	for pattern, printed := range map[string]string{`"summary": "(.*)"`: "%s", `"total": "(.*)"`: "PRICE %s "} {
		shown := regexp.MustCompile(pattern).FindSubmatch(readme)
		require.NotNil(t, shown, pattern)
		require.Contains(t, out.String(), fmt.Sprintf(printed, shown[1]))
	}
}

// serving runs serve in the background; stop ends it and returns its status.
func serving(t *testing.T, getenv func(string) string) (url string, problems *lockedBuffer, stop func() int) {
	ctx, cancel := context.WithCancel(context.Background())
	problems = &lockedBuffer{}
	done := make(chan int, 1)
	go func() {
		done <- Run(ctx, []string{"serve"}, getenv, &bytes.Buffer{}, problems)
	}()
	listening := regexp.MustCompile(`msg=listening url=(\S+)`)
	for !listening.MatchString(problems.String()) { // however busy the machine; go test ends a test that hangs
		require.Empty(t, done, problems.String())
		time.Sleep(5 * time.Millisecond)
	}
	return listening.FindStringSubmatch(problems.String())[1], problems, func() int { cancel(); return <-done }
}

func TestServeListensAndStops(t *testing.T) {
	url, problems, stop := serving(t, func(name string) string { return map[string]string{"POURWRIGHT_ADDR": "127.0.0.1:0"}[name] })
	r, err := http.Get(url + "/readyz")
	require.NoError(t, err)
	require.NoError(t, r.Body.Close())
	require.Equal(t, http.StatusOK, r.StatusCode)
	require.Equal(t, 0, stop())
	require.Contains(t, problems.String(), "stopping")
}

func TestServeSendsItsLastSpansWhenItStops(t *testing.T) {
	var sent lockedBuffer
	collector := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) { _, _ = io.Copy(&sent, r.Body) }))
	defer collector.Close()
	t.Setenv("POURWRIGHT_ADDR", "127.0.0.1:0")
	t.Setenv("OTEL_EXPORTER_OTLP_ENDPOINT", collector.URL)
	t.Setenv("OTEL_BSP_SCHEDULE_DELAY", "600000") // nothing goes before the stop
	url, problems, stop := serving(t, os.Getenv)
	r, err := http.Get(url + "/v1/ring-sizes?system=us&size=7")
	require.NoError(t, err)
	require.NoError(t, r.Body.Close())
	require.Empty(t, sent.String())
	require.Equal(t, 0, stop())
	require.Contains(t, sent.String(), "GET /v1/ring-sizes")
	require.Contains(t, problems.String(), "trace_id=")
}

func TestContractIsWritten(t *testing.T) {
	for _, args := range [][]string{{"openapi"}, {"openapi", "--format", "3.0", "--json"}} {
		var out bytes.Buffer
		require.Equal(t, 0, Run(context.Background(), args, noEnv, &out, &bytes.Buffer{}))
		require.Contains(t, out.String(), "Pourwright")
	}
}

func TestWrongCommandLines(t *testing.T) {
	for _, args := range [][]string{nil, {"fly"}, {"serve", "--no-such-flag"}, {"openapi", "extra"}} {
		var problems bytes.Buffer
		require.Equal(t, 2, Run(context.Background(), args, noEnv, &bytes.Buffer{}, &problems), strings.Join(args, " "))
		require.NotEmpty(t, problems.String())
	}
	var problems bytes.Buffer
	env := func(name string) string { return map[string]string{"POURWRIGHT_RATE": "many"}[name] }
	require.Equal(t, 1, Run(context.Background(), []string{"serve"}, env, &bytes.Buffer{}, &problems))
	require.Contains(t, problems.String(), "POURWRIGHT_RATE=many: give a whole number")
	env = func(name string) string {
		return map[string]string{"OTEL_EXPORTER_OTLP_ENDPOINT": "http://127.0.0.1:4317", "OTEL_EXPORTER_OTLP_PROTOCOL": "grpc"}[name]
	}
	require.Equal(t, 1, Run(context.Background(), []string{"serve"}, env, &bytes.Buffer{}, &problems))
	require.Contains(t, problems.String(), "OTEL_EXPORTER_OTLP_PROTOCOL=grpc: give http/protobuf")
}

// lockedBuffer is a buffer that a running server may write to.
type lockedBuffer struct {
	lock sync.Mutex
	b    bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.lock.Lock()
	defer l.lock.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.lock.Lock()
	defer l.lock.Unlock()
	return l.b.String()
}

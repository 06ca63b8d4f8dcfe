package serve

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
)

type waitIn struct {
	ForS float64 `json:"for_s" minimum:"0" maximum:"60" doc:"How long"`
}

type waitOut struct {
	Done bool `json:"done" doc:"Done"`
	calc.Notes
}

// waiting is a heavy calculation that waits until released, or given up.
func waiting(started chan<- struct{}, release <-chan struct{}) calc.Calculation {
	return calc.Define(calc.Info{Name: "waits", Subject: "Toys", Summary: "Wait", Heavy: true},
		[]calc.Example{calc.Sample("wait", "Wait", `{"for_s": 1}`)},
		func(ctx context.Context, _ waitIn) (waitOut, error) {
			started <- struct{}{}
			calc.Progress(ctx, 0.5, "waiting")
			select {
			case <-release:
				return waitOut{true, calc.Noting(ctx)}, nil
			case <-ctx.Done():
				return waitOut{}, ctx.Err()
			}
		})
}

func do(h http.Handler, method, target, body string, header ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, target, strings.NewReader(body))
	r.Header.Set("Content-Type", mediaJSON)
	for i := 0; i < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

// until waits as long as it takes: the machine may be busy, and a test that
// hangs is ended by go test.
func until(done func() bool) {
	for !done() {
		time.Sleep(time.Millisecond)
	}
}

func TestHeavyWorkIsTurnedAwayAndLightWorkIsNot(t *testing.T) {
	started, release := make(chan struct{}, 10), make(chan struct{})
	settings := testSettings()
	settings.HeavySlots, settings.HeavyQueue = 1, 1
	s := must(New(settings, []calc.Calculation{toy, waiting(started, release)}, nil))
	answers := make(chan int, 2)
	ask := func() { answers <- do(s, "POST", "/v1/waits", `{"for_s": 1}`).Code }
	go ask()
	<-started // one runs
	go ask()  // one waits
	until(func() bool { _, waiting := s.gate.counts(); return waiting == 1 })

	w := do(s, "POST", "/v1/waits", `{"for_s": 1}`)
	require.Equal(t, http.StatusServiceUnavailable, w.Code)
	require.Equal(t, "4", w.Header().Get("Retry-After"), "one waits before it, at two seconds each")
	require.Contains(t, w.Body.String(), "1 requests wait for a place among heavy calculations already, as many as may; nothing was begun; try again in 4 s")
	require.Equal(t, http.StatusOK, do(s, "POST", "/v1/toys", `{"length_mm": 3}`).Code)
	require.Contains(t, do(s, "GET", "/metrics", "").Body.String(), "pourwright_heavy_waiting 1")

	close(release)
	require.Equal(t, http.StatusOK, <-answers)
	require.Equal(t, http.StatusOK, <-answers)
}

func TestRequestsEndInTheirTime(t *testing.T) {
	settings := testSettings()
	settings.HeavyTime = 20 * time.Millisecond
	s := must(New(settings, []calc.Calculation{waiting(make(chan struct{}, 1), nil)}, nil))
	w := do(s, "POST", "/v1/waits", `{"for_s": 1}`)
	require.Equal(t, http.StatusServiceUnavailable, w.Code)
	require.Contains(t, w.Body.String(), "did not finish within 20ms")
}

func TestProgressIsSentAsEvents(t *testing.T) {
	release := make(chan struct{})
	close(release)
	s := must(New(testSettings(), []calc.Calculation{waiting(make(chan struct{}, 1), release)}, nil))
	w := do(s, "POST", "/v1/waits", `{"for_s": 1}`, "Accept", mediaEvents)
	require.Equal(t, "event: progress\ndata: {\"fraction\":0.5,\"doing\":\"waiting\"}\n\nevent: answer\ndata: {\"done\":true,\"cautions\":[],\"sources\":[]}\n\n", w.Body.String())
}

func TestRateIsLimitedByTheRealClient(t *testing.T) {
	settings := testSettings()
	settings.RatePerMinute = 2
	settings.TrustedProxies = []string{"192.0.2.0/24"} // httptest's peer is 192.0.2.1
	s := must(New(settings, []calc.Calculation{toy}, nil))
	ask := func(forwarded string) *httptest.ResponseRecorder {
		return do(s, "GET", "/v1/toys?length_mm=3", "", "X-Forwarded-For", forwarded)
	}
	require.Equal(t, 200, ask("198.51.100.7").Code)
	require.Equal(t, 200, ask("spoofed, 198.51.100.7").Code)
	limited := ask("203.0.113.9, 198.51.100.7")
	require.Equal(t, http.StatusTooManyRequests, limited.Code)
	require.NotEmpty(t, limited.Header().Get("Retry-After"))
	require.Equal(t, mediaProblem, limited.Header().Get("Content-Type"))
	require.Equal(t, 200, ask("198.51.100.8").Code, "another client is not held to it")

	settings.TrustedProxies = nil
	s = must(New(settings, []calc.Calculation{toy}, nil))
	require.Equal(t, 200, ask("198.51.100.1").Code)
	require.Equal(t, 200, ask("198.51.100.2").Code)
	require.Equal(t, http.StatusTooManyRequests, ask("198.51.100.3").Code, "without a proxy the header is not believed")
}

func hashOf(key string) string {
	sum := sha256.Sum256([]byte(key))
	return hex.EncodeToString(sum[:])
}

func TestKeys(t *testing.T) {
	file := filepath.Join(t.TempDir(), "keys")
	require.NoError(t, os.WriteFile(file, []byte("# class\n"+hashOf("first")+" teacher\n\n"), 0o600))
	settings := testSettings()
	settings.KeysFile = file
	s := must(New(settings, []calc.Calculation{toy}, nil))
	ask := func(header ...string) int { return do(s, "GET", "/v1/toys?length_mm=3", "", header...).Code }
	require.Equal(t, 401, ask())
	require.Equal(t, 401, ask("Authorization", "Bearer second"))
	require.Equal(t, 401, ask("Authorization", "Basic first"))
	require.Equal(t, 200, ask("Authorization", "Bearer first"))
	require.Equal(t, 200, do(s, "GET", "/healthz", "").Code)

	k := must(newKeys(file, slog.New(slog.DiscardHandler)))
	require.NoError(t, os.WriteFile(file, []byte(hashOf("second")), 0o600))
	require.NoError(t, os.Chtimes(file, time.Now(), time.Now().Add(time.Hour)))
	require.True(t, k.allows("first"), "the file is not looked at for each request")
	k.read = k.read.Add(-2 * keysFresh)
	require.True(t, k.allows("second"))
	require.False(t, k.allows("first"))

	require.NoError(t, os.WriteFile(file, []byte("not a hash"), 0o600))
	_, err := New(settings, nil, nil)
	require.ErrorContains(t, err, "line 1")
	require.NoError(t, os.WriteFile(file, []byte("# nobody yet\n"), 0o600))
	_, err = New(settings, nil, nil)
	require.ErrorContains(t, err, "holds no key: give a SHA-256 hash")
	settings.KeysFile, settings.TrustedProxies = "", []string{"everyone"}
	_, err = New(settings, nil, nil)
	require.ErrorContains(t, err, "trusted proxies")
}

func TestOrigins(t *testing.T) {
	settings := testSettings()
	settings.Origins = []string{"https://studio.example"}
	s := must(New(settings, []calc.Calculation{toy}, nil))
	w := do(s, "POST", "/v1/toys", `{"length_mm": 3}`, "Origin", "https://studio.example")
	require.Equal(t, "https://studio.example", w.Header().Get("Access-Control-Allow-Origin"))
	w = do(s, "POST", "/v1/toys", `{"length_mm": 3}`, "Origin", "https://other.example")
	require.Empty(t, w.Header().Get("Access-Control-Allow-Origin"))
	w = do(s, "OPTIONS", "/v1/toys", "", "Origin", "https://studio.example", "Access-Control-Request-Method", "POST", "Access-Control-Request-Headers", "content-type")
	require.Equal(t, "https://studio.example", w.Header().Get("Access-Control-Allow-Origin"))
}

func TestSettingsThatCannotBeKeptToAreRefused(t *testing.T) {
	for says, spoil := range map[string]func(*Settings){
		"rate -1: give 0":                          func(s *Settings) { s.RatePerMinute = -1 },
		"heavy slots 0: give 1":                    func(s *Settings) { s.HeavySlots = 0 },
		"heavy queue -1: give 0":                   func(s *Settings) { s.HeavyQueue = -1 },
		"light time 0s: give more":                 func(s *Settings) { s.LightTime = 0 },
		"heavy time -1s: give":                     func(s *Settings) { s.HeavyTime = -time.Second },
		"settle -1s: give":                         func(s *Settings) { s.Settle = -time.Second },
		`"10.0.0.0": give networks`:                func(s *Settings) { s.TrustedProxies = []string{"10.0.0.0"} },
		"connections 1: give 10":                   func(s *Settings) { s.Connections = 1 },
		`origins "notanorigin": give https://NAME`: func(s *Settings) { s.Origins = []string{"notanorigin"} },
		`origins "https://a.example/x"`:            func(s *Settings) { s.Origins = []string{"https://a.example/x"} },
		`public url "studio.example": give`:        func(s *Settings) { s.PublicURL = "studio.example" },
	} {
		settings := testSettings()
		spoil(&settings)
		_, err := New(settings, nil, nil)
		require.ErrorContains(t, err, says)
	}
}

func TestABatchOutlivesAPanic(t *testing.T) {
	w := ask(t, "POST", "/v1/toys/rows", `[{"length_mm": 3}, {"length_mm": 3, "name": "panic"}, {"length_mm": 4}]`)
	require.Equal(t, 200, w.Code)
	require.Contains(t, w.Body.String(), `"area_mm2":6`)
	require.Contains(t, w.Body.String(), `"area_mm2":8`)
	require.Contains(t, w.Body.String(), "the fault is ours")
}

func TestStopping(t *testing.T) {
	s := must(New(testSettings(), nil, nil))
	require.Equal(t, 200, do(s, "GET", "/readyz", "").Code)
	s.ready.Store(false)
	require.Equal(t, http.StatusServiceUnavailable, do(s, "GET", "/readyz", "").Code)
	require.Equal(t, 200, do(s, "GET", "/healthz", "").Code)
}

type filedIn struct {
	Name string `json:"name" maxLength:"20" doc:"Name"`
	Data []byte `json:"data_base64,omitempty" doc:"A file"`
}

type filedOut struct {
	Length int    `json:"length" doc:"Length of the file"`
	Name   string `json:"name" doc:"Name"`
	calc.Notes
}

func TestFilesInForms(t *testing.T) {
	sizes := calc.Define(calc.Info{Name: "files", Subject: "Toys", Summary: "Length of a file"},
		[]calc.Example{calc.Sample("file", "A file", `{"name": "a", "data_base64": "YWJj"}`)},
		func(ctx context.Context, in filedIn) (filedOut, error) {
			return filedOut{len(in.Data), in.Name, calc.Noting(ctx)}, nil
		})
	s := must(New(testSettings(), []calc.Calculation{sizes}, nil))
	form := func(parts string) *httptest.ResponseRecorder {
		body := strings.ReplaceAll(parts, "\n", "\r\n")
		return do(s, "POST", "/v1/files", body, "Content-Type", "multipart/form-data; boundary=B")
	}
	file := "--B\nContent-Disposition: form-data; name=\"data\"; filename=\"x.bin\"\n\nabcd\n"
	name := "--B\nContent-Disposition: form-data; name=\"name\"\n\nring\n"
	w := form(file + name + "--B--\n")
	require.Equal(t, 200, w.Code, w.Body)
	require.Contains(t, w.Body.String(), `{"length":4,"name":"ring"`)

	for parts, status := range map[string]int{
		file + "--B--\n": 422, // no name
		name + file:      400, // no end
		strings.Replace(file, `"data"`, `"other"`, 1) + name + "--B--\n": 422,
	} {
		require.Equal(t, status, form(parts).Code, parts)
	}
	require.Equal(t, 405, do(s, "GET", "/v1/files?name=a", "").Code, "a file has no place in a query")
}

func TestLightWorkEndsAtItsTime(t *testing.T) {
	spinning := calc.Define(calc.Info{Name: "spins", Subject: "Toys", Summary: "Spin"},
		[]calc.Example{calc.Sample("spin", "Spin", `{"for_s": 1}`)},
		func(ctx context.Context, _ waitIn) (waitOut, error) {
			for ctx.Err() == nil {
				time.Sleep(time.Millisecond)
			}
			return waitOut{}, ctx.Err()
		})
	settings := testSettings()
	settings.LightTime, settings.HeavyTime = 20*time.Millisecond, 20*time.Millisecond // the second is a batch's
	s := must(New(settings, []calc.Calculation{spinning}, nil))
	for target, body := range map[string]string{"/v1/spins": `{"for_s": 1}`, "/v1/spins/rows": `[{"for_s": 1}, {"for_s": 2}]`} {
		w := do(s, "POST", target, body)
		require.Equal(t, http.StatusServiceUnavailable, w.Code, "%s: %s", target, w.Body)
		require.Contains(t, w.Body.String(), "within 20ms")
		require.Equal(t, "1", w.Header().Get("Retry-After"))
	}
}

// TestABatchAnswersWhatIsDone: rows that the batch's time does not reach carry
// an error each, and those before their answers.
func TestABatchAnswersWhatIsDone(t *testing.T) {
	spinning := calc.Define(calc.Info{Name: "spins", Subject: "Toys", Summary: "Spin", Heavy: true},
		[]calc.Example{calc.Sample("spin", "Spin", `{"for_s": 1}`)},
		func(ctx context.Context, in waitIn) (waitOut, error) {
			for in.ForS > 0 && ctx.Err() == nil {
				time.Sleep(time.Millisecond)
			}
			return waitOut{true, calc.Noting(ctx)}, ctx.Err()
		})
	settings := testSettings()
	settings.HeavyTime = 200 * time.Millisecond
	s := must(New(settings, []calc.Calculation{spinning}, nil))
	w := do(s, "POST", "/v1/spins/rows", `[{"for_s": 0}, {"for_s": 1}, {"for_s": 0}]`)
	require.Equal(t, 200, w.Code, w.Body)
	var rows []RowAnswer
	require.NoError(t, json.Unmarshal(w.Body.Bytes(), &rows))
	require.Len(t, rows, 3)
	require.Contains(t, string(rows[0].Answer), "true")
	require.Equal(t, 503, rows[1].Problem.Status)
	require.Equal(t, 503, rows[2].Problem.Status)
	require.Contains(t, rows[2].Problem.Detail, "send the rest anew")
}

func TestMetricsHoldNothingThatClientsMakeUp(t *testing.T) {
	s := must(New(testSettings(), []calc.Calculation{toy}, nil))
	for range 2 {
		do(s, "POST", "/v1/toys", `{"length_mm": 3}`)
	}
	do(s, "BREW", "/v1/toys", "")
	do(s, "GET", "/nowhere", "")
	w := do(s, "GET", "/metrics", "")
	for _, line := range []string{
		`pourwright_requests_total{method="POST",route="/v1/toys",status="200"} 2`,
		`pourwright_requests_total{method="other",route="none",status="405"} 1`,
		`pourwright_requests_total{method="GET",route="none",status="404"} 1`,
		`pourwright_request_seconds_count{route="/v1/toys"} 2`,
	} {
		require.Contains(t, w.Body.String(), line)
	}
}

package serve

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"pourwright/internal/calc"
)

// BenchmarkLoopback asks over loopback, from as many clients as there are
// cores: the mechanism, the same beside busy heavy places, and a bare
// net/http and encoding/json handler. The clients' own cost is in all three.
func BenchmarkLoopback(b *testing.B) {
	six := calc.Define(calc.Info{Name: "sixes", Subject: "Toys", Summary: "Six"},
		[]calc.Example{{Name: "six", JSON: sixBody}},
		func(ctx context.Context, in sixIn) (sixOut, error) { return sixOut{sixOf(in), calc.Noting(ctx)}, nil })
	spinning := calc.Define(calc.Info{Name: "spins", Subject: "Toys", Summary: "Spin", Heavy: true},
		[]calc.Example{{Name: "spin", JSON: `{"for_s": 1}`}},
		func(ctx context.Context, _ waitIn) (waitOut, error) {
			for ctx.Err() == nil {
			}
			return waitOut{}, ctx.Err()
		})
	mux := http.NewServeMux()
	mux.HandleFunc("POST /v1/sixes", bare)
	b.Run("bare", func(b *testing.B) { loopback(b, mux) })
	server := must(New(testSettings(), []calc.Calculation{six, spinning}, nil))
	b.Run("pourwright", func(b *testing.B) { loopback(b, server) })
	b.Run("pourwright-heavy-busy", func(b *testing.B) {
		ctx, stop := context.WithCancel(context.Background())
		defer stop()
		for range DefaultSettings("").HeavySlots {
			go func() {
				r := httptest.NewRequest("POST", "/v1/spins", strings.NewReader(`{"for_s": 1}`)).WithContext(ctx)
				r.Header.Set("Content-Type", mediaJSON)
				server.ServeHTTP(httptest.NewRecorder(), r)
			}()
		}
		loopback(b, server)
	})
}

func loopback(b *testing.B, h http.Handler) {
	s := httptest.NewServer(h)
	defer s.Close()
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 64}}
	var lock sync.Mutex
	var all []time.Duration
	b.ResetTimer()
	b.RunParallel(func(pb *testing.PB) {
		var took []time.Duration
		for pb.Next() {
			start := time.Now()
			response, err := client.Post(s.URL+"/v1/sixes", mediaJSON, strings.NewReader(sixBody))
			if err != nil {
				b.Error(err)
				return
			}
			_, _ = io.Copy(io.Discard, response.Body)
			_ = response.Body.Close()
			if response.StatusCode != http.StatusOK {
				b.Error(response.Status)
				return
			}
			took = append(took, time.Since(start))
		}
		lock.Lock()
		all = append(all, took...)
		lock.Unlock()
	})
	b.StopTimer()
	slices.Sort(all)
	if len(all) > 0 {
		b.ReportMetric(float64(len(all))/b.Elapsed().Seconds(), "req/s")
		b.ReportMetric(float64(all[len(all)*99/100].Microseconds())/1000, "p99-ms")
	}
}

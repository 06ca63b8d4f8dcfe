package api_test

import (
	"bufio"
	"fmt"
	"io"
	"net"
	"net/http"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// The load generator. It shares the cores with the server, so it does as
// little as it can: a request is bytes made once, and an answer is read by
// net/http and thrown away. A full client would cost more than the server.

// line is one connection that is kept open.
type line struct {
	net.Conn
	answers *bufio.Reader
}

func dial(tb testing.TB, address string) *line {
	c, err := net.Dial("tcp", address)
	require.NoError(tb, err)
	return &line{c, bufio.NewReaderSize(c, 16<<10)}
}

func requestOf(name, body string) []byte {
	return fmt.Appendf(nil, "POST /v1/%s HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: %d\r\n\r\n%s", name, len(body), body)
}

func (l *line) ask(request []byte) error {
	if _, err := l.Write(request); err != nil {
		return err
	}
	answer, err := http.ReadResponse(l.answers, nil)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		return fmt.Errorf("status %s", answer.Status)
	}
	_, err = io.Copy(io.Discard, answer.Body)
	return err
}

// closed asks on so many connections at once, each as soon as it is answered,
// and returns the answers a second.
func closed(tb testing.TB, address string, request []byte, connections int, span time.Duration) float64 {
	var answered atomic.Int64
	start := time.Now()
	onEach(tb, address, connections, func(l *line) error {
		for time.Since(start) < span {
			if err := l.ask(request); err != nil {
				return err
			}
			answered.Add(1)
		}
		return nil
	})
	return float64(answered.Load()) / time.Since(start).Seconds()
}

// onEach runs f on so many connections and waits for all.
func onEach(tb testing.TB, address string, connections int, f func(*line) error) {
	lines := make([]*line, connections)
	for i := range lines {
		lines[i] = dial(tb, address)
		defer lines[i].Close()
	}
	faults := make(chan error, connections)
	var all sync.WaitGroup
	for _, l := range lines {
		all.Go(func() { faults <- f(l) })
	}
	all.Wait()
	close(faults)
	for err := range faults {
		require.NoError(tb, err)
	}
}

// latencies are in the order in which the requests were due.
type latencies []time.Duration

// ms is the latency that so many in a thousand do not exceed.
func (l latencies) ms(permil int) float64 {
	sorted := slices.Sorted(slices.Values(l))
	return float64(sorted[min(len(l)-1, len(l)*permil/1000)].Microseconds()) / 1000
}

// window is how many of them the typical percentile is taken over: a few
// tenths of a second, between two disturbances by other work.
const window = 2000

// typical is the median, over windows of time, of each window's percentile.
func (l latencies) typical(permil int) float64 {
	var each []float64
	for w := range slices.Chunk(l, window) {
		if len(w) == window {
			each = append(each, w.ms(permil))
		}
	}
	return median(each)
}

// open sends at a constant rate, whether or not answers come, and returns how
// long each took from the moment it was due: time spent waiting for a free
// connection counts. late is how long after that moment the generator itself
// got to it, which is not the server's doing.
func open(tb testing.TB, address string, request []byte, perSecond float64, connections int, span time.Duration) (took, late latencies) {
	n := int(perSecond * span.Seconds())
	took, late = make(latencies, n), make(latencies, n)
	due := make(chan int, n)
	begin := time.Now().Add(10 * time.Millisecond)
	at := func(i int) time.Time { return begin.Add(time.Duration(float64(i) / perSecond * 1e9)) }
	go func() {
		runtime.LockOSThread() // which ends with the goroutine
		for i := range n {
			if wait := time.Until(at(i)); wait > 0 {
				pause := syscall.NsecToTimespec(int64(wait)) // time.Sleep would round up to a millisecond
				_ = syscall.Nanosleep(&pause, nil)
			}
			late[i] = time.Since(at(i))
			due <- i
		}
		close(due)
	}()
	onEach(tb, address, connections, func(l *line) error {
		for i := range due {
			if err := l.ask(request); err != nil {
				return err
			}
			took[i] = time.Since(at(i))
		}
		return nil
	})
	return took, late
}

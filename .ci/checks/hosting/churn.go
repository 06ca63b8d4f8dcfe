package main

import (
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"os"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"syscall"
	"time"
)

// churn starts a replica on each port, loads the proxy before them with light
// and heavy requests for the span, and every ten seconds ends one of them, in
// turn by a kill and by asking it to stop, and starts it again. No light request
// may fail that a client sends once more. Beside it a bare handler is asked.
func churn(url, spanText, program string, ports []string) {
	span, err := time.ParseDuration(spanText)
	if err != nil {
		log.Fatal(err)
	}
	replicas := make([]*exec.Cmd, len(ports))
	start := func(i int) {
		c := exec.Command(program, "serve", "--addr", "127.0.0.1:"+ports[i], "--rate", "0", "--settle", "1s", "--trusted-proxies", "127.0.0.0/8")
		if err := c.Start(); err != nil {
			log.Fatal(err)
		}
		replicas[i] = c
	}
	for i := range ports {
		start(i)
	}
	stopAll := func() {
		for _, c := range replicas {
			_ = c.Process.Kill()
			_ = c.Wait()
		}
	}
	for _, port := range ports { // the machine may be busy
		for ask("GET", "http://127.0.0.1:"+port+"/readyz", "") != http.StatusOK {
			time.Sleep(50 * time.Millisecond)
		}
	}
	time.Sleep(2 * time.Second) // the proxy tries again what it has found closed
	bare := bareAddress()
	end := time.Now().Add(span)
	var load sync.WaitGroup
	ours, theirs, heavy := &tally{}, &tally{}, &tally{}
	for i := range 8 {
		load.Go(func() { ours.keepAsking(url, i, end) })
	}
	load.Go(func() { theirs.keepAsking(bare, 1, end) })
	load.Go(func() {
		for time.Now().Before(end) {
			heavy.note(time.Now(), ask("POST", url+"/v1/calibrations", `{}`) != 0)
			time.Sleep(200 * time.Millisecond)
		}
	})
	ends := 0
	for n := 0; time.Now().Add(10 * time.Second).Before(end); n++ {
		time.Sleep(8 * time.Second)
		i := n % len(ports)
		signal := syscall.SIGKILL
		if n%2 == 1 {
			signal = syscall.SIGTERM
		}
		if err := replicas[i].Process.Signal(signal); err != nil {
			stopAll()
			log.Fatalf("a replica had ended by itself: %v", err)
		}
		_ = replicas[i].Wait()
		if ended := replicas[i].ProcessState; signal == syscall.SIGTERM && ended.ExitCode() != 0 {
			stopAll()
			log.Fatalf("a replica that was asked to stop ended with %s", ended)
		}
		ends++
		time.Sleep(time.Second)
		start(i)
		for ask("GET", "http://127.0.0.1:"+ports[i]+"/readyz", "") != http.StatusOK {
			time.Sleep(50 * time.Millisecond) // or a busy machine would soon have none left
		}
	}
	load.Wait()
	fmt.Printf("%d times a replica was killed or stopped\nlight: %s\nbare:  %s\nheavy: %s\n", ends, ours, theirs, heavy)
	stopAll()
	if ours.failed > 0 {
		os.Exit(1)
	}
}

// tally counts requests, those sent once more and those that failed then too.
type tally struct {
	lock                sync.Mutex
	took                []time.Duration
	sent, again, failed int
}

func (t *tally) note(begun time.Time, ok bool) {
	t.lock.Lock()
	defer t.lock.Unlock()
	t.sent++
	if !ok {
		t.failed++
	}
	t.took = append(t.took, time.Since(begun))
}

// keepAsking sends GETs, or from odd loaders POSTs.
func (t *tally) keepAsking(url string, loader int, end time.Time) {
	for time.Now().Before(end) {
		begun := time.Now()
		once := func() bool {
			if loader%2 == 1 {
				return ask("POST", url+"/v1/ring-sizes?pick=diameter_mm", light) == http.StatusOK
			}
			return ask("GET", url+"/v1/ring-sizes?system=us&size=7&pick=diameter_mm", "") == http.StatusOK
		}
		ok := once()
		if !ok {
			t.lock.Lock()
			t.again++
			t.lock.Unlock()
			time.Sleep(100 * time.Millisecond)
			ok = once()
		}
		t.note(begun, ok)
		time.Sleep(5 * time.Millisecond)
	}
}

func (t *tally) String() string {
	slices.Sort(t.took)
	at := func(share float64) time.Duration { return t.took[int(share*float64(len(t.took)-1))] }
	return fmt.Sprintf("%d requests, %d sent once more, %d failed; p50 %s, p99 %s", t.sent, t.again, t.failed, at(0.5).Round(10*time.Microsecond), at(0.99).Round(10*time.Microsecond))
}

var asking = http.Client{Timeout: 30 * time.Second, Transport: &http.Transport{MaxIdleConnsPerHost: 16}}

// ask sends one request and gives its status, 0 if none came whole.
func ask(method, url, body string) int {
	r, err := http.NewRequest(method, url, strings.NewReader(body))
	if err != nil {
		log.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	answer, err := asking.Do(r)
	if err != nil {
		return 0
	}
	defer answer.Body.Close()
	if _, err := io.Copy(io.Discard, answer.Body); err != nil {
		return 0
	}
	return answer.StatusCode
}

func bareAddress() string {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		log.Fatal(err)
	}
	go func() {
		_ = http.Serve(l, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			_, _ = io.Copy(io.Discard, r.Body)
			_, _ = io.WriteString(w, "17.32")
		}))
	}()
	return "http://" + l.Addr().String()
}

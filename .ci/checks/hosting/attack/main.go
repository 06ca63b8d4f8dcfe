// Attack makes every attack of the list on one server of this machine, each for
// a span and then all at once, while a light call is made again and again on
// the server and on a bare handler in a process of its own. It fails when the
// server dies, answers a 5xx other than 503, takes more memory than it may or
// lets no light call through. It talks to the loopback only and stops by itself.
//
//	attack -addr 127.0.0.1:8080 -pid 123 [-each 20s] [-all 2m] [-memory 512]
package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"time"
)

func main() {
	log.SetFlags(0)
	addr := flag.String("addr", "", "address of the server")
	pid := flag.String("pid", "", "its process")
	each := flag.Duration("each", 20*time.Second, "how long each attack lasts")
	all := flag.Duration("all", 2*time.Minute, "how long all together last")
	memory := flag.Int("memory", 512, "MiB that the server may take")
	bare := flag.Bool("bare", false, "serve the bare handler and nothing else")
	only := flag.String("only", "", "make this attack alone")
	flag.Parse()
	if *bare {
		serveBare()
		return
	}
	host, _, err := net.SplitHostPort(*addr)
	if ip := net.ParseIP(host); err != nil || ip == nil || !ip.IsLoopback() {
		log.Fatal("attack: the address must be of the loopback")
	}
	beside, stop := startBare()
	defer stop()
	t := target{addr: *addr, pid: *pid, beside: beside, memory: *memory}
	failed := false
	fmt.Printf("%-34s %9s %9s %7s %8s  %s\n", "attack", "light p50", "p95 (ms)", "x bare", "RSS MiB", "answers")
	for _, a := range attacks {
		if *only == "" || *only == a.name {
			failed = t.run([]attack{a}, a.name, *each) || failed
		}
	}
	if *only == "" {
		failed = t.run(attacks, "all together", *all) || failed
	}
	if failed {
		stop()
		os.Exit(1)
	}
}

type target struct {
	addr, pid, beside string
	memory            int
}

// run makes the attacks for a span and tells what became of the server.
func (t target) run(list []attack, name string, span time.Duration) (failed bool) {
	end := time.Now().Add(span)
	var workers sync.WaitGroup
	answers := &counts{of: map[string]int{}}
	for _, a := range list {
		for range a.workers {
			workers.Go(func() {
				for time.Now().Before(end) {
					answers.add(a.once(t.addr, end))
				}
			})
		}
	}
	var ours, theirs []time.Duration
	lost := 0
	for time.Now().Before(end) {
		took, ok := light("http://" + t.addr + "/v1/ring-sizes?working=false")
		if !ok {
			lost++
		}
		ours = append(ours, took)
		took, _ = light("http://" + t.beside)
		theirs = append(theirs, took)
		time.Sleep(50 * time.Millisecond)
	}
	workers.Wait()
	peak, alive := rss(t.pid)
	a, b := at(ours, 0.95), at(theirs, 0.95)
	fmt.Printf("%-34s %9.1f %9.1f %7.1f %8d  %s\n", name, ms(at(ours, 0.5)), ms(a), float64(a)/float64(max(b, 1)), peak, answers)
	switch {
	case !alive:
		fmt.Println("  FAILED: the server has gone")
	case peak > t.memory:
		fmt.Printf("  FAILED: more than %d MiB\n", t.memory)
	case answers.bad() > 0:
		fmt.Println("  FAILED: a 5xx that is not 503")
	case lost*50 > len(ours):
		fmt.Printf("  FAILED: %d of %d light calls lost\n", lost, len(ours))
	default:
		return false
	}
	return true
}

var client = http.Client{Timeout: 20 * time.Second, Transport: &http.Transport{MaxIdleConnsPerHost: 64, DialContext: dial}}

// sendBuffer is what the system holds of a body that has not left. Left to
// itself it grows to megabytes, and stays half a second after each refusal: a
// thousand refusals a second would fill the TCP memory of this machine, which
// light calls need too, by the attacker's own buffers.
const sendBuffer = 64 << 10

func dial(ctx context.Context, network, addr string) (net.Conn, error) {
	var d net.Dialer
	c, err := d.DialContext(ctx, network, addr)
	if err != nil {
		return nil, err
	}
	return c, c.(*net.TCPConn).SetWriteBuffer(sendBuffer)
}

func light(url string) (time.Duration, bool) {
	start := time.Now()
	for try := range 2 { // a client asks again once
		r, err := client.Post(url, "application/json", strings.NewReader(`{"system": "us", "size": "7"}`))
		if err != nil {
			continue
		}
		_, err = io.Copy(io.Discard, r.Body)
		_ = r.Body.Close()
		if err == nil && r.StatusCode == http.StatusOK {
			return time.Since(start), true
		}
		_ = try
	}
	return time.Since(start), false
}

// rss is the most memory that the process has had, in MiB.
func rss(pid string) (mib int, alive bool) {
	text, err := os.ReadFile("/proc/" + pid + "/status")
	if err != nil {
		return 0, false
	}
	for line := range strings.Lines(string(text)) {
		if rest, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			kib, _ := strconv.Atoi(strings.Fields(rest)[0])
			return kib >> 10, true
		}
	}
	return 0, false // a process that has ended has none
}

func at(list []time.Duration, share float64) time.Duration {
	if len(list) == 0 {
		return 0
	}
	slices.Sort(list)
	return list[int(share*float64(len(list)-1))]
}

func ms(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }

// counts counts what was answered.
type counts struct {
	lock sync.Mutex
	of   map[string]int
}

func (c *counts) add(what string) {
	c.lock.Lock()
	defer c.lock.Unlock()
	c.of[what]++
}

func (c *counts) bad() (n int) {
	for what, k := range c.of {
		if strings.HasPrefix(what, "5") && what != "503" {
			n += k
		}
	}
	return n
}

func (c *counts) String() string {
	var parts []string
	for what, n := range c.of {
		parts = append(parts, fmt.Sprintf("%s: %d", what, n))
	}
	slices.Sort(parts)
	return strings.Join(parts, ", ")
}

func serveBare() {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(l.Addr())
	go func() { _, _ = io.Copy(io.Discard, os.Stdin); os.Exit(0) }()
	log.Fatal(http.Serve(l, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var in map[string]any
		if err := json.NewDecoder(r.Body).Decode(&in); err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		_ = json.NewEncoder(w).Encode(in)
	})))
}

// startBare starts this program again as the bare handler.
func startBare() (addr string, stop func()) {
	c := exec.Command(os.Args[0], "-bare")
	in, err := c.StdinPipe()
	if err != nil {
		log.Fatal(err)
	}
	out, err := c.StdoutPipe()
	if err != nil {
		log.Fatal(err)
	}
	if err := c.Start(); err != nil {
		log.Fatal(err)
	}
	if _, err := fmt.Fscanln(out, &addr); err != nil {
		log.Fatal(err)
	}
	var once atomic.Bool
	return addr, func() {
		if once.CompareAndSwap(false, true) {
			_ = in.Close()
			_ = c.Wait()
		}
	}
}

package api_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pourwright/api"
	"pourwright/internal/calc"
	"pourwright/internal/cli"
	"pourwright/internal/serve"
)

// Both servers are processes of their own, each this test binary started
// again, so that none collects the garbage of another or of the generator.

const (
	oursRole = "pourwright"
	bareRole = "bare"
)

// TestServeForLoad is the server, in a process started by [started].
func TestServeForLoad(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	go func() {
		_, _ = io.Copy(io.Discard, os.Stdin) // ends with the process that has started this one
		cancel()
	}()
	switch os.Getenv(role) {
	case oursRole:
		null, err := os.OpenFile(os.DevNull, os.O_WRONLY, 0)
		require.NoError(t, err)
		cli.Run(ctx, []string{"serve", "--addr", "127.0.0.1:0", "--rate", "0"}, os.Getenv, io.Discard, &announcer{log: null})
	case bareRole:
		mux := http.NewServeMux()
		eachLight(func(c calc.Calculation) { mux.Handle("POST /v1/"+c.Info().Name, bare(c)) })
		l, err := net.Listen("tcp", "127.0.0.1:0")
		require.NoError(t, err)
		announce(l.Addr().String())
		go func() { <-ctx.Done(); _ = l.Close() }()
		_ = http.Serve(l, mux)
	default:
		t.Skip("only as a process of a load test")
	}
}

func announce(address string) { fmt.Println("listening on " + address) }

var listening = regexp.MustCompile(`msg=listening url=http://(\S+)`)

// announcer takes the program's log as /dev/null would, a write a line, once
// it has told the address.
type announcer struct {
	log  *os.File
	told bool
}

func (a *announcer) Write(p []byte) (int, error) {
	if m := listening.FindSubmatch(p); !a.told && m != nil {
		a.told = true
		announce(string(m[1]))
	}
	return a.log.Write(p)
}

type process struct {
	pid     int
	address string
}

// servers are the processes under way.
var servers []process

// started starts a server, on the given cores if any are given.
func started(tb testing.TB, as, cores string) process {
	command := exec.Command(os.Args[0], "-test.run", "^TestServeForLoad$")
	if cores != "" {
		command = exec.Command("taskset", append([]string{"-c", cores}, command.Args...)...)
	}
	command.Env = append(os.Environ(), role+"="+as)
	in, err := command.StdinPipe()
	require.NoError(tb, err)
	out, err := command.StdoutPipe()
	require.NoError(tb, err)
	require.NoError(tb, command.Start())
	p := process{pid: command.Process.Pid}
	tb.Cleanup(func() {
		servers = slices.DeleteFunc(servers, func(s process) bool { return s.pid == p.pid })
		_ = in.Close()
		_ = command.Wait()
	})
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if address, ok := strings.CutPrefix(lines.Text(), "listening on "); ok {
			p.address = address
			servers = append(servers, p)
			return p
		}
	}
	require.NoError(tb, errors.Join(lines.Err(), errors.New("the server has not started")))
	return p
}

func median(of []float64) float64 {
	of = slices.Sorted(slices.Values(of))
	return of[len(of)/2]
}

const (
	rounds = 5 // alternating; the medians are reported
	crowd  = 8 // connections of a comparison of throughput
	burst  = 300 * time.Millisecond
)

// BenchmarkOverLoopback asks every light calculation its first example over
// real connections, of the server as it is run and of the bare handler in
// turn. Beside the answers a second it compares the processor time that each
// server takes for one, which other work on the machine disturbs less.
func BenchmarkOverLoopback(b *testing.B) {
	sides := []process{started(b, oursRole, ""), started(b, bareRole, "")}
	eachLight(func(c calc.Calculation) {
		request := requestOf(c.Info().Name, asked(b, c))
		b.Run(c.Info().Name, func(b *testing.B) {
			for b.Loop() {
				var rates [2][]float64
				var ratios []float64
				var answers, took [2]float64
				for range rounds {
					for i, side := range sides {
						before := ticks(b, side.pid)
						rate := closed(b, side.address, request, crowd, burst)
						took[i] += ticks(b, side.pid) - before
						answers[i] += rate * burst.Seconds()
						rates[i] = append(rates[i], rate)
					}
					ratios = append(ratios, rates[0][len(ratios)]/rates[1][len(ratios)])
				}
				b.ReportMetric(median(rates[0]), "req/s")
				b.ReportMetric(median(rates[1]), "bare-req/s")
				b.ReportMetric(median(ratios), "ratio")
				b.ReportMetric((took[1]/answers[1])/(took[0]/answers[0]), "cpu-ratio")
			}
			b.ReportMetric(0, "ns/op")
		})
	})
}

const (
	loaded     = "melts"
	busying    = "freezes"
	offered    = 0.8  // of the throughput at saturation
	lively     = 1000 // a second, far more than a class asks for
	pool       = 64   // connections that an open loop may use
	loadedSpan = 4 * time.Second
)

func exampleOf(tb testing.TB, name string) []byte {
	i := slices.IndexFunc(api.All, func(c calc.Calculation) bool { return c.Info().Name == name })
	return requestOf(name, asked(tb, api.All[i]))
}

// BenchmarkBesideHeavy asks a light calculation at a constant rate, first
// alone and then while heavy ones hold every place and wait for one.
func BenchmarkBesideHeavy(b *testing.B) {
	server := started(b, oursRole, "")
	light, heavy := exampleOf(b, loaded), exampleOf(b, busying)
	for b.Loop() {
		var alone, beside []float64
		for range rounds {
			took, _ := open(b, server.address, light, lively, pool, loadedSpan)
			alone = append(alone, took.ms(990))
			var over atomic.Bool
			var clients sync.WaitGroup
			clients.Go(func() {
				onEach(b, server.address, 1+serve.DefaultSettings("").HeavySlots, func(l *line) error {
					for !over.Load() {
						if err := l.ask(heavy); err != nil {
							return err
						}
					}
					return nil
				})
			})
			took, _ = open(b, server.address, light, lively, pool, loadedSpan)
			over.Store(true)
			clients.Wait()
			beside = append(beside, took.ms(990))
		}
		b.Logf("p99 alone %.2f, beside heavy work %.2f ms", alone, beside)
		b.ReportMetric(median(alone), "alone-p99-ms")
		b.ReportMetric(median(beside), "beside-p99-ms")
	}
	b.ReportMetric(0, "ns/op")
}

// BenchmarkSaturation finds how much of one light calculation each server can
// do on one core, with the generator on another, and then offers four fifths
// of it at a constant rate. It tells every round, and reports the one in which
// other work took the least of the machine.
func BenchmarkSaturation(b *testing.B) {
	if _, err := exec.LookPath("taskset"); err != nil || runtime.NumCPU() < 2 {
		b.Skip("it wants two cores, and taskset to share them out")
	}
	request := exampleOf(b, loaded)
	sides := map[string]process{oursRole: started(b, oursRole, "0"), bareRole: started(b, bareRole, "0")}
	pin(b, "1")
	for b.Loop() {
		quietest := map[string]float64{}
		for range rounds {
			for _, side := range []string{oursRole, bareRole} {
				before := readStat(b)
				most := 0.0
				for connections := 1; connections <= pool; connections *= 2 {
					most = max(most, closed(b, sides[side].address, request, connections, burst))
				}
				took, late := open(b, sides[side].address, request, offered*most, pool, loadedSpan)
				others := before.others(b)
				b.Logf("%s: %.0f req/s at most; at %.0f %% of it p50 %.2f, p99 %.2f (typical %.2f), p99.9 %.2f ms; generator late p50 %.2f, p99 %.2f (typical %.2f) ms; other work %.0f %% of the machine",
					side, most, 100*offered, took.ms(500), took.ms(990), took.typical(990), took.ms(999), late.ms(500), late.ms(990), late.typical(990), others)
				if least, ok := quietest[side]; ok && least <= others {
					continue
				}
				quietest[side] = others
				for unit, v := range map[string]float64{"req/s": most, "p50-ms": took.ms(500), "p99-ms": took.ms(990), "typical-p99-ms": took.typical(990), "p99.9-ms": took.ms(999), "late-p99-ms": late.ms(990), "others-%": others} {
					b.ReportMetric(v, side+"-"+unit)
				}
			}
		}
	}
	b.ReportMetric(0, "ns/op")
}

// pin keeps this process to the given cores until the benchmark ends.
func pin(b *testing.B, cores string) {
	set := func(cores string) {
		require.NoError(b, exec.Command("taskset", "-a", "-p", "-c", cores, strconv.Itoa(os.Getpid())).Run())
	}
	set(cores)
	b.Cleanup(func() { set(fmt.Sprintf("0-%d", runtime.NumCPU()-1)) })
}

// stat is what the machine has worked, and what of it was this test's, in ticks.
type stat struct{ busy, idle, ours float64 }

func readStat(tb testing.TB) (s stat) {
	text, err := os.ReadFile("/proc/stat")
	require.NoError(tb, err)
	first, _, _ := strings.Cut(string(text), "\n")
	for i, field := range strings.Fields(first)[1:9] { // user nice system idle iowait irq softirq steal
		ticks, err := strconv.ParseFloat(field, 64)
		require.NoError(tb, err)
		if i == 3 || i == 4 {
			s.idle += ticks
		} else {
			s.busy += ticks
		}
	}
	s.ours = ticks(tb, os.Getpid())
	for _, server := range servers {
		s.ours += ticks(tb, server.pid)
	}
	return s
}

// ticks is the processor time that a process has had.
func ticks(tb testing.TB, pid int) (sum float64) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	require.NoError(tb, err)
	_, fields, _ := strings.Cut(string(text), ") ")
	for _, field := range strings.Fields(fields)[11:13] { // user, system
		n, err := strconv.ParseFloat(field, 64)
		require.NoError(tb, err)
		sum += n
	}
	return sum
}

// others is the share of the machine that other work has taken since, in percent.
func (s stat) others(tb testing.TB) float64 {
	now := readStat(tb)
	busy, all := now.busy-s.busy, now.busy-s.busy+now.idle-s.idle
	return 100 * max(0, busy-(now.ours-s.ours)) / all
}

package serve

import (
	"context"
	"errors"
	"math"
	"slices"
	"sync"
	"time"
)

// gate lets a number of calculations run at once and a number wait, and gives
// the places to the clients in turn: whoever asks for many waits behind
// whoever asks for one. More are turned away, so that light ones stay quick.
type gate struct {
	slots, queue int

	lock    sync.Mutex
	running map[string]int // by client
	inside  int
	waiting int
	lines   map[string][]*ticket
	turns   []string // the clients that wait, whose turn is next first
	pace    pace
}

// ticket is one request that waits.
type ticket struct {
	called    chan struct{} // closed when its turn has come, or when it is turned away
	displaced bool
}

// pace is how long what is shared out is held, of late.
type pace time.Duration

// firstPace stands for it before anything has been given back.
const firstPace = pace(2 * time.Second)

func (p *pace) note(held time.Duration) { *p += (pace(held) - *p) / 8 }

// seconds is how long that many rounds will take: 1 to 300.
func (p pace) seconds(rounds float64) int {
	return int(min(max(math.Ceil(math.Ceil(rounds)*time.Duration(p).Seconds()), 1), 300))
}

func newGate(slots, queue int) *gate {
	return &gate{slots: slots, queue: queue, running: map[string]int{}, lines: map[string][]*ticket{}, pace: firstPace}
}

// retryAfter is how many seconds it will take, at the pace of late, until a
// request that comes now would have its turn.
func (g *gate) retryAfter() int {
	g.lock.Lock()
	defer g.lock.Unlock()
	return g.pace.seconds(float64(g.waiting+1) / float64(g.slots))
}

// counts are how many run and how many wait.
func (g *gate) counts() (running, waiting int) {
	g.lock.Lock()
	defer g.lock.Unlock()
	return g.inside, g.waiting
}

// enter waits for the client's turn and returns the way out. One that has been
// let in before and only goes on is not turned away.
func (g *gate) enter(ctx context.Context, client string, goesOn bool) (leave func(), err error) {
	g.lock.Lock()
	if g.inside < g.slots && g.waiting == 0 {
		g.admit(client)
		g.lock.Unlock()
		return g.leaver(client), nil
	}
	if !goesOn && g.waiting >= g.queue && !g.makeRoom(client) {
		g.lock.Unlock()
		return nil, errFull
	}
	t := &ticket{called: make(chan struct{})}
	if len(g.lines[client]) == 0 {
		g.turns = append(g.turns, client)
	}
	g.lines[client] = append(g.lines[client], t)
	g.waiting++
	g.lock.Unlock()

	select {
	case <-t.called:
		if t.displaced {
			return nil, errDisplaced
		}
		return g.leaver(client), nil
	case <-ctx.Done():
		g.lock.Lock()
		defer g.lock.Unlock()
		if slices.Contains(g.lines[client], t) {
			g.forget(client, t)
		} else if !t.displaced { // its turn came at the same moment
			g.release(client)
		}
		return nil, ctx.Err()
	}
}

var (
	errFull      = errors.New("all places to wait are taken")
	errDisplaced = errors.New("gave its place to wait to another client")
)

// makeRoom turns away the last request of the client that has the most
// waiting, if that is more than one above this client's; it reports whether.
func (g *gate) makeRoom(client string) bool {
	longest := ""
	for _, c := range g.turns {
		if longest == "" || len(g.lines[c]) > len(g.lines[longest]) {
			longest = c
		}
	}
	line := g.lines[longest]
	if len(line) < len(g.lines[client])+2 {
		return false
	}
	last := line[len(line)-1]
	g.forget(longest, last)
	last.displaced = true
	close(last.called)
	return true
}

// forget takes a ticket out of its line.
func (g *gate) forget(client string, t *ticket) {
	line := g.lines[client]
	i := slices.Index(line, t)
	g.lines[client] = slices.Delete(line, i, i+1)
	g.waiting--
	if len(g.lines[client]) == 0 {
		delete(g.lines, client)
		i := slices.Index(g.turns, client)
		g.turns = slices.Delete(g.turns, i, i+1)
	}
}

func (g *gate) admit(client string) {
	g.inside++
	g.running[client]++
}

// leaver returns what gives the place back.
func (g *gate) leaver(client string) func() {
	begun := time.Now()
	return func() {
		g.lock.Lock()
		defer g.lock.Unlock()
		g.pace.note(time.Since(begun))
		g.release(client)
	}
}

// release frees a place and calls the next: of the clients that wait the one
// with the fewest places, of equals the one whose turn it is.
func (g *gate) release(client string) {
	g.inside--
	if g.running[client]--; g.running[client] == 0 {
		delete(g.running, client)
	}
	for g.inside < g.slots && g.waiting > 0 {
		next := 0
		for i, c := range g.turns {
			if g.running[c] < g.running[g.turns[next]] {
				next = i
			}
		}
		c := g.turns[next]
		t := g.lines[c][0]
		g.forget(c, t)
		if len(g.lines[c]) > 0 { // to the end of the turns
			i := slices.Index(g.turns, c)
			g.turns = append(slices.Delete(g.turns, i, i+1), c)
		}
		g.admit(c)
		close(t.called)
	}
}

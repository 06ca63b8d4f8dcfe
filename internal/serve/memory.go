package serve

import (
	"context"
	"math"
	"runtime/debug"
	"sync"
	"time"
)

// memory is shared out among the requests under way, so that many at once
// cannot exhaust what the server has. A request holds as much as has come of
// its body, and before it is worked on, what working on it may take.
type memory struct {
	total int64

	lock   sync.Mutex
	left   int64
	bodies map[*share]struct{} // whose bodies are still coming
	freed  chan struct{}       // closed and made anew when some is given back
}

const (
	// defaultMemory is shared out where no limit is set, in bytes.
	defaultMemory = 768 << 20
	// baseMemory is what the program takes besides, in bytes: itself, its
	// connections and what light requests make.
	baseMemory = 96 << 20
	// memoryWait is how long a request waits for its share.
	memoryWait = 10 * time.Second
	// memoryRetry is when to try again for one that waited in vain, in seconds.
	memoryRetry = 5
)

// memoryFor is what may be shared out under GOMEMLIMIT: what it leaves, or the
// default where there is none.
func memoryFor(limit int64) int64 {
	if limit == math.MaxInt64 || limit <= 0 {
		return defaultMemory
	}
	return max(limit-baseMemory, 16<<20)
}

func newMemory(total int64) *memory {
	return &memory{total: total, left: total, bodies: map[*share]struct{}{}, freed: make(chan struct{})}
}

func currentLimit() int64 { return debug.SetMemoryLimit(-1) }

// share is what one request holds.
type share struct {
	m    *memory
	held int64

	begun  time.Time
	giveUp func() // ends the reading of the body; nil when it has come whole
	lost   bool   // to others, while the body came slowly
}

// open begins a request's share, with nothing in it; giveUp ends its reading.
func (m *memory) open(giveUp func()) *share {
	s := &share{m: m, begun: time.Now(), giveUp: giveUp}
	m.lock.Lock()
	m.bodies[s] = struct{}{}
	m.lock.Unlock()
	return s
}

// forBodies is what all bodies that are still coming may hold together: the
// rest is for working on those that have come.
func (m *memory) forBodies() int64 { return m.total / 2 }

// grow takes n more for a body that is coming. It does not wait: where there
// is none the slowest bodies lose theirs, and if that is this one it fails.
func (s *share) grow(n int64) bool {
	m := s.m
	m.lock.Lock()
	defer m.lock.Unlock()
	if s.lost {
		return false
	}
	coming := n
	for b := range m.bodies {
		coming += b.held
	}
	if m.left >= n && coming <= m.forBodies() {
		m.left -= n
		s.held += n
		return true
	}
	slowest, least := s, s.pace(n)
	for b := range m.bodies {
		if b.held > 0 && b.pace(0) < least {
			slowest, least = b, b.pace(0)
		}
	}
	if slowest == s {
		return false
	}
	// What the slowest held is counted as free at once: it stops reading now,
	// and its buffer goes as soon as it has noticed.
	m.drop(slowest)
	if m.left < n {
		return false
	}
	m.left -= n
	s.held += n
	return true
}

// pace is how fast the body has come so far, with n bytes more, in bytes a
// second. One that has just begun is given the benefit of a quarter second.
func (s *share) pace(n int64) float64 {
	return float64(s.held+n) / max(time.Since(s.begun).Seconds(), 0.25)
}

// drop takes everything from a body that is still coming.
func (m *memory) drop(s *share) {
	s.lost = true
	m.left += s.held
	s.held = 0
	delete(m.bodies, s)
	s.giveUp()
}

// tooMuch refuses what this server never has the memory for.
func (m *memory) tooMuch(n int64) error {
	return problem(413, "working on this body takes about %d MiB of memory, and this server has %d; send less at once", n>>20, m.total>>20)
}

// work waits until the share holds n for working on a body that has come, what
// the body holds already counted in.
func (s *share) work(ctx context.Context, n int64) error {
	m := s.m
	if n > m.total {
		return m.tooMuch(n)
	}
	timed, cancel := context.WithTimeout(ctx, memoryWait)
	defer cancel()
	for {
		m.lock.Lock()
		delete(m.bodies, s)
		if more := max(n-s.held, 0); m.left >= more {
			m.left -= more
			s.held += more
			m.lock.Unlock()
			return nil
		}
		freed := m.freed
		m.lock.Unlock()
		select {
		case <-freed:
		case <-timed.Done():
			if ctx.Err() != nil {
				return ctx.Err()
			}
			return busy(memoryRetry, "the memory for requests of this size is taken; this one was not begun")
		}
	}
}

// close gives everything back.
func (s *share) close() {
	m := s.m
	m.lock.Lock()
	defer m.lock.Unlock()
	delete(m.bodies, s)
	m.left += s.held
	s.held = 0
	close(m.freed)
	m.freed = make(chan struct{})
}

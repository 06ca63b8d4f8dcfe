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
	wanted int64               // by those that wait
	pace   pace                // at which shares are given back
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
	return &memory{total: total, left: total, bodies: map[*share]struct{}{}, freed: make(chan struct{}), pace: firstPace}
}

func currentLimit() int64 { return debug.SetMemoryLimit(-1) }

// share is what one request holds.
type share struct {
	m    *memory
	held int64

	begun  time.Time
	worked time.Time // when it got what working on its body takes
	giveUp func()    // ends the reading of the body; nil when it has come whole
	lost   bool      // to others, while the body came slowly
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

// retryAfter is how many seconds it will take, at the pace of late, until there
// is room for n more: all that wait come before.
func (m *memory) retryAfter(n int64) int {
	m.lock.Lock()
	defer m.lock.Unlock()
	return m.pace.seconds(float64(m.wanted+n) / float64(m.total))
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
	for waits := int64(0); ; {
		m.lock.Lock()
		delete(m.bodies, s)
		m.wanted -= waits
		if more := max(n-s.held, 0); m.left >= more {
			m.left -= more
			s.held += more
			s.worked = time.Now()
			m.lock.Unlock()
			return nil
		}
		waits = n - s.held
		m.wanted += waits
		freed := m.freed
		m.lock.Unlock()
		select {
		case <-freed:
		case <-timed.Done():
			m.lock.Lock()
			m.wanted -= waits
			m.lock.Unlock()
			if ctx.Err() != nil {
				return ctx.Err()
			}
			return busy(m.retryAfter(n), "the memory for requests of this size is taken; this one was not begun")
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
	if !s.worked.IsZero() {
		m.pace.note(time.Since(s.worked))
	}
	close(m.freed)
	m.freed = make(chan struct{})
}

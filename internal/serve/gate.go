package serve

import (
	"context"
	"errors"
	"net/http"
	"sync/atomic"
	"time"
)

// gate lets a number of heavy calculations run at once and a number wait;
// more are turned away, so that light ones stay quick.
type gate struct {
	slots   chan struct{}
	waiting atomic.Int64
	queue   int64
}

func newGate(slots, queue int) *gate {
	return &gate{slots: make(chan struct{}, slots), queue: int64(queue)}
}

// retryAfter is how many seconds a client that was turned away should wait.
const retryAfter = 2

// enter waits for a slot and returns the way out.
func (g *gate) enter(ctx context.Context) (leave func(), err error) {
	leave = func() { <-g.slots }
	select {
	case g.slots <- struct{}{}:
		return leave, nil
	default:
	}
	if g.waiting.Add(1) > g.queue {
		g.waiting.Add(-1)
		return nil, busy("all places for heavy calculations are taken; try again shortly")
	}
	defer g.waiting.Add(-1)
	select {
	case g.slots <- struct{}{}:
		return leave, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

func busy(detail string) *Problem {
	p := problem(http.StatusServiceUnavailable, "%s", detail)
	p.retryAfter = retryAfter
	return p
}

// class is what a request may take: its time, and for heavy ones a place.
type class struct {
	limit time.Duration
	gate  *gate // nil for light ones
}

// within runs f, which computes and neither reads nor writes: a slow client
// must not hold a place.
func (k class) within(ctx context.Context, f func(context.Context) error) error {
	if k.gate == nil {
		timed := untilThen{ctx, time.Now().Add(k.limit)}
		return k.late(timed, f(timed))
	}
	timed, cancel := context.WithTimeout(ctx, k.limit)
	defer cancel()
	waiting, entered := step(timed, "wait for a place")
	leave, err := k.gate.enter(waiting)
	entered()
	if err != nil {
		return k.late(timed, err)
	}
	defer leave()
	calculating, done := step(timed, "calculate")
	defer done()
	return k.late(timed, f(calculating))
}

// untilThen is a context with a deadline but without its timer, which would
// cost a short calculation a twentieth of its time. Who asks Err hears of the
// deadline; Done, and contexts derived from this one, tell only of the client.
type untilThen struct {
	context.Context
	then time.Time
}

func (u untilThen) Deadline() (time.Time, bool) { return u.then, true }

func (u untilThen) Err() error {
	if !time.Now().Before(u.then) {
		return context.DeadlineExceeded
	}
	return u.Context.Err()
}

// late words the end of a request's time.
func (k class) late(timed context.Context, err error) error {
	if err != nil && errors.Is(err, context.DeadlineExceeded) && errors.Is(timed.Err(), context.DeadlineExceeded) {
		return busy("the calculation did not finish within " + k.limit.String() + "; ask for less at once, or for a coarser answer")
	}
	return err
}

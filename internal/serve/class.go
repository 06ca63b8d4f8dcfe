package serve

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/go-chi/chi/v5/middleware"

	"pourwright/internal/calc"
)

// class is what a request may take: its time, and for heavy ones a place.
type class struct {
	limit time.Duration
	gate  *gate  // nil for light ones
	cores int    // that a place has
	what  string // the calculations that share the places
}

// clientKey marks a context with the key that a client has shown.
type clientKey struct{}

// clientOf names the client of a request for sharing out places: the key it
// has shown, else its address.
func clientOf(ctx context.Context) string {
	if key, ok := ctx.Value(clientKey{}).(string); ok {
		return key
	}
	return networkOf(middleware.GetClientIP(ctx))
}

// within runs f, which computes and neither reads nor writes: a slow client
// must not hold a place. Waiting for the place is not part of f's time.
func (k class) within(ctx context.Context, f func(context.Context) error) error {
	if k.gate == nil {
		timed := untilThen{ctx, time.Now().Add(k.limit)}
		return k.late(timed, f(timed))
	}
	return k.hold(ctx, false, func(ctx context.Context) error {
		timed, cancel := context.WithTimeout(ctx, k.limit)
		defer cancel()
		calculating, done := step(timed, "calculate")
		defer done()
		return k.late(timed, f(calculating))
	})
}

// hold runs f in a place, on the cores that the place has.
func (k class) hold(ctx context.Context, goesOn bool, f func(context.Context) error) error {
	leave, err := k.enter(ctx, goesOn)
	if err != nil {
		return err
	}
	defer leave()
	return f(calc.WithCores(ctx, k.cores))
}

// enter waits for a place, as long as a calculation may take, and says
// honestly what became of it.
func (k class) enter(ctx context.Context, goesOn bool) (leave func(), err error) {
	timed, cancel := context.WithTimeout(ctx, k.limit)
	defer cancel()
	waiting, entered := step(timed, "wait for a place")
	defer entered()
	leave, err = k.gate.enter(waiting, clientOf(ctx), goesOn)
	switch {
	case err == nil:
		return leave, nil
	case errors.Is(err, errFull):
		_, waiting := k.gate.counts()
		return nil, busy(k.gate.retryAfter(), "%d requests wait for a place among %s already, as many as may; nothing was begun", waiting, k.what)
	case errors.Is(err, errDisplaced):
		return nil, busy(k.gate.retryAfter(), "this request gave up its place in the queue of %s to another client, as yours has the most waiting; it was not begun", k.what)
	case ctx.Err() == nil:
		return nil, busy(k.gate.retryAfter(), "no place among %s came free within %s; the calculation was not begun", k.what, k.limit)
	}
	return nil, ctx.Err()
}

func busy(seconds int, detail string, args ...any) *Problem {
	p := problem(503, detail, args...)
	p.Detail += fmt.Sprintf("; try again in %d s", seconds)
	p.retryAfter = seconds
	return p
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

// lateRetry is when to send a calculation again that took too long, in
// seconds: with less in it, at once, so it is the least there is.
const lateRetry = 1

// late words the end of a request's time.
func (k class) late(timed context.Context, err error) error {
	if err != nil && errors.Is(err, context.DeadlineExceeded) && errors.Is(timed.Err(), context.DeadlineExceeded) {
		return k.overdue()
	}
	return err
}

func (k class) overdue() error {
	p := problem(503, "the calculation did not finish within %s, which it had for itself; ask for less at once, or for a coarser answer", k.limit)
	p.retryAfter = lateRetry
	return p
}

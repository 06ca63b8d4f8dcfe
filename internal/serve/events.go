package serve

import (
	"context"
	"fmt"
	"net/http"
	"sync"

	"github.com/danielgtaylor/huma/v2"

	"pourwright/internal/calc"
	"pourwright/internal/wire"
)

// events answers as server-sent events: progress while the calculation runs,
// then one event named answer or problem.
func (e *endpoint) events(c huma.Context, ctx context.Context, in any) (reply, error) {
	c.SetHeader("Content-Type", mediaEvents)
	c.SetHeader("Cache-Control", "no-store")
	c.SetStatus(http.StatusOK)
	// What is sent while the calculation runs is sent by another goroutine:
	// a slow client misses steps of the progress and holds up nothing.
	steps := make(chan []byte, 1)
	var sending sync.WaitGroup
	sending.Go(func() {
		for b := range steps {
			sendEvent(c, "progress", b)
		}
	})
	ctx = calc.WithProgress(ctx, func(fraction float64, doing string) {
		b, _ := wire.JSON(struct {
			Fraction float64 `json:"fraction"`
			Doing    string  `json:"doing"`
		}{fraction, doing})
		select {
		case steps <- b:
		default:
		}
	})
	var out any
	err := e.class.within(ctx, func(ctx context.Context) (err error) {
		out, err = e.Run(ctx, in)
		return err
	})
	close(steps) // the calculation has ended, with all that it started
	sending.Wait()
	var b []byte
	if err == nil {
		b, err = wire.JSON(out)
	}
	if err != nil {
		sendEvent(c, "problem", encodeProblem(problemOf(err, "body")))
	} else {
		sendEvent(c, "answer", b)
	}
	return reply{}, errWritten
}

func sendEvent(c huma.Context, event string, data []byte) {
	_, _ = fmt.Fprintf(c.BodyWriter(), "event: %s\ndata: %s\n\n", event, data)
	if f, ok := c.BodyWriter().(http.Flusher); ok {
		f.Flush()
	}
}

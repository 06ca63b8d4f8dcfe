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
	var lock sync.Mutex
	send := func(event string, data []byte) {
		lock.Lock()
		defer lock.Unlock()
		_, _ = fmt.Fprintf(c.BodyWriter(), "event: %s\ndata: %s\n\n", event, data)
		if f, ok := c.BodyWriter().(http.Flusher); ok {
			f.Flush()
		}
	}
	c.SetHeader("Content-Type", mediaEvents)
	c.SetHeader("Cache-Control", "no-store")
	c.SetStatus(http.StatusOK)
	ctx = calc.WithProgress(ctx, func(fraction float64, doing string) {
		b, _ := wire.JSON(struct {
			Fraction float64 `json:"fraction"`
			Doing    string  `json:"doing"`
		}{fraction, doing})
		send("progress", b)
	})
	var out any
	err := e.class.within(ctx, func(ctx context.Context) (err error) {
		out, err = e.Run(ctx, in)
		return err
	})
	var b []byte
	if err == nil {
		b, err = wire.JSON(out)
	}
	if err != nil {
		send("problem", encodeProblem(problemOf(err, "body")))
	} else {
		send("answer", b)
	}
	return reply{}, errWritten
}

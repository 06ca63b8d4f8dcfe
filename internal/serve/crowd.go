package serve

import (
	"container/list"
	"context"
	"net"
	"net/http"
	"sync"
)

// crowd keeps the connections to a number. When there are more, the one is
// closed that was answered longest ago and is only waiting for its end, or
// else the one that has been idle longest: neither who holds sockets open nor
// who is refused a thousand times a second keeps others out.
type crowd struct {
	most int

	lock sync.Mutex
	all  map[net.Conn]*list.Element // in idle or ending, or nil for a connection with a request
	// Of net.Conn, the longest first.
	idle, ending *list.List
}

func newCrowd(most int) *crowd {
	return &crowd{most: most, all: map[net.Conn]*list.Element{}, idle: list.New(), ending: list.New()}
}

// changed is told of each connection's state by the server.
func (c *crowd) changed(conn net.Conn, state http.ConnState) {
	c.lock.Lock()
	c.leave(conn)
	switch state {
	case http.StateNew, http.StateIdle:
		c.all[conn] = c.idle.PushBack(conn)
	case http.StateActive:
		c.all[conn] = nil
	case http.StateHijacked, http.StateClosed:
		delete(c.all, conn)
	}
	out := c.surplus()
	c.lock.Unlock()
	if out != nil {
		_ = out.Close()
	}
}

func (c *crowd) leave(conn net.Conn) {
	if at := c.all[conn]; at != nil {
		c.idle.Remove(at) // a list leaves alone what is not its own
		c.ending.Remove(at)
	}
}

// surplus takes out the connection to close, if there are too many.
func (c *crowd) surplus() net.Conn {
	if len(c.all) <= c.most {
		return nil
	}
	for _, l := range []*list.List{c.ending, c.idle} {
		if first := l.Front(); first != nil {
			delete(c.all, first.Value.(net.Conn))
			return l.Remove(first).(net.Conn)
		}
	}
	return nil
}

// mostDiscarded is the rest of a body that net/http reads away so that the
// connection can serve another request. With more to come it answers, closes
// its half and waits half a second before it closes the other.
const mostDiscarded = 256 << 10

// watched marks connections that were answered and may be waiting for their
// end; one that goes on is idle at once.
func (c *crowd) watched(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		next.ServeHTTP(w, r)
		if r.ContentLength < 0 || r.ContentLength > mostDiscarded || w.Header().Get("Connection") == "close" {
			if conn, ok := r.Context().Value(connKey{}).(net.Conn); ok {
				c.lock.Lock()
				defer c.lock.Unlock()
				if at, here := c.all[conn]; here && at == nil {
					c.all[conn] = c.ending.PushBack(conn)
				}
			}
		}
	})
}

type connKey struct{}

// known lets watched find the connection of a request.
func (c *crowd) known(ctx context.Context, conn net.Conn) context.Context {
	return context.WithValue(ctx, connKey{}, conn)
}

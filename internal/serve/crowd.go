package serve

import (
	"container/list"
	"net"
	"net/http"
	"sync"
)

// crowd keeps the connections to a number: when there are more, the one that
// has been idle longest is closed, so that who only holds sockets open keeps
// nobody out.
type crowd struct {
	most int

	lock sync.Mutex
	all  map[net.Conn]*list.Element // in idle, or nil for a connection with a request
	idle *list.List                 // of net.Conn, the longest first
}

func newCrowd(most int) *crowd {
	return &crowd{most: most, all: map[net.Conn]*list.Element{}, idle: list.New()}
}

// changed is told of each connection's state by the server.
func (c *crowd) changed(conn net.Conn, state http.ConnState) {
	var out net.Conn
	c.lock.Lock()
	if at := c.all[conn]; at != nil {
		c.idle.Remove(at)
	}
	switch state {
	case http.StateNew, http.StateIdle:
		c.all[conn] = c.idle.PushBack(conn)
	case http.StateActive:
		c.all[conn] = nil
	case http.StateHijacked, http.StateClosed:
		delete(c.all, conn)
	}
	if len(c.all) > c.most && c.idle.Len() > 0 {
		first := c.idle.Front()
		out = first.Value.(net.Conn)
		c.idle.Remove(first)
		delete(c.all, out)
	}
	c.lock.Unlock()
	if out != nil {
		_ = out.Close()
	}
}

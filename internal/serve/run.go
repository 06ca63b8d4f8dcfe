package serve

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"time"
)

// drainTime is how long a stop waits for requests under way.
const drainTime = 20 * time.Second

// receiveBuffer is what the system may hold of a connection's bytes that we have
// not read. Left to itself Linux grows it to 6 MiB, which a thousand refused
// uploads, half a second each until they are cut, make into all the memory that
// the machine has for TCP; a container's share counts it too. 128 KiB (doubled
// by Linux) still carries 5 MB/s over 50 ms.
const receiveBuffer = 128 << 10

// Run listens on addr and serves s until ctx ends, then lets requests under
// way finish.
func (s *Server) Run(ctx context.Context, addr string) error {
	listener, err := net.Listen("tcp", addr)
	if err != nil {
		return err
	}
	return s.Serve(ctx, listener)
}

// Serve is Run for a listener that is there already. It logs the real address.
func (s *Server) Serve(ctx context.Context, listener net.Listener) error {
	server := &http.Server{
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       10 * time.Second,            // a long body has longer, while it comes: see bodies
		WriteTimeout:      s.longest + 120*time.Second, // reading and sending besides
		IdleTimeout:       60 * time.Second,
		MaxHeaderBytes:    16 << 10,
		ErrorLog:          slog.NewLogLogger(s.log.Handler(), slog.LevelWarn),
	}
	crowd := newCrowd(s.connections)
	server.ConnState = crowd.changed
	server.ConnContext = func(ctx context.Context, conn net.Conn) context.Context {
		if tcp, ok := conn.(*net.TCPConn); ok {
			_ = tcp.SetReadBuffer(receiveBuffer) // refused, it costs memory and nothing else
		}
		return crowd.known(ctx, conn)
	}
	server.Handler = crowd.watched(s)
	s.log.Info("listening", "url", "http://"+listener.Addr().String())
	served := make(chan error, 1)
	go func() { served <- server.Serve(listener) }()
	go s.contract.prepare()
	select {
	case err := <-served:
		return err
	case <-ctx.Done():
	}
	s.log.Info("stopping")
	s.ready.Store(false)
	time.Sleep(s.settle) // let load balancers see it before the door closes; another signal ends the program
	drain, cancel := context.WithTimeout(context.WithoutCancel(ctx), drainTime)
	defer cancel()
	if err := server.Shutdown(drain); err != nil {
		return err
	}
	if err := <-served; !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

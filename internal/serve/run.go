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
		Handler:           s,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       10 * time.Second,            // a long body has longer, while it comes: see bodies
		WriteTimeout:      s.longest + 120*time.Second, // reading and sending besides
		IdleTimeout:       60 * time.Second,
		MaxHeaderBytes:    16 << 10,
		ErrorLog:          slog.NewLogLogger(s.log.Handler(), slog.LevelWarn),
	}
	crowd := newCrowd(s.connections)
	server.ConnState = crowd.changed
	s.log.Info("listening", "url", "http://"+listener.Addr().String())
	served := make(chan error, 1)
	go func() { served <- server.Serve(listener) }()
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

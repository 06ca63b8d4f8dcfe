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

// Run listens on addr and serves h until ctx ends, then lets requests under
// way finish.
func Run(ctx context.Context, addr string, h http.Handler, log *slog.Logger) error {
	listener, err := net.Listen("tcp", addr)
	if err != nil {
		return err
	}
	return On(ctx, listener, h, log)
}

// On is Run for a listener that is there already. It logs the real address.
func On(ctx context.Context, listener net.Listener, h http.Handler, log *slog.Logger) error {
	server := &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       60 * time.Second,
		WriteTimeout:      120 * time.Second,
		IdleTimeout:       60 * time.Second,
		MaxHeaderBytes:    16 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
	log.Info("listening", "url", "http://"+listener.Addr().String())
	served := make(chan error, 1)
	go func() { served <- server.Serve(listener) }()
	select {
	case err := <-served:
		return err
	case <-ctx.Done():
	}
	log.Info("stopping")
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

package cli

import (
	"context"
	"flag"
	"fmt"
	"io"
	"net"
	"net/http"
	"time"
)

// healthCommand asks a server of this machine whether it is ready, for
// images that hold no other program to ask with.
func healthCommand(ctx context.Context, args []string, getenv func(string) string, _, stderr io.Writer) error {
	flags := flag.NewFlagSet("health", flag.ContinueOnError)
	addr := flags.String("addr", or(getenv("POURWRIGHT_ADDR"), "127.0.0.1:8080"), "address that the server listens on (POURWRIGHT_ADDR)")
	if err := parse(flags, args, stderr); err != nil {
		return err
	}
	host, port, err := net.SplitHostPort(*addr)
	if err != nil {
		return err
	}
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	ctx, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+net.JoinHostPort(host, port)+"/readyz", nil)
	if err != nil {
		return err
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	if response.StatusCode != http.StatusOK {
		return fmt.Errorf("not ready: %s", response.Status)
	}
	return nil
}

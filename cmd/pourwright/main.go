// Command pourwright serves the calculations of a casting studio over HTTP.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"pourwright/internal/cli"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // a second signal ends the program at once
	os.Exit(cli.Run(ctx, os.Args[1:], os.Getenv, os.Stdout, os.Stderr))
}

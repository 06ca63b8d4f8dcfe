// Package cli is the command line of the program: what to serve and where,
// from flags and the environment, and the commands that write files.
package cli

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"log/slog"

	"pourwright/api"
	"pourwright/internal/serve"
	"pourwright/internal/tracing"
	"pourwright/internal/web"
)

// Version of the program and of its contract.
const Version = "0.1.0"

const usage = `usage: pourwright COMMAND [flags]

  serve      serve the API, its documentation and the class page
  demo       post the demo commission to a server of its own and print the plan
  demo-order do the same with an order of several pieces
  openapi    write the contract to standard output
  prior      work out again what is held of clays and hands before any pour (minutes)
  health     ask a running server whether it is ready
  workbook   write the starter workbook to standard output

pourwright COMMAND -h lists the flags; each has an environment variable.
`

// Run carries out one command line and returns the exit status.
func Run(ctx context.Context, args []string, getenv func(string) string, stdout, stderr io.Writer) int {
	if len(args) == 0 {
		_, _ = io.WriteString(stderr, usage)
		return 2
	}
	commands := map[string]func(context.Context, []string, func(string) string, io.Writer, io.Writer) error{
		"serve": serveCommand, "demo": demoCommand, "demo-order": demoOrderCommand, "openapi": openapiCommand, "prior": priorCommand, "workbook": workbookCommand, "health": healthCommand,
	}
	command, ok := commands[args[0]]
	if !ok {
		_, _ = fmt.Fprintf(stderr, "pourwright: no command %q\n%s", args[0], usage)
		return 2
	}
	switch err := command(ctx, args[1:], getenv, stdout, stderr); {
	case err == nil, errors.Is(err, flag.ErrHelp):
		return 0
	case errors.Is(err, errUsage):
		return 2
	default:
		_, _ = fmt.Fprintln(stderr, "pourwright:", err)
		return 1
	}
}

var errUsage = errors.New("usage")

func newServer(settings serve.Settings) (*serve.Server, error) {
	settings.Page = web.Page()
	return serve.New(settings, api.All, api.Collections, starterWorkbook)
}

// parse reads flags; those not given come from the environment.
func parse(flags *flag.FlagSet, args []string, stderr io.Writer) error {
	flags.SetOutput(stderr)
	err := flags.Parse(args)
	if err == nil && flags.NArg() > 0 {
		_, _ = fmt.Fprintf(stderr, "pourwright %s: unexpected %q\n", flags.Name(), flags.Arg(0))
		return errUsage
	}
	if err != nil && !errors.Is(err, flag.ErrHelp) {
		return errUsage
	}
	return err
}

func or(value, fallback string) string {
	if value == "" {
		return fallback
	}
	return value
}

func serveCommand(ctx context.Context, args []string, getenv func(string) string, _, stderr io.Writer) error {
	flags := flag.NewFlagSet("serve", flag.ContinueOnError)
	addr := flags.String("addr", or(getenv("POURWRIGHT_ADDR"), "127.0.0.1:8080"), "address to listen on, port 0 for a free one (POURWRIGHT_ADDR)")
	settings, err := settingsFrom(flags, args, getenv, stderr)
	if err != nil {
		return err
	}
	lines := slog.NewTextHandler(stderr, nil)
	settings.Log = slog.New(lines)
	traces, err := tracing.FromEnv(ctx, getenv, settings.Log, Version)
	if err != nil {
		return err
	}
	if traces != nil {
		defer traces.Close()
		settings.Trace, settings.Log = traces.Wrap, slog.New(tracing.Marked(lines))
	}
	server, err := newServer(settings)
	if err != nil {
		return err
	}
	return server.Run(ctx, *addr)
}

func openapiCommand(_ context.Context, args []string, _ func(string) string, stdout, stderr io.Writer) error {
	flags := flag.NewFlagSet("openapi", flag.ContinueOnError)
	version := flags.String("format", "3.1", "version of the specification: 3.1 or 3.0")
	asJSON := flags.Bool("json", false, "write JSON instead of YAML")
	if err := parse(flags, args, stderr); err != nil {
		return err
	}
	syntax := "yaml"
	if *asJSON {
		syntax = "json"
	}
	server, err := newServer(serve.DefaultSettings(Version))
	if err != nil {
		return err
	}
	b, err := server.Contract(*version, syntax)
	if err != nil {
		return err
	}
	_, err = stdout.Write(b)
	return err
}

package tracing

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/go-logr/logr"
	"go.opentelemetry.io/otel"
)

const (
	endpoint       = "OTEL_EXPORTER_OTLP_ENDPOINT"
	tracesEndpoint = "OTEL_EXPORTER_OTLP_TRACES_ENDPOINT"
	disabled       = "OTEL_SDK_DISABLED"
	exporter       = "OTEL_TRACES_EXPORTER"
	propagators    = "OTEL_PROPAGATORS"
)

// off reports whether nothing is to be traced.
func off(getenv func(string) string) bool {
	return cmp.Or(getenv(tracesEndpoint), getenv(endpoint)) == "" || strings.EqualFold(getenv(disabled), "true") || getenv(exporter) == "none"
}

// accepted says what variables hold, where the library passes over a mistake
// in silence or the server knows less than the library.
var accepted = []struct {
	names   []string
	accepts string
	ok      func(string) bool
}{
	{[]string{endpoint, tracesEndpoint}, "a URL that begins with http:// or https:// and holds no credentials (they go into OTEL_EXPORTER_OTLP_HEADERS)", isEndpoint},
	{[]string{disabled}, "true or false", func(v string) bool { return strings.EqualFold(v, "true") || strings.EqualFold(v, "false") }},
	{[]string{exporter}, "otlp or none", oneOf("otlp", "none")},
	{[]string{"OTEL_EXPORTER_OTLP_PROTOCOL", "OTEL_EXPORTER_OTLP_TRACES_PROTOCOL"}, "http/protobuf or http/json", oneOf("http/protobuf", "http/json")},
	{[]string{"OTEL_EXPORTER_OTLP_COMPRESSION", "OTEL_EXPORTER_OTLP_TRACES_COMPRESSION"}, "gzip or none", oneOf("gzip", "none")},
	{[]string{propagators}, "tracecontext, with baggage or without, or none", func(v string) bool {
		return !slices.ContainsFunc(strings.Split(v, ","), func(p string) bool { return !oneOf("tracecontext", "baggage", "none")(p) })
	}},
	{[]string{"OTEL_EXPORTER_OTLP_TIMEOUT", "OTEL_EXPORTER_OTLP_TRACES_TIMEOUT", "OTEL_BSP_SCHEDULE_DELAY", "OTEL_BSP_EXPORT_TIMEOUT"},
		"milliseconds, 1 to 600000", within(600_000)},
	{[]string{"OTEL_BSP_MAX_QUEUE_SIZE", "OTEL_BSP_MAX_EXPORT_BATCH_SIZE"}, "a number of spans, 1 to 100000", within(100_000)},
}

func oneOf(words ...string) func(string) bool {
	return func(v string) bool { return slices.Contains(words, v) }
}

func within(most int) func(string) bool {
	return func(v string) bool {
		n, err := strconv.Atoi(v)
		return err == nil && n >= 1 && n <= most
	}
}

func isEndpoint(v string) bool {
	u, err := url.Parse(v)
	return err == nil && (u.Scheme == "http" || u.Scheme == "https") && u.Hostname() != "" && u.User == nil
}

func check(getenv func(string) string) error {
	var faults []error
	for _, a := range accepted {
		for _, name := range a.names {
			v := getenv(name)
			if v == "" || a.ok(v) {
				continue
			}
			if strings.Contains(v, "@") {
				v = "(not shown, as it may hold a password)"
			}
			faults = append(faults, fmt.Errorf("%s=%s: give %s", name, v, a.accepts))
		}
	}
	return errors.Join(faults...)
}

// telling is how often, at most, the log tells of spans that could not be sent.
const telling = time.Minute

// reports is what the library complains of. While it is set up these are bad
// settings; later, spans that could not be sent.
type reports struct {
	log *slog.Logger

	lock    sync.Mutex
	running bool
	faults  []error
	told    time.Time
	untold  int
}

// listen has the library, which knows one listener a process, report to log.
func listen(log *slog.Logger) *reports {
	r := &reports{log: log}
	otel.SetErrorHandler(otel.ErrorHandlerFunc(func(err error) { r.tell(err.Error()) }))
	otel.SetLogger(logr.FromSlogHandler(complaints{r}))
	return r
}

func (r *reports) tell(what string) {
	r.lock.Lock()
	defer r.lock.Unlock()
	if !r.running {
		r.faults = append(r.faults, errors.New("traces: "+what))
		return
	}
	if !r.told.IsZero() && time.Since(r.told) < telling {
		r.untold++
		return
	}
	r.log.Warn("traces are not sent", "error", what, "untold", r.untold)
	r.told, r.untold = time.Now(), 0
}

// started ends the setting up and returns what was wrong with it.
func (r *reports) started() error {
	r.lock.Lock()
	defer r.lock.Unlock()
	r.running = true
	return errors.Join(r.faults...)
}

// complaints takes the errors out of the library's own log, without their
// details: those of headers are secrets.
type complaints struct{ to *reports }

func (c complaints) Enabled(_ context.Context, level slog.Level) bool {
	return level >= slog.LevelError
}

func (c complaints) Handle(_ context.Context, r slog.Record) error {
	what := r.Message
	r.Attrs(func(a slog.Attr) bool {
		if a.Key == "err" {
			what += ": " + a.Value.String()
		}
		return true
	})
	c.to.tell(what)
	return nil
}

func (c complaints) WithAttrs([]slog.Attr) slog.Handler { return c }

func (c complaints) WithGroup(string) slog.Handler { return c }

// Package tracing sends a span of each request to an OpenTelemetry collector,
// where the environment names one.
package tracing

import (
	"context"
	"log/slog"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"
	"go.opentelemetry.io/contrib/instrumentation/net/http/otelhttp"
	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/exporters/otlp/otlptrace/otlptracehttp"
	metricnoop "go.opentelemetry.io/otel/metric/noop"
	"go.opentelemetry.io/otel/propagation"
	"go.opentelemetry.io/otel/sdk/resource"
	sdktrace "go.opentelemetry.io/otel/sdk/trace"
	semconv "go.opentelemetry.io/otel/semconv/v1.43.0"
	"go.opentelemetry.io/otel/trace"
)

// flushTime bounds how long a stopping server waits for its last spans to be sent.
const flushTime = 3 * time.Second

// Tracing records spans and sends them. A span that finds the queue full is
// dropped: no request waits for the collector.
type Tracing struct {
	provider    *sdktrace.TracerProvider
	propagators propagation.TextMapPropagator
	log         *slog.Logger
	flush       time.Duration
}

// FromEnv reads the variables that OpenTelemetry specifies. It returns nil
// where they name no endpoint or turn the SDK off, and an error where one
// cannot be read. getenv decides and is checked; the library then reads the
// process's own environment.
func FromEnv(ctx context.Context, getenv func(string) string, log *slog.Logger, version string) (*Tracing, error) {
	if off(getenv) {
		return nil, nil
	}
	if err := check(getenv); err != nil {
		return nil, err
	}
	heard := listen(log)
	about, err := resource.New(ctx, resource.WithTelemetrySDK(),
		resource.WithAttributes(semconv.ServiceName("pourwright"), semconv.ServiceVersion(version)), resource.WithFromEnv())
	if err != nil {
		heard.tell("OTEL_RESOURCE_ATTRIBUTES: " + err.Error())
	}
	exporter, err := otlptracehttp.New(ctx)
	if err != nil {
		heard.tell(err.Error())
		return nil, heard.started()
	}
	t := &Tracing{log: log, flush: flushTime, propagators: propagation.NewCompositeTextMapPropagator()}
	t.provider = sdktrace.NewTracerProvider(sdktrace.WithResource(about), sdktrace.WithBatcher(outgoing{exporter}))
	if p := getenv(propagators); p == "" || slices.Contains(strings.Split(p, ","), "tracecontext") {
		t.propagators = propagation.TraceContext{}
	}
	if err := heard.started(); err != nil {
		t.Close()
		return nil, err
	}
	return t, nil
}

// Close sends what is left, within a time.
func (t *Tracing) Close() {
	ctx, cancel := context.WithTimeout(context.Background(), t.flush)
	defer cancel()
	if err := t.provider.Shutdown(ctx); err != nil {
		t.log.Warn("the last traces were not sent", "error", err)
	}
}

// Wrap puts a span around each request, below the caller's (W3C traceparent).
// It wants chi's request id and routing context.
func (t *Tracing) Wrap(next http.Handler) http.Handler {
	named := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() { // the route is known afterwards
			span := trace.SpanFromContext(r.Context())
			span.SetName(spanName("", r))
			span.SetAttributes(requestID.String(clip(middleware.GetReqID(r.Context()))))
			if route := routeOf(r); route != "" {
				span.SetAttributes(semconv.HTTPRoute(route))
			}
		}()
		next.ServeHTTP(w, r)
	})
	return otelhttp.NewHandler(named, "", otelhttp.WithTracerProvider(t.provider), otelhttp.WithPropagators(t.propagators),
		otelhttp.WithMeterProvider(metricnoop.NewMeterProvider()), otelhttp.WithSpanNameFormatter(spanName),
		otelhttp.WithFilter(func(r *http.Request) bool { return !slices.Contains(untraced, r.URL.Path) }))
}

// untraced are the paths that machines ask all day long.
var untraced = []string{"/healthz", "/readyz", "/metrics"}

var methods = []string{http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete, http.MethodConnect, http.MethodOptions, http.MethodTrace}

// spanName is the method and the route's pattern, of which there are few; HTTP
// stands for a method of the caller's own, as the semantic conventions have it.
func spanName(_ string, r *http.Request) string {
	method := r.Method
	if !slices.Contains(methods, method) {
		method = "HTTP"
	}
	return strings.TrimSpace(method + " " + routeOf(r))
}

func routeOf(r *http.Request) string { return chi.RouteContext(r.Context()).RoutePattern() }

// clip bounds a request id, which a caller may have chosen.
func clip(id string) string { return strings.ToValidUTF8(id[:min(len(id), 128)], "") }

const requestID = attribute.Key("pourwright.request_id")

// leaving are the attributes that leave the house. The library also notes
// addresses, paths, hosts and programs of the callers.
var leaving = []attribute.Key{
	requestID, semconv.HTTPRequestMethodKey, semconv.HTTPRouteKey, semconv.HTTPResponseStatusCodeKey,
	semconv.HTTPRequestBodySizeKey, semconv.HTTPResponseBodySizeKey, semconv.URLSchemeKey,
	semconv.NetworkProtocolNameKey, semconv.NetworkProtocolVersionKey,
}

// outgoing takes every other attribute off the spans that are sent.
type outgoing struct{ sdktrace.SpanExporter }

func (o outgoing) ExportSpans(ctx context.Context, spans []sdktrace.ReadOnlySpan) error {
	bare := make([]sdktrace.ReadOnlySpan, len(spans))
	for i, s := range spans {
		bare[i] = bareSpan{s}
	}
	return o.SpanExporter.ExportSpans(ctx, bare)
}

type bareSpan struct{ sdktrace.ReadOnlySpan }

func (b bareSpan) Attributes() []attribute.KeyValue {
	return slices.DeleteFunc(slices.Clone(b.ReadOnlySpan.Attributes()), func(a attribute.KeyValue) bool { return !slices.Contains(leaving, a.Key) })
}

// Marked is the handler h of a log with the trace_id on the lines of requests
// whose span is recorded.
func Marked(h slog.Handler) slog.Handler { return marked{h} }

type marked struct{ slog.Handler }

func (m marked) Handle(ctx context.Context, r slog.Record) error {
	if span := trace.SpanContextFromContext(ctx); span.IsSampled() {
		r.AddAttrs(slog.String("trace_id", span.TraceID().String()))
	}
	return m.Handler.Handle(ctx, r)
}

func (m marked) WithAttrs(attrs []slog.Attr) slog.Handler { return marked{m.Handler.WithAttrs(attrs)} }

func (m marked) WithGroup(name string) slog.Handler { return marked{m.Handler.WithGroup(name)} }

package serve

import (
	"context"

	"go.opentelemetry.io/otel/trace"
)

// step begins a span below the request's, where that is recorded.
func step(ctx context.Context, name string) (inside context.Context, end func()) {
	request := trace.SpanFromContext(ctx)
	if !request.IsRecording() {
		return ctx, func() {}
	}
	inside, span := request.TracerProvider().Tracer("pourwright/internal/serve").Start(ctx, name)
	return inside, func() { span.End() }
}

package calc

import (
	"context"
	"runtime"
)

type coresKey struct{}

// WithCores returns a context whose calculations share their work among at most
// n cores. Answers do not depend on how many there are.
func WithCores(ctx context.Context, n int) context.Context {
	return context.WithValue(ctx, coresKey{}, max(n, 1))
}

// Cores is how many cores a calculation may use at once: those that it was
// given, else all.
func Cores(ctx context.Context) int {
	if n, ok := ctx.Value(coresKey{}).(int); ok {
		return min(n, runtime.GOMAXPROCS(0))
	}
	return runtime.GOMAXPROCS(0)
}

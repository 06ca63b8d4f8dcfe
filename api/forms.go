package api

import (
	"context"

	"pourwright/internal/draw"
)

// svg, png and pdf make a form of an answer of the function that draws it.
func svg[I, O any](of func(I, O) *draw.Sheet) func(context.Context, I, O) ([]byte, error) {
	return func(_ context.Context, in I, out O) ([]byte, error) { return of(in, out).SVG() }
}

func png[I, O any](of func(I, O) *draw.Sheet) func(context.Context, I, O) ([]byte, error) {
	const dotsPerInch = 150
	return func(_ context.Context, in I, out O) ([]byte, error) { return of(in, out).PNG(dotsPerInch) }
}

func pdf[I, O any](of func(I, O) *draw.Sheet) func(context.Context, I, O) ([]byte, error) {
	return func(_ context.Context, in I, out O) ([]byte, error) { return draw.PDF(of(in, out)) }
}

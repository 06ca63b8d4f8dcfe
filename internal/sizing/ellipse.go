package sizing

import (
	"math"

	"pourwright/internal/section"
)

// EllipseOf returns the inside width and height in mm of the ellipse of the
// given perimeter whose height is ratio times its width, 0 < ratio <= 1. Exact:
// the perimeter 2 w E(1 - ratio²) grows in proportion to the width.
func EllipseOf(perimeterMM, ratio float64) (widthMM, heightMM float64) {
	w := perimeterMM / section.EllipsePerimeter(0.5, ratio/2)
	return w, w * ratio
}

// EllipseAxis returns the other axis in mm of an ellipse of which one axis and
// the perimeter are given; ok is false where none exists, the perimeter being
// at most twice the axis. Newton's method on the perimeter, which rises with
// the axis and is convex in it, so that it converges from above.
func EllipseAxis(perimeterMM, axisMM float64) (otherMM float64, ok bool) {
	if !(perimeterMM > 2*axisMM) || !(axisMM > 0) {
		return 0, false
	}
	perimeter := func(x float64) float64 { return section.EllipsePerimeter(axisMM/2, x/2) }
	x := perimeterMM / 2 // an ellipse of this axis is longer than twice it, so the root lies below
	for range 60 {
		h := 1e-5 * x
		slope := (perimeter(x+h) - perimeter(x-h)) / (2 * h)
		next := x - (perimeter(x)-perimeterMM)/slope
		if next <= 0 {
			next = x / 2
		}
		if math.Abs(next-x) <= 1e-12*perimeterMM {
			return next, true
		}
		x = next
	}
	return x, true
}

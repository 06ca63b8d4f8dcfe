package draw

import (
	"fmt"
	"math"
)

// Axes is a rectangle of the sheet with a scale along its foot and its left
// side. Leave about 13 mm to its left and 11 mm below for numbers and names.
type Axes struct {
	X, Y, W, H             float64 // the rectangle in mm, from its top left corner
	XMin, XMax, YMin, YMax float64 // what its sides stand for
	XLabel, YLabel         string  // with the unit: "Time, s"
}

// At is the place on the sheet of a pair of values.
func (a Axes) At(x, y float64) Point {
	return Point{a.X + a.W*(x-a.XMin)/(a.XMax-a.XMin), a.Y + a.H*(a.YMax-y)/(a.YMax-a.YMin)}
}

func (a Axes) check() error {
	for _, v := range []struct{ lo, hi float64 }{{a.XMin, a.XMax}, {a.YMin, a.YMax}, {0, a.W}, {0, a.H}} {
		if span := v.hi - v.lo; !(span > 0) || math.IsInf(span, 1) {
			return fmt.Errorf("draw: axes from %g to %g: must rise", v.lo, v.hi)
		}
	}
	return nil
}

// Axes draws the frame, a light grid, the numbers and the names.
func (s *Sheet) Axes(a Axes) {
	if err := a.check(); err != nil {
		s.Fail(err)
		return
	}
	grid, frame := Stroke(Grey(0.85), 0.12), Stroke(Black, 0.2)
	number := TextStyle{SizePt: 7.5}
	for _, v := range Ticks(a.XMin, a.XMax, max(2, int(a.W/16))) {
		at := a.At(v, a.YMin)
		s.Line(at.X, a.Y, at.X, at.Y, grid)
		s.Line(at.X, at.Y, at.X, at.Y+1, frame)
		number.Align = Centre
		s.Text(at.X, at.Y+4.2, Number(v), number)
	}
	widest := 0.0
	for _, v := range Ticks(a.YMin, a.YMax, max(2, int(a.H/11))) {
		at := a.At(a.XMin, v)
		s.Line(at.X, at.Y, a.X+a.W, at.Y, grid)
		s.Line(at.X-1, at.Y, at.X, at.Y, frame)
		number.Align, number.Middle = Right, true
		widest = math.Max(widest, s.Text(at.X-1.6, at.Y, Number(v), number))
	}
	s.Rect(a.X, a.Y, a.W, a.H, frame)
	name := TextStyle{SizePt: 8.5, Align: Centre}
	s.Text(a.X+a.W/2, a.Y+a.H+8.6, a.XLabel, name)
	name.TurnDeg = 90
	s.Text(a.X-widest-3.4, a.Y+a.H/2, a.YLabel, name)
}

// Curve draws a line through pairs of values, cut off at the frame. A NaN, a
// value that is not known, leaves a gap.
func (s *Sheet) Curve(a Axes, x, y []float64, st Style) {
	if err := a.check(); err != nil {
		s.Fail(err)
		return
	}
	if len(x) != len(y) {
		s.Fail(fmt.Errorf("draw: curve of %d by %d values", len(x), len(y)))
		return
	}
	var run []Point
	flush := func() {
		if len(run) > 1 {
			s.Polyline(run, st)
		}
		run = nil
	}
	for i := 1; i < len(x); i++ {
		p, q, ok := a.clip(a.At(x[i-1], y[i-1]), a.At(x[i], y[i]))
		if !ok {
			flush()
			continue
		}
		if len(run) == 0 || run[len(run)-1] != p {
			flush()
			run = append(run, p)
		}
		run = append(run, q)
	}
	flush()
}

// clip cuts a straight line off at the frame (Liang and Barsky); false if
// nothing of it is inside.
func (a Axes) clip(p, q Point) (Point, Point, bool) {
	from, to := 0.0, 1.0
	dx, dy := q.X-p.X, q.Y-p.Y
	for _, side := range []struct{ along, inside float64 }{
		{-dx, p.X - a.X}, {dx, a.X + a.W - p.X}, {-dy, p.Y - a.Y}, {dy, a.Y + a.H - p.Y},
	} {
		switch r := side.inside / side.along; {
		case math.IsNaN(side.along) || math.IsInf(side.along, 0) || math.IsNaN(side.inside):
			return p, q, false
		case side.along == 0:
			if side.inside < 0 {
				return p, q, false
			}
		case side.along < 0:
			from = math.Max(from, r)
		default:
			to = math.Min(to, r)
		}
	}
	if from >= to {
		return p, q, false
	}
	start, end := p, q
	if from > 0 {
		start = Point{p.X + from*dx, p.Y + from*dy}
	}
	if to < 1 {
		end = Point{p.X + to*dx, p.Y + to*dy}
	}
	return start, end, true
}

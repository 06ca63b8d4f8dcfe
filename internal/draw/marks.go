package draw

import (
	"fmt"
	"math"
	"slices"

	"github.com/tdewolff/canvas"
)

// Hatch fills an area (an outline and holes, as in Area) with parallel lines a
// spacing in mm apart, rising at an angle. Hatching tells areas apart where
// colours do not: in grey print and for colour-blind readers.
func (s *Sheet) Hatch(rings [][]Point, spacingMM, angleDeg float64, st Style) {
	const fewest = 0.3 // mm; below it hatching is a grey area and a huge file
	if !s.sane("hatch", spacingMM, angleDeg) {
		return
	}
	if spacingMM < fewest {
		s.Fail(fmt.Errorf("draw: hatch %g mm apart: at least %g", spacingMM, fewest))
		return
	}
	// In the turned frame the lines lie level; y still runs down.
	sin, cos := math.Sincos(angleDeg * math.Pi / 180)
	level := func(p Point) Point { return Point{p.X*cos - p.Y*sin, p.X*sin + p.Y*cos} }
	back := func(p Point) Point { return Point{p.X*cos + p.Y*sin, -p.X*sin + p.Y*cos} }
	top, bottom := math.Inf(1), math.Inf(-1)
	turned := make([][]Point, len(rings))
	for i, ring := range rings {
		for _, p := range ring {
			if !s.sane("hatch", p.X, p.Y) {
				return
			}
			q := level(p)
			top, bottom = math.Min(top, q.Y), math.Max(bottom, q.Y)
			turned[i] = append(turned[i], q)
		}
	}
	lines := &canvas.Path{}
	for y := math.Ceil(top/spacingMM) * spacingMM; y < bottom; y += spacingMM {
		cuts := crossings(turned, y)
		for i := 0; i+1 < len(cuts); i += 2 {
			s.trace("hatch", lines, []Point{back(Point{cuts[i], y}), back(Point{cuts[i+1], y})})
		}
	}
	s.path(lines, st)
}

// crossings are the places in order where a level line meets the rings.
func crossings(rings [][]Point, y float64) []float64 {
	var at []float64
	for _, ring := range rings {
		for i, p := range ring {
			q := ring[(i+1)%len(ring)]
			if (p.Y <= y) != (q.Y <= y) {
				at = append(at, p.X+(y-p.Y)/(q.Y-p.Y)*(q.X-p.X))
			}
		}
	}
	slices.Sort(at)
	return at
}

// Arrow draws a line with a head of 2.2 mm at its end.
func (s *Sheet) Arrow(x1, y1, x2, y2 float64, st Style) {
	const long, half = 2.2, 0.65 // mm
	length := math.Hypot(x2-x1, y2-y1)
	if !s.sane("arrow", x1, y1, x2, y2) || length == 0 {
		return
	}
	ux, uy := (x2-x1)/length, (y2-y1)/length
	head := math.Min(long, length)
	s.Line(x1, y1, x2-0.8*head*ux, y2-0.8*head*uy, st)
	s.Polygon([]Point{{x2, y2},
		{x2 - head*ux - half*uy, y2 - head*uy + half*ux},
		{x2 - head*ux + half*uy, y2 - head*uy - half*ux}}, Filled(st.Line))
}

// Dimension marks the distance between two points with a label, on a line
// beside them; a positive offset in mm lies to the left as one looks from the
// first point to the second.
func (s *Sheet) Dimension(x1, y1, x2, y2, offsetMM float64, label string, st TextStyle) {
	length := math.Hypot(x2-x1, y2-y1)
	if !s.sane("dimension", x1, y1, x2, y2, offsetMM) || length == 0 {
		return
	}
	ux, uy := (x2-x1)/length, (y2-y1)/length
	nx, ny := uy, -ux // to the left, y running down
	fine := Stroke(Grey(0.25), 0.15)
	reach := offsetMM + math.Copysign(1, offsetMM)
	for _, p := range []Point{{x1, y1}, {x2, y2}} {
		s.Line(p.X+nx*math.Copysign(0.6, offsetMM), p.Y+ny*math.Copysign(0.6, offsetMM), p.X+nx*reach, p.Y+ny*reach, fine)
	}
	ax, ay, bx, by := x1+nx*offsetMM, y1+ny*offsetMM, x2+nx*offsetMM, y2+ny*offsetMM
	mx, my := (ax+bx)/2, (ay+by)/2
	if length >= 7 { // arrows outside would need room that short distances have not
		s.Arrow(mx, my, ax, ay, fine)
	}
	s.Arrow(mx, my, bx, by, fine)
	st.Align = Centre
	st.TurnDeg = math.Atan2(-uy, ux) * 180 / math.Pi
	if st.TurnDeg > 90+1e-6 || st.TurnDeg <= -90+1e-6 { // never upside down; upright ones read from the right
		st.TurnDeg += 180
	}
	sin, cos := math.Sincos(st.TurnDeg * math.Pi / 180)
	s.Text(mx-0.9*sin, my-0.9*cos, label, st)
}

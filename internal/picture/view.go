package picture

import (
	"math"
	"slices"

	"pourwright/internal/draw"
)

// view is a part of the sheet with its own origin, in mm of the thing drawn.
type view struct {
	s           *draw.Sheet
	x, y, scale float64
}

func (v view) at(x, y float64) draw.Point {
	return draw.Point{X: v.x + v.scale*x, Y: v.y + v.scale*y}
}

func (v view) points(xy ...float64) []draw.Point {
	var p []draw.Point
	for i := 0; i+1 < len(xy); i += 2 {
		p = append(p, v.at(xy[i], xy[i+1]))
	}
	return p
}

func (v view) line(st draw.Style, xy ...float64) { v.s.Polyline(v.points(xy...), st) }

// box draws clay w by h in its flask; hatched when cut.
func (v view) box(x, y, w, h, hatchDeg float64) {
	ring := v.points(x, y, x+w, y, x+w, y+h, x, y+h)
	v.s.Polygon(ring, draw.Filled(clay))
	if hatchDeg != 0 {
		v.s.Hatch([][]draw.Point{ring}, 3, hatchDeg, draw.Stroke(draw.Grey(0.6), 0.1))
	}
}

// wall draws the flask's frame around w by h, open at the top over the funnel.
func (v view) wall(w, h, openFrom, openTo float64) {
	const half = wallMM / 2
	p, q := v.at(0, 0), v.at(w, h)
	from, to := v.at(openFrom, 0).X, v.at(openTo, 0).X
	st := draw.Stroke(draw.Grey(0.35), wallMM)
	if openTo > openFrom {
		v.s.Polyline([]draw.Point{{X: from, Y: p.Y - half}, {X: p.X - half, Y: p.Y - half}, {X: p.X - half, Y: q.Y + half},
			{X: q.X + half, Y: q.Y + half}, {X: q.X + half, Y: p.Y - half}, {X: to, Y: p.Y - half}}, st)
		return
	}
	v.s.Rect(p.X-half, p.Y-half, q.X-p.X+wallMM, q.Y-p.Y+wallMM, st)
}

// metal fills a form with metal and hatches it.
func (v view) metal(rings [][]draw.Point, fill draw.Colour) {
	v.s.Area(rings, draw.Filled(fill))
	v.s.Hatch(rings, 1.2, 45, draw.Stroke(draw.Grey(0.45), 0.1))
	v.s.Area(rings, ink)
}

// vent draws a channel that ends at the top of the flask, open through its
// wall, and returns that end.
func (v view) vent(d float64, xy ...float64) draw.Point {
	width := math.Max(0.5, v.scale*d)
	points := v.points(xy...)
	top := &points[len(points)-1]
	top.Y -= wallMM
	v.s.Polyline(points, draw.Stroke(draw.Black, width))
	v.s.Polyline(points, draw.Stroke(draw.White, width-0.25))
	return *top
}

// nameVents writes "vent" over the ends that stand far enough from one named.
func (v view) nameVents(tops []draw.Point) {
	const apart = 8.0 // mm
	for i, p := range tops {
		if slices.ContainsFunc(tops[:i], func(q draw.Point) bool { return math.Abs(p.X-q.X) < apart }) {
			continue
		}
		v.s.Text(p.X, p.Y-1.2, "vent", draw.TextStyle{SizePt: 6.5, Align: draw.Centre, Colour: quiet.Colour})
	}
}

// funnel draws the metal of the funnel, cut along its middle at x.
func (m Mould) funnel(v view, x float64) {
	d, half, foot := m.FunnelDepthMM, m.FunnelTopMM/2, m.sprueFoot()/2
	v.metal([][]draw.Point{v.points(x-half, 0, x+half, 0, x+foot, d, x-foot, d)}, feed)
}

func (m Mould) sprueFoot() float64 { return math.Min(m.SprueMM, m.FunnelTopMM) }

// sprue draws the metal of a straight sprue from the funnel's foot at x to a gate.
func (m Mould) sprue(v view, x, toX, toY, gate float64) {
	d, foot := m.FunnelDepthMM, m.sprueFoot()/2
	length := math.Hypot(toX-x, toY-d)
	nx, ny := 1.0, 0.0
	if length > 0 {
		nx, ny = (toY-d)/length, -(toX-x)/length
	}
	v.metal([][]draw.Point{v.points(x-foot, d, x+foot, d, toX+gate/2*nx, toY+gate/2*ny, toX-gate/2*nx, toY-gate/2*ny)}, feed)
}

// runner draws a sprue of one width that bends on its way.
func (m Mould) runner(v view, xy ...float64) {
	width := v.scale * m.sprueFoot()
	v.line(draw.Stroke(draw.Black, width+0.3), xy...)
	v.line(draw.Stroke(feed, math.Max(0.2, width-0.3)), xy...)
}

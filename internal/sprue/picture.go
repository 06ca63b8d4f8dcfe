package sprue

import (
	"context"
	"fmt"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/draw"
	"pourwright/internal/shape"
)

// plan of the drawing.
const (
	scale  = 2.0
	margin = 12.0
)

// SVG draws the layout at twice its size: the flask that it asks for, the
// funnel, sprue, runners and gates, and the outline of each piece.
func SVG(ctx context.Context, in In, out Out) ([]byte, error) {
	p, err := read(ctx, in)
	if err != nil {
		return nil, err
	}
	l := Lay(p.system, p.bodies)
	return Draw(l, p.bodies, p.names, in.WallMM, out.WidthMM, out.HeightMM).SVG()
}

// Draw draws a layout. Numbers stand in the pieces, their names below.
func Draw(l Layout, bodies []*shape.Body, names []string, wall, width, height float64) *draw.Sheet {
	s := draw.NewSheet(max(scale*width+2*margin, 100), scale*height+2*margin+5*float64(len(names))+4)
	s.Title = fmt.Sprintf("%d pieces in one flask", len(names))
	s.Description = fmt.Sprintf("%.0f by %.0f mm of flask, seen across the parting plane.", width, height)
	w, _ := s.Size()
	left := (w - scale*width) / 2
	brim := l.System.Funnel.Length
	if l.System.Lying {
		brim = l.High.Y + wall
	}
	at := func(v r3.Vec) draw.Point { return draw.Point{X: w/2 + scale*v.X, Y: margin + scale*(brim-v.Y)} }
	outline, fine := draw.Stroke(draw.Black, 0.3), draw.Stroke(draw.Grey(0.4), 0.2, 1.5, 1)
	metal := draw.Style{Line: draw.Black, WidthMM: 0.2, Fill: draw.Grey(0.88)}
	s.Rect(left, margin, scale*width, scale*height, fine)
	label := draw.TextStyle{SizePt: 8, Align: draw.Centre}
	for _, r := range l.Runs {
		side := r3.Vec{X: r.Diameter / 2}
		if r.From.X != r.To.X {
			side = r3.Vec{Y: r.Diameter / 2}
		}
		s.Polygon([]draw.Point{at(r3.Sub(r.From, side)), at(r3.Add(r.From, side)), at(r3.Add(r.To, side)), at(r3.Sub(r.To, side))}, metal)
	}
	f := l.System.Funnel
	if l.System.Lying {
		c := at(r3.Vec{})
		s.Circle(c.X, c.Y, scale*l.System.Sprue.Diameter/2, metal)
	} else {
		top, foot := r3.Vec{X: f.Diameter / 1.6, Y: f.Length}, r3.Vec{X: l.System.Sprue.Diameter / 2}
		s.Polygon([]draw.Point{at(top), at(r3.Vec{X: -top.X, Y: top.Y}), at(r3.Vec{X: -foot.X}), at(foot)}, metal)
	}
	for _, p := range l.Placed {
		b := bodies[p.Piece]
		var rings [][]draw.Point
		for _, edge := range edges(b) {
			ring := make([]draw.Point, len(edge))
			for i, v := range edge {
				ring[i] = at(p.At(v))
			}
			rings = append(rings, ring)
		}
		s.Area(rings, metal)
		for _, ring := range rings {
			s.Polyline(append(ring, ring[0]), outline)
		}
		middle := at(r3.Scale(0.5, r3.Add(p.Low, p.High)))
		s.Text(middle.X, middle.Y+1, fmt.Sprint(p.Piece+1), label)
	}
	y := margin + scale*height + 6
	for i, name := range names {
		s.Text(left, y+5*float64(i), fmt.Sprintf("%d  %s", i+1, name), draw.TextStyle{SizePt: 8, FitMM: w - left - 2})
	}
	s.Text(left, margin-3, fmt.Sprintf("Flask %.0f × %.0f mm, at %g:1", width, height, scale), draw.TextStyle{SizePt: 8, FitMM: w - left - 2})
	return s
}

// edges are the outlines of a piece in its plan: the outside and the inside of
// a closed band, else one line round it; a bail has two more.
func edges(b *shape.Body) [][]r3.Vec {
	const n = 120
	var inner, outer []r3.Vec
	for _, s := range b.Stations(n) {
		side := s.Out
		half := s.ThicknessMM
		if !b.Kind.Curved() {
			side, half = r3.Vec{Y: 1}, s.WidthMM
		}
		low := s.CentroidMM
		if !b.Kind.Curved() {
			low = half / 2
		}
		inner = append(inner, r3.Sub(s.Centre, r3.Scale(low, side)))
		outer = append(outer, r3.Add(s.Centre, r3.Scale(half-low, side)))
	}
	var rings [][]r3.Vec
	if b.Closed() {
		rings = [][]r3.Vec{outer, inner}
	} else {
		for i := len(inner) - 1; i >= 0; i-- {
			outer = append(outer, inner[i])
		}
		rings = [][]r3.Vec{outer}
	}
	if loop, ok := b.Loop(); ok {
		rings = append(rings, loop.Edges()...)
	}
	return rings
}

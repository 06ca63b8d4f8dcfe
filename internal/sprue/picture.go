package sprue

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/draw"
	"pourwright/internal/shape"
)

const margin = 12.0 // of the drawing, mm

// scales of the drawing, of which the largest that fits is taken.
var scales = []float64{2, 1, 0.5, 0.25}

// SVG draws the layout at twice its size: the flask that it asks for, the
// funnel, sprue, runners and gates, and the outline of each piece.
func SVG(ctx context.Context, in In, out Out) ([]byte, error) {
	p, err := read(ctx, in)
	if err != nil {
		return nil, err
	}
	l := Lay(p.system, p.bodies)
	d := Drawing{l, p.bodies, p.names, out.WidthMM, out.HeightMM, in.WallMM}
	return d.Sheet(math.Inf(1), math.Inf(1)).SVG()
}

// Drawing is what a layout is drawn from, in mm.
type Drawing struct {
	Layout        Layout
	Bodies        []*shape.Body
	Names         []string
	Width, Height float64 // of the flask, inside
	Wall          float64
}

// Sheet draws the layout on a sheet no wider and no higher than given, at twice its
// size at most. Numbers stand in the pieces, names and channels below.
func (d *Drawing) Sheet(wide, high float64) *draw.Sheet {
	notes := d.notes()
	below := 5*float64(len(notes)) + 4
	scale := scales[len(scales)-1]
	for _, k := range scales {
		if k*d.Width+2*margin <= wide && k*d.Height+2*margin+below <= high {
			scale = k
			break
		}
	}
	s := draw.NewSheet(max(scale*d.Width+2*margin, min(150, wide)), scale*d.Height+2*margin+below)
	pieces := fmt.Sprintf("%d pieces", len(d.Names))
	if len(d.Names) == 1 {
		pieces = d.Names[0]
	}
	s.Title = pieces + " in the flask"
	s.Description = fmt.Sprintf("%.0f by %.0f mm of flask, seen across the parting plane.", d.Width, d.Height)
	w, _ := s.Size()
	left, text := (w-scale*d.Width)/2, draw.TextStyle{SizePt: 8, FitMM: w - 4}
	brim := d.Layout.System.Funnel.Length
	if d.Layout.System.Lying {
		brim = d.Layout.High.Y + d.Wall
	}
	at := func(v r3.Vec) draw.Point { return draw.Point{X: w/2 + scale*v.X, Y: margin + scale*(brim-v.Y)} }
	s.Rect(left, margin, scale*d.Width, scale*d.Height, draw.Stroke(draw.Grey(0.4), 0.2, 1.5, 1))
	d.channels(s, at, scale)
	d.pieces(s, at)
	s.Text(2, margin-5, fmt.Sprintf("%s: flask %.0f × %.0f mm inside or more, seen across the parting, at %s", pieces, math.Ceil(d.Width), math.Ceil(d.Height), ratio(scale)), text)
	for i, n := range notes {
		s.Text(2, margin+scale*d.Height+6+5*float64(i), n, text)
	}
	return s
}

var castMetal = draw.Style{Line: draw.Black, WidthMM: 0.2, Fill: draw.Grey(0.88)}

// ratio writes a scale as 2:1 or 1:2.
func ratio(scale float64) string {
	if scale >= 1 {
		return draw.Number(scale) + ":1"
	}
	return "1:" + draw.Number(1/scale)
}

// channels draws funnel, sprue, runners and gates.
func (d *Drawing) channels(s *draw.Sheet, at func(r3.Vec) draw.Point, scale float64) {
	for _, r := range d.Layout.Runs {
		side := r3.Vec{X: r.Diameter / 2}
		if r.From.X != r.To.X {
			side = r3.Vec{Y: r.Diameter / 2}
		}
		s.Polygon([]draw.Point{at(r3.Sub(r.From, side)), at(r3.Add(r.From, side)), at(r3.Add(r.To, side)), at(r3.Sub(r.To, side))}, castMetal)
	}
	system := &d.Layout.System
	if system.Lying {
		c := at(r3.Vec{})
		s.Circle(c.X, c.Y, scale*system.Sprue.Diameter/2, castMetal)
		s.Line(c.X-1, c.Y, c.X+1, c.Y, draw.Stroke(draw.Black, 0.2))
		s.Line(c.X, c.Y-1, c.X, c.Y+1, draw.Stroke(draw.Black, 0.2))
		return
	}
	foot := r3.Vec{X: system.Sprue.Diameter / 2}
	top := r3.Vec{X: max(system.Funnel.Diameter-foot.X, foot.X), Y: system.Funnel.Length} // the mean diameter is half way up
	s.Polygon([]draw.Point{at(top), at(r3.Vec{X: -top.X, Y: top.Y}), at(r3.Vec{X: -foot.X}), at(foot)}, castMetal)
}

// pieces draws the outline of each piece with its number.
func (d *Drawing) pieces(s *draw.Sheet, at func(r3.Vec) draw.Point) {
	outline := draw.Stroke(draw.Black, 0.3)
	for _, p := range d.Layout.Placed {
		var rings [][]draw.Point
		for _, edge := range edges(d.Bodies[p.Piece]) {
			ring := make([]draw.Point, len(edge))
			for i, v := range edge {
				ring[i] = at(p.At(v))
			}
			rings = append(rings, ring)
		}
		s.Area(rings, castMetal)
		for _, ring := range rings {
			s.Polyline(append(ring, ring[0]), outline)
		}
		if len(d.Names) > 1 {
			middle := at(r3.Scale(0.5, r3.Add(p.Low, p.High)))
			s.Text(middle.X, middle.Y+1, fmt.Sprint(p.Piece+1), draw.TextStyle{SizePt: 8, Align: draw.Centre})
		}
	}
}

// notes are the lines below the drawing: the pieces by number, then what is cut.
func (d *Drawing) notes() (list []string) {
	for i := 0; i < len(d.Names) && len(d.Names) > 1; i += 3 { // three to a line
		line := ""
		for k := i; k < min(i+3, len(d.Names)); k++ {
			line += fmt.Sprintf("%d  %s    ", k+1, d.Names[k])
		}
		list = append(list, line)
	}
	s := &d.Layout.System
	cut := fmt.Sprintf("Funnel ⌀ %.1f mm in the mean for %s mm of metal; sprue ⌀ %s mm, %s mm long", s.Funnel.Diameter, draw.Number(s.Funnel.Length), draw.Number(s.Sprue.Diameter), draw.Number(s.Sprue.Length))
	if s.Lying {
		cut += ", upright at the cross"
	}
	list = append(list, cut)
	channels := ""
	if s.Kind != Direct {
		channels = fmt.Sprintf("Runner ⌀ %s mm; gates ⌀ %s mm, %s mm long", draw.Number(s.Runner), draw.Number(s.Gate.Diameter), draw.Number(s.Gate.Length))
	} else if s.Lying {
		channels = fmt.Sprintf("Gate ⌀ %s mm, %s mm long", draw.Number(s.Gate.Diameter), draw.Number(s.Gate.Length))
	}
	if channels != "" {
		list = append(list, channels)
	}
	return list
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

// Package draw puts lines, areas, text and pictures on a sheet of paper in
// millimetres and writes the sheet as SVG, PNG or PDF at true scale.
//
//	s := draw.NewSheet(80, 60)
//	s.Title = "Inside of the mould"
//	s.Circle(40, 30, 20, draw.Style{Line: draw.Black, WidthMM: 0.3})
//	s.Text(40, 30, "62.3 mm", draw.TextStyle{Align: draw.Centre})
//	svg, err := s.SVG()
//
// The origin is the top left corner, x runs right and y runs down. Angles are
// degrees, anticlockwise as seen on the paper, 0 to the right.
//
// A sheet remembers the first fault (a NaN, an absurd measure) and refuses to
// be written; nothing panics, and callers check one error at the end.
//
// The same calls give the same bytes, in every format. A sheet is built by one
// goroutine; different sheets may be built and written at the same time.
package draw

import (
	"fmt"
	"image"
	"image/color"
	"math"

	"github.com/tdewolff/canvas"
)

// Limits of what a sheet accepts.
const (
	MaxSideMM   = 3000   // longest side of a sheet
	maxReachMM  = 100000 // largest coordinate, on or off the sheet
	maxImagePix = 25e6   // pixels of an image placed on a sheet
)

// Colour is a colour with straight (not premultiplied) alpha. Its zero value
// is fully transparent and means "none".
type Colour = color.NRGBA

// Point is a place on the sheet in mm.
type Point struct{ X, Y float64 }

// Polar returns the point at radius r mm and an angle in degrees,
// anticlockwise from the right, about a centre.
func Polar(cx, cy, r, deg float64) Point {
	sin, cos := math.Sincos(deg * math.Pi / 180)
	return Point{cx + r*cos, cy - r*sin}
}

// Style says how a line or an area looks. Its zero value draws nothing.
type Style struct {
	Line    Colour    // colour of the line; zero: no line
	WidthMM float64   // width of the line; zero: 0.25 mm
	DashMM  []float64 // lengths of dash and gap in turn; empty: a full line
	Fill    Colour    // colour of the area; zero: not filled
}

// Stroke is the style of a line of a colour and width, dashed if lengths are given.
func Stroke(c Colour, widthMM float64, dashMM ...float64) Style {
	return Style{Line: c, WidthMM: widthMM, DashMM: dashMM}
}

// Filled is the style of an area of one colour without an outline.
func Filled(c Colour) Style { return Style{Fill: c} }

// Sheet is a drawing in millimetres.
type Sheet struct {
	Title       string // what the sheet shows, for screen readers and the PDF's title
	Description string // the same in a sentence or two, read instead of the picture

	w, h   float64
	canvas *canvas.Canvas
	lines  map[*canvas.Text]line // what each piece of text says, for SVG
	err    error
}

// NewSheet returns an empty sheet of a width and height in mm.
func NewSheet(widthMM, heightMM float64) *Sheet {
	s := &Sheet{w: widthMM, h: heightMM, lines: map[*canvas.Text]line{}}
	if !(widthMM >= 1 && widthMM <= MaxSideMM && heightMM >= 1 && heightMM <= MaxSideMM) {
		s.err = fmt.Errorf("draw: sheet of %g × %g mm: each side must be 1 to %d mm", widthMM, heightMM, MaxSideMM)
		s.w, s.h = 1, 1
	}
	s.canvas = canvas.New(s.w, s.h)
	return s
}

// Size returns the width and height in mm.
func (s *Sheet) Size() (widthMM, heightMM float64) { return s.w, s.h }

// Err returns the first fault met while drawing.
func (s *Sheet) Err() error { return s.err }

// Fail makes the sheet refuse to be written, for the reason given, unless it
// already does.
func (s *Sheet) Fail(err error) {
	if s.err == nil {
		s.err = err
	}
}

// sane reports whether all values are finite and on this side of absurd.
func (s *Sheet) sane(what string, values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.Abs(v) > maxReachMM {
			s.Fail(fmt.Errorf("draw: %s: %g mm is not a measure", what, v))
		}
	}
	return s.err == nil
}

// Line draws a straight line.
func (s *Sheet) Line(x1, y1, x2, y2 float64, st Style) {
	s.Polyline([]Point{{x1, y1}, {x2, y2}}, st)
}

// Polyline draws straight lines from point to point.
func (s *Sheet) Polyline(points []Point, st Style) {
	p := &canvas.Path{}
	if s.trace("line", p, points) {
		s.path(p, st)
	}
}

// Polygon draws a closed line through the points and fills it.
func (s *Sheet) Polygon(points []Point, st Style) { s.Area([][]Point{points}, st) }

// Area draws rings as one area: the first is its outline, the others are
// holes in it.
func (s *Sheet) Area(rings [][]Point, st Style) {
	p := &canvas.Path{}
	for i, ring := range rings {
		// Holes run against the outline, so that every winding rule leaves them open.
		if (i == 0) != (turn(ring) > 0) {
			ring = reversed(ring)
		}
		if !s.trace("area", p, ring) {
			return
		}
		if len(ring) > 0 {
			p.Close()
		}
	}
	s.path(p, st)
}

func (s *Sheet) trace(what string, p *canvas.Path, points []Point) bool {
	for i, q := range points {
		if !s.sane(what, q.X, q.Y) {
			return false
		}
		if x, y := round(q.X), round(s.h-q.Y); i == 0 {
			p.MoveTo(x, y)
		} else {
			p.LineTo(x, y)
		}
	}
	return s.err == nil
}

// Path draws SVG path data ("M 10 10 C 20 10 …") in sheet coordinates.
func (s *Sheet) Path(data string, st Style) {
	p, err := canvas.ParseSVGPath(data)
	if err != nil {
		s.Fail(fmt.Errorf("draw: path: %w", err))
		return
	}
	b := p.FastBounds()
	if s.sane("path", b.X0, b.Y0, b.X1, b.Y1) {
		s.path(p.Transform(canvas.Identity.Translate(0, s.h).Scale(1, -1)), st)
	}
}

// Circle draws a circle of radius r.
func (s *Sheet) Circle(cx, cy, r float64, st Style) { s.Ellipse(cx, cy, r, r, 0, st) }

// Ellipse draws an ellipse of half-axes rx and ry, turned anticlockwise.
func (s *Sheet) Ellipse(cx, cy, rx, ry, turnDeg float64, st Style) {
	if !s.sane("ellipse", cx, cy, rx, ry, turnDeg) || !s.positive("ellipse", rx, ry) {
		return
	}
	p := canvas.Ellipse(round(rx), round(ry))
	s.path(p.Transform(canvas.Identity.Translate(round(cx), round(s.h-cy)).Rotate(turnDeg)), st)
}

// Arc draws a part of a circle from one angle to another, anticlockwise when
// the second is the larger.
func (s *Sheet) Arc(cx, cy, r, fromDeg, toDeg float64, st Style) {
	if !s.sane("arc", cx, cy, r, fromDeg, toDeg) || !s.positive("arc", r) {
		return
	}
	start := Polar(0, 0, r, fromDeg)
	s.path(canvas.Arc(round(r), fromDeg, toDeg).Translate(round(cx+start.X), round(s.h-cy-start.Y)), st)
}

// Rect draws a rectangle from its top left corner.
func (s *Sheet) Rect(x, y, w, h float64, st Style) {
	if s.sane("rectangle", x, y, w, h) && s.positive("rectangle", w, h) {
		s.Polygon([]Point{{x, y}, {x, y + h}, {x + w, y + h}, {x + w, y}}, st)
	}
}

// RoundRect draws a rectangle with corners of radius r.
func (s *Sheet) RoundRect(x, y, w, h, r float64, st Style) {
	if s.sane("rectangle", x, y, w, h, r) && s.positive("rectangle", w, h, r) {
		r = min(r, w/2, h/2)
		s.path(canvas.RoundedRectangle(w, h, r).Translate(round(x), round(s.h-y-h)), st)
	}
}

// Image draws a picture into a rectangle given by its top left corner,
// stretched to fill it.
func (s *Sheet) Image(img image.Image, x, y, w, h float64) {
	if !s.sane("image", x, y, w, h) || !s.positive("image", w, h) {
		return
	}
	size := img.Bounds().Size()
	if size.X < 1 || size.Y < 1 || float64(size.X)*float64(size.Y) > maxImagePix {
		s.Fail(fmt.Errorf("draw: image of %d × %d pixels: 1 to %g pixels in all", size.X, size.Y, float64(maxImagePix)))
		return
	}
	s.canvas.RenderImage(img, canvas.Identity.Translate(x, s.h-y-h).Scale(w/float64(size.X), h/float64(size.Y)))
}

// Place draws another sheet on this one, its top left corner at x, y, scaled.
// A scale of 1 keeps it true.
func (s *Sheet) Place(other *Sheet, x, y, scale float64) {
	if !s.sane("placed sheet", x, y, scale) {
		return
	}
	if other.err != nil || scale <= 0 {
		s.Fail(fmt.Errorf("draw: placed sheet at scale %g: %w", scale, other.err))
		return
	}
	for text, l := range other.lines {
		s.lines[text] = l
	}
	other.canvas.RenderViewTo(s.canvas, canvas.Identity.Translate(x, s.h-y-scale*other.h).Scale(scale, scale))
}

// FitScale is the largest scale at which a sheet of this size fits in a box.
func (s *Sheet) FitScale(widthMM, heightMM float64) float64 {
	return math.Min(widthMM/s.w, heightMM/s.h)
}

func (s *Sheet) positive(what string, measures ...float64) bool {
	for _, v := range measures {
		if v < 0 {
			s.Fail(fmt.Errorf("draw: %s: a measure of %g mm is negative", what, v))
		}
	}
	return s.err == nil
}

func (s *Sheet) path(p *canvas.Path, st Style) {
	style := canvas.DefaultStyle
	style.Fill = canvas.Paint{Color: premultiplied(st.Fill)}
	if st.Line.A > 0 {
		width := st.WidthMM
		if width == 0 {
			width = 0.25
		}
		if !s.sane("line width", append([]float64{width}, st.DashMM...)...) || !s.positive("line width", width) {
			return
		}
		style.Stroke = canvas.Paint{Color: premultiplied(st.Line)}
		style.StrokeWidth = width
		style.StrokeCapper, style.StrokeJoiner = canvas.RoundCap, canvas.RoundJoin
		if len(st.DashMM) > 0 {
			style.StrokeCapper = canvas.ButtCap
			for _, d := range st.DashMM {
				if d <= 0 {
					s.Fail(fmt.Errorf("draw: dash of %g mm: must be above 0", d))
					return
				}
				style.Dashes = append(style.Dashes, d/width) // the library counts in line widths
			}
		}
	}
	if style.HasFill() || style.HasStroke() {
		s.canvas.RenderPath(p, style, canvas.Identity)
	}
}

func premultiplied(c Colour) color.RGBA { return color.RGBAModel.Convert(c).(color.RGBA) }

// round rounds to a micrometre, far below what a printer can show, so that
// numbers in files are short.
func round(mm float64) float64 { return math.Round(mm*1000) / 1000 }

// turn is twice the signed area of a ring, positive when it runs
// anticlockwise on the paper.
func turn(ring []Point) float64 {
	sum := 0.0
	for i, p := range ring {
		q := ring[(i+1)%len(ring)]
		sum -= p.X*q.Y - q.X*p.Y
	}
	return sum
}

func reversed(ring []Point) []Point {
	r := make([]Point, len(ring))
	for i, p := range ring {
		r[len(ring)-1-i] = p
	}
	return r
}

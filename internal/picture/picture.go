// Package picture draws what the numbers of a commission mean: the band with
// its sections and stones, the mould, the silver-copper diagram with a melt on
// it, and where the metal goes. Each picture takes plain numbers, checks them
// and returns a sheet, which package draw writes as SVG, PNG or PDF.
//
// Every area is told apart by hatching or by a label as well as by its colour,
// so that the pictures read the same in grey print.
package picture

import (
	"fmt"
	"math"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/draw"
)

// Look says how large a picture of a thing is drawn.
type Look struct {
	WidthMM float64 // width of the sheet it may take; 0: 180 mm
	True    bool    // draw 1:1, however wide the sheet becomes, with a scale bar
}

func (l Look) width() float64 {
	if l.WidthMM == 0 {
		return 180
	}
	return l.WidthMM
}

func (l Look) check(c *calc.Checks) {
	if l.WidthMM != 0 {
		c.Within("width_mm", l.WidthMM, 80, 600, "mm of sheet")
	}
}

// The colours of the parts, pale enough for black lines and letters on them.
var (
	ink     = draw.Stroke(draw.Black, 0.3)
	fine    = draw.Stroke(draw.Black, 0.15)
	cast    = draw.RGB(222, 222, 226)
	feed    = draw.RGB(196, 206, 222) // sprue, funnel, gates
	clay    = draw.RGB(243, 233, 214)
	gem     = draw.RGB(176, 216, 240)
	quiet   = draw.TextStyle{SizePt: 7.5, Colour: draw.Grey(0.25)}
	caption = draw.TextStyle{SizePt: 8.5}
)

// scales that a drawing office would choose.
var scales = []float64{50, 20, 10, 5, 4, 3, 2, 1.5, 1, 0.75, 0.5, 0.25, 0.2, 0.1, 0.05, 0.02}

// niceScale is the largest of the scales at which a thing of the first size
// fits the second.
func niceScale(wide, high, roomWide, roomHigh float64) float64 {
	most := math.Min(roomWide/wide, roomHigh/high)
	for _, s := range scales {
		if s <= most {
			return s
		}
	}
	return scales[len(scales)-1]
}

// ratio writes a scale as 2:1 or 1:2.
func ratio(scale float64) string {
	if scale >= 1 {
		return draw.Number(scale) + ":1"
	}
	return "1:" + draw.Number(1/scale)
}

// callout names a place on a picture.
type callout struct {
	at   draw.Point
	text string
}

// callouts writes names in a column whose left edge is at x, none over
// another, each with a line to its place.
func callouts(s *draw.Sheet, x, top, bottom float64, names []callout) {
	slices.SortStableFunc(names, func(a, b callout) int {
		switch {
		case a.at.Y < b.at.Y:
			return -1
		case a.at.Y > b.at.Y:
			return 1
		}
		return 0
	})
	const apart = 4.3 // mm
	y := make([]float64, len(names))
	for i, n := range names { // down the column, each below the one before
		y[i] = math.Max(n.at.Y, top)
		if i > 0 {
			y[i] = math.Max(y[i], y[i-1]+apart)
		}
	}
	for i := len(y) - 1; i >= 0; i-- { // and up again where the foot was passed
		limit := bottom - float64(len(y)-1-i)*apart
		y[i] = math.Min(y[i], limit)
	}
	leader := draw.Stroke(draw.Grey(0.35), 0.12)
	for i, n := range names {
		s.Line(n.at.X, n.at.Y, x-3, y[i], leader)
		s.Line(x-3, y[i], x-0.8, y[i], leader)
		s.Circle(n.at.X, n.at.Y, 0.35, draw.Filled(draw.Grey(0.2)))
		st := caption
		st.SizePt, st.Middle = 8, true
		s.Text(x, y[i], n.text, st)
	}
}

// grams writes a mass for a label, as fine as a melt of this size is weighed.
func grams(g, melt float64) string {
	switch {
	case melt < 20:
		return fmt.Sprintf("%.2f g", g)
	case melt < 1000:
		return fmt.Sprintf("%.1f g", g)
	}
	return fmt.Sprintf("%.0f g", g)
}

func mm(v float64) string { return draw.Number(v) + " mm" }

// count writes a number of things: "1 stone", "3 stones".
func count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

package picture

import (
	"fmt"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/draw"
)

// Front is the metal's way through the mould, unrolled: when it comes to each
// place and how hot.
type Front struct {
	Name                string
	LiquidusC, SolidusC float64
	Stretches           []Stretch
}

// Stretch is a part of the way: the sprue, an arm of a band. Its lists run
// from its start to its end and are of one length; NaN stands for a place
// where no metal comes.
type Stretch struct {
	Name        string
	LengthMM    float64
	End         string // "filled", "froze"
	AtPct       []float64
	ThicknessMM []float64
	ArrivalS    []float64
	ArrivalC    []float64
}

// Check refuses a way that is none.
func (f Front) Check() error {
	var c calc.Checks
	c.Within("liquidus_c", f.LiquidusC, 100, 2500, "°C")
	c.Within("solidus_c", f.SolidusC, 100, 2500, "°C")
	if len(f.Stretches) < 1 || len(f.Stretches) > 8 {
		c.Refuse("stretches", len(f.Stretches), "give 1 to 8")
	}
	for i, s := range f.Stretches {
		c.Under(fmt.Sprintf("stretches[%d]", i), s.check())
	}
	return c.Err()
}

func (s Stretch) check() error {
	var c calc.Checks
	c.Within("length_mm", s.LengthMM, 0.1, 2000, "mm")
	n := len(s.AtPct)
	if n < 2 || n > 1000 || len(s.ThicknessMM) != n || len(s.ArrivalS) != n || len(s.ArrivalC) != n {
		c.Refuse("at_pct", n, "give 2 to 1000 places, and as many thicknesses (%d), times (%d) and temperatures (%d)", len(s.ThicknessMM), len(s.ArrivalS), len(s.ArrivalC))
		return c.Err()
	}
	for i := range n {
		c.Within(fmt.Sprintf("at_pct[%d]", i), s.AtPct[i], 0, 100, "percent of the stretch")
		if i > 0 && s.AtPct[i] < s.AtPct[i-1] {
			c.Refuse(fmt.Sprintf("at_pct[%d]", i), s.AtPct[i], "give places in rising order")
		}
		c.Within(fmt.Sprintf("thickness_mm[%d]", i), s.ThicknessMM[i], 0.01, 200, "mm")
		if !math.IsNaN(s.ArrivalS[i]) {
			c.Within(fmt.Sprintf("arrival_s[%d]", i), s.ArrivalS[i], 0, 3600, "s, or NaN where no metal comes")
		}
		if !math.IsNaN(s.ArrivalC[i]) {
			c.Within(fmt.Sprintf("arrival_c[%d]", i), s.ArrivalC[i], 0, 3000, "°C, or NaN where no metal comes")
		}
	}
	return c.Err()
}

// Lines of the stretches in the chart, told apart by their dashes too.
var stretchLines = []draw.Style{
	draw.Stroke(draw.Blue, 0.6), draw.Stroke(draw.Vermilion, 0.6, 2.4, 1), draw.Stroke(draw.Green, 0.6, 0.9, 0.9),
	draw.Stroke(draw.Black, 0.5, 4, 1, 0.8, 1), draw.Stroke(draw.Purple, 0.7), draw.Stroke(draw.Orange, 0.6, 1.4, 0.6),
	draw.Stroke(draw.SkyBlue, 0.6, 3, 1.5), draw.Stroke(draw.Grey(0.4), 0.5, 0.5, 0.7),
}

// DrawFront draws each stretch as a strip, as thick as the channel, in the
// colours of the time at which the metal comes; and below the temperature with
// which it comes, against liquidus and solidus.
func DrawFront(f Front, l Look) (*draw.Sheet, error) {
	var c calc.Checks
	c.Under("", f.Check())
	l.check(&c)
	if err := c.Err(); err != nil {
		return nil, err
	}
	const left, right, head, strip, chart = 34.0, 22.0, 10.0, 14.0, 62.0
	w := l.width()
	legendTop := head + strip*float64(len(f.Stretches)) + 1
	chartTop := legendTop + 17
	s := draw.NewSheet(w, chartTop+chart+13)
	s.Title = f.Name
	longest, thick, latest := 0.0, 0.0, 0.0
	low, high := f.SolidusC, f.LiquidusC
	for _, st := range f.Stretches {
		longest = math.Max(longest, st.LengthMM)
		for i := range st.AtPct {
			thick = math.Max(thick, st.ThicknessMM[i])
			latest = orMore(latest, st.ArrivalS[i])
			high = orMore(high, st.ArrivalC[i])
			low = -orMore(-low, -st.ArrivalC[i])
		}
		s.Description += fmt.Sprintf("%s, %s: %s. ", st.Name, mm(st.LengthMM), st.End)
	}
	s.Text(2, 5.5, f.Name, draw.TextStyle{SizePt: 10, Bold: true, FitMM: w - 4})
	perMM := (w - left - right) / longest
	for i, st := range f.Stretches {
		y := head + strip*(float64(i)+0.5)
		st.strip(s, left, y, perMM, (strip-4)/thick, latest)
		s.Line(2, y+3.2, 10, y+3.2, stretchLines[i])
		s.Text(2, y, st.Name, draw.TextStyle{SizePt: 8.5, FitMM: left - 4})
		s.Text(left+perMM*st.LengthMM+2, y, st.End, draw.TextStyle{SizePt: 8, Middle: true, FitMM: w - (left + perMM*st.LengthMM) - 3})
	}
	s.Legend(left, legendTop, 70, draw.Cividis, 0, math.Max(latest, 1e-3), "Arrival of the metal, s (hatched: none)")
	a := draw.Axes{X: left, Y: chartTop, W: w - left - right, H: chart,
		XMin: 0, XMax: longest, YMin: 10 * math.Floor((low-10)/10), YMax: 10 * math.Ceil((high+10)/10),
		XLabel: "Along the stretch, mm", YLabel: "Temperature on arrival, °C"}
	s.Axes(a)
	for _, level := range []struct {
		c    float64
		name string
	}{{f.LiquidusC, "liquidus"}, {f.SolidusC, "solidus"}} {
		p := a.At(longest, level.c)
		s.Line(a.X, p.Y, p.X, p.Y, draw.Stroke(draw.Grey(0.4), 0.25, 1, 1))
		s.Text(p.X+1.5, p.Y, level.name, draw.TextStyle{SizePt: 7.5, Middle: true})
	}
	for i, st := range f.Stretches {
		x := make([]float64, len(st.AtPct))
		for k, at := range st.AtPct {
			x[k] = at / 100 * st.LengthMM
		}
		s.Curve(a, x, st.ArrivalC, stretchLines[i])
		st.end(s, a, x)
	}
	return s, s.Err()
}

// orMore is the larger of two, the first where the second is not known.
func orMore(most, v float64) float64 {
	if v > most {
		return v
	}
	return most
}

// strip draws the stretch as a band along y, cells from place to place.
func (st Stretch) strip(s *draw.Sheet, x, y, perMM, perThick, latest float64) {
	var above, below []draw.Point
	for i := range st.AtPct {
		px, half := x+perMM*st.LengthMM*st.AtPct[i]/100, perThick*st.ThicknessMM[i]/2
		above = append(above, draw.Point{X: px, Y: y - half})
		below = append(below, draw.Point{X: px, Y: y + half})
	}
	for i := 1; i < len(above); i++ {
		cell := []draw.Point{above[i-1], above[i], below[i], below[i-1]}
		t := (st.ArrivalS[i-1] + st.ArrivalS[i]) / 2
		if math.IsNaN(t) {
			s.Hatch([][]draw.Point{cell}, 1, 60, draw.Stroke(draw.Grey(0.3), 0.12))
			continue
		}
		if i+1 < len(above) { // under the next cell, so that no seam shows
			cell[1].X, cell[2].X = cell[1].X+0.1, cell[2].X+0.1
		}
		s.Polygon(cell, draw.Filled(draw.Cividis.At(t/math.Max(latest, 1e-9))))
	}
	for i := len(below) - 1; i >= 0; i-- {
		above = append(above, below[i])
	}
	s.Polygon(above, ink)
}

// end marks the last place that the metal reaches with a ring, and with a
// cross where it stops short.
func (st Stretch) end(s *draw.Sheet, a draw.Axes, x []float64) {
	for i := len(x) - 1; i >= 0; i-- {
		if math.IsNaN(st.ArrivalC[i]) {
			continue
		}
		p := a.At(x[i], st.ArrivalC[i])
		if i == len(x)-1 {
			s.Circle(p.X, p.Y, 1, draw.Style{Line: draw.Black, WidthMM: 0.3, Fill: draw.White})
			return
		}
		s.Line(p.X-1.3, p.Y-1.3, p.X+1.3, p.Y+1.3, draw.Stroke(draw.Black, 0.5))
		s.Line(p.X-1.3, p.Y+1.3, p.X+1.3, p.Y-1.3, draw.Stroke(draw.Black, 0.5))
		return
	}
}

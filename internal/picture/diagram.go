package picture

import (
	"fmt"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/draw"
)

// Line is a line of a phase diagram: temperature over percent of silver by
// mass, in either order.
type Line struct{ AgPct, TempC []float64 }

// Diagram is the silver-copper phase diagram with one melt on it. Each line
// runs between a pure metal, or the foot of the picture, and the eutectic.
type Diagram struct {
	Name                               string
	LiquidusOfCopper, LiquidusOfSilver Line // where the melt begins to freeze
	SolidusOfCopper, SolidusOfSilver   Line // where each solid is all frozen
	SolvusOfCopper, SolvusOfSilver     Line // what each solid keeps dissolved as it cools; may be empty
	EutecticAgPct, EutecticC           float64
	Melt                               Melt
	Note                               string // "Equilibrium; a casting freezes on to the eutectic"
}

// Melt is where one melt stands on the diagram.
type Melt struct {
	Name                string
	AgPct               float64
	LiquidusC, SolidusC float64
	PourC               float64 // 0: not shown
}

// Check refuses lines that are none.
func (d Diagram) Check() error {
	var c calc.Checks
	for _, l := range d.lines() {
		if len(l.AgPct) != len(l.TempC) || len(l.AgPct) < 2 && !(l.optional && len(l.AgPct) == 0) || len(l.AgPct) > 10000 {
			c.Refuse(l.name, len(l.AgPct), "give 2 to 10000 percentages and as many temperatures (%d)", len(l.TempC))
			continue
		}
		for i := range l.AgPct {
			c.Within(fmt.Sprintf("%s.ag_pct[%d]", l.name, i), l.AgPct[i], 0, 100, "% silver")
			c.Within(fmt.Sprintf("%s.temp_c[%d]", l.name, i), l.TempC[i], 0, 3000, "°C")
		}
	}
	c.Within("eutectic_ag_pct", d.EutecticAgPct, 0, 100, "% silver")
	c.Within("eutectic_c", d.EutecticC, 300, 2000, "°C")
	c.Within("melt.ag_pct", d.Melt.AgPct, 0, 100, "% silver")
	c.Within("melt.liquidus_c", d.Melt.LiquidusC, 300, 2000, "°C")
	c.Within("melt.solidus_c", d.Melt.SolidusC, 300, 2000, "°C")
	if d.Melt.PourC != 0 {
		c.Within("melt.pour_c", d.Melt.PourC, 300, 2500, "°C")
	}
	return c.Err()
}

type namedLine struct {
	Line
	name     string
	optional bool
}

func (d Diagram) lines() []namedLine {
	return []namedLine{
		{d.LiquidusOfCopper, "liquidus_of_copper", false}, {d.LiquidusOfSilver, "liquidus_of_silver", false},
		{d.SolidusOfCopper, "solidus_of_copper", false}, {d.SolidusOfSilver, "solidus_of_silver", false},
		{d.SolvusOfCopper, "solvus_of_copper", true}, {d.SolvusOfSilver, "solvus_of_silver", true},
	}
}

// towards returns a line so that it ends at the eutectic, which is its last
// point: copies of its values.
func (d Diagram) towards(l Line) (x, y []float64) {
	x, y = append(x, l.AgPct...), append(y, l.TempC...)
	if n := len(y) - 1; math.Abs(y[0]-d.EutecticC) < math.Abs(y[n]-d.EutecticC) {
		for i := range len(x) / 2 {
			x[i], x[n-i], y[i], y[n-i] = x[n-i], x[i], y[n-i], y[i]
		}
	}
	return x, y
}

// DrawDiagram draws the phase diagram with the melt's line, where it begins
// and ends to freeze, and the pour.
func DrawDiagram(d Diagram, l Look) (*draw.Sheet, error) {
	var c calc.Checks
	c.Under("", d.Check())
	l.check(&c)
	if err := c.Err(); err != nil {
		return nil, err
	}
	const left, head, foot, names = 18.0, 10.0, 17.0, 42.0
	w := l.width()
	plot := w - left - names
	h := head + 0.68*plot + foot
	s := draw.NewSheet(w, h)
	s.Title = d.Name
	s.Description = fmt.Sprintf("Silver-copper phase diagram. %s: %s %% silver, begins to freeze at %.0f °C, equilibrium solidus %.0f °C.",
		d.Melt.Name, draw.Number(d.Melt.AgPct), d.Melt.LiquidusC, d.Melt.SolidusC)
	s.Text(2, 5.5, d.Name, draw.TextStyle{SizePt: 10, Bold: true, FitMM: w - 4})
	lo, hi := d.span()
	a := draw.Axes{X: left, Y: head, W: plot, H: 0.68 * plot, XMin: 0, XMax: 100, YMin: lo, YMax: hi,
		XLabel: "Silver, % by mass (the rest copper)", YLabel: "Temperature, °C"}
	s.Axes(a)
	d.drawFields(s, a)
	for i, line := range d.lines() {
		st := draw.Stroke(draw.Black, 0.45)
		if i >= 4 {
			st = draw.Stroke(draw.Black, 0.3, 1.6, 0.9)
		}
		s.Curve(a, line.AgPct, line.TempC, st)
	}
	x1, _ := d.towards(d.SolidusOfCopper)
	x2, _ := d.towards(d.SolidusOfSilver)
	s.Curve(a, []float64{x1[len(x1)-1], x2[len(x2)-1]}, []float64{d.EutecticC, d.EutecticC}, draw.Stroke(draw.Black, 0.45))
	d.drawMelt(s, a, w-names+7)
	s.Text(left, h-2.5, d.Note, draw.TextStyle{SizePt: 7.5, Colour: quiet.Colour, FitMM: w - left - 2})
	return s, s.Err()
}

// span is the span of temperature shown, in whole fifties.
func (d Diagram) span() (lo, hi float64) {
	lo, hi = math.Min(d.EutecticC, d.Melt.SolidusC)-130, math.Max(d.Melt.LiquidusC, d.Melt.PourC)
	for _, line := range d.lines()[:4] {
		for _, t := range line.TempC {
			hi = math.Max(hi, t)
		}
	}
	return 50 * math.Floor(lo/50), 50 * math.Ceil((hi+20)/50)
}

// drawFields hatches the two fields of slush and names all.
func (d Diagram) drawFields(s *draw.Sheet, a draw.Axes) {
	st := draw.TextStyle{SizePt: 7.5, Align: draw.Centre, Middle: true}
	// The copper side is wide: its name stands in it.
	at, room := d.slush(s, a, d.LiquidusOfCopper, d.SolidusOfCopper, 45)
	st.FitMM = math.Max(8, 0.9*room)
	wide := math.Min(draw.TextWidth(copperSlush, st), st.FitMM)
	s.Rect(at.X-wide/2-0.6, at.Y-1.9, wide+1.2, 3.8, draw.Filled(draw.Faded(draw.White, 0.85)))
	s.Text(at.X, at.Y, copperSlush, st)
	// The silver side is narrow: its name stands above, in the liquid.
	at, _ = d.slush(s, a, d.LiquidusOfSilver, d.SolidusOfSilver, -45)
	_, y := d.towards(d.LiquidusOfSilver)
	over := a.At(d.EutecticAgPct, d.EutecticC+0.7*(y[0]-d.EutecticC))
	s.Line(over.X, over.Y+1.6, at.X, at.Y, draw.Stroke(draw.Grey(0.35), 0.12))
	s.Circle(at.X, at.Y, 0.35, draw.Filled(draw.Grey(0.2)))
	st.FitMM = 0
	s.Text(over.X, over.Y, silverSlush, st)

	st = draw.TextStyle{SizePt: 8, Align: draw.Centre}
	top := a.At(d.EutecticAgPct, d.EutecticC+0.8*(a.YMax-d.EutecticC))
	s.Text(top.X, top.Y, "all liquid", st)
	low := a.At(d.EutecticAgPct*0.72, (d.EutecticC+a.YMin)/2)
	s.Text(low.X, low.Y, "all solid: copper-rich + silver-rich", st)
	e := a.At(d.EutecticAgPct, d.EutecticC)
	s.Text(e.X, e.Y+4, fmt.Sprintf("eutectic %.0f °C, %s %% Ag", d.EutecticC, draw.Number(round1(d.EutecticAgPct))), draw.TextStyle{SizePt: 7, Align: draw.Centre})
}

const (
	copperSlush = "copper-rich grains + liquid"
	silverSlush = "silver-rich grains + liquid"
)

// slush hatches the field between a liquidus and its solidus, and returns a
// place in its lower part and the room there in mm.
func (d Diagram) slush(s *draw.Sheet, a draw.Axes, liquidus, solidus Line, angle float64) (at draw.Point, room float64) {
	x, y := d.towards(liquidus)
	u, v := d.towards(solidus)
	var ring []draw.Point
	for i := range x {
		ring = append(ring, a.At(x[i], y[i]))
	}
	for i := len(u) - 1; i >= 0; i-- {
		ring = append(ring, a.At(u[i], v[i]))
	}
	s.Polygon(ring, draw.Filled(draw.Faded(draw.Orange, 0.18)))
	s.Hatch([][]draw.Point{ring}, 1.6, angle, draw.Stroke(draw.Grey(0.6), 0.1))
	t := d.EutecticC + 0.3*(y[0]-d.EutecticC)
	p, q := a.At(crossing(x, y, t), t), a.At(crossing(u, v, t), t)
	return draw.Point{X: (p.X + q.X) / 2, Y: p.Y}, math.Abs(p.X - q.X)
}

// crossing is where a line, towards the eutectic, passes a temperature.
func crossing(x, y []float64, t float64) float64 {
	for i := 1; i < len(x); i++ {
		if (y[i-1]-t)*(y[i]-t) <= 0 && y[i] != y[i-1] {
			return x[i-1] + (x[i]-x[i-1])*(t-y[i-1])/(y[i]-y[i-1])
		}
	}
	return x[len(x)-1]
}

func (d Diagram) drawMelt(s *draw.Sheet, a draw.Axes, column float64) {
	m := d.Melt
	s.Curve(a, []float64{m.AgPct, m.AgPct}, []float64{a.YMin, a.YMax}, draw.Stroke(draw.Blue, 0.5, 3, 1, 0.8, 1))
	liquidus, solidus := a.At(m.AgPct, m.LiquidusC), a.At(m.AgPct, m.SolidusC)
	mark := draw.Style{Line: draw.Black, WidthMM: 0.3, Fill: draw.White}
	s.Circle(liquidus.X, liquidus.Y, 1.2, mark)
	s.Rect(solidus.X-1.05, solidus.Y-1.05, 2.1, 2.1, mark)
	names := []callout{
		{a.At(m.AgPct, a.YMin+0.06*(a.YMax-a.YMin)), fmt.Sprintf("%s: %s %% Ag", m.Name, draw.Number(m.AgPct))},
		{draw.Point{X: liquidus.X + 1.2, Y: liquidus.Y}, fmt.Sprintf("Begins to freeze: %.0f °C", m.LiquidusC)},
		{draw.Point{X: solidus.X + 1.05, Y: solidus.Y}, fmt.Sprintf("Solidus: %.0f °C", m.SolidusC)},
	}
	if m.PourC != 0 {
		p := a.At(m.AgPct, m.PourC)
		s.Polygon([]draw.Point{{X: p.X, Y: p.Y + 1.4}, {X: p.X - 1.4, Y: p.Y - 1}, {X: p.X + 1.4, Y: p.Y - 1}}, mark)
		names = append(names, callout{draw.Point{X: p.X + 0.7, Y: p.Y}, fmt.Sprintf("Pour: %.0f °C", m.PourC)})
	}
	callouts(s, column, a.Y+2, a.Y+a.H, names)
}

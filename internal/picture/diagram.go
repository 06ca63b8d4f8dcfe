package picture

import (
	"fmt"
	"math"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/draw"
	"pourwright/internal/metal"
)

// Diagram is the silver-copper phase diagram with one melt on it.
type Diagram struct {
	Name  string
	Lines metal.Diagram
	Melt  Melt
	Note  string // "Equilibrium; a casting freezes on to the eutectic"
}

// Melt is where one melt stands on the diagram.
type Melt struct {
	Name                string
	AgPct               float64 // silver by mass; the rest copper
	LiquidusC, SolidusC float64
	PourC               float64 // 0: not shown
}

// Check refuses lines that are none.
func (d Diagram) Check() error {
	var c calc.Checks
	for _, l := range []struct {
		name   string
		points []metal.DiagramPoint
	}{{"liquidus", d.Lines.Liquidus}, {"silver_solidus", d.Lines.SilverSolidus}, {"copper_solidus", d.Lines.CopperSolidus},
		{"silver_solvus", d.Lines.SilverSolvus}, {"copper_solvus", d.Lines.CopperSolvus}} {
		if len(l.points) < 2 || len(l.points) > 10000 {
			c.Refuse("lines."+l.name, len(l.points), "give 2 to 10000 points")
		}
		for i, p := range l.points {
			c.Within(fmt.Sprintf("lines.%s[%d].silver_pct", l.name, i), p.SilverPct, 0, 100, "% silver")
			c.Within(fmt.Sprintf("lines.%s[%d].temperature_c", l.name, i), p.TemperatureC, 0, 3000, "°C")
		}
	}
	for i, pct := range d.Lines.EutecticPct {
		c.Within(fmt.Sprintf("lines.eutectic_pct[%d]", i), pct, 0, 100, "% silver")
	}
	c.Within("lines.eutectic_c", d.Lines.EutecticC, 300, 2000, "°C")
	c.Within("melt.ag_pct", d.Melt.AgPct, 0, 100, "% silver")
	c.Within("melt.liquidus_c", d.Melt.LiquidusC, 300, 2000, "°C")
	c.Within("melt.solidus_c", d.Melt.SolidusC, 300, 2000, "°C")
	if d.Melt.PourC != 0 {
		c.Within("melt.pour_c", d.Melt.PourC, 300, 2500, "°C")
	}
	return c.Err()
}

// branches are the two parts of the liquidus, from the pure metal to the eutectic.
func (d Diagram) branches() (silver, copper []metal.DiagramPoint) {
	lowest := 0
	for i, p := range d.Lines.Liquidus {
		if p.TemperatureC < d.Lines.Liquidus[lowest].TemperatureC {
			lowest = i
		}
	}
	silver = d.Lines.Liquidus[:lowest+1]
	copper = slices.Clone(d.Lines.Liquidus[lowest:])
	slices.Reverse(copper)
	return silver, copper
}

func split(points []metal.DiagramPoint) (x, y []float64) {
	for _, p := range points {
		x, y = append(x, p.SilverPct), append(y, p.TemperatureC)
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
	full, dashed := draw.Stroke(draw.Black, 0.45), draw.Stroke(draw.Black, 0.3, 1.6, 0.9)
	line := func(points []metal.DiagramPoint, st draw.Style) {
		x, y := split(points)
		s.Curve(a, x, y, st)
	}
	line(d.Lines.Liquidus, full)
	line(d.Lines.SilverSolidus, full)
	line(d.Lines.CopperSolidus, full)
	line(d.Lines.SilverSolvus, dashed)
	line(d.Lines.CopperSolvus, dashed)
	e := d.Lines.EutecticC
	s.Curve(a, []float64{d.Lines.EutecticPct[0], d.Lines.EutecticPct[2]}, []float64{e, e}, full)
	d.drawMelt(s, a, w-names+7)
	s.Text(left, h-2.5, d.Note, draw.TextStyle{SizePt: 7.5, Colour: quiet.Colour, FitMM: w - left - 2})
	return s, s.Err()
}

// span is the range of temperature shown, in whole fifties.
func (d Diagram) span() (lo, hi float64) {
	lo, hi = math.Min(d.Lines.EutecticC, d.Melt.SolidusC)-130, math.Max(d.Melt.LiquidusC, d.Melt.PourC)
	for _, p := range d.Lines.Liquidus {
		hi = math.Max(hi, p.TemperatureC)
	}
	return 50 * math.Floor(lo/50), 50 * math.Ceil((hi+20)/50)
}

// drawFields hatches the two fields of slush and names all.
func (d Diagram) drawFields(s *draw.Sheet, a draw.Axes) {
	silver, copper := d.branches()
	eutecticC, eutecticPct := d.Lines.EutecticC, d.Lines.EutecticPct[1]
	st := draw.TextStyle{SizePt: 7.5, Align: draw.Centre, Middle: true}
	// The copper side is wide: its name stands in it.
	at, room := d.slush(s, a, copper, d.Lines.CopperSolidus, 45)
	st.FitMM = math.Max(8, 0.9*room)
	wide := math.Min(draw.TextWidth(copperSlush, st), st.FitMM)
	s.Rect(at.X-wide/2-0.6, at.Y-1.9, wide+1.2, 3.8, draw.Filled(draw.Faded(draw.White, 0.85)))
	s.Text(at.X, at.Y, copperSlush, st)
	// The silver side is narrow: its name stands above, in the liquid.
	at, _ = d.slush(s, a, silver, d.Lines.SilverSolidus, -45)
	over := a.At(eutecticPct, eutecticC+0.7*(silver[0].TemperatureC-eutecticC))
	s.Line(over.X, over.Y+1.6, at.X, at.Y, draw.Stroke(draw.Grey(0.35), 0.12))
	s.Circle(at.X, at.Y, 0.35, draw.Filled(draw.Grey(0.2)))
	st.FitMM = 0
	s.Text(over.X, over.Y, silverSlush, st)

	st = draw.TextStyle{SizePt: 8, Align: draw.Centre}
	top := a.At(eutecticPct, eutecticC+0.8*(a.YMax-eutecticC))
	s.Text(top.X, top.Y, "all liquid", st)
	low := a.At(0.72*eutecticPct, (eutecticC+a.YMin)/2)
	s.Text(low.X, low.Y, "all solid: copper-rich + silver-rich", st)
	e := a.At(eutecticPct, eutecticC)
	s.Text(e.X, e.Y+4, fmt.Sprintf("eutectic %.0f °C, %.1f %% Ag", eutecticC, eutecticPct), draw.TextStyle{SizePt: 7, Align: draw.Centre})
}

const (
	copperSlush = "copper-rich grains + liquid"
	silverSlush = "silver-rich grains + liquid"
)

// slush hatches the field between a branch of the liquidus and its solidus,
// both from the pure metal to the eutectic, and returns a place in its lower
// part and the room there in mm.
func (d Diagram) slush(s *draw.Sheet, a draw.Axes, liquidus, solidus []metal.DiagramPoint, angle float64) (at draw.Point, room float64) {
	var ring []draw.Point
	for _, p := range liquidus {
		ring = append(ring, a.At(p.SilverPct, p.TemperatureC))
	}
	for i := len(solidus) - 1; i >= 0; i-- {
		ring = append(ring, a.At(solidus[i].SilverPct, solidus[i].TemperatureC))
	}
	s.Polygon(ring, draw.Filled(draw.Faded(draw.Orange, 0.18)))
	s.Hatch([][]draw.Point{ring}, 1.6, angle, draw.Stroke(draw.Grey(0.6), 0.1))
	t := d.Lines.EutecticC + 0.3*(liquidus[0].TemperatureC-d.Lines.EutecticC)
	p, q := a.At(crossing(liquidus, t), t), a.At(crossing(solidus, t), t)
	return draw.Point{X: (p.X + q.X) / 2, Y: p.Y}, math.Abs(p.X - q.X)
}

// crossing is where a line passes a temperature, % silver; its end if it does not.
func crossing(line []metal.DiagramPoint, t float64) float64 {
	for i := 1; i < len(line); i++ {
		p, q := line[i-1], line[i]
		if (p.TemperatureC-t)*(q.TemperatureC-t) <= 0 && p.TemperatureC != q.TemperatureC {
			return p.SilverPct + (q.SilverPct-p.SilverPct)*(t-p.TemperatureC)/(q.TemperatureC-p.TemperatureC)
		}
	}
	return line[len(line)-1].SilverPct
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

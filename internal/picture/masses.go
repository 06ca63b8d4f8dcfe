package picture

import (
	"fmt"

	"pourwright/internal/calc"
	"pourwright/internal/draw"
)

// Masses is where a melt comes from and where it goes.
type Masses struct {
	Name string
	In   []Mass // client's lots, metal bought
	Out  []Mass // casting, sprue, button, reserve, loss
}

// Mass is a named part of a melt.
type Mass struct {
	Name string
	G    float64
}

// Check refuses masses that are none.
func (m Masses) Check() error {
	var c calc.Checks
	for _, side := range []struct {
		name  string
		parts []Mass
	}{{"in", m.In}, {"out", m.Out}} {
		if len(side.parts) == 0 || len(side.parts) > 30 {
			c.Refuse(side.name, len(side.parts), "give 1 to 30 parts")
		}
		for i, p := range side.parts {
			c.Within(fmt.Sprintf("%s[%d].mass_g", side.name, i), p.G, 0, 1e6, "g")
		}
	}
	if c.Err() == nil && total(m.In) == 0 && total(m.Out) == 0 {
		c.Refuse("in", 0, "give a mass above 0")
	}
	return c.Err()
}

func total(parts []Mass) float64 {
	sum := 0.0
	for _, p := range parts {
		sum += p.G
	}
	return sum
}

// pattern tells a part apart without its colour.
type pattern struct {
	fill   draw.Colour
	angles []float64 // of hatching
	apart  float64
}

// Patterns in an order in which neighbours differ in darkness and in hatching.
var patterns = []pattern{
	{draw.RGB(86, 124, 168), nil, 0},
	{draw.RGB(244, 222, 176), []float64{45}, 1.5},
	{draw.White, nil, 0},
	{draw.RGB(170, 205, 190), []float64{-45}, 1.5},
	{draw.RGB(225, 225, 225), []float64{0}, 1.2},
	{draw.RGB(240, 190, 150), []float64{45, -45}, 2},
	{draw.RGB(205, 190, 220), []float64{90}, 1.2},
	{draw.RGB(215, 215, 215), []float64{60, -60}, 1.1},
	{draw.RGB(250, 240, 150), []float64{45}, 0.8},
	{draw.RGB(190, 220, 240), []float64{0, 90}, 1.8},
	{draw.RGB(235, 205, 215), []float64{-45}, 0.8},
	{draw.RGB(150, 180, 150), []float64{30}, 2.2},
}

func (p pattern) draw(s *draw.Sheet, x, y, w, h float64) {
	s.Rect(x, y, w, h, draw.Filled(p.fill))
	ring := [][]draw.Point{{{X: x, Y: y}, {X: x + w, Y: y}, {X: x + w, Y: y + h}, {X: x, Y: y + h}}}
	for _, a := range p.angles {
		s.Hatch(ring, p.apart, a, draw.Stroke(draw.Grey(0.3), 0.12))
	}
	s.Rect(x, y, w, h, draw.Stroke(draw.Black, 0.25))
}

// DrawMasses draws one bar for what goes into the crucible and one for what
// becomes of it, on one scale, and the parts with their masses below.
func DrawMasses(m Masses, l Look) (*draw.Sheet, error) {
	var c calc.Checks
	c.Under("", m.Check())
	l.check(&c)
	if err := c.Err(); err != nil {
		return nil, err
	}
	const left, head, bar, between, row = 22.0, 9.0, 12.0, 6.0, 5.2
	w := l.width()
	rows := max(len(m.In), len(m.Out)) + 1
	h := head + 2*bar + between + 4 + float64(rows)*row + 3
	s := draw.NewSheet(w, h)
	s.Title = m.Name
	all := max(total(m.In), total(m.Out))
	s.Description = fmt.Sprintf("In: %s. Out: %s.", listed(m.In, all), listed(m.Out, all))
	s.Text(2, 5.5, m.Name, draw.TextStyle{SizePt: 10, Bold: true, FitMM: w - 4})
	perG := (w - left - 3) / all
	next := 0
	for i, side := range []struct {
		name  string
		parts []Mass
	}{{"Goes in", m.In}, {"Becomes", m.Out}} {
		y := head + float64(i)*(bar+between)
		s.Text(2, y+bar/2, side.name, draw.TextStyle{SizePt: 8.5, Middle: true, FitMM: left - 4})
		x := left
		column := 2 + float64(i)*(w/2)
		listTop := head + 2*bar + between + 6
		for k, p := range side.parts {
			look := patterns[next%len(patterns)]
			next++
			if p.G > 0 {
				look.draw(s, x, y, p.G*perG, bar)
				inBar(s, x, y, p.G*perG, bar, p.Name, grams(p.G, all))
			}
			x += p.G * perG
			ly := listTop + float64(k)*row
			look.draw(s, column, ly, 5.5, 3.6)
			share := draw.TextStyle{SizePt: 8, Align: draw.Right}
			end := column + w/2 - 5
			s.Text(end, ly+3, grams(p.G, all), share)
			s.Text(column+7.5, ly+3, p.Name, draw.TextStyle{SizePt: 8, FitMM: w/2 - 5 - 7.5 - 16})
		}
		ly := listTop + float64(rows-1)*row
		s.Line(column, ly, column+w/2-5, ly, fine)
		s.Text(column+7.5, ly+3.6, "All", draw.TextStyle{SizePt: 8, Bold: true})
		s.Text(column+w/2-5, ly+3.6, grams(total(side.parts), all), draw.TextStyle{SizePt: 8, Bold: true, Align: draw.Right})
	}
	return s, s.Err()
}

// inBar writes the part's name into its piece of the bar where it fits.
func inBar(s *draw.Sheet, x, y, w, h float64, name, mass string) {
	st := draw.TextStyle{SizePt: 7.5, Align: draw.Centre, Middle: true}
	wide := max(draw.TextWidth(name, st), draw.TextWidth(mass, st))
	if wide+2 > w {
		return
	}
	s.RoundRect(x+w/2-wide/2-0.8, y+h/2-4, wide+1.6, 8, 0.8, draw.Filled(draw.Faded(draw.White, 0.88)))
	s.Text(x+w/2, y+h/2-1.8, name, st)
	s.Text(x+w/2, y+h/2+1.8, mass, st)
}

func listed(parts []Mass, all float64) string {
	text := ""
	for i, p := range parts {
		if i > 0 {
			text += ", "
		}
		text += p.Name + " " + grams(p.G, all)
	}
	return text
}

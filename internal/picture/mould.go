package picture

import (
	"fmt"
	"math"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/draw"
)

// Mould is a two-part flask of clay with a band in it.
//
// Standing, the band stands in the upright plane in which the halves part, and
// the sprue comes down in that plane. Lying, the halves part level, the band
// lies in the parting, and the sprue comes down through the upper half beside
// it and runs in from the side.
type Mould struct {
	Name          string
	Lying         bool
	FlaskWidthMM  float64 // inside, across the band
	FlaskHeightMM float64 // inside, upright: along the sprue
	FlaskDepthMM  float64 // inside, standing: across the parting; lying: the other way across the band
	Band          Band    // 90 in Band.StartDeg is up when standing
	FunnelTopMM   float64 // diameter of the funnel at the clay's face
	FunnelDepthMM float64
	SprueMM       float64 // diameter of the sprue at the funnel
	GateMM        float64 // diameter where it meets the band
	SprueLengthMM float64 // standing: from funnel to band; lying: from the sprue's foot to the band, level
	GatesAtPct    []float64
	Vents         []Vent
}

// Vent is a channel that lets the gas out, from the band to the open air.
type Vent struct {
	AtPct      float64
	DiameterMM float64
}

// Check refuses a mould that does not hang together.
func (m Mould) Check() error {
	var c calc.Checks
	c.Within("flask_width_mm", m.FlaskWidthMM, 10, 1000, "mm")
	c.Within("flask_height_mm", m.FlaskHeightMM, 10, 1000, "mm")
	c.Within("flask_depth_mm", m.FlaskDepthMM, 10, 1000, "mm")
	c.Within("funnel_top_mm", m.FunnelTopMM, 2, 200, "mm")
	c.Within("funnel_depth_mm", m.FunnelDepthMM, 1, 200, "mm")
	c.Within("sprue_mm", m.SprueMM, 0.5, 50, "mm")
	c.Within("gate_mm", m.GateMM, 0.3, 50, "mm")
	c.Within("sprue_length_mm", m.SprueLengthMM, 0.5, 500, "mm")
	c.Under("band", m.Band.Check())
	if len(m.GatesAtPct) < 1 || len(m.GatesAtPct) > 6 {
		c.Refuse("gates_at_pct", len(m.GatesAtPct), "give 1 to 6 gates")
	}
	for i, at := range m.GatesAtPct {
		c.Within(fmt.Sprintf("gates_at_pct[%d]", i), at, 0, 100, "percent of the band's length")
	}
	if len(m.Vents) > 40 {
		c.Refuse("vents", len(m.Vents), "give at most 40")
	}
	for i, v := range m.Vents {
		c.Within(fmt.Sprintf("vents[%d].at_pct", i), v.AtPct, 0, 100, "percent of the band's length")
		c.Within(fmt.Sprintf("vents[%d].diameter_mm", i), v.DiameterMM, 0.2, 20, "mm")
	}
	if c.Err() == nil {
		m.checkRoom(&c)
	}
	return c.Err()
}

// checkRoom refuses a band that would not lie inside its flask.
func (m Mould) checkRoom(c *calc.Checks) {
	wide, high := m.bandSize()
	if m.Lying {
		c.Within("band.inside_width_mm", wide, 0, m.FlaskWidthMM-m.SprueLengthMM-m.SprueMM, "mm over its outside and beside the sprue: the flask is too narrow")
		c.Within("band.inside_height_mm", high, 0, m.FlaskDepthMM, "mm over its outside: the flask is too narrow")
		c.Within("funnel_depth_mm", m.FunnelDepthMM, 0, m.FlaskHeightMM/2, "mm: above the parting")
		k := m.Band.course()
		for i, at := range m.GatesAtPct {
			if _, out := k.place(at / 100); math.Cos(out*math.Pi/180) < -1e-9 {
				c.Refuse(fmt.Sprintf("gates_at_pct[%d]", i), at, "give a place on the half of a lying band that faces the sprue")
			}
		}
		return
	}
	c.Within("band.inside_width_mm", wide, 0, m.FlaskWidthMM, "mm over its outside: the flask is too narrow")
	c.Within("band.inside_height_mm", m.top()+high, 0, m.FlaskHeightMM, "mm from the clay's face to the band's foot: the flask is too low")
	if i := slices.IndexFunc(m.GatesAtPct, func(at float64) bool { return !m.fromAboveAt(at) }); i >= 0 {
		c.Within("sprue_mm", m.SprueMM, 0, min(m.SprueLengthMM, (m.FlaskWidthMM-wide)/3), "mm: the sprue runs round the band to a gate below")
	}
}

// turned is the mould with a round lying band turned so that its first gate
// faces the sprue.
func (m Mould) turned() Mould {
	if !m.Lying || m.Band.insideHeight() != m.Band.InsideWidthMM || len(m.GatesAtPct) == 0 || m.Band.Check() != nil {
		return m
	}
	around := math.Pi * m.Band.InsideWidthMM
	m.Band.StartDeg = 360 * (m.Band.GapMM/2 + m.GatesAtPct[0]/100*(around-m.Band.GapMM)) / around
	return m
}

func (m Mould) bandSize() (wide, high float64) {
	lo, hi := m.extent()
	return hi.X - lo.X, hi.Y - lo.Y
}

// extent is the box around the band about its centre.
func (m Mould) extent() (lo, hi draw.Point) {
	lo, hi = draw.Point{X: math.Inf(1), Y: math.Inf(1)}, draw.Point{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, p := range m.Band.body()[0] {
		lo.X, lo.Y = math.Min(lo.X, p.X), math.Min(lo.Y, p.Y)
		hi.X, hi.Y = math.Max(hi.X, p.X), math.Max(hi.Y, p.Y)
	}
	return lo, hi
}

// top is how deep under the clay's face a standing band begins.
func (m Mould) top() float64 { return m.FunnelDepthMM + m.SprueLengthMM }

// frame wall is drawn this thick, whatever the flask's.
const wallMM = 1.6

// DrawMould draws the mould in two views: the face of the parting with the
// band in it, and a cut through the middle that shows the parting line.
func DrawMould(m Mould, l Look) (*draw.Sheet, error) {
	m = m.turned()
	var c calc.Checks
	c.Under("", m.Check())
	l.check(&c)
	if err := c.Err(); err != nil {
		return nil, err
	}
	const names, gap, head, foot = 47.0, 8.0, 18.0, 13.0 // mm: column of names, between and around the views
	first, second := draw.Point{X: m.FlaskWidthMM, Y: m.FlaskHeightMM}, draw.Point{X: m.FlaskDepthMM, Y: m.FlaskHeightMM}
	if m.Lying { // seen from above, and cut upright
		first, second = draw.Point{X: m.FlaskWidthMM, Y: m.FlaskDepthMM}, draw.Point{X: m.FlaskWidthMM, Y: m.FlaskHeightMM}
	}
	tall := math.Max(first.Y, second.Y)
	scale := 1.0
	if !l.True {
		scale = niceScale(first.X+second.X, tall, l.width()-names-gap-4*wallMM-16, 160)
	}
	w := 8 + scale*(first.X+second.X) + gap + 4*wallMM + names + 8
	h := head + scale*tall + 2*wallMM + foot
	s := draw.NewSheet(math.Max(w, 110), h)
	s.Title = m.Name
	s.Description = m.describe()
	s.Text(2, 5.5, m.Name, draw.TextStyle{SizePt: 10, Bold: true, FitMM: w - 4})

	a := view{s, 8 + wallMM, head + wallMM, scale}
	b := view{s, 8 + 3*wallMM + scale*first.X + gap, head + wallMM, scale}
	titles := func(face, cut string) { // over each view, and not into the next
		style := quiet
		style.FitMM = b.x - a.x - 2
		s.Text(a.x, head-4.5, face, style)
		style.FitMM = w - b.x - 2
		s.Text(b.x, head-4.5, cut, style)
	}
	var labels []callout
	if m.Lying {
		m.fromAbove(a)
		labels = m.cutLying(b)
		titles("The parting, seen from above", "Upright cut through sprue and band")
	} else {
		m.face(a)
		labels = m.cutStanding(b)
		titles("Parting face", "Cut across")
	}
	callouts(s, b.x+scale*second.X+wallMM+6, head, head+scale*tall, labels)
	if l.True {
		s.ScaleBar(8, h-foot+4, math.Min(100, 10*math.Floor((w-16)/10)))
	} else {
		s.Text(2, h-2.5, "Scale "+ratio(scale), quiet)
	}
	return s, s.Err()
}

func (m Mould) describe() string {
	stands := "The flask stands; the sprue comes down in the parting."
	if m.Lying {
		stands = "The flask lies; the sprue comes down through the upper half and runs in from the side."
	}
	return fmt.Sprintf("%s Flask %s wide, %s high. Funnel %s wide and %s deep, sprue %s, %s long, %s, %s.",
		stands, mm(m.FlaskWidthMM), mm(m.FlaskHeightMM), mm(m.FunnelTopMM), mm(m.FunnelDepthMM), mm(m.SprueMM), mm(m.SprueLengthMM), count(len(m.GatesAtPct), "gate"), count(len(m.Vents), "vent"))
}

func round1(v float64) float64 { return math.Round(10*v) / 10 }

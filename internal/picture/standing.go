package picture

import (
	"fmt"
	"math"
	"slices"

	"pourwright/internal/draw"
)

// face draws a standing mould opened: the parting with the band in it.
func (m Mould) face(v view) {
	w, h := m.FlaskWidthMM, m.FlaskHeightMM
	v.box(0, 0, w, h, 0)
	lo, hi := m.extent()
	cx, cy := w/2-(lo.X+hi.X)/2, m.top()-lo.Y
	k := m.Band.course()
	outer := func(at float64) draw.Point {
		p, out := k.place(at / 100)
		p = polarFrom(p, out, m.Band.Profile.At(at/100).ThicknessMM)
		return draw.Point{X: cx + p.X, Y: cy + p.Y}
	}
	for i, at := range m.GatesAtPct {
		p := outer(at)
		if m.fromAboveAt(at) {
			m.sprue(v, w/2, p.X, p.Y, m.GateMM)
			continue
		}
		// round the band: sideways under the funnel, down beside it, and in
		beside := w/2 + m.side(i)*((hi.X-lo.X)/2+m.SprueMM)
		y := m.FunnelDepthMM + m.SprueMM/2
		m.runner(v, w/2, m.FunnelDepthMM, w/2, y, beside, y, beside, p.Y, p.X, p.Y)
	}
	m.funnel(v, w/2)
	c := v.at(cx, cy)
	v.metal(moved(m.Band.body(), c.X, c.Y, v.scale), cast)
	m.Band.drawStones(v.s, c.X, c.Y, v.scale)
	v.wall(w, h, w/2-m.FunnelTopMM/2, w/2+m.FunnelTopMM/2)
	var tops []draw.Point
	for i, t := range m.Vents {
		p := outer(t.AtPct)
		side := math.Copysign(1, p.X-w/2)
		// between band and flask, each vent a little apart from the last
		clear := w/2 + side*((hi.X-lo.X)/2+(w-(hi.X-lo.X))/2*(0.35+0.15*float64(i%4)))
		if p.Y <= cy && math.Abs(p.X-w/2) > m.FunnelTopMM/2+t.DiameterMM {
			tops = append(tops, v.vent(t.DiameterMM, p.X, p.Y, p.X, 0))
		} else {
			tops = append(tops, v.vent(t.DiameterMM, p.X, p.Y, clear, p.Y, clear, 0))
		}
	}
	v.nameVents(tops)
	deep := cy + hi.Y
	a, b := v.at(0, 0), v.at(0, deep)
	v.s.Dimension(a.X-wallMM, b.Y, a.X-wallMM, a.Y, 3.2, mm(round1(deep))+" head", draw.TextStyle{SizePt: 7.5})
}

// cutStanding draws the upright cut across the parting through the middle.
func (m Mould) cutStanding(v view) []callout {
	w, h := m.FlaskDepthMM, m.FlaskHeightMM
	v.box(0, 0, w/2, h, 45)
	v.box(w/2, 0, w/2, h, -45)
	lo, hi := m.extent()
	cy := m.top() - lo.Y
	v.line(draw.Stroke(draw.Vermilion, 0.4, 2.5, 0.8, 0.6, 0.8), w/2, -3/v.scale, w/2, h+3/v.scale)
	gate := callout{v.at(w/2, m.top()), fmt.Sprintf("Gate ⌀ %s", mm(m.GateMM))}
	sprue := callout{v.at(w/2+m.SprueMM/4, m.FunnelDepthMM+m.SprueLengthMM/3), fmt.Sprintf("Sprue ⌀ %s, %s long", draw.Number(m.SprueMM), mm(m.SprueLengthMM))}
	if slices.ContainsFunc(m.GatesAtPct, m.fromAboveAt) {
		m.sprue(v, w/2, w/2, m.top(), m.GateMM)
	} else {
		sprue = callout{v.at(w/2, m.FunnelDepthMM), fmt.Sprintf("Sprue ⌀ %s, runs beside the band", mm(m.SprueMM))}
		gate = callout{v.at(w/2, cy+hi.Y), fmt.Sprintf("Gate ⌀ %s, from below", mm(m.GateMM))}
	}
	m.funnel(v, w/2)
	var at [2]draw.Point
	for i, out := range []float64{90, -90} {
		p, f := m.Band.toward(out)
		c := v.at(w/2, cy+p.Y)
		form := placed(outline(m.Band.Profile.At(f)), c.X, c.Y, out, v.scale)
		if m.Band.closedAt(f) {
			v.metal([][]draw.Point{form}, cast)
		}
		at[i] = v.at(w/2+m.Band.Profile.At(f).Width()/4, cy+p.Y-math.Copysign(1, out)*m.Band.Profile.At(f).ThicknessMM/2)
	}
	v.wall(w, h, w/2-m.FunnelTopMM/2, w/2+m.FunnelTopMM/2)
	return []callout{
		{v.at(w/2+m.FunnelTopMM/5, m.FunnelDepthMM/3), fmt.Sprintf("Funnel ⌀ %s (button)", mm(m.FunnelTopMM))},
		sprue,
		gate,
		{at[0], "Band, upper"},
		{at[1], "Band, lowest"},
		{v.at(w/2, (cy+hi.Y+h)/2), "Parting"},
		{v.at(0.85*w, h-4/v.scale), fmt.Sprintf("Clay, %s under the band", mm(round1(h-cy-hi.Y)))},
	}
}

// fromAboveAt says whether a gate is on the upper half of a standing band,
// where a straight sprue reaches it.
func (m Mould) fromAboveAt(atPct float64) bool {
	_, out := m.Band.course().place(atPct / 100)
	return math.Sin(out*math.Pi/180) > -1e-9
}

// side alternates between right and left of the band.
func (m Mould) side(i int) float64 { return float64(1 - 2*(i%2)) }

// toward is the point of a band's inside face that looks in a direction, and
// its fraction of the length.
func (b Band) toward(deg float64) (draw.Point, float64) {
	k := b.course()
	best, at, least := draw.Point{}, 0.0, math.Inf(1)
	const steps = 1440
	for i := range steps + 1 {
		f := float64(i) / steps
		p, out := k.place(f)
		if d := math.Abs(math.Remainder(out-deg, 360)); d < least-1e-9 {
			best, at, least = p, f, d
		}
	}
	return best, at
}

// closedAt is false where a cuff's gap is nearest: its ends are not in the cut.
func (b Band) closedAt(f float64) bool {
	return b.GapMM == 0 || (f > 1e-3 && f < 1-1e-3)
}

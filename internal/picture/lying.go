package picture

import (
	"fmt"
	"math"

	"pourwright/internal/draw"
)

// lyingCentre is the middle of a lying band in a view from above.
func (m Mould) lyingCentre() (cx, cy float64) {
	lo, hi := m.extent()
	free := m.FlaskWidthMM - (hi.X - lo.X) - m.SprueLengthMM - m.SprueMM
	return free/2 - lo.X, m.FlaskDepthMM/2 - (lo.Y+hi.Y)/2
}

// fromAbove draws the lower half of a lying mould with the band in it.
func (m Mould) fromAbove(v view) {
	w, d := m.FlaskWidthMM, m.FlaskDepthMM
	v.box(0, 0, w, d, 0)
	_, hi := m.extent()
	cx, cy := m.lyingCentre()
	k := m.Band.course()
	sx := cx + hi.X + m.SprueLengthMM + m.SprueMM/2
	for _, at := range m.GatesAtPct {
		p, out := k.place(at / 100)
		p = polarFrom(p, out, m.Band.Profile.At(at/100).ThicknessMM)
		x, y := cx+p.X, cy+p.Y
		length := math.Hypot(sx-x, cy-y)
		nx, ny := -(cy-y)/length, (sx-x)/length
		v.metal([][]draw.Point{v.points(
			x+nx*m.GateMM/2, y+ny*m.GateMM/2, sx+nx*m.SprueMM/2, cy+ny*m.SprueMM/2,
			sx-nx*m.SprueMM/2, cy-ny*m.SprueMM/2, x-nx*m.GateMM/2, y-ny*m.GateMM/2)}, feed)
	}
	c := v.at(cx, cy)
	v.metal(moved(m.Band.body(), c.X, c.Y, v.scale), cast)
	m.Band.drawStones(v.s, c.X, c.Y, v.scale)
	sprue := v.at(sx, cy)
	v.s.Circle(sprue.X, sprue.Y, v.scale*m.SprueMM/2, draw.Style{Line: draw.Black, WidthMM: 0.3, Fill: feed})
	for _, t := range m.Vents {
		p, out := k.place(t.AtPct / 100)
		p = polarFrom(p, out, m.Band.Profile.At(t.AtPct/100).ThicknessMM/2)
		o := v.at(cx+p.X, cy+p.Y)
		v.s.Circle(o.X, o.Y, math.Max(0.5, v.scale*t.DiameterMM/2), draw.Style{Line: draw.Black, WidthMM: 0.3, Fill: draw.White})
	}
	v.wall(w, d, 0, 0)
}

// cutLying draws the upright cut through sprue and band of a lying mould.
func (m Mould) cutLying(v view) []callout {
	w, h := m.FlaskWidthMM, m.FlaskHeightMM
	v.box(0, 0, w, h/2, 45)
	v.box(0, h/2, w, h/2, -45)
	v.line(draw.Stroke(draw.Vermilion, 0.4, 2.5, 0.8, 0.6, 0.8), -3/v.scale, h/2, w+3/v.scale, h/2)
	_, hi := m.extent()
	cx, _ := m.lyingCentre()
	sx := cx + hi.X + m.SprueLengthMM + m.SprueMM/2
	m.sprue(v, sx, sx, h/2, m.SprueMM)
	m.funnel(v, sx)
	v.metal([][]draw.Point{v.points(sx+m.SprueMM/2, h/2-m.GateMM/2, sx+m.SprueMM/2, h/2+m.GateMM/2, cx+hi.X, h/2+m.GateMM/2, cx+hi.X, h/2-m.GateMM/2)}, feed)
	var at draw.Point
	for _, out := range []float64{0, 180} {
		p, f := m.Band.toward(out)
		c := v.at(cx+p.X, h/2)
		if m.Band.closedAt(f) {
			v.metal([][]draw.Point{placed(outline(m.Band.Profile.At(f)), c.X, c.Y, out, v.scale)}, cast)
		}
		if out == 0 {
			at = v.at(cx+p.X+m.Band.Profile.At(f).ThicknessMM/2, h/2+m.Band.Profile.At(f).Width()/4)
		}
	}
	v.wall(w, h, sx-m.FunnelTopMM/2, sx+m.FunnelTopMM/2)
	var tops []draw.Point
	for _, t := range m.Vents {
		p, out := m.Band.course().place(t.AtPct / 100)
		x := cx + polarFrom(p, out, m.Band.Profile.At(t.AtPct/100).ThicknessMM/2).X
		tops = append(tops, v.vent(t.DiameterMM, x, h/2, x, 0))
	}
	v.nameVents(tops)
	labels := []callout{
		{v.at(sx+m.FunnelTopMM/5, m.FunnelDepthMM/3), fmt.Sprintf("Funnel ⌀ %s (button)", mm(m.FunnelTopMM))},
		{v.at(sx, (m.FunnelDepthMM+h/2)/2), fmt.Sprintf("Sprue ⌀ %s", mm(m.SprueMM))},
		{v.at(sx-m.SprueMM/2-m.SprueLengthMM/2, h/2), fmt.Sprintf("Gate ⌀ %s, %s long", draw.Number(m.GateMM), mm(m.SprueLengthMM))},
		{at, "Band"},
		{v.at(w-2/v.scale, h/2), fmt.Sprintf("Parting, %s under the face", mm(round1(h/2)))},
		{v.at(0.9*w, h-4/v.scale), "Clay"},
	}
	return labels
}

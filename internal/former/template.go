package former

import (
	"fmt"
	"math"

	"pourwright/internal/draw"
)

var (
	outlineStyle  = draw.Stroke(draw.Black, 0.2)
	finishedStyle = draw.Stroke(draw.Black, 0.15, 1.5, 1)
	axisStyle     = draw.Stroke(draw.Grey(0.5), 0.15, 4, 1, 0.5, 1)
	tickStyle     = draw.Stroke(draw.Black, 0.1)
)

const barMM = 100 // length of the scale bar

// pages draws the template at true scale.
func (p *plan) pages() []*draw.Sheet {
	switch p.in.Kind {
	case Strip:
		return p.stripPages(p.paper().Across())
	case Wedge:
		return []*draw.Sheet{p.wedgePage(p.paper().Across())}
	}
	return []*draw.Sheet{p.outlinePage(p.paper())}
}

func (p *plan) paper() draw.Paper {
	if p.in.Paper == "letter" {
		return draw.Letter
	}
	return draw.A4
}

const tabMM = 10 // beside a part of a strip, for the number of the joint

// parts returns how many sheets the template takes and how much of a strip
// fits on one.
func (p *plan) parts() (sheets int, roomMM float64) {
	roomMM = p.paper().Across().WidthMM - 2*draw.MarginMM - 2*tabMM
	if p.in.Kind != Strip {
		return 1, roomMM
	}
	return int(math.Ceil(p.StripInsideMM / roomMM)), roomMM
}

const foot = "True scale. Print at 100 %, not fitted to the page, and measure the bar before cutting."

// outlinePage draws the inside of the mould with its axes, and the strip
// lengths below.
func (p *plan) outlinePage(paper draw.Paper) *draw.Sheet {
	s, f := draw.NewPage(paper, fmt.Sprintf("%s %s", title(p.in.Kind), p.LabelText), foot, 1, 0)
	s.Description = fmt.Sprintf("Outline of %.2f by %.2f mm at true scale, with a scale bar of %d mm.", p.WidthMM, p.HeightMM, barMM)
	cx, cy := f.X+f.W/2, f.Y+12+p.HeightMM/2
	s.Ellipse(cx, cy, p.WidthMM/2, p.HeightMM/2, 0, outlineStyle)
	caption := fmt.Sprintf("%.2f × %.2f mm, circumference %.2f mm", p.WidthMM, p.HeightMM, p.CircumferenceMM)
	if p.finished != (vec2{}) {
		s.Ellipse(cx, cy, p.finished.x/2, p.finished.y/2, 0, finishedStyle)
		caption += fmt.Sprintf("; dashed: finished, %.2f × %.2f mm", p.finished.x, p.finished.y)
	}
	s.Line(cx-p.WidthMM/2-6, cy, cx+p.WidthMM/2+6, cy, axisStyle)
	s.Line(cx, cy-p.HeightMM/2-6, cx, cy+p.HeightMM/2+6, axisStyle)
	y := cy + p.HeightMM/2 + 13
	s.Text(cx, y, caption, draw.TextStyle{Align: draw.Centre, SizePt: 10, Bold: true})
	y += 8
	y += s.ScaleBar(f.X, y, barMM) + 6
	s.TextBox(f.X, y, f.W, fmt.Sprintf("Cut on the middle of the line. Strip %.2f mm thick bent to it: %.2f mm long if its outside has this size, %.2f mm if it is bent around it; leave the joint's filing over.",
		p.in.StripThicknessMM, p.StripInsideMM, p.StripOutsideMM), draw.TextStyle{})
	return s
}

// stripPages lays the strip on as many sheets as it takes, each part ending at
// a line to which the next is butted.
func (p *plan) stripPages(paper draw.Paper) []*draw.Sheet {
	n, room := p.parts()
	sheets := make([]*draw.Sheet, n)
	for i := range sheets {
		s, f := draw.NewPage(paper, fmt.Sprintf("Strip for %s", p.LabelText), foot, i+1, n)
		s.Description = fmt.Sprintf("Part %d of %d of a strip %.2f mm long and %.2f mm high at true scale, with a scale bar of %d mm.", i+1, n, p.StripInsideMM, p.in.DepthMM, barMM)
		from := float64(i) * room
		to := min(from+room, p.StripInsideMM)
		x0, y0 := f.X+tabMM, f.Y+15
		s.Rect(x0, y0, to-from, p.in.DepthMM, outlineStyle)
		for at := math.Ceil(from / 10); at*10 <= to; at++ {
			s.Line(x0+at*10-from, y0, x0+at*10-from, y0+min(2, p.in.DepthMM/2), tickStyle)
		}
		if i > 0 {
			s.Text(x0-5, y0+p.in.DepthMM/2, fmt.Sprint(i), draw.TextStyle{Align: draw.Centre, Middle: true})
		}
		if i < n-1 {
			s.Text(x0+to-from+5, y0+p.in.DepthMM/2, fmt.Sprint(i+1), draw.TextStyle{Align: draw.Centre, Middle: true})
		}
		y := y0 + p.in.DepthMM + 14
		s.TextBox(f.X, y, f.W, fmt.Sprintf("Whole length %.2f mm, %.2f mm high, %.2f mm thick: bent, its outside has %.2f mm of circumference. Butt the parts at equal numbers; ticks every 10 mm.",
			p.StripInsideMM, p.in.DepthMM, p.in.StripThicknessMM, p.CircumferenceMM), draw.TextStyle{})
		s.ScaleBar(f.X, y+20, barMM)
		sheets[i] = s
	}
	return sheets
}

// wedgePage draws the wedge from above and from the side, with its thickness
// marked every 10 mm.
func (p *plan) wedgePage(paper draw.Paper) *draw.Sheet {
	s, f := draw.NewPage(paper, "Wedge "+p.LabelText, foot, 1, 0)
	in := p.in
	s.Description = fmt.Sprintf("Wedge %.1f by %.1f mm, %.2f mm thick at the foot and %.2f mm at the thin end, at true scale.", p.in.WedgeLengthMM, in.WedgeWidthMM, in.WedgeFootMM, in.WedgeTipMM)
	x0, y0 := f.X+4, f.Y+15
	s.Rect(x0, y0, p.in.WedgeLengthMM, in.WedgeWidthMM, outlineStyle)
	for at := 0.0; at <= p.in.WedgeLengthMM; at += 10 {
		s.Line(x0+at, y0, x0+at, y0+2, tickStyle)
		thick := in.WedgeFootMM - (in.WedgeFootMM-in.WedgeTipMM)*at/in.WedgeLengthMM
		s.Text(x0+at, y0-1.5, fmt.Sprintf("%.2f", thick), draw.TextStyle{Align: draw.Centre, SizePt: 6})
	}
	y1 := y0 + in.WedgeWidthMM + 8
	s.Polygon([]draw.Point{{X: x0, Y: y1 + in.WedgeFootMM}, {X: x0 + p.in.WedgeLengthMM, Y: y1 + in.WedgeFootMM},
		{X: x0 + p.in.WedgeLengthMM, Y: y1 + in.WedgeFootMM - in.WedgeTipMM}, {X: x0, Y: y1}}, outlineStyle)
	y := y1 + in.WedgeFootMM + 10
	y += s.ScaleBar(f.X, y, barMM) + 6
	s.TextBox(f.X, y, f.W, "Foot to the left, at the sprue. Thickness in mm above the ticks, which stand every 10 mm. Lay the flat face in the parting plane, the thin end upwards or level, with at least 80 mm of metal above it. Measure how far the metal ran from the foot.", draw.TextStyle{})
	return s
}

func title(kind string) string {
	return map[string]string{Disc: "Sizing disc", Cutter: "Ring cutter", Strip: "Strip", Wedge: "Wedge"}[kind]
}

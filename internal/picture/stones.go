package picture

import (
	"fmt"
	"math"

	"pourwright/internal/draw"
	"pourwright/internal/stone"
)

// Measures of the drawing, mm.
const (
	edgeMM  = 8.0
	barMM   = 50.0
	textMM  = 2.6
	perMM   = 72 / 25.4 // points
	labelMM = 4.0       // from an outline to its label
)

// DrawStones draws a layout at true scale: the outer face unrolled, to lay
// on the clay or wrap round the pattern; the piece seen from above with the
// direction of each stone; and a bar of 50 mm to check the print by.
func DrawStones(in stone.LayoutIn, out stone.LayoutOut) *draw.Sheet {
	width := 0.0
	for _, s := range in.Profile {
		width = max(width, s.Width())
	}
	radius := in.InsideDiameterMM / 2
	thick := 0.0
	for _, s := range in.Profile {
		thick = max(thick, s.ThicknessMM)
	}
	outer := radius + thick
	planTop := edgeMM + 4*textMM + width + 4*labelMM
	w := max(out.CircumferenceMM, max(2*outer+30, 120)) + 2*edgeMM
	h := planTop + 2*outer + 6*labelMM + edgeMM
	sheet := draw.NewSheet(w, h)
	sheet.Title = "Stones round the piece, true scale"
	sheet.Description = fmt.Sprintf("%d stones and %d grains on an outer face of %.1f mm, unrolled and from above", out.Count, out.GrainCount, out.CircumferenceMM)
	p := stoneSheet{sheet, in, out, width}
	p.strip(edgeMM, edgeMM+4*textMM+width/2)
	p.plan(edgeMM+outer+12, planTop+outer+2*labelMM, outer)
	p.bar(max(2*outer+30+edgeMM, w-edgeMM-barMM-2), h-edgeMM-2)
	return sheet
}

type stoneSheet struct {
	*draw.Sheet
	in    stone.LayoutIn
	out   stone.LayoutOut
	width float64
}

var (
	thinLine = draw.Stroke(draw.Black, 0.15)
	dashed   = draw.Stroke(draw.Grey(0.35), 0.15, 1.5, 1)
	grainInk = draw.Stroke(draw.Vermilion, 0.15)
	stoneInk = draw.Style{Line: draw.Blue, WidthMM: 0.2, Fill: draw.Faded(draw.SkyBlue, 0.35)}
	gateInk  = draw.Style{Line: draw.Black, WidthMM: 0.1, Fill: draw.Faded(draw.Orange, 0.5)}
)

func (p stoneSheet) text(x, y float64, align draw.Align, format string, args ...any) {
	p.Text(x, y, fmt.Sprintf(format, args...), draw.TextStyle{SizePt: textMM * perMM, Align: align})
}

// strip draws the outer face unrolled, its middle on y.
func (p stoneSheet) strip(x0, y float64) {
	round := p.out.CircumferenceMM
	p.text(x0, y-p.width/2-2.2*textMM, draw.Left, "Outer face unrolled, %.1f mm round; parting line dashed", round)
	p.Rect(x0, y-p.width/2, round, p.width, thinLine)
	at := func(deg float64) float64 { return x0 + round*turnOf(deg)/360 }
	p.gate(at(p.in.SprueDeg), y, p.in.SprueWidthMM, x0, round)
	for _, v := range p.in.VentsDeg {
		p.gate(at(v), y, p.in.VentWidthMM, x0, round)
	}
	p.Line(x0, y, x0+round, y, dashed)
	for deg := 0.0; deg <= 360; deg += 30 {
		x := x0 + round*deg/360
		p.Line(x, y+p.width/2, x, y+p.width/2+1.2, thinLine)
		p.text(x, y+p.width/2+1.5+textMM, draw.Centre, "%.0f°", deg)
	}
	for _, s := range p.out.Stones {
		p.stone(x0+s.AlongMM, y-s.AcrossMM, s)
	}
	for _, s := range p.out.Stones { // over all stones, as a shared grain lies on two
		for _, g := range s.Grains {
			p.Circle(x0+g.AlongMM, y-g.AcrossMM, g.DiameterMM/2, grainInk)
		}
		if s.LengthMM >= 2 || p.out.Count <= 40 {
			p.Text(x0+s.AlongMM, y-s.AcrossMM, fmt.Sprint(s.Number), draw.TextStyle{Middle: true, SizePt: labelSize(s) * perMM, Align: draw.Centre})
		}
	}
}

func labelSize(s stone.PlacedStone) float64 { return max(0.8, min(textMM, 0.6*s.WidthMM)) }

// gate draws a sprue or vent over the strip, cut off at its ends.
func (p stoneSheet) gate(x, y, widthMM, x0, round float64) {
	for _, shift := range []float64{-round, 0, round} {
		from, to := max(x0, x+shift-widthMM/2), min(x0+round, x+shift+widthMM/2)
		if to > from {
			p.Rect(from, y-p.width/2, to-from, p.width, gateInk)
		}
	}
}

// stone draws a girdle outline, its point along the way round.
func (p stoneSheet) stone(x, y float64, s stone.PlacedStone) {
	edge := stone.Outline(s.Cut, s.LengthMM, s.WidthMM)
	points := make([]draw.Point, len(edge))
	for i, v := range edge {
		points[i] = draw.Point{X: x + v[0], Y: y - v[1]}
	}
	p.Polygon(points, stoneInk)
}

// plan draws the piece from above, 0 degrees at the top, running clockwise.
func (p stoneSheet) plan(cx, cy, outer float64) {
	toward := func(r, deg float64) draw.Point { return draw.Polar(cx, cy, r, 90-deg) }
	face := func(deg float64) float64 {
		return p.in.InsideDiameterMM/2 + p.in.Profile.At(deg/360).ThicknessMM
	}
	p.Circle(cx, cy, p.in.InsideDiameterMM/2, thinLine)
	var rim []draw.Point
	for deg := 0.0; deg < 360; deg++ {
		rim = append(rim, toward(face(deg), deg))
	}
	p.Polygon(rim, thinLine)
	p.Line(cx-2, cy, cx+2, cy, thinLine)
	p.Line(cx, cy-2, cx, cy+2, thinLine)
	p.mark(toward, face, p.in.SprueDeg, "sprue")
	for _, v := range p.in.VentsDeg {
		p.mark(toward, face, v, "vent")
	}
	for _, s := range p.out.Stones {
		f := face(s.AtDeg)
		half := math.Atan(s.LengthMM/2/f) * 180 / math.Pi
		a, b := toward(f, s.AtDeg-half), toward(f, s.AtDeg+half)
		p.Polygon([]draw.Point{a, b, toward(f-s.DepthMM+s.PressMM, s.AtDeg)}, stoneInk)
		if p.out.Count <= 60 && s.Row == 1 {
			in := toward(p.in.InsideDiameterMM/2-2.5, s.AtDeg)
			p.Text(in.X, in.Y, fmt.Sprint(s.Number), draw.TextStyle{Middle: true, SizePt: 1.8 * perMM, Align: draw.Centre})
		}
	}
	p.text(cx, cy+3*textMM, draw.Centre, "inside %.1f mm", p.in.InsideDiameterMM)
	p.text(cx, cy+4.5*textMM, draw.Centre, "%d stones, %d grains", p.out.Count, p.out.GrainCount)
}

// turnOf is an angle within 0 to 360 degrees.
func turnOf(deg float64) float64 { return deg - 360*math.Floor(deg/360) }

func (p stoneSheet) mark(toward func(r, deg float64) draw.Point, face func(float64) float64, deg float64, name string) {
	f := face(turnOf(deg))
	a, b, c := toward(f, deg), toward(f+labelMM, deg), toward(f+labelMM+2.5, deg)
	p.Line(a.X, a.Y, b.X, b.Y, draw.Stroke(draw.Black, 0.4))
	p.text(c.X, c.Y+0.35*textMM, draw.Centre, "%s", name)
}

// bar draws the scale to check the print by, its left end at x.
func (p stoneSheet) bar(x, y float64) {
	p.Line(x, y, x+barMM, y, draw.Stroke(draw.Black, 0.3))
	for mm := 0.0; mm <= barMM; mm += 10 {
		p.Line(x+mm, y, x+mm, y-2, thinLine)
	}
	p.text(x, y-3, draw.Left, "50 mm: measure this bar before use")
}

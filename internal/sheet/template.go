package sheet

import (
	"context"
	"fmt"
	"math"
	"slices"

	"pourwright/internal/commission"
	"pourwright/internal/draw"
	"pourwright/internal/order"
	"pourwright/internal/picture"
	"pourwright/internal/shape"
	"pourwright/internal/sizing"
)

// aroundMM is the space for what is cut from outside into a band.
const aroundMM = 6.0

// barMM is the length of the bar to measure a print by.
const barMM = 100.0

var (
	line   = draw.Stroke(draw.Black, 0.25)
	fine   = draw.Stroke(draw.Black, 0.15)
	dashed = draw.Stroke(draw.Grey(0.3), 0.15, 1.5, 1)
	gem    = draw.Style{Line: draw.Black, WidthMM: 0.15, Fill: draw.RGB(214, 234, 246)}
	centre = draw.TextStyle{SizePt: 7, Align: draw.Centre}
)

// template puts the 1:1 drawings of a piece on the pages, together where they
// fit one: the bar, the piece seen along its axis, a disc to try its size
// with, and its outer face unrolled.
func template(f *draw.Flow, p piece, plan order.PiecePlan) error {
	sheets := flats(p, f.Width())
	if !p.given.Straight() {
		if err := p.band(90).Check(); err != nil {
			return err
		}
		inside := max(p.mould.Mould.InsideWidthMM, p.mould.Mould.InsideHeightMM)
		across := inside + 2*thickest(p) + 2*aroundMM
		sheets = append(beside(along(p, across), disc(plan, across), f.Width()), strip(p, f.Width())...)
	}
	const head, gap = 9.5, 1.5 // mm; the gap is that of a figure
	total := 2*gap + head
	for _, s := range sheets {
		_, h := s.Size()
		total += h + gap
	}
	if total > f.Left() {
		f.NewPage()
	}
	f.Space(2 * gap)
	f.Block(head, func(s *draw.Sheet, x, y, w float64) {
		s.Text(x, y+5, p.given.Name+", at 1:1", draw.TextStyle{SizePt: 11, Bold: true, FitMM: w - barMM - 5})
		s.ScaleBar(x+w-barMM-0.5, y+1.5, barMM)
	})
	for _, s := range sheets {
		f.Figure(s, 1)
	}
	return nil
}

// tallestMM is the room of a flask, so that a piece keeps to its page.
const tallestMM = 75

// layoutMM is the room of a layout, which is drawn at 1:1 where half a page holds it.
const layoutMM = 150

// flaskFigure draws the flask that one cuts by: funnel, sprue and vents, where
// they leave the band. Its drawing is smaller than 1:1 where the page asks it. A
// flask that pieces share stands after the last of them.
func flaskFigure(ctx context.Context, f *draw.Flow, in *order.Order, out *commission.Out, p piece) (err error) {
	shared := out.FlaskOf(p.given.Name)
	if shared != nil && shared.Last() != p.given.Name {
		return nil
	}
	if shared == nil && p.given.Straight() {
		if shared, err = in.Alone(ctx, p.given, p.cavity); err != nil {
			return err
		}
	}
	if shared != nil {
		f.Figure(layout(shared, f.Width(), layoutMM), 1)
		return nil
	}
	var s *draw.Sheet
	for width := f.Width(); width > 80; width -= 15 { // the drawing says its own scale
		if s, err = picture.DrawMould(p.flask(), picture.Look{WidthMM: width}); err != nil {
			f.Text(p.given.Name+": the flask is not drawn; "+err.Error()+".", small)
			return nil
		}
		if _, h := s.Size(); h <= tallestMM {
			break
		}
	}
	f.Figure(s, 1)
	return nil
}

// beside puts two drawings of one size in a row where the width allows.
func beside(a, b *draw.Sheet, width float64) []*draw.Sheet {
	w, h := a.Size()
	if 2*w+4 > width {
		return []*draw.Sheet{a, b}
	}
	both := draw.NewSheet(2*w+4, h)
	both.Place(a, 0, 0, 1)
	both.Place(b, w+4, 0, 1)
	return []*draw.Sheet{both}
}

// labelMM is what a small drawing needs below it for the words that have no
// room inside.
func labelMM(side float64) float64 {
	if side < 45 {
		return 8
	}
	return 0
}

func thickest(p piece) float64 {
	t := 0.0
	for _, s := range p.cavity.Profile(nil) {
		t = max(t, s.ThicknessMM)
	}
	for _, s := range p.fixedStones() {
		t = max(t, p.mould.FillSection.ThicknessMM+0.3*s.depth)
	}
	return t
}

// around is an empty sheet for a round drawing, and its centre. A small one
// is wide enough for the words below it.
func around(side float64) (s *draw.Sheet, cx, cy float64) {
	s = draw.NewSheet(max(side, 62), side+labelMM(side))
	w, _ := s.Size()
	return s, w / 2, side / 2
}

// along draws the piece in its mould size, seen along its axis, gate on top.
func along(p piece, side float64) *draw.Sheet {
	s, cx, cy := around(side)
	band := p.band(90)
	band.DrawOn(s, cx, cy, 1)
	s.Line(cx-2, cy, cx+2, cy, fine)
	s.Line(cx, cy-2, cx, cy+2, fine)
	outside := func(atPct, off float64) draw.Point {
		at := band.Outside(atPct, off)
		return draw.Point{X: cx + at.X, Y: cy + at.Y}
	}
	for _, at := range p.gates() {
		tip, tail := outside(at, 0.5), outside(at, aroundMM-0.5)
		s.Arrow(tail.X, tail.Y, tip.X, tip.Y, fine)
	}
	for _, v := range p.vents() {
		a, b := outside(v.AtPct, 0.3), outside(v.AtPct, aroundMM-1.5)
		s.Line(a.X, a.Y, b.X, b.Y, line)
	}
	size := insideOf("⌀ %.2f mm inside", "%.2f × %.2f mm inside", p.mould.Mould)
	if labelMM(side) > 0 {
		s.Text(cx, side+5, "Mould, gate on top, "+size, centre)
		return s
	}
	high := p.mould.Mould.InsideWidthMM / 2 // through the gate
	s.Text(cx, cy-high+9, "gate", centre)
	s.Text(cx, cy-5, size, centre)
	s.Text(cx, cy+6, "Mould, gate on top", centre)
	if p.given.Mould.VentCount > 0 {
		s.Text(cx, cy+high-4.5, "vents", centre)
	}
	return s
}

// insideOf says the inside of a round piece by its diameter, of an oval one by
// its width and height.
func insideOf(round, oval string, m sizing.Measures) string {
	if m.Oval() {
		return fmt.Sprintf(oval, m.InsideWidthMM, m.InsideHeightMM)
	}
	return fmt.Sprintf(round, m.InsideDiameterMM)
}

// disc draws the finished inside as a disc to cut out, an oval one with the
// gate on top: the finished piece slips over it without play.
func disc(plan order.PiecePlan, side float64) *draw.Sheet {
	s, cx, cy := around(side)
	inside := plan.Mould.Finished
	s.Ellipse(cx, cy, inside.InsideHeightMM/2, inside.InsideWidthMM/2, 0, line)
	s.Line(cx-3, cy, cx+3, cy, fine)
	s.Line(cx, cy-3, cx, cy+3, fine)
	size := insideOf("⌀ %.2f mm finished inside", "%.2f × %.2f mm finished inside", inside)
	if labelMM(side) > 0 {
		s.Text(cx, side+5, "Size disc, "+size, centre)
		return s
	}
	s.Text(cx, cy-5, size, centre)
	s.Text(cx, cy+6, "Size disc: cut out, or lay", centre)
	s.Text(cx, cy+9.5, "the finished piece on it", centre)
	return s
}

// strip draws the outer face unrolled from the gate once round, broken into
// rows that fit the page, those of them in which stones lie.
func strip(p piece, width float64) []*draw.Sheet {
	round := math.Pi * (p.mould.Mould.InsideDiameterMM + 2*p.mould.FillSection.ThicknessMM)
	stones := p.fixedStones()
	rows := int(math.Ceil(round / (width - 8)))
	each := round / float64(rows)
	var sheets []*draw.Sheet
	for i := range rows {
		from := float64(i) * each
		here := slices.DeleteFunc(slices.Clone(stones), func(s fixed) bool { return s.at*round < from || s.at*round >= from+each })
		if len(here) > 0 {
			sheets = append(sheets, row(p, here, from, each, round, width))
		}
	}
	return sheets
}

// row draws a stretch of the outer face, from so many mm behind the gate.
func row(p piece, stones []fixed, from, each, round, width float64) *draw.Sheet {
	w := p.mould.FillSection.Width()
	s := draw.NewSheet(width, w+13)
	x0, y := (width-each)/2, 6+w/2
	s.Text(x0, 3, fmt.Sprintf("Outer face of the mould unrolled, clockwise from the gate: %.0f to %.0f of %.1f mm. Parting line dashed; figures: mm from the gate", from, from+each, round), draw.TextStyle{SizePt: 7, FitMM: width - x0})
	s.Rect(x0, y-w/2, each, w, line)
	s.Line(x0, y, x0+each, y, dashed)
	for mm := math.Ceil(from/10) * 10; mm <= from+each+1e-9; mm += 10 {
		x := x0 + mm - from
		s.Line(x, y+w/2, x, y+w/2+1, fine)
		if math.Mod(mm, 20) == 0 {
			s.Text(x, y+w/2+3.8, draw.Number(mm), centre)
		}
	}
	for _, g := range p.gates() {
		if at := g / 100 * round; at >= from && at < from+each {
			s.Line(x0+at-from, y-w/2, x0+at-from, y+w/2, draw.Stroke(draw.Black, 0.6))
		}
	}
	for _, g := range stones {
		x := x0 + g.at*round - from
		s.Ellipse(x, y, g.along/2, g.across/2, 0, gem)
		s.Text(x, y, fmt.Sprint(g.number), draw.TextStyle{SizePt: max(2.5, min(7, 1.6*min(g.along, g.across))), Align: draw.Centre, Middle: true})
	}
	return s
}

// flats draws a straight piece at 1:1, cut into lengths that fit the page.
func flats(p piece, width float64) []*draw.Sheet {
	rows := math.Ceil(p.mould.ArcLengthMM / (width - 8))
	var sheets []*draw.Sheet
	for i := range int(rows) {
		sheets = append(sheets, flatPart(p, float64(i)/rows, float64(i+1)/rows))
	}
	return sheets
}

// flatPart draws a straight piece between two fractions of its way at 1:1:
// its face with the stones and the bail, and its side below.
func flatPart(p piece, from, to float64) *draw.Sheet {
	const steps = 120
	cuts := make([]shape.Station, steps+1)
	w := 0.0
	for i := range cuts {
		cuts[i] = p.cavity.Station(100 * (from + (to-from)*float64(i)/steps))
		w = max(w, cuts[i].WidthMM)
	}
	whole := p.mould.ArcLengthMM
	long, beyond := whole*(to-from), 0.0
	loop, bailed := p.cavity.Loop()
	if bailed = bailed && to == 1; bailed {
		beyond = loop.Centre.X + loop.Radius + loop.WireMM/2 - whole
		w = max(w, 2*loop.Radius+loop.WireMM)
	}
	s := draw.NewSheet(max(long+beyond+8, 90), w+thickest(p)+22)
	s.Title = p.given.Name + ", size of the mould"
	s.Description = fmt.Sprintf("%.2f mm long, %.2f mm wide, %d stones.", whole, w, len(p.fixedStones()))
	sw, _ := s.Size()
	x0, y := (sw-long-beyond)/2, 8+w/2
	s.Text(x0, 4, fmt.Sprintf("Face and side of the mould, %.2f mm long, gate at the left", whole), draw.TextStyle{SizePt: 7, FitMM: sw - x0})
	foot := y + w/2 + 5 + thickest(p)
	face, side := make([]draw.Point, 2*steps+2), make([]draw.Point, steps+1, steps+3)
	for i, cut := range cuts {
		x := x0 + long*float64(i)/steps
		face[i] = draw.Point{X: x, Y: y - cut.WidthMM/2}
		face[len(face)-1-i] = draw.Point{X: x, Y: y + cut.WidthMM/2}
		side[i] = draw.Point{X: x, Y: foot - cut.ThicknessMM}
	}
	s.Polygon(face, line)
	s.Line(x0, y, x0+long, y, dashed)
	if from == 0 {
		s.Arrow(x0-3.5, y, x0, y, line)
	}
	s.Polygon(append(side, draw.Point{X: x0 + long, Y: foot}, draw.Point{X: x0, Y: foot}), line)
	wide := fmt.Sprintf("%.2f mm wide, %.2f mm thick", w, p.cavity.Thickest())
	if bailed {
		x := x0 + loop.Centre.X - from*whole
		for _, r := range [2]float64{-loop.WireMM / 2, loop.WireMM / 2} {
			s.Circle(x, y, loop.Radius+r, line)
		}
		s.Rect(x-loop.Radius-loop.WireMM/2, foot-loop.Centre.Z-loop.WireMM/2, 2*loop.Radius+loop.WireMM, loop.WireMM, line)
		wide += fmt.Sprintf("; bail of %.2f mm wire, %.2f mm inside", loop.WireMM, 2*loop.Radius-loop.WireMM)
	}
	s.Text(x0, foot+4, wide, draw.TextStyle{SizePt: 7, FitMM: sw - x0})
	for _, g := range p.fixedStones() {
		if g.at < from || g.at > to {
			continue
		}
		x := x0 + (g.at-from)*whole
		s.Ellipse(x, y, g.along/2, g.across/2, 0, gem)
		s.Text(x, y, fmt.Sprint(g.number), draw.TextStyle{SizePt: max(2.5, min(7, 1.6*min(g.along, g.across))), Align: draw.Centre, Middle: true})
	}
	return s
}

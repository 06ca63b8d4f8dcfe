package picture

import (
	"fmt"
	"math"

	"pourwright/internal/draw"
	"pourwright/internal/fill"
)

// Measures of the fill's picture, mm.
const (
	fillWide     = 180.0
	fillMargin   = 18.0
	stripHigh    = 22.0
	fillPlotHigh = 42.0
	perStretch   = stripHigh + fillPlotHigh + 38
)

// DrawFill draws the mould unrolled: each way of the metal as a strip
// of its thickness, coloured by the temperature at which the metal comes, with
// the time of its coming; below, when it comes and when it is solid.
func DrawFill(in fill.In, out fill.Out) *draw.Sheet {
	s := draw.NewSheet(fillWide, 40+perStretch*float64(len(out.Nominal.Stretches)))
	s.Title = "The metal's way through the mould, unrolled"
	s.Description = fmt.Sprintf("Planned pour of a %s in %s; %s pours of its kind fail.", in.Piece, in.Alloy, out.Words)
	s.Text(fillMargin, 9, s.Title, draw.TextStyle{SizePt: 12, Bold: true})
	s.Text(fillMargin, 14.5, s.Description, draw.TextStyle{SizePt: 8.5})
	lo, hi := temperatures(out)
	s.Legend(fillMargin, 17, 120, draw.Cividis, lo, hi, "Temperature of the first metal to come, °C; hatched: none comes")
	y := 40.0
	for i := range out.Nominal.Stretches {
		drawStretch(s, &out, i, y, lo, hi)
		y += perStretch
	}
	return s
}

// temperatures returns the range that the colours span.
func temperatures(out fill.Out) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, st := range out.Nominal.Stretches {
		for _, p := range st.Places {
			if p.ArrivalC != nil {
				lo, hi = min(lo, *p.ArrivalC), max(hi, *p.ArrivalC)
			}
		}
	}
	if math.IsInf(lo, 1) {
		return 0, 1
	}
	return math.Floor(lo/10) * 10, math.Ceil(hi/10)*10 + 1
}

func drawStretch(s *draw.Sheet, out *fill.Out, i int, y, lo, hi float64) {
	st := &out.Nominal.Stretches[i]
	small := draw.TextStyle{SizePt: 7.5}
	s.Text(fillMargin, y, fmt.Sprintf("%s, %.0f mm: %.0f %% filled to its edges", st.Name, st.LengthMM, st.FilledPct), draw.TextStyle{SizePt: 9, Bold: true})
	wide := fillWide - 2*fillMargin
	thickest := 0.0
	for _, p := range st.Places {
		thickest = max(thickest, p.ThicknessMM)
	}
	middle := y + 3 + stripHigh/2
	at := func(k int) float64 { // border before place k
		switch {
		case k <= 0:
			return fillMargin
		case k >= len(st.Places):
			return fillMargin + wide
		}
		return fillMargin + wide*(st.Places[k-1].AtPct+st.Places[k].AtPct)/200
	}
	for k, p := range st.Places {
		high := stripHigh * 0.6 * p.ThicknessMM / thickest
		x, w := at(k), at(k+1)-at(k)
		if p.ArrivalC == nil {
			ring := []draw.Point{{X: x, Y: middle - high/2}, {X: x + w, Y: middle - high/2}, {X: x + w, Y: middle + high/2}, {X: x, Y: middle + high/2}}
			s.Hatch([][]draw.Point{ring}, 1.2, 45, draw.Stroke(draw.Black, 0.15))
			s.Polygon(ring, draw.Stroke(draw.Black, 0.15))
			continue
		}
		s.Rect(x, middle-high/2, w, high, draw.Style{Line: draw.Grey(0.4), WidthMM: 0.1, Fill: draw.Cividis.At((*p.ArrivalC - lo) / (hi - lo))})
		if k%4 == 0 {
			s.Text(x+w/2, middle-stripHigh*0.3-1.5, fmt.Sprintf("%.2f s", *p.ArrivalS), draw.TextStyle{SizePt: 6.5, Align: draw.Centre})
		}
	}
	for _, m := range out.Nominal.Meetings {
		if m.Stretch != i || m.AtPct == 0 { // the second meeting is the gate itself
			continue
		}
		x := fillMargin + wide*m.AtPct/100
		s.Line(x, middle-stripHigh*0.3, x, middle+stripHigh*0.38, draw.Stroke(draw.Vermilion, 0.6))
		small.Align = draw.Centre
		if m.AtPct > 75 { // the text would run off the page
			small.Align = draw.Right
		}
		s.Text(x, middle+stripHigh*0.38+3, fmt.Sprintf("streams meet: %.0f °C, %.0f %% solid", m.KnitC, 100*m.Solid), small)
	}
	times(s, st, y+stripHigh+8, wide)
}

// times plots when the metal comes and when it is solid.
func times(s *draw.Sheet, st *fill.Stretch, y, wide float64) {
	var x, comes, solid []float64
	last := 0.1
	for _, p := range st.Places {
		c, f := math.NaN(), math.NaN()
		if p.ArrivalS != nil {
			c = *p.ArrivalS
		}
		if p.FreezeS != nil {
			f = *p.FreezeS
			last = max(last, f)
		}
		x, comes, solid = append(x, p.AtPct*st.LengthMM/100), append(comes, c), append(solid, f)
	}
	a := draw.Axes{X: fillMargin, Y: y, W: wide, H: fillPlotHigh, XMax: st.LengthMM, YMax: 1.1 * last, XLabel: "Way from the gate, mm", YLabel: "Time, s"}
	s.Axes(a)
	s.Curve(a, x, comes, draw.Stroke(draw.Blue, 0.5))
	s.Curve(a, x, solid, draw.Stroke(draw.Vermilion, 0.5, 2, 1))
	s.Text(fillMargin+wide, y-1.5, "full line: metal comes; dashed: solid", draw.TextStyle{SizePt: 7.5, Align: draw.Right})
}

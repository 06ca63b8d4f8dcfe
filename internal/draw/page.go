package draw

import "fmt"

// Paper is a size of sheet, upright.
type Paper struct {
	Name              string
	WidthMM, HeightMM float64
}

// The papers of the world's printers: ISO 216, and the US letter size of
// 8.5 × 11 in (ANSI/ASME Y14.1).
var (
	A4     = Paper{"A4", 210, 297}
	Letter = Paper{"Letter", 215.9, 279.4}
)

// Across is the paper turned to lie.
func (p Paper) Across() Paper { return Paper{p.Name, p.HeightMM, p.WidthMM} }

// MarginMM is what a page leaves free at each side: more than the usual
// printer's unprintable edge.
const MarginMM = 14

// Frame is the part of a page that is free to draw on.
type Frame struct{ X, Y, W, H float64 }

// Bottom is the y of the frame's lower edge.
func (f Frame) Bottom() float64 { return f.Y + f.H }

// NewPage returns a sheet of paper with a title and a thin rule at its head, a
// note and the page's number at its foot, and the frame left free. Number the
// pages from 1; of is their count, or 0 where there is only one.
func NewPage(p Paper, title, note string, number, of int) (*Sheet, Frame) {
	s := NewSheet(p.WidthMM, p.HeightMM)
	s.Title = title
	w, head, foot := p.WidthMM-2*MarginMM, float64(MarginMM), p.HeightMM-MarginMM
	s.Text(MarginMM, head+4.5, title, TextStyle{SizePt: 15, Bold: true, FitMM: w})
	s.Line(MarginMM, head+7, MarginMM+w, head+7, Stroke(Grey(0.35), 0.3))
	s.Text(MarginMM, foot, note, TextStyle{SizePt: 7.5, Colour: Grey(0.3), FitMM: w - numberRoom})
	s.number(number, of)
	return s, Frame{MarginMM, head + 11, w, foot - 5 - (head + 11)}
}

const numberRoom = 15 // mm at the foot's right end

func (s *Sheet) number(number, of int) {
	if of > 0 {
		s.Text(s.w-MarginMM, s.h-MarginMM, fmt.Sprintf("%d / %d", number, of),
			TextStyle{SizePt: 7.5, Colour: Grey(0.3), Align: Right, FitMM: numberRoom})
	}
}

// ScaleBar draws a bar of a true length in mm, its left end at x, y, with a
// mark every 10 mm and the request to measure it, and returns the height it
// takes in mm. Every 1:1 drawing on paper needs one: printers like to shrink
// pages.
func (s *Sheet) ScaleBar(x, y, lengthMM float64) (heightMM float64) {
	if !s.sane("scale bar", x, y, lengthMM) || !s.positive("scale bar", lengthMM) {
		return 0
	}
	const tall = 2.0
	st := Stroke(Black, 0.2)
	for at := 0.0; at < lengthMM; at += 20 {
		s.Rect(x+at, y, min(10, lengthMM-at), tall, Filled(Black))
	}
	s.Rect(x, y, lengthMM, tall, st)
	for _, end := range []float64{0, lengthMM} {
		s.Line(x+end, y-1, x+end, y+tall+1, st)
	}
	text := TextStyle{SizePt: 7.5, FitMM: lengthMM}
	s.Text(x, y+tall+1+text.LineMM(), fmt.Sprintf("%s mm: measure before use; print at 100 %%, not fitted to the page", Number(lengthMM)), text)
	return tall + 1 + text.LineMM() + 1
}

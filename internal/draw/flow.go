package draw

import (
	"fmt"
	"math"
)

// Flow fills pages from the top down and begins the next one when a page is
// full. What is added is never lost: long text runs on, and a block that no
// page could hold makes the document fail with an error.
//
//	f := draw.NewFlow(draw.A4, "Bench sheet", "Numbers are a calculation, not an assay")
//	f.Heading("Weigh out")
//	f.Table([]draw.Column{{Head: "Metal", Share: 3}, {Head: "g", Share: 1, Align: draw.Right}}, rows)
//	f.Figure(layout, 1)
//	pdf, err := draw.PDF(f.Pages()...)
type Flow struct {
	paper       Paper
	title, note string
	pages       []*Sheet
	frame       Frame
	y           float64 // next free
}

// NewFlow starts a document with its first page.
func NewFlow(p Paper, title, note string) *Flow {
	f := &Flow{paper: p, title: title, note: note}
	f.NewPage()
	return f
}

// NewPage begins a page, full or not.
func (f *Flow) NewPage() {
	s, frame := NewPage(f.paper, f.title, f.note, 0, 0)
	f.pages = append(f.pages, s)
	f.frame, f.y = frame, frame.Y
}

// Pages returns the pages, numbered. Call it once, at the end.
func (f *Flow) Pages() []*Sheet {
	if len(f.pages) > 1 {
		for i, s := range f.pages {
			s.number(i+1, len(f.pages))
		}
	}
	return f.pages
}

// Width is the width in mm between the margins.
func (f *Flow) Width() float64 { return f.frame.W }

// Left is the height in mm still free on this page.
func (f *Flow) Left() float64 { return f.frame.Bottom() - f.y }

func (f *Flow) page() *Sheet { return f.pages[len(f.pages)-1] }

// fits begins a page if what comes next would not fit on this one.
func (f *Flow) fits(heightMM float64) {
	if f.y > f.frame.Y && heightMM > f.Left() {
		f.NewPage()
	}
}

// Space leaves a gap, except at the top of a page.
func (f *Flow) Space(mm float64) {
	if f.y > f.frame.Y {
		f.y += mm
	}
}

// Block draws something of a known height and the page's width that must not
// be broken.
func (f *Flow) Block(heightMM float64, draw func(s *Sheet, x, y, w float64)) {
	if !f.page().sane("block", heightMM) {
		return
	}
	if heightMM > f.frame.H {
		f.page().Fail(fmt.Errorf("draw: a block %.4g mm high does not fit a %s page, which has %.4g mm", heightMM, f.paper.Name, f.frame.H))
		return
	}
	f.fits(heightMM)
	draw(f.page(), f.frame.X, f.y, f.frame.W)
	f.y += heightMM
}

// Heading writes a line in bold, kept with what follows.
func (f *Flow) Heading(text string) {
	st := TextStyle{SizePt: 11, Bold: true}
	f.Space(2.5)
	f.fits(BoxHeight(f.frame.W, text, st) + 14)
	f.Text(text, st)
	f.y += 0.8
}

// Text writes text wrapped to the page.
func (f *Flow) Text(text string, st TextStyle) { f.lines(0, text, st, nil) }

// Item writes text behind a mark of its own width: "1.", "•", or an empty box
// to tick where mark is "".
func (f *Flow) Item(mark, text string, st TextStyle) {
	indent := math.Max(6, TextWidth(mark, st)+2)
	f.lines(indent, text, st, func(s *Sheet, x, y float64) {
		if mark == "" {
			side := st.sizePt() * mmPerPt * 0.95
			s.Rect(x, y+0.15*side, side, side, Stroke(Black, 0.25))
			return
		}
		plain := st
		plain.Align = Left
		s.Text(x, y+st.sizePt()*mmPerPt, mark, plain)
	})
	f.y += 0.7
}

func (f *Flow) lines(indent float64, text string, st TextStyle, mark func(s *Sheet, x, y float64)) {
	if !f.page().sane("text", st.SizePt) || !f.page().positive("text", st.SizePt) {
		return
	}
	for _, l := range wrap(text, f.frame.W-indent, st) {
		f.fits(st.LineMM())
		if mark != nil {
			mark(f.page(), f.frame.X, f.y)
			mark = nil
		}
		f.page().TextBox(f.frame.X+indent, f.y, f.frame.W-indent, l, st)
		f.y += st.LineMM()
	}
}

// Figure places a sheet in the middle of the page, at a scale (1 is true) or,
// for 0, as large as the width allows up to true size. A figure that is too
// large for its scale makes the document fail: true size is never shrunk.
func (f *Flow) Figure(s *Sheet, scale float64) {
	if scale == 0 {
		scale = math.Min(1, s.FitScale(f.frame.W, f.frame.H))
	}
	if w := scale * s.w; w > f.frame.W+1e-9 {
		f.page().Fail(fmt.Errorf("draw: a figure %.4g mm wide does not fit a %s page, which has %.4g mm", w, f.paper.Name, f.frame.W))
		return
	}
	f.Block(scale*s.h, func(page *Sheet, x, y, w float64) { page.Place(s, x+(w-scale*s.w)/2, y, scale) })
	f.y += 1.5
}

// Write leaves dotted lines to write on by hand, each behind its label.
func (f *Flow) Write(labels ...string) {
	for _, label := range labels {
		f.Block(7.5, func(s *Sheet, x, y, w float64) {
			end := x + s.Text(x, y+6, label, TextStyle{FitMM: 0.7 * w}) + 1.5
			s.Line(end, y+6.4, x+w, y+6.4, Stroke(Grey(0.4), 0.15, 0.4, 0.8))
		})
	}
}

// Column is a column of a table: its head, its share of the width and how its
// cells stand.
type Column struct {
	Head  string
	Share float64
	Align Align
}

// Table writes rows of cells under their heads, which are repeated on each
// page. Cells wrap; missing cells stay empty.
func (f *Flow) Table(columns []Column, rows [][]string) {
	st, head := TextStyle{SizePt: 8.5}, TextStyle{SizePt: 8, Bold: true}
	total := 0.0
	heads := make([]string, len(columns))
	for i, c := range columns {
		if !(c.Share > 0) || math.IsInf(c.Share, 1) {
			f.page().Fail(fmt.Errorf("draw: column %q has a share of %g: must be above 0", c.Head, c.Share))
			return
		}
		total += c.Share
		heads[i] = c.Head
	}
	if len(columns) == 0 {
		return
	}
	t := table{f, columns, total}
	f.fits(t.height(heads, head) + 2*st.LineMM())
	t.row(heads, head, Stroke(Grey(0.35), 0.3))
	for _, cells := range rows {
		if f.y > f.frame.Y && t.height(cells, st) > f.Left() {
			f.NewPage()
			t.row(heads, head, Stroke(Grey(0.35), 0.3))
		}
		t.row(cells, st, Stroke(Grey(0.7), 0.15))
	}
	f.y += 2
}

type table struct {
	*Flow
	columns []Column
	total   float64
}

const cellGap = 2.5 // mm between columns

func (t table) cellWidth(i int) float64 {
	return t.columns[i].Share/t.total*t.frame.W - cellGap
}

func (t table) height(cells []string, st TextStyle) float64 {
	h := st.LineMM()
	for i := range t.columns {
		if i < len(cells) {
			h = math.Max(h, BoxHeight(t.cellWidth(i), cells[i], st))
		}
	}
	return h + 1.4
}

func (t table) row(cells []string, st TextStyle, rule Style) {
	t.Block(t.height(cells, st), func(s *Sheet, x, y, w float64) {
		at := x
		for i, c := range t.columns {
			if i < len(cells) {
				st.Align = c.Align
				s.TextBox(at, y+0.2, t.cellWidth(i), cells[i], st)
			}
			at += t.cellWidth(i) + cellGap
		}
		bottom := y + t.height(cells, st) - 0.4
		s.Line(x, bottom, x+w, bottom, rule)
	})
}

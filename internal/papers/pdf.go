package papers

import (
	"context"

	"pourwright/internal/draw"
)

// PDF sets the papers, each beginning on a sheet of its own.
func PDF(_ context.Context, in In, out Out) ([]byte, error) {
	size := draw.A4
	if in.Paper == "letter" {
		size = draw.Letter
	}
	sheets := []*draw.Sheet{}
	for _, p := range out.Papers {
		f := draw.NewFlow(size, p.Title, "Numbers are weighed or reckoned, not assayed. Local law decides.")
		for _, part := range p.Parts {
			part.set(f)
		}
		sheets = append(sheets, f.Pages()...)
	}
	return draw.PDF(sheets...)
}

func (p *PaperPart) set(f *draw.Flow) {
	plain := draw.TextStyle{SizePt: 9.5}
	if p.Heading != "" {
		f.Heading(p.Heading)
	}
	for _, t := range p.Text {
		f.Text(t, plain)
		f.Space(1)
	}
	if len(p.Heads) > 0 {
		columns := make([]draw.Column, len(p.Heads))
		for i, h := range p.Heads {
			columns[i] = draw.Column{Head: h, Share: p.shares[i]}
		}
		f.Table(columns, p.Rows)
	}
	for _, t := range p.Ticks {
		f.Item("", t, plain)
	}
	if p.BlankMM > 0 {
		f.Block(p.BlankMM, func(s *draw.Sheet, x, y, w float64) {
			s.Rect(x, y+1, w, p.BlankMM-2, draw.Stroke(draw.Grey(0.5), 0.2))
		})
	}
	f.Write(p.Lines...)
}

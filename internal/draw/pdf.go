package draw

import (
	"bytes"
	"errors"
	"fmt"
	"unicode/utf16"

	"github.com/tdewolff/canvas/renderers/pdf"
)

// PDF writes sheets as the pages of a document, each at its own true size.
// The document's title is that of the first sheet. It carries no date, so
// that the same pages give the same bytes.
func PDF(pages ...*Sheet) ([]byte, error) {
	if len(pages) == 0 {
		return nil, errors.New("draw: a document needs a page")
	}
	var b bytes.Buffer
	var w *pdf.PDF
	for i, s := range pages {
		if s.err != nil {
			return nil, fmt.Errorf("page %d: %w", i+1, s.err)
		}
		if w == nil {
			w = pdf.New(&b, s.w, s.h, nil)
		} else {
			w.NewPage(s.w, s.h)
		}
		s.canvas.RenderTo(w)
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return dateless(b.Bytes(), info(pages[0].Title))
}

// info is the document information: a title in UTF-16 and hexadecimal, which
// needs no escapes.
func info(title string) []byte {
	var b bytes.Buffer
	b.WriteString("<</Producer(Pourwright)")
	if title != "" {
		b.WriteString("/Title<FEFF")
		for _, u := range utf16.Encode([]rune(clean(title))) {
			fmt.Fprintf(&b, "%04X", u)
		}
		b.WriteString(">")
	}
	b.WriteString(">>")
	return b.Bytes()
}

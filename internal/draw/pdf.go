package draw

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
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
	return dateless(b.Bytes(), pages[0].Title)
}

// dateless replaces the document information, which the library dates with
// the clock, by a title alone. The library writes it as object 2, followed
// only by object 3 and the table of offsets (ISO 32000-1, 7.5.4), which move.
func dateless(file []byte, title string) ([]byte, error) {
	malformed := errors.New("draw: the PDF library's file is not laid out as expected")
	const head = "\n2 0 obj\n"
	start := bytes.LastIndex(file, []byte(head))
	table := bytes.LastIndex(file, []byte("xref\n0 "))
	trailer := bytes.LastIndex(file, []byte("startxref\n"))
	// "startxref" holds "xref" too, but not followed by the table's "0 ".
	if start < 0 || table < start || trailer < table {
		return nil, malformed
	}
	length := bytes.Index(file[start:], []byte("\nendobj\n"))
	if length < 0 {
		return nil, malformed
	}
	info := []byte(head + "<</Producer(Pourwright)" + titleEntry(title) + ">>")
	shift := len(info) - length

	out := append([]byte{}, file[:start]...)
	out = append(out, info...)
	out = append(out, file[start+length:table]...)
	rows := bytes.SplitAfter(file[table:trailer], []byte("\n"))
	const third = 2 + 3 // after "xref", "0 n" and the free entry come objects 1, 2, 3
	if len(rows) <= third || len(rows[third]) < 20 {
		return nil, malformed
	}
	offset, err := strconv.Atoi(string(rows[third][:10]))
	if err != nil || offset < start {
		return nil, malformed
	}
	rows[third] = fmt.Appendf(nil, "%010d%s", offset+shift, rows[third][10:])
	out = append(out, bytes.Join(rows, nil)...)
	return fmt.Appendf(out, "startxref\n%d\n%%%%EOF\n", table+shift), nil
}

// titleEntry writes a title as UTF-16 in hexadecimal, which needs no escapes.
func titleEntry(title string) string {
	if title == "" {
		return ""
	}
	var b bytes.Buffer
	b.WriteString("/Title<FEFF")
	for _, u := range utf16.Encode([]rune(clean(title))) {
		fmt.Fprintf(&b, "%04X", u)
	}
	b.WriteString(">")
	return b.String()
}

package serve

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"encoding/xml"
	"errors"
	"io"
	"net/http"
	"reflect"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"pourwright/internal/calc"
	"pourwright/internal/wire"
)

func (b *workbook) put(r *row) error {
	b.cells = b.cells[:0]
	if r.err == nil {
		v := reflect.ValueOf(r.out)
		for i, c := range b.e.columns {
			if i > 0 {
				b.cells = append(b.cells, 0)
			}
			if b.cell, r.err = c.Append(b.cell[:0], v); r.err != nil {
				break
			}
			b.cells = b.appendCell(b.cells, b.cell)
		}
	}
	if r.err != nil {
		b.cells = append(b.cells[:0], make([]byte, len(b.e.columns))...)
		b.cells = b.appendCell(b.cells, []byte(strings.TrimPrefix(problemOf(r.err, "row").line(), "! ")))
	}
	b.rows[r.place].cells = string(b.cells)
	b.added += len(b.cells) + len(b.names)*len(`<c r="ABC1234567"`)
	if most := answersLimit(len(b.raw)); int64(b.added) > most {
		return problem(http.StatusRequestEntityTooLarge, "the answers of %d rows come to more than %d bytes; send the sheet in parts", r.number, most)
	}
	return nil
}

// appendCell writes the XML of a cell from behind its place: a number where it
// is one, else a text, which no spreadsheet takes for a formula. An empty cell
// is not written.
func (b *workbook) appendCell(dst, cell []byte) []byte {
	if len(cell) == 0 {
		return dst
	}
	if strings.IndexByte("+-.0123456789", cell[0]) >= 0 {
		if v, err := strconv.ParseFloat(string(cell), 64); err == nil && v-v == 0 {
			dst = append(dst, "><v>"...)
			if len(bytes.Trim(cell, "-.0123456789")) > 0 {
				dst = strconv.AppendFloat(dst, v, 'g', -1, 64)
			} else {
				dst = append(dst, cell...)
			}
			return append(dst, "</v></c>"...)
		}
	}
	if len(cell) > maxCellText {
		cell = []byte(clip(string(cell), maxCellText))
	}
	b.escaped.Reset()
	_ = xml.EscapeText(&b.escaped, cell) // a bytes.Buffer takes everything
	dst = append(dst, ` t="inlineStr"><is><t xml:space="preserve">`...)
	return append(append(dst, b.escaped.Bytes()...), "</t></is></c>"...)
}

// close writes the workbook.
func (b *workbook) close(broken error) error {
	if broken != nil {
		return broken
	}
	if b.widest+len(b.names) > maxSheetColumn {
		return calc.Refuse("", nil, "the sheet has no room for %d columns right of its last", len(b.names))
	}
	b.file.Pkg.Store(b.part, b.spliced())
	b.file.SetZipWriter(quickZip)
	if err := b.forgetValues(); err != nil {
		return err
	}
	fully := true
	return errors.Join(b.file.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &fully}), b.file.Write(b.w), b.file.Close())
}

// quickZip packs a workbook quickly rather than as small as can be.
func quickZip(w io.Writer) excelize.ZipWriter {
	z := zip.NewWriter(w)
	z.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestSpeed) })
	return z
}

// spliced is the sheet with the answers' cells right of all that it holds.
func (b *workbook) spliced() []byte {
	s := &splice{raw: b.raw}
	s.out.Grow(len(b.raw) + b.added)
	s.cut(b.scanner.dimension) // it may be left out, and is no longer true
	cached := b.cached
	letters := make([]string, len(b.names))
	for i := range letters {
		letters[i], _ = excelize.ColumnNumberToName(b.widest + 1 + i)
	}
	open, inside := `<c r="`, strings.NewReplacer()
	if prefix := b.scanner.prefix; prefix != "" {
		open, inside = "<"+prefix+`:c r="`, strings.NewReplacer("</", "</"+prefix+":", "<", "<"+prefix+":") // text has no < of its own
	}
	for _, p := range append([]placed{b.head}, b.rows...) {
		for len(cached) > 0 && cached[0].from < p.tag.from {
			s.cut(cached[0])
			cached = cached[1:]
		}
		s.keep(p.tag.from)
		s.out.Write(spans.ReplaceAll(b.raw[p.tag.from:p.tag.to], nil))
		s.at = p.tag.to
		for len(cached) > 0 && cached[0].from < p.end {
			s.cut(cached[0])
			cached = cached[1:]
		}
		s.keep(p.end)
		row, style := strconv.Itoa(p.number)+`"`, ""
		if p.style != 0 {
			style = ` s="` + strconv.Itoa(p.style) + `"`
		}
		for i, cell := range strings.Split(p.cells, "\x00") {
			if cell != "" {
				s.out.WriteString(open)
				s.out.WriteString(letters[i])
				s.out.WriteString(row)
				s.out.WriteString(style)
				_, _ = inside.WriteString(&s.out, cell)
			}
		}
	}
	for _, c := range cached {
		s.cut(c)
	}
	return s.finish()
}

// forgetValues takes the values of formulas out of the other sheets, so that
// whatever opens the workbook works them out with the answers.
func (b *workbook) forgetValues() error {
	for i := range b.file.WorkBook.Sheets.Sheet {
		part, err := partOf(b.file, i)
		if err != nil || part == b.part {
			continue
		}
		raw, _ := b.file.Pkg.Load(part)
		scanner, s := newSheetScanner(raw.([]byte)), &splice{raw: raw.([]byte)}
		for {
			line, err := scanner.next()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				return &wire.Unparsable{Reason: "another sheet of the workbook cannot be read: " + err.Error()}
			}
			for _, c := range line.cells {
				if c.formula {
					s.cut(c.cached)
				}
			}
		}
		if s.at > 0 {
			b.file.Pkg.Store(part, s.finish())
		}
	}
	return nil
}

package serve

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/wire"
)

// tableRows reads the records of a CSV table.
type tableRows struct {
	columnMatch
	r    *csv.Reader
	left *int64 // bytes that the record being read may still have
}

// maxRecord bounds a record of a table, in bytes, and maxColumns its cells: a
// sheet has no more columns.
const (
	maxRecord  = 1 << 20
	maxColumns = maxSheetColumn
)

var errLongRecord = fmt.Errorf("a record is longer than %d bytes", maxRecord)

// gauge reads no further than a record may go.
type gauge struct {
	r    io.Reader
	left *int64
}

func (g gauge) Read(p []byte) (int, error) {
	if *g.left <= 0 {
		return 0, errLongRecord
	}
	n, err := g.r.Read(p[:min(int64(len(p)), *g.left)])
	*g.left -= int64(n)
	return n, err
}

func newTableRows(e *endpoint, r *bufio.Reader, decimalComma bool) (*tableRows, error) {
	named := separator(r)
	left := int64(maxRecord)
	t := &tableRows{r: csv.NewReader(gauge{r, &left}), left: &left}
	if t.r.Comma = named; named == 0 {
		t.r.Comma = delimiter(e, r)
	}
	t.r.ReuseRecord = true
	t.r.FieldsPerRecord = -1
	header, err := t.r.Read()
	if err == nil && len(header) > maxColumns {
		return nil, &wire.Unparsable{Reason: fmt.Sprintf("the table has %d columns; at most %d are read", len(header), maxColumns)}
	}
	if errors.Is(err, errLongRecord) {
		return nil, &wire.Unparsable{Reason: "the header cannot be read: " + err.Error()}
	}
	if err != nil {
		return nil, &wire.Unparsable{Reason: "the table has no header that can be read as CSV"}
	}
	if t.columnMatch, err = match(e, header); err != nil {
		return nil, err
	}
	if e.named(header) == 0 {
		return nil, calc.Refuse("", nil, "no column of the header names an input; the inputs are %s", strings.Join(e.shape.Paths(), ", "))
	}
	t.decimalComma = decimalComma
	return t, nil
}

// separator takes the line off the start that some spreadsheets put there to say
// which mark stands between the columns, "sep=;"; 0 where there is none.
func separator(r *bufio.Reader) rune {
	start, _ := r.Peek(16)
	line, _, _ := bytes.Cut(start, []byte("\n"))
	mark, is := bytes.CutPrefix(bytes.Trim(line, "\"\r"), []byte("sep="))
	if !is || len(mark) != 1 || !strings.ContainsAny(string(mark), ",;\t|") {
		return 0
	}
	_, _ = r.Discard(len(line) + 1)
	return rune(mark[0])
}

// delimiter is the mark, of those that spreadsheets write, under which the
// most columns of the header name an input.
func delimiter(e *endpoint, r *bufio.Reader) rune {
	start, _ := r.Peek(r.Size())
	line, _, _ := bytes.Cut(start, []byte("\n"))
	best, most := ',', 0
	for _, mark := range ",;\t" {
		header := csv.NewReader(bytes.NewReader(line))
		header.Comma = mark
		cells, err := header.Read()
		if err != nil {
			continue
		}
		if n := e.named(cells); n > most {
			best, most = mark, n
		}
	}
	return best
}

func (t *tableRows) next(r *row) error {
	*t.left = maxRecord
	record, err := t.r.Read()
	if errors.Is(err, io.EOF) {
		return io.EOF
	}
	if errors.Is(err, errLongRecord) {
		return &wire.Unparsable{Reason: "row " + strconv.Itoa(r.number) + " cannot be read: " + err.Error()}
	}
	r.record = slices.Clone(record)
	if err != nil {
		r.err = &wire.Unparsable{Reason: "the row cannot be read as CSV: " + err.Error()}
		return nil
	}
	if len(record) > len(t.header) {
		r.err = &wire.Unparsable{Reason: "the row has more cells than the header"}
		return nil
	}
	t.begin()
	for i, cell := range record {
		t.take(i, cell)
	}
	t.columnMatch.read(r)
	return nil
}

// tableSink writes rows as CSV: each comes back with its answer's columns and
// one for its error behind its own.
type tableSink struct {
	e            *endpoint
	own, names   []string
	decimalComma bool
	w            *csv.Writer
	cells        []string
	begun        bool
}

func newTableSink(e *endpoint, own []string, w io.Writer) *tableSink {
	return &tableSink{e: e, own: own, names: answerNames(e, own), w: csv.NewWriter(w)}
}

func (t *tableSink) put(r *row) error {
	if err := t.writeHeader(); err != nil {
		return err
	}
	t.cells = t.cells[:0]
	for i := range t.own {
		cell := ""
		if i < len(r.record) {
			cell = wire.Inert(r.record[i])
		}
		t.cells = append(t.cells, cell)
	}
	first := len(t.cells)
	if r.err == nil {
		v := reflect.ValueOf(r.out)
		for _, c := range t.e.columns {
			cell, err := c.Append(nil, v)
			if err != nil {
				r.err = err
				break
			}
			t.cells = append(t.cells, wire.Inert(t.localised(string(cell))))
		}
	}
	message := ""
	if r.err != nil {
		t.cells = t.cells[:first]
		for range t.e.columns {
			t.cells = append(t.cells, "")
		}
		message = strings.TrimPrefix(problemOf(r.err, "row").line(), "! ")
	}
	return t.w.Write(append(t.cells, wire.Inert(message)))
}

// localised gives a number, or each of a list, the decimal mark of the table.
func (t *tableSink) localised(cell string) string {
	if !t.decimalComma {
		return cell
	}
	parts := strings.Split(cell, "; ")
	for i, part := range parts {
		if wire.IsNumber(part) {
			parts[i] = strings.Replace(part, ".", ",", 1)
		}
	}
	return strings.Join(parts, "; ")
}

// writeHeader writes the header before the first row.
func (t *tableSink) writeHeader() error {
	if t.begun {
		return nil
	}
	t.begun = true
	header := make([]string, 0, len(t.own)+len(t.names))
	for _, h := range t.own {
		header = append(header, wire.Inert(h))
	}
	return t.w.Write(append(header, t.names...))
}

func (t *tableSink) close(broken error) error {
	if broken != nil {
		if err := t.put(&row{err: broken}); err != nil {
			return err
		}
	}
	if err := t.writeHeader(); err != nil {
		return err
	}
	t.w.Flush()
	return t.w.Error()
}

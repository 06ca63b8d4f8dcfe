package serve

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"reflect"
	"slices"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"pourwright/internal/calc"
	"pourwright/internal/wire"
)

// RowAnswer is one row of a batch answered as JSON: an answer or a problem.
type RowAnswer struct {
	Row     int            `json:"row" doc:"Number of the row, from 1" example:"1"`
	Answer  jsontext.Value `json:"answer,omitempty" doc:"The answer, as the calculation gives it alone"`
	Problem *Problem       `json:"problem,omitempty" doc:"Why the row has no answer"`
}

// jsonRows reads the elements of a JSON array.
type jsonRows struct {
	shape *wire.Shape
	dec   *jsontext.Decoder
	begun bool
}

func newJSONRows(s *wire.Shape, r *bufio.Reader) *jsonRows {
	return &jsonRows{shape: s, dec: jsontext.NewDecoder(r)}
}

func (j *jsonRows) next(r *row) error {
	if !j.begun {
		tok, err := j.dec.ReadToken()
		if err != nil || tok.Kind() != '[' {
			return &wire.Unparsable{Reason: "not a JSON array of inputs"}
		}
		j.begun = true
	}
	if j.dec.PeekKind() == ']' {
		return io.EOF
	}
	value, err := j.dec.ReadValue()
	if err != nil {
		return &wire.Unparsable{Reason: "the JSON array is broken: " + err.Error()}
	}
	r.in, r.err = j.shape.ReadJSON(value)
	return nil
}

// lineRows reads a JSON object a line.
type lineRows struct {
	shape *wire.Shape
	lines *bufio.Scanner
}

func newLineRows(s *wire.Shape, r *bufio.Reader) *lineRows {
	lines := bufio.NewScanner(r)
	lines.Buffer(make([]byte, 0, 64<<10), maxBody)
	return &lineRows{s, lines}
}

func (l *lineRows) next(r *row) error {
	for l.lines.Scan() {
		if line := bytes.TrimSpace(l.lines.Bytes()); len(line) > 0 {
			r.in, r.err = l.shape.ReadJSON(line)
			return nil
		}
	}
	if err := l.lines.Err(); err != nil {
		return &wire.Unparsable{Reason: "a line cannot be read: " + err.Error()}
	}
	return io.EOF
}

// jsonSink writes rows as a JSON array or as lines.
type jsonSink struct {
	w               *bufio.Writer
	open, part, end string
	count           int
}

func (s *jsonSink) put(r *row) error {
	answer := RowAnswer{Row: r.number}
	if r.err == nil {
		answer.Answer, r.err = wire.JSON(r.out)
	}
	if r.err != nil {
		answer.Problem = problemOf(r.err, "row")
	}
	b, err := json.Marshal(answer, json.Deterministic(true))
	if err != nil {
		return err
	}
	if s.count == 0 {
		_, _ = s.w.WriteString(s.open)
	} else {
		_, _ = s.w.WriteString(s.part)
	}
	s.count++
	_, err = s.w.Write(b)
	return err
}

// close ends the answer; a batch that broke off midway ends in its problem.
func (s *jsonSink) close(broken error) error {
	if broken != nil {
		if err := s.put(&row{number: s.count + 1, err: broken}); err != nil {
			return err
		}
	}
	if s.count == 0 {
		_, _ = s.w.WriteString(s.open)
	}
	_, err := s.w.WriteString(s.end)
	return err
}

// columnMatch matches the columns of a table with the inputs by name, in any
// order; the columns that are not inputs are left alone.
type columnMatch struct {
	e      *endpoint
	header []string
	inputs []string // the input each column feeds, or ""
	names  []string // of the answer's columns
	pairs  []wire.Pair
}

const errorColumn = "error"

func (e *endpoint) inputNames() []string {
	names := make([]string, 0)
	for _, f := range e.shape.FlatFields() {
		names = append(names, f.Name)
	}
	return names
}

// takes reports whether a column of that header feeds an input.
func (e *endpoint) takes(header string) bool {
	return slices.Contains(e.inputNames(), strings.TrimSpace(header))
}

// match refuses a header that stands twice, or that seems misspelt: a value
// that is silently left out would be worse.
func match(e *endpoint, header []string) (columnMatch, error) {
	m := columnMatch{e: e}
	known := e.inputNames()
	var checks calc.Checks
	for _, h := range header {
		h = strings.TrimSpace(h)
		m.header = append(m.header, h)
		input := ""
		if slices.Contains(known, h) {
			input = h
			if slices.Contains(m.inputs, h) {
				checks.Refuse(h, "", "the column stands twice; name it once")
			}
		} else if near := calc.Nearest(h, known); near != "" && !slices.Contains(header, near) {
			checks.Refuse(h, "", "did you mean the column %s? rename it, or rename yours so that it is not taken for it", near)
		}
		m.inputs = append(m.inputs, input)
	}
	for _, c := range e.columns {
		name := c.Name
		if slices.Contains(m.header, name) {
			name = "answer." + name
		}
		m.names = append(m.names, name)
	}
	return m, checks.Err()
}

// pairsOf picks the inputs out of a row's cells, and says whether any is filled.
func (m *columnMatch) pairsOf(cells []string) (pairs []wire.Pair, filled bool) {
	m.pairs = m.pairs[:0]
	for i, cell := range cells {
		if i < len(m.inputs) && m.inputs[i] != "" {
			cell = strings.TrimSpace(cell)
			filled = filled || cell != ""
			m.pairs = append(m.pairs, wire.Pair{Name: m.inputs[i], Text: cell})
		}
	}
	return m.pairs, filled
}

// table reads and writes CSV: each row comes back with its answer's columns
// and one for its error behind its own.
type table struct {
	columnMatch
	r     *csv.Reader
	w     *csv.Writer
	cells []string
	begun bool
}

func newTable(e *endpoint, r io.Reader, w io.Writer) (*table, error) {
	t := &table{r: csv.NewReader(skipBOM(r)), w: csv.NewWriter(w)}
	t.r.ReuseRecord = true
	t.r.FieldsPerRecord = -1
	header, err := t.r.Read()
	if err != nil {
		return nil, &wire.Unparsable{Reason: "the table has no header that can be read as CSV"}
	}
	t.columnMatch, err = match(e, header)
	return t, err
}

func skipBOM(r io.Reader) io.Reader {
	b := bufio.NewReader(r)
	if mark, _ := b.Peek(3); bytes.Equal(mark, []byte("\ufeff")) {
		_, _ = b.Discard(3)
	}
	return b
}

func (t *table) next(r *row) error {
	record, err := t.r.Read()
	if errors.Is(err, io.EOF) {
		return io.EOF
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
	pairs, _ := t.pairsOf(record)
	r.in, r.err = t.e.shape.ReadPairs(pairs)
	return nil
}

func (t *table) put(r *row) error {
	if err := t.writeHeader(); err != nil {
		return err
	}
	t.cells = t.cells[:0]
	for i := range t.header {
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
			t.cells = append(t.cells, wire.Inert(string(cell)))
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

// writeHeader writes the header before the first row.
func (t *table) writeHeader() error {
	if t.begun {
		return nil
	}
	t.begun = true
	header := make([]string, 0, len(t.header)+len(t.names)+1)
	for _, h := range t.header {
		header = append(header, wire.Inert(h))
	}
	return t.w.Write(append(append(header, t.names...), errorColumn))
}

func (t *table) close(broken error) error {
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

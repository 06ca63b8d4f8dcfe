package serve

import (
	"bufio"
	"bytes"
	"fmt"
	"io"

	"github.com/go-json-experiment/json/jsontext"

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
	rest  []byte
}

func (l *lineRows) next(r *row) error {
	for len(l.rest) > 0 {
		var line []byte
		line, l.rest, _ = bytes.Cut(l.rest, []byte("\n"))
		if line = bytes.TrimSpace(line); len(line) == 0 {
			continue
		}
		if len(line) > maxBody {
			r.err = problem(413, "the line is longer than %d bytes", maxBody)
		} else {
			r.in, r.err = l.shape.ReadJSON(line)
		}
		return nil
	}
	return io.EOF
}

// jsonSink writes rows as a JSON array or as lines.
type jsonSink struct {
	w               *bufio.Writer
	open, part, end string
	count           int
	line            bytes.Buffer
}

// put writes a RowAnswer.
func (s *jsonSink) put(r *row) error {
	s.line.Reset()
	before := s.part
	if s.count == 0 {
		before = s.open
	}
	s.count++
	_, _ = fmt.Fprintf(&s.line, `%s{"row":%d,`, before, r.number) // a bytes.Buffer takes everything
	begun := s.line.Len()
	if r.err == nil {
		s.line.WriteString(`"answer":`)
		r.err = wire.WriteJSON(&s.line, r.out)
	}
	if r.err != nil {
		s.line.Truncate(begun)
		s.line.WriteString(`"problem":`)
		s.line.Write(encodeProblem(problemOf(r.err, "row")))
	}
	s.line.WriteByte('}')
	_, err := s.w.Write(s.line.Bytes())
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

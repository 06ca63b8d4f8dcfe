package serve

import (
	"bytes"
	"errors"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"pourwright/internal/calc"
	"pourwright/internal/wire"
)

const (
	mediaForm = "multipart/form-data"
	// maxFile bounds a file in a form or as base64, in bytes, where the
	// calculation does not say.
	maxFile = 64 << 20
	// maxField bounds the text of a form's field, in bytes.
	maxField = 64 << 10
)

// body reads the input from a JSON body, from a form with files, or from one
// of the further media types, whose other fields stand in the query.
func (e *endpoint) body(c huma.Context, pairs []wire.Pair) (any, error) {
	mediaType, parameters, err := mime.ParseMediaType(c.Header("Content-Type"))
	if err != nil && c.Header("Content-Type") != "" {
		return nil, problem(http.StatusUnsupportedMediaType, "Content-Type cannot be read: %v", err)
	}
	for _, r := range e.Readers() {
		if r.MediaType == mediaType {
			in := e.shape.New()
			if err := e.shape.ReadPairsInto(pairs, in); err != nil {
				return nil, underQuery(err)
			}
			return in, readFile(r, c.BodyReader(), in)
		}
	}
	if mediaType != mediaJSON && (mediaType != mediaForm || !e.shape.HasFile()) {
		return nil, problem(http.StatusUnsupportedMediaType, "send %s (with curl: --json), not %q", strings.Join(e.accepted(), " or "), mediaType)
	}
	if len(pairs) > 0 {
		return nil, underQuery(calc.Refuse(pairs[0].Name, pairs[0].Text, "put it in the body; the query takes %s", strings.Join(optionNames, ", ")))
	}
	if mediaType == mediaForm {
		return e.form(multipart.NewReader(&limitedReader{c.BodyReader(), e.maxUpload()}, parameters["boundary"]))
	}
	raw := buffers.Get().(*bytes.Buffer)
	defer giveBack(raw) // the input holds copies only
	if err := readInto(raw, c, e.maxUpload()); err != nil {
		return nil, err
	}
	return e.shape.ReadJSON(raw.Bytes())
}

// accepted lists the media types of a body.
func (e *endpoint) accepted() []string {
	types := []string{mediaJSON}
	if e.shape.HasFile() {
		types = append(types, mediaForm)
	}
	for _, r := range e.Readers() {
		types = append(types, r.MediaType)
	}
	return types
}

// maxUpload is larger where a body may carry a file, be it as base64.
func (e *endpoint) maxUpload() int64 {
	if !e.shape.HasFile() {
		return maxBody
	}
	most := int64(maxFile)
	for _, r := range e.Readers() {
		most = max(most, r.MaxBytes)
	}
	return most/3*4 + maxBody
}

func readFile(r calc.Reader, body io.Reader, in any) error {
	limited := &limitedReader{body, r.MaxBytes}
	err := r.Read(limited, in)
	if limited.left < 0 {
		return problem(http.StatusRequestEntityTooLarge, "the file is larger than %d bytes", r.MaxBytes)
	}
	return err
}

// form reads a form: its files go to the fields they are named for, or to
// the calculation's own reader; its other parts are read as a query is.
func (e *endpoint) form(parts *multipart.Reader) (any, error) {
	in := e.shape.New()
	var pairs []wire.Pair
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, problem(http.StatusBadRequest, "the form cannot be read: %v", err)
		}
		if part.FileName() == "" {
			text, err := io.ReadAll(io.LimitReader(part, maxField))
			if err != nil {
				return nil, problem(http.StatusBadRequest, "the form cannot be read: %v", err)
			}
			pairs = append(pairs, wire.Pair{Name: part.FormName(), Text: string(text)})
			continue
		}
		if err := e.takeFile(part, in); err != nil {
			return nil, err
		}
	}
	return in, e.shape.ReadPairsInto(pairs, in)
}

func (e *endpoint) takeFile(part *multipart.Part, in any) error {
	name := part.FormName()
	if e.shape.IsFile(name) {
		data, err := io.ReadAll(io.LimitReader(part, maxFile+1))
		if err != nil {
			return problem(http.StatusBadRequest, "the form cannot be read: %v", err)
		}
		if len(data) > maxFile {
			return problem(http.StatusRequestEntityTooLarge, "the file is larger than %d bytes", maxFile)
		}
		e.shape.SetFile(in, name, data)
		return nil
	}
	if readers := e.Readers(); len(readers) > 0 {
		return readFile(readers[0], part, in)
	}
	return calc.Refuse(name, nil, "no file goes there; a file may go to %s", strings.Join(e.shape.Files(), ", "))
}

// limitedReader reads at most left bytes, and tells by a negative left that
// there was more.
type limitedReader struct {
	r    io.Reader
	left int64
}

func (l *limitedReader) Read(p []byte) (int, error) {
	if int64(len(p)) > l.left+1 {
		p = p[:max(l.left+1, 0)]
	}
	if len(p) == 0 {
		return 0, io.EOF
	}
	n, err := l.r.Read(p)
	l.left -= int64(n)
	if l.left < 0 {
		return n + int(l.left), io.EOF
	}
	return n, err
}

func readAll(c huma.Context, most int64) ([]byte, error) {
	var body bytes.Buffer
	err := readInto(&body, c, most)
	return body.Bytes(), err
}

func readInto(body *bytes.Buffer, c huma.Context, most int64) error {
	n, err := body.ReadFrom(io.LimitReader(c.BodyReader(), most+1))
	if err != nil {
		return problem(http.StatusBadRequest, "the body could not be read to its end")
	}
	if n > most {
		return problem(http.StatusRequestEntityTooLarge, "the body is larger than %d bytes", most)
	}
	return nil
}

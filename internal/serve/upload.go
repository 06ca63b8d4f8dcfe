package serve

import (
	"bytes"
	"context"
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
	// maxField bounds the text of a form's field, in bytes, and maxParts the
	// parts of a form.
	maxField = 64 << 10
	maxParts = 1000
	// uploadMemory is what a byte of a long body takes at most while it is read
	// and worked on, in bytes: itself twice as base64, the file, and of a solid
	// its corners, triangles and the tree that walls are measured with.
	uploadMemory = 6
)

// body reads the input from a JSON body, from a form with files, or from one
// of the further media types, whose other fields stand in the query. What has
// come is read into the input at once if it is short, so that what is wrong
// with it is said before anything waits, and else in a place among the batches.
// The share of the memory is held until the way out is called.
func (e *endpoint) body(c huma.Context, pairs []wire.Pair) (in any, leave func(), err error) {
	decode, most, err := e.decoder(c, pairs)
	if err != nil {
		return nil, nothing, err
	}
	raw := buffers.Get().(*bytes.Buffer)
	defer giveBack(raw) // the input holds copies only
	body, share, err := e.bodies.read(c, raw, most, uploadMemory)
	if err != nil {
		share.close()
		return nil, nothing, err
	}
	if body.size <= maxBody {
		in, err = decode(body)
		share.close()
		return in, nothing, err
	}
	if err = share.work(c.Context(), body.size*uploadMemory); err == nil {
		err = e.batches.within(c.Context(), func(context.Context) error {
			in, err = decode(body)
			return err
		})
	}
	if err != nil {
		share.close()
		return nil, nothing, err
	}
	return in, share.close, nil
}

func nothing() {}

// decoder finds how the body is read, and how long it may be.
func (e *endpoint) decoder(c huma.Context, pairs []wire.Pair) (decode func(*received) (any, error), most int64, err error) {
	mediaType, parameters, err := mime.ParseMediaType(c.Header("Content-Type"))
	if err != nil && c.Header("Content-Type") != "" {
		return nil, 0, problem(http.StatusUnsupportedMediaType, "Content-Type cannot be read: %v", err)
	}
	for _, r := range e.Readers() {
		if r.MediaType == mediaType {
			in := e.shape.New()
			if err := e.shape.ReadPairsInto(pairs, in); err != nil {
				return nil, 0, underQuery(err)
			}
			return func(body *received) (any, error) { return in, r.Read(body.reader(), in) }, r.MaxBytes, nil
		}
	}
	if mediaType != mediaJSON && (mediaType != mediaForm || !e.shape.HasFile()) {
		return nil, 0, problem(http.StatusUnsupportedMediaType, "send %s (with curl: --json), not %q", strings.Join(e.accepted(), " or "), mediaType)
	}
	if len(pairs) > 0 {
		return nil, 0, underQuery(calc.Refuse(pairs[0].Name, pairs[0].Text, "put it in the body; the query takes %s", strings.Join(optionNames, ", ")))
	}
	if mediaType == mediaForm {
		return func(body *received) (any, error) {
			return e.form(multipart.NewReader(body.reader(), parameters["boundary"]))
		}, e.maxUpload(), nil
	}
	return func(body *received) (any, error) { return e.shape.ReadJSON(body.bytes()) }, e.maxUpload(), nil
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
	for n := 0; ; n++ {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if n == maxParts {
			return nil, problem(http.StatusRequestEntityTooLarge, "the form has more than %d parts", maxParts)
		}
		if err != nil {
			return nil, problem(http.StatusBadRequest, "the form cannot be read: %v", err)
		}
		if part.FileName() == "" {
			text, err := io.ReadAll(io.LimitReader(part, maxField+1))
			if err != nil {
				return nil, problem(http.StatusBadRequest, "the form cannot be read: %v", err)
			}
			if len(text) > maxField {
				return nil, calc.Refuse(clip(part.FormName(), 100), string(text), "give at most %d bytes of text", maxField)
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

package serve

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/negotiation"

	"pourwright/internal/calc"
	"pourwright/internal/wire"
)

// Media types that every calculation knows.
const (
	mediaJSON    = "application/json"
	mediaCSV     = "text/csv"
	mediaText    = "text/plain"
	mediaNDJSON  = "application/x-ndjson"
	mediaProblem = "application/problem+json"
	mediaEvents  = "text/event-stream"
)

// maxBody bounds a JSON body, in bytes.
const maxBody = 1 << 20

// reply is what a handler answers.
type reply struct {
	mediaType string
	body      []byte
}

// handler answers a request; its error becomes a problem document.
type handler func(c huma.Context) (reply, error)

// write sends what h answers, or its problem, and marks it for caches.
func (s *Server) write(c huma.Context, h handler, in string) {
	r, err := h(c)
	if errors.Is(err, context.Canceled) {
		return // the client has gone
	}
	if errors.Is(err, errWritten) {
		return
	}
	if err != nil {
		p := problemOf(err, in)
		if p.Status >= 500 {
			s.log.ErrorContext(c.Context(), "calculation failed", "operation", c.Operation().OperationID, "error", err)
		}
		writeProblem(c, p)
		return
	}
	sum := sha256.Sum256(r.body)
	tag := `"` + hex.EncodeToString(sum[:12]) + `"`
	c.SetHeader("ETag", tag)
	c.SetHeader("Cache-Control", "public, max-age=60")
	c.SetHeader("Vary", "Accept")
	if c.Method() != http.MethodPost && slices.Contains(strings.Split(c.Header("If-None-Match"), ", "), tag) {
		c.SetStatus(http.StatusNotModified)
		return
	}
	c.SetHeader("Content-Type", withCharset(r.mediaType))
	c.SetStatus(http.StatusOK)
	_, _ = c.BodyWriter().Write(r.body) // the client may have gone; there is nobody to tell
}

// errWritten says that the handler has already written its answer.
var errWritten = errors.New("already written")

func withCharset(mediaType string) string {
	if strings.HasPrefix(mediaType, "text/") {
		return mediaType + "; charset=utf-8"
	}
	return mediaType
}

// writeProblem answers a problem document, or with errors=text a short line
// and status 200, since spreadsheets throw away the body of any other status.
func writeProblem(c huma.Context, p *Problem) {
	c.SetHeader("Cache-Control", "no-store")
	if c.Query("errors") == "text" {
		c.SetHeader("Content-Type", withCharset(mediaText))
		c.SetStatus(http.StatusOK)
		_, _ = io.WriteString(c.BodyWriter(), p.line())
		return
	}
	c.SetHeader("Content-Type", mediaProblem)
	if p.retryAfter > 0 {
		c.SetHeader("Retry-After", strconv.Itoa(p.retryAfter))
	}
	c.SetStatus(p.Status)
	_, _ = c.BodyWriter().Write(encodeProblem(p))
}

// endpoint serves one calculation.
type endpoint struct {
	calc.Calculation
	shape   *wire.Shape
	columns []wire.Column
	media   []string // what an answer can be given in, best first
	class   class
	memory  *memory // for batches
}

func newEndpoint(c calc.Calculation, k class) *endpoint {
	e := &endpoint{Calculation: c, class: k, shape: wire.ShapeOf(c.In()), columns: wire.Columns(c.Out()), media: []string{mediaJSON, mediaCSV}}
	for _, f := range e.shape.Fields() {
		if slices.Contains(optionNames, f.Name) {
			panic("serve: " + c.Info().Name + " has an input named " + f.Name + ", which is a query option")
		}
	}
	for _, f := range c.Formats() {
		if !slices.Contains(e.media, f.MediaType) {
			e.media = append(e.media, f.MediaType)
		}
	}
	return e
}

// options are the query parameters that say how to answer, not what.
type options struct {
	pick   string
	format string
}

var optionNames = []string{"pick", "format", "working", "errors"}

// query reads the options of a request, and returns the rest of its query.
func (e *endpoint) query(c huma.Context) (context.Context, options, []wire.Pair, error) {
	u := c.URL()
	ctx := c.Context()
	if strings.Contains(u.RawQuery, ";") {
		return ctx, options{}, nil, problem(http.StatusBadRequest, "the query holds a semicolon; part its members with &, and write a semicolon inside a value as %%3B")
	}
	values, err := url.ParseQuery(u.RawQuery)
	if err != nil {
		return ctx, options{}, nil, problem(http.StatusBadRequest, "the query cannot be read: %v", err)
	}
	var o options
	var rest []wire.Pair
	var checks calc.Checks
	names := make([]string, 0, len(values))
	for name := range values {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		texts := values[name]
		if slices.Contains(optionNames, name) && len(texts) > 1 {
			checks.Refuse(name, strings.Join(texts, ","), "give it once")
		}
		switch v := texts[0]; name {
		case "pick":
			o.pick = v
		case "format":
			o.format = v
		case "working":
			if v != "true" && v != "false" {
				checks.Refuse(name, v, "give true or false")
			}
			if v == "false" {
				ctx = calc.Silent(ctx)
			}
		case "errors":
			if v != "text" && v != "problem" {
				checks.Refuse(name, v, "give text or problem")
			}
		default:
			for _, t := range texts {
				rest = append(rest, wire.Pair{Name: name, Text: t})
			}
		}
	}
	return ctx, o, rest, underQuery(checks.Err())
}

func (e *endpoint) get(c huma.Context) (reply, error) {
	ctx, o, pairs, err := e.query(c)
	if err != nil {
		return reply{}, err
	}
	in, err := e.shape.ReadPairs(pairs)
	if err != nil {
		return reply{}, err
	}
	return e.answer(c, ctx, in, o)
}

func (e *endpoint) post(c huma.Context) (reply, error) {
	ctx, o, pairs, err := e.query(c)
	if err != nil {
		return reply{}, err
	}
	in, err := e.body(c, pairs)
	if err != nil {
		return reply{}, err
	}
	return e.answer(c, ctx, in, o)
}

// body reads the input from a JSON body, or from one of the further media
// types, whose other fields stand in the query.
func (e *endpoint) body(c huma.Context, pairs []wire.Pair) (any, error) {
	mediaType, _, err := mime.ParseMediaType(c.Header("Content-Type"))
	if err != nil && c.Header("Content-Type") != "" {
		return nil, problem(http.StatusUnsupportedMediaType, "Content-Type cannot be read: %v", err)
	}
	for _, r := range e.Readers() {
		if r.MediaType != mediaType {
			continue
		}
		in := e.shape.New()
		if err := e.shape.ReadPairsInto(pairs, in, false); err != nil {
			return nil, underQuery(err)
		}
		limited := &limitedReader{c.BodyReader(), r.MaxBytes}
		err := r.Read(limited, in)
		if limited.left < 0 {
			return nil, problem(http.StatusRequestEntityTooLarge, "the body is larger than %d bytes", r.MaxBytes)
		}
		return in, err
	}
	if mediaType != mediaJSON {
		accepted := []string{mediaJSON}
		for _, r := range e.Readers() {
			accepted = append(accepted, r.MediaType)
		}
		return nil, problem(http.StatusUnsupportedMediaType, "send %s (with curl: --json), not %q", strings.Join(accepted, " or "), mediaType)
	}
	if len(pairs) > 0 {
		return nil, underQuery(calc.Refuse(pairs[0].Name, pairs[0].Text, "put it in the body; the query takes %s", strings.Join(optionNames, ", ")))
	}
	raw, err := readAll(c, e.maxJSON())
	if err != nil {
		return nil, err
	}
	return e.shape.ReadJSON(raw)
}

// maxJSON is larger where a body may carry a file as base64.
func (e *endpoint) maxJSON() int64 {
	most := int64(maxBody)
	for _, r := range e.Readers() {
		most = max(most, r.MaxBytes/3*4+maxBody)
	}
	return most
}

func underQuery(err error) error {
	var r *calc.Refusal
	if errors.As(err, &r) {
		return refused(r, "query")
	}
	return err
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
	body, err := io.ReadAll(io.LimitReader(c.BodyReader(), most+1))
	if err != nil {
		return nil, problem(http.StatusBadRequest, "the body could not be read to its end")
	}
	if int64(len(body)) > most {
		return nil, problem(http.StatusRequestEntityTooLarge, "the body is larger than %d bytes", most)
	}
	return body, nil
}

// answer runs the calculation and gives its answer in the form asked for.
func (e *endpoint) answer(c huma.Context, ctx context.Context, in any, o options) (reply, error) {
	mediaType, err := e.negotiate(c, o)
	if err != nil {
		return reply{}, err
	}
	if mediaType == mediaEvents {
		return e.events(c, ctx, in)
	}
	var out any
	err = e.class.within(ctx, func(ctx context.Context) (err error) {
		out, err = e.Run(ctx, in)
		return err
	})
	if err != nil {
		return reply{}, err
	}
	if o.pick != "" {
		s, err := wire.Pick(out, o.pick)
		return reply{mediaText, []byte(s)}, err
	}
	for _, f := range e.Formats() {
		if f.MediaType == mediaType {
			var b []byte
			err := e.class.within(ctx, func(ctx context.Context) (err error) {
				b, err = f.Write(ctx, in, out)
				return err
			})
			return reply{mediaType, b}, err
		}
	}
	if mediaType == mediaCSV {
		b, err := wire.Table(e.columns, []any{out})
		return reply{mediaCSV, b}, err
	}
	b, err := wire.JSON(out)
	return reply{mediaJSON, b}, err
}

// negotiate chooses the media type of the answer: format= first, then Accept.
func (e *endpoint) negotiate(c huma.Context, o options) (string, error) {
	if o.pick != "" {
		return mediaText, nil
	}
	if o.format != "" {
		names := []string{"json", "csv"}
		if m := map[string]string{"json": mediaJSON, "csv": mediaCSV}[o.format]; m != "" {
			return m, nil
		}
		for _, f := range e.Formats() {
			if f.Name == o.format {
				return f.MediaType, nil
			}
			names = append(names, f.Name)
		}
		return "", underQuery(calc.Refuse("format", o.format, "give one of %s", strings.Join(names, ", ")))
	}
	accept := c.Header("Accept")
	if accept == "" {
		return mediaJSON, nil
	}
	offered := e.media
	if e.Info().Heavy {
		offered = append(slices.Clone(offered), mediaEvents)
	}
	chosen := negotiation.SelectQValueFast(accept, offered)
	if chosen == "" && (strings.Contains(accept, "*/*") || strings.Contains(accept, "application/*")) {
		chosen = mediaJSON
	}
	if chosen == "" {
		return "", problem(http.StatusNotAcceptable, "none of %q is offered; ask for %s", clip(accept, 100), strings.Join(offered, ", "))
	}
	return chosen, nil
}

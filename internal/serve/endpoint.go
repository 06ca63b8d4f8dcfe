package serve

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humachi"

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
	lent      *bytes.Buffer // holds the body until it is sent; may be nil
}

// buffers hold the bodies of requests and answers while they are under way.
var buffers = sync.Pool{New: func() any { return new(bytes.Buffer) }}

// maxKept bounds a buffer that is kept for another request, in bytes.
const maxKept = 64 << 10

func giveBack(b *bytes.Buffer) {
	if b != nil && b.Cap() <= maxKept {
		b.Reset()
		buffers.Put(b)
	}
}

func jsonReply(out any) (reply, error) {
	b := buffers.Get().(*bytes.Buffer)
	err := wire.WriteJSON(b, out)
	return reply{mediaJSON, b.Bytes(), b}, err
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
	defer giveBack(r.lent)
	if c.Method() != http.MethodPost && cached(c, r.body) {
		c.SetStatus(http.StatusNotModified)
		return
	}
	c.SetHeader("Content-Type", withCharset(r.mediaType))
	c.SetHeader("Content-Length", strconv.Itoa(len(r.body)))
	c.SetStatus(http.StatusOK)
	_, _ = c.BodyWriter().Write(r.body) // the client may have gone; there is nobody to tell
}

// cached marks the answer to a GET for caches, and reports whether the client
// holds it already. The answer to a POST is nobody's to reuse (RFC 9110,
// 9.3.3), and an ETag would be the hash of something that cannot be asked for.
func cached(c huma.Context, body []byte) bool {
	sum := sha256.Sum256(body)
	tag := `"` + hex.EncodeToString(sum[:12]) + `"`
	c.SetHeader("ETag", tag)
	_, w := humachi.Unwrap(c)
	if _, keyed := c.Context().Value(clientKey{}).(string); keyed {
		c.SetHeader("Cache-Control", "private, max-age=60")
	} else if w.Header().Get("Cache-Control") == "" {
		c.SetHeader("Cache-Control", "public, max-age=60")
	}
	c.AppendHeader("Vary", "Accept, Authorization")
	return tagged(c.Header("If-None-Match"), tag)
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
	flat    bool // a query or a row of a table can hold the input
	bodies  *bodies
	batches class // batches of light ones, and the reading of long bodies
	log     *slog.Logger
}

func newEndpoint(c calc.Calculation, k class) *endpoint {
	e := &endpoint{Calculation: c, class: k, shape: wire.ShapeOf(c.In()), columns: wire.Columns(c.Out()), media: []string{mediaJSON, mediaCSV}}
	for _, f := range e.shape.Fields {
		if slices.Contains(optionNames, f.Name) {
			panic("serve: " + c.Info().Name + " has an input named " + f.Name + ", which is a query option")
		}
	}
	e.flat = e.shape.Flat() && e.sayable(parsed(c.Examples()[0].JSON), "")
	for _, f := range c.Formats() {
		if !slices.Contains(e.media, f.MediaType) {
			e.media = append(e.media, f.MediaType)
		}
	}
	return e
}

// sayable reports whether a query can say all of the value v under name: a
// calculation whose first example is a file or nested has no GET form, though
// its required fields be flat.
func (e *endpoint) sayable(v any, name string) bool {
	object, ok := v.(map[string]any)
	if !ok {
		return e.shape.Leaf(name) != nil
	}
	for key, member := range object {
		if !e.sayable(member, strings.TrimPrefix(name+"."+key, ".")) {
			return false
		}
	}
	return true
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
	if u.RawQuery == "" {
		return ctx, options{}, nil, nil
	}
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
				ctx = calc.Brief(ctx)
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
	in, leave, err := e.body(c, pairs)
	defer leave()
	if err != nil {
		return reply{}, err
	}
	return e.answer(c, ctx, in, o)
}

func underQuery(err error) error {
	var r *calc.Refusal
	if errors.As(err, &r) {
		return refused(r, "query")
	}
	return err
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
		return reply{mediaType: mediaText, body: []byte(s)}, err
	}
	for _, f := range e.Formats() {
		if f.MediaType == mediaType {
			var b []byte
			err := e.class.within(ctx, func(ctx context.Context) (err error) {
				b, err = f.Write(ctx, in, out)
				return err
			})
			return reply{mediaType: mediaType, body: b}, err
		}
	}
	if mediaType == mediaCSV {
		b, err := wire.Table(e.columns, []any{out})
		return reply{mediaType: mediaCSV, body: b}, err
	}
	return jsonReply(out)
}

// negotiate chooses the media type of the answer: format= first, then Accept.
func (e *endpoint) negotiate(c huma.Context, o options) (string, error) {
	if o.pick != "" {
		return mediaText, wire.Pickable(e.Out(), o.pick)
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
	chosen := preferred(accept, offered)
	if chosen == "" {
		return "", problem(http.StatusNotAcceptable, "none of %q is offered; ask for %s", clip(accept, 100), strings.Join(offered, ", "))
	}
	return chosen, nil
}

package serve

import (
	"bufio"
	"bytes"
	"mime"
	"net/http"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"pourwright/internal/calc"
	"pourwright/internal/wire"
)

const (
	// maxRowsBody bounds the body of a batch, in bytes.
	maxRowsBody = 32 << 20
)

// row is one line of a batch on its way from input to answer.
type row struct {
	number int // from 1
	in     any
	record []string // of a table, as it came
	place  int      // among the rows of a sheet
	out    any
	err    error
}

// source reads rows. A row that cannot be read carries its error; io.EOF ends
// the batch and any other error breaks it off.
type source interface{ next(r *row) error }

// sink writes rows in their order.
type sink interface {
	put(r *row) error
	close(broken error) error
}

// rows answers a batch: as many rows as came, in the same order, each an
// answer or a problem. The answer is streamed while the batch is read.
func (e *endpoint) rows(c huma.Context) (reply, error) {
	ctx, o, pairs, err := e.query(c)
	if err != nil {
		return reply{}, err
	}
	form, err := rowFormOf(pairs)
	if err != nil {
		return reply{}, err
	}
	if o.pick != "" {
		return reply{}, underQuery(calc.Refuse("pick", o.pick, "leave it out of a batch; each row is a whole answer"))
	}
	if c.Query("working") != "true" {
		ctx = calc.Brief(ctx)
	}
	if form.in, form.out, form.charset, err = e.forms(c, o); err != nil {
		return reply{}, err
	}
	if form.sheet != "" && form.in != mediaXLSX {
		return reply{}, underQuery(calc.Refuse("sheet", form.sheet, "leave it out: only a workbook has sheets"))
	}
	// The body is read whole before the answer begins: most clients read
	// nothing before they have sent everything.
	sent, share, err := e.bodies.read(c, new(bytes.Buffer), maxRowsBody, 2)
	defer func() { share.close() }()
	if err != nil {
		return reply{}, err
	}
	needs := 2*sent.size + batchMemory(sent.size)
	if form.in == mediaCSV {
		needs += charsetGrowth * sent.size
	}
	if form.in == mediaXLSX {
		if err := share.work(ctx, needs); err != nil { // to join it
			return reply{}, err
		}
		more, err := workbookMemory(sent.bytes())
		if err != nil {
			return reply{}, err
		}
		needs += more
	}
	if err := share.work(ctx, needs); err != nil {
		return reply{}, err
	}
	body := sent.bytes()
	b := &batch{e: e, reading: e.batches, left: e.batches.limit, most: answerLimit(len(body)), client: &begun{c: c}}
	if e.Info().Heavy {
		b.heavy, b.left = &e.class, e.class.limit
	}
	c.SetHeader("Content-Type", withCharset(form.out))
	err = b.run(ctx, func(w *bufio.Writer) (source, sink, error) {
		return e.codec(form, body, w)
	})
	charge(ctx, b.rows/rowsPerRequest)
	if err != nil && !b.client.started {
		return reply{}, err
	}
	return reply{}, errWritten
}

// rowFormOf reads what a query says of the table of a batch.
func rowFormOf(pairs []wire.Pair) (form rowForm, err error) {
	for _, p := range pairs {
		switch p.Name {
		case "decimal":
			if p.Text != "comma" && p.Text != "point" {
				return form, underQuery(calc.Refuse("decimal", p.Text, "give point or comma, the decimal mark of the CSV table"))
			}
			form.decimalComma = p.Text == "comma"
		case "sheet":
			form.sheet = p.Text
		default:
			return form, underQuery(calc.Refuse(p.Name, p.Text, "put it in the rows"))
		}
	}
	return form, nil
}

// rowForm is how a batch is read and written.
type rowForm struct {
	in, out, charset string
	decimalComma     bool
	sheet            string // of a workbook; "" for the active one
}

// begun sends the status with the first byte, so that a batch that breaks
// before it can still be refused whole.
type begun struct {
	c       huma.Context
	started bool
}

func (b *begun) Write(p []byte) (int, error) {
	if !b.started {
		b.started = true
		b.c.SetStatus(http.StatusOK)
	}
	return b.c.BodyWriter().Write(p)
}

// rowForms are the forms of a batch, by what format= calls them.
var rowForms = []struct{ name, mediaType string }{
	{"json", mediaJSON}, {"ndjson", mediaNDJSON}, {"csv", mediaCSV}, {"xlsx", mediaXLSX},
}

// forms finds how the batch is read, by its Content-Type, and how it is
// written: by format=, else by Accept, else as it came.
func (e *endpoint) forms(c huma.Context, o options) (in, out, charset string, err error) {
	in, parameters, err := mime.ParseMediaType(c.Header("Content-Type"))
	if err != nil {
		in = c.Header("Content-Type")
	}
	charset = parameters["charset"]
	switch in {
	case "application/jsonl", "application/x-jsonlines":
		in = mediaNDJSON
	case "text/tab-separated-values":
		in = mediaCSV
	}
	accepted := []string{mediaJSON, mediaNDJSON}
	if e.flat {
		accepted = append(accepted, mediaCSV, mediaXLSX)
	}
	if !slices.Contains(accepted, in) {
		return "", "", "", problem(http.StatusUnsupportedMediaType, "send %s, not %q", strings.Join(accepted, " or "), clip(in, 100))
	}
	offered, names := []string{in}, []string{} // a workbook can only be added to
	for _, f := range rowForms {
		if f.mediaType == mediaXLSX && in != mediaXLSX {
			continue
		}
		names = append(names, f.name)
		if f.name == o.format {
			return in, f.mediaType, charset, nil
		}
		offered = append(offered, f.mediaType)
	}
	if o.format != "" {
		return "", "", "", underQuery(calc.Refuse("format", o.format, "give one of %s", strings.Join(names, ", ")))
	}
	accept := c.Header("Accept")
	if accept == "" {
		return in, in, charset, nil
	}
	out = preferred(accept, offered)
	if out == "" {
		return "", "", "", problem(http.StatusNotAcceptable, "none of %q is offered; ask for %s", clip(accept, 100), strings.Join(offered[1:], ", "))
	}
	return in, out, charset, nil
}

// codec makes the two ends of a batch.
func (e *endpoint) codec(form rowForm, body []byte, w *bufio.Writer) (src source, dst sink, err error) {
	table := newTableSink(e, nil, w)
	var book *workbook
	if form.in == mediaCSV {
		if body, err = utf8Table(body, form.charset); err != nil {
			return nil, nil, err
		}
	}
	r := bufio.NewReaderSize(bytes.NewReader(body), 64<<10)
	switch form.in {
	case mediaJSON:
		src = newJSONRows(e.shape, r)
	case mediaNDJSON:
		src = &lineRows{e.shape, body}
	case mediaCSV:
		t, err := newTableRows(e, r, form.decimalComma)
		if err != nil {
			return nil, nil, err
		}
		src, table = t, newTableSink(e, t.header, w)
		table.w.Comma = t.r.Comma
	case mediaXLSX:
		if book, err = openWorkbook(e, form.sheet, r, w); err != nil {
			return nil, nil, err
		}
		book.echo = form.out == mediaCSV
		src, table = book, newTableSink(e, book.header, w)
	}
	table.decimalComma = form.decimalComma
	switch form.out {
	case mediaJSON:
		dst = &jsonSink{w: w, open: "[\n", part: ",\n", end: "\n]\n"}
	case mediaNDJSON:
		dst = &jsonSink{w: w, part: "\n", end: "\n"}
	case mediaCSV:
		dst = table
	case mediaXLSX:
		dst = book
	}
	return src, dst, nil
}

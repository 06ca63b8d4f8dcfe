package serve

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io"
	"mime"
	"net/http"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"golang.org/x/sync/errgroup"

	"pourwright/internal/calc"
	"pourwright/internal/wire"
)

const (
	// maxRowsBody bounds the body of a batch, in bytes.
	maxRowsBody = 32 << 20
	// maxHeavyRows bounds a batch of a heavy calculation.
	maxHeavyRows = 64
	// batch is how many rows are held at once.
	batch = 256
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
	decimalComma := false
	if i := slices.IndexFunc(pairs, func(p wire.Pair) bool { return p.Name == "decimal" }); i >= 0 {
		if mark := pairs[i].Text; mark != "comma" && mark != "point" {
			return reply{}, underQuery(calc.Refuse("decimal", mark, "give point or comma, the decimal mark of the CSV table"))
		}
		decimalComma = pairs[i].Text == "comma"
		pairs = slices.Delete(pairs, i, i+1)
	}
	if len(pairs) > 0 {
		return reply{}, underQuery(calc.Refuse(pairs[0].Name, pairs[0].Text, "put it in the rows"))
	}
	if o.pick != "" {
		return reply{}, underQuery(calc.Refuse("pick", o.pick, "leave it out of a batch; each row is a whole answer"))
	}
	if c.Query("working") != "true" {
		ctx = calc.Silent(ctx)
	}
	ins, outs, err := e.forms(c, o)
	if err != nil {
		return reply{}, err
	}
	leave, err := e.memory.take(ctx, bodySize(c), ins == mediaXLSX)
	if err != nil {
		return reply{}, err
	}
	defer leave()
	// The body is read whole before the answer begins: most clients read
	// nothing before they have sent everything.
	body, err := readAll(c, maxRowsBody)
	if err != nil {
		return reply{}, err
	}
	client := &begun{c: c}
	w := bufio.NewWriterSize(client, 64<<10)
	src, dst, err := e.codec(ins, outs, decimalComma, bufio.NewReaderSize(bytes.NewReader(body), 64<<10), w)
	if err != nil {
		return reply{}, err
	}
	c.SetHeader("Content-Type", withCharset(outs))
	err = e.run(ctx, src, dst)
	if err == nil || client.started {
		err = dst.close(err)
	}
	if err != nil && !client.started {
		return reply{}, err
	}
	_ = w.Flush() // the client may have gone
	return reply{}, errWritten
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
func (e *endpoint) forms(c huma.Context, o options) (in, out string, err error) {
	in, _, err = mime.ParseMediaType(c.Header("Content-Type"))
	if err != nil {
		in = c.Header("Content-Type")
	}
	if in == "application/jsonl" || in == "application/x-jsonlines" {
		in = mediaNDJSON
	}
	accepted := []string{mediaJSON, mediaNDJSON}
	if e.flat {
		accepted = append(accepted, mediaCSV, mediaXLSX)
	}
	if !slices.Contains(accepted, in) {
		return "", "", problem(http.StatusUnsupportedMediaType, "send %s, not %q", strings.Join(accepted, " or "), clip(in, 100))
	}
	offered, names := []string{in}, []string{} // a workbook can only be added to
	for _, f := range rowForms {
		if f.mediaType == mediaXLSX && in != mediaXLSX {
			continue
		}
		names = append(names, f.name)
		if f.name == o.format {
			return in, f.mediaType, nil
		}
		offered = append(offered, f.mediaType)
	}
	if o.format != "" {
		return "", "", underQuery(calc.Refuse("format", o.format, "give one of %s", strings.Join(names, ", ")))
	}
	accept := c.Header("Accept")
	if accept == "" {
		return in, in, nil
	}
	out = preferred(accept, offered)
	if out == "" {
		return "", "", problem(http.StatusNotAcceptable, "none of %q is offered; ask for %s", clip(accept, 100), strings.Join(offered[1:], ", "))
	}
	return in, out, nil
}

// codec makes the two ends of a batch.
func (e *endpoint) codec(in, out string, decimalComma bool, r *bufio.Reader, w *bufio.Writer) (src source, dst sink, err error) {
	table := newTableSink(e, nil, w)
	var book *workbook
	switch in {
	case mediaJSON:
		src = newJSONRows(e.shape, r)
	case mediaNDJSON:
		src = newLineRows(e.shape, r)
	case mediaCSV:
		t, err := newTableRows(e, r, decimalComma)
		if err != nil {
			return nil, nil, err
		}
		src, table = t, newTableSink(e, t.header, w)
		table.w.Comma = t.r.Comma
	case mediaXLSX:
		if book, err = openWorkbook(e, r, w); err != nil {
			return nil, nil, err
		}
		book.echo = out == mediaCSV
		src, table = book, newTableSink(e, book.header, w)
	}
	table.decimalComma = decimalComma
	switch out {
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

// run reads rows in batches, answers each batch on all cores and writes it in order.
func (e *endpoint) run(ctx context.Context, src source, dst sink) error {
	buffer := make([]row, batch)
	for number := 1; ; {
		n := 0
		var end error
		for n < batch && end == nil {
			buffer[n] = row{number: number}
			if end = src.next(&buffer[n]); end == nil {
				n++
				number++
			}
		}
		if e.Info().Heavy && number > maxHeavyRows+1 {
			return problem(http.StatusRequestEntityTooLarge, "at most %d rows at once for this calculation", maxHeavyRows)
		}
		if err := e.class.within(ctx, func(ctx context.Context) error { return e.each(ctx, buffer[:n]) }); err != nil {
			return err
		}
		for i := range n {
			if err := dst.put(&buffer[i]); err != nil {
				return err
			}
		}
		if errors.Is(end, io.EOF) {
			return nil
		}
		if end != nil {
			return end
		}
	}
}

// each answers the rows on all cores.
func (e *endpoint) each(ctx context.Context, rows []row) error {
	workers := runtime.GOMAXPROCS(0)
	var g errgroup.Group // not WithContext: see untilThen
	for w := range workers {
		g.Go(func() error {
			for i := w; i < len(rows); i += workers {
				if err := ctx.Err(); err != nil {
					return err
				}
				if r := &rows[i]; r.err == nil {
					r.out, r.err = e.attempt(ctx, r.in)
					if err := ctx.Err(); err != nil && errors.Is(r.err, err) {
						return err // the batch has ended, the row is not at fault
					}
				}
			}
			return nil
		})
	}
	return g.Wait()
}

// attempt runs the calculation; a panic is the row's error, as it would else
// take the server down from a goroutine that no barrier guards.
func (e *endpoint) attempt(ctx context.Context, in any) (out any, err error) {
	defer func() {
		if p := recover(); p != nil {
			e.log.ErrorContext(ctx, "panic", "calculation", e.Info().Name, "panic", p, "stack", string(debug.Stack()))
			err = errors.New("panic")
		}
	}()
	return e.Run(ctx, in)
}

package serve

import (
	"bufio"
	"context"
	"errors"
	"io"
	"mime"
	"net/http"
	"runtime"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"golang.org/x/sync/errgroup"

	"pourwright/internal/calc"
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
	line   int      // of a sheet, where the row stands
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
	if len(pairs) > 0 {
		return reply{}, underQuery(calc.Refuse(pairs[0].Name, pairs[0].Text, "put it in the rows"))
	}
	if o.pick != "" {
		return reply{}, underQuery(calc.Refuse("pick", o.pick, "leave it out of a batch; each row is a whole answer"))
	}
	if c.Query("working") != "true" {
		ctx = calc.Silent(ctx)
	}
	body := &limitedReader{c.BodyReader(), maxRowsBody}
	client := &begun{c: c}
	w := bufio.NewWriterSize(client, 64<<10)
	src, dst, mediaType, err := e.codec(c, bufio.NewReaderSize(body, 64<<10), w)
	if err != nil {
		return reply{}, err
	}
	c.SetHeader("Content-Type", withCharset(mediaType))
	err = e.run(ctx, src, dst)
	if body.left < 0 {
		err = problem(http.StatusRequestEntityTooLarge, "the body is larger than %d bytes; send it in parts", maxRowsBody)
	}
	if err != nil && !client.started {
		return reply{}, err
	}
	if err := dst.close(err); err != nil {
		return reply{}, errWritten
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

// codec chooses how the batch is read and written from its Content-Type.
func (e *endpoint) codec(c huma.Context, r *bufio.Reader, w *bufio.Writer) (source, sink, string, error) {
	mediaType, _, err := mime.ParseMediaType(c.Header("Content-Type"))
	if err != nil {
		mediaType = c.Header("Content-Type")
	}
	switch mediaType {
	case mediaJSON:
		return newJSONRows(e.shape, r), &jsonSink{w: w, open: "[\n", part: ",\n", end: "\n]\n"}, mediaJSON, nil
	case mediaNDJSON, "application/jsonl", "application/x-jsonlines":
		return newLineRows(e.shape, r), &jsonSink{w: w, part: "\n", end: "\n"}, mediaNDJSON, nil
	case mediaCSV:
		if !e.shape.Flat() {
			break
		}
		t, err := newTable(e, r, w)
		return t, t, mediaCSV, err
	case mediaXLSX:
		if e.shape.Flat() {
			b, err := newWorkbook(e, r, w)
			return b, b, mediaXLSX, err
		}
	}
	offered := []string{mediaJSON, mediaNDJSON}
	if e.shape.Flat() {
		offered = append(offered, mediaCSV, mediaXLSX)
	}
	return nil, nil, "", problem(http.StatusUnsupportedMediaType, "send %s, not %q", strings.Join(offered, " or "), mediaType)
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
	g, ctx := errgroup.WithContext(ctx)
	for w := range workers {
		g.Go(func() error {
			for i := w; i < len(rows); i += workers {
				if err := ctx.Err(); err != nil {
					return err
				}
				if r := &rows[i]; r.err == nil {
					r.out, r.err = e.Run(ctx, r.in)
				}
			}
			return nil
		})
	}
	return g.Wait()
}

package serve

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io"
	"net/http"
	"runtime"
	"runtime/debug"
	"slices"
	"sync"
	"sync/atomic"
	"time"
)

const (
	// maxHeavyRows bounds a batch of a heavy calculation, maxRows any other.
	maxHeavyRows = 64
	maxRows      = 250_000
	// chunk is how many rows of a light calculation are held at once.
	chunk = 256
	// batchQueue is how many batches and long bodies may wait for a place.
	batchQueue = 64
	// rowsPerRequest is how many rows count as one request more.
	rowsPerRequest = 500
	// leastAnswer and answerPerByte bound the answer to a batch, in bytes and
	// in bytes for each that was sent.
	leastAnswer   = 4 << 20
	answerPerByte = 64
)

// answerLimit bounds the answer to a batch of that many bytes.
func answerLimit(sent int) int64 { return leastAnswer + answerPerByte*int64(sent) }

// batchMemory is what working on a batch that is read as it goes takes beside
// its body, in bytes: a chunk of rows with their answers.
func batchMemory(sent int64) int64 { return min(8<<20, 256<<10+16*sent) }

// batch is one batch under way.
type batch struct {
	e       *endpoint
	reading class         // its place for reading, writing, and light calculations
	heavy   *class        // that of its rows, if they are heavy
	left    time.Duration // of the time it may calculate
	most    int64         // bytes of the answer
	client  *begun

	rows, sent int64
	done       bool  // a row has been calculated
	late       error // once no more are: of every row that is left
}

// run opens the batch and answers it chunk by chunk. All work is done in a
// place, which is given back between chunks so that others have their turn;
// the answer is sent without one, since the client may be slow.
func (b *batch) run(ctx context.Context, open func(*bufio.Writer) (source, sink, error)) error {
	var out bytes.Buffer
	w := bufio.NewWriterSize(&out, 64<<10)
	var src source
	var dst sink
	if err := b.reading.hold(ctx, false, func(context.Context) (err error) {
		if src, dst, err = open(w); err == nil && b.heavy != nil {
			src, err = gathered(src)
		}
		return err
	}); err != nil {
		return err
	}
	rows := make([]row, chunk)
	if b.heavy != nil {
		rows = rows[:1]
	}
	for ended := error(nil); ended == nil; {
		if ended = b.chunk(ctx, rows, src, dst); ended != nil {
			if err := b.end(ctx, ended, dst, w); err != nil {
				return err
			}
		} else if out.Len() < 32<<10 {
			continue
		}
		b.sent += int64(out.Len())
		if _, err := b.client.Write(out.Bytes()); err != nil {
			return context.Canceled // the client has gone
		}
		out.Reset()
	}
	return nil
}

// end closes the answer. A batch that broke off before anything went out is
// refused whole; else its last row says why.
func (b *batch) end(ctx context.Context, broken error, dst sink, w *bufio.Writer) error {
	if ctx.Err() != nil {
		return ctx.Err() // the client has gone
	}
	if errors.Is(broken, io.EOF) {
		broken = nil
	} else if !b.client.started {
		return broken
	}
	return b.reading.hold(ctx, true, func(context.Context) error { return errors.Join(dst.close(broken), w.Flush()) })
}

// gathered reads all rows of a heavy batch, so that what is wrong with it is
// said before it waits among the heavy ones.
func gathered(src source) (source, error) {
	var all gatheredRows
	for {
		r := row{number: len(all) + 1}
		err := src.next(&r)
		if errors.Is(err, io.EOF) {
			return &all, nil
		}
		if err != nil {
			return nil, err
		}
		if len(all) == maxHeavyRows {
			return nil, tooManyRows(maxHeavyRows)
		}
		all = append(all, r)
	}
}

// gatheredRows are rows that have been read already.
type gatheredRows []row

func (g *gatheredRows) next(r *row) error {
	if len(*g) == 0 {
		return io.EOF
	}
	*r, *g = (*g)[0], (*g)[1:]
	return nil
}

func tooManyRows(most int) error {
	return problem(http.StatusRequestEntityTooLarge, "at most %d rows at once for this calculation", most)
}

// chunk reads, answers and writes some rows; those of a light batch in one
// place for all three. The error is io.EOF at the end.
func (b *batch) chunk(ctx context.Context, rows []row, src source, dst sink) (end error) {
	if b.heavy == nil && b.late == nil {
		leave, err := b.reading.enter(ctx, true)
		if err != nil && b.lost(ctx, err) != nil {
			return err
		}
		if err == nil {
			defer leave()
		}
	}
	n := 0
	for n < len(rows) && end == nil {
		rows[n] = row{number: int(b.rows) + 1}
		if end = src.next(&rows[n]); end == nil {
			n++
			b.rows++
		}
	}
	if b.rows > maxRows {
		return tooManyRows(maxRows)
	}
	if err := b.calculate(ctx, rows[:n]); err != nil {
		return err
	}
	for i := range n {
		if err := dst.put(&rows[i]); err != nil {
			return err
		}
	}
	if b.sent > b.most {
		return problem(413, "the answer is longer than %d bytes, %d for each byte sent; send fewer rows at once, or ask for less in each", b.most, answerPerByte)
	}
	return end
}

// calculate gives each row that could be read its answer or its error.
func (b *batch) calculate(ctx context.Context, rows []row) error {
	wanting := func(r row) bool { return r.err == nil && r.out == nil }
	if !slices.ContainsFunc(rows, wanting) {
		return nil
	}
	if b.late == nil && b.heavy != nil {
		if err := b.heavy.hold(ctx, b.done, func(ctx context.Context) error { b.each(ctx, rows); return nil }); err != nil && b.lost(ctx, err) != nil {
			return err
		}
	} else if b.late == nil {
		b.each(ctx, rows)
	}
	if err := ctx.Err(); err != nil {
		return err // the client has gone
	}
	for i := range rows {
		if wanting(rows[i]) && b.late == nil {
			if !b.done {
				return b.place().overdue()
			}
			b.late = problem(503, "not calculated: the batch had %s, which the rows before took; send the rest anew", b.place().limit)
		}
		if wanting(rows[i]) {
			rows[i].err = b.late
		}
	}
	return nil
}

// place is where the rows are calculated.
func (b *batch) place() *class {
	if b.heavy != nil {
		return b.heavy
	}
	return &b.reading
}

// lost says of every row that is left that it found no place, if some have been
// calculated; else that is the error of the batch.
func (b *batch) lost(ctx context.Context, err error) error {
	if !b.done || ctx.Err() != nil {
		return err
	}
	b.late = err
	return nil
}

// each answers the rows until the batch's time is over: of a light calculation
// on the cores that the batches under way leave it.
func (b *batch) each(ctx context.Context, rows []row) {
	start := time.Now()
	ctx, cancel := context.WithTimeout(ctx, max(b.left, 0))
	defer cancel()
	workers := 1
	if b.heavy == nil {
		running, _ := b.reading.gate.counts()
		workers = max(1, min(runtime.GOMAXPROCS(0)/max(running, 1), len(rows)))
	}
	var done atomic.Bool
	var group sync.WaitGroup
	for w := range workers {
		group.Go(func() {
			for i := w; i < len(rows) && ctx.Err() == nil; i += workers {
				r := &rows[i]
				if r.err != nil {
					continue
				}
				r.out, r.err = b.e.attempt(ctx, r.in)
				if err := ctx.Err(); err != nil && errors.Is(r.err, err) {
					r.out, r.err = nil, nil // the batch's time has ended, the row is not at fault
					return
				}
				done.Store(true)
			}
		})
	}
	group.Wait()
	b.left -= time.Since(start)
	b.done = b.done || done.Load()
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

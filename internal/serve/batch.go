package serve

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"io"
	"runtime"
	"runtime/debug"
	"sync"
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
	e      *endpoint
	place  class
	left   time.Duration // of the time it may calculate
	most   int64         // bytes of the answer
	client *begun

	rows, sent int64
	begun      bool
	late       error // once its time is over: of every row that is left
}

// run opens the batch and answers it chunk by chunk. All work is done in a
// place, which is given back between chunks so that others have their turn;
// the answer is sent without one, since the client may be slow.
func (b *batch) run(ctx context.Context, open func(*bufio.Writer) (source, sink, error)) error {
	var out bytes.Buffer
	w := bufio.NewWriterSize(&out, 64<<10)
	var src source
	var dst sink
	if err := b.inPlace(ctx, func(context.Context) (err error) {
		src, dst, err = open(w)
		return err
	}); err != nil {
		return err
	}
	size := chunk
	if b.e.Info().Heavy {
		size = 1
	}
	rows := make([]row, size)
	for ended := error(nil); ended == nil; {
		err := b.inPlace(ctx, func(timed context.Context) error {
			ended = b.chunk(ctx, timed, rows, src, dst)
			if ended == nil {
				return nil
			}
			broken := ended
			if errors.Is(broken, io.EOF) {
				broken = nil
			}
			if broken != nil && !b.client.started {
				return broken // nothing has gone out: it is refused whole
			}
			return errors.Join(dst.close(broken), w.Flush())
		})
		if err != nil && b.client.started && ctx.Err() == nil {
			_ = errors.Join(dst.close(err), w.Flush()) // the rows so far have gone out; this one ends them
			_, _ = b.client.Write(out.Bytes())
		}
		if err != nil {
			return err
		}
		if out.Len() < 32<<10 && ended == nil {
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

// inPlace runs f in a place; the time that it takes is the batch's.
func (b *batch) inPlace(ctx context.Context, f func(timed context.Context) error) error {
	leave, err := b.place.enter(ctx, b.begun)
	if err != nil {
		return err
	}
	defer leave()
	b.begun = true
	start := time.Now()
	defer func() { b.left -= time.Since(start) }()
	timed, cancel := context.WithTimeout(ctx, max(b.left, 0))
	defer cancel()
	return f(timed)
}

// chunk reads, answers and writes some rows. The error is io.EOF at the end.
func (b *batch) chunk(ctx, timed context.Context, rows []row, src source, dst sink) (end error) {
	n := 0
	for n < len(rows) && end == nil {
		rows[n] = row{number: int(b.rows) + 1}
		if end = src.next(&rows[n]); end == nil {
			n++
			b.rows++
		}
	}
	most := int64(maxRows)
	if b.e.Info().Heavy {
		most = maxHeavyRows
	}
	if b.rows > most {
		return problem(413, "at most %d rows at once for this calculation", most)
	}
	b.each(timed, rows[:n])
	if err := ctx.Err(); err != nil {
		return err // the client has gone
	}
	for i := range n {
		r := &rows[i]
		if r.out == nil && r.err == nil {
			if b.late == nil && b.rows == int64(n) && i == 0 {
				return b.place.late(timed, context.DeadlineExceeded) // not one row was done
			}
			if b.late == nil {
				b.late = problem(503, "not calculated: the batch had %s, which the rows before took; send the rest anew", b.place.limit)
			}
			r.err = b.late
		}
		if err := dst.put(r); err != nil {
			return err
		}
	}
	if b.sent > b.most {
		return problem(413, "the answer is longer than %d bytes, %d for each byte sent; send fewer rows at once, or ask for less in each", b.most, answerPerByte)
	}
	return end
}

// each answers the rows until the time is over: of a light calculation on the
// cores that the batches under way leave it, of a heavy one on those that its
// place has.
func (b *batch) each(ctx context.Context, rows []row) {
	if b.late != nil {
		return
	}
	workers := 1
	if !b.e.Info().Heavy {
		running, _ := b.place.gate.counts()
		workers = max(1, min(runtime.GOMAXPROCS(0)/max(running, 1), len(rows)))
	}
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
				}
			}
		})
	}
	group.Wait()
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

package serve

import (
	"bytes"
	"errors"
	"io"
	"net/http"
	"os"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humachi"
)

const (
	// firstRead is read of a body before anything is accounted for: a light
	// request needs no more, and a connection holds as much anyway.
	firstRead = 4 << 10
	// bodyGrace is how long a body may take to begin, and bodyPace how fast it
	// must come then, in bytes a second.
	bodyGrace = 5 * time.Second
	bodyPace  = 16 << 10
)

// bodies is what reading bodies takes: the memory they share, and the clock
// that slow ones are held to.
type bodies struct {
	memory *memory
	grace  time.Duration
	pace   int64
}

// received is a body that has come: its beginning, and the rest of a long one
// in pieces, which are never copied as it grows.
type received struct {
	head *bytes.Buffer
	rest [][]byte
	size int64
}

// piece is how long each piece of a long body is, in bytes.
const piece = 1 << 20

func (r *received) reader() io.Reader {
	readers := []io.Reader{bytes.NewReader(r.head.Bytes())}
	for _, p := range r.rest {
		readers = append(readers, bytes.NewReader(p))
	}
	return io.MultiReader(readers...)
}

// bytes is the whole body; of a long one a copy.
func (r *received) bytes() []byte {
	if len(r.rest) == 0 {
		return r.head.Bytes()
	}
	return bytes.Join(append([][]byte{r.head.Bytes()}, r.rest...), nil)
}

// read reads the body, at most most bytes of it, its beginning into head.
// Memory is taken as the bytes come; a body that comes too slowly is given up,
// and one that is declared so long that working on it, at perByte bytes each,
// takes more than there is, is not begun. The share is the caller's to close,
// also with an error.
func (b *bodies) read(c huma.Context, head *bytes.Buffer, most, perByte int64) (in *received, s *share, err error) {
	in, s = &received{head: head}, &share{m: b.memory}
	if encoding := c.Header("Content-Encoding"); encoding != "" && !strings.EqualFold(encoding, "identity") {
		return in, s, problem(http.StatusUnsupportedMediaType, "the body is sent as Content-Encoding %q; send it as it is", clip(encoding, 40))
	}
	r, w := humachi.Unwrap(c)
	if r.ContentLength > most {
		return in, s, tooLarge(most)
	}
	if r.ContentLength > piece && r.ContentLength*perByte > b.memory.total {
		return in, s, b.memory.tooMuch(r.ContentLength * perByte)
	}
	body := c.BodyReader()
	head.Grow(firstRead)
	n, err := fill(head.AvailableBuffer()[:firstRead], body)
	head.Write(head.AvailableBuffer()[:n])
	if in.size = int64(n); err != nil || n < firstRead {
		return in, s, unread(err, in.size)
	}
	control := http.NewResponseController(w)
	s = b.memory.open(func() { _ = control.SetReadDeadline(time.Now()) })
	defer func() {
		if err == nil {
			_ = control.SetReadDeadline(time.Time{})
			return
		}
		// What is still to come is not waited for, so the connection ends.
		c.SetHeader("Connection", "close")
		_ = control.SetReadDeadline(time.Now())
	}()
	begun := time.Now()
	for {
		if in.size > most {
			return in, s, tooLarge(most)
		}
		step := min(max(in.size, firstRead), piece, most+1-in.size)
		if !s.grow(step) {
			return in, s, busy(b.memory.retryAfter(in.size), "the memory for bodies is taken, and this one came more slowly than others")
		}
		_ = control.SetReadDeadline(begun.Add(b.grace + time.Duration(in.size/max(b.pace, 1))*time.Second))
		more := in.space(int(step))
		n, err := fill(more, body)
		in.took(more, n)
		if s.lostToOthers() {
			return in, s, busy(b.memory.retryAfter(in.size), "the memory for bodies is taken, and this one came more slowly than others")
		}
		if err != nil || n < int(step) {
			return in, s, unread(err, in.size)
		}
	}
}

// space is room for n bytes more: in the head of a short body, else a piece.
func (r *received) space(n int) []byte {
	if r.size < piece {
		r.head.Grow(n)
		return r.head.AvailableBuffer()[:n]
	}
	return make([]byte, n)
}

// took keeps the n bytes that have come into that room.
func (r *received) took(room []byte, n int) {
	if r.size < piece {
		r.head.Write(room[:n])
	} else {
		r.rest = append(r.rest, room[:n])
	}
	r.size += int64(n)
}

// fill reads into space until it is full; fewer bytes and no error mean that
// the body ended.
func fill(space []byte, body io.Reader) (got int, err error) {
	for got < len(space) && err == nil {
		var more int
		more, err = body.Read(space[got:])
		got += more
	}
	if errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		err = nil
	}
	return got, err
}

// unread says why a body did not come to its end, if it did not.
func unread(err error, got int64) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, os.ErrDeadlineExceeded) {
		return problem(http.StatusRequestTimeout, "the body came too slowly: %d bytes, when there was no more time", got)
	}
	return problem(http.StatusBadRequest, "the body could not be read to its end")
}

func tooLarge(most int64) error {
	return problem(http.StatusRequestEntityTooLarge, "the body is larger than %d bytes", most)
}

func (s *share) lostToOthers() bool {
	s.m.lock.Lock()
	defer s.m.lock.Unlock()
	return s.lost
}

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

// read reads the body into a buffer, at most most bytes of it. Memory is taken
// as the bytes come; a body that comes too slowly is given up. The share is
// the caller's to close, also with an error.
func (b *bodies) read(c huma.Context, into *bytes.Buffer, most int64) (s *share, err error) {
	s = &share{m: b.memory}
	if encoding := c.Header("Content-Encoding"); encoding != "" && !strings.EqualFold(encoding, "identity") {
		return s, problem(http.StatusUnsupportedMediaType, "the body is sent as Content-Encoding %q; send it as it is", clip(encoding, 40))
	}
	r, w := humachi.Unwrap(c)
	if r.ContentLength > most {
		return s, tooLarge(most)
	}
	body := c.BodyReader()
	into.Grow(firstRead)
	if n, err := fill(into, body, firstRead); err != nil || n < firstRead {
		return s, unread(err)
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
		have := int64(into.Len())
		if have > most {
			return s, tooLarge(most)
		}
		step := min(max(have, firstRead), 1<<20, most+1-have)
		// A buffer that grows holds old and new for a moment.
		if need := 2 * (have + step); need > s.held && !s.grow(need-s.held) {
			return s, busy(memoryRetry, "the memory for bodies is taken, and this one came more slowly than others")
		}
		into.Grow(int(step))
		_ = control.SetReadDeadline(begun.Add(b.grace + time.Duration(have/max(b.pace, 1))*time.Second))
		n, err := fill(into, body, int(step))
		if s.lostToOthers() {
			return s, busy(memoryRetry, "the memory for bodies is taken, and this one came more slowly than others")
		}
		if errors.Is(err, os.ErrDeadlineExceeded) {
			return s, problem(http.StatusRequestTimeout, "the body came too slowly: %d bytes in %s", into.Len(), time.Since(begun).Round(time.Second))
		}
		if err != nil || n < int(step) {
			return s, unread(err)
		}
	}
}

// fill reads up to n bytes more; fewer and no error mean that the body ended.
func fill(into *bytes.Buffer, body io.Reader, n int) (got int, err error) {
	space := into.AvailableBuffer()[:n]
	for got < n && err == nil {
		var more int
		more, err = body.Read(space[got:])
		got += more
	}
	into.Write(space[:got])
	if errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		err = nil
	}
	return got, err
}

func unread(err error) error {
	if err == nil {
		return nil
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

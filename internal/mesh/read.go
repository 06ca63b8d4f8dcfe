package mesh

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"

	"pourwright/internal/calc"
)

// Limits of an STL file. Reading takes about 50 bytes a triangle at its peak
// (12 for the triangle, 6 for its share of the vertices, the rest for the
// table of vertices while it grows), whatever the file claims to hold.
const (
	MaxBytes     = 64 << 20
	MaxTriangles = 1_300_000
)

const (
	headerSize = 84
	recordSize = 50
)

// Read reads an STL file, binary or ASCII, or a 3MF file, and welds corners of
// equal coordinates. A binary file may begin with "solid". The coordinates are
// those of the file; [Mesh.Scale] brings them to mm. The statements say what
// was put right on the way. Refusals name the field given.
//
// Format: the de facto standard of 1988: 80 bytes of header, a 32-bit count,
// and per triangle a normal, three corners (12 little-endian 32-bit floats)
// and 16 bits of attribute. Normals and attributes are not used: the order of
// the corners tells the outside.
func Read(r io.Reader, field string) (m *Mesh, statements []string, err error) {
	body := bufio.NewReaderSize(r, 1<<18)
	head, err := body.Peek(headerSize + recordSize)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, nil, refuse(field, "could not be read to the end: %v", err)
	}
	if name, how := foreign(head); name != "" {
		return nil, nil, refuse(field, "is %s; %s", name, how)
	}
	w := &welder{mesh: &Mesh{}}
	if isZip(head) {
		statements, err = w.archive(body)
	} else if isText(head) {
		err = w.ascii(body)
	} else {
		statements, err = w.binary(body)
	}
	if err == nil && len(w.mesh.T) == 0 {
		err = errors.New("holds no triangle")
	}
	if err != nil {
		return nil, nil, refuse(field, "%v", err)
	}
	return w.mesh, statements, nil
}

func refuse(field, what string, args ...any) error {
	return &calc.Refusal{
		Detail: "the file " + fmt.Sprintf(what, args...),
		Faults: []calc.Fault{{Field: field, Accepts: fmt.Sprintf("give a whole STL file, binary or ASCII, or a 3MF file, of 1 to %d triangles and at most %d MiB; this one ", MaxTriangles, MaxBytes>>20) + fmt.Sprintf(what, args...)}},
	}
}

// isText tells ASCII from binary. "solid" alone does not: some programs write
// it into the binary header. An ASCII file goes on with the word facet or
// endsolid and holds no control characters.
func isText(head []byte) bool {
	trimmed := bytes.TrimLeft(bytes.TrimPrefix(head, byteOrderMark), " \t\r\n")
	if len(trimmed) < 5 || !bytes.EqualFold(trimmed[:5], []byte("solid")) {
		return false
	}
	for _, c := range head {
		if c < ' ' && c != '\t' && c != '\r' && c != '\n' {
			return false
		}
	}
	return true
}

// byteOrderMark of UTF-8, which some editors write at the head of a text.
var byteOrderMark = []byte("\xef\xbb\xbf")

// anyLine splits at a line feed, a carriage return, or both.
func anyLine(data []byte, atEnd bool) (advance int, token []byte, err error) {
	switch i := bytes.IndexAny(data, "\r\n"); {
	case i < 0 && atEnd && len(data) > 0:
		return len(data), data, nil
	case i < 0 || data[i] == '\r' && i+1 == len(data) && !atEnd:
		return 0, nil, nil
	case data[i] == '\r' && i+1 < len(data) && data[i+1] == '\n':
		return i + 2, data[:i], nil
	default:
		return i + 1, data[:i], nil
	}
}

func (w *welder) binary(r *bufio.Reader) (statements []string, err error) {
	var head [headerSize]byte
	if n, err := io.ReadFull(r, head[:]); err != nil {
		return nil, fmt.Errorf("is not an STL file: it has %d bytes, fewer than the %d of a header", n, headerSize)
	}
	claimed := binary.LittleEndian.Uint32(head[80:])
	if claimed > MaxTriangles {
		return nil, fmt.Errorf("claims %d triangles; the most read is %d", claimed, MaxTriangles)
	}
	buffer := make([]byte, 2048*recordSize)
	for left := int(claimed); left > 0; {
		chunk := buffer[:min(left*recordSize, len(buffer))]
		n, err := io.ReadFull(r, chunk)
		w.makeRoom(n/recordSize, int(claimed))
		for at := 0; at+recordSize <= n; at += recordSize {
			if err := w.record(chunk[at+12 : at+48]); err != nil {
				return nil, err
			}
		}
		if err != nil {
			return nil, fmt.Errorf("is cut short: %d triangles of the %d that it claims", len(w.mesh.T), claimed)
		}
		left -= n / recordSize
	}
	extra, err := io.Copy(io.Discard, r)
	switch {
	case err != nil:
		return nil, fmt.Errorf("could not be read to the end: %v", err)
	case extra >= recordSize:
		return nil, fmt.Errorf("claims %d triangles but goes on for %d bytes more, room for %d", claimed, extra, extra/recordSize)
	case extra > 0:
		statements = append(statements, fmt.Sprintf("%d stray bytes after the last triangle were ignored", extra))
	}
	return statements, nil
}

// makeRoom makes room for n more triangles, ahead of them by what has already
// arrived but never past the claim, so that a false claim costs nothing.
func (w *welder) makeRoom(n, claimed int) {
	if have := len(w.mesh.T); cap(w.mesh.T)-have < n {
		w.mesh.T = slices.Grow(w.mesh.T, max(n, min(3*have, claimed-have)))
		w.mesh.V = slices.Grow(w.mesh.V, min(3*len(w.mesh.V), (claimed-have)/2+64))
	}
}

// record welds one triangle of nine little-endian floats.
func (w *welder) record(b []byte) error {
	_ = b[35]
	var t Triangle
	for k := range t {
		x := binary.LittleEndian.Uint32(b[12*k:])
		y := binary.LittleEndian.Uint32(b[12*k+4:])
		z := binary.LittleEndian.Uint32(b[12*k+8:])
		const exponent = 0x7f800000
		if x&exponent == exponent || y&exponent == exponent || z&exponent == exponent {
			return fmt.Errorf("has a coordinate that is no number, in triangle %d", len(w.mesh.T)+1)
		}
		t[k] = w.vertex(x, y, z)
	}
	w.mesh.T = append(w.mesh.T, t)
	return nil
}

// ascii reads the text form. It needs the words facet, vertex and endfacet
// and is lax about the rest, as writers differ.
func (w *welder) ascii(r *bufio.Reader) error {
	lines := bufio.NewScanner(r)
	lines.Buffer(make([]byte, 4096), 4096)
	lines.Split(anyLine)
	var t Triangle
	corners, line, open, ended := 0, 0, false, false
	for lines.Scan() {
		line++
		text := lines.Bytes()
		if line == 1 {
			text = bytes.TrimPrefix(text, byteOrderMark)
		}
		words := bytes.Fields(text)
		if len(words) == 0 {
			continue
		}
		switch string(bytes.ToLower(words[0])) {
		case "facet":
			if open {
				return fmt.Errorf("begins a facet inside another, in line %d", line)
			}
			open, corners = true, 0
		case "vertex":
			if !open || corners == 3 {
				return fmt.Errorf("has a vertex out of place, in line %d", line)
			}
			bits, err := coordinates(words[1:], line)
			if err != nil {
				return err
			}
			t[corners] = w.vertex(bits[0], bits[1], bits[2])
			corners++
		case "endfacet":
			if !open || corners != 3 {
				return fmt.Errorf("has a facet of %d corners, in line %d", corners, line)
			}
			if len(w.mesh.T) == MaxTriangles {
				return fmt.Errorf("holds more than %d triangles", MaxTriangles)
			}
			w.mesh.T = append(w.mesh.T, t)
			open = false
		case "endsolid":
			ended = true
		case "solid", "outer", "endloop":
		default:
			return fmt.Errorf("has an unknown word in line %d", line)
		}
	}
	switch {
	case lines.Err() != nil:
		return fmt.Errorf("cannot be read after line %d: %v", line, lines.Err())
	case open || !ended:
		return fmt.Errorf("is cut short: it ends after line %d without endsolid", line)
	}
	return nil
}

// coordinates reads the three numbers of a vertex.
func coordinates(words [][]byte, line int) (bits [3]uint32, err error) {
	if slices.ContainsFunc(words, func(w []byte) bool { return bytes.IndexByte(w, ',') >= 0 }) {
		return bits, fmt.Errorf("has a decimal comma in line %d (%q): write decimal points", line, bytes.Join(words, []byte(" ")))
	}
	if len(words) != 3 {
		return bits, fmt.Errorf("has a vertex of %d numbers, in line %d", len(words), line)
	}
	for k := range bits {
		v, err := strconv.ParseFloat(string(words[k]), 32)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return bits, fmt.Errorf("has a coordinate that is no number, in line %d", line)
		}
		bits[k] = math.Float32bits(float32(v))
	}
	return bits, nil
}

// welder numbers corners so that equal coordinates get one number: open
// addressing, the key beside its number so that a look-up is one cache line.
type welder struct {
	mesh  *Mesh
	slots []slot
	shift uint
}

type slot struct {
	x, y, z uint32
	number  int32 // plus one; zero is an empty slot
}

const negativeZero = 1 << 31

func (w *welder) vertex(x, y, z uint32) int32 {
	if x == negativeZero {
		x = 0
	}
	if y == negativeZero {
		y = 0
	}
	if z == negativeZero {
		z = 0
	}
	if 2*len(w.mesh.V) >= len(w.slots) {
		w.grow()
	}
	for i := w.place(x, y, z); ; i++ {
		s := &w.slots[i&(len(w.slots)-1)]
		if s.number == 0 {
			w.mesh.V = append(w.mesh.V, Point{math.Float32frombits(x), math.Float32frombits(y), math.Float32frombits(z)})
			*s = slot{x, y, z, int32(len(w.mesh.V))}
			return s.number - 1
		}
		if s.x == x && s.y == y && s.z == z {
			return s.number - 1
		}
	}
}

// place mixes the coordinates by multiplication (Knuth, TAOCP 3, 6.4).
func (w *welder) place(x, y, z uint32) int {
	h := (uint64(x)<<32 | uint64(y)) * 0x9e3779b97f4a7c15
	h = (h ^ h>>29 ^ uint64(z)) * 0xbf58476d1ce4e5b9
	return int(h >> w.shift)
}

func (w *welder) grow() {
	old := w.slots
	size := max(2*len(old), 1<<12)
	w.slots = make([]slot, size)
	w.shift = 64
	for n := size; n > 1; n >>= 1 {
		w.shift--
	}
	for _, s := range old {
		if s.number == 0 {
			continue
		}
		i := w.place(s.x, s.y, s.z)
		for w.slots[i&(size-1)].number != 0 {
			i++
		}
		w.slots[i&(size-1)] = s
	}
}

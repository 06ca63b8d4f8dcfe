package draw

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
)

// The PDF library writes the time of day into the document information and
// into each embedded font. dateless takes both out again, so that the same
// pages give the same bytes: it cuts the file into its objects by the table of
// offsets (ISO 32000-1, 7.5.4), replaces the information by info, and writes
// the objects and a new table.
func dateless(file, info []byte) ([]byte, error) {
	const infoObject = 2 // always, in the library's files
	offsets, table, err := objectOffsets(file)
	if err != nil {
		return nil, err
	}
	order := make([]int, len(offsets)) // objects by place in the file
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return offsets[a] - offsets[b] })

	out := append([]byte{}, file[:offsets[order[0]]]...)
	moved := make([]int, len(offsets))
	for k, i := range order {
		end := table
		if k+1 < len(order) {
			end = offsets[order[k+1]]
		}
		object := file[offsets[i]:end]
		head := fmt.Appendf(nil, "%d 0 obj\n", i+1)
		if !bytes.HasPrefix(object, head) {
			return nil, errLayout
		}
		moved[i] = len(out)
		switch {
		case i+1 == infoObject:
			out = fmt.Appendf(out, "%s%s\nendobj\n", head, info)
		default:
			out = append(append(out, head...), undatedFont(object[len(head):])...)
		}
	}
	newTable := len(out)
	out = fmt.Appendf(out, "xref\n0 %d\n0000000000 65535 f \n", len(moved)+1)
	for _, at := range moved {
		out = fmt.Appendf(out, "%010d 00000 n \n", at)
	}
	trailer := bytes.Index(file[table:], []byte("trailer\n"))
	last := bytes.LastIndex(file, []byte("startxref\n"))
	if trailer < 0 || last < table+trailer {
		return nil, errLayout
	}
	out = append(out, file[table+trailer:last]...)
	return fmt.Appendf(out, "startxref\n%d\n%%%%EOF\n", newTable), nil
}

var errLayout = errors.New("draw: the PDF library's file is not laid out as expected")

// objectOffsets reads the table of offsets: the place of object 1, 2, …, and
// that of the table itself.
func objectOffsets(file []byte) (offsets []int, table int, err error) {
	last := bytes.LastIndex(file, []byte("startxref\n"))
	if last < 0 {
		return nil, 0, errLayout
	}
	var n int
	if _, err := fmt.Sscanf(string(file[last:]), "startxref\n%d", &table); err != nil || table <= 0 || table > last {
		return nil, 0, errLayout
	}
	if _, err := fmt.Sscanf(string(file[table:last]), "xref\n0 %d\n", &n); err != nil || n < 2 {
		return nil, 0, errLayout
	}
	rows := bytes.Split(file[table:last], []byte("\n"))
	if len(rows) < n+2 {
		return nil, 0, errLayout
	}
	for _, row := range rows[3 : n+2] {
		at, err := strconv.Atoi(string(row[:min(10, len(row))]))
		if err != nil || at <= 0 || at >= table {
			return nil, 0, errLayout
		}
		offsets = append(offsets, at)
	}
	return offsets, table, nil
}

// undatedFont sets the date of change of a TrueType font in a compressed
// stream to the font's date of making. Any other object stays as it is.
func undatedFont(object []byte) []byte {
	const open, end = "stream\n", "\nendstream\n"
	from, to := bytes.Index(object, []byte(open)), bytes.LastIndex(object, []byte(end))
	if from < 0 || to < from || !bytes.HasPrefix(object, []byte("<</Filter/FlateDecode/Length ")) {
		return object
	}
	r, err := zlib.NewReader(bytes.NewReader(object[from+len(open) : to]))
	if err != nil {
		return object
	}
	font, err := io.ReadAll(r)
	if err != nil || !undate(font) {
		return object
	}
	var b bytes.Buffer
	w := zlib.NewWriter(&b)
	_, _ = w.Write(font) // a buffer takes every write
	_ = w.Close()
	return fmt.Appendf(nil, "<</Filter/FlateDecode/Length %d>>%s%s%s", b.Len(), open, b.Bytes(), object[to:])
}

// undate works on a font in place; false if it is not one. OpenType
// specification, "head": checksum adjustment at 8, created at 20, modified at 28.
func undate(font []byte) bool {
	be := binary.BigEndian
	if len(font) < 12 || be.Uint32(font) != 0x00010000 {
		return false
	}
	for i := range int(be.Uint16(font[4:])) {
		record := 12 + 16*i
		if record+16 > len(font) {
			return false
		}
		if string(font[record:record+4]) != "head" {
			continue
		}
		at, length := int(be.Uint32(font[record+8:])), int(be.Uint32(font[record+12:]))
		if length < 54 || at+length > len(font) {
			return false
		}
		head := font[at : at+length]
		copy(head[28:36], head[20:28])
		be.PutUint32(head[8:], 0)
		be.PutUint32(font[record+4:], sum32(head))
		be.PutUint32(head[8:], 0xB1B0AFBA-sum32(font))
		return true
	}
	return false
}

// sum32 is OpenType's checksum: the sum of 32-bit words, padded with zeros.
func sum32(b []byte) uint32 {
	sum := uint32(0)
	for ; len(b) >= 4; b = b[4:] {
		sum += binary.BigEndian.Uint32(b)
	}
	var rest [4]byte
	copy(rest[:], b)
	return sum + binary.BigEndian.Uint32(rest[:])
}

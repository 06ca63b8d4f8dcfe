package mesh

import (
	"bytes"
	"encoding/binary"
)

// foreign names a file that is of another format than those read, and says
// what to do instead.
func foreign(head []byte) (name, how string) {
	text := bytes.TrimLeft(bytes.TrimPrefix(head, byteOrderMark), " \t\r\n")
	has := func(prefix string) bool {
		return len(text) >= len(prefix) && bytes.EqualFold(text[:len(prefix)], []byte(prefix))
	}
	const again = "export the piece as STL or 3MF from the program that drew it"
	switch {
	case has("ISO-10303-21"):
		return "a STEP file of curved faces, not of triangles", again
	case has("ply\n"), has("ply\r"):
		return "a PLY file", again
	case has("glTF"):
		return "a glTF file", again
	case has("DBRep"), has("CASCADE"):
		return "a BREP file of curved faces, not of triangles", again
	case has("{"), has("["):
		return "a JSON text", "send the file itself as the body, or its base64 in stl_base64 with Content-Type application/json"
	case has("<?xml"), has("<html"), has("<!doctype"):
		return "an XML or HTML text", again
	case has("%PDF"), has("\x89PNG"), has("\xff\xd8\xff"):
		return "a document or picture", again
	case has("Rar!"), has("7z\xbc\xaf"), has("\x1f\x8b"):
		return "an archive", "unpack it and send the STL file in it"
	case wavefront(text):
		return "an OBJ file", again
	}
	return "", ""
}

// wavefront tells an OBJ file: lines that begin with one of its words.
func wavefront(text []byte) bool {
	if len(text) < 4 || len(text) >= headerSize && plausible(text) {
		return false
	}
	for _, line := range bytes.FieldsFunc(text, func(r rune) bool { return r == '\n' || r == '\r' }) {
		words := bytes.Fields(line)
		if len(words) == 0 || words[0][0] == '#' {
			continue
		}
		switch string(words[0]) {
		case "v", "vn", "vt", "f", "o", "g", "s", "mtllib", "usemtl":
			return len(words) > 1
		}
		return false
	}
	return false
}

// plausible tells whether the count of a binary header is one that is read.
func plausible(head []byte) bool { return binary.LittleEndian.Uint32(head[80:]) <= MaxTriangles }

func isZip(head []byte) bool { return bytes.HasPrefix(head, []byte("PK\x03\x04")) }

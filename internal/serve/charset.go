package serve

import (
	"bytes"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"pourwright/internal/wire"
)

// charsets are those in which spreadsheets write CSV, by the names of the IANA
// registry. What calls itself ISO-8859-1 is read as Windows-1252, which has all
// of its printing characters, as browsers do (WHATWG Encoding Standard, 4.2).
var charsets = map[string]encoding.Encoding{
	"windows-1252": charmap.Windows1252, "iso-8859-1": charmap.Windows1252, "latin1": charmap.Windows1252, "us-ascii": encoding.Nop,
	"iso-8859-15": charmap.ISO8859_15, "windows-1250": charmap.Windows1250, "windows-1251": charmap.Windows1251, "macintosh": charmap.Macintosh,
	"utf-16": unicode.UTF16(unicode.LittleEndian, unicode.UseBOM), "utf-16le": unicode.UTF16(unicode.LittleEndian, unicode.UseBOM), "utf-16be": unicode.UTF16(unicode.BigEndian, unicode.UseBOM),
	"utf-8": encoding.Nop, "": encoding.Nop,
}

const charsetHelp = "save it as CSV UTF-8, or name its charset in the Content-Type: text/csv; charset=windows-1252 (or iso-8859-15, windows-1250, windows-1251, macintosh, utf-16)"

// charsetGrowth is how many bytes of UTF-8 a byte of the others makes at most.
const charsetGrowth = 3

// utf8Table is a table in the charset that its sender names, or a byte order
// mark tells, as UTF-8 and without that mark.
func utf8Table(body []byte, charset string) ([]byte, error) {
	if bytes.HasPrefix(body, []byte{0xff, 0xfe}) || bytes.HasPrefix(body, []byte{0xfe, 0xff}) {
		charset = "utf-16"
	}
	from, known := charsets[strings.ToLower(charset)]
	if !known {
		return nil, &wire.Unparsable{Reason: "the charset " + clip(charset, 40) + " is not read; " + charsetHelp}
	}
	text, err := body, error(nil)
	if from != encoding.Nop {
		text, err = from.NewDecoder().Bytes(body)
	}
	if err != nil || !utf8.Valid(text) {
		return nil, &wire.Unparsable{Reason: "the table is not UTF-8 text; " + charsetHelp}
	}
	return bytes.TrimPrefix(text, []byte("\ufeff")), nil
}

package serve

import (
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"pourwright/internal/wire"
)

// look is what a number format makes of a number.
type look int

const (
	plainNumber look = iota
	dateNumber
	percentNumber
)

// text is what a cell says: a date as YYYY-MM-DD, a percentage with its sign.
func (b *workbook) text(c *sheetCell) string {
	switch c.kind {
	case "s":
		if i, err := strconv.Atoi(c.text); err == nil && i >= 0 && i < len(b.texts) {
			return b.texts[i]
		}
		return ""
	case "", "n":
		v, err := strconv.ParseFloat(c.text, 64)
		if err != nil {
			return c.text
		}
		switch b.look(c.style) {
		case dateNumber:
			if day, err := excelize.ExcelDateToTime(v, b.date1904); err == nil {
				return day.Format(time.DateOnly)
			}
		case percentNumber:
			return wire.Number(100*v) + " %"
		}
	}
	return c.text
}

// look finds what the number format of a style shows.
func (b *workbook) look(style int) look {
	if style == 0 {
		return plainNumber
	}
	l, known := b.looks[style]
	if !known {
		if s, err := b.file.GetStyle(style); err == nil {
			l = lookOf(s)
		}
		b.looks[style] = l
	}
	return l
}

// lookOf reads a number format: the built-in ones by their numbers (ECMA-376
// part 1, 18.8.30), others by the marks outside quotes and brackets.
func lookOf(s *excelize.Style) look {
	code := ""
	if s.CustomNumFmt != nil {
		bare := strings.Builder{}
		closing := rune(0)
		for _, c := range *s.CustomNumFmt {
			switch {
			case closing != 0:
				if c == closing {
					closing = 0
				}
			case c == '"':
				closing = '"'
			case c == '[':
				closing = ']'
			default:
				bare.WriteRune(c)
			}
		}
		code = strings.ToLower(bare.String())
	}
	switch n := s.NumFmt; {
	case strings.Contains(code, "%") || code == "" && (n == 9 || n == 10):
		return percentNumber
	case strings.ContainsAny(code, "yd") || code == "" && (n >= 14 && n <= 17 || n == 22 || n >= 27 && n <= 31 || n >= 50 && n <= 58 || n == 36):
		return dateNumber
	}
	return plainNumber
}

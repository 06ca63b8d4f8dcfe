package former

import (
	"math"
	"slices"
	"strings"
)

// A label is set in bars that do not touch, as a stencil is, so that each can
// be raised or sunk by itself. A character stands in a cell one wide and two
// high; its strokes join the nine places
//
//	A B C
//	D E F
//	G H I
var glyphs = map[rune]string{
	'0': "AD DG GI IF FC CA", '1': "BE EH", '2': "AC CF FD DG GI", '3': "AC CF FI IG DF", '4': "AD DF CF FI",
	'5': "CA AD DF FI IG", '6': "CA AD DG GI IF FD", '7': "AC CF FI", '8': "AC CF FI IG GD DA DF", '9': "DA AC CF FI IG DF",
	'A': "GD DA AC CF FI DF", 'B': "AB BC CF FI IH HG BE EH EF", 'C': "CA AD DG GI", 'D': "AB BC CF FI IH HG BE EH",
	'E': "CA AD DG GI DE", 'F': "CA AD DG DE", 'G': "CA AD DG GI IF FE", 'H': "AD DG CF FI DF", 'I': "AB BC BE EH GH HI",
	'J': "CF FI IG GD", 'K': "AD DG DE EC EI", 'L': "AD DG GI", 'M': "GD DA AE EC CF FI", 'N': "GD DA AE EI IF FC",
	'O': "AD DG GI IF FC CA", 'P': "GD DA AC CF FD", 'Q': "AC CF FI IG GD DA EI", 'R': "GD DA AC CF FE ED EI",
	'S': "CA AE EI IG", 'T': "AB BC BE EH", 'U': "AD DG GI IF FC", 'V': "AD DG GE EC", 'W': "AD DG GE EI IF FC",
	'X': "AE EC GE EI", 'Y': "AE EC EH", 'Z': "AC CE EG GI",
	'-': "DF", '/': "GE EC", '+': "DE EF BE EH", '.': "", ' ': "",
}

// Proportions in units of half the height.
const (
	stroke  = 0.2  // width of a bar
	gap     = 0.12 // between bars that meet
	advance = 1.45 // from character to character
	dot     = 0.65 // the same for a point
)

// bar is a rectangle, anticlockwise.
type bar [4]vec2

// writable returns text in the characters that there are, and whether all of
// it is.
func writable(text string) (string, bool) {
	text = strings.ToUpper(strings.NewReplacer("½", " 1/2", "¼", " 1/4", "¾", " 3/4", ",", ".").Replace(text))
	for _, r := range text {
		if _, ok := glyphs[r]; !ok {
			return text, false
		}
	}
	return text, true
}

// labelWidth is the width of a text of the given height, mm.
func labelWidth(text string, height float64) float64 {
	w := stroke
	for i, r := range text {
		switch {
		case r == '.':
			w += dot
		case i == len(text)-1:
			w++
		default:
			w += advance
		}
	}
	return w * height / (2 + stroke)
}

// write sets text in bars, centred on c, of the given height in mm.
func write(text string, c vec2, height float64) []bar {
	unit := height / (2 + stroke)
	at := vec2{c.x - labelWidth(text, height)/2 + stroke/2*unit, c.y - unit}
	place := func(p vec2) vec2 { return vec2{at.x + p.x*unit, at.y + p.y*unit} }
	var bars []bar
	for _, r := range text {
		if r == '.' {
			bars = append(bars, thick(place(vec2{0, -stroke / 2}), place(vec2{0, stroke}), 1.5*stroke*unit))
			at.x += dot * unit
			continue
		}
		for _, s := range trimmed(glyphs[r]) {
			bars = append(bars, thick(place(s[0]), place(s[1]), stroke*unit))
		}
		at.x += advance * unit
	}
	return bars
}

// thick is the bar of a width about a line.
func thick(a, b vec2, width float64) bar {
	l := math.Hypot(b.x-a.x, b.y-a.y)
	nx, ny := -(b.y-a.y)/l*width/2, (b.x-a.x)/l*width/2
	return bar{{a.x - nx, a.y - ny}, {b.x - nx, b.y - ny}, {b.x + nx, b.y + ny}, {a.x + nx, a.y + ny}}
}

// trimmed returns the strokes of a glyph, shortened where they meet so that
// their bars stand apart: two bars of width w that meet at an angle φ clear one
// another from (w/2)/tan(φ/2) on.
func trimmed(glyph string) [][2]vec2 {
	strokes := strings.Fields(glyph)
	var list [][2]vec2
	for _, s := range strokes {
		a, b := node(s[0]), node(s[1])
		l := math.Hypot(b.x-a.x, b.y-a.y)
		from, to := cutBack(strokes, s[0], s[1])/l, 1-cutBack(strokes, s[1], s[0])/l
		list = append(list, [2]vec2{{a.x + (b.x-a.x)*from, a.y + (b.y-a.y)*from}, {a.x + (b.x-a.x)*to, a.y + (b.y-a.y)*to}})
	}
	return list
}

// cutBack is how much the stroke from a place to another loses at its start;
// negative, it gains, where it meets no other.
func cutBack(strokes []string, from, to byte) float64 {
	a, b := node(from), node(to)
	least := math.Inf(1)
	for _, s := range strokes {
		i := strings.IndexByte(s, from)
		if i < 0 || s[1-i] == to {
			continue
		}
		c := node(s[1-i])
		angle := math.Abs(math.Atan2(b.y-a.y, b.x-a.x) - math.Atan2(c.y-a.y, c.x-a.x))
		least = min(least, angle, 2*math.Pi-angle)
	}
	if math.IsInf(least, 1) {
		return -stroke / 2
	}
	return stroke/2/math.Tan(least/2) + gap/2
}

func node(name byte) vec2 {
	i := slices.Index([]byte("ABCDEFGHI"), name)
	return vec2{float64(i%3) / 2, float64(2 - i/3)}
}

package draw

import (
	"fmt"
	"math"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/go-fonts/dejavu/dejavusans"
	"github.com/go-fonts/dejavu/dejavusansbold"
	"github.com/tdewolff/canvas"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// Align says which part of a text stands at its x.
type Align int

// The alignments.
const (
	Left Align = iota
	Centre
	Right
)

// TextStyle says how a text looks. Its zero value is black, regular, 9 pt, to
// the right of x, on a baseline at y.
type TextStyle struct {
	SizePt  float64 // height of the type; zero: 9 pt
	Bold    bool
	Colour  Colour // zero: black
	Align   Align
	TurnDeg float64 // turned anticlockwise about x, y
	Middle  bool    // y is the middle of the small letters instead of the baseline
	FitMM   float64 // widest a single line may be; zero: up to the sheet's edge
}

const (
	mmPerPt     = 25.4 / 72
	lineSpacing = 1.25 // line to line, in heights of the type; the usual one of office paper
	leastFit    = 0.65 // a line too wide is set smaller down to this, then shortened
	ellipsis    = "…"
	longestLine = 2000 // bytes of a line worth measuring whole
)

func (st TextStyle) sizePt() float64 {
	if st.SizePt == 0 {
		return 9
	}
	return st.SizePt
}

// LineMM is the distance from line to line of wrapped text of this style.
func (st TextStyle) LineMM() float64 { return st.sizePt() * mmPerPt * lineSpacing }

// line is what a piece of text says and where its anchor and baseline are, in
// the coordinates of the library's text.
type line struct {
	text    string
	style   TextStyle
	dx, dy  float64
	widthMM float64
	whole   bool // every letter has a glyph in our fonts, so that widthMM is right
}

// family is one weight: the first font that has a letter draws it. A font is
// loaded when it is first asked for a letter.
type family []func() *canvas.Font

// The Go fonts have Latin, Greek and Cyrillic; DejaVu Sans adds Arabic, Hebrew,
// Armenian, Georgian and many signs. What neither has comes from a bitmap font
// (Chinese, Japanese, Korean), coarse but legible, or else is written as its
// code, [U+0E44], so that no letter vanishes from paper. SVG keeps the letter
// itself and leaves the choice of font to the reader's machine.
var (
	regular = family{embedded(canvas.FontRegular, goregular.TTF), embedded(canvas.FontRegular, dejavusans.TTF)}
	bold    = family{embedded(canvas.FontBold, gobold.TTF), embedded(canvas.FontBold, dejavusansbold.TTF)}
)

func embedded(style canvas.FontStyle, file []byte) func() *canvas.Font {
	return sync.OnceValue(func() *canvas.Font {
		font, err := canvas.LoadFont(file, 0, style)
		if err != nil {
			panic("draw: an embedded font does not load: " + err.Error())
		}
		return font
	})
}

// shaping guards the fonts: the shaper keeps scratch space in them.
var shaping sync.Mutex

func (st TextStyle) family() family {
	if st.Bold {
		return bold
	}
	return regular
}

// covers returns the font that has r, or nil.
func (f family) covers(r rune) *canvas.Font {
	for _, load := range f {
		if font := load(); font.SFNT.GlyphIndex(r) != 0 {
			return font
		}
	}
	return nil
}

// clean makes text fit for one line: valid, without control characters.
func clean(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n' || r == '\r':
			return ' '
		case unicode.IsControl(r):
			return -1
		}
		return r
	}, strings.ToValidUTF8(text, "\uFFFD"))
}

// set lays one clean line out, its left end at 0; to measure, without the
// pictures in it.
func set(text string, st TextStyle, measure bool) (*canvas.Text, line) {
	shaping.Lock()
	defer shaping.Unlock()
	fam, l := st.family(), line{text: text, style: st, whole: true}
	colour := st.Colour
	if colour.A == 0 {
		colour = Black
	}
	l.style.Colour = colour
	faces := map[*canvas.Font]*canvas.FontFace{}
	face := func(font *canvas.Font) *canvas.FontFace {
		if faces[font] == nil {
			faces[font] = font.Face(st.sizePt(), colour)
		}
		return faces[font]
	}
	first := fam[0]()
	rich := canvas.NewRichText(face(first))
	for _, r := range text {
		font := fam.covers(r)
		switch {
		case font != nil:
			rich.SetFace(face(font))
			rich.WriteRune(r)
		case unicode.Is(unicode.Cf, r): // shapes its neighbours, has no form of its own
		default:
			l.whole = false
			rich.SetFace(first.Face(st.sizePt(), colour)) // a face of its own: the library piles up pictures that share one
			if glyph := pixelGlyph(r, st.sizePt()*mmPerPt, colour, measure); glyph != nil {
				rich.WriteCanvas(glyph, canvas.Baseline)
			} else {
				fmt.Fprintf(rich, "[U+%04X]", r)
			}
		}
	}
	t := rich.ToText(0, 0, canvas.Left, canvas.Top, nil)
	begun := false
	t.WalkSpans(func(x, y float64, span canvas.TextSpan) {
		l.widthMM = math.Max(l.widthMM, x+span.Width)
		if !begun {
			l.dy, begun = y, true
		}
	})
	return t, l
}

// TextWidth returns the width in mm of a single line.
func TextWidth(text string, st TextStyle) float64 {
	_, l := set(clean(text), st, true)
	return l.widthMM
}

// Text draws a single line at x, y and returns its width in mm. A line wider
// than st.FitMM, or than the sheet leaves room for, is set smaller, and if
// that is not enough shortened with an ellipsis: it never runs off the paper.
func (s *Sheet) Text(x, y float64, text string, st TextStyle) (widthMM float64) {
	if !s.sane("text", x, y, st.SizePt, st.FitMM, st.TurnDeg) || !s.positive("text", st.SizePt, st.FitMM) {
		return 0
	}
	text = clean(text)
	if strings.TrimSpace(text) == "" {
		return 0
	}
	room := s.room(x, y, st)
	if st.FitMM > 0 {
		room = math.Min(room, st.FitMM)
	}
	t, l := fit(text, st, room)
	l.dx = -l.widthMM * [...]float64{Left: 0, Centre: 0.5, Right: 1}[st.Align]
	drop := -l.dy
	if st.Middle {
		m := st.family()[0]().Face(l.style.sizePt(), Black).Metrics()
		drop -= m.XHeight / 2
	}
	m := canvas.Identity.Translate(round(x), round(s.h-y)).Rotate(st.TurnDeg).Translate(l.dx, drop)
	l.dx = -l.dx
	s.canvas.RenderText(t, m)
	s.lines[t] = l
	return l.widthMM
}

// fit sets the text no wider than room.
func fit(text string, st TextStyle, room float64) (*canvas.Text, line) {
	t, l := set(text, st, false)
	if l.widthMM <= room {
		return t, l
	}
	st.SizePt = st.sizePt() * math.Max(leastFit, 0.999*room/l.widthMM)
	for t, l = set(text, st, false); l.widthMM > room && text != ""; t, l = set(text+ellipsis, st, false) {
		over := int(float64(utf8.RuneCountInString(text)) * (1 - room/l.widthMM))
		text = strings.TrimRight(dropRunes(text, max(1, over)), " ")
	}
	return t, l
}

func dropRunes(text string, n int) string {
	for ; n > 0 && text != ""; n-- {
		_, size := utf8.DecodeLastRuneInString(text)
		text = text[:len(text)-size]
	}
	return text
}

// room is the length of a line at x, y that stays on the sheet.
func (s *Sheet) room(x, y float64, st TextStyle) float64 {
	sin, cos := math.Sincos(st.TurnDeg * math.Pi / 180)
	reach := func(dx, dy float64) float64 {
		far := math.Inf(1)
		for _, side := range []struct{ at, along, size float64 }{{x, dx, s.w}, {y, dy, s.h}} {
			switch {
			case side.along > 1e-9:
				far = math.Min(far, (side.size-side.at)/side.along)
			case side.along < -1e-9:
				far = math.Min(far, -side.at/side.along)
			}
		}
		return math.Max(0, far)
	}
	ahead, behind := reach(cos, -sin), reach(-cos, sin)
	switch st.Align {
	case Centre:
		return 2 * math.Min(ahead, behind)
	case Right:
		return behind
	}
	return ahead
}

// TextBox draws text wrapped to a width, the top of the first line at y, and
// returns the height it took in mm. New lines in the text are kept; a word
// wider than the box is broken. It may run past the sheet's foot: use
// BoxHeight first, or a Flow, where that can happen.
func (s *Sheet) TextBox(x, y, widthMM float64, text string, st TextStyle) (heightMM float64) {
	if !s.sane("text box", x, y, widthMM, st.SizePt, st.TurnDeg) || !s.positive("text box", widthMM, st.SizePt) {
		return 0
	}
	lines := wrap(text, widthMM, st)
	size := st.sizePt() * mmPerPt
	sin, cos := math.Sincos(st.TurnDeg * math.Pi / 180)
	st.FitMM = widthMM
	for i, l := range lines {
		right := widthMM * [...]float64{Left: 0, Centre: 0.5, Right: 1}[st.Align]
		down := size + float64(i)*st.LineMM() // the first baseline is one height of the type below the top
		s.Text(x+right*cos+down*sin, y-right*sin+down*cos, l, st)
	}
	return float64(len(lines)) * st.LineMM()
}

// BoxHeight returns the height in mm that TextBox would take.
func BoxHeight(widthMM float64, text string, st TextStyle) float64 {
	return float64(len(wrap(text, widthMM, st))) * st.LineMM()
}

// wrap breaks text into lines no wider than width, at spaces where it can.
func wrap(text string, width float64, st TextStyle) []string {
	var lines []string
	text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	for _, paragraph := range strings.Split(strings.TrimRight(text, "\n"), "\n") {
		current := ""
		for _, word := range strings.Fields(clean(paragraph)) {
			joined := word
			if current != "" {
				joined = current + " " + word
			}
			if len(joined) <= longestLine && TextWidth(joined, st) <= width {
				current = joined
				continue
			}
			if current != "" {
				lines = append(lines, current)
			}
			pieces := broken(word, width, st)
			lines = append(lines, pieces[:len(pieces)-1]...)
			current = pieces[len(pieces)-1]
		}
		lines = append(lines, current)
	}
	return lines
}

// broken cuts a word into pieces no wider than width, at least one letter
// each, never between a letter and its accent.
func broken(word string, width float64, st TextStyle) []string {
	var cuts []int // where a piece may end
	for i, r := range word {
		if i > 0 && !unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf) {
			cuts = append(cuts, i)
		}
	}
	cuts = append(cuts, len(word))
	var pieces []string
	for from := 0; from < len(word); {
		// Measure pieces of 1, 2, 4 … letters until one is too wide, then
		// bisect: no piece measured is much longer than a line.
		fits := func(n int) bool { return TextWidth(word[from:cuts[n-1]], st) <= width }
		good, bad := 1, 2
		for bad <= len(cuts) && fits(bad) {
			good, bad = bad, 2*bad
		}
		bad = min(bad, len(cuts)+1)
		for bad-good > 1 {
			if mid := (good + bad) / 2; fits(mid) {
				good = mid
			} else {
				bad = mid
			}
		}
		pieces = append(pieces, word[from:cuts[good-1]])
		from, cuts = cuts[good-1], cuts[good:]
	}
	return pieces
}

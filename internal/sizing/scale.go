// Package sizing turns the measure of a finger, a hand or a wrist into the
// size of a finished ring or bangle, and that into the size of the mould.
//
// Lengths are in mm, masses in g. The inside circumference is the canonical
// measure of a ring and is kept unrounded; labels are rounded for display only.
package sizing

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/unit"
)

// System names a way of stating a ring size.
type System string

// The systems of the trade.
const (
	Circumference System = "circumference" // inside circumference in mm: ISO 8653, JIS S 4700
	Diameter      System = "diameter"      // inside diameter in mm
	US            System = "us"            // USA, Canada, Mexico
	UK            System = "uk"            // UK, Ireland, Australia, New Zealand, South Africa
	Japan         System = "japan"         // JCS number
	Minus40       System = "minus40"       // circumference less 40 mm
)

// Systems lists them all.
var Systems = []System{Circumference, Diameter, US, UK, Japan, Minus40}

// Least and greatest inside circumference in mm that is taken for a ring:
// a doll's and a thumb's, with room to spare.
const leastRing, greatestRing = 20.0, 130.0

// scale is a linear scale of sizes: C = zero + step·n.
type scale struct {
	id         System
	name       string
	zero, step float64 // mm of circumference
	quantum    float64 // sizes are marked in multiples of this
	lo, hi     float64 // n that the standard or the trade knows
	label      func(n float64) string
	read       func(text string) (n float64, ok bool)
	accepts    string
	source     calc.Source
}

const inch = 25.4 // mm, exact

var scales = []scale{
	{Circumference, "inside circumference (ISO 8653, JIS S 4700)", 0, 1, 1, 41, 76, whole, readCircumference,
		`the inside circumference in mm, such as "54"`,
		calc.Source{For: "ISO size", Text: "ISO 8653:1986 as translated in JIS S 4700:1998, clauses 2-4: size = inside circumference in mm, nearest whole mm, 41 to 76", Status: calc.Confirmed}},
	{Diameter, "inside diameter", 0, math.Pi, 0.1, 13, 25, func(n float64) string { return strconv.FormatFloat(n, 'f', 1, 64) }, readLength,
		`the inside diameter in mm, such as "17.3" or "0.68 in"`,
		calc.Source{For: "diameter", Text: "C = π d", Status: calc.Computed}},
	{US, "USA, Canada, Mexico", math.Pi * 0.458 * inch, math.Pi * 0.032 * inch, 0.25, -3, 16, labelUS, readUS,
		`a number in quarters, such as "7", "6 3/4", "6.75" or "00"`,
		calc.Source{For: "US size", Text: "d = 0.458 in + 0.032 in × n; chart of the encyclopaedia article Ring size. There is no national standard", Status: calc.Confirmed}},
	{UK, "UK, Ireland, Australia, New Zealand, South Africa", 37.5, 1.25, 0.5, 0, 31, labelUK, readUK,
		`a letter with or without a half, such as "N", "N½", "N 1/2" or "Z+3"`,
		calc.Source{For: "UK size", Text: "C = 40 mm and four letters = 5 mm after BS 6820:1987, as given in R. Rowlett, How Many? A Dictionary of Units of Measurement, ring size. The standard itself was not seen", Status: calc.Confirmed}},
	{Japan, "Japan Custom Size", math.Pi * 38 / 3, math.Pi / 3, 1, 1, 30, whole, readNumber,
		`a whole number, such as "14"`,
		calc.Source{For: "Japanese number", Text: "d = 13 mm + (n - 1)/3 mm; gauge table of a Japanese metal-working school, and Rowlett: (n + 38)/3", Status: calc.Confirmed}},
	{Minus40, "Switzerland, Italy, Spain: circumference less 40 mm", 40, 1, 1, 1, 36, whole, readNumber,
		`the circumference less 40, such as "14"`,
		calc.Source{For: "circumference less 40", Text: "encyclopaedia article Ring size; Rowlett gives it for European sizes in general, which is wrong for ISO itself", Status: calc.Confirmed}},
}

// steps of half a millimetre of diameter, as sold in eastern Europe; shown,
// and read as a plain diameter.
var halfMillimetres = scale{Diameter, "diameter in steps of 0.5 mm", 0, math.Pi, 0.5, 14, 24,
	func(n float64) string { return strconv.FormatFloat(n, 'f', 1, 64) }, readLength, "", calc.Source{}}

func scaleOf(s System) (scale, bool) {
	i := slices.IndexFunc(scales, func(c scale) bool { return c.id == s })
	if i < 0 {
		return scale{}, false
	}
	return scales[i], true
}

func (s scale) circumference(n float64) float64 { return s.zero + s.step*n }
func (s scale) value(c float64) float64         { return (c - s.zero) / s.step }

// Size returns the inside circumference in mm of a ring of the size written in
// text. US sizes run down through 0 to 00, 000 and 0000; UK sizes run on
// through Z to Z+6. The error is a refusal of field "size" or "system"; with
// no system given, it says what the text could mean.
func Size(system System, text string) (circumferenceMM float64, err error) {
	s, ok := scaleOf(system)
	if !ok {
		return 0, ambiguous(system, text)
	}
	n, ok := s.read(strings.TrimSpace(text))
	if !ok {
		return 0, calc.Refuse("size", text, "give %s%s", s.accepts, elsewhere(text))
	}
	c := s.circumference(n)
	if c < leastRing || c > greatestRing {
		return 0, calc.Refuse("size", text, "that is %.4g mm of inside circumference; a ring has %g to %g mm", c, leastRing, greatestRing)
	}
	return c, nil
}

// Label returns the nearest marked size of a system for an inside
// circumference in mm, and the exact value on that scale.
func Label(system System, circumferenceMM float64) (label string, value float64) {
	s, ok := scaleOf(system)
	if !ok {
		return "", math.NaN()
	}
	n := s.value(circumferenceMM)
	return s.label(s.nearest(n)), n
}

func (s scale) nearest(n float64) float64 { return math.Round(n/s.quantum) * s.quantum }

// ambiguous refuses a size without a system and says what it may mean.
func ambiguous(system System, text string) error {
	given := any(nil)
	if system != "" {
		given = system
	}
	return calc.Refuse("system", given, "give one of %v, as the same text means different sizes%s", Systems, elsewhere(text))
}

// elsewhere lists what a text could mean in the systems that can read it.
func elsewhere(text string) string {
	var means []string
	for _, s := range scales {
		if n, ok := s.read(strings.TrimSpace(text)); ok && n >= s.lo && n <= s.hi {
			means = append(means, fmt.Sprintf("%s (%.2f mm inside circumference)", s.id, s.circumference(n)))
		}
	}
	if means == nil {
		return ""
	}
	return fmt.Sprintf("; %q could be %s", text, strings.Join(means, ", "))
}

func whole(n float64) string { return strconv.Itoa(int(math.Round(n))) }

func labelUS(n float64) string {
	base := math.Floor(n)
	name := whole(base)
	switch {
	case base < -3:
		return "below 0000"
	case base < 0:
		name = strings.Repeat("0", 1-int(base))
	}
	quarters := int(math.Round(4 * (n - base)))
	if quarters == 0 {
		return name
	}
	return name + " " + [...]string{"", "1/4", "1/2", "3/4"}[quarters]
}

func labelUK(n float64) string {
	base := math.Floor(n)
	var name string
	switch {
	case base < 0:
		return "below A"
	case base < 26:
		name = string(rune('A' + int(base)))
	default:
		name = "Z+" + whole(base-25)
	}
	if n != base {
		name += "½"
	}
	return name
}

// readNumber reads "7", "7.25", "7,25", "7 1/4", "7-1/4", "7¼" and "1/4".
func readNumber(text string) (float64, bool) {
	text = fractions.Replace(text)
	text = strings.TrimSpace(text)
	if slash := strings.IndexByte(text, '/'); slash >= 0 {
		start := strings.LastIndexAny(text[:slash], " -") + 1
		base, fraction := strings.Trim(text[:max(start-1, 0)], " -"), text[start:]
		v := 0.0
		if base != "" {
			var ok bool
			if v, ok = plain(base); !ok || v != math.Trunc(v) {
				return 0, false
			}
		}
		above, below, _ := strings.Cut(fraction, "/")
		a, ok1 := plain(above)
		b, ok2 := plain(below)
		if !ok1 || !ok2 || a <= 0 || b <= a {
			return 0, false
		}
		return v + a/b, true
	}
	return plain(strings.Replace(text, ",", ".", 1))
}

var fractions = strings.NewReplacer("¼", " 1/4", "½", " 1/2", "¾", " 3/4")

func plain(text string) (float64, bool) {
	if text == "" || strings.Trim(text, "0123456789.") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(text, 64)
	return v, err == nil && v < 1000
}

func readLength(text string) (float64, bool) {
	v, err := unit.Parse("size_mm", text)
	return v, err == nil && v > 0
}

func readCircumference(text string) (float64, bool) {
	for _, prefix := range []string{"ISO 8653-", "ISO8653-", "JIS S 4700-"} {
		text = strings.TrimPrefix(text, prefix)
	}
	return readLength(text)
}

// readUS adds to a number the sizes below 0: "00" is -1, "00 1/2" is -1/2.
func readUS(text string) (float64, bool) {
	rest := strings.TrimLeft(text, "0")
	zeros := len(text) - len(rest)
	if zeros < 2 {
		return readNumber(text)
	}
	n := 1 - float64(zeros)
	if rest == "" {
		return n, zeros <= 4
	}
	fraction, ok := readNumber(strings.TrimLeft(rest, "-"))
	return n + fraction, ok && zeros <= 4 && fraction < 1
}

func readUK(text string) (float64, bool) {
	if text == "" {
		return 0, false
	}
	letter, rest := text[0]&^0x20, strings.TrimSpace(text[1:])
	if letter < 'A' || letter > 'Z' {
		return 0, false
	}
	n := float64(letter - 'A')
	if rest == "" {
		return n, true
	}
	more, plus := strings.CutPrefix(rest, "+")
	fraction, ok := readNumber(more)
	switch {
	case !ok, fraction*2 != math.Trunc(fraction*2):
		return 0, false // letters come in halves
	case plus && letter == 'Z':
		return n + fraction, true
	}
	return n + fraction, fraction < 1
}

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
	Continental   System = "continental"   // circumference less 40 mm: Switzerland, Italy, Spain, India
	HongKong      System = "hong_kong"     // Hong Kong numbers, which much of China uses
)

// sameAs are the names of countries for a system of another name.
var sameAs = map[System]System{"swiss": Continental, "italian": Continental, "spanish": Continental, "indian": Continental}

// Systems lists them all.
var Systems = []System{Circumference, Diameter, US, UK, Japan, Continental, HongKong}

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
		`a letter with or without a half or quarter, such as "N", "N½", "J 1/4", "Z+3" or "Z3"`,
		calc.Source{For: "UK size", Text: "C = 40 mm and four letters = 5 mm after BS 6820:1987, as given in R. Rowlett, How Many? A Dictionary of Units of Measurement, ring size. The standard itself was not seen", Status: calc.Confirmed}},
	{Japan, "Japan Custom Size", math.Pi * 38 / 3, math.Pi / 3, 1, 1, 30, whole, readOrdinal,
		`a whole number, such as "14" or "14号"`,
		calc.Source{For: "Japanese number", Text: "d = 13 mm + (n - 1)/3 mm; gauge table of a Japanese metal-working school, and Rowlett: (n + 38)/3", Status: calc.Confirmed}},
	{Continental, "Switzerland, Italy, Spain, India: circumference less 40 mm", 40, 1, 0.5, 1, 36, halves, readOrdinal,
		`the circumference less 40, with or without a half, such as "14" or "14 1/2"`,
		calc.Source{For: "continental size", Text: "circumference less 40 mm; encyclopaedia article Ring size, halves and quarters in Switzerland; Rowlett gives it for European sizes in general, which is wrong for ISO itself. Indian: two published charts agree with it within 0.4 mm, a third is up to 2 mm smaller", Status: calc.Confirmed}},
	{HongKong, "Hong Kong", math.Pi * 12, math.Pi * 0.35, 1, 1, 33, whole, readOrdinal,
		`a whole number, such as "14" or "14号"`,
		calc.Source{For: "Hong Kong number", Text: "d = 12 mm + 0.35 mm × n, our line through two published tables, of 6 to 25 and of 1 to 30, which it meets within 0.2 mm of diameter; other guides differ from it by up to 0.5 mm", Status: calc.Computed}},
}

// steps of half a millimetre of diameter, as sold in eastern Europe; shown,
// and read as a plain diameter.
var halfMillimetres = scale{Diameter, "diameter in steps of 0.5 mm", 0, math.Pi, 0.5, 14, 24,
	func(n float64) string { return strconv.FormatFloat(n, 'f', 1, 64) }, readLength, "", calc.Source{}}

func scaleOf(s System) (scale, bool) {
	if same, ok := sameAs[s]; ok {
		s = same
	}
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
	return calc.Refuse("system", given, "give one of %v (continental also as swiss, italian, spanish or indian), as the same text means different sizes%s", Systems, elsewhere(text))
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

func halves(n float64) string {
	base := math.Floor(n)
	if n != base {
		return whole(base) + " 1/2"
	}
	return whole(base)
}

// readOrdinal reads a number with the sign of its country's trade: "13号",
// "No. 13", "#13".
func readOrdinal(text string) (float64, bool) {
	for _, sign := range []string{"号", "號", "番"} {
		text = strings.TrimSuffix(text, sign)
	}
	for _, sign := range []string{"No.", "Nr.", "#"} {
		text = strings.TrimPrefix(text, sign)
	}
	return readNumber(strings.TrimSpace(text))
}

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

// readNumber reads a size from 0: "7", "7.25", "7,25", "7 1/4", "7-1/4", "7¼", "1/4".
func readNumber(text string) (float64, bool) {
	v, err := unit.Number(text)
	return v, err == nil && v >= 0 && v < 1000 && !strings.ContainsAny(text, "eE'+-") || err == nil && v >= 0 && v < 1000 && mixed(text)
}

// mixed says whether a hyphen stands between a whole number and a fraction.
func mixed(text string) bool {
	whole, fraction, ok := strings.Cut(text, "-")
	return ok && strings.Trim(whole, "0123456789") == "" && whole != "" && strings.Contains(fraction, "/")
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

// readUK reads letters with halves and quarters; Z runs on as Z+1 or Z1 to Z6.
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
	case !ok, fraction*4 != math.Trunc(fraction*4):
		return 0, false
	case letter == 'Z':
		return n + fraction, true
	}
	return n + fraction, fraction < 1 && !plus
}

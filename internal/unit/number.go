package unit

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
)

// ErrAmbiguous is the error of a number that can be read in two ways, such as
// "1,250".
var ErrAmbiguous = errors.New("the comma may be a decimal mark or part thousands")

var errNumber = errors.New("not a number")

// Number reads a number as the trade writes it: "2.5", "2,5", "1 1/2", "1/8",
// "7-1/4", "7¼", "1.234,5", "1'250", "1e3". One comma is a decimal mark unless
// it could part thousands as well ("1,250", which is refused with
// [ErrAmbiguous]); where comma and point both stand, the last one is the
// decimal mark. A lone point is always a decimal mark.
func Number(text string) (float64, error) {
	number, rest, err := leading(text)
	if err != nil {
		return 0, err
	}
	if rest != "" {
		return 0, errNumber
	}
	return number, nil
}

var vulgar = map[rune]string{'¼': "1/4", '½': "1/2", '¾': "3/4", '⅛': "1/8", '⅜': "3/8", '⅝': "5/8", '⅞': "7/8", '⅓': "1/3", '⅔': "2/3"}

// plainText turns full-width digits, thin spaces and vulgar fractions into
// what is on every keyboard.
func plainText(text string) string {
	ascii := true
	for i := range len(text) {
		ascii = ascii && text[i] < 0x80
	}
	if ascii {
		return strings.TrimSpace(text)
	}
	var b strings.Builder
	for _, r := range text {
		switch {
		case '０' <= r && r <= '９':
			b.WriteRune(r - '０' + '0')
		case r == '，':
			b.WriteByte(',')
		case r == '．':
			b.WriteByte('.')
		case r == '−':
			b.WriteByte('-')
		case r == '’':
			b.WriteByte('\'')
		case unicode.IsSpace(r): // no-break and thin spaces among them
			b.WriteByte(' ')
		case vulgar[r] != "":
			b.WriteString(" " + vulgar[r])
		default:
			b.WriteRune(r)
		}
	}
	return strings.TrimSpace(b.String())
}

// joinThousands takes spaces out that part thousands: "1 250,5" but not the
// mixed fraction "1 250/1000".
func joinThousands(text string) string {
	from := len(text) - len(strings.TrimLeft(text, "-+"))
	end := from + span(text[from:], "0123456789")
	if end == from || end > from+3 {
		return text
	}
	whole := text[:end]
	for rest := text[end:]; ; {
		if len(rest) < 4 || rest[0] != ' ' || span(rest[1:], "0123456789") != 3 || len(rest) > 4 && rest[4] == '/' {
			return whole + rest
		}
		whole, rest = whole+rest[1:4], rest[4:]
	}
}

// leading reads the number that a text begins with and returns what follows it.
func leading(text string) (v float64, rest string, err error) {
	text = joinThousands(plainText(text))
	sign, digits := 1.0, text
	if text != "" && (text[0] == '-' || text[0] == '+') {
		digits = text[1:]
		if text[0] == '-' {
			sign = -1
		}
	}
	end := span(digits, "0123456789.,'")
	first := digits[:end]
	rest = digits[end:]
	if first == "" {
		return 0, text, errNumber
	}
	if f, after, ok := fraction(first, rest); ok { // "1/8 in", and no whole number before it
		return sign * f, after, nil
	}
	if v, err = decimal(first); err != nil {
		return 0, rest, err
	}
	if exponent := exponentOf(rest); exponent != "" {
		v, err = strconv.ParseFloat(strconv.FormatFloat(v, 'g', -1, 64)+exponent, 64)
		if err != nil || math.IsInf(v, 0) {
			return 0, rest, errNumber
		}
		return sign * v, strings.TrimSpace(rest[len(exponent):]), nil
	}
	after := strings.TrimLeft(rest, " -") // "1 1/2", "7-1/4"
	if n := span(after, "0123456789"); n > 0 && n < len(after) && len(after) < len(rest) && v == math.Trunc(v) {
		if f, left, ok := fraction(after[:n], after[n:]); ok && f < 1 {
			return sign * (v + f), left, nil
		}
	}
	return sign * v, strings.TrimSpace(rest), nil
}

func span(text, of string) int {
	n := 0
	for n < len(text) && strings.IndexByte(of, text[n]) >= 0 {
		n++
	}
	return n
}

// fraction reads "/8 in" behind the 1 of 1/8.
func fraction(above, rest string) (v float64, after string, ok bool) {
	if !strings.HasPrefix(rest, "/") {
		return 0, "", false
	}
	n := span(rest[1:], "0123456789")
	a, err := strconv.Atoi(above)
	b, err2 := strconv.Atoi(rest[1 : 1+n])
	if err != nil || err2 != nil || a <= 0 || b <= 0 || b > 1000 {
		return 0, "", false
	}
	return float64(a) / float64(b), strings.TrimSpace(rest[1+n:]), true
}

// exponentOf returns "e-3" where rest begins with it.
func exponentOf(rest string) string {
	if rest == "" || rest[0]|0x20 != 'e' {
		return ""
	}
	n := 1
	if n < len(rest) && (rest[n] == '-' || rest[n] == '+') {
		n++
	}
	if d := span(rest[n:], "0123456789"); d > 0 {
		return rest[:n+d]
	}
	return ""
}

// decimal reads digits with marks of decimals and of thousands.
func decimal(text string) (float64, error) {
	point, comma := strings.Count(text, "."), strings.Count(text, ",")
	whole, places := text, ""
	switch last := strings.LastIndexAny(text, ".,"); {
	case point+comma == 0:
	case point == 0 && comma == 1:
		whole, places = text[:last], text[last+1:]
		if len(places) == 3 && len(whole) >= 1 && len(whole) <= 3 && whole[0] != '0' {
			return 0, fmt.Errorf("%w: write %s%s or %s.%s", ErrAmbiguous, whole, places, whole, places)
		}
	case point == 1 && comma == 0, text[last] == '.' && point == 1, text[last] == ',' && comma == 1:
		whole, places = text[:last], text[last+1:]
	case point*comma == 0: // "1.234.567"
	default:
		return 0, errNumber
	}
	whole, err := ungroup(whole)
	if err != nil || strings.ContainsAny(places, ".,'") || whole+places == "" {
		return 0, errNumber
	}
	v, err := strconv.ParseFloat(whole+"."+places, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, errNumber
	}
	return v, nil
}

// ungroup takes the marks of thousands out of a whole number: one kind of
// mark, groups of three, the first of one to three.
func ungroup(text string) (string, error) {
	i := strings.IndexAny(text, ".,'")
	if i < 0 {
		return text, nil
	}
	groups := strings.Split(text, text[i:i+1])
	for k, g := range groups {
		if strings.Trim(g, "0123456789") != "" || k > 0 && len(g) != 3 || k == 0 && (len(g) < 1 || len(g) > 3) {
			return "", errNumber
		}
	}
	return strings.Join(groups, ""), nil
}

package wire

import (
	"bytes"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"

	"pourwright/internal/schema"
)

// digits is the number of significant digits that numbers without a unit are
// written with: more than any measurement here has, fewer than show binary
// rounding.
const digits = 7

// places are the decimals that a number of a unit is written with: what
// callipers, scales and thermometers of a workshop tell, and one more where
// answers are reckoned with again. Less than 100 of the last place keeps three
// significant digits.
var places = map[string]int{
	"mm": 2, "mm2": 2, "mm3": 2, "cm3": 3, "deg": 1,
	"mg": 1, "g": 3, "kg": 2, "ct": 3, "permil": 2, "pct": 2,
	"c": 1, "k": 1, "s": 2, "min": 1, "n": 2, "kpa": 2, "kj": 2, "kw": 2,
}

// unrounded is the places of a number of which no unit is known.
const unrounded = -1

// placesOf is the decimals of the number that a field of that name holds, or
// around where its name tells no unit: those of the field that holds its
// object, such as the ends of a range.
func placesOf(field string, around int) int {
	at := strings.LastIndexByte(field, '_')
	n, ok := places[field[at+1:]]
	if !ok || at < 0 || strings.HasSuffix(field[:at], "_per") {
		return around
	}
	return n
}

// Rounded is v as an answer's field of that name tells it, before it is cut to
// seven significant digits: by the place of its unit, or to three significant
// digits where that is finer.
func Rounded(field string, v float64) float64 { return rounded(v, placesOf(field, unrounded)) }

func rounded(v float64, n int) float64 {
	if n == unrounded || v == 0 || math.Abs(v) >= 1e7 {
		return v
	}
	for n < len(powers)-1 && math.Abs(v)*powers[n] < 99.5 {
		n++
	}
	return math.Round(v*powers[n]) / powers[n]
}

var powers = [...]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12}

// NotFinite is the error of an answer that holds a NaN or an infinity.
type NotFinite struct{ Value float64 }

func (e *NotFinite) Error() string { return fmt.Sprintf("the calculation gave %v", e.Value) }

// Number writes v with a point and without exponent, to seven significant
// digits; whole numbers are written whole.
func Number(v float64) string { return string(appendNumber(nil, v)) }

func appendNumber(dst []byte, v float64) []byte {
	if a := math.Abs(v); a < 1e15 {
		if a >= 1e7 {
			v = math.RoundToEven(v)
		}
		if v == math.Trunc(v) {
			return strconv.AppendInt(dst, int64(v), 10) // never -0
		}
	}
	if v-v != 0 {
		return strconv.AppendFloat(dst, v, 'f', -1, 64) // NaN or infinite, which no answer holds
	}
	var scratch [32]byte
	e := strconv.AppendFloat(scratch[:0], v, 'e', digits-1, 64) // "-1.234500e-05"
	if e[0] == '-' {
		dst, e = append(dst, '-'), e[1:]
	}
	exponent, _ := strconv.Atoi(string(e[digits+2:]))
	figures := e[1 : digits+1]
	figures[0] = e[0] // over the point
	n := digits
	for figures[n-1] == '0' {
		n--
	}
	figures = figures[:n]
	switch point := exponent + 1; {
	case point <= 0:
		dst = append(dst, "0."...)
		return append(zeros(dst, -point), figures...)
	case point < n:
		dst = append(append(dst, figures[:point]...), '.')
		return append(dst, figures[point:]...)
	default:
		return zeros(append(dst, figures...), point-n)
	}
}

func zeros(dst []byte, n int) []byte {
	for range n {
		dst = append(dst, '0')
	}
	return dst
}

var jsonOptions = json.JoinOptions(
	json.Deterministic(true),
	json.WithMarshalers(json.MarshalToFunc(func(enc *jsontext.Encoder, v float64) error {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return &NotFinite{v}
		}
		var scratch [40]byte
		return enc.WriteValue(appendNumber(scratch[:0], v))
	})),
)

// JSON is WriteJSON into memory of its own.
func JSON(out any) ([]byte, error) {
	var b bytes.Buffer
	err := WriteJSON(&b, out)
	return b.Bytes(), err
}

// WriteJSON writes an answer, or nothing: the error wraps *NotFinite for a NaN
// or an infinity.
func WriteJSON(b *bytes.Buffer, out any) error {
	v := reflect.ValueOf(out)
	for v.Kind() == reflect.Pointer {
		v = v.Elem()
	}
	text, err := formOf(schema.Of(v.Type())).append(b.AvailableBuffer(), v)
	if err == nil {
		b.Write(text)
	}
	return err
}

// IsNumber reports whether a cell is a number, as Go reads one.
func IsNumber(s string) bool {
	_, err := strconv.ParseFloat(s, 64)
	return err == nil
}

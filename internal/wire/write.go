package wire

import (
	"fmt"
	"math"
	"strconv"

	"github.com/go-json-experiment/json"
	"github.com/go-json-experiment/json/jsontext"
)

// digits is the number of significant digits that numbers are written with:
// more than any measurement here has, fewer than show binary rounding.
const digits = 7

// NotFinite is the error of an answer that holds a NaN or an infinity.
type NotFinite struct{ Value float64 }

func (e *NotFinite) Error() string { return fmt.Sprintf("the calculation gave %v", e.Value) }

// Number writes v with a point and without exponent, to seven significant
// digits; whole numbers are written whole.
func Number(v float64) string { return string(appendNumber(nil, v)) }

func appendNumber(dst []byte, v float64) []byte {
	if v == 0 {
		return append(dst, '0') // never -0
	}
	if math.Abs(v) >= 1e7 && math.Abs(v) < 1e15 {
		return strconv.AppendFloat(dst, v, 'f', 0, 64)
	}
	// 'g' drops trailing zeros, 'f' does not: round first, then print shortest.
	var scratch [32]byte
	rounded, err := strconv.ParseFloat(string(strconv.AppendFloat(scratch[:0], v, 'g', digits, 64)), 64)
	if err != nil {
		rounded = v
	}
	return strconv.AppendFloat(dst, rounded, 'f', -1, 64)
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

// JSON writes an answer. The error wraps *NotFinite for a NaN or an infinity.
func JSON(out any) ([]byte, error) { return json.Marshal(out, jsonOptions) }

// IsNumber reports whether a cell is a number, as Go reads one.
func IsNumber(s string) bool {
	_, err := strconv.ParseFloat(s, 64)
	return err == nil
}

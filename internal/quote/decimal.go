package quote

import (
	"math"
	"strconv"

	"github.com/bojanz/currency"
	"github.com/cockroachdb/apd/v3"
)

// Money is reckoned in decimals (apd) and never in binary fractions. The
// currencies of ISO 4217 and their minor units come from bojanz/currency,
// which is built on the same decimals.
//
// exact keeps sums and products exact: 60 digits hold any product that the
// limits of the input allow but the most contrived. Quotients (a price by the
// minute, a tax taken out of a total) are rounded at the sixtieth digit.
var exact = apd.Context{Precision: 60, MaxExponent: apd.MaxExponent, MinExponent: apd.MinExponent,
	Traps: apd.DefaultTraps, Rounding: apd.RoundHalfUp}

var (
	zero     = apd.New(0, 0)
	one      = apd.New(1, 0)
	hundred  = apd.New(100, 0)
	thousand = apd.New(1000, 0)
	sixty    = apd.New(60, 0)
)

// dec returns the decimal with the digits that were typed for f: the shortest
// that read back as f, so 0.1 is one tenth. f must be finite.
func dec(f float64) *apd.Decimal {
	if f == math.Trunc(f) && math.Abs(f) < 1<<53 {
		return apd.New(int64(f), 0)
	}
	d, err := new(apd.Decimal).SetFloat64(f)
	return must(d, 0, err)
}

func add(x, y *apd.Decimal) *apd.Decimal { return run(exact.Add, x, y) }
func sub(x, y *apd.Decimal) *apd.Decimal { return run(exact.Sub, x, y) }
func quo(x, y *apd.Decimal) *apd.Decimal { return run(exact.Quo, x, y) }

func mul(x *apd.Decimal, ys ...*apd.Decimal) *apd.Decimal {
	for _, y := range ys {
		x = run(exact.Mul, x, y)
	}
	return x
}

// pct returns x × p/100.
func pct(x, p *apd.Decimal) *apd.Decimal {
	d := mul(x, p)
	if !d.IsZero() {
		d.Exponent -= 2
	}
	return d
}

func less(x, y *apd.Decimal) *apd.Decimal {
	if x.Cmp(y) <= 0 {
		return x
	}
	return y
}

func float(x *apd.Decimal) float64 {
	f, err := x.Float64()
	if err != nil {
		panic("quote: " + err.Error())
	}
	return f
}

func run(op func(d, x, y *apd.Decimal) (apd.Condition, error), x, y *apd.Decimal) *apd.Decimal {
	d := new(apd.Decimal)
	c, err := op(d, x, y)
	return must(d, c, err)
}

// must panics on what the checks of the input have ruled out: a division by
// zero or a number beyond 60 digits.
func must(d *apd.Decimal, _ apd.Condition, err error) *apd.Decimal {
	if err != nil {
		panic("quote: " + err.Error())
	}
	return d
}

// purse is a currency with its minor unit.
type purse struct {
	code   string
	digits int32
}

func purseOf(code string) (purse, bool) {
	digits, ok := currency.GetDigits(code)
	return purse{code, int32(digits)}, ok
}

// round brings x to the minor unit, halves away from zero.
func (p purse) round(x *apd.Decimal) *apd.Decimal {
	d := new(apd.Decimal)
	c, err := exact.Quantize(d, x, -p.digits)
	return must(d, c, err)
}

// coin is the minor unit: 0.01, or 1 or 0.001 by currency.
func (p purse) coin() *apd.Decimal { return apd.New(1, -p.digits) }

// step brings x to a multiple of step by the rule.
func (p purse) step(x, step *apd.Decimal, rule Rounding) *apd.Decimal {
	n, toWhole := new(apd.Decimal), exact.RoundToIntegralValue
	switch rule {
	case Up:
		toWhole = exact.Ceil
	case Down:
		toWhole = exact.Floor
	}
	c, err := toWhole(n, quo(x, step))
	return p.round(mul(must(n, c, err), step))
}

// text writes an amount with the digits of its currency: "1234.50".
func (p purse) text(x *apd.Decimal) string { return p.round(x).Text('f') }

// said writes an amount for a client: "EUR 1234.50".
func (p purse) said(x *apd.Decimal) string { return p.code + " " + p.text(x) }

// typed writes a price as the caller gave it.
func typed(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }

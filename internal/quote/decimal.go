package quote

import (
	"errors"
	"math"
	"math/big"
	"strconv"

	"github.com/bojanz/currency"
	"github.com/govalues/decimal"
)

// Money is reckoned in decimals and never in binary fractions. The arithmetic
// is govalues/decimal: 19 digits without allocation, fractions rounded at the
// nineteenth, an error where whole digits do not fit. The currencies of ISO
// 4217 and their minor units come from bojanz/currency, whose table is current
// (the other library's own still gives the Icelandic krona two decimals).

// number is a decimal of 19 digits.
type number = decimal.Decimal

var (
	zero    = decimal.MustNew(0, 0)
	one     = decimal.MustNew(1, 0)
	hundred = decimal.MustNew(100, 0)
	sixty   = decimal.MustNew(60, 0)
	perCent = decimal.MustNew(1, 2)
	perMil  = decimal.MustNew(1, 3)
	dearest = decimal.MustNew(1e14, 0) // leaves four decimals, and a digit to spare, in 19
)

var errDear = errors.New("an amount beyond 1e14")

// sums is arithmetic that remembers the first overflow.
type sums struct{ err error }

// keep returns d, or 0 with the error remembered.
func (s *sums) keep(d number, err error) number {
	if err != nil {
		s.err = err
		return zero
	}
	return d
}

// dec returns the decimal with the digits that were typed for f: the shortest
// that read back as f, so 0.1 is one tenth.
func (s *sums) dec(f float64) number {
	// Few places, the usual case: n/10^k is rounded once, so if it is f, then n
	// with k places reads back as f, and among 15 digits no other does.
	for places := 0; places <= 6; places++ {
		if n := math.Round(f * tens[places]); math.Abs(n) < 1e15 && n/tens[places] == f {
			return s.keep(decimal.New(int64(n), places))
		}
	}
	return s.keep(decimal.NewFromFloat64(f))
}

func (s *sums) count(n int) number        { return s.keep(decimal.New(int64(n), 0)) }
func (s *sums) add(x, y number) number    { return s.keep(x.Add(y)) }
func (s *sums) sub(x, y number) number    { return s.keep(x.Sub(y)) }
func (s *sums) quo(x, y number) number    { return s.keep(x.Quo(y)) }
func (s *sums) pct(x, p number) number    { return s.mul(x, p, perCent) }
func (s *sums) permil(x, p number) number { return s.mul(x, p, perMil) }
func (s *sums) mul(x number, ys ...number) number {
	for _, y := range ys {
		x = s.keep(x.Mul(y))
	}
	return x
}

// float returns the float64 nearest to x.
func float(x number) float64 {
	if c := x.Coef(); c < 1<<53 {
		f := float64(c) / tens[x.Scale()] // both exact, so rounded once
		if x.IsNeg() {
			f = -f
		}
		return f
	}
	f, _ := x.Float64()
	return f
}

var tens = [decimal.MaxScale + 1]float64{1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19}

// purse is a currency with its minor unit.
type purse struct {
	code   string
	digits int
}

func purseOf(code string) (purse, bool) {
	digits, ok := currency.GetDigits(code)
	return purse{code, int(digits)}, ok
}

// round brings x to the minor unit, halves away from zero.
func (p purse) round(x number) number {
	half := decimal.MustNew(5, p.digits+1).CopySign(x)
	if up, err := x.Add(half); err == nil {
		x = up
	}
	return x.Trunc(p.digits).Pad(p.digits)
}

// coin is the minor unit: 0.01, or 1 or 0.001 by currency.
func (p purse) coin() number { return decimal.MustNew(1, p.digits) }

// share returns x/y to the minor unit, halves up, for x and y from 0. The
// quotient is whole coins and a remainder, so nothing is rounded twice.
func (b *bill) share(x, y number) number {
	coin := b.coin()
	coins, rest, err := x.QuoRem(b.mul(y, coin))
	b.keep(coins, err)
	if b.add(rest, rest).CmpAbs(b.mul(y, coin)) >= 0 {
		coins = b.add(coins, one)
	}
	return b.mul(coins, coin)
}

// step brings x to a multiple of step by the rule.
func (b *bill) step(x, step number, rule Rounding) number {
	n, rest, err := x.QuoRem(step)
	b.keep(n, err)
	switch up := b.add(rest, rest).Cmp(step) >= 0; {
	case rule == Down, rest.IsZero():
	case rule == Up, up:
		n = b.add(n, one)
	}
	return b.round(b.mul(n, step))
}

// text writes an amount with the digits of its currency: "1234.50".
func (p purse) text(x number) string { return p.round(x).String() }

// said writes an amount for a client: "EUR 1234.50".
func (p purse) said(x number) string { return p.code + " " + p.text(x) }

// gramsPerOzt is the troy ounce, exactly.
var gramsPerOzt = decimal.MustNew(311034768, 7)

// perGram is the price of a gram of fine metal.
func (t *Terms) perGram(s *sums) number {
	if t.MetalPricePerOzt != nil {
		return s.quo(s.dec(*t.MetalPricePerOzt), gramsPerOzt)
	}
	return s.dec(*t.MetalPricePerG)
}

// FinePrice is the price of a gram of fine metal, exactly; 0 where none is given.
func (t *Terms) FinePrice() *big.Rat {
	price, per := t.MetalPricePerG, "1"
	if t.MetalPricePerOzt != nil {
		price, per = t.MetalPricePerOzt, gramsPerOzt.String()
	}
	if price == nil {
		return new(big.Rat)
	}
	p, _ := new(big.Rat).SetString(typed(*price))
	g, _ := new(big.Rat).SetString(per)
	return p.Quo(p, g)
}

// figure writes a price of a unit with at most twelve digits.
func figure(f float64) string {
	f, _ = strconv.ParseFloat(strconv.FormatFloat(f, 'g', 12, 64), 64)
	return typed(f)
}

// typed writes a figure as the caller gave it.
func typed(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }

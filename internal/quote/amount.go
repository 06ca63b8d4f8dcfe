package quote

import "github.com/govalues/decimal"

// Number is an amount of money, or a figure that one is made of: a decimal of
// 19 digits. Money goes between packages as this, and becomes text in an answer.
type Number = decimal.Decimal

// Amounts are what [Total] finds, in figures alone.
type Amounts struct {
	Total Number // what the client pays, tax included
	Cost  Number // before profit and tax, with the allowance for failed pours
	purse
}

// Text writes an amount with the digits of its currency: "1234.50".
func (a Amounts) Text(n Number) string { return a.text(n) }

// Float is the float64 nearest to an amount, to weigh it against other figures.
func Float(n Number) float64 { return float(n) }

// Reckon prices an order in figures alone, by the rules of [Total]. Errors are
// refusals.
func Reckon(order Order) (Amounts, error) {
	money, err := order.check()
	if err != nil {
		return Amounts{}, err
	}
	b := &bill{purse: money}
	b.reckon(&order, likely)
	if b.err != nil {
		return Amounts{}, beyond()
	}
	return Amounts{b.gross, b.cost, money}, nil
}

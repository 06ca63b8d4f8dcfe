package quote

import (
	"math"
	"strconv"

	"gonum.org/v1/gonum/stat/distuv"

	"pourwright/internal/calc"
)

var srcBeta = calc.Source{For: "failed pours to expect from a band and the studio's own count", Text: "the chance has a beta distribution of the middle and the width of the band, 90 in 100 within it; k failures in n pours make it Beta(a + k, b + n − k); the mean of p/(1 − p) is then a/(b − 1). Without a band the middle counts as ten pours; e.g. A. Gelman and others, Bayesian Data Analysis, ch. 2", Status: calc.FromMemory}

const (
	sigmas90     = 2 * 1.6448536269514722 // of a normal, between its 5 and its 95 in 100
	withoutABand = 10.0                   // pours that the middle counts as
)

// odds is the mean number of failed pours before one succeeds, as a numerator
// and its denominator: p/(1 − p) of the chance as stated, exactly; or that of
// a chance in a band, with the studio's own count as evidence. side takes the
// low or the high end of the band.
func (p *OrderPiece) odds(o *Order, s *sums, side int) (fails, of number) {
	if p.FailureBand == nil && o.CountedPours == 0 {
		fail := s.dec(p.FailurePct)
		return fail, s.sub(hundred, fail)
	}
	d := p.chance(o)
	v := d.Alpha / max(d.Beta-1, 0.05)
	if side != 0 {
		q := d.Quantile(0.5 + 0.45*float64(side))
		v = q / max(1-q, 0.05)
	}
	v, _ = strconv.ParseFloat(strconv.FormatFloat(v, 'g', 9, 64), 64)
	return s.dec(min(v, 19)), one // 19 is that of 95 in 100
}

// chance is what is believed of the chance of a failed pour.
func (p *OrderPiece) chance(o *Order) distuv.Beta {
	m, weight := p.FailurePct/100, withoutABand
	if p.FailureBand != nil {
		sd := (p.FailureBand.HighPct - p.FailureBand.LowPct) / 100 / sigmas90
		m = min(max(m, 0.002), 0.95)
		weight = max(m*(1-m)/math.Pow(max(sd, 0.002), 2)-1, 0.5)
	}
	k := float64(o.ScrappedPours)
	a, b := m*weight, (1-m)*weight
	if p.FailureBand == nil { // no chance is quite nought or one
		a, b = a+0.5, b+0.5
	}
	return distuv.Beta{Alpha: a + k, Beta: b + float64(o.CountedPours) - k}
}

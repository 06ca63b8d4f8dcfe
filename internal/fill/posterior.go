package fill

import (
	"math"

	"pourwright/internal/calc"
)

// Posterior is what a studio's own pours say of its clay and its hand: a
// weight for each pair of an interface coefficient and a pour-rate factor.
type Posterior struct {
	InterfaceWM2K []float64 `json:"interface_w_m2k" minItems:"2" maxItems:"64" doc:"Interface coefficients, rising"`
	RateFactor    []float64 `json:"rate_factor" minItems:"1" maxItems:"32" doc:"Pour rates over what the stated pour time means, rising"`
	Weight        []float64 `json:"weight" minItems:"2" maxItems:"2048" doc:"Probability of each pair, the rate factor running fastest; they sum to 1"`
}

func (p *Posterior) check() error {
	var c calc.Checks
	rising := func(field string, v []float64, lo, hi float64) {
		for i, x := range v {
			if math.IsNaN(x) || x < lo || x > hi || i > 0 && x <= v[i-1] {
				c.Refuse(field, x, "give rising values from %g to %g", lo, hi)
				return
			}
		}
	}
	if len(p.InterfaceWM2K) < 2 || len(p.RateFactor) < 1 {
		c.Refuse("interface_w_m2k", len(p.InterfaceWM2K), "give at least two coefficients and one rate factor")
		return c.Err()
	}
	rising("interface_w_m2k", p.InterfaceWM2K, 20, 20000)
	rising("rate_factor", p.RateFactor, 0.05, 20)
	if len(p.Weight) != len(p.InterfaceWM2K)*len(p.RateFactor) {
		c.Refuse("weight", len(p.Weight), "give %d weights, one for each pair", len(p.InterfaceWM2K)*len(p.RateFactor))
		return c.Err()
	}
	total := 0.0
	for _, w := range p.Weight {
		if math.IsNaN(w) || w < 0 {
			c.Refuse("weight", w, "give weights of 0 or more")
			return c.Err()
		}
		total += w
	}
	if math.Abs(total-1) > 1e-3 {
		c.Refuse("weight", total, "give weights that sum to 1")
	}
	return c.Err()
}

// at returns the pair at the quantiles u and v: the coefficient by its
// marginal, then the factor given the coefficient, both in proportion between
// grid points.
func (p *Posterior) at(u, v float64) (h, rate float64) {
	n := len(p.RateFactor)
	marginal := make([]float64, len(p.InterfaceWM2K))
	for i := range marginal {
		for k := range n {
			marginal[i] += p.Weight[i*n+k]
		}
	}
	h, i := quantile(p.InterfaceWM2K, marginal, u)
	if n == 1 {
		return h, p.RateFactor[0]
	}
	rate, _ = quantile(p.RateFactor, p.Weight[i*n:(i+1)*n], v)
	return h, rate
}

// quantile reads a distribution given by the weights of geometric cells about
// the points x; it also returns the cell.
func quantile(x, weight []float64, u float64) (float64, int) {
	total := 0.0
	for _, w := range weight {
		total += w
	}
	left := u * total
	for i, w := range weight {
		if left > w && i < len(weight)-1 {
			left -= w
			continue
		}
		lo, hi := x[i], x[i]
		if i > 0 {
			lo = math.Sqrt(x[i-1] * x[i])
		}
		if i < len(x)-1 {
			hi = math.Sqrt(x[i] * x[i+1])
		}
		if w == 0 {
			return x[i], i
		}
		return lo * math.Pow(hi/lo, min(1, left/w)), i
	}
	return x[len(x)-1], len(x) - 1
}

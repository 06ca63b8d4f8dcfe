package lp

import (
	"context"
	"math"
)

// simplex is the solver's state. Variables are the n columns followed by one
// logical a row, s = A x, whose column is −e_r; so the equations are
// A x − s = 0 and every limit is a bound. All of it is scaled by powers of
// two, which rounds nothing.
type simplex struct {
	m, n           int
	columns        [][]Entry
	low, high      []float64 // as narrowed by earlier objectives
	low0, high0    []float64 // as given
	costs          [][]float64
	z              []float64 // value of every variable
	basis          []int     // variable basic in each row
	place          []int     // row of a basic variable, −1 when nonbasic
	inverse        []float64 // of the basis, m × m, by rows
	y, w, d        []float64 // prices; B⁻¹ a_q; reduced costs
	basic          []float64 // costs of the basic variables that y and d were found for
	fresh          bool      // whether y and d still hold if those costs do
	careful        bool      // smallest-index rule throughout
	iterations     int
	sinceFactored  int
	unit, rowScale []float64 // powers of two that columns and rows are multiplied by
	costScale      []float64
	prices         []float64 // y of the first objective
}

const (
	feasible  = 1e-12 // of a bound, in scaled units: below it a breach is rounding
	priceTol  = 1e-12 // of a reduced cost, relative to the largest cost
	pivotTol  = 1e-9  // least pivot
	refactor  = 64    // pivots between fresh factorings
	stallStep = 1e-13 // a step below it makes no headway
)

func newSimplex(p Problem, careful bool) *simplex {
	n, m := len(p.Columns), len(p.RowLow)
	s := &simplex{m: m, n: n, careful: careful}
	total := n + m
	floats := make([]float64, 6*total+n+m*m+4*m)
	take := func(k int) []float64 { t := floats[:k:k]; floats = floats[k:]; return t }
	s.low, s.high, s.low0, s.high0, s.z, s.d = take(total), take(total), take(total), take(total), take(total), take(total)
	s.inverse, s.y, s.w, s.basic = take(m*m), take(m), take(m), take(m)
	s.unit, s.rowScale = take(n), take(m)
	s.basis, s.place = make([]int, m), make([]int, total)
	s.scale(p)
	for j := range s.z {
		s.place[j] = -1
		s.z[j] = s.rest(j)
	}
	for r := range m {
		s.basis[r], s.place[n+r] = n+r, r
	}
	s.factor()
	return s
}

// rest is the bound at which a nonbasic variable starts.
func (s *simplex) rest(j int) float64 {
	switch {
	case !math.IsInf(s.low[j], 0):
		return s.low[j]
	case !math.IsInf(s.high[j], 0):
		return s.high[j]
	}
	return 0
}

// run makes the point feasible and then takes the objectives in turn.
func (s *simplex) run(ctx context.Context) (Status, error) {
	for j := range s.low {
		if s.low[j] > s.high[j] {
			return Infeasible, nil
		}
	}
	if status, err := s.descend(ctx, nil); err != nil || status != Optimal {
		return status, err
	}
	for k, cost := range s.costs {
		status, err := s.descend(ctx, cost)
		if err != nil || status != Optimal {
			return status, err
		}
		if k == 0 {
			s.prices = append([]float64(nil), s.y...)
		}
		// Whatever has a price must stay at its bound to keep this objective.
		for j, d := range s.d {
			if s.place[j] < 0 && math.Abs(d) > priceTol {
				s.low[j], s.high[j] = s.z[j], s.z[j]
			}
		}
	}
	s.factor()
	return Optimal, nil
}

// descend pivots until cost cannot fall; with a nil cost it lowers the sum of
// breaches instead, and answers Infeasible when that stays above zero.
func (s *simplex) descend(ctx context.Context, cost []float64) (Status, error) {
	stalled := 0
	s.fresh = false
	for {
		if s.iterations++; s.iterations%32 == 0 && ctx.Err() != nil {
			return 0, ctx.Err()
		}
		if s.iterations > 200*(s.m+s.n)+2000 {
			return 0, ErrUnproved
		}
		if s.sinceFactored >= refactor {
			s.factor()
		}
		breached := s.price(cost)
		if cost == nil && !breached {
			return Optimal, nil
		}
		bland := s.careful || stalled > s.m+8
		q := s.entering(bland)
		if q < 0 {
			if s.sinceFactored > 0 { // say so only on fresh figures
				s.factor()
				continue
			}
			if cost == nil {
				return Infeasible, nil
			}
			return Optimal, nil
		}
		step, ok := s.move(q, cost == nil, bland)
		if !ok {
			return Unbounded, nil
		}
		if step > stallStep {
			stalled = 0
		} else {
			stalled++
		}
	}
}

// price finds y and the reduced costs d; for a nil cost those of the sum of
// breaches, and whether there is a breach.
func (s *simplex) price(cost []float64) (breached bool) {
	for i, b := range s.basis {
		c := 0.0
		switch {
		case cost != nil:
			c = cost[b]
		case s.z[b] < s.low[b]-feasible:
			c, breached = -1, true
		case s.z[b] > s.high[b]+feasible:
			c, breached = 1, true
		}
		if c != s.basic[i] {
			s.basic[i], s.fresh = c, false
		}
	}
	if s.fresh || cost == nil && !breached {
		return breached
	}
	s.fresh = true
	clear(s.y)
	for i, c := range s.basic {
		if c == 0 {
			continue
		}
		for r, v := range s.inverse[i*s.m : (i+1)*s.m] {
			s.y[r] += c * v
		}
	}
	for j, column := range s.columns {
		if s.place[j] >= 0 {
			s.d[j] = 0
			continue
		}
		d := 0.0
		if cost != nil {
			d = cost[j]
		}
		for _, e := range column {
			d -= s.y[e.Row] * e.Value
		}
		s.d[j] = d
	}
	return breached
}

// entering picks the nonbasic variable whose move pays most, or under Bland's
// rule the first that pays; −1 if none does.
func (s *simplex) entering(bland bool) int {
	best, most := -1, priceTol
	for j, d := range s.d {
		if s.place[j] >= 0 || s.low[j] == s.high[j] {
			continue
		}
		gain := 0.0
		if s.z[j] < s.high[j] {
			gain = -d
		}
		if s.z[j] > s.low[j] {
			gain = max(gain, d)
		}
		if gain > most {
			if bland {
				return j
			}
			best, most = j, gain
		}
	}
	return best
}

// move brings variable q in as far as the bounds of the basic ones allow, or
// to its own other bound, and returns the length of the step.
func (s *simplex) move(q int, phase1, bland bool) (step float64, ok bool) {
	clear(s.w)
	for _, e := range s.columns[q] {
		for i := range s.m {
			s.w[i] += s.inverse[i*s.m+e.Row] * e.Value
		}
	}
	sigma := 1.0 // the direction q moves in
	if s.d[q] > 0 {
		sigma = -1
	}
	step, leaving, stop := s.ratio(q, sigma, phase1, bland)
	if math.IsInf(step, 0) {
		return 0, false
	}
	for i, b := range s.basis {
		s.z[b] -= sigma * step * s.w[i]
	}
	s.z[q] += sigma * step
	if leaving < 0 {
		if sigma > 0 { // land on the bound itself
			s.z[q] = s.high[q]
		} else {
			s.z[q] = s.low[q]
		}
		return step, true
	}
	out := s.basis[leaving]
	s.z[out], s.place[out] = stop, -1
	s.basis[leaving], s.place[q] = q, leaving
	s.pivot(leaving)
	return step, true
}

// ratio finds how far q can go in direction sigma, which basic variable stops
// it at which bound (−1: none, q reaches its own), and of equals the one with
// the largest pivot, or under Bland's rule the first.
func (s *simplex) ratio(q int, sigma float64, phase1, bland bool) (step float64, leaving int, stop float64) {
	step, leaving = s.high[q]-s.low[q], -1
	for i, b := range s.basis {
		rate := -sigma * s.w[i]
		if math.Abs(rate) < pivotTol {
			continue
		}
		bound := s.stop(b, rate, phase1)
		if math.IsInf(bound, 0) {
			continue
		}
		t := max((bound-s.z[b])/rate, 0)
		const tie = 1e-12
		switch {
		case t < step-tie:
		case t > step+tie || leaving < 0 && t >= step:
			continue
		case leaving >= 0 && bland && b > s.basis[leaving]:
			continue
		case leaving >= 0 && !bland && math.Abs(rate) <= math.Abs(s.w[leaving]):
			continue
		}
		step, leaving, stop = min(t, step), i, bound
	}
	return step, leaving, stop
}

// stop is the bound at which variable b stops when it moves at the given
// rate. While breaches are being mended, a breached variable stops where its
// breach ends, and may fall further behind.
func (s *simplex) stop(b int, rate float64, phase1 bool) float64 {
	below, above := s.z[b] < s.low[b]-feasible, s.z[b] > s.high[b]+feasible
	switch {
	case phase1 && below && rate > 0, !(phase1 && (below || above)) && rate < 0:
		return s.low[b]
	case phase1 && above && rate < 0, !(phase1 && (below || above)) && rate > 0:
		return s.high[b]
	}
	return math.Inf(1)
}

// pivot updates the inverse for w entering at the given row.
func (s *simplex) pivot(row int) {
	m := s.m
	top := s.inverse[row*m : (row+1)*m]
	p := 1 / s.w[row]
	for r := range top {
		top[r] *= p
	}
	for i := range m {
		k := s.w[i]
		if i == row || k == 0 {
			continue
		}
		line := s.inverse[i*m : (i+1)*m]
		for r, v := range top {
			line[r] -= k * v
		}
	}
	s.sinceFactored++
	s.fresh = false
}

// factor inverts the basis afresh (Gauss-Jordan with partial pivoting) and
// recomputes the basic values from it.
func (s *simplex) factor() {
	m := s.m
	s.sinceFactored, s.fresh = 0, false
	b := make([]float64, m*m)
	for i, j := range s.basis {
		for _, e := range s.columns[j] {
			b[e.Row*m+i] = e.Value
		}
	}
	clear(s.inverse)
	for i := range m {
		s.inverse[i*m+i] = 1
	}
	for c := range m {
		best := c
		for r := c + 1; r < m; r++ {
			if math.Abs(b[r*m+c]) > math.Abs(b[best*m+c]) {
				best = r
			}
		}
		if best != c {
			for k := range m {
				b[c*m+k], b[best*m+k] = b[best*m+k], b[c*m+k]
				s.inverse[c*m+k], s.inverse[best*m+k] = s.inverse[best*m+k], s.inverse[c*m+k]
			}
		}
		p := 1 / b[c*m+c]
		for k := range m {
			b[c*m+k] *= p
			s.inverse[c*m+k] *= p
		}
		for r := range m {
			f := b[r*m+c]
			if r == c || f == 0 {
				continue
			}
			for k := range m {
				b[r*m+k] -= f * b[c*m+k]
				s.inverse[r*m+k] -= f * s.inverse[c*m+k]
			}
		}
	}
	rhs := s.w
	clear(rhs)
	for j, column := range s.columns {
		if s.place[j] >= 0 || s.z[j] == 0 {
			continue
		}
		for _, e := range column {
			rhs[e.Row] -= e.Value * s.z[j]
		}
	}
	for i, j := range s.basis {
		v := 0.0
		for r := range m {
			v += s.inverse[i*m+r] * rhs[r]
		}
		s.z[j] = v
	}
}

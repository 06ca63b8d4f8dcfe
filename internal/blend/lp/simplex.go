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

// scale brings variables, rows and costs to the order of one: each variable to
// its typical size, each row to its largest coefficient after that.
func (s *simplex) scale(p Problem) {
	entries := 0
	for j, column := range p.Columns {
		s.unit[j] = 1 / powerOfTwo(p.typical(j))
		s.low0[j], s.high0[j] = p.Low[j]*s.unit[j], p.High[j]*s.unit[j]
		entries += len(column)
		for _, e := range column {
			s.rowScale[e.Row] = max(s.rowScale[e.Row], math.Abs(e.Value)/s.unit[j])
		}
	}
	for r, v := range s.rowScale {
		s.rowScale[r] = 1 / powerOfTwo(v)
		s.low0[s.n+r], s.high0[s.n+r] = p.RowLow[r]*s.rowScale[r], p.RowHigh[r]*s.rowScale[r]
	}
	store := make([]Entry, 0, entries+s.m)
	s.columns = make([][]Entry, 0, s.n+s.m)
	for j, column := range p.Columns {
		from := len(store)
		for _, e := range column {
			store = append(store, Entry{e.Row, e.Value / s.unit[j] * s.rowScale[e.Row]})
		}
		s.columns = append(s.columns, store[from:])
	}
	for r := range s.m {
		store = append(store, Entry{r, -1})
		s.columns = append(s.columns, store[len(store)-1:])
	}
	for _, c := range p.Costs {
		top := 0.0
		for j, v := range c {
			top = max(top, math.Abs(v)/s.unit[j])
		}
		k := 1 / powerOfTwo(top)
		scaled := make([]float64, s.n+s.m)
		for j, v := range c {
			scaled[j] = v / s.unit[j] * k
		}
		s.costs, s.costScale = append(s.costs, scaled), append(s.costScale, k)
	}
	copy(s.low, s.low0)
	copy(s.high, s.high0)
}

// powerOfTwo is the power of two nearest below |v|, or 1 for zero.
func powerOfTwo(v float64) float64 {
	if v == 0 || math.IsInf(v, 0) {
		return 1
	}
	_, e := math.Frexp(v)
	return math.Ldexp(1, e-1)
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
	step = s.high[q] - s.low[q]
	leaving, stop := -1, 0.0
	for i, b := range s.basis {
		rate := -sigma * s.w[i]
		if math.Abs(rate) < pivotTol {
			continue
		}
		bound := s.high[b]
		if rate < 0 {
			bound = s.low[b]
		}
		if phase1 { // a breached variable stops where its breach ends, and is free to fall further behind
			switch {
			case s.z[b] < s.low[b]-feasible && rate > 0:
				bound = s.low[b]
			case s.z[b] > s.high[b]+feasible && rate < 0:
				bound = s.high[b]
			case s.z[b] < s.low[b]-feasible || s.z[b] > s.high[b]+feasible:
				continue
			}
		}
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

// conclude turns the final state into a solution in the units of p and says
// whether it stands its check.
func (s *simplex) conclude(p Problem, status Status) (Solution, bool) {
	sol := Solution{Status: status, Iterations: s.iterations, state: s}
	switch status {
	case Unbounded:
		return sol, true
	case Infeasible:
		sol.Ray = make([]float64, s.m)
		top := 0.0
		for _, y := range s.y {
			top = max(top, math.Abs(y))
		}
		for r, y := range s.y {
			if math.Abs(y) > 1e-11*top { // less is rounding, and would weigh on a row without end
				sol.Ray[r] = y * s.rowScale[r]
			}
		}
		for j := range s.low0 {
			if s.low0[j] > s.high0[j] { // the bounds cross: that is proof enough
				return sol, true
			}
		}
		return sol, p.proves(sol.Ray)
	}
	sol.X, sol.Y, sol.Reduced = make([]float64, s.n), make([]float64, s.m), make([]float64, s.n)
	for j := range s.n {
		v := s.z[j]
		if s.low0[j]-v > 0 && s.low0[j]-v <= feasible { // rounding does not show as a negative mass
			v = s.low0[j]
		} else if v-s.high0[j] > 0 && v-s.high0[j] <= feasible {
			v = s.high0[j]
		}
		sol.X[j] = v / s.unit[j]
		sol.Value += p.Costs[0][j] * sol.X[j]
	}
	for r := range s.m {
		y := s.prices[r]
		if math.Abs(y) <= priceTol {
			y = 0
		}
		sol.Y[r] = y * s.rowScale[r] / s.costScale[0]
	}
	for j, column := range p.Columns {
		d := p.Costs[0][j]
		for _, e := range column {
			d -= sol.Y[e.Row] * e.Value
		}
		if math.Abs(d)/s.unit[j]*s.costScale[0] > priceTol {
			sol.Reduced[j] = d
		}
	}
	sol.Check = p.check(sol.X, sol.Y)
	c := sol.Check
	return sol, c.Primal <= Tolerance && c.Dual <= Tolerance && c.Gap <= Tolerance
}

// Reach says how far the binding bound of column j may move down and up
// before its price (Reduced) changes.
func (sol *Solution) Reach(j int) (down, up float64) { return sol.state.reach(j, sol.state.unit[j]) }

// RowReach says how far the binding bound of row r may move down and up
// before its price (Y) changes.
func (sol *Solution) RowReach(r int) (down, up float64) {
	s := sol.state
	return s.reach(s.n+r, s.rowScale[r])
}

func (s *simplex) reach(q int, scale float64) (down, up float64) {
	if s.place[q] >= 0 {
		return 0, 0
	}
	down, up = math.Inf(1), math.Inf(1)
	for i, b := range s.basis {
		w := 0.0
		for _, e := range s.columns[q] {
			w += s.inverse[i*s.m+e.Row] * e.Value
		}
		if math.Abs(w) < pivotTol {
			continue
		}
		toLow, toHigh := max(s.z[b]-s.low0[b], 0)/math.Abs(w), max(s.high0[b]-s.z[b], 0)/math.Abs(w)
		if w > 0 { // the basic variable falls as q rises
			up, down = min(up, toLow), min(down, toHigh)
		} else {
			up, down = min(up, toHigh), min(down, toLow)
		}
	}
	return down / scale, up / scale
}

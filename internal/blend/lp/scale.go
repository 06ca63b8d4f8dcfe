package lp

import "math"

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

// Package lp solves linear programmes of few rows and many bounded columns,
// and proves each answer.
//
// It is a revised simplex method with implicit bounds on variables and on
// rows and a dense basis inverse, which suits programmes of ten or twenty
// rows and some hundreds of columns. Further objectives break the ties of the
// first, so that the optimum is unique where the caller wants it to be. Every
// answer is checked against the data as given, not against the solver's own
// state: an optimum by its dual bound, an infeasibility by a combination of
// the rows that no point of the box can satisfy.
//
// Method: V. Chvátal, Linear Programming, 1983, ch. 8 (bounded variables) and
// ch. 9 (duality); R. G. Bland, New finite pivoting rules, Math. Oper. Res. 2
// (1977) 103-107 against cycling.
package lp

import (
	"context"
	"errors"
	"fmt"
	"math"
)

// Entry is one coefficient of a column.
type Entry struct {
	Row   int
	Value float64
}

// Problem asks for the x with Low ≤ x ≤ High and RowLow ≤ A x ≤ RowHigh that
// makes Costs[0]·x least; of those the one that makes Costs[1]·x least; and
// so on. Bounds may be infinite; a row whose two bounds are infinite is free.
type Problem struct {
	Columns         [][]Entry // A, by column
	Low, High       []float64
	RowLow, RowHigh []float64
	Costs           [][]float64
	Typical         []float64 // size of a usual value of each column, above zero; nil: the largest finite bound
}

// typical is the size that column j is scaled by.
func (p *Problem) typical(j int) float64 {
	if p.Typical != nil {
		return p.Typical[j]
	}
	return max(math.Abs(finite(p.Low[j])), math.Abs(finite(p.High[j])))
}

// Status is the outcome of a solve.
type Status int

const (
	Optimal    Status = iota
	Infeasible        // proved by Solution.Ray
	Unbounded
)

func (s Status) String() string { return [...]string{"optimal", "infeasible", "unbounded"}[s] }

// Solution is the outcome with its proof.
type Solution struct {
	Status     Status
	X          []float64 // the optimum, by column
	Value      float64   // of the first objective
	Y          []float64 // price of each row: change of Value per unit that its binding bound moves up
	Reduced    []float64 // price of each column's binding bound, likewise
	Ray        []float64 // when infeasible: multipliers of the rows that prove it
	Iterations int
	Check      Check

	state *simplex
}

// Check is the verification of a solution against the problem as given.
// Each figure is relative to the terms that make it up, or to a millionth of
// the largest that they could be where that is more.
type Check struct {
	Primal float64 // greatest breach of a bound or of a row by X
	Dual   float64 // greatest reduced cost of the wrong sign for an infinite bound
	Gap    float64 // |Value − dual bound|
}

// Tolerance bounds each figure of a Check: some thousands of roundings of
// unit-scaled data, far below a weighing.
const Tolerance = 1e-9

// ErrUnproved is returned when an answer fails its own check even after the
// basis was factored afresh and the safest pivoting rule was used.
var ErrUnproved = errors.New("the programme's answer could not be verified")

// Solve returns the verified answer to p. The error is ErrUnproved, the
// context's, or that of malformed data; an infeasible programme is no error.
func Solve(ctx context.Context, p Problem) (Solution, error) {
	if err := p.validate(); err != nil {
		return Solution{}, err
	}
	for _, careful := range []bool{false, true} {
		s := newSimplex(p, careful)
		status, err := s.run(ctx)
		if err != nil {
			return Solution{}, err
		}
		if sol, ok := s.conclude(p, status); ok {
			return sol, nil
		}
	}
	return Solution{}, ErrUnproved
}

func (p *Problem) validate() error {
	n, m := len(p.Columns), len(p.RowLow)
	if len(p.Low) != n || len(p.High) != n || len(p.RowHigh) != m || len(p.Costs) == 0 {
		return fmt.Errorf("lp: %d columns, %d lower and %d upper bounds, %d and %d row bounds, %d objectives", n, len(p.Low), len(p.High), m, len(p.RowHigh), len(p.Costs))
	}
	if p.Typical != nil && len(p.Typical) != n {
		return fmt.Errorf("lp: typical sizes of %d columns of %d", len(p.Typical), n)
	}
	for _, c := range p.Costs {
		if len(c) != n {
			return fmt.Errorf("lp: objective of %d terms for %d columns", len(c), n)
		}
	}
	for j, column := range p.Columns {
		for _, e := range column {
			if e.Row < 0 || e.Row >= m || math.IsNaN(e.Value) || math.IsInf(e.Value, 0) {
				return fmt.Errorf("lp: column %d, row %d of %d, value %v", j, e.Row, m, e.Value)
			}
		}
		if math.IsNaN(p.Low[j]) || math.IsNaN(p.High[j]) {
			return fmt.Errorf("lp: bound of column %d is not a number", j)
		}
	}
	return nil
}

// check measures x and the prices y against p (weak duality: for any y the
// dual bound is below every feasible value, so a small gap proves both).
func (p *Problem) check(x, y []float64) Check {
	var c Check
	m := len(p.RowLow)
	activity, size, most := make([]float64, m), make([]float64, m), make([]float64, m)
	value, bound, scale, largest := 0.0, 0.0, 0.0, tiny
	top := tiny // largest cost of a variable at its typical size
	for j, v := range x {
		largest = max(largest, math.Abs(v))
		top = max(top, math.Abs(p.Costs[0][j])*p.typical(j))
	}
	for j, column := range p.Columns {
		d := p.Costs[0][j]
		magnitude := math.Abs(d)
		value += d * x[j]
		for _, e := range column {
			activity[e.Row] += e.Value * x[j]
			size[e.Row] += math.Abs(e.Value * x[j])
			most[e.Row] = max(most[e.Row], math.Abs(e.Value))
			d -= y[e.Row] * e.Value
			magnitude += math.Abs(y[e.Row] * e.Value)
		}
		c.Primal = max(c.Primal, breach(x[j], p.Low[j], p.High[j])/max(math.Abs(x[j]), floor*largest))
		noted := max(magnitude, top/max(p.typical(j), tiny))
		term, wrong := least(d, p.Low[j], p.High[j], Tolerance*noted)
		bound += term
		scale += magnitude * max(math.Abs(x[j]), math.Abs(finite(p.Low[j])), math.Abs(finite(p.High[j])))
		c.Dual = max(c.Dual, wrong/noted)
	}
	for r := range m {
		c.Primal = max(c.Primal, breach(activity[r], p.RowLow[r], p.RowHigh[r])/max(size[r], floor*largest*most[r], math.Abs(finite(p.RowLow[r])), math.Abs(finite(p.RowHigh[r])), tiny))
		term, wrong := least(y[r], p.RowLow[r], p.RowHigh[r], 0)
		bound += term
		scale += math.Abs(term)
		c.Dual = max(c.Dual, wrong)
	}
	c.Gap = math.Abs(value-bound) / max(scale, tiny)
	return c
}

const (
	tiny  = 1e-300
	floor = 1e-6
)

// proves reports whether ray shows p to be infeasible: ray·(A x) taken over
// the box of x stays clear of ray·s taken over the box of the rows.
func (p *Problem) proves(ray []float64) bool {
	for _, sign := range []float64{1, -1} {
		sum, scale := 0.0, 0.0
		const rounding = 1e-12 // of the terms of v
		add := func(v, size, low, high float64) {
			t, wrong := least(v, low, high, rounding*size)
			sum += t
			scale += math.Abs(t)
			if wrong > 0 {
				sum = math.Inf(-1)
			}
		}
		for j, column := range p.Columns {
			v, size := 0.0, 0.0
			for _, e := range column {
				v += sign * ray[e.Row] * e.Value
				size += math.Abs(ray[e.Row] * e.Value)
			}
			add(v, size, p.Low[j], p.High[j])
		}
		for r := range p.RowLow {
			add(-sign*ray[r], 0, p.RowLow[r], p.RowHigh[r])
		}
		if sum > 1e-13*scale && sum > 0 {
			return true
		}
	}
	return false
}

// least is the least of d·v over low ≤ v ≤ high; where that is −∞ by a d
// within slack of zero it counts as zero, else |d| is returned as wrong.
func least(d, low, high, slack float64) (term, wrong float64) {
	at := low
	if d < 0 {
		at = high
	}
	switch {
	case d == 0:
		return 0, 0
	case !math.IsInf(at, 0):
		return d * at, 0
	case math.Abs(d) <= slack:
		return 0, 0
	}
	return 0, math.Abs(d)
}

func breach(v, low, high float64) float64 { return max(low-v, v-high, 0) }

func finite(v float64) float64 {
	if math.IsInf(v, 0) {
		return 0
	}
	return v
}

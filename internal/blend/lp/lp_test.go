package lp

import (
	"context"
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	gonum "gonum.org/v1/gonum/optimize/convex/lp"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// agree bounds the difference of two solvers' optima, relative to the terms:
// the tolerance that either claims.
const agree = 1e-7

// drawn is a random programme of small integers, which makes ties, redundant
// rows and degenerate vertices common.
func drawn(t *rapid.T, maxColumns, maxRows int) Problem {
	n, m := rapid.IntRange(1, maxColumns).Draw(t, "columns"), rapid.IntRange(1, maxRows).Draw(t, "rows")
	small := rapid.IntRange(-4, 4)
	p := Problem{Columns: make([][]Entry, n), Costs: [][]float64{make([]float64, n)}}
	for j := range n {
		for r := range m {
			if v := small.Draw(t, "a"); v != 0 {
				p.Columns[j] = append(p.Columns[j], Entry{r, float64(v)})
			}
		}
		p.Costs[0][j] = float64(small.Draw(t, "c"))
		p.Low = append(p.Low, 0)
		p.High = append(p.High, float64(rapid.IntRange(0, 6).Draw(t, "high")))
	}
	for range m {
		low := float64(rapid.IntRange(-8, 8).Draw(t, "low"))
		high := low + float64(rapid.IntRange(0, 6).Draw(t, "width"))
		switch rapid.IntRange(0, 3).Draw(t, "kind") {
		case 0:
			low = math.Inf(-1)
		case 1:
			high = math.Inf(1)
		case 2:
			high = low
		}
		p.RowLow, p.RowHigh = append(p.RowLow, low), append(p.RowHigh, high)
	}
	return p
}

// TestVertices compares with the best of all vertices, found by solving every
// choice of n tight limits: a method that shares nothing with the simplex.
func TestVertices(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawn(t, 4, 3)
		sol, err := Solve(context.Background(), p)
		require.NoError(t, err)
		best, found := bestVertex(p)
		if !found {
			require.Equal(t, Infeasible, sol.Status)
			return
		}
		require.Equal(t, Optimal, sol.Status)
		require.InDelta(t, best, sol.Value, agree*(1+math.Abs(best)))
	})
}

func bestVertex(p Problem) (best float64, found bool) {
	n, m := len(p.Low), len(p.RowLow)
	type plane struct {
		a []float64
		b float64
	}
	var planes []plane
	rows := make([][]float64, m)
	for r := range rows {
		rows[r] = make([]float64, n)
	}
	for j, column := range p.Columns {
		unit := make([]float64, n)
		unit[j] = 1
		planes = append(planes, plane{unit, p.Low[j]}, plane{unit, p.High[j]})
		for _, e := range column {
			rows[e.Row][j] = e.Value
		}
	}
	for r, a := range rows {
		for _, b := range []float64{p.RowLow[r], p.RowHigh[r]} {
			if !math.IsInf(b, 0) {
				planes = append(planes, plane{a, b})
			}
		}
	}
	best = math.Inf(1)
	var choose func(from int, chosen []plane)
	choose = func(from int, chosen []plane) {
		if len(chosen) == n {
			a, b := mat.NewDense(n, n, nil), mat.NewVecDense(n, nil)
			for i, c := range chosen {
				a.SetRow(i, c.a)
				b.SetVec(i, c.b)
			}
			var x mat.VecDense
			if x.SolveVec(a, b) != nil {
				return
			}
			value := 0.0
			for j := range n {
				if breach(x.AtVec(j), p.Low[j], p.High[j]) > 1e-9 {
					return
				}
				value += p.Costs[0][j] * x.AtVec(j)
			}
			for r, a := range rows {
				if breach(mat.Dot(mat.NewVecDense(n, a), &x), p.RowLow[r], p.RowHigh[r]) > 1e-9 {
					return
				}
			}
			best, found = min(best, value), true
			return
		}
		for i := from; i < len(planes); i++ {
			choose(i+1, append(chosen[:len(chosen):len(chosen)], planes[i]))
		}
	}
	choose(0, nil)
	return best, found
}

// TestAgainstGonum compares with an independent library where that library
// gives an answer. It is known to call feasible programmes infeasible
// (gonum/gonum#1914) and to fail on dependent rows, so its refusals prove
// nothing; its optima do.
func TestAgainstGonum(t *testing.T) {
	compared, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		p := drawn(t, 9, 5)
		sol, err := Solve(context.Background(), p)
		require.NoError(t, err)
		value, err := byGonum(p)
		switch {
		case err == nil:
			compared++
			require.Equal(t, Optimal, sol.Status, "the library finds %v", value)
			require.InDelta(t, value, sol.Value, agree*(1+math.Abs(value)))
		case sol.Status == Optimal:
			refused++
			require.LessOrEqual(t, sol.Check.Primal, Tolerance)
		case errors.Is(err, gonum.ErrInfeasible):
			compared++
		}
	})
	t.Logf("compared %d; the library refused %d that are proved feasible", compared, refused)
	require.Positive(t, compared)
}

// byGonum writes p as min c·x, A x = b, x ≥ 0 with a slack for each limit.
func byGonum(p Problem) (value float64, err error) {
	defer func() {
		if r := recover(); r != nil {
			err = errors.New("panic")
		}
	}()
	n, m := len(p.Low), len(p.RowLow)
	type limit struct {
		a     []float64
		b     float64
		slack float64
	}
	var limits []limit
	rows := make([][]float64, m)
	for r := range rows {
		rows[r] = make([]float64, n)
	}
	for j, column := range p.Columns {
		for _, e := range column {
			rows[e.Row][j] = e.Value
		}
		unit := make([]float64, n)
		unit[j] = 1
		limits = append(limits, limit{unit, p.High[j], 1})
	}
	for r, a := range rows {
		switch {
		case p.RowLow[r] == p.RowHigh[r]:
			limits = append(limits, limit{a, p.RowLow[r], 0})
		default:
			if !math.IsInf(p.RowLow[r], 0) {
				limits = append(limits, limit{a, p.RowLow[r], -1})
			}
			if !math.IsInf(p.RowHigh[r], 0) {
				limits = append(limits, limit{a, p.RowHigh[r], 1})
			}
		}
	}
	width := n
	for _, l := range limits {
		if l.slack != 0 {
			width++
		}
	}
	a, b, c := mat.NewDense(len(limits), width, nil), make([]float64, len(limits)), make([]float64, width)
	copy(c, p.Costs[0])
	next := n
	for i, l := range limits {
		for j, v := range l.a {
			a.Set(i, j, v)
		}
		if l.slack != 0 {
			a.Set(i, next, l.slack)
			next++
		}
		b[i] = l.b
	}
	value, _, err = gonum.Simplex(c, a, b, 1e-10, nil)
	return value, err
}

// TestCycling is Beale's programme, on which the plain largest-coefficient
// rule cycles for ever; its optimum is −1/20 (E. M. L. Beale, Nav. Res.
// Logist. Q. 2, 1955, from memory; the optimum by the corner x3 = 1, x1 = 1/25).
func TestCycling(t *testing.T) {
	inf := math.Inf(1)
	p := Problem{
		Columns: [][]Entry{{{0, .25}, {1, .5}}, {{0, -60}, {1, -90}}, {{0, -1. / 25}, {1, -1. / 50}, {2, 1}}, {{0, 9}, {1, 3}}},
		Low:     make([]float64, 4), High: []float64{inf, inf, inf, inf},
		RowLow: []float64{-inf, -inf, -inf}, RowHigh: []float64{0, 0, 1},
		Costs: [][]float64{{-.75, 150, -.02, 6}},
	}
	sol, err := Solve(context.Background(), p)
	require.NoError(t, err)
	require.InDelta(t, -0.05, sol.Value, 1e-12)
}

// TestFurtherObjectives: the second objective chooses among the optima of the
// first and never worsens it.
func TestFurtherObjectives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawn(t, 6, 3)
		first, err := Solve(context.Background(), p)
		require.NoError(t, err)
		if first.Status != Optimal {
			return
		}
		second := make([]float64, len(p.Low))
		for j := range second {
			second[j] = float64(rapid.IntRange(-4, 4).Draw(t, "second"))
		}
		both := p
		both.Costs = [][]float64{p.Costs[0], second}
		sol, err := Solve(context.Background(), both)
		require.NoError(t, err)
		require.InDelta(t, first.Value, sol.Value, agree*(1+math.Abs(first.Value)))
		// The same by adding the first objective as a row.
		pinned := p
		pinned.Costs = [][]float64{second}
		pinned.RowLow = append(append([]float64{}, p.RowLow...), math.Inf(-1))
		pinned.RowHigh = append(append([]float64{}, p.RowHigh...), first.Value+1e-9)
		pinned.Columns = make([][]Entry, len(p.Columns))
		for j, c := range p.Columns {
			pinned.Columns[j] = append(append([]Entry{}, c...), Entry{len(p.RowLow), p.Costs[0][j]})
		}
		want, err := Solve(context.Background(), pinned)
		require.NoError(t, err)
		require.InDelta(t, want.Value, dot(second, sol.X), 1e-6*(1+math.Abs(want.Value)))
	})
}

// TestReach: within its reach the price of a bound predicts the new optimum.
func TestReach(t *testing.T) {
	moved := 0
	rapid.Check(t, func(t *rapid.T) {
		p := drawn(t, 6, 4)
		sol, err := Solve(context.Background(), p)
		require.NoError(t, err)
		if sol.Status != Optimal {
			return
		}
		for r, y := range sol.Y {
			down, up := sol.RowReach(r)
			for _, by := range []float64{-min(down, 1), min(up, 1)} {
				if y == 0 || by == 0 {
					continue
				}
				q := p
				q.RowLow, q.RowHigh = append([]float64{}, p.RowLow...), append([]float64{}, p.RowHigh...)
				switch {
				case p.RowLow[r] == p.RowHigh[r]:
					q.RowLow[r], q.RowHigh[r] = p.RowLow[r]+by, p.RowHigh[r]+by
				case y > 0:
					q.RowLow[r] += by
				default:
					q.RowHigh[r] += by
				}
				if q.RowLow[r] > q.RowHigh[r] {
					continue
				}
				next, err := Solve(context.Background(), q)
				require.NoError(t, err)
				require.Equal(t, Optimal, next.Status)
				require.InDelta(t, sol.Value+y*by, next.Value, agree*(1+math.Abs(sol.Value)))
				moved++
			}
		}
	})
	require.Positive(t, moved)
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

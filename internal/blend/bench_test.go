package blend

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"gonum.org/v1/gonum/mat"
	gonum "gonum.org/v1/gonum/optimize/convex/lp"

	"pourwright/internal/blend/lp"
	"pourwright/internal/metal"
)

// drawer is n lots of the given number of elements, spread evenly over
// finenesses by a fixed low-discrepancy sequence; the melt takes half of all.
func drawer(n, elements int) Programme {
	symbols := []string{"Ag", "Cu", "Zn", "Sn", "Ni", "Fe", "Mn", "Si", "Sb", "Bi"}[:elements]
	p := Programme{Objective: LeastBought}
	total := 0.0
	for k := range n {
		u, v := fraction(float64(k+1)*0.754877666), fraction(float64(k+1)*0.569840291) // Roberts' sequence
		lot := Lot{ID: fmt.Sprint("lot ", k), StockG: 5 + 40*v, Owner: "client", Least: metal.Composition{}, Most: metal.Composition{}}
		fine := 0.70 + 0.25*u
		lot.Least["Ag"], lot.Most["Ag"] = fine-0.01*v, fine
		for i, e := range symbols[2:] {
			most := 0.008 * fraction(float64(k*elements+i+1)*0.618033989)
			lot.Most[e] = most
		}
		lot.Most["Cu"], lot.Least["Cu"] = 1-lot.Least["Ag"], 0
		total += lot.StockG
		p.Lots = append(p.Lots, lot)
	}
	p.Lots = append(p.Lots, DefaultAdditions("silver")...)
	melt := Melt{Metal: "Ag", Fineness: .925, LeastG: total / 2, MostG: total / 2, ScrapShare: 1}
	for _, e := range symbols[2:] {
		melt.Limits = append(melt.Limits, Limit{e, 0, .0035})
	}
	p.Melts = []Melt{melt}
	return p
}

func fraction(v float64) float64 { return v - float64(int(v)) }

// BenchmarkProgramme grows the drawer of scrap; BenchmarkLibrary is the
// general-purpose library on the same programmes, for comparison.
func BenchmarkProgramme(b *testing.B) {
	for _, size := range []struct{ lots, elements int }{{12, 8}, {50, 10}, {120, 10}, {250, 10}, {500, 10}} {
		b.Run(fmt.Sprintf("lots=%d", size.lots), func(b *testing.B) {
			p := drawer(size.lots, size.elements)
			b.ReportAllocs()
			for b.Loop() {
				plan, err := p.Solve(context.Background())
				if err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(float64(plan.Iterations), "pivots")
			}
		})
	}
}

func BenchmarkLibrary(b *testing.B) {
	for _, size := range []struct{ lots, elements int }{{12, 8}, {50, 10}} {
		b.Run(fmt.Sprintf("lots=%d", size.lots), func(b *testing.B) {
			p := drawer(size.lots, size.elements)
			q := p.model().problem
			for b.Loop() {
				if _, err := standard(q.Problem); err != nil {
					b.Skip("the library gives no answer: ", err)
				}
			}
		})
	}
}

// standard solves q by the library: slacks for rows and for finite bounds.
func standard(q lp.Problem) (float64, error) {
	n, m := len(q.Columns), len(q.RowLow)
	bounded := 0
	for _, h := range q.High {
		if h < 1e9 {
			bounded++
		}
	}
	width := n + bounded
	for r := range m {
		if q.RowLow[r] != q.RowHigh[r] {
			width++
		}
	}
	a, rhs, c := mat.NewDense(m+bounded, width, nil), make([]float64, m+bounded), make([]float64, width)
	copy(c, q.Costs[0])
	next, at := n, m
	for j, column := range q.Columns {
		for _, e := range column {
			a.Set(e.Row, j, e.Value)
		}
		if q.High[j] < 1e9 {
			a.Set(at, j, 1)
			a.Set(at, next, 1)
			rhs[at] = q.High[j]
			next++
			at++
		}
	}
	for r := range m {
		switch {
		case q.RowLow[r] == q.RowHigh[r]:
			rhs[r] = q.RowLow[r]
			continue
		case q.RowLow[r] > -1e9:
			a.Set(r, next, -1)
			rhs[r] = q.RowLow[r]
		default:
			a.Set(r, next, 1)
			rhs[r] = q.RowHigh[r]
		}
		next++
	}
	value, _, err := gonum.Simplex(c, a, rhs, 1e-10, nil)
	return value, err
}

// BenchmarkRequest is a whole request: reading, programme, rounding, prices
// and words.
func BenchmarkRequest(b *testing.B) {
	for _, lots := range []int{3, 12, 500} {
		b.Run(fmt.Sprintf("lots=%d", lots), func(b *testing.B) {
			in := In{Target{FinenessPermil: 925}, Stock{}}
			total := 0.0
			for k := range lots {
				u := fraction(float64(k+1) * 0.754877666)
				in.Lots = append(in.Lots, SourceLot{MassG: 10 + 40*u, FinenessLow: at(700 + 240*u), FinenessHigh: at(710 + 240*u)})
				total += 10 + 40*u
			}
			in.MassG = at(total / 2)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Solve(context.Background(), in); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkRefusal is the explanation of a conflict.
func BenchmarkRefusal(b *testing.B) {
	for _, lots := range []int{12, 500} {
		b.Run(fmt.Sprintf("lots=%d", lots), func(b *testing.B) {
			p := drawer(lots, 8)
			p.Lots = p.Lots[:lots] // nothing to be bought
			for b.Loop() {
				_, err := p.Solve(context.Background())
				var c *Conflict
				if !errors.As(err, &c) {
					b.Fatal(err)
				}
				if _, err := c.Irreducible(context.Background()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

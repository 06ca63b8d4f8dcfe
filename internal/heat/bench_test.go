package heat

import (
	"context"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/mesh"
	"pourwright/internal/section"
)

// clayOnly is a block of clay of n³ cells with a grain of metal in a corner.
func clayOnly(b *testing.B, n int) *solver {
	g := Grid{D: 0.3, N: [3]int{n, n, n}}
	a := pure(solid, melt, 1050)
	body, err := newBody(context.Background(), g, mesh.Box(r3.Vec{X: 0.3, Y: 0.3, Z: 0.3}, r3.Vec{X: 0.9, Y: 0.9, Z: 0.9}), nil, func(r3.Vec) float64 { return 1e6 })
	require.NoError(b, err)
	s := newSolver(runtime.GOMAXPROCS(0), body, &a, Clay{mould, t0}, func(float32) float64 { return 800 }, latent)
	b.Cleanup(s.crew.dismiss)
	return s
}

// The clay's stage: 16 bytes of memory traffic a cell and stage (td, te and
// tl read, te written; its neighbours come from the cache). Compare Mcells/s
// and GB/s with the triad, the most that memory gives, and with the plain loop.
func BenchmarkClay(b *testing.B) {
	const n = 160
	s := clayOnly(b, n)
	c := stage{mu: 1, nu: -0.2, muTau: 1e-3, gammaTau: 1e-4}
	for i := range s.td { // touch the memory first
		s.td[i], s.te[i], s.tl[i] = 1, 1, 1
	}
	cells := s.clayCount() - len(s.odd)
	for b.Loop() {
		s.crew.each(len(s.t), func(w int) { s.rowStage(&c, false, s.rowsOf[w]) })
		s.td, s.te = s.te, s.td
	}
	report(b, cells, 16)
}

// BenchmarkClayPlainLoop is the same stage as three nested loops over an
// indexed array on one core.
func BenchmarkClayPlainLoop(b *testing.B) {
	const n = 160
	td, te, tl := make([]float32, n*n*n), make([]float32, n*n*n), make([]float32, n*n*n)
	for i := range td {
		td[i], te[i], tl[i] = 1, 1, 1
	}
	at := func(i, j, k int) int { return (k*n+j)*n + i }
	for b.Loop() {
		for k := 1; k < n-1; k++ {
			for j := 1; j < n-1; j++ {
				for i := 1; i < n-1; i++ {
					c := at(i, j, k)
					te[c] = 0.9*td[c] + 0.01*(td[at(i-1, j, k)]+td[at(i+1, j, k)]+td[at(i, j-1, k)]+td[at(i, j+1, k)]+td[at(i, j, k-1)]+td[at(i, j, k+1)]) - 0.2*te[c] + 1e-3*tl[c]
				}
			}
		}
		td, te = te, td
	}
	report(b, (n-2)*(n-2)*(n-2), 16)
}

// BenchmarkTriad is what memory gives: a = b + s·c on all cores, 12 bytes each
// without counting the line that is fetched to be written.
func BenchmarkTriad(b *testing.B) {
	const n = 160 * 160 * 160
	x, y, z := make([]float32, n), make([]float32, n), make([]float32, n)
	for i := range x {
		x[i], y[i], z[i] = 1, 1, 1
	}
	c := newCrew(runtime.GOMAXPROCS(0))
	defer c.dismiss()
	for b.Loop() {
		c.each(n, func(w int) {
			from, to := n*w/c.size, n*(w+1)/c.size
			x, y, z := x[from:to], y[from:to], z[from:to]
			for i := range x {
				x[i] = y[i] + 0.5*z[i]
			}
		})
	}
	report(b, n, 12)
}

// BenchmarkMetal is the metal's stage: 32 bytes a node of whole metal.
func BenchmarkMetal(b *testing.B) {
	const n = 60
	g := Grid{D: 0.3, N: [3]int{n, n, n}}
	a := pure(solid, melt, 1050)
	body, err := newBody(context.Background(), g, mesh.Box(r3.Vec{X: 1, Y: 1, Z: 1}, r3.Vec{X: 16, Y: 16, Z: 16}), nil, func(r3.Vec) float64 { return 1 })
	require.NoError(b, err)
	s := newSolver(runtime.GOMAXPROCS(0), body, &a, Clay{mould, t0}, func(float32) float64 { return 800 }, latent)
	defer s.crew.dismiss()
	c := stage{mu: 1, nu: -0.2, muTau: 1e-9, gammaTau: 1e-9}
	for b.Loop() {
		s.crew.each(len(s.h), func(w int) {
			s.spanStage(&c, false, s.spansOf[w])
		})
	}
	report(b, len(s.h)-len(s.edges), 32)
}

func report(b *testing.B, cells int, bytes float64) {
	perSecond := float64(cells) * float64(b.N) / b.Elapsed().Seconds()
	b.ReportMetric(perSecond/1e6, "Mcells/s")
	b.ReportMetric(perSecond*bytes/1e9, "GB/s")
	b.ReportMetric(float64(runtime.GOMAXPROCS(0)), "cores")
}

func bangle() FreezeIn {
	return band(60, 0.26, section.Station{Section: section.Section{Shape: section.HalfRound, ThicknessMM: 2.2, WidthMM: 6}})
}

// BenchmarkBangle freezes a bangle of about a million cells, with sprue and button.
func BenchmarkBangle(b *testing.B) { benchmarkFreeze(b, bangle()) }

// BenchmarkRing freezes a ring as it is asked for without a word on cells: the
// sprue proposed, the error estimated.
func BenchmarkRing(b *testing.B) {
	in := band(17.5, 0, at(0, 1.8, 4))
	in.CellMM, in.SprueMM, in.ButtonMM, in.SprueLongMM, in.EstimateError = nil, nil, nil, 8, true
	benchmarkFreeze(b, in)
}

func benchmarkFreeze(b *testing.B, in FreezeIn) {
	for b.Loop() {
		out, err := Freeze(context.Background(), in)
		require.NoError(b, err)
		b.ReportMetric(float64(out.Grid.Cells), "cells")
		b.ReportMetric(float64(out.Grid.Steps), "steps")
	}
}

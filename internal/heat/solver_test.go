package heat

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/heat/exact"
	"pourwright/internal/mesh"
)

// A silver-like metal of constant properties, for which exact answers exist.
var (
	solid  = exact.Material{K: 360, Rho: 9700, C: 297}
	liquid = exact.Material{K: 360, Rho: 9700, C: 297}
	mould  = exact.Material{K: 0.6, Rho: 1600, C: 1170}
)

const latent, tm, t0 = 104.7e3, 961.78, 25.0

// pure returns the metal with its enthalpy counted from the solid at tm.
func pure(solid, liquid exact.Material, upTo float64) Alloy {
	enthalpy := func(t float64) float64 {
		if t <= tm {
			return solid.C * (t - tm)
		}
		return latent + liquid.C*(t-tm)
	}
	temperature := func(h float64) float64 { return tm + math.Min(h, 0)/solid.C + math.Max(h-latent, 0)/liquid.C }
	k := func(t float64) float64 {
		if t <= tm {
			return solid.K
		}
		return liquid.K
	}
	return NewAlloy(solid.Rho, tm, tm, upTo, enthalpy, temperature, func(t float64) float64 { return 0 }, k)
}

// freeze freezes what is in the grid and returns the solver and what it kept.
func freeze(t testing.TB, g Grid, m *mesh.Mesh, a Alloy, clay exact.Material, h, startH, first, rel float64) (*solver, *history) {
	t.Helper()
	b, err := newBody(context.Background(), g, m, nil, func(r3.Vec) float64 { return 1e6 })
	require.NoError(t, err)
	s := newSolver(b, &a, Clay{clay, t0}, func(float32) float64 { return h }, startH)
	t.Cleanup(s.crew.dismiss)
	r, err := s.march(context.Background(), plan{first: first, rel: rel, limit: 1e4, close: a.enthalpyAt(0.7)})
	require.NoError(t, err)
	require.True(t, r.done)
	return s, r
}

func (r *history) last() float64 {
	most := 0.0
	for _, t := range r.frozen {
		most = max(most, float64(t))
	}
	return most
}

// slab is a plate from −a to a across a row of cells, off the grid by shift cells.
func slab(a, d, depth, shift float64) (Grid, *mesh.Mesh) {
	g := around(r3.Vec{X: -a - depth}, r3.Vec{X: a + depth, Y: d, Z: d}, d, 0)
	g.Low.X += shift * d
	return g, mesh.Box(r3.Vec{X: -a, Y: -9, Z: -9}, r3.Vec{X: a, Y: 9, Z: 9})
}

func radial(shape exact.Shape, radius, h float64) exact.Freezing {
	return exact.Freezing{Shape: shape, Radius: radius * 1e-3, Rho: solid.Rho, K: solid.K, Mould: mould, H: h, Start: latent, MouldStart: t0,
		Temperature: func(h float64) float64 { return tm + math.Min(h, 0)/solid.C + math.Max(h-latent, 0)/liquid.C }}
}

func TestTMP(t *testing.T) {
	for _, h := range []float64{1e5, 1000} {
		f := radial(exact.Cylinder, 2, h)
		ref := f.Radial(40, 200)
		for _, d := range []float64{0.8, 0.5, 0.333, 0.2} {
			g := around(r3.Vec{X: -12, Y: -12}, r3.Vec{X: 12, Y: 12, Z: d}, d, 0)
			m := mesh.Frustum(r3.Vec{Z: -9}, r3.Vec{Z: 9}, 2, 2, 400)
			s, r := freeze(t, g, m, pure(solid, liquid, 1000), mould, h, latent, 0.01, 0.02)
			t.Logf("cylinder h %g d %g: %.5f (exact %.5f) err %.3f %% steps %d stages %d drift %.1e area %.5f nodes %d", h, d, r.last(), ref, 100*(r.last()/ref-1), r.steps, r.maxStages, r.drift, s.area/(2*math.Pi*2*d), len(s.h))
		}
		f = radial(exact.Sphere, 3, h)
		ref = f.Radial(40, 200)
		for _, d := range []float64{1, 0.6, 0.4} {
			g := around(r3.Vec{X: -12, Y: -12, Z: -12}, r3.Vec{X: 12, Y: 12, Z: 12}, d, 0)
			m := mesh.Sphere(r3.Vec{}, 3, 5)
			s, r := freeze(t, g, m, pure(solid, liquid, 1000), mould, h, latent, 0.01, 0.02)
			t.Logf("sphere h %g d %g: %.5f (exact %.5f) err %.3f %% steps %d stages %d drift %.1e area %.5f nodes %d", h, d, r.last(), ref, 100*(r.last()/ref-1), r.steps, r.maxStages, r.drift, s.area/(4*math.Pi*9), len(s.h))
		}
	}
}

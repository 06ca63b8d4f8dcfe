package exact

import (
	"math"
	"sort"
)

// Freezing is the freezing of a plate, cylinder or sphere in a thick mould
// through a contact coefficient: no closed answer is known, so Radial finds it
// on a one-dimensional grid, implicitly in time.
type Freezing struct {
	Shape       Shape
	Radius      float64                        // half-thickness or radius, m
	Rho, K      float64                        // of the metal; one conductivity
	Temperature func(enthalpy float64) float64 // °C of J/kg, rising, not strictly
	Mould       Material
	H           float64 // contact coefficient, W/(m² K); +Inf for perfect contact
	Start, End  float64 // enthalpy poured and enthalpy at which the last liquid is gone, J/kg
	MouldStart  float64 // °C
}

// Radial returns the time in s at which the last of the metal is solid, with
// the given number of cells in the metal; the mould has cells that widen
// outwards. Implicit Euler in √t, each step solved by Newton's method, the
// whole extrapolated from n and 2n steps.
func (f Freezing) Radial(cells, steps int) float64 {
	coarse, fine := f.march(cells, steps), f.march(cells, 2*steps)
	return 2*fine - coarse
}

// march runs to the end of freezing with a first guess of the duration.
func (f Freezing) march(cells, steps int) float64 {
	guess := f.planarTime()
	g := f.grid(cells, guess)
	before, now := 0.0, 0.0
	for n := 1; ; n++ {
		before, now = now, guess*math.Pow(float64(n)/float64(steps), 2)
		start := append([]float64(nil), g.state...)
		if g.step(now - before); g.hottest() > f.End {
			continue
		}
		// The step that ends it: halve it until the moment is known to 1/1000 of a step.
		for part := (now - before) / 2; part > (now-before)/1000; part /= 2 {
			copy(g.state, start)
			if g.step(part); g.hottest() > f.End {
				before += part
				copy(start, g.state)
			}
		}
		return before
	}
}

// planarTime is the time by the mould-controlled law with the contact added.
func (f Freezing) planarTime() float64 {
	modulus := f.Radius / float64(f.Shape+1)
	q := f.Rho * (f.Start - f.End) * modulus
	dt := f.Temperature(f.End) - f.MouldStart
	return math.Pi/4*math.Pow(q/(dt*f.Mould.Effusivity()), 2) + q/(f.H*dt)
}

type radialGrid struct {
	f          Freezing
	metal      int
	volume     []float64 // per cell, per unit angle or area
	g          []float64 // conductance between cell i and i+1
	state      []float64 // enthalpy J/kg in the metal, °C in the mould
	a, b, c, r []float64
}

func (f Freezing) grid(metal int, guess float64) *radialGrid {
	dx := f.Radius / float64(metal)
	faces := []float64{0}
	for i := range metal {
		faces = append(faces, float64(i+1)*dx)
	}
	reach := f.Radius + 10*math.Sqrt(f.Mould.Diffusivity()*guess)
	for width := math.Sqrt(f.Mould.Diffusivity()*guess) / float64(metal); faces[len(faces)-1] < reach; width *= 1 + 1/float64(metal) {
		faces = append(faces, faces[len(faces)-1]+width)
	}
	n := len(faces) - 1
	area := func(r float64) float64 { return math.Pow(r, float64(f.Shape)) }
	s := &radialGrid{f: f, metal: metal, volume: make([]float64, n), g: make([]float64, n),
		state: make([]float64, n), a: make([]float64, n), b: make([]float64, n), c: make([]float64, n), r: make([]float64, n)}
	d := float64(f.Shape) + 1
	half := func(i int) float64 { // resistance from the middle of cell i to a face, per area
		k := f.Mould.K
		if i < metal {
			k = f.K
		}
		return (faces[i+1] - faces[i]) / 2 / k
	}
	for i := range n {
		s.volume[i] = (math.Pow(faces[i+1], d) - math.Pow(faces[i], d)) / d
		s.state[i] = f.MouldStart
		if i < metal {
			s.state[i] = f.Start
		}
		if i+1 < n {
			resistance := half(i) + half(i+1)
			if i == metal-1 {
				resistance += 1 / f.H
			}
			s.g[i] = area(faces[i+1]) / resistance
		}
	}
	return s
}

// temperature and slope of cell i.
func (s *radialGrid) temperature(i int, v float64) (t, slope float64) {
	if i >= s.metal {
		return v, 1
	}
	const dh = 1.0 // J/kg
	return s.f.Temperature(v), (s.f.Temperature(v+dh) - s.f.Temperature(v-dh)) / (2 * dh)
}

// step advances by dt: (v − v0) C/dt = Σ g (T_j − T_i), Newton on v.
func (s *radialGrid) step(dt float64) {
	n := len(s.state)
	old := append([]float64(nil), s.state...)
	t, slope := make([]float64, n), make([]float64, n)
	for range 60 {
		for i := range n {
			t[i], slope[i] = s.temperature(i, s.state[i])
		}
		worst := 0.0
		for i := range n {
			c := s.f.Mould.Rho * s.f.Mould.C
			if i < s.metal {
				c = s.f.Rho
			}
			c *= s.volume[i] / dt
			s.r[i], s.a[i], s.b[i], s.c[i] = -c*(s.state[i]-old[i]), 0, c, 0
			if i > 0 {
				s.r[i] += s.g[i-1] * (t[i-1] - t[i])
				s.a[i] = -s.g[i-1] * slope[i-1]
				s.b[i] += s.g[i-1] * slope[i]
			}
			if i+1 < n {
				s.r[i] += s.g[i] * (t[i+1] - t[i])
				s.c[i] = -s.g[i] * slope[i+1]
				s.b[i] += s.g[i] * slope[i]
			}
		}
		thomas(s.a, s.b, s.c, s.r)
		for i := range n {
			s.state[i] += s.r[i]
			scale := 1e-9
			if i < s.metal {
				scale = 1e-12
			}
			worst = math.Max(worst, math.Abs(s.r[i])*scale)
		}
		if worst < 1e-8 {
			return
		}
	}
}

// hottest returns the highest enthalpy left in the metal.
func (s *radialGrid) hottest() float64 {
	h := append([]float64(nil), s.state[:s.metal]...)
	sort.Float64s(h)
	return h[len(h)-1]
}

// thomas solves a tridiagonal system in place; the answer is left in r.
func thomas(a, b, c, r []float64) {
	for i := 1; i < len(b); i++ {
		w := a[i] / b[i-1]
		b[i] -= w * c[i-1]
		r[i] -= w * r[i-1]
	}
	for i := len(b) - 1; i >= 0; i-- {
		if i+1 < len(b) {
			r[i] -= c[i] * r[i+1]
		}
		r[i] /= b[i]
	}
}

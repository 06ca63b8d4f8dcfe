package shock

import (
	"fmt"
	"math"
	"sort"
)

// Caloric is how temperature follows from heat content: straight between its
// points, never falling, continued beyond them.
type Caloric struct{ h, t []float64 } // J/kg, °C

// Constant is the caloric curve of a constant specific heat in J/(kg K).
func Constant(c float64) Caloric { return Caloric{[]float64{0, 1000 * c}, []float64{0, 1000}} }

// Curve tabulates t(h) at n points from lo to hi, in J/kg.
func Curve(lo, hi float64, n int, t func(h float64) float64) Caloric {
	c := Caloric{make([]float64, n), make([]float64, n)}
	for i := range n {
		c.h[i] = lo + (hi-lo)*float64(i)/float64(n-1)
		c.t[i] = t(c.h[i])
	}
	return c
}

// At returns the temperature at a heat content, and its slope.
func (c *Caloric) At(h float64) (t, slope float64) {
	i := 1
	if n := len(c.h); n > 2 { // evenly spaced: Curve
		i = min(max(1+int((h-c.h[0])/(c.h[1]-c.h[0])), 1), n-1)
	}
	slope = (c.t[i] - c.t[i-1]) / (c.h[i] - c.h[i-1])
	return c.t[i-1] + slope*(h-c.h[i-1]), slope
}

// Of returns a heat content at a temperature.
func (c *Caloric) Of(t float64) float64 {
	i := min(max(sort.SearchFloat64s(c.t, t), 1), len(c.t)-1)
	slope := (c.t[i] - c.t[i-1]) / (c.h[i] - c.h[i-1])
	if slope == 0 {
		return c.h[i]
	}
	return c.h[i-1] + (t-c.t[i-1])/slope
}

// Layer is a layer of one material, from the inside outwards.
type Layer struct {
	Thickness float64 // m
	Cells     int
	Stretch   float64 // ratio of each cell's width to the one before; 1 for even cells
	K, Rho    float64 // W/(m K), kg/m³
	Heat      Caloric
	Start     float64 // °C
	Contact   float64 // W/(m² K) to the layer inside it; +Inf for perfect contact
}

// Stack is layers that exchange heat along one coordinate. Finite volumes,
// backward Euler, Newton's method on the heat content: heat is conserved to
// rounding, and freezing at one temperature needs no special case.
type Stack struct {
	T       []float64 // °C at the cells' centres
	Volume  []float64 // m³
	First   []int     // index of each layer's first cell, and the end
	h, old  []float64 // J/kg
	mass    []float64 // kg
	g       []float64 // W/K between cell i−1 and i; g[n] to the surroundings
	heat    []*Caloric
	outside float64
	slope   []float64
	diag    []float64
	upper   []float64
	rhs     []float64
}

// NewStack builds the layers. area(r) is the area in m² at coordinate r in m;
// the outermost face meets surroundings at outsideC through h W/(m² K), 0 for none.
func NewStack(layers []Layer, area func(r float64) float64, h, outsideC float64) *Stack {
	n := 0
	for _, l := range layers {
		n += l.Cells
	}
	make1 := func() []float64 { return make([]float64, n) }
	s := &Stack{T: make1(), Volume: make1(), h: make1(), old: make1(), mass: make1(), slope: make1(),
		diag: make1(), upper: make1(), rhs: make1(), g: make([]float64, n+1), heat: make([]*Caloric, n), outside: outsideC}
	r, i, inner := 0.0, 0, math.Inf(1) // inner: resistance from the last centre to its outer face
	for j := range layers {
		l := &layers[j]
		s.First = append(s.First, i)
		width := l.Thickness / float64(l.Cells)
		if l.Stretch != 1 {
			width = l.Thickness * (l.Stretch - 1) / (math.Pow(l.Stretch, float64(l.Cells)) - 1)
		}
		for k := range l.Cells {
			resistance := inner + width/2/l.K
			if k == 0 {
				resistance += 1 / l.Contact
			}
			s.g[i] = area(r) / resistance
			s.Volume[i] = width / 6 * (area(r) + 4*area(r+width/2) + area(r+width))
			s.mass[i], s.heat[i], s.T[i], s.h[i] = s.Volume[i]*l.Rho, &l.Heat, l.Start, l.Heat.Of(l.Start)
			r, i, inner, width = r+width, i+1, width/2/l.K, width*l.Stretch
		}
	}
	s.First = append(s.First, n)
	s.g[0] = 0 // the axis
	if h > 0 {
		s.g[n] = area(r) / (inner + 1/h)
	}
	return s
}

// Step advances by dt seconds.
func (s *Stack) Step(dt float64) error {
	copy(s.old, s.h)
	n := len(s.h)
	scale := 0.0 // J: the heat that one kelvin would be, over all cells
	for i := range n {
		t, slope := s.heat[i].At(s.h[i])
		s.T[i], s.slope[i] = t, slope
		scale = max(scale, s.mass[i]*math.Abs(s.h[i])*1e-9)
	}
	for range 40 {
		worst := s.assemble(dt)
		if worst <= scale {
			return nil
		}
		s.solve(dt)
		for i := range n {
			s.h[i] += s.rhs[i]
			s.T[i], s.slope[i] = s.heat[i].At(s.h[i])
		}
	}
	if worst := s.assemble(dt); worst > 1e4*scale {
		return fmt.Errorf("heat balance not closed in 40 iterations: %.3g J left", worst)
	}
	return nil
}

// assemble writes the Newton system and returns the largest residual in J.
func (s *Stack) assemble(dt float64) float64 {
	worst, n := 0.0, len(s.h)
	for i := range n {
		flow := 0.0 // into the cell
		if i > 0 {
			flow += s.g[i] * (s.T[i-1] - s.T[i])
		}
		if i < n-1 {
			flow += s.g[i+1] * (s.T[i+1] - s.T[i])
		} else {
			flow += s.g[n] * (s.outside - s.T[i])
		}
		s.rhs[i] = dt*flow - s.mass[i]*(s.h[i]-s.old[i])
		s.diag[i] = s.mass[i] + dt*(s.g[i]+s.g[i+1])*s.slope[i]
		worst = max(worst, math.Abs(s.rhs[i]))
	}
	return worst
}

// solve eliminates the tridiagonal system into rhs. Its columns are diagonally
// dominant, so no pivoting is needed.
func (s *Stack) solve(dt float64) {
	n := len(s.h)
	for i := range n {
		if i > 0 {
			lower := -dt * s.g[i] * s.slope[i-1]
			s.diag[i] -= lower * s.upper[i-1]
			s.rhs[i] -= lower * s.rhs[i-1]
		}
		if i < n-1 {
			s.upper[i] = -dt * s.g[i+1] * s.slope[i+1] / s.diag[i]
		}
		s.rhs[i] /= s.diag[i]
	}
	for i := n - 2; i >= 0; i-- {
		s.rhs[i] -= s.upper[i] * s.rhs[i+1]
	}
}

// Heat returns the heat content of a layer in J.
func (s *Stack) Heat(layer int) float64 {
	sum := 0.0
	for i := s.First[layer]; i < s.First[layer+1]; i++ {
		sum += s.mass[i] * s.h[i]
	}
	return sum
}

// Mean returns the mean temperature of a layer.
func (s *Stack) Mean(layer int) float64 {
	sum, volume := 0.0, 0.0
	for i := s.First[layer]; i < s.First[layer+1]; i++ {
		sum += s.Volume[i] * s.T[i]
		volume += s.Volume[i]
	}
	return sum / volume
}

package heat

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// walls are the clay's faces at the contacts. A face holds a little of its
// cell's heat, so that the flux into cold clay is met to third order in the
// cell over the depth of heating: with all of it in the middle, the flux after
// time t is low by D²/(16 αt), several percent on jewellery's sections.
type walls struct {
	t, d, e, l   []float32 // °C, its change at this stage and the one before, its rate at the start
	inverse      []float32 // K/J; 0 for a face that holds no heat, which is passed over
	in, out      []float32 // W/K, from metal and to clay
	taken, given []float32 // W from metal and to clay: at the start of the step, then the change since
}

// mostAtWall is the largest part of a cell's clay that is counted at its walls.
const mostAtWall = 0.5

// wallShare returns the depth of clay, in mm, to count at a wall whose cell's
// middle is depth behind it: for a row of cells of size d with the first
// middle y·d from the wall, y/2 − 1/(16 y) of a cell. It is the share that
// takes the term of third order from the expansion of the row's admittance,
// (1 − r + c₁q)/(1 + y(1 − r + c₁q)) with r + 1/r = 2 + q, in √q = √(s d²/α).
// Across cells askew to n the rows lie closer by √Σn⁴.
func wallShare(depth, d float64, n r3.Vec) float64 {
	d *= math.Sqrt(n.X*n.X*n.X*n.X + n.Y*n.Y*n.Y*n.Y + n.Z*n.Z*n.Z*n.Z)
	y := depth / d
	if share := y/2 - 1/(16*y); share >= leastAtWall {
		return d * share
	}
	return 0 // nearer walls hold none: their error is small and of either sign
}

// leastAtWall keeps walls from being the fastest by far; the share of a wall on
// the face of a cell, y = 1/2, is just above it.
const leastAtWall = 0.12

// newWalls moves the walls' share out of the odd cells.
func newWalls(b *body, clay Clay) walls {
	n := len(b.contacts)
	w := walls{}
	for _, v := range []*[]float32{&w.t, &w.d, &w.e, &w.l, &w.inverse, &w.in, &w.out, &w.taken, &w.given} {
		*v = make([]float32, n)
	}
	d := b.D * 1e-3
	whole := clay.Rho * clay.C * d * d * d
	for k, o := range b.byClay.member {
		cell := &b.odd[o]
		items := b.byClay.items[b.byClay.start[k]:b.byClay.start[k+1]]
		total := 0.0
		share := func(e int32) float64 {
			c := b.contacts[e]
			return float64(c.area) * float64(c.wall) / (b.D * b.D * b.D)
		}
		for _, e := range items {
			total += share(e)
		}
		scale := min(1, mostAtWall*float64(cell.volume)/max(total, 1e-30))
		for _, e := range items {
			w.t[e] = float32(clay.Start)
			if share(e) > 0 {
				w.inverse[e] = float32(1 / (scale * share(e) * whole))
			}
		}
		cell.volume -= float32(scale * total)
	}
	return w
}

// setContact sets the conductances of the contact for the metal as it stands.
func (s *solver) setContact() {
	s.crew.share(len(s.contacts), func(from, to int) {
		for e := from; e < to; e++ {
			c := &s.contacts[e]
			h := s.contact(s.alloy.look(s.alloy.Solid, s.h[c.node]))
			in, out := 1/h+1e-3*float64(c.metal)/s.alloy.K, 1e-3*float64(c.clay)/s.clay.K
			if s.wall.inverse[e] == 0 {
				in += out
				out = in
			}
			s.wall.in[e], s.wall.out[e] = float32(float64(c.area)*1e-6/in), float32(float64(c.area)*1e-6/out)
		}
	})
}

// wallStage does one stage for the walls.
func (s *solver) wallStage(c stage, first bool, from, to int) {
	w := &s.wall
	for e := from; e < to; e++ {
		touch := &s.contacts[e]
		cell := s.odd[touch.odd].cell
		metal := s.star[touch.node]
		if w.inverse[e] == 0 {
			flux := -w.in[e] * s.td[cell]
			if first {
				flux = w.in[e] * (metal - s.t[cell])
			}
			w.taken[e], w.given[e] = flux, flux
			continue
		}
		if first {
			taken, given := w.in[e]*(metal-w.t[e]), w.out[e]*(w.t[e]-s.t[cell])
			l := w.inverse[e] * (taken - given)
			w.taken[e], w.given[e] = taken, given
			w.l[e], w.e[e], w.d[e] = l, c.muTau*l, 0
			continue
		}
		w.taken[e] = -w.in[e] * w.d[e]
		w.given[e] = w.out[e] * (w.d[e] - s.td[cell])
		w.e[e] = c.mu*w.d[e] + c.nu*w.e[e] + c.muTau*w.inverse[e]*(w.taken[e]-w.given[e]) + (c.muTau+c.gammaTau)*w.l[e]
	}
}

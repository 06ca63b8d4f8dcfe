package heat

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// wall is the clay's face at a contact. It holds a little of its cell's heat,
// so that the flux into cold clay is met to third order in the cell over the
// depth of heating: with all of it in the middle, the flux after time t is low
// by D²/(16 αt), several percent on jewellery's sections.
type wall struct {
	in, out float32 // W/K, from metal and to clay
	inverse float32 // K/J; 0 for a face that holds no heat, which is passed over
	t       float32 // °C, at the start of the step
	change  steps   // of t since
	taken   steps   // J from the metal since
}

// steps are the change at this stage of a step and at the one before, and the
// rate at the start.
type steps struct{ now, before, start float32 }

// take goes on by a stage in which the rate of change differs from that at the
// start by more.
func (d *steps) take(c *stage, more float32) {
	d.now, d.before = c.mu*d.now+c.nu*d.before+c.muTau*more+(c.muTau+c.gammaTau)*d.start, d.now
}

// begin takes the first stage.
func (d *steps) begin(c *stage, rate float32) { *d = steps{c.muTau * rate, 0, rate} }

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
func newWalls(b *body, clay Clay) []wall {
	walls := make([]wall, len(b.contacts))
	d := b.D * 1e-3
	whole := clay.Rho * clay.C * d * d * d
	for k := range len(b.touching) - 1 {
		cell := &b.odd[k]
		from, to := b.touching[k], b.touching[k+1]
		total := 0.0
		share := func(e int32) float64 {
			c := b.contacts[e]
			return float64(c.area) * float64(c.wall) / (b.D * b.D * b.D)
		}
		for e := from; e < to; e++ {
			total += share(e)
		}
		scale := min(1, mostAtWall*float64(cell.volume)/max(total, 1e-30))
		for e := from; e < to; e++ {
			walls[e].t = float32(clay.Start)
			if share(e) > 0 {
				walls[e].inverse = float32(1 / (scale * share(e) * whole))
			}
		}
		cell.volume -= float32(scale * total)
	}
	return walls
}

// setContact sets the conductances of the contact for the metal as it stands.
func (s *solver) setContact() {
	s.crew.share(len(s.contacts), func(from, to int) {
		for e := from; e < to; e++ {
			s.conduct(e, s.contact(s.alloy.look(s.alloy.Solid, s.h[s.contacts[e].node])))
		}
	})
}

// conduct sets those of one contact for an interface coefficient.
func (s *solver) conduct(e int, h float64) {
	c, w := &s.contacts[e], &s.walls[e]
	in, out := 1/h+1e-3*float64(c.metal)/s.alloy.K, 1e-3*float64(c.clay)/s.clay.K
	if w.inverse == 0 {
		in += out
		out = in
	}
	w.in, w.out = float32(float64(c.area)*1e-6/in), float32(float64(c.area)*1e-6/out)
}

// begin takes the first stage of a wall between metal and clay of the given
// temperatures, and returns the heat that goes on to the clay, W.
func (w *wall) begin(c *stage, metal, clay float32) float32 {
	if w.inverse == 0 {
		given := w.in * (metal - clay)
		w.taken.begin(c, given)
		return given
	}
	taken, given := w.in*(metal-w.t), w.out*(w.t-clay)
	w.change.begin(c, w.inverse*(taken-given))
	w.taken.begin(c, taken)
	return given
}

// take takes a further stage, with the clay's change so far, and returns how
// much more heat goes on to the clay than at the start, W.
func (w *wall) take(c *stage, clay float32) float32 {
	if w.inverse == 0 {
		given := -w.in * clay
		w.taken.take(c, given)
		return given
	}
	taken, given := -w.in*w.change.now, w.out*(w.change.now-clay)
	w.change.take(c, w.inverse*(taken-given))
	w.taken.take(c, taken)
	return given
}

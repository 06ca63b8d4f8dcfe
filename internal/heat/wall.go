package heat

import (
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

// mostAtWall is about the largest part of a cell's clay that is counted at its walls.
const mostAtWall = 0.45

// holdAtWalls finds the depth of clay that the walls of each cell should hold.
// Behind a wall at T, heat that varies as e^(st) falls off as e^(−κx), κ² = s/α.
// What the cells store of it differs from the truth, T/κ, by
//
//	κT(2w·x − P − x²/2 − D²(1 − Σn⁴)/24),
//
// w being the depth of clay held at the wall, x the middle of its cell from it,
// P how far that middle lies beyond the middle of the cell's clay, times its
// volume over its wall, and Σn⁴ what the seven points err by askew. For a row
// upright on the wall w is x/2 − D²/(16x).
func (b *body) holdAtWalls(normals, off []r3.Vec) {
	type sums struct {
		n           r3.Vec
		deep, deep2 float64
	}
	of := make([]sums, len(b.odd))
	for i, c := range b.contacts {
		s := &of[c.odd]
		s.n = r3.Add(s.n, r3.Scale(float64(c.area), normals[i]))
		s.deep += float64(c.area * c.clay)
		s.deep2 += float64(c.area * c.clay * c.clay)
	}
	for i := range b.contacts {
		c := &b.contacts[i]
		s := &of[c.odd]
		if s.n == (r3.Vec{}) {
			continue
		}
		n, area, d := r3.Unit(s.n), r3.Norm(s.n), b.D
		beyond := -r3.Dot(n, off[c.odd]) * d * d * d * d
		n4 := n.X*n.X*n.X*n.X + n.Y*n.Y*n.Y*n.Y + n.Z*n.Z*n.Z*n.Z
		c.wall = float32(max(0, beyond+s.deep2/2+area*d*d*(1-n4)/24) / (2 * s.deep))
	}
}

// fastestWall bounds the rate of a wall towards its cell, in α/D²: 16 is that
// of a wall on the face of a cell, y = 1/2. Others that would be faster hold a
// little more or nothing; the error is small and of either sign.
const fastestWall = 17

// fastestCell bounds, in the same way, the rate of a cell towards its walls: in
// a corner of the metal they can be many. Then they hold nothing. A plain face
// makes it 2 to 4.
const fastestCell = 8

// roundUp is how much more than it should a wall may hold.
const roundUp = 1.6

// held returns the depth of clay, in mm, that a wall holds of what it should.
func (c *contact) held(share, d float64) float64 {
	switch least := d * d / (fastestWall * float64(c.clay)); {
	case share >= least:
		return share
	case share >= least/roundUp:
		return least
	}
	return 0
}

// newWalls moves the walls' share out of the odd cells.
func newWalls(b *body, clay Clay) []wall {
	walls := make([]wall, len(b.contacts))
	d := b.D * 1e-3
	heat := clay.Rho * clay.C * d * d * d
	for k := range b.touchCount() {
		cell := &b.odd[k]
		from, to := b.touching[k], b.touching[k+1]
		total, near := 0.0, 0.0
		for _, c := range b.contacts[from:to] {
			total += float64(c.area) * float64(c.wall)
			near += float64(c.area) / float64(c.clay)
		}
		whole := float64(cell.volume) * b.D * b.D * b.D
		scale := min(1, mostAtWall*whole/max(total, 1e-30))
		if near/(whole-scale*total) > fastestCell/(b.D*b.D) {
			scale = 0
		}
		for e := from; e < to; e++ {
			c := &b.contacts[e]
			walls[e].t = float32(clay.Start)
			if share := float64(c.area) * c.held(scale*float64(c.wall), b.D) / (b.D * b.D * b.D); share > 0 {
				walls[e].inverse = float32(1 / (share * heat))
				cell.volume -= float32(share)
			}
		}
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

// conduct sets those of one contact for an interface coefficient. The clay
// widens behind a surface that bends away from it.
func (s *solver) conduct(e int, h float64) {
	c, w := &s.contacts[e], &s.walls[e]
	in, out := 1/h+1e-3*float64(c.metal)/s.alloy.K, 1e-3*float64(c.clay)/float64(1+max(mostBend, c.bend*c.clay))/s.clay.K
	if w.inverse == 0 {
		in += out
		out = in
	}
	w.in, w.out = float32(float64(c.area)*1e-6/in), float32(float64(c.area)*1e-6/out)
}

// mostBend keeps the clay in a narrow hollow from closing up.
const mostBend = -0.5

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

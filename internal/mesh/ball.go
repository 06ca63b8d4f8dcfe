package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// ball lies inside the surface and touches it at two places at least.
type ball struct {
	at, in          r3.Vec  // a place where it touches, and the unit vector from there to its centre
	against, across r3.Vec  // where it was stopped, and what is straight across
	r               float64 // mm
	lean            float64 // 0 where it is held between walls that face each other, sin(α/2) between faces at an angle α
	aside           r3.Vec  // unit vector towards where the faces come together
}

func (b *ball) centre() r3.Vec { return r3.Add(b.at, r3.Scale(b.r, b.in)) }

// What counts as a wall, and how a ball is found.
const (
	seen     = 0.82  // cos 35°: of the cone about the normal in which a ball looks for what stops it
	straight = 0.02  // sin(α/2): faces at 2.3° or less to each other are a wall however they end
	leans    = 0.3   // faces that stand at 35° or more to each other make an edge, not a wall
	closes   = 2e-3  // of its radius, to which a ball is found
	touches  = 0.005 // likewise, by which it may miss a face and still touch it
	sinks    = 0.01  // likewise, by which facets of a curved face may reach into it
	flush    = 0.01  // mm: a lesser wall is two faces that lie on one another
	crowd    = 2048  // faces that touch a ball, of which no more are looked at
)

// ballAt returns the largest ball that touches the surface at p, has its
// centre along the inward unit vector d, and holds nothing of the surface that
// p sees within 35° of d: it starts at the face straight across and shrinks to
// the nearest place within it until there is none. What lies farther to the
// side is the bend of the face itself.
//
// J. Ma, S. W. Bae, S. Choi, Vis. Comput. 28 (2012) 7 (shrinking balls).
func (t *tree) ballAt(p, d r3.Vec, widest float64) (b ball, ok bool) {
	across, ok := t.exit(p, d, widest)
	if !ok {
		return b, false
	}
	b = ball{at: p, in: d, r: across / 2, against: r3.Add(p, r3.Scale(across, d))}
	b.across = b.against
	c := &cone{p, d, seen}
	for range 40 {
		s, stopped := t.nearest(b.centre(), b.r*(1-closes), c)
		if !stopped {
			break
		}
		v := r3.Sub(s.at, p)
		r := r3.Norm2(v) / (2 * r3.Dot(v, d))
		if r > b.r*(1-closes) {
			break
		}
		b.r, b.against = r, s.at
	}
	return b, b.r > flush/2
}

// hold tells how a ball is held: by the three places that are known, and if
// they leave it in doubt by all that touch it.
func (t *tree) hold(b *ball) {
	c := b.centre()
	reach := b.r * (1 + touches)
	directions := append(make([]r3.Vec, 0, 64), r3.Scale(-1, b.in))
	for _, p := range [2]r3.Vec{b.against, b.across} {
		if v := r3.Sub(p, c); norm(v) <= reach {
			directions = append(directions, r3.Unit(v))
		}
	}
	if b.lean, b.aside = hull(directions); b.lean <= leans {
		return
	}
	count := 0
	t.walk(func(x *box) bool {
		dx := max(float64(x[0])-c.X, c.X-float64(x[3]), 0)
		dy := max(float64(x[1])-c.Y, c.Y-float64(x[4]), 0)
		dz := max(float64(x[2])-c.Z, c.Z-float64(x[5]), 0)
		return count < crowd && dx*dx+dy*dy+dz*dz <= reach*reach
	}, func(tri int32) {
		p, q, r := t.m.Corners(int(tri))
		v := r3.Sub(nearestOn(c, p, q, r), c)
		if l := norm(v); l <= reach && l > 0 {
			directions = append(directions, r3.Scale(1/l, v))
			count++
		}
	})
	if b.lean, b.aside = hull(directions); b.lean <= leans {
		if _, through := t.nearest(c, b.r*(1-sinks), nil); through {
			b.lean = 1 // it reaches through what it did not see
		}
	}
}

// hull returns how far from the centre the hull of directions passes, and in
// which direction (E. G. Gilbert, SIAM J. Control 4 (1966) 61).
func hull(directions []r3.Vec) (lean float64, aside r3.Vec) {
	m := directions[0]
	for range 60 {
		far, least := m, math.Inf(1)
		for _, u := range directions {
			if d := r3.Dot(m, u); d < least {
				far, least = u, d
			}
		}
		if r3.Norm2(m)-least < 1e-4 {
			break
		}
		way := r3.Sub(m, far)
		m = r3.Sub(m, r3.Scale(min(r3.Dot(m, way)/r3.Norm2(way), 1), way))
	}
	if lean = norm(m); lean > 0 {
		aside = r3.Scale(1/lean, m)
	}
	return lean, aside
}

// runsOut tells whether the faces that hold the ball go on to come together at
// an edge. A third of the way to where they would meet, the room between them
// is then down by a third; at the blunt end of a taper there is no such place.
func (t *tree) runsOut(b *ball) bool {
	if b.lean < straight {
		return false
	}
	const share = 0.3
	c, way := b.centre(), share*b.r/b.lean
	if _, outside := t.exit(c, b.aside, way); outside {
		return false
	}
	s, ok := t.nearest(r3.Add(c, r3.Scale(way, b.aside)), b.r, nil)
	room := math.Sqrt(s.best) / b.r
	return ok && room > 1-share-0.15 && room < 1-share+0.15
}

// wall returns the ball at p along d if it lies in a wall.
func (t *tree) wall(p, d r3.Vec, widest float64) (ball, bool) {
	b, ok := t.ballAt(p, d, widest)
	if !ok {
		return b, false
	}
	t.hold(&b)
	return b, b.lean <= leans && !t.runsOut(&b)
}

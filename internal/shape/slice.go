package shape

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/mesh"
)

// slice is a section by a plane: contour integrals (Green) over the segments in
// which the plane cuts the facets.
type slice struct {
	area, r, z  float64 // and first moments
	perimeter   float64
	rLow, rHigh float64
	zLow, zHigh float64
}

func newSlice() slice {
	return slice{rLow: math.Inf(1), rHigh: math.Inf(-1), zLow: math.Inf(1), zHigh: math.Inf(-1)}
}

// add takes the segment from (r1, z1) to (r2, z2), with the metal to its left.
func (s *slice) add(r1, z1, r2, z2 float64) {
	cross := r1*z2 - r2*z1
	s.area += cross / 2
	s.r += cross * (r1 + r2) / 6
	s.z += cross * (z1 + z2) / 6
	s.perimeter += math.Hypot(r2-r1, z2-z1)
	s.rLow, s.rHigh = min(s.rLow, r1, r2), max(s.rHigh, r1, r2)
	s.zLow, s.zHigh = min(s.zLow, z1, z2), max(s.zHigh, z1, z2)
}

// insideRound is the length of the inside in mm, along its innermost places;
// across a gap it is an arc on the chord between the ends.
func insideRound(cuts []slice, first, count int) float64 {
	at := func(k int) r3.Vec {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / cutsRound)
		return r3.Scale(cuts[(first+k)%cutsRound].rLow, r3.Vec{X: cos, Y: sin})
	}
	sum := 0.0
	for k := range count - 1 {
		sum += r3.Norm(r3.Sub(at(k+1), at(k)))
	}
	half := math.Pi * float64(cutsRound-count+1) / cutsRound
	return sum + r3.Norm(r3.Sub(at(count-1), at(0)))*half/math.Sin(half)
}

// cutRound returns the sections by half planes about z, from +x.
func cutRound(m *mesh.Mesh) []slice {
	cuts := make([]slice, cutsRound)
	for i := range cuts {
		cuts[i] = newSlice()
	}
	step := 2 * math.Pi / cutsRound
	for t := range m.T {
		a, b, d := m.Corners(t)
		p := [3]r3.Vec{a, b, d}
		n := r3.Cross(r3.Sub(b, a), r3.Sub(d, a))
		low, high := 0.0, 0.0
		start := math.Atan2(a.Y, a.X)
		for _, q := range p[1:] {
			by := math.Remainder(math.Atan2(q.Y, q.X)-start, 2*math.Pi)
			low, high = min(low, by), max(high, by)
		}
		for k := int(math.Ceil((start+low)/step - 0.5)); float64(k) <= (start+high)/step-0.5; k++ {
			sin, cos := math.Sincos(step * (float64(k) + 0.5))
			across := r3.Vec{X: -sin, Y: cos}
			q, ok := crossed(p, across)
			if !ok {
				continue
			}
			r1, r2 := q[0].X*cos+q[0].Y*sin, q[1].X*cos+q[1].Y*sin
			z1, z2 := q[0].Z, q[1].Z
			// The outward normal lies to the right of the contour: swap where it does not.
			nr, nz := n.X*cos+n.Y*sin, n.Z
			if (z2-z1)*nr-(r2-r1)*nz < 0 {
				r1, r2, z1, z2 = r2, r1, z2, z1
			}
			cuts[((k%cutsRound)+cutsRound)%cutsRound].add(r1, z1, r2, z2)
		}
	}
	return cuts
}

// crossed is where the plane through the origin across a unit vector cuts a triangle.
func crossed(p [3]r3.Vec, across r3.Vec) (q [2]r3.Vec, ok bool) {
	found := 0
	for i := range 3 {
		a, b := p[i], p[(i+1)%3]
		da, db := r3.Dot(a, across), r3.Dot(b, across)
		if (da >= 0) == (db >= 0) {
			continue
		}
		if found < 2 {
			q[found] = r3.Add(a, r3.Scale(da/(da-db), r3.Sub(b, a)))
		}
		found++
	}
	return q, found == 2
}

// afterGap finds the first section after the widest run without metal, and how
// many follow.
func afterGap(cuts []slice) (first, count int) {
	run, most, end := 0, 0, 0
	for k := range 2 * cutsRound {
		if cuts[k%cutsRound].area > 1e-9 {
			run = 0
			continue
		}
		if run++; run > most && run <= cutsRound {
			most, end = run, k
		}
	}
	return (end + 1) % cutsRound, cutsRound - most
}

// cutAlong returns sections across x, y as r, and where the body begins and ends.
func cutAlong(m *mesh.Mesh) (cuts []slice, low, high float64) {
	bottom, top := m.Bounds()
	low, high = bottom.X, top.X
	cuts = make([]slice, cutsAlong)
	for i := range cuts {
		cuts[i] = newSlice()
	}
	step := (high - low) / cutsAlong
	for t := range m.T {
		a, b, d := m.Corners(t)
		n := r3.Cross(r3.Sub(b, a), r3.Sub(d, a))
		from, to := min(a.X, b.X, d.X), max(a.X, b.X, d.X)
		for k := max(int(math.Ceil((from-low)/step-0.5)), 0); k < cutsAlong && low+(float64(k)+0.5)*step <= to; k++ {
			x := r3.Vec{X: low + (float64(k)+0.5)*step}
			q, ok := crossed([3]r3.Vec{r3.Sub(a, x), r3.Sub(b, x), r3.Sub(d, x)}, r3.Vec{X: 1})
			if !ok {
				continue
			}
			r1, z1, r2, z2 := q[0].Y, q[0].Z, q[1].Y, q[1].Z
			if (z2-z1)*n.Y-(r2-r1)*n.Z < 0 {
				r1, r2, z1, z2 = r2, r1, z2, z1
			}
			cuts[k].add(r1, z1, r2, z2)
		}
	}
	return cuts, low, high
}

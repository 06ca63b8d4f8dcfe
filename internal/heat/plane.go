package heat

import (
	"cmp"
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// flat is the least ratio of projected to true area of the surface in a cell
// that counts as one plane.
const flat = 0.97

// sharpen replaces what the lines measured by what a plane gives, in cells
// that the surface crosses as one: exactly for flat faces, to second order
// for curved ones. Cells with an edge, a thin wall or buried facets keep what
// the lines measured.
func (f *filled) sharpen(ctx context.Context, s *surface) {
	at := make(map[int]int, len(f.cuts))
	for i, c := range f.cuts {
		at[c.cell] = i
	}
	for i, p := range s.patches {
		if gone(ctx, i) {
			return
		}
		size := r3.Norm(p.normal)
		if size < flat*p.area {
			continue
		}
		x, y, z := f.at(p.cell)
		in := r3.Sub(r3.Scale(1/f.D, r3.Sub(p.mid, f.Low)), r3.Vec{X: float64(x), Y: float64(y), Z: float64(z)})
		c := byPlane(in, p.unit)
		c.cell = p.cell
		lines := float64(f.metal[p.cell])
		// A plane that ends within the cell, or buried metal beside it, shows
		// as a difference that lines would not make.
		if math.Abs(c.metal-lines) > 0.75/perCell {
			continue
		}
		if n, ok := at[p.cell]; ok {
			f.cuts[n] = c
		} else if c.metal > 0 && c.metal < 1 {
			f.cuts = append(f.cuts, c)
		}
		f.metal[p.cell] = float32(c.metal)
	}
	const nothing = 1e-6
	f.cuts = slices.DeleteFunc(f.cuts, func(c cut) bool {
		switch {
		case c.metal < nothing:
			f.metal[c.cell] = 0
		case c.metal > 1-nothing:
			f.metal[c.cell] = 1
		default:
			// Whole and empty cells are told by exact 0 and 1.
			f.metal[c.cell] = float32(min(max(c.metal, 1e-6), 1-1e-6))
			return false
		}
		return true
	})
	slices.SortFunc(f.cuts, func(a, b cut) int { return cmp.Compare(a.cell, b.cell) })
}

// byPlane returns the part of the unit cube behind the plane through p with
// the outward normal n: its volume and the parts of the faces.
func byPlane(p, n r3.Vec) (c cut) {
	m := [3]float64{math.Abs(n.X), math.Abs(n.Y), math.Abs(n.Z)}
	q := [3]float64{p.X, p.Y, p.Z}
	sense := [3]float64{n.X, n.Y, n.Z}
	alpha := 0.0 // the plane is Σ m x = alpha, x counted from the corner deepest in the metal
	for k := range 3 {
		m[k] = max(m[k], 1e-5)
		if sense[k] < 0 {
			q[k] = 1 - q[k]
		}
		alpha += m[k] * q[k]
	}
	c.metal = min(max(behind3(m, alpha), 0), 1)
	for k := range 3 {
		rest := [2]float64{m[(k+1)%3], m[(k+2)%3]}
		deep, far := behind2(rest, alpha), behind2(rest, alpha-m[k])
		if sense[k] < 0 {
			deep, far = far, deep
		}
		c.face[2*k], c.face[2*k+1] = deep, far
	}
	first := moment3(m, alpha)
	for k := range 3 {
		first[k] -= c.metal / 2
		if sense[k] < 0 {
			first[k] = -first[k]
		}
	}
	c.off = r3.Vec{X: first[0], Y: first[1], Z: first[2]}
	return c
}

// moment3 returns the first moments of that volume: of a corner cut off, α⁴/24
// Πm m_k, less what lies beyond the cube.
func moment3(m [3]float64, alpha float64) (first [3]float64) {
	const least = 1e-3 // a slope that counts as none; less would drown in rounding
	for k := range 3 {
		m[k] = max(m[k], least)
	}
	product := m[0] * m[1] * m[2]
	for beyond := range 8 {
		rest, sign := alpha, 1.0
		for k := range 3 {
			if beyond>>k&1 == 1 {
				rest, sign = rest-m[k], -sign
			}
		}
		for k := range 3 {
			first[k] += sign * cube(rest) * max(rest, 0) / (24 * product * m[k])
			if beyond>>k&1 == 1 {
				first[k] += sign * cube(rest) / (6 * product)
			}
		}
	}
	return first
}

// behind3 returns the volume of the unit cube with Σ m x < alpha.
func behind3(m [3]float64, alpha float64) float64 {
	v := cube(alpha)
	for k := range 3 {
		v += cube(alpha-m[k]-m[(k+1)%3]) - cube(alpha-m[k])
	}
	return (v - cube(alpha-m[0]-m[1]-m[2])) / (6 * m[0] * m[1] * m[2])
}

// behind2 returns the area of the unit square with Σ m x < alpha.
func behind2(m [2]float64, alpha float64) float64 {
	square := func(x float64) float64 { return max(x, 0) * max(x, 0) }
	a := (square(alpha) - square(alpha-m[0]) - square(alpha-m[1]) + square(alpha-m[0]-m[1])) / (2 * m[0] * m[1])
	return min(max(a, 0), 1)
}

func cube(x float64) float64 {
	x = max(x, 0)
	return x * x * x
}

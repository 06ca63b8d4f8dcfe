package heat

import (
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/mesh"
)

// Grid is a block of cubic cells of size D (mm) with its lower corner at Low.
type Grid struct {
	Low r3.Vec
	D   float64
	N   [3]int
}

// Cells returns the number of cells.
func (g Grid) Cells() int { return g.N[0] * g.N[1] * g.N[2] }

func (g Grid) index(i, j, k int) int { return (k*g.N[1]+j)*g.N[0] + i }

func (g Grid) at(c int) (i, j, k int) {
	return c % g.N[0], c / g.N[0] % g.N[1], c / g.N[0] / g.N[1]
}

// stride to the next cell along each axis.
func (g Grid) stride() [3]int { return [3]int{1, g.N[0], g.N[0] * g.N[1]} }

// Centre returns the middle of cell c in mm.
func (g Grid) Centre(c int) r3.Vec {
	i, j, k := g.at(c)
	return r3.Add(g.Low, r3.Scale(g.D, r3.Vec{X: float64(i) + 0.5, Y: float64(j) + 0.5, Z: float64(k) + 0.5}))
}

// around lays a grid of cells of size d over the box, and margin cells more on
// each side, with the middle of the box in the middle of the grid so that a
// symmetric piece is met symmetrically.
func around(low, high r3.Vec, d float64, margin int) Grid {
	g := Grid{D: d}
	size, mid := r3.Sub(high, low), r3.Scale(0.5, r3.Add(low, high))
	for axis, s := range [3]float64{size.X, size.Y, size.Z} {
		g.N[axis] = int(math.Ceil(s/d-1e-9)) + 2*margin
	}
	g.Low = r3.Sub(mid, r3.Scale(d/2, r3.Vec{X: float64(g.N[0]), Y: float64(g.N[1]), Z: float64(g.N[2])}))
	return g
}

// cut is a cell that the surface passes through.
type cut struct {
	cell  int
	metal float64    // fraction of the cell
	off   r3.Vec     // how far the metal's middle lies from the cell's, times the fraction, in cells
	face  [6]float64 // metal fraction at the faces −x +x −y +y −z +z, each side's half of the estimate
}

// filled tells which cells hold metal: wholly, in part, or not at all.
type filled struct {
	Grid
	metal []float32 // fraction
	cuts  []cut     // those in part, in order
}

// perCell lines each way through a cell measure its metal: exact along the
// line, to a 32nd of the cell or better across.
const perCell = 4

// fill measures the metal in every cell by lines along x. Overlapping bodies
// count once.
func fill(ctx context.Context, g Grid, m *mesh.Mesh) filled {
	const s = perCell
	step := g.D / s
	lines := m.Lines(ctx, g.Low.Y+step/2, g.Low.Z+step/2, step, g.N[1]*s, g.N[2]*s)
	f := filled{Grid: g, metal: make([]float32, g.Cells())}
	layers := make([][]cut, g.N[2])
	mesh.Parallel(ctx, g.N[2], func(k int) {
		row := make([]cut, g.N[0])
		for j := range g.N[1] {
			clear(row)
			touched := false
			for sz := range s {
				for sy := range s {
					lines.Stretches(j*s+sy, k*s+sz, func(from, to float64) {
						touched = true
						spread(row, (from-g.Low.X)/g.D, (to-g.Low.X)/g.D, sy, sz)
					})
				}
			}
			if !touched {
				continue
			}
			for i := range row {
				c := &row[i]
				if c.metal == 0 {
					continue
				}
				c.cell = g.index(i, j, k)
				const whole = 1 - 1e-9
				if c.metal >= whole {
					f.metal[c.cell] = 1
					continue
				}
				f.metal[c.cell] = float32(c.metal)
				layers[k] = append(layers[k], *c)
			}
		}
	})
	for _, l := range layers {
		f.cuts = append(f.cuts, l...)
	}
	return f
}

// spread adds the stretch [a, b], in cells along the row, of one line.
func spread(row []cut, a, b float64, sy, sz int) {
	const s = perCell
	const each = 1.0 / (s * s)
	a, b = max(a, 0), min(b, float64(len(row)))
	for i := int(a); i < len(row) && float64(i) < b; i++ {
		c := &row[i]
		lo, hi := max(a-float64(i), 0), min(b-float64(i), 1)
		length := hi - lo
		if length <= 0 {
			continue
		}
		c.metal += length * each
		c.off = r3.Add(c.off, r3.Scale(length*each, r3.Vec{X: (lo+hi)/2 - 0.5, Y: (float64(sy)+0.5)/s - 0.5, Z: (float64(sz)+0.5)/s - 0.5}))
		const edge = 0.5 / s // how near to a face counts as at it, as across the lines
		c.face[0] += each * max(min(hi, edge)-lo, 0) / edge
		c.face[1] += each * max(hi-max(lo, 1-edge), 0) / edge
		if sy == 0 {
			c.face[2] += length / s
		}
		if sy == s-1 {
			c.face[3] += length / s
		}
		if sz == 0 {
			c.face[4] += length / s
		}
		if sz == s-1 {
			c.face[5] += length / s
		}
	}
}

// patch is the surface within one cell.
type patch struct {
	cell   int
	area   float64 // mm²
	normal r3.Vec  // outwards, its length the area projected
	unit   r3.Vec  // the same of length 1, or 0 where both sides of a wall are in the cell
	mid    r3.Vec  // centre, mm
}

// surface is the patches of a mesh in a grid.
type surface struct {
	patches []patch
	at      []int32 // per cell: one more than the place of its patch, or 0
}

// in returns the patch in a cell, or nil.
func (s *surface) in(cell int) *patch {
	if at := s.at[cell]; at > 0 {
		return &s.patches[at-1]
	}
	return nil
}

// surfaceOf shares out a surface among the cells. Facets buried in another
// body are left out where overlap says that there may be such.
func surfaceOf(ctx context.Context, g Grid, m *mesh.Mesh, buried func(p, n r3.Vec) bool) *surface {
	at := make([]int32, g.Cells())
	var list []patch
	var work [2][16]r3.Vec
	for t := range m.T {
		if gone(ctx, t) {
			break
		}
		a, b, c := m.Corners(t)
		n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
		if r3.Norm(n) == 0 {
			continue
		}
		n = r3.Unit(n)
		g.split(&work, [3]r3.Vec{a, b, c}, func(cell int, polygon []r3.Vec) {
			var area float64
			var mid r3.Vec
			for i := 2; i < len(polygon); i++ {
				w := r3.Norm(r3.Cross(r3.Sub(polygon[i-1], polygon[0]), r3.Sub(polygon[i], polygon[0]))) / 2
				area += w
				mid = r3.Add(mid, r3.Scale(w/3, r3.Add(polygon[0], r3.Add(polygon[i-1], polygon[i]))))
			}
			if area < 1e-12*g.D*g.D || buried != nil && buried(r3.Scale(1/area, mid), n) {
				return
			}
			if at[cell] == 0 {
				list = append(list, patch{cell: cell})
				at[cell] = int32(len(list))
			}
			p := &list[at[cell]-1]
			p.area += area
			p.normal = r3.Add(p.normal, r3.Scale(area, n))
			p.mid = r3.Add(p.mid, mid)
		})
	}
	for i := range list {
		p := &list[i]
		p.mid = r3.Scale(1/p.area, p.mid)
		if size := r3.Norm(p.normal); size > 0 {
			p.unit = r3.Scale(1/size, p.normal)
		}
	}
	return &surface{list, at}
}

// split cuts a triangle along the faces of the cells and hands on the parts
// that lie in the grid.
func (g Grid) split(work *[2][16]r3.Vec, corners [3]r3.Vec, f func(cell int, polygon []r3.Vec)) {
	var lo, hi [3]int
	for axis := range 3 {
		a, b, c := component(corners[0], axis), component(corners[1], axis), component(corners[2], axis)
		origin := component(g.Low, axis)
		low, high := (min(a, b, c)-origin)/g.D, (max(a, b, c)-origin)/g.D
		lo[axis] = int(math.Floor(low))
		hi[axis] = max(lo[axis], int(math.Ceil(high))-1)
		lo[axis], hi[axis] = max(lo[axis], 0), min(hi[axis], g.N[axis]-1)
		if lo[axis] > hi[axis] || low < 0 && lo[axis] > int(math.Floor(high)) {
			return
		}
	}
	inside := func(p r3.Vec) bool {
		for axis := range 3 {
			x := (component(p, axis) - component(g.Low, axis)) / g.D
			if x < 0 || x > float64(g.N[axis]) {
				return false
			}
		}
		return true
	}
	if lo == hi && inside(corners[0]) && inside(corners[1]) && inside(corners[2]) {
		f(g.index(lo[0], lo[1], lo[2]), corners[:])
		return
	}
	var slabs [3][24]r3.Vec
	var recurse func(axis int, polygon []r3.Vec, cell [3]int)
	recurse = func(axis int, polygon []r3.Vec, cell [3]int) {
		if axis == 3 {
			f(g.index(cell[0], cell[1], cell[2]), polygon)
			return
		}
		origin := component(g.Low, axis)
		for i := lo[axis]; i <= hi[axis]; i++ {
			part := clip(work[0][:0], polygon, axis, origin+float64(i)*g.D, 1)
			part = clip(slabs[axis][:0], part, axis, origin+float64(i+1)*g.D, -1)
			if len(part) >= 3 {
				cell[axis] = i
				recurse(axis+1, part, cell)
			}
		}
	}
	recurse(0, corners[:], [3]int{})
}

// clip keeps the part of a polygon on one side of a plane across an axis
// (I. Sutherland, G. Hodgman, Comm. ACM 17 (1974) 32).
func clip(to, polygon []r3.Vec, axis int, at, sign float64) []r3.Vec {
	for i, p := range polygon {
		q := polygon[(i+1)%len(polygon)]
		dp, dq := sign*(component(p, axis)-at), sign*(component(q, axis)-at)
		if dp >= 0 {
			to = append(to, p)
		}
		if dp > 0 && dq < 0 || dp < 0 && dq > 0 {
			to = append(to, r3.Add(p, r3.Scale(dp/(dp-dq), r3.Sub(q, p))))
		}
	}
	return to
}

func component(v r3.Vec, axis int) float64 {
	switch axis {
	case 0:
		return v.X
	case 1:
		return v.Y
	}
	return v.Z
}

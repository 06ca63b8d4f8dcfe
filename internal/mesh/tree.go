package mesh

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// tree files triangles for queries in space: sorted along a Z-order curve and
// packed into boxes of eight, those into boxes of eight, and so on.
//
// I. Kamel, C. Faloutsos, Proc. CIKM 1993, 490 (packed R-trees).
type tree struct {
	m      *Mesh
	order  []int32    // triangles along the curve
	packed [][3]Point // their corners
	levels [][]box    // levels[0] holds boxes of eight triangles
	slabs  [][]slab
}

// slab holds what a box does between two planes square to its mean normal: a
// patch of a curved face lies in a thin one, however it lies to the axes.
type slab struct {
	n      [3]float32
	lo, hi float32
}

// box is low x, y, z and high x, y, z in mm.
type box [6]float32

const perBox = 8

var emptyBox = box{math.MaxFloat32, math.MaxFloat32, math.MaxFloat32, -math.MaxFloat32, -math.MaxFloat32, -math.MaxFloat32}

func (b *box) add(o *box) {
	for k := range 3 {
		b[k], b[k+3] = min(b[k], o[k]), max(b[k+3], o[k+3])
	}
}

// boxOf returns the box of a triangle.
func (m *Mesh) boxOf(t int32) box {
	b := emptyBox
	for _, v := range m.T[t] {
		for k, x := range m.V[v] {
			b[k], b[k+3] = min(b[k], x), max(b[k+3], x)
		}
	}
	return b
}

// tree files the mesh's triangles. Once ctx is done it is of no use.
func (m *Mesh) tree(ctx context.Context) *tree {
	t := &tree{m: m, order: make([]int32, len(m.T))}
	low, high := m.Bounds()
	size := r3.Sub(high, low)
	scale := 1023 / max(size.X, size.Y, size.Z, 1e-9)
	keys := make([]uint64, len(m.T))
	const part = 1 << 14
	parts := func(n int, f func(from, to int)) {
		Parallel(ctx, (n+part-1)/part, func(i int) { f(i*part, min((i+1)*part, n)) })
	}
	parts(len(keys), func(from, to int) {
		for i := from; i < to; i++ {
			a, b, c := m.Corners(i)
			p := r3.Scale(scale, r3.Sub(r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))), low))
			keys[i] = (apart(p.X)|apart(p.Y)<<1|apart(p.Z)<<2)<<32 | uint64(i)
		}
	})
	slices.Sort(keys)
	for i, k := range keys {
		t.order[i] = int32(k & math.MaxUint32)
	}
	t.packed = make([][3]Point, len(keys))
	parts(len(keys), func(from, to int) {
		for i := from; i < to; i++ {
			for k, v := range m.T[t.order[i]] {
				t.packed[i][k] = m.V[v]
			}
		}
	})
	leaves := make([]box, (len(m.T)+perBox-1)/perBox)
	parts(len(leaves), func(from, to int) {
		for n := from; n < to; n++ {
			leaves[n] = emptyBox
			for _, k := range t.order[n*perBox : min((n+1)*perBox, len(t.order))] {
				b := m.boxOf(k)
				leaves[n].add(&b)
			}
		}
	})
	t.levels = [][]box{leaves}
	for below := leaves; len(below) > perBox; {
		above := make([]box, (len(below)+perBox-1)/perBox)
		for n := range above {
			above[n] = emptyBox
			for i := n * perBox; i < min((n+1)*perBox, len(below)); i++ {
				above[n].add(&below[i])
			}
		}
		t.levels = append(t.levels, above)
		below = above
	}
	t.slice(ctx)
	return t
}

// slice finds the slabs of all levels.
func (t *tree) slice(ctx context.Context) {
	const rounding = 1e-6 // of a coordinate
	for level, boxes := range t.levels {
		slabs := make([]slab, len(boxes))
		size := perBox
		for range level {
			size *= perBox
		}
		Parallel(ctx, (len(boxes)+1023)/1024, func(part int) {
			for n := part * 1024; n < min((part+1)*1024, len(boxes)); n++ {
				list := t.order[n*size : min((n+1)*size, len(t.order))]
				var normal r3.Vec
				for _, k := range list {
					normal = r3.Add(normal, t.m.normal(k))
				}
				if r3.Norm2(normal) == 0 {
					normal = r3.Vec{X: 1}
				}
				normal = r3.Unit(normal)
				s := slab{[3]float32{float32(normal.X), float32(normal.Y), float32(normal.Z)}, math.MaxFloat32, -math.MaxFloat32}
				for _, k := range list {
					for _, v := range t.m.T[k] {
						p := t.m.V[v]
						d := s.n[0]*p[0] + s.n[1]*p[1] + s.n[2]*p[2]
						pad := rounding * (abs32(p[0]) + abs32(p[1]) + abs32(p[2]))
						s.lo, s.hi = min(s.lo, d-pad), max(s.hi, d+pad)
					}
				}
				slabs[n] = s
			}
		})
		t.slabs = append(t.slabs, slabs)
	}
}

func abs32(x float32) float32 { return max(x, -x) }

// off returns how far p lies outside the slab, in mm, at least.
func (s *slab) off(p r3.Vec) float64 {
	d := float64(s.n[0])*p.X + float64(s.n[1])*p.Y + float64(s.n[2])*p.Z
	return (1 - 1e-6) * max(float64(s.lo)-d, d-float64(s.hi), 0)
}

// apart spreads ten bits three apart, for the Z-order curve.
func apart(x float64) uint64 {
	b := uint64(min(max(x, 0), 1023))
	b = (b | b<<16) & 0x030000ff
	b = (b | b<<8) & 0x0300f00f
	b = (b | b<<4) & 0x030c30c3
	return (b | b<<2) & 0x09249249
}

// walk calls leaf for every triangle whose boxes all pass.
func (t *tree) walk(pass func(b *box) bool, leaf func(tri int32)) {
	var down func(level, from, to int)
	down = func(level, from, to int) {
		for n := from; n < to; n++ {
			if !pass(&t.levels[level][n]) {
				continue
			}
			if level > 0 {
				down(level-1, n*perBox, min((n+1)*perBox, len(t.levels[level-1])))
				continue
			}
			for _, k := range t.order[n*perBox : min((n+1)*perBox, len(t.order))] {
				leaf(k)
			}
		}
	}
	if top := len(t.levels) - 1; top >= 0 {
		down(top, 0, len(t.levels[top]))
	}
}

// near is a search for the place of the surface nearest to a point. With a
// cone, only places count that lie within it as seen from its tip.
type near struct {
	p    r3.Vec
	best float64 // mm², of the nearest found, or the limit
	tri  int32   // -1 while none is found
	at   r3.Vec
	cone *cone
}

// cone has its tip at a point and opens along a unit vector.
type cone struct {
	tip, along r3.Vec
	cos        float64 // of its half angle
}

// blind is how near to its tip a cone does not see, in mm.
const blind = 1e-4

func (c *cone) sees(q r3.Vec) bool {
	v := r3.Sub(q, c.tip)
	l := norm(v)
	return l > blind && r3.Dot(v, c.along) >= c.cos*l
}

// nearest finds the place nearest to p within the given distance.
func (t *tree) nearest(p r3.Vec, within float64, c *cone) (near, bool) {
	s := near{p: p, best: within * within, tri: -1, cone: c}
	if top := len(t.levels) - 1; top >= 0 {
		t.search(&s, top, 0, len(t.levels[top]))
	}
	return s, s.tri >= 0
}

func (t *tree) search(s *near, level, from, to int) {
	var d [perBox]float64
	var which [perBox]int
	n := 0
	for i := from; i < to; i++ {
		b := &t.levels[level][i]
		x := max(float64(b[0])-s.p.X, s.p.X-float64(b[3]), 0)
		y := max(float64(b[1])-s.p.Y, s.p.Y-float64(b[4]), 0)
		z := max(float64(b[2])-s.p.Z, s.p.Z-float64(b[5]), 0)
		d2 := x*x + y*y + z*z
		if d2 >= s.best {
			continue
		}
		if off := t.slabs[level][i].off(s.p); off*off > d2 {
			if d2 = off * off; d2 >= s.best {
				continue
			}
		}
		k := n
		for ; k > 0 && d[k-1] > d2; k-- {
			d[k], which[k] = d[k-1], which[k-1]
		}
		d[k], which[k] = d2, i
		n++
	}
	for k := range n {
		if d[k] >= s.best {
			return
		}
		i := which[k]
		if level > 0 {
			t.search(s, level-1, i*perBox, min((i+1)*perBox, len(t.levels[level-1])))
			continue
		}
		for j := i * perBox; j < min((i+1)*perBox, len(t.order)); j++ {
			f := &t.packed[j]
			q := nearestOn(s.p, f[0].Vec(), f[1].Vec(), f[2].Vec())
			if d2 := r3.Norm2(r3.Sub(q, s.p)); d2 < s.best && (s.cone == nil || s.cone.sees(q)) {
				s.best, s.tri, s.at = d2, t.order[j], q
			}
		}
	}
}

// nearestOn returns the place of a triangle nearest to p, by the region of its
// plane that p lies over (C. Ericson, Real-Time Collision Detection, 2005, 5.1.5).
func nearestOn(p, a, b, c r3.Vec) r3.Vec {
	ab, ac, ap := r3.Sub(b, a), r3.Sub(c, a), r3.Sub(p, a)
	d1, d2 := r3.Dot(ab, ap), r3.Dot(ac, ap)
	if d1 <= 0 && d2 <= 0 {
		return a
	}
	bp := r3.Sub(p, b)
	d3, d4 := r3.Dot(ab, bp), r3.Dot(ac, bp)
	if d3 >= 0 && d4 <= d3 {
		return b
	}
	if vc := d1*d4 - d3*d2; vc <= 0 && d1 >= 0 && d3 <= 0 {
		return r3.Add(a, r3.Scale(d1/max(d1-d3, math.SmallestNonzeroFloat64), ab))
	}
	cp := r3.Sub(p, c)
	d5, d6 := r3.Dot(ab, cp), r3.Dot(ac, cp)
	if d6 >= 0 && d5 <= d6 {
		return c
	}
	if vb := d5*d2 - d1*d6; vb <= 0 && d2 >= 0 && d6 <= 0 {
		return r3.Add(a, r3.Scale(d2/max(d2-d6, math.SmallestNonzeroFloat64), ac))
	}
	va := d3*d6 - d5*d4
	if va <= 0 && d4 >= d3 && d5 >= d6 {
		return r3.Add(b, r3.Scale((d4-d3)/max((d4-d3)+(d5-d6), math.SmallestNonzeroFloat64), r3.Sub(c, b)))
	}
	vb, vc := d5*d2-d1*d6, d1*d4-d3*d2
	if sum := va + vb + vc; sum > 0 {
		return r3.Add(a, r3.Add(r3.Scale(vb/sum, ab), r3.Scale(vc/sum, ac)))
	}
	return a
}

// exit returns how far from p along the unit vector d a ray comes out of the
// surface, within the given distance; not if it goes in first, as p is then
// outside.
func (t *tree) exit(p, d r3.Vec, within float64) (float64, bool) {
	found := false
	from, way := [3]float64{p.X, p.Y, p.Z}, [3]float64{d.X, d.Y, d.Z}
	t.walk(func(b *box) bool {
		in, out := 0.0, within
		for k := range 3 {
			if way[k] == 0 {
				if from[k] < float64(b[k]) || from[k] > float64(b[k+3]) {
					return false
				}
				continue
			}
			s, e := (float64(b[k])-from[k])/way[k], (float64(b[k+3])-from[k])/way[k]
			in, out = max(in, min(s, e)), min(out, max(s, e))
		}
		return in <= out+1e-9
	}, func(tri int32) {
		if s, out := t.m.met(int(tri), p, d); s > 1e-6 && s < within {
			within, found = s, out
		}
	})
	return within, found
}

// met returns how far from p along d a ray meets triangle t, 0 if it does not,
// and whether it comes out there
// (T. Möller, B. Trumbore, J. Graphics Tools 2 (1997) 21).
func (m *Mesh) met(t int, p, d r3.Vec) (distance float64, out bool) {
	a, b, c := m.Corners(t)
	ab, ac := r3.Sub(b, a), r3.Sub(c, a)
	q := r3.Cross(d, ac)
	det := r3.Dot(ab, q)
	if det*det <= 1e-24*r3.Norm2(ab)*r3.Norm2(ac) { // runs along, or has no area
		return 0, false
	}
	s := r3.Sub(p, a)
	u := r3.Dot(s, q) / det
	if u < 0 || u > 1 {
		return 0, false
	}
	r := r3.Cross(s, ab)
	v := r3.Dot(d, r) / det
	if v < 0 || u+v > 1 {
		return 0, false
	}
	return r3.Dot(ac, r) / det, det < 0
}

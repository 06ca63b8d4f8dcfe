package mesh

import (
	"cmp"
	"context"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// crossing is where a line parallel to x pierces a shell.
type crossing struct {
	x     float64
	turn  int32 // +1 going in, −1 coming out
	shell int32
}

// pierce returns where the line through (y, z) meets the surface, in rising x.
// Which triangles it meets is decided alike for both triangles of each edge
// ([side]), so that it goes in and comes out of each closed shell equally often
// whatever the order of the corners.
func (t *tree) pierce(y, z float64, shellOf []int32, into []crossing) []crossing {
	t.walk(func(b *box) bool {
		return y >= float64(b[1]) && y <= float64(b[4]) && z >= float64(b[2]) && z <= float64(b[5])
	}, func(tri int32) {
		a, b, c := t.m.Corners(int(tri))
		if x, turn := pierced(a, b, c, y, z); turn != 0 {
			into = append(into, crossing{x, int32(turn), shellOf[tri]})
		}
	})
	slices.SortFunc(into, func(a, b crossing) int {
		return cmp.Or(cmp.Compare(a.x, b.x), cmp.Compare(b.turn, a.turn), cmp.Compare(a.shell, b.shell))
	})
	return into
}

// exposed is the surface that bounds metal where bodies run into one another.
type exposed struct {
	*Mesh          // facets and parts of facets, and the creases as facets without area
	source []int32 // facet of the piece that each is part of
	Solid
	creases []crease
}

// seam is where a facet meets one of another shell.
type seam struct {
	a, b  r3.Vec
	other int32
}

// exposed finds where facets of different shells meet, and keeps what lies
// outside all other metal. Of facets that are met, the parts finer than
// partMM along the crease are left to the crease itself, which is exact.
func (c *Checked) exposed(ctx context.Context) *exposed {
	low, high := c.Bounds()
	e := &exposure{Checked: c, out: &exposed{Mesh: &Mesh{}}, middle: r3.Scale(0.5, r3.Add(low, high)), seams: make([][]seam, len(c.T))}
	Parallel(ctx, (len(c.T)+1023)/1024, func(part int) {
		for t := part * 1024; t < min((part+1)*1024, len(c.T)); t++ {
			if c.Shells[c.shellOf[t]].meets {
				e.seams[t] = c.seamsOf(int32(t))
			}
		}
	})
	if ctx.Err() != nil {
		return e.out
	}
	hidden := e.hidden()
	for t := range c.T {
		if t%1024 == 0 && ctx.Err() != nil {
			break
		}
		a, b, d := c.Corners(t)
		switch {
		case len(e.seams[t]) > 0:
			e.part(int32(t), a, b, d, e.seams[t])
			for _, s := range e.seams[t] {
				e.crease(int32(t), s)
			}
		case !hidden[t]:
			e.keep(int32(t), a, b, d)
			e.count(a, b, d)
		}
	}
	if e.out.VolumeMM3 != 0 {
		e.out.Centre = r3.Scale(1/e.out.VolumeMM3, e.out.Centre)
	}
	e.out.Centre = r3.Add(e.out.Centre, e.middle)
	return e.out
}

// partMM is how far facets are halved along a crease.
const partMM = 0.05

type exposure struct {
	*Checked
	out    *exposed
	middle r3.Vec
	seams  [][]seam
	line   []crossing
}

// hidden tells of each facet that is not met by another shell whether it lies
// in metal: alike for all that hang together.
func (e *exposure) hidden() []bool {
	hidden, seen := make([]bool, len(e.T)), make([]bool, len(e.T))
	var queue []int32
	for seed := range e.T {
		if seen[seed] || len(e.seams[seed]) > 0 {
			continue
		}
		a, b, c := e.Corners(seed)
		in := e.Shells[e.shellOf[seed]].meets && e.buried(r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))), int32(seed))
		queue = append(queue[:0], int32(seed))
		seen[seed] = true
		for at := 0; at < len(queue); at++ {
			t := queue[at]
			hidden[t] = in
			for k := range int32(3) {
				if o := e.mate[3*t+k]; o >= 0 && !seen[o/3] && len(e.seams[o/3]) == 0 {
					seen[o/3] = true
					queue = append(queue, o/3)
				}
			}
		}
	}
	return hidden
}

func (e *exposure) keep(t int32, a, b, c r3.Vec) {
	n := int32(len(e.out.V))
	e.out.source = append(e.out.source, t)
	e.out.V = append(e.out.V, point(a), point(b), point(c))
	e.out.T = append(e.out.T, Triangle{n, n + 1, n + 2})
}

// count adds a facet to volume, area and centre.
func (e *exposure) count(a, b, c r3.Vec) {
	a, b, c = r3.Sub(a, e.middle), r3.Sub(b, e.middle), r3.Sub(c, e.middle)
	n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
	v := r3.Dot(a, n) / 6
	e.out.VolumeMM3 += v
	e.out.AreaMM2 += norm(n) / 2
	e.out.Centre = r3.Add(e.out.Centre, r3.Scale(v/4, r3.Add(a, r3.Add(b, c))))
}

// part halves a facet along its longest side until no seam passes or it is fine.
func (e *exposure) part(t int32, a, b, c r3.Vec, seams []seam) {
	x := emptyBox
	for _, p := range [3]r3.Vec{a, b, c} {
		q := point(p)
		x.add(&box{q[0], q[1], q[2], q[0], q[1], q[2]})
	}
	var met []seam
	for _, s := range seams {
		p, q := point(s.a), point(s.b)
		y := box{min(p[0], q[0]) - blind, min(p[1], q[1]) - blind, min(p[2], q[2]) - blind, max(p[0], q[0]) + blind, max(p[1], q[1]) + blind, max(p[2], q[2]) + blind}
		if overlap(&x, &y) {
			met = append(met, s)
		}
	}
	ab, bc, ca := r3.Norm2(r3.Sub(b, a)), r3.Norm2(r3.Sub(c, b)), r3.Norm2(r3.Sub(a, c))
	longest := max(ab, bc, ca)
	if len(met) == 0 || longest <= partMM*partMM {
		if !e.buried(r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))), t) {
			e.count(a, b, c)
			if len(met) == 0 {
				e.keep(t, a, b, c)
			}
		}
		return
	}
	switch longest {
	case ab:
		m := r3.Scale(0.5, r3.Add(a, b))
		e.part(t, a, m, c, met)
		e.part(t, m, b, c, met)
	case bc:
		m := r3.Scale(0.5, r3.Add(b, c))
		e.part(t, a, b, m, met)
		e.part(t, a, m, c, met)
	default:
		m := r3.Scale(0.5, r3.Add(c, a))
		e.part(t, a, b, m, met)
		e.part(t, m, b, c, met)
	}
}

// crease keeps a seam that no third body hides.
func (e *exposure) crease(t int32, s seam) {
	m := r3.Scale(0.5, r3.Add(s.a, s.b))
	e.line = e.filed(context.Background()).pierce(m.Y, m.Z, e.shellOf, e.line[:0])
	third := int32(0)
	for _, h := range e.line {
		if h.x < m.X && h.shell != e.shellOf[t] && h.shell != e.shellOf[s.other] {
			third += h.turn
		}
	}
	if third > 0 || e.Shells[e.shellOf[t]].VolumeMM3 < 0 || e.Shells[e.shellOf[s.other]].VolumeMM3 < 0 {
		return
	}
	e.keep(t, s.a, s.b, s.b)
	e.out.creases = append(e.out.creases, crease{s.a, s.b, r3.Scale(-1, r3.Unit(e.normal(t))), r3.Scale(-1, r3.Unit(e.normal(s.other)))})
}

func overlap(a, b *box) bool {
	return a[0] <= b[3] && b[0] <= a[3] && a[1] <= b[4] && b[1] <= a[4] && a[2] <= b[5] && b[2] <= a[5]
}

// seamsOf lists where a facet meets those of other shells.
func (c *Checked) seamsOf(t int32) (list []seam) {
	x := c.boxOf(t)
	c.tree.walk(func(b *box) bool { return overlap(&x, b) }, func(o int32) {
		if c.shellOf[o] == c.shellOf[t] {
			return
		}
		if y := c.boxOf(o); overlap(&x, &y) {
			if a, b, ok := c.meet(t, o); ok {
				list = append(list, seam{a, b, o})
			}
		}
	})
	return list
}

// meet returns the segment in which two facets cross: each is cut by the plane
// of the other, and what the two cuts share is kept
// (T. Möller, J. Graphics Tools 2 (1997) no. 2, 25).
func (m *Mesh) meet(s, t int32) (a, b r3.Vec, ok bool) {
	n, k := m.normal(s), m.normal(t)
	along := r3.Cross(n, k)
	if r3.Norm2(along) <= 1e-16*r3.Norm2(n)*r3.Norm2(k) {
		return a, b, false // parallel
	}
	p, q, ok := m.cutBy(s, m.V[m.T[t][0]].Vec(), k)
	if !ok {
		return a, b, false
	}
	u, v, ok := m.cutBy(t, m.V[m.T[s][0]].Vec(), n)
	if !ok {
		return a, b, false
	}
	if r3.Dot(along, r3.Sub(q, p)) < 0 {
		p, q = q, p
	}
	if r3.Dot(along, r3.Sub(v, u)) < 0 {
		u, v = v, u
	}
	if r3.Dot(along, r3.Sub(u, p)) > 0 {
		p = u
	}
	if r3.Dot(along, r3.Sub(q, v)) > 0 {
		q = v
	}
	return p, q, r3.Dot(along, r3.Sub(q, p)) > 0
}

// cutBy returns where the plane through p with normal n cuts a facet.
func (m *Mesh) cutBy(t int32, p, n r3.Vec) (a, b r3.Vec, ok bool) {
	var corner [3]r3.Vec
	corner[0], corner[1], corner[2] = m.Corners(int(t))
	var d [3]float64
	for k := range d {
		d[k] = r3.Dot(r3.Sub(corner[k], p), n)
	}
	found := 0
	for k := range 3 {
		l := next(k)
		if (d[k] >= 0) == (d[l] >= 0) {
			continue
		}
		x := r3.Add(corner[k], r3.Scale(d[k]/(d[k]-d[l]), r3.Sub(corner[l], corner[k])))
		if found++; found == 1 {
			a = x
		} else {
			b = x
		}
	}
	return a, b, found == 2
}

// buried tells whether a place of a facet lies within metal: the other shells
// wind round it so that there is metal on both sides of the surface. Where
// another shell lies on it, facing the same way, the first of them keeps it.
func (e *exposure) buried(p r3.Vec, t int32) bool {
	shell := e.shellOf[t]
	n := e.normal(t)
	if r3.Norm2(n) == 0 {
		return true
	}
	off := r3.Scale(blind, r3.Unit(n))
	own := int32(1)
	if e.Shells[shell].VolumeMM3 < 0 {
		own = -1
	}
	outside, firstOut := e.winding(r3.Add(p, off), shell)
	inside, firstIn := e.winding(r3.Sub(p, off), shell)
	return (outside > 0) == (inside+own > 0) || inside > outside && firstIn > firstOut
}

// winding counts how often the shells other than one wind round a place, and
// those among them that come before it.
func (e *exposure) winding(p r3.Vec, shell int32) (all, before int32) {
	e.line = e.tree.pierce(p.Y, p.Z, e.shellOf, e.line[:0])
	for _, h := range e.line {
		if h.x < p.X && h.shell != shell {
			all += h.turn
			if h.shell < shell {
				before += h.turn
			}
		}
	}
	return all, before
}

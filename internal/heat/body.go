package heat

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/mesh"
)

// A cell that the surface passes through holds a share of metal and a share of
// clay. Metal of less than half a cell is given to the neighbour it lies against,
// as its heat would otherwise change faster than that of a whole cell; see
// [portion] for the clay.
const half = 0.5

// none marks the absence of a node.
const none = -1

// body is the discrete problem: metal nodes, clay cells, and what joins them.
// Volumes are in cells, conductances per conductivity and cell size.
type body struct {
	filled
	// Metal nodes in the order of their cells.
	cell   []int32      // cell of the node
	node   []int32      // per cell: its node, or that which took its sliver, or none
	volume []float32    // in cells
	next   [][6]int32   // neighbours −x +x −y +y −z +z; the node itself where there is none
	link   [][6]float32 // conductance to them over k·D
	spans  []span       // of the nodes that are whole cells in metal
	edges  []int32      // the others
	// Clay, numbered row by row.
	kind   []byte  // per cell: outside, plain or odd
	clayAt []int32 // per cell: its number, or that of the clay which took its sliver, or none
	place  []int32 // its cell, or none for the mirrors at the ends of rows
	rows   []row   // of regular cells
	odd    []oddCell
	oddAt  []int32 // per number, its place in odd, or none
	// Contact between them, in the order of the odd cells that touch metal, which come first.
	contacts []contact
	touching []int32 // where those of each begin
	byMetal  group   // contacts of each metal node that has any
	area     float64
}

const (
	outside = iota
	plain
	odd
)

// span is a stretch along x of metal nodes or clay cells, numbered on, such
// that those beside it on each side are numbered on too.
type span struct {
	from, count int32
	beside      [4]int32 // where the stretches −y +y −z +z of it begin; its own beginning where there is none
}

// joins tells whether next, of one, goes on with the span.
func (r *span) joins(next *span) bool {
	if r.from+r.count != next.from {
		return false
	}
	for k, at := range r.beside {
		if at+r.count != next.beside[k] {
			return false
		}
	}
	return true
}

// row is a span of regular clay: whole cells, each side of which leads to
// another or is closed.
type row struct {
	span
	first, last bool // whether its ends are closed
}

// oddCell is a clay cell with its own conductances.
type oddCell struct {
	cell   int32 // its number
	volume float32
	next   [6]int32 // numbers; its own where there is none
	link   [6]float32
}

// contact joins a metal node and a clay cell over part of the surface.
type contact struct {
	node, odd   int32
	area        float32 // mm²
	metal, clay float32 // distances from the surface to the middles of the cells, mm
	wall        float32 // depth of clay that is counted at the wall, mm
	bend        float32 // mean curvature of the surface, 1/mm
}

// touchCount is how many of the odd cells touch metal: the first so many.
func (b *body) touchCount() int { return len(b.touching) - 1 }

// group lists the contacts of each member: items[start[k]:start[k+1]].
type group struct {
	member []int32
	start  []int32
	items  []int32
}

// reachOf tells how deep the clay counts behind metal at a place, in mm.
type reachOf func(p r3.Vec) float64

// newBody cuts the metal of m into nodes and the clay round it into cells.
// The sides of the grid let no heat through.
func newBody(ctx context.Context, g Grid, m *mesh.Mesh, buried func(p, n r3.Vec) bool, reach reachOf) (*body, error) {
	b := &body{filled: fill(ctx, g, m)}
	surface := surfaceOf(ctx, g, m, buried)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	b.sharpen(ctx, surface)
	b.metalNodes(ctx)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if len(b.cell) == 0 {
		return nil, fmt.Errorf("no metal in a grid of %g mm", g.D)
	}
	b.claim(ctx, reach)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	slivers := b.handOn(ctx, surface)
	off := b.clayCells(ctx, surface, slivers)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	b.touch(ctx, surface, slivers, off)
	return b, ctx.Err()
}

// shares of metal: who owns the lesser ones, and the volumes of cells that are
// not simply whole.
type shares struct {
	owner  map[int32]int32 // cell of a given-away share -> cell that took it
	volume map[int32]float64
}

// ownerOf returns the cell that counts a cell's share.
func (s *shares) ownerOf(cell int) int {
	if o, ok := s.owner[int32(cell)]; ok {
		return int(o)
	}
	return cell
}

// shareMetal finds who owns the metal of each cut cell: itself from half of it on.
func (b *body) shareMetal(ctx context.Context) shares {
	s := shares{map[int32]int32{}, map[int32]float64{}}
	var lesser []*cut
	for i := range b.cuts {
		if gone(ctx, i) {
			return s
		}
		c := &b.cuts[i]
		if c.metal >= half {
			s.volume[int32(c.cell)] = c.metal
		} else if c.metal > 0 {
			lesser = append(lesser, c)
		}
	}
	own := maps.Clone(s.volume)
	var left []*cut
	for i, c := range lesser {
		if gone(ctx, i) {
			return s
		}
		n := b.taker(c, func(n int) bool { _, owns := own[int32(n)]; return owns || b.metal[n] == 1 })
		if n == none {
			left = append(left, c)
			continue
		}
		s.give(c, int32(n))
	}
	// What lies against given-away shares only, along edges and at corners, goes
	// where they went, layer by layer so that the order does not tell.
	for len(left) > 0 {
		var further []*cut
		to := make(map[*cut]int32)
		for _, c := range left {
			if n := b.taker(c, func(n int) bool { _, given := s.owner[int32(n)]; return given }); n != none {
				to[c] = s.owner[int32(n)]
			} else {
				further = append(further, c)
			}
		}
		for _, c := range left {
			if n, ok := to[c]; ok {
				s.give(c, n)
			}
		}
		if len(to) == 0 {
			break
		}
		left = further
	}
	for _, c := range left {
		if c.metal > leastAlone { // a wall thinner than a cell
			s.volume[int32(c.cell)] = c.metal
		}
	}
	return s
}

// give adds the metal of a cut cell to another.
func (s *shares) give(c *cut, to int32) {
	s.owner[int32(c.cell)] = to
	if _, cutToo := s.volume[to]; !cutToo {
		s.volume[to] = 1
	}
	s.volume[to] += c.metal
}

// taker finds the neighbour of a cut cell, of those that will, over its best
// covered face.
func (b *body) taker(c *cut, will func(n int) bool) int {
	best, most := none, 0.0
	for side := range 6 {
		if n, ok := b.neighbour(c.cell, side); ok && will(n) {
			if f := c.face[side] + 1e-6; f > most {
				best, most = n, f
			}
		}
	}
	return best
}

// leastAlone is the least share that makes a node of its own where no
// neighbour takes it; less is left out.
const leastAlone = 0.1

// neighbour of a cell on a side −x +x −y +y −z +z.
func (g Grid) neighbour(cell, side int) (int, bool) {
	axis, up := side/2, side%2
	i, j, k := g.at(cell)
	x := [3]int{i, j, k}[axis] + 2*up - 1
	if x < 0 || x >= g.N[axis] {
		return none, false
	}
	return cell + (2*up-1)*g.stride()[axis], true
}

// cutAt returns the cut record of a cell.
func (b *body) cutAt(cell int) *cut {
	i, ok := slices.BinarySearchFunc(b.cuts, cell, func(c cut, cell int) int { return c.cell - cell })
	if !ok {
		return nil
	}
	return &b.cuts[i]
}

// gone looks, every so many cells, whether the caller is.
func gone(ctx context.Context, cell int) bool { return cell&0xfff == 0 && ctx.Err() != nil }

// metalNodes numbers the metal and joins it.
func (b *body) metalNodes(ctx context.Context) {
	s := b.shareMetal(ctx)
	b.node = make([]int32, b.Cells())
	for c := range b.node {
		if gone(ctx, c) {
			return
		}
		b.node[c] = none
		v, cutHere := s.volume[int32(c)]
		if b.metal[c] != 1 && !cutHere {
			continue
		}
		if !cutHere {
			v = 1
		}
		b.node[c] = int32(len(b.cell))
		b.cell = append(b.cell, int32(c))
		b.volume = append(b.volume, float32(v))
	}
	for from, to := range s.owner {
		b.node[from] = b.node[to]
	}
	if ctx.Err() != nil {
		return
	}
	b.next, b.link = make([][6]int32, len(b.cell)), make([][6]float32, len(b.cell))
	for n := range b.next {
		for side := range 6 {
			b.next[n][side] = int32(n)
		}
	}
	b.faces(ctx, b.isMetal, func(c *cut, side int) float64 { return c.face[side] }, func(lower, upper, axis int, covered float64) {
		lo, hi := s.ownerOf(lower), s.ownerOf(upper)
		if lo == hi {
			return
		}
		// The face of a share given away counts at the like face of its owner.
		if hi-lo != b.stride()[axis] { // round a corner
			owns := func(cell int, ok bool) bool { return ok && b.isMetal(cell) && s.ownerOf(cell) == cell }
			if beside, ok := b.neighbour(lo, 2*axis+1); lo != lower && owns(beside, ok) {
				hi = beside
			} else if beside, ok := b.neighbour(hi, 2*axis); hi != upper && owns(beside, ok) {
				lo = beside
			} else {
				return
			}
		}
		n, o := b.node[lo], b.node[hi]
		b.next[n][2*axis+1], b.next[o][2*axis] = o, n
		b.link[n][2*axis+1] += float32(covered)
		b.link[o][2*axis] += float32(covered)
	})
}

// findSpans gathers the whole nodes that touch metal alone into spans.
func (b *body) findSpans() {
	touched := make([]bool, len(b.cell))
	for _, c := range b.contacts {
		touched[c.node] = true
	}
	for n, v := range b.volume {
		if v != 1 || b.link[n] != [6]float32{1, 1, 1, 1, 1, 1} || touched[n] {
			b.edges = append(b.edges, int32(n))
			continue
		}
		one := span{int32(n), 1, [4]int32(b.next[n][2:])}
		if last := len(b.spans) - 1; last >= 0 && b.spans[last].joins(&one) {
			b.spans[last].count++
			continue
		}
		b.spans = append(b.spans, one)
	}
}

func (b *body) isMetal(cell int) bool { return b.metal[cell] > 0 && b.node[cell] != none }

// faces hands on each face between two cells of one phase with its conductance,
// the covered part of it: temperatures stand at the middles of cells, one cell
// apart, also where a cell is cut, so that an even gradient is met exactly.
func (b *body) faces(ctx context.Context, present func(cell int) bool, face func(c *cut, side int) float64, f func(lower, upper, axis int, covered float64)) {
	cover := func(cell, side int) float64 {
		if b.metal[cell] == 0 || b.metal[cell] == 1 {
			return 1
		}
		return face(b.cutAt(cell), side)
	}
	for lower := range b.metal {
		if gone(ctx, lower) {
			return
		}
		if !present(lower) {
			continue
		}
		for axis := range 3 {
			upper, ok := b.neighbour(lower, 2*axis+1)
			if !ok || !present(upper) {
				continue
			}
			if covered := (cover(lower, 2*axis+1) + cover(upper, 2*axis)) / 2; covered > 0 {
				f(lower, upper, axis, covered)
			}
		}
	}
}

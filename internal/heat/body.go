package heat

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/mesh"
)

// A cell that the surface passes through holds a share of metal and a share
// of clay. The lesser share is given to the neighbour it lies against, as its
// heat would otherwise change faster than that of a whole cell.
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
	// Clay.
	kind  []byte // per cell: outside, plain (whole, all neighbours whole) or odd
	runs  []run  // of plain cells along x
	odd   []oddCell
	oddAt []int32 // per cell, its place in odd, or none; only where kind is odd
	// Contact between them.
	contacts []contact
	byMetal  group // contacts of each metal node that has any
	byClay   group // contacts of each odd cell that has any
	area     float64
}

const (
	outside = iota
	plain
	odd
)

// run is a row of plain clay cells.
type run struct{ from, count int32 }

// oddCell is a clay cell with its own conductances.
type oddCell struct {
	cell   int32
	volume float32
	next   [6]int32 // cells; itself where there is none
	link   [6]float32
	group  int32 // its place among those that touch metal, or none
}

// contact joins a metal node and a clay cell over part of the surface.
type contact struct {
	node, odd   int32
	area        float32 // mm²
	metal, clay float32 // distances from the surface to the middles of the cells, mm
	wall        float32 // depth of clay that is counted at the wall, mm
}

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
	surface := patches(ctx, g, m, buried)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	b.sharpen(surface)
	b.metalNodes(ctx)
	if len(b.cell) == 0 {
		return nil, fmt.Errorf("no metal in a grid of %g mm", g.D)
	}
	b.claim(ctx, reach)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	b.clayCells(ctx, surface)
	b.touch(surface)
	return b, ctx.Err()
}

// shares of one phase: who owns the lesser shares, and the volumes of cells
// that are not simply whole.
type shares struct {
	owner  map[int32]int32 // cell of a given-away share -> cell that took it
	volume map[int32]float64
}

// ownerOf returns the cell that counts a cell's share of the phase.
func (s *shares) ownerOf(cell int) int {
	if o, ok := s.owner[int32(cell)]; ok {
		return int(o)
	}
	return cell
}

// divide finds who owns the share of each cut cell. part gives the share,
// face how much of a face it covers, whole tells of the other cells.
func (b *body) divide(part func(c *cut) float64, face func(c *cut, side int) float64, whole func(cell int) bool) shares {
	s := shares{map[int32]int32{}, map[int32]float64{}}
	var lesser []*cut
	for i := range b.cuts {
		c := &b.cuts[i]
		if v := part(c); v >= half {
			s.volume[int32(c.cell)] = v
		} else if v > 0 {
			lesser = append(lesser, c)
		}
	}
	own := maps.Clone(s.volume)
	give := func(c *cut, to int32) {
		s.owner[int32(c.cell)] = to
		if _, cutToo := s.volume[to]; !cutToo {
			s.volume[to] = 1
		}
		s.volume[to] += part(c)
	}
	// taker finds the neighbour, of those that will, over the best covered face.
	taker := func(c *cut, will func(n int) bool) int {
		best, most := none, 0.0
		for side := range 6 {
			if n, ok := b.neighbour(c.cell, side); ok && will(n) {
				if f := face(c, side) + 1e-6; f > most {
					best, most = n, f
				}
			}
		}
		return best
	}
	var left []*cut
	for _, c := range lesser {
		n := taker(c, func(n int) bool { _, owns := own[int32(n)]; return owns || whole(n) })
		if n == none {
			left = append(left, c)
			continue
		}
		give(c, int32(n))
	}
	// What lies against given-away shares only, along edges and at corners, goes
	// where they went, layer by layer so that the order does not tell.
	for len(left) > 0 {
		var further []*cut
		to := make(map[*cut]int32)
		for _, c := range left {
			if n := taker(c, func(n int) bool { _, given := s.owner[int32(n)]; return given }); n != none {
				to[c] = s.owner[int32(n)]
			} else {
				further = append(further, c)
			}
		}
		for _, c := range left {
			if n, ok := to[c]; ok {
				give(c, n)
			}
		}
		if len(to) == 0 {
			break
		}
		left = further
	}
	for _, c := range left {
		if part(c) > leastAlone { // a wall thinner than a cell
			s.volume[int32(c.cell)] = part(c)
		}
	}
	return s
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
func gone(ctx context.Context, cell int) bool { return cell&0x3fff == 0 && ctx.Err() != nil }

// metalNodes numbers the metal and joins it.
func (b *body) metalNodes(ctx context.Context) {
	s := b.divide(
		func(c *cut) float64 { return c.metal },
		func(c *cut, side int) float64 { return c.face[side] },
		func(cell int) bool { return b.metal[cell] == 1 })
	b.node = make([]int32, b.Cells())
	for c := range b.node {
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
	b.next, b.link = make([][6]int32, len(b.cell)), make([][6]float32, len(b.cell))
	for n := range b.next {
		for side := range 6 {
			b.next[n][side] = int32(n)
		}
	}
	b.join(ctx, s, b.isMetal, func(c *cut, side int) float64 { return c.face[side] }, func(lower, upper, axis int, w float64) {
		n, o := b.node[lower], b.node[upper]
		b.next[n][2*axis+1], b.next[o][2*axis] = o, n
		b.link[n][2*axis+1] += float32(w)
		b.link[o][2*axis] += float32(w)
	})
}

func (b *body) isMetal(cell int) bool { return b.metal[cell] > 0 && b.node[cell] != none }

// join gives each face between two owners of one phase its conductance, the
// covered part of it: temperatures stand at the middles of cells, one cell
// apart, also where a cell is cut, so that an even gradient is met exactly.
// The face of a share given away counts at the like face of its owner.
func (b *body) join(ctx context.Context, s shares, present func(cell int) bool, face func(c *cut, side int) float64, f func(lower, upper, axis int, w float64)) {
	cover := func(cell, side int) float64 {
		if b.metal[cell] == 0 || b.metal[cell] == 1 {
			return 1
		}
		return face(b.cutAt(cell), side)
	}
	strides := b.stride()
	for lower := range b.metal {
		if gone(ctx, lower) {
			return
		}
		if !present(lower) {
			continue
		}
		for axis, stride := range strides {
			upper, ok := b.neighbour(lower, 2*axis+1)
			if !ok || !present(upper) {
				continue
			}
			covered := (cover(lower, 2*axis+1) + cover(upper, 2*axis)) / 2
			lo, hi := s.ownerOf(lower), s.ownerOf(upper)
			if covered <= 0 || lo == hi {
				continue
			}
			if hi-lo != stride { // round a corner
				switch beside, ok := b.neighbour(lo, 2*axis+1); {
				case lo != lower && ok && present(beside) && s.ownerOf(beside) == beside:
					hi = beside
				default:
					beside, ok = b.neighbour(hi, 2*axis)
					if hi == upper || !ok || !present(beside) || s.ownerOf(beside) != beside {
						continue
					}
					lo = beside
				}
			}
			f(lo, hi, axis, covered)
		}
	}
}

// claim marks the clay that counts: reach falls off from the metal by chamfer
// steps (G. Borgefors, CVGIP 34 (1986) 344: 1, 1.314, 1.628 for a cube's
// neighbours, within 10 % of the distance).
func (b *body) claim(ctx context.Context, reach reachOf) {
	left := make([]float32, b.Cells())
	for c, m := range b.metal {
		if m > 0 {
			left[c] = float32(reach(b.Centre(c)) / b.D)
		}
	}
	type stepTo struct {
		di, dj, dk int
		d          float32
	}
	var behind []stepTo
	for k := -1; k <= 0; k++ {
		for j := -1; j <= 1; j++ {
			for i := -1; i <= 1; i++ {
				if k == 0 && (j > 0 || j == 0 && i >= 0) {
					continue
				}
				behind = append(behind, stepTo{i, j, k, [4]float32{0, 1, 1.314, 1.628}[i*i+j*j+k*k]})
			}
		}
	}
	sweep := func(c, sense int) {
		i, j, k := b.at(c)
		for _, h := range behind {
			x, y, z := i+sense*h.di, j+sense*h.dj, k+sense*h.dk
			if x < 0 || y < 0 || z < 0 || x >= b.N[0] || y >= b.N[1] || z >= b.N[2] {
				continue
			}
			left[c] = max(left[c], left[b.index(x, y, z)]-h.d)
		}
	}
	for c := 0; c < len(left) && !gone(ctx, c); c++ {
		sweep(c, 1)
	}
	for c := len(left) - 1; c >= 0 && !gone(ctx, c); c-- {
		sweep(c, -1)
	}
	b.kind = make([]byte, len(left))
	for c, l := range left {
		if l > 0 && b.metal[c] < 1 {
			b.kind[c] = plain
		}
	}
}

// clayCells sorts the clay into plain runs and odd cells, and joins the odd.
func (b *body) clayCells(ctx context.Context, surface []patch) {
	face := func(c *cut, side int) float64 { return 1 - c.face[side] }
	s := b.divide(
		func(c *cut) float64 { return 1 - c.metal },
		face,
		func(cell int) bool { return b.metal[cell] == 0 })
	// Odd is what is cut, what took a sliver, what bears surface, and any
	// whose neighbours are not all whole clay.
	mark := func(cell int) {
		if b.kind[cell] != outside {
			b.kind[cell] = odd
		}
	}
	around := func(cell int) {
		mark(cell)
		for side := range 6 {
			if n, ok := b.neighbour(cell, side); ok {
				mark(n)
			}
		}
	}
	for c, m := range b.metal {
		if m > 0 {
			around(c)
		}
	}
	for to := range s.volume {
		around(int(to))
	}
	for _, p := range surface {
		around(p.cell)
	}
	for c, k := range b.kind {
		if k != plain {
			continue
		}
		for side := range 6 {
			if n, ok := b.neighbour(c, side); !ok || b.kind[n] == outside {
				b.kind[c] = odd
				break
			}
		}
	}
	for from := range s.owner {
		b.kind[from] = outside // its clay is counted with the owner
	}
	b.oddAt = make([]int32, b.Cells())
	for c, k := range b.kind {
		b.oddAt[c] = none
		if k != odd {
			continue
		}
		v, seen := s.volume[int32(c)]
		if !seen {
			v = 1
		}
		b.oddAt[c] = int32(len(b.odd))
		o := oddCell{cell: int32(c), volume: float32(v), group: none}
		for side := range o.next {
			o.next[side] = int32(c)
			if n, ok := b.neighbour(c, side); ok {
				o.next[side] = int32(n)
			}
		}
		b.odd = append(b.odd, o)
	}
	present := func(cell int) bool {
		if b.kind[cell] != outside {
			return true
		}
		_, given := s.owner[int32(cell)]
		return given
	}
	b.join(ctx, s, present, face, func(lower, upper, axis int, w float64) {
		if at := b.oddAt[lower]; at != none {
			b.odd[at].link[2*axis+1] += float32(w)
		}
		if at := b.oddAt[upper]; at != none {
			b.odd[at].link[2*axis] += float32(w)
		}
	})
	for from, to := range s.owner {
		b.oddAt[from] = b.oddAt[to]
	}
	for c := 0; c < len(b.kind); {
		if b.kind[c] != plain {
			c++
			continue
		}
		from := c
		for c < len(b.kind) && b.kind[c] == plain {
			c++
		}
		b.runs = append(b.runs, run{int32(from), int32(c - from)})
	}
}

// touch lays the surface between metal nodes and clay cells.
func (b *body) touch(surface []patch) {
	var all, used float64
	for _, p := range surface {
		all += p.area
		if r3.Norm(p.normal) == 0 {
			continue
		}
		n := r3.Unit(p.normal)
		node := b.near(p.cell, r3.Scale(-1, n), func(c int) bool { return b.node[c] != none })
		clay := b.near(p.cell, n, func(c int) bool { return b.oddAt[c] != none })
		if node == none || clay == none {
			continue
		}
		used += p.area
		k, o := b.node[node], b.oddAt[clay]
		// How far the middles lie from the surface; not less than keeps the
		// cell from being the fastest by far.
		least := 0.02 * b.D
		metal := max(r3.Dot(r3.Sub(p.mid, b.Centre(int(b.cell[k]))), n), least)
		depth := max(r3.Dot(r3.Sub(b.Centre(int(b.odd[o].cell)), p.mid), n), least)
		b.contacts = append(b.contacts, contact{k, o, float32(p.area), float32(metal), float32(depth), float32(wallShare(depth, b.D, n))})
	}
	if used > 0 {
		for i := range b.contacts { // what found no partner, in walls thinner than a cell, is made up for
			b.contacts[i].area *= float32(all / used)
		}
	}
	b.area = all
	b.byMetal = groupBy(len(b.contacts), len(b.cell), func(i int) int32 { return b.contacts[i].node })
	b.byClay = groupBy(len(b.contacts), len(b.odd), func(i int) int32 { return b.contacts[i].odd })
	for k, o := range b.byClay.member {
		b.odd[o].group = int32(k)
	}
}

// near returns the cell itself, if it will do, else the neighbour that lies
// most in direction d and will, else a diagonal one.
func (b *body) near(cell int, d r3.Vec, will func(int) bool) int {
	if will(cell) {
		return cell
	}
	best, most := none, math.Inf(-1)
	i, j, k := b.at(cell)
	for t := range 27 {
		x, y, z := t%3-1, t/3%3-1, t/9-1
		if i+x < 0 || j+y < 0 || k+z < 0 || i+x >= b.N[0] || j+y >= b.N[1] || k+z >= b.N[2] || t == 13 {
			continue
		}
		c := b.index(i+x, j+y, k+z)
		v := r3.Vec{X: float64(x), Y: float64(y), Z: float64(z)}
		if ahead := r3.Dot(v, d)/r3.Norm(v) - 0.3*float64(x*x+y*y+z*z-1); ahead > most && will(c) {
			best, most = c, ahead
		}
	}
	return best
}

func groupBy(items, members int, of func(i int) int32) (g group) {
	count := make([]int32, members+1)
	for i := range items {
		count[of(i)]++
	}
	place := make([]int32, members)
	g.start = append(g.start, 0)
	for k := range members {
		if count[k] > 0 {
			place[k] = g.start[len(g.start)-1]
			g.member = append(g.member, int32(k))
			g.start = append(g.start, place[k]+count[k])
		}
	}
	g.items = make([]int32, items)
	for i := range items {
		k := of(i)
		g.items[place[k]] = int32(i)
		place[k]++
	}
	return g
}

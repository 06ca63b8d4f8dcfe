package heat

import (
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// touch lays the surface between metal nodes and clay cells.
func (b *body) touch(ctx context.Context, s *surface, slivers map[int32][]portion, off []r3.Vec) {
	var all, used float64
	var normals []r3.Vec
	isMetal := func(c int) bool { return b.node[c] != none }
	isClay := func(c int) bool { return b.clayAt[c] != none && b.oddAt[b.clayAt[c]] != none }
	for i := range s.patches {
		if gone(ctx, i) {
			return
		}
		p := &s.patches[i]
		all += p.area
		n := p.unit
		if n == (r3.Vec{}) {
			continue
		}
		node := b.near(p.cell, r3.Scale(-1, n), isMetal)
		parts := slivers[int32(p.cell)]
		if len(parts) == 0 {
			parts = []portion{{int32(b.near(p.cell, n, isClay)), 1}}
		}
		if node == none || parts[0].cell == none {
			continue
		}
		used += p.area
		k, bend := b.node[node], b.bend(s, p)
		// How far the middles lie from the surface; not less than keeps the
		// cell from being the fastest by far.
		least := 0.02 * b.D
		metal := max(r3.Dot(r3.Sub(p.mid, b.Centre(int(b.cell[k]))), n), least)
		for _, to := range parts {
			way := r3.Sub(b.Centre(int(to.cell)), p.mid)
			up := r3.Dot(way, n)
			depth := max(up+bend*(r3.Norm2(way)-up*up)/2, least) // the surface falls away to the side
			b.contacts = append(b.contacts, contact{k, b.oddAt[b.clayAt[to.cell]], float32(to.share * p.area), float32(metal), float32(depth), 0, float32(bend)})
			normals = append(normals, n)
		}
	}
	if used > 0 {
		for i := range b.contacts { // what found no partner, in walls thinner than a cell, is made up for
			b.contacts[i].area *= float32(all / used)
		}
	}
	b.area = all
	b.holdAtWalls(normals, off)
	if ctx.Err() != nil {
		return
	}
	b.sortOdd(ctx)
	b.findSpans()
	b.byMetal = groupBy(len(b.contacts), len(b.cell), func(i int) int32 { return b.contacts[i].node })
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

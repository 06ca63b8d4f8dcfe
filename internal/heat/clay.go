package heat

import (
	"bytes"
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// held is the clay that a cell counts: its volume, and how far its middle lies
// from that of the cell, times the volume, in cells.
type held struct {
	volume float64
	off    r3.Vec
}

// shareOut gives each cut cell its clay, and those that stand for slivers theirs.
func (b *body) shareOut(ctx context.Context, slivers map[int32][]portion) map[int32]held {
	of := map[int32]held{}
	for i := range b.cuts {
		if gone(ctx, i) {
			break
		}
		c := &b.cuts[i]
		own := int32(c.cell)
		parts, sliver := slivers[own]
		if !sliver {
			parts = []portion{{own, 1}}
		}
		for _, p := range parts {
			h, seen := of[p.cell]
			if !seen && b.metal[p.cell] == 0 {
				h.volume = 1
			}
			way := r3.Scale(1/b.D, r3.Sub(b.Centre(c.cell), b.Centre(int(p.cell))))
			h.volume += p.share * (1 - c.metal)
			h.off = r3.Add(h.off, r3.Scale(p.share, r3.Sub(r3.Scale(1-c.metal, way), c.off)))
			of[p.cell] = h
		}
	}
	return of
}

// clayCells sorts the clay into regular and odd cells, numbers it, and joins
// the odd. It returns the off of each odd cell's clay.
func (b *body) clayCells(ctx context.Context, s *surface, slivers map[int32][]portion) (off []r3.Vec) {
	clay := b.shareOut(ctx, slivers)
	b.sortClay(ctx, s, slivers)
	if ctx.Err() != nil {
		return nil
	}
	for from := range slivers {
		b.kind[from] = outside // its clay is counted with those that stand for it
	}
	b.number(ctx)
	if ctx.Err() != nil {
		return nil
	}
	b.oddAt = make([]int32, len(b.place))
	for n, c := range b.place {
		if gone(ctx, n) {
			return nil
		}
		b.oddAt[n] = none
		if c == none || b.kind[c] != odd {
			continue
		}
		h, seen := clay[c]
		if !seen {
			h.volume = 1
		}
		b.oddAt[n] = int32(len(b.odd))
		o := oddCell{cell: int32(n), volume: float32(h.volume)}
		for side := range o.next {
			o.next[side] = int32(n)
			if at, ok := b.neighbour(int(c), side); ok && b.clayAt[at] != none {
				o.next[side] = b.clayAt[at]
			}
		}
		b.odd = append(b.odd, o)
		off = append(off, h.off)
	}
	b.faces(ctx, func(cell int) bool { return b.kind[cell] != outside }, func(c *cut, side int) float64 { return 1 - c.face[side] },
		func(lower, upper, axis int, covered float64) {
			if at := b.oddAt[b.clayAt[lower]]; at != none {
				b.odd[at].link[2*axis+1] = float32(covered)
			}
			if at := b.oddAt[b.clayAt[upper]]; at != none {
				b.odd[at].link[2*axis] = float32(covered)
			}
		})
	return off
}

// number counts the cells of clay row by row, and a mirror more at each end of
// a row: what stands in it is that of the cell beside it where no heat goes on.
func (b *body) number(ctx context.Context) {
	b.clayAt = make([]int32, len(b.kind))
	b.place = make([]int32, 0, len(b.kind)-bytes.Count(b.kind, []byte{outside})+2*b.N[1]*b.N[2])
	for c, k := range b.kind {
		if gone(ctx, c) {
			return
		}
		b.clayAt[c] = none
		if k == outside {
			continue
		}
		if i := c % b.N[0]; i == 0 || b.kind[c-1] == outside {
			b.place = append(b.place, none)
		}
		b.clayAt[c] = int32(len(b.place))
		b.place = append(b.place, int32(c))
		if i := c % b.N[0]; i == b.N[0]-1 || b.kind[c+1] == outside {
			b.place = append(b.place, none)
		}
	}
}

// sortClay marks as odd what is cut, what took a lesser share, what bears
// surface, and any whose neighbours are not all whole clay.
func (b *body) sortClay(ctx context.Context, s *surface, slivers map[int32][]portion) {
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
		if gone(ctx, c) {
			return
		}
		if m > 0 {
			around(c)
		}
	}
	for _, parts := range slivers {
		for _, p := range parts {
			around(int(p.cell))
		}
	}
	for i := range s.patches {
		around(s.patches[i].cell)
	}
	for c, k := range b.kind {
		if gone(ctx, c) {
			return
		}
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
}

// leastClay is the least share of clay that a cell keeps. A wall nearer to the
// middle of its cell than about a third (wallShare) would be met too cold;
// across a face of the grid the share can go straight on to the next cell.
// Askew, that would bend the way of the heat, which costs more than it gives.
func leastClay(c *cut) float64 {
	const aligned, askew, slope = 0.8, 0.6, 0.02
	sloping := 0
	for axis := range 3 {
		if math.Abs(c.face[2*axis]-c.face[2*axis+1]) > slope {
			sloping++
		}
	}
	if sloping == 1 {
		return aligned
	}
	return askew
}

// findRows gathers the regular cells into rows: those beside a row lie in rows
// too, or it is its own mirror there.
func (b *body) findRows(ctx context.Context, closed []byte) {
	beside := func(n, side int32) int32 {
		if closed[n]>>side&1 == 1 {
			return n
		}
		at, _ := b.neighbour(int(b.place[n]), int(side))
		return b.clayAt[at]
	}
	for n, c := range b.place {
		if gone(ctx, n) {
			return
		}
		if c == none || b.oddAt[n] != none {
			continue
		}
		r := row{span: span{from: int32(n), count: 1}}
		for k := range r.beside {
			r.beside[k] = beside(r.from, int32(2+k))
		}
		r.first, r.last = closed[n]&1 != 0, closed[n]&2 != 0
		if last := len(b.rows) - 1; last >= 0 && b.rows[last].joins(&r.span) {
			b.rows[last].count++
			b.rows[last].last = r.last
			continue
		}
		b.rows = append(b.rows, r)
	}
}

// sortOdd puts the odd cells that touch metal first, their contacts in the same
// order, and lets go those that turned out to be as regular as any.
func (b *body) sortOdd(ctx context.Context) {
	touched := make([]bool, len(b.odd))
	for _, c := range b.contacts {
		touched[c.odd] = true
	}
	closed := make([]byte, len(b.place))
	place := make([]int32, len(b.odd))
	var first, rest []oddCell
	for i, o := range b.odd {
		if touched[i] {
			place[i] = int32(len(first))
			first = append(first, o)
		} else if sides, ok := b.regular(&o); ok {
			closed[o.cell] = sides
		} else {
			rest = append(rest, o)
		}
		b.oddAt[o.cell] = none
	}
	b.odd = append(first, rest...)
	for i, o := range b.odd {
		b.oddAt[o.cell] = int32(i)
	}
	for i := range b.contacts {
		b.contacts[i].odd = place[b.contacts[i].odd]
	}
	byOdd := groupBy(len(b.contacts), len(first), func(i int) int32 { return b.contacts[i].odd })
	inOrder := make([]contact, len(b.contacts))
	for k, i := range byOdd.items {
		inOrder[k] = b.contacts[i]
	}
	b.contacts, b.touching = inOrder, byOdd.start
	if ctx.Err() != nil {
		return
	}
	b.findRows(ctx, closed)
}

// regular tells whether a cell that touches no metal is whole, with sides that
// are whole or closed, and which are closed.
func (b *body) regular(o *oddCell) (closed byte, ok bool) {
	if o.volume != 1 {
		return 0, false
	}
	for side, w := range o.link {
		switch {
		case w == 0 && (side > 1 || b.place[int(o.cell)+2*side-1] == none):
			closed |= 1 << side
		case w != 1:
			return 0, false
		}
	}
	return closed, true
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

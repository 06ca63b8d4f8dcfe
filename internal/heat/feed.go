package heat

import (
	"cmp"
	"container/heap"
	"context"
	"math"
	"slices"
)

// feeding tells, for each metal node, how long the best way from the button
// stays open.
type feeding struct {
	open []float64 // s: the earliest closing on the way that closes last
	from []int32   // the next node on that way; none at the button
}

// feed finds the ways that stay open longest: Dijkstra's search for the
// widest path, with the time at which a node stops feeding for its width.
func (b *body) feed(ctx context.Context, closed []float32, isSource func(node int32) bool) feeding {
	f := feeding{make([]float64, len(b.cell)), make([]int32, len(b.cell))}
	q := &queue{}
	for n := range f.open {
		f.open[n], f.from[n] = math.Inf(-1), none
		if isSource(int32(n)) {
			f.open[n] = float64(closed[n])
			*q = append(*q, waiting{f.open[n], int32(n)})
		}
	}
	heap.Init(q)
	for looks := 0; q.Len() > 0 && !gone(ctx, looks); looks++ {
		w := heap.Pop(q).(waiting)
		if w.open < f.open[w.node] {
			continue
		}
		for side, o := range b.next[w.node] {
			if b.link[w.node][side] < leastWay || o == w.node {
				continue
			}
			if open := min(w.open, float64(closed[o])); open > f.open[o] {
				f.open[o], f.from[o] = open, w.node
				heap.Push(q, waiting{open, o})
			}
		}
	}
	return f
}

// leastWay is the part of a face between cells that metal can flow through.
const leastWay = 0.02

type waiting struct {
	open float64
	node int32
}

type queue []waiting

func (q queue) Len() int { return len(q) }
func (q queue) Less(i, j int) bool {
	return cmp.Or(cmp.Compare(q[j].open, q[i].open), cmp.Compare(q[i].node, q[j].node)) < 0
}
func (q queue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *queue) Push(x any)   { *q = append(*q, x.(waiting)) }
func (q *queue) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}

// pool is a group of nodes that hang together.
type pool struct {
	nodes  []int32
	last   int32   // the one that freezes last
	volume float64 // in cells
}

// pools gathers the nodes that are in, the largest first.
func (b *body) pools(ctx context.Context, frozen []float32, in func(node int32) bool) []pool {
	seen := make([]bool, len(b.cell))
	var all []pool
	for n := range b.cell {
		if gone(ctx, n) {
			return nil
		}
		if seen[n] || !in(int32(n)) {
			continue
		}
		p := pool{nodes: []int32{int32(n)}, last: int32(n)}
		seen[n] = true
		for at := 0; at < len(p.nodes); at++ {
			m := p.nodes[at]
			p.volume += float64(b.volume[m])
			if frozen[m] > frozen[p.last] {
				p.last = m
			}
			for side, o := range b.next[m] {
				if b.link[m][side] > 0 && !seen[o] && in(o) {
					seen[o] = true
					p.nodes = append(p.nodes, o)
				}
			}
		}
		all = append(all, p)
	}
	slices.SortStableFunc(all, func(a, b pool) int { return cmp.Compare(b.volume, a.volume) })
	return all
}

// peaks finds places that freeze later than all round them by more than the
// given share: nodes are taken from the last to the first and joined to what
// was taken before; a pool that meets a later one is a peak if it stands out.
func (b *body) peaks(ctx context.Context, frozen []float32, in func(node int32) bool, share float64) []pool {
	order := make([]int32, 0, len(b.cell))
	for n := range b.cell {
		if in(int32(n)) {
			order = append(order, int32(n))
		}
	}
	if ctx.Err() != nil {
		return nil
	}
	slices.SortFunc(order, func(a, c int32) int { return cmp.Or(cmp.Compare(frozen[c], frozen[a]), cmp.Compare(a, c)) })
	root := make(forest, len(b.cell)) // of the pool; its summit
	for i := range root {
		root[i] = none
	}
	summits := map[int32]bool{}
	for i, n := range order {
		if gone(ctx, i) {
			return nil
		}
		root[n] = n
		alone := true
		for side, o := range b.next[n] {
			if o == n || b.link[n][side] == 0 || root[o] == none {
				continue
			}
			alone = false
			r, s := root.find(n), root.find(o)
			if r == s {
				continue
			}
			lower, upper := r, s
			if frozen[r] > frozen[s] || frozen[r] == frozen[s] && r < s {
				lower, upper = s, r
			}
			if lower != n && float64(frozen[lower]-frozen[n]) < share*float64(frozen[lower]) {
				delete(summits, lower) // it hardly stood out
			}
			root[lower] = upper
		}
		if alone {
			summits[n] = true
		}
	}
	var list []pool
	for n := range summits {
		if ctx.Err() != nil {
			return nil
		}
		list = append(list, b.poolAt(n, func(o int32) bool {
			return in(o) && float64(frozen[n]-frozen[o]) <= share*float64(frozen[n]) && frozen[o] <= frozen[n]
		}))
	}
	slices.SortFunc(list, func(a, c pool) int {
		return cmp.Or(cmp.Compare(frozen[c.last], frozen[a.last]), cmp.Compare(a.last, c.last))
	})
	return list
}

// forest holds for each node the one above it, a root for itself.
type forest []int32

// find returns the root over n, and shortens the way to it.
func (f forest) find(n int32) int32 {
	for f[n] != n {
		f[n] = f[f[n]]
		n = f[n]
	}
	return n
}

// poolAt gathers the nodes that hang together with the summit n and lie near it.
func (b *body) poolAt(n int32, near func(o int32) bool) pool {
	p := pool{nodes: []int32{n}, last: n}
	seen := map[int32]bool{n: true}
	for at := 0; at < len(p.nodes); at++ {
		p.volume += float64(b.volume[p.nodes[at]])
		for side, o := range b.next[p.nodes[at]] {
			if b.link[p.nodes[at]][side] > 0 && !seen[o] && near(o) {
				seen[o] = true
				p.nodes = append(p.nodes, o)
			}
		}
	}
	return p
}

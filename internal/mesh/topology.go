package mesh

import (
	"cmp"
	"context"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/calc"
)

// Edges tells how triangles meet along their edges.
type Edges struct {
	Mate   []int32 // of half-edge 3t+c, from corner c of triangle t to the next: the half-edge across; -1 open, -2 more than two meet
	Open   []int32 // half-edges with no neighbour
	Excess []int32 // half-edges where more than two triangles meet
	Turned []int32 // half-edges whose neighbour runs the same way: one of the two is flipped
	Count  int     // distinct edges
}

const (
	noMate       = -1
	tooManyMates = -2
)

// half is a half-edge filed under the lower of its two vertices.
type half struct {
	other int32 // the higher vertex
	id    int32
}

// Edges pairs the half-edges. They are filed by their lower vertex (counting
// sort), each core taking a range of vertices, and matched within the file.
func (m *Mesh) Edges(ctx context.Context) Edges {
	e := Edges{Mate: make([]int32, 3*len(m.T))}
	ranges := calc.Cores(ctx)
	parts := make([]Edges, ranges)
	Parallel(context.WithoutCancel(ctx), ranges, func(i int) {
		low, high := int32(i*len(m.V)/ranges), int32((i+1)*len(m.V)/ranges)
		parts[i] = m.pair(e.Mate, low, high)
	})
	for _, p := range parts {
		e.Open, e.Excess, e.Turned = append(e.Open, p.Open...), append(e.Excess, p.Excess...), append(e.Turned, p.Turned...)
		e.Count += p.Count
	}
	return e
}

// pair matches the half-edges whose lower vertex is in [low, high).
func (m *Mesh) pair(mate []int32, low, high int32) (e Edges) {
	start := make([]int32, high-low+1)
	for i := range m.T {
		t := &m.T[i]
		for c := range t {
			if v := min(t[c], t[next(c)]) - low; uint32(v) < uint32(high-low) {
				start[v+1]++
			}
		}
	}
	for v := range start[1:] {
		start[v+1] += start[v]
	}
	file := make([]half, start[high-low])
	at := slices.Clone(start[:high-low])
	for i := range m.T {
		t := &m.T[i]
		for c := range t {
			a, b := t[c], t[next(c)]
			if v := min(a, b) - low; uint32(v) < uint32(high-low) {
				file[at[v]] = half{max(a, b), int32(3*i + c)}
				at[v]++
			}
		}
	}
	for v := range int(high - low) {
		m.match(&e, mate, file[start[v]:start[v+1]])
	}
	return e
}

// match pairs the half-edges of one lower vertex.
func (m *Mesh) match(e *Edges, mate []int32, file []half) {
	if len(file) > 24 {
		slices.SortFunc(file, func(a, b half) int { return cmp.Or(cmp.Compare(a.other, b.other), cmp.Compare(a.id, b.id)) })
	} else {
		for i := 1; i < len(file); i++ {
			for j := i; j > 0 && file[j].other < file[j-1].other; j-- {
				file[j], file[j-1] = file[j-1], file[j]
			}
		}
	}
	for i := 0; i < len(file); {
		j := i + 1
		for j < len(file) && file[j].other == file[i].other {
			j++
		}
		e.Count++
		switch j - i {
		case 1:
			mate[file[i].id] = noMate
			e.Open = append(e.Open, file[i].id)
		case 2:
			a, b := file[i].id, file[i+1].id
			mate[a], mate[b] = b, a
			if m.from(a) == m.from(b) {
				e.Turned = append(e.Turned, a)
			}
		default:
			for _, h := range file[i:j] {
				mate[h.id] = tooManyMates
			}
			e.Excess = append(e.Excess, file[i].id)
		}
		i = j
	}
}

func next(c int) int {
	if c == 2 {
		return 0
	}
	return c + 1
}

// from and to return the vertices of a half-edge.
func (m *Mesh) from(half int32) int32 { return m.T[half/3][half%3] }
func (m *Mesh) to(half int32) int32   { return m.T[half/3][next(int(half%3))] }

// place returns the middle of a half-edge.
func (m *Mesh) place(half int32) r3.Vec {
	return r3.Scale(0.5, r3.Add(m.V[m.from(half)].Vec(), m.V[m.to(half)].Vec()))
}

// Shells lists the triangles of each shell: what hangs together by edges.
// Shells come in the order of their first triangle.
func (m *Mesh) Shells(e Edges) [][]int32 {
	root := make([]int32, len(m.T))
	for i := range root {
		root[i] = int32(i)
	}
	find := func(i int32) int32 {
		for root[i] != i {
			root[i] = root[root[i]]
			i = root[i]
		}
		return i
	}
	for h, other := range e.Mate {
		if int(other) > h {
			a, b := find(int32(h/3)), find(other/3)
			root[max(a, b)] = min(a, b)
		}
	}
	count := make([]int32, len(m.T))
	for i := range root {
		root[i] = find(int32(i))
		count[root[i]]++
	}
	var shells [][]int32
	number := make([]int32, len(m.T))
	for i, r := range root {
		if int(r) == i {
			number[i] = int32(len(shells))
			shells = append(shells, make([]int32, 0, count[i]))
		}
		shells[number[r]] = append(shells[number[r]], int32(i))
	}
	return shells
}

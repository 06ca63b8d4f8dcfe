package network

import (
	"math"

	"pourwright/internal/fluid"
)

// DefaultCells is how many cells the longest reach gets; see the refinement
// test for what more of them change.
const DefaultCells = 16

// cell is a short piece of a channel as the mesh knows it. End a faces the
// funnel, end b lies away from it.
type cell struct {
	length, area, perimeter, thick, perThick float64
	thin                                     float64 // its least area over perimeter, of the mean
	round                                    bool
	za, zb                                   float64 // heights of its ends
	reach, piece                             int
	at                                       float64 // of its middle, fraction of the reach
	size                                     float64 // of it, fraction of the reach
	mirror                                   bool    // its end b meets that of its copy
	copies                                   float64
}

// face joins end b of cell a to end a of cell b; a loop face joins two ends b.
type face struct {
	a, b  int32
	loss  float64 // velocity heads of the flow in b
	ratio float64 // copies of b to each a
	loop  bool
}

// Mesh is a network cut into cells, ready to be followed many times. Cell 0 is
// the funnel. Cells come in the order of their distance from it, so that every
// cell follows its parent; face i-1 joins cell i to its parent.
type Mesh struct {
	cells    []cell
	faces    []face
	parent   []int32
	outs     [][]int32 // faces at end b of each cell
	beyond   []int32   // one more than the last of a cell's neighbours
	downhill []int32   // cells from the highest to the lowest
	funnel   Funnel
	pieces   int
	vents    []vent
	tree     int     // number of tree faces
	top      float64 // height of the funnel's floor
}

type vent struct {
	cell             int32
	diameter, length float64
	count            float64
}

// NewMesh cuts a network into cells.
func NewMesh(n *Network) *Mesh {
	b := builder{net: n, m: &Mesh{funnel: n.Funnel}}
	b.cut()
	b.join()
	b.order()
	b.place()
	return b.m
}

type end struct{ cell, side int } // side 0 is the start of the reach's direction, 1 its end

type builder struct {
	net   *Network
	m     *Mesh
	raw   []cell // in the order of the reaches; za and zb at their starts and ends
	links [][2]end
	loss  []float64
	at    map[int][]end // raw ends at each junction
}

// cut divides the reaches.
func (b *builder) cut() {
	spacing := b.net.Spacing
	longest := 0.0
	for i := range b.net.Reaches {
		longest = max(longest, b.net.Reaches[i].Length())
	}
	if spacing == 0 {
		spacing = longest / DefaultCells
	}
	b.at = map[int][]end{}
	for i := range b.net.Reaches {
		r := &b.net.Reaches[i]
		total := r.Length()
		n := r.Cells
		if n == 0 {
			n = max(3, int(math.Round(total/spacing)))
		}
		first := len(b.raw)
		for k := range n {
			c := average(r.Sections, total*float64(k)/float64(n), total*float64(k+1)/float64(n))
			c.reach, c.piece = i, r.Piece
			c.at, c.size = (float64(k)+0.5)/float64(n), 1/float64(n)
			c.copies = float64(max(1, r.Copies))
			c.mirror = r.Mirror && k == n-1
			b.raw = append(b.raw, c)
			if k > 0 {
				b.link(end{first + k - 1, 1}, end{first + k, 0}, 0)
			}
		}
		b.at[r.From] = append(b.at[r.From], end{first, 0})
		if r.To != DeadEnd {
			b.at[r.To] = append(b.at[r.To], end{first + n - 1, 1})
		}
	}
	for i := range b.raw {
		b.m.pieces = max(b.m.pieces, b.raw[i].piece+1)
	}
}

func (b *builder) link(x, y end, loss float64) {
	b.links = append(b.links, [2]end{x, y})
	b.loss = append(b.loss, loss)
}

// average returns the cell between two places of a row of sections.
func average(s []Section, from, to float64) cell {
	var c cell
	at := 0.0
	c.za, c.zb, c.thin = math.NaN(), math.NaN(), math.Inf(1)
	for i := range s {
		lo, hi := max(from, at), min(to, at+s[i].Length)
		low := s[i].Height - s[i].Rise/2
		if math.IsNaN(c.za) && from < at+s[i].Length {
			c.za = low + s[i].Rise*(from-at)/s[i].Length
		}
		if to <= at+s[i].Length*(1+1e-9) && math.IsNaN(c.zb) || i == len(s)-1 {
			c.zb = low + s[i].Rise*(to-at)/s[i].Length
		}
		if hi > lo {
			d := hi - lo
			c.length += d
			c.area += d * s[i].Area
			c.perimeter += d * s[i].Perimeter
			c.perThick += d * s[i].PerThick
			c.thick += d * s[i].Thickness
			c.round = c.round || s[i].Round
			c.thin = min(c.thin, s[i].Area/s[i].Perimeter)
		}
		at += s[i].Length
		if at >= to*(1-1e-12) && !math.IsNaN(c.zb) {
			break
		}
	}
	for _, v := range []*float64{&c.area, &c.perimeter, &c.perThick, &c.thick} {
		*v /= c.length
	}
	c.thin = min(1, c.thin*c.perimeter/c.area)
	return c
}

// join makes the faces at the junctions: each is held by the end that the
// metal reaches first, to which the others are linked. Here all pairs; order
// keeps those of the first.
func (b *builder) join() {
	for j := range len(b.at) + 1 {
		ends := b.at[j]
		for x := range ends {
			for y := x + 1; y < len(ends); y++ {
				loss := b.net.Reaches[b.raw[ends[y].cell].reach].Loss
				if j == b.net.Funnel.Junction {
					continue
				}
				b.link(ends[x], ends[y], max(loss, b.net.Reaches[b.raw[ends[x].cell].reach].Loss))
			}
		}
	}
}

// order numbers the cells by their distance from the funnel (Dijkstra) and
// turns links into faces.
func (b *builder) order() {
	n := len(b.raw)
	dist := make([]float64, n)
	via := make([]int, n) // link by which it is reached; -1 from the funnel
	entered := make([]int, n)
	state := make([]int, n)
	for i := range dist {
		dist[i] = math.Inf(1)
	}
	for _, e := range b.at[b.net.Funnel.Junction] {
		dist[e.cell], via[e.cell], entered[e.cell] = b.raw[e.cell].length/2, -1, e.side
	}
	number := make([]int, n)
	var sequence []int
	for range n {
		best := -1
		for i := range n {
			if state[i] == 0 && !math.IsInf(dist[i], 1) && (best < 0 || dist[i] < dist[best]) {
				best = i
			}
		}
		if best < 0 {
			break
		}
		state[best] = 1
		number[best] = len(sequence) + 1
		sequence = append(sequence, best)
		for l, link := range b.links {
			for s := range 2 {
				here, there := link[s], link[1-s]
				if here.cell != best || here.side == entered[best] || state[there.cell] == 1 {
					continue
				}
				d := dist[best] + (b.raw[best].length+b.raw[there.cell].length)/2
				if d < dist[there.cell]-1e-12 {
					dist[there.cell], via[there.cell], entered[there.cell] = d, l, there.side
				}
			}
		}
	}
	b.number(sequence, number, via, entered)
}

// number lays the cells and faces out in their final order.
func (b *builder) number(sequence, number, via, entered []int) {
	m := b.m
	m.cells = make([]cell, 1, len(sequence)+1)
	m.parent = make([]int32, 1, len(sequence)+1)
	used := map[int]bool{}
	for _, i := range sequence {
		c := b.raw[i]
		if entered[i] == 1 {
			c.za, c.zb = c.zb, c.za
		}
		m.cells = append(m.cells, c)
		f := face{b: int32(number[i]), ratio: c.copies, loss: fluid.EntryLoss}
		if l := via[i]; l >= 0 {
			used[l] = true
			from := b.links[l][0].cell
			if from == i {
				from = b.links[l][1].cell
			}
			f.a, f.loss, f.ratio = int32(number[from]), b.loss[l], c.copies/b.raw[from].copies
		}
		m.parent = append(m.parent, f.a)
		m.faces = append(m.faces, f)
	}
	m.tree = len(m.faces)
	joined := map[[2]int32]bool{}
	for l, link := range b.links {
		x, y := link[0], link[1]
		// A loop joins two far ends of cells that met; at a junction only with
		// the cell that holds it.
		if used[l] || number[x.cell] == 0 || number[y.cell] == 0 || entered[x.cell] == x.side || entered[y.cell] == y.side {
			continue
		}
		a, c := int32(number[x.cell]), int32(number[y.cell])
		if key := [2]int32{min(a, c), max(a, c)}; !joined[key] {
			joined[key] = true
			m.faces = append(m.faces, face{a: min(a, c), b: max(a, c), loss: b.loss[l], ratio: 1, loop: true})
		}
	}
	m.outs = make([][]int32, len(m.cells))
	for f := range m.faces {
		a, c := m.faces[f].a, m.faces[f].b
		m.outs[a] = append(m.outs[a], int32(f))
		if m.faces[f].loop {
			m.outs[c] = append(m.outs[c], int32(f))
		}
	}
	m.beyond = make([]int32, len(m.cells))
	for f := range m.faces {
		a, c := m.faces[f].a, m.faces[f].b
		m.beyond[a], m.beyond[c] = max(m.beyond[a], c+1), max(m.beyond[c], a+1, c+1)
	}
	m.top = m.cells[1].za
	m.cells[0] = cell{za: m.top, zb: m.top, area: m.funnel.Area, length: m.funnel.Depth, perimeter: 1, thick: 1, thin: 1, copies: 1, piece: NoPiece, reach: -1}
}

// place orders the cells downhill and finds the vents.
func (b *builder) place() {
	m := b.m
	m.downhill = make([]int32, 0, len(m.cells))
	for i := 1; i < len(m.cells); i++ {
		m.downhill = append(m.downhill, int32(i))
	}
	mid := func(i int32) float64 { return m.cells[i].za + m.cells[i].zb }
	for i := 1; i < len(m.downhill); i++ { // insertion: stable, so that level cells stay in the order of the run
		for k := i; k > 0 && mid(m.downhill[k]) > mid(m.downhill[k-1])+1e-9; k-- {
			m.downhill[k], m.downhill[k-1] = m.downhill[k-1], m.downhill[k]
		}
	}
	for _, v := range b.net.Vents {
		if v.Count == 0 {
			continue
		}
		best, gap := int32(0), math.Inf(1) // the funnel is never full: a vent there stays open
		for i := 1; i < len(m.cells); i++ {
			if c := &m.cells[i]; c.reach == v.Reach && math.Abs(c.at-v.At) < gap {
				best, gap = int32(i), math.Abs(c.at-v.At)
			}
		}
		m.vents = append(m.vents, vent{best, v.Diameter, v.Length, float64(v.Count)})
	}
}

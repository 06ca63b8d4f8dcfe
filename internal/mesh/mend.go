package mesh

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// Flaw is something that keeps a surface from enclosing a volume, or a
// casting from being sound.
type Flaw struct {
	Code  string
	Count int
	At    r3.Vec // of the first, in mm
	Fatal bool   // no volume can be told
	Text  string
}

// Repairs are kept to what cannot change the piece by more than this.
const (
	weldTolerance = 0.002 // mm, between corners on open edges that are taken for one
	holeShare     = 1e-3  // of the surface, that a patch may cover
	holeEdges     = 200   // round a hole
)

// Mend puts right what it safely can, in place, and lists what it did and
// what is left, with the pairing and the shells of the result.
func (m *Mesh) Mend(ctx context.Context) (repairs []string, flaws []Flaw, e Edges, shells [][]int32) {
	say := func(format string, args ...any) { repairs = append(repairs, fmt.Sprintf(format, args...)) }
	if n := m.dropCollapsed(); n > 0 {
		say("%d facets with two equal corners were left out", n)
	}
	e = m.Edges(ctx)
	if len(e.Excess) > 0 {
		if n := m.dropDoubles(); n > 0 {
			say("%d facets that lay on another were left out", n)
			e = m.Edges(ctx)
		}
	}
	if len(e.Open) > 0 {
		if n := m.joinOpen(e); n > 0 {
			m.dropCollapsed()
			say("%d corners closer than %g mm across an open seam were joined", n, weldTolerance)
			e = m.Edges(ctx)
		}
	}
	if len(e.Open) > 0 {
		if holes, facets := m.patch(e); holes > 0 {
			say("%d small holes were closed with %d facets, each patch under %g %% of the surface", holes, facets, 100*holeShare)
			e = m.Edges(ctx)
		}
	}
	if len(e.Turned) > 0 {
		if n := m.agree(e); n > 0 {
			say("%d facets that faced the wrong way were turned", n)
			e = m.Edges(ctx)
		}
	}
	flaw := func(code string, list []int32, text string) {
		if len(list) > 0 {
			flaws = append(flaws, Flaw{code, len(list), m.place(slices.Min(list)), true, text})
		}
	}
	flaw("open_edges", e.Open, "edges with a facet on one side only: the surface has holes")
	flaw("crowded_edges", e.Excess, "edges where more than two facets meet: inside and outside cannot be told apart")
	flaw("one_sided", e.Turned, "edges across which the facets cannot be made to face the same way")
	shells = m.Shells(e)
	return repairs, flaws, e, shells
}

// dropCollapsed leaves out triangles of which two corners are one.
func (m *Mesh) dropCollapsed() int {
	before := len(m.T)
	m.T = slices.DeleteFunc(m.T, func(t Triangle) bool { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0] })
	return before - len(m.T)
}

// dropDoubles leaves out triangles with the same corners as an earlier one:
// the copy when both face the same way, both when they face each other.
func (m *Mesh) dropDoubles() int {
	first := make(map[Triangle]int32, len(m.T))
	drop := make(map[int32]bool)
	for i, t := range m.T {
		key, even := sorted(t)
		j, seen := first[key]
		if !seen || drop[j] {
			first[key] = int32(i)
			continue
		}
		drop[int32(i)] = true
		if _, evenBefore := sorted(m.T[j]); even != evenBefore {
			drop[j] = true
		}
	}
	kept := m.T[:0]
	for i, t := range m.T {
		if !drop[int32(i)] {
			kept = append(kept, t)
		}
	}
	m.T = kept
	return len(drop)
}

// sorted returns the corners in rising order and whether that kept the sense.
func sorted(t Triangle) (Triangle, bool) {
	even := true
	for _, k := range [3]int{0, 1, 0} {
		if t[k] > t[k+1] {
			t[k], t[k+1] = t[k+1], t[k]
			even = !even
		}
	}
	return t, even
}

// joinOpen joins corners on open edges that are within the tolerance.
func (m *Mesh) joinOpen(e Edges) int {
	rim := map[int32]bool{}
	for _, h := range e.Open {
		rim[m.from(h)], rim[m.to(h)] = true, true
	}
	list := make([]int32, 0, len(rim))
	for v := range rim {
		list = append(list, v)
	}
	slices.Sort(list)
	type cell [3]int64
	where := func(p r3.Vec) cell {
		const s = 2 * weldTolerance
		return cell{int64(math.Floor(p.X / s)), int64(math.Floor(p.Y / s)), int64(math.Floor(p.Z / s))}
	}
	kept := map[cell][]int32{}
	into := map[int32]int32{}
	for _, v := range list {
		p := m.V[v].Vec()
		best, least := int32(-1), weldTolerance
		at := where(p)
		for k := range 27 {
			for _, u := range kept[cell{at[0] + int64(k%3) - 1, at[1] + int64(k/3%3) - 1, at[2] + int64(k/9) - 1}] {
				if d := r3.Norm(r3.Sub(m.V[u].Vec(), p)); d <= least {
					best, least = u, d
				}
			}
		}
		if best >= 0 {
			into[v] = best
		} else {
			kept[at] = append(kept[at], v)
		}
	}
	if len(into) > 0 {
		for i := range m.T {
			for c, v := range m.T[i] {
				if u, ok := into[v]; ok {
					m.T[i][c] = u
				}
			}
		}
	}
	return len(into)
}

// patch closes small holes by a fan about their middle.
func (m *Mesh) patch(e Edges) (holes, facets int) {
	onwards := map[int32]int32{} // along the rim, against the facets' sense
	for _, h := range e.Open {
		if _, twice := onwards[m.to(h)]; twice {
			return 0, 0 // rims touch: which hole is which cannot be told
		}
		onwards[m.to(h)] = m.from(h)
	}
	area := m.Solid().AreaMM2
	used := map[int32]bool{}
	for _, h := range e.Open {
		start := m.to(h)
		if used[start] {
			continue
		}
		var rim []int32
		for v, ok := start, true; ok && !used[v]; v, ok = onwards[v] {
			used[v] = true
			rim = append(rim, v)
		}
		if last, ok := onwards[rim[len(rim)-1]]; !ok || last != start || len(rim) < 3 || len(rim) > holeEdges {
			continue
		}
		var centre r3.Vec
		for _, v := range rim {
			centre = r3.Add(centre, r3.Scale(1/float64(len(rim)), m.V[v].Vec()))
		}
		fan := 0.0
		for i, v := range rim {
			a, b := m.V[v].Vec(), m.V[rim[(i+1)%len(rim)]].Vec()
			fan += r3.Norm(r3.Cross(r3.Sub(a, centre), r3.Sub(b, centre))) / 2
		}
		if fan > holeShare*area {
			continue
		}
		holes++
		if len(rim) == 3 {
			m.T = append(m.T, Triangle{rim[0], rim[1], rim[2]})
			facets++
			continue
		}
		m.V = append(m.V, point(centre))
		for i, v := range rim {
			m.T = append(m.T, Triangle{v, rim[(i+1)%len(rim)], int32(len(m.V) - 1)})
		}
		facets += len(rim)
	}
	return holes, facets
}

// agree turns facets until neighbours agree, in each shell the fewer.
func (m *Mesh) agree(e Edges) int {
	state := make([]int8, len(m.T)) // 0 unseen, 1 as it is, −1 turned
	total := 0
	var queue []int32
	for seed := range m.T {
		if state[seed] != 0 {
			continue
		}
		state[seed] = 1
		queue = append(queue[:0], int32(seed))
		turned := 0
		for at := 0; at < len(queue); at++ {
			t := queue[at]
			for c := range int32(3) {
				h := 3*t + c
				o := e.Mate[h]
				if o < 0 || state[o/3] != 0 {
					continue
				}
				state[o/3] = state[t]
				if m.from(h) == m.from(o) {
					state[o/3] = -state[t]
				}
				if state[o/3] < 0 {
					turned++
				}
				queue = append(queue, o/3)
			}
		}
		sign := int8(-1)
		if 2*turned > len(queue) {
			sign, turned = 1, len(queue)-turned
		}
		for _, t := range queue {
			if state[t] == sign {
				state[t] = 2
			} else {
				state[t] = 3
			}
		}
		total += turned
	}
	for t, s := range state {
		if s == 2 {
			m.T[t][1], m.T[t][2] = m.T[t][2], m.T[t][1]
		}
	}
	return total
}

// turn makes the triangles listed face the other way.
func (m *Mesh) turn(list []int32) {
	for _, t := range list {
		m.T[t][1], m.T[t][2] = m.T[t][2], m.T[t][1]
	}
}

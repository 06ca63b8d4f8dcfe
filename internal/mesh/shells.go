package mesh

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// Shell is a closed part of the surface.
type Shell struct {
	Solid
	Facets int
	Depth  int // how many other shells surround it
	At     r3.Vec
	Body   int  // number of the body that it belongs to, from 0
	meets  bool // it runs into another
}

const (
	mostShells = 2000
	nestLines  = 200_000 // over all shells, that tell how they lie
	thinnest   = 1e-3    // mm, along a line: less is where faces lie on one another
)

// relation tells how a shell lies to another.
type relation struct {
	lines int     // that meet both
	out   float64 // mm, the longest stretch of the shell outside the other
	in    float64 // mm, the longest inside it
}

// Nest finds which shell lies in which and which run into one another, turns
// those that are inside out, and lists cavities and what cannot be told. Every
// shell is met by lines across it, and counts as inside another if no stretch
// of it lies outside: no single place decides.
func (c *Checked) Nest(ctx context.Context, lists [][]int32) (repairs []string, flaws []Flaw) {
	c.Shells = make([]Shell, len(lists))
	boxes := make([]box, len(lists))
	c.shellOf = make([]int32, len(c.T))
	Parallel(context.WithoutCancel(ctx), len(lists), func(i int) {
		c.Shells[i] = Shell{Solid: c.solid(listOrAll(lists, i)), Facets: len(lists[i]), At: c.V[c.T[lists[i][0]][0]].Vec(), Body: i}
		boxes[i] = emptyBox
		for _, t := range lists[i] {
			b := c.boxOf(t)
			boxes[i].add(&b)
			c.shellOf[t] = int32(i)
		}
	})
	c.Bodies = len(lists)
	if len(lists) == 1 {
		return c.faceOutwards(lists)
	}
	if len(lists) > mostShells {
		return repairs, append(flaws, Flaw{"too_many_shells", len(lists), c.Shells[0].At, true,
			fmt.Sprintf("shells, more than the %d for which it can be told which lies in which", mostShells)})
	}
	relations := make([]map[int32]relation, len(lists))
	t := c.filed(ctx)
	lines := min(max(int(math.Sqrt(float64(nestLines/len(lists)))), 8), 64)
	Parallel(ctx, len(lists), func(i int) {
		for j := range boxes {
			if j != i && overlap(&boxes[i], &boxes[j]) {
				relations[i] = t.relate(int32(i), &boxes[i], lines, c.shellOf)
				return
			}
		}
	})
	if ctx.Err() != nil {
		return repairs, flaws
	}
	c.join(relations)
	return c.faceOutwards(lists)
}

// relate lays lines across a shell's box, closer together towards its sides
// where little may stick out, and follows it and the others along them.
func (t *tree) relate(shell int32, b *box, n int, shellOf []int32) map[int32]relation {
	found := map[int32]relation{}
	lines := 0 // that meet the shell
	var hits []crossing
	var others []int32
	place := func(k int) float64 { return 0.5 - 0.5*math.Cos(math.Pi*(float64(k)+0.5)/float64(n)) }
	for k := range n * n {
		y := float64(b[1]) + place(k%n)*float64(b[4]-b[1])
		z := float64(b[2]) + place(k/n)*float64(b[5]-b[2])
		hits = t.pierce(y, z, shellOf, hits[:0])
		if _, long := stretches(hits, shell, -1); long < thinnest {
			continue
		}
		lines++
		others = others[:0]
		for _, h := range hits {
			if h.shell != shell && !slices.Contains(others, h.shell) {
				others = append(others, h.shell)
			}
		}
		for _, o := range others {
			in, out := stretches(hits, shell, o)
			r := found[o]
			found[o] = relation{r.lines + 1, max(r.out, out), max(r.in, in)}
		}
	}
	for o, r := range found {
		if r.lines < lines {
			r.out = math.Inf(1) // there are lines that meet the shell alone
			found[o] = r
		}
	}
	return found
}

// stretches returns the longest stretches of a line in a shell that lie in
// another and outside it.
func stretches(hits []crossing, shell, other int32) (in, out float64) {
	own, others, since := int32(0), int32(0), 0.0
	for _, h := range hits {
		if h.shell != shell && h.shell != other {
			continue
		}
		if own != 0 && others != 0 {
			in = max(in, h.x-since)
		} else if own != 0 {
			out = max(out, h.x-since)
		}
		since = h.x
		if h.shell == shell {
			own += h.turn
		} else {
			others += h.turn
		}
	}
	return in, out
}

// join counts how deep each shell lies and which shells make one body.
func (c *Checked) join(relations []map[int32]relation) {
	root := make([]int, len(c.Shells))
	for i := range root {
		root[i] = i
	}
	find := func(i int) int {
		for root[i] != i {
			i = root[i]
		}
		return i
	}
	inside := func(i int, j int32) bool { return relations[i][j].in > thinnest && relations[i][j].out < thinnest }
	for i := range relations {
		for j, r := range relations[i] {
			switch {
			case inside(i, j):
				c.Shells[i].Depth++
			case r.in > thinnest && !inside(int(j), int32(i)):
				c.Shells[i].meets, c.Shells[j].meets = true, true
				a, b := find(i), find(int(j))
				root[max(a, b)] = min(a, b)
			}
		}
	}
	for i := range c.Shells { // a hollow belongs to what it is in
		for j := range relations[i] {
			if inside(i, j) && c.Shells[i].Depth%2 == 1 && c.Shells[j].Depth == c.Shells[i].Depth-1 {
				a, b := find(i), find(int(j))
				root[max(a, b)] = min(a, b)
			}
		}
	}
	number := map[int]int{}
	for i := range c.Shells {
		r := find(i)
		if _, ok := number[r]; !ok {
			number[r] = len(number)
		}
		c.Shells[i].Body = number[r]
		if c.Shells[i].meets && r != i {
			c.Unions++
		}
	}
	c.Bodies = len(number)
}

// faceOutwards turns shells that are inside out and lists what lies within.
func (c *Checked) faceOutwards(lists [][]int32) (repairs []string, flaws []Flaw) {
	turned, cavities := 0, Flaw{Code: "cavities", Text: "closed hollows inside the piece: clay cannot stand there, so the metal would fill them"}
	nested := Flaw{Code: "nested_shells", Fatal: true, Text: "shells inside another that face the same way: a hollow turned wrong, or a piece inside the piece"}
	for i := range c.Shells {
		s := &c.Shells[i]
		switch inwards := s.VolumeMM3 < 0; {
		case s.Depth%2 == 0 && inwards:
			c.turn(lists[i])
			s.VolumeMM3 = -s.VolumeMM3
			turned++
		case s.Depth%2 == 1 && inwards:
			cavities.note(s.At)
		case s.Depth%2 == 1:
			nested.note(s.At)
		}
	}
	if turned > 0 {
		repairs = append(repairs, fmt.Sprintf("%d shells that were inside out were turned", turned))
	}
	for _, f := range []Flaw{cavities, nested} {
		if f.Count > 0 {
			flaws = append(flaws, f)
		}
	}
	return repairs, flaws
}

func (f *Flaw) note(at r3.Vec) {
	if f.Count++; f.Count == 1 {
		f.At = at
	}
}

// listOrAll saves the detour over the list when there is one shell only.
func listOrAll(lists [][]int32, i int) []int32 {
	if len(lists) == 1 {
		return nil
	}
	return lists[i]
}

// Overlap looks along n × n lines for places inside more than one shell, or
// inside one shell twice, and returns the first and its share of the lines' length.
func (m *Mesh) Overlap(ctx context.Context, n int) (at r3.Vec, share float64) {
	l := m.cover(ctx, n)
	twice, once := 0.0, 0.0
	for iz := range l.NZ {
		for iy := range l.NY {
			depth, before := 0, 0.0
			for _, h := range l.Line(iy, iz) {
				length := h.X - before
				if depth > 0 {
					once += length
				}
				// A stretch of no length is rounding where two facets meet.
				if (depth > 1 || depth < 0) && length > 1e-4 {
					if twice == 0 {
						at = r3.Vec{X: (h.X + before) / 2, Y: l.Y0 + float64(iy)*l.Step, Z: l.Z0 + float64(iz)*l.Step}
					}
					twice += length
				}
				depth, before = depth+h.Turn, h.X
			}
		}
	}
	if twice == 0 {
		return at, 0
	}
	return at, twice / once
}

// UnionVolume returns the volume in mm³ inside any shell, shared parts once:
// the volume by the facets less what n × n lines find counted more than once,
// so that only the shared part carries the lines' error, about 1/n of it.
func (m *Mesh) UnionVolume(ctx context.Context, n int) float64 {
	l := m.cover(ctx, n)
	excess := 0.0
	for iz := range l.NZ {
		for iy := range l.NY {
			depth, before := 0, 0.0
			for _, h := range l.Line(iy, iz) {
				if depth != 0 {
					excess += float64(depth-min(1, max(0, depth))) * (h.X - before)
				}
				depth, before = depth+h.Turn, h.X
			}
		}
	}
	return m.Solid().VolumeMM3 - excess*l.Step*l.Step
}

// cover lays about n × n lines through the bounding box.
func (m *Mesh) cover(ctx context.Context, n int) *Lines {
	low, high := m.Bounds()
	step := max(high.Y-low.Y, high.Z-low.Z) / float64(n)
	ny, nz := max(1, int(math.Ceil((high.Y-low.Y)/step))), max(1, int(math.Ceil((high.Z-low.Z)/step)))
	return m.Lines(ctx, (low.Y+high.Y)/2-float64(ny-1)/2*step, (low.Z+high.Z)/2-float64(nz-1)/2*step, step, ny, nz)
}

package former

import (
	"fmt"
	"math"
	"slices"
)

// vec2 is a point in the plane of a face.
type vec2 struct{ x, y float64 }

// corner is a vertex of the polygon being cut: its place and its number.
type corner struct {
	vec2
	id int
}

// triangulate cuts a polygon with holes into triangles that run anticlockwise,
// given and returned as vertex numbers. The outline may run either way; holes
// lie inside it, apart from one another. No vertex is added, so that faces
// that share an outline stay joined.
//
// Ears are clipped after each hole is joined to the outline by a bridge
// (D. Eberly, Triangulation by Ear Clipping, 2002, from memory), and edges then
// flipped until the triangulation is constrained Delaunay (C. Lawson, 1977, from
// memory), which leaves no slivers. Quadratic, for a few thousand corners. The
// bars of a label line up, which makes ties: corners are moved by a hundredth
// of a nanometre,
// each its own way, while the cutting is decided.
func triangulate(place func(id int) vec2, outline []int, holes [][]int) ([][3]int, error) {
	nudged := make(map[int]vec2, len(outline)+4*len(holes))
	for _, ring := range append([][]int{outline}, holes...) {
		for _, id := range ring {
			const nudge, golden = 1e-8, 0.6180339887498949
			p, t := place(id), 2*math.Pi*golden*float64(id)
			nudged[id] = vec2{p.x + nudge*math.Cos(t), p.y + nudge*math.Sin(1.7*t)}
		}
	}
	at := func(id int) vec2 { return nudged[id] }
	ring := corners(at, outline, true)
	want := area(ring)
	cut := make([][]corner, len(holes))
	for i, h := range holes {
		cut[i] = corners(at, h, false)
		want += area(cut[i])
	}
	// Holes are joined from the right, so that a bridge never crosses one still to come.
	slices.SortStableFunc(cut, func(a, b []corner) int {
		if a, b := a[rightmost(a)].x, b[rightmost(b)].x; a != b {
			return map[bool]int{true: -1, false: 1}[a > b]
		}
		return 0
	})
	for _, h := range cut {
		var err error
		if ring, err = bridge(ring, h); err != nil {
			return nil, err
		}
	}
	triangles := flip(at, clip(ring))
	got := 0.0
	for _, t := range triangles {
		got += cross(at(t[0]), at(t[1]), at(t[2])) / 2
	}
	if math.Abs(got-want) > 1e-9*math.Abs(want) {
		return nil, fmt.Errorf("a face of %.6g mm² was cut into %.6g mm²", want, got)
	}
	return triangles, nil
}

func corners(at func(int) vec2, ids []int, anticlockwise bool) []corner {
	list := make([]corner, len(ids))
	for i, id := range ids {
		list[i] = corner{at(id), id}
	}
	if (area(list) > 0) != anticlockwise {
		slices.Reverse(list)
	}
	return list
}

func area(ring []corner) float64 {
	sum := 0.0
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		sum += a.x*b.y - b.x*a.y
	}
	return sum / 2
}

// cross is twice the area of the triangle abc, positive anticlockwise.
func cross(a, b, c vec2) float64 { return (b.x-a.x)*(c.y-a.y) - (c.x-a.x)*(b.y-a.y) }

func rightmost(ring []corner) int {
	best := 0
	for i, c := range ring {
		if c.x > ring[best].x {
			best = i
		}
	}
	return best
}

// bridge joins a hole to the ring by a double edge from the hole's rightmost
// corner to a corner of the ring that it sees.
func bridge(ring, hole []corner) ([]corner, error) {
	m := rightmost(hole)
	from := hole[m]
	// The nearest edge to the right, and the end of it that lies farther right.
	to, reach := -1, math.Inf(1)
	for i, a := range ring {
		j := (i + 1) % len(ring)
		b := ring[j]
		if a.y > from.y || b.y < from.y || a.y == b.y { // outline edges to the right run upwards
			continue
		}
		x := a.x + (from.y-a.y)/(b.y-a.y)*(b.x-a.x)
		if x < from.x || x >= reach {
			continue
		}
		reach, to = x, i
		if b.x > a.x {
			to = j
		}
	}
	if to < 0 {
		return nil, fmt.Errorf("a hole of a face lies outside it")
	}
	// Corners within the triangle from, hit, target hide the target: then the one
	// nearest in direction is seen. A bridge leaves copies of a corner, and of
	// the target's too the right one is still to be found.
	hit, target := vec2{reach, from.y}, ring[to].vec2
	best := math.Inf(1)
	for i, c := range ring {
		if c.vec2 != target && (c.x < from.x || !within(c.vec2, from.vec2, hit, target)) {
			continue
		}
		slope := math.Abs(c.y-from.y) / max(c.x-from.x, 1e-300)
		if slope < best && locally(ring, i, from.vec2) {
			best, to = slope, i
		}
	}
	joined := make([]corner, 0, len(ring)+len(hole)+2)
	joined = append(joined, ring[:to+1]...)
	joined = append(joined, hole[m:]...)
	joined = append(joined, hole[:m+1]...)
	return append(joined, ring[to:]...), nil
}

// locally says whether p lies inside the angle of the ring at corner i: of the
// copies of a corner that a bridge has made, only one faces p.
func locally(ring []corner, i int, p vec2) bool {
	a, b, c := ring[(i+len(ring)-1)%len(ring)].vec2, ring[i].vec2, ring[(i+1)%len(ring)].vec2
	if cross(a, b, c) >= 0 {
		return cross(a, b, p) >= 0 && cross(b, c, p) >= 0
	}
	return cross(a, b, p) >= 0 || cross(b, c, p) >= 0
}

// within says whether p lies in the triangle abc or on its edge, whichever way it runs.
func within(p, a, b, c vec2) bool {
	u, v, w := cross(a, b, p), cross(b, c, p), cross(c, a, p)
	return u >= 0 && v >= 0 && w >= 0 || u <= 0 && v <= 0 && w <= 0
}

// clip cuts ears off the ring until a triangle is left.
func clip(ring []corner) [][3]int {
	n := len(ring)
	next, prev := make([]int, n), make([]int, n)
	for i := range n {
		next[i], prev[i] = (i+1)%n, (i+n-1)%n
	}
	triangles := make([][3]int, 0, n-2)
	ear := func(i int) bool {
		a, b, c := ring[prev[i]].vec2, ring[i].vec2, ring[next[i]].vec2
		if cross(a, b, c) <= 0 {
			return false
		}
		for j := next[next[i]]; j != prev[i]; j = next[j] {
			p := ring[j].vec2
			if p != a && p != b && p != c && within(p, a, b, c) {
				return false
			}
		}
		return true
	}
	i, left, tried := 0, n, 0
	for left > 3 && tried <= left {
		if !ear(i) {
			i, tried = next[i], tried+1
			continue
		}
		triangles = append(triangles, [3]int{ring[prev[i]].id, ring[i].id, ring[next[i]].id})
		next[prev[i]], prev[next[i]] = next[i], prev[i]
		i, left, tried = next[next[i]], left-1, 0 // skip one: fewer slivers
	}
	if left == 3 {
		triangles = append(triangles, [3]int{ring[prev[i]].id, ring[i].id, ring[next[i]].id})
	}
	return triangles
}

// flip turns inner edges until no corner lies in the circle of the triangle
// across. An edge of the outline or of a hole has a triangle on one side only
// and is never turned.
func flip(at func(int) vec2, t [][3]int) [][3]int {
	side := make(map[[2]int]int, 3*len(t)) // directed edge to its triangle
	for i, tri := range t {
		for k := range 3 {
			side[[2]int{tri[k], tri[(k+1)%3]}] = i
		}
	}
	apex := func(i, a, b int) int { return t[i][0] + t[i][1] + t[i][2] - a - b }
	queue := make([][2]int, 0, len(side))
	for _, tri := range t {
		queue = append(queue, [2]int{tri[0], tri[1]}, [2]int{tri[1], tri[2]}, [2]int{tri[2], tri[0]})
	}
	for turns := 0; len(queue) > 0 && turns < 100*len(t); {
		a, b := queue[len(queue)-1][0], queue[len(queue)-1][1]
		queue = queue[:len(queue)-1]
		i, ok1 := side[[2]int{a, b}]
		j, ok2 := side[[2]int{b, a}]
		if !ok1 || !ok2 {
			continue
		}
		c, d := apex(i, a, b), apex(j, a, b)
		if !inCircle(at(a), at(b), at(c), at(d)) || cross(at(c), at(a), at(d)) <= 0 || cross(at(d), at(b), at(c)) <= 0 {
			continue
		}
		turns++
		delete(side, [2]int{a, b})
		delete(side, [2]int{b, a})
		t[i], t[j] = [3]int{c, a, d}, [3]int{d, b, c}
		for _, k := range []int{i, j} {
			for m := range 3 {
				e := [2]int{t[k][m], t[k][(m+1)%3]}
				side[e] = k
				if e != [2]int{c, d} && e != [2]int{d, c} {
					queue = append(queue, e)
				}
			}
		}
	}
	return t
}

// inCircle says whether d lies well inside the circle through a, b and c,
// which run anticlockwise.
func inCircle(a, b, c, d vec2) bool {
	ax, ay, bx, by, cx, cy := a.x-d.x, a.y-d.y, b.x-d.x, b.y-d.y, c.x-d.x, c.y-d.y
	a2, b2, c2 := ax*ax+ay*ay, bx*bx+by*by, cx*cx+cy*cy
	det := ax*(by*c2-b2*cy) - ay*(bx*c2-b2*cx) + a2*(bx*cy-by*cx)
	const rounding = 1e-14 // of the products summed
	return det > rounding*(a2*b2+b2*c2+c2*a2)
}

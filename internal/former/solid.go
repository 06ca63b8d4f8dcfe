package former

import (
	"bytes"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/mesh"
)

// solid is a surface under construction. Faces and walls share their vertices
// by number, so that it closes without welding.
type solid struct {
	v   []r3.Vec
	t   [][3]int
	err error
}

// ring adds a closed line of vertices.
func (s *solid) ring(points ...r3.Vec) []int {
	ids := make([]int, len(points))
	for i, p := range points {
		ids[i] = len(s.v)
		s.v = append(s.v, p)
	}
	return ids
}

// wall joins two rings of equal length, the first below. Rings that run
// anticlockwise, seen from above, give a wall that faces outwards.
func (s *solid) wall(lower, upper []int) {
	for i := range lower {
		j := (i + 1) % len(lower)
		s.t = append(s.t, [3]int{lower[i], lower[j], upper[j]}, [3]int{lower[i], upper[j], upper[i]})
	}
}

// plane is a face's own frame: the outside lies towards u × v.
type plane struct{ origin, u, v r3.Vec }

func (p plane) at(x, y, out float64) r3.Vec {
	return r3.Add(p.origin, r3.Add(r3.Add(r3.Scale(x, p.u), r3.Scale(y, p.v)), r3.Scale(out, r3.Cross(p.u, p.v))))
}

var (
	x, y, z  = r3.Vec{X: 1}, r3.Vec{Y: 1}, r3.Vec{Z: 1}
	downward = plane{u: x, v: r3.Scale(-1, y)}
)

// face fills an outline, less its holes, with triangles that look outwards.
func (s *solid) face(p plane, outline []int, holes ...[]int) {
	if s.err != nil {
		return
	}
	at := func(id int) vec2 {
		d := r3.Sub(s.v[id], p.origin)
		return vec2{r3.Dot(d, p.u), r3.Dot(d, p.v)}
	}
	triangles, err := triangulate(at, outline, holes)
	s.t, s.err = append(s.t, triangles...), err
}

// label raises bars by depth from a face (sinks them where depth is negative)
// and returns their outlines, which are holes of the face.
func (s *solid) label(p plane, bars []bar, depth float64) [][]int {
	holes := make([][]int, len(bars))
	for i, b := range bars {
		foot, top := make([]r3.Vec, 4), make([]r3.Vec, 4)
		for k, c := range b {
			foot[k], top[k] = p.at(c.x, c.y, 0), p.at(c.x, c.y, depth)
		}
		holes[i] = s.ring(foot...)
		cap := s.ring(top...)
		s.wall(holes[i], cap)
		s.face(p, cap)
	}
	return holes
}

// volume of the solid in mm³ by the divergence theorem.
func (s *solid) volume() float64 {
	sum := 0.0
	for _, t := range s.t {
		sum += r3.Dot(s.v[t[0]], r3.Cross(s.v[t[1]], s.v[t[2]]))
	}
	return sum / 6
}

// closed reports whether every edge is shared by exactly two facets that run
// along it in opposite directions, and no facet is without area.
func (s *solid) closed() error {
	if s.err != nil {
		return s.err
	}
	edges := make(map[[2]int]int, 3*len(s.t))
	for _, t := range s.t {
		if r3.Norm(r3.Cross(r3.Sub(s.v[t[1]], s.v[t[0]]), r3.Sub(s.v[t[2]], s.v[t[0]]))) < 1e-12 {
			return fmt.Errorf("a facet at %v has no area", s.v[t[0]])
		}
		for k := range 3 {
			edges[[2]int{t[k], t[(k+1)%3]}]++
		}
	}
	for e, n := range edges {
		if n != 1 || edges[[2]int{e[1], e[0]}] != 1 {
			return fmt.Errorf("the edge from %v to %v is not shared by two facets", s.v[e[0]], s.v[e[1]])
		}
	}
	return nil
}

// stl writes the solid as binary STL.
func (s *solid) stl(title string) ([]byte, error) {
	m := mesh.Mesh{V: make([]mesh.Point, len(s.v)), T: make([]mesh.Triangle, len(s.t))}
	for i, v := range s.v {
		m.V[i] = mesh.Point{float32(v.X), float32(v.Y), float32(v.Z)}
	}
	for i, t := range s.t {
		m.T[i] = mesh.Triangle{int32(t[0]), int32(t[1]), int32(t[2])}
	}
	var b bytes.Buffer
	err := m.WriteSTL(&b, title)
	return b.Bytes(), err
}

// around is the number of facets of a round: an inside diameter of 110 mm is
// short by 0.0024 mm to the flats, d (1 - cos(π/n)).
const around = 480

// oval returns the parallel curve, at a distance outwards and a height, of an
// ellipse of the given half-axes about the z axis, anticlockwise from +x.
func oval(a, b, out, height float64) []r3.Vec {
	points := make([]r3.Vec, around)
	for i := range points {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / around)
		n := math.Hypot(b*cos, a*sin)
		points[i] = r3.Vec{X: a*cos + out*b*cos/n, Y: b*sin + out*a*sin/n, Z: height}
	}
	return points
}

// rectangle returns the corners of a rectangle at a height, anticlockwise.
func rectangle(x0, y0, x1, y1, height float64) []r3.Vec {
	return []r3.Vec{{X: x0, Y: y0, Z: height}, {X: x1, Y: y0, Z: height}, {X: x1, Y: y1, Z: height}, {X: x0, Y: y1, Z: height}}
}

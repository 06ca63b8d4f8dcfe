package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/section"
)

// Box returns a cuboid with corners low and high.
func Box(low, high r3.Vec) *Mesh {
	m := &Mesh{}
	for i := range 8 {
		p := low
		if i&1 != 0 {
			p.X = high.X
		}
		if i&2 != 0 {
			p.Y = high.Y
		}
		if i&4 != 0 {
			p.Z = high.Z
		}
		m.V = append(m.V, point(p))
	}
	for _, q := range [6][4]int32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		m.T = append(m.T, Triangle{q[0], q[1], q[2]}, Triangle{q[0], q[2], q[3]})
	}
	return m
}

// Sphere returns a ball of the given radius about centre, its surface an
// icosahedron of which each edge is halved the given number of times.
func Sphere(centre r3.Vec, radius float64, halvings int) *Mesh {
	phi := (1 + math.Sqrt(5)) / 2
	var v []r3.Vec
	for _, s := range []float64{-1, 1} {
		for _, t := range []float64{-phi, phi} {
			v = append(v, r3.Vec{X: 0, Y: s, Z: t}, r3.Vec{X: s, Y: t, Z: 0}, r3.Vec{X: t, Y: 0, Z: s})
		}
	}
	var faces [][3]r3.Vec
	for i := range v { // faces are the triples of vertices 2 apart
		for j := range i {
			for k := range j {
				if near2(v[i], v[j]) && near2(v[j], v[k]) && near2(v[i], v[k]) {
					a, b, c := v[i], v[j], v[k]
					if r3.Dot(r3.Cross(r3.Sub(b, a), r3.Sub(c, a)), a) < 0 {
						b, c = c, b
					}
					faces = append(faces, [3]r3.Vec{a, b, c})
				}
			}
		}
	}
	for range halvings {
		var finer [][3]r3.Vec
		for _, f := range faces {
			ab, bc, ca := middle(f[0], f[1]), middle(f[1], f[2]), middle(f[2], f[0])
			finer = append(finer, [3]r3.Vec{f[0], ab, ca}, [3]r3.Vec{ab, f[1], bc}, [3]r3.Vec{ca, bc, f[2]}, [3]r3.Vec{ab, bc, ca})
		}
		faces = finer
	}
	b := builder{}
	for _, f := range faces {
		b.triangle(r3.Add(centre, r3.Scale(radius, r3.Unit(f[0]))), r3.Add(centre, r3.Scale(radius, r3.Unit(f[1]))), r3.Add(centre, r3.Scale(radius, r3.Unit(f[2]))))
	}
	return b.mesh()
}

func near2(a, b r3.Vec) bool { return math.Abs(r3.Norm(r3.Sub(a, b))-2) < 1e-9 }

// middle of an edge, summed in one order so that both its triangles agree.
func middle(a, b r3.Vec) r3.Vec {
	return r3.Unit(r3.Vec{X: a.X + b.X, Y: a.Y + b.Y, Z: a.Z + b.Z})
}

// Torus returns a ring of round section about the z axis: radius is that of
// the circle of centres, wire that of the section.
func Torus(radius, wire float64, around, across int) *Mesh {
	return loft(around, across, func(i, j int) r3.Vec {
		s, c := math.Sincos(2 * math.Pi * float64(j) / float64(across))
		return turned(i, around, radius+wire*c, wire*s)
	})
}

// Ring returns a closed round band about the z axis with the given inside
// diameter and profile in mm, starting at +x. The section's curved faces are
// polygons of 96 sides over all: its area is low by up to 0.1 %.
func Ring(insideDiameterMM float64, p section.Profile, around int) *Mesh {
	outlines := make([][section.Points][2]float64, around)
	for i := range outlines {
		outlines[i] = p.At(float64(i) / float64(around)).Outline()
	}
	return loft(around, section.Points, func(i, j int) r3.Vec {
		uv := outlines[i][j]
		return turned(i, around, insideDiameterMM/2+uv[1], -uv[0])
	})
}

func turned(i, around int, radius, z float64) r3.Vec {
	s, c := math.Sincos(2 * math.Pi * float64(i) / float64(around))
	return r3.Vec{X: radius * c, Y: radius * s, Z: z}
}

// loft closes a grid of around by across points into a torus.
func loft(around, across int, at func(i, j int) r3.Vec) *Mesh {
	m := &Mesh{V: make([]Point, 0, around*across), T: make([]Triangle, 0, 2*around*across)}
	for i := range around {
		for j := range across {
			m.V = append(m.V, point(at(i, j)))
		}
	}
	for i := range around {
		for j := range across {
			a, b := int32(i*across+j), int32((i+1)%around*across+j)
			c, d := int32((i+1)%around*across+(j+1)%across), int32(i*across+(j+1)%across)
			m.T = append(m.T, Triangle{a, b, c}, Triangle{a, c, d})
		}
	}
	return m
}

// Frustum returns a round bar from one point to another, with the radii at
// its ends, of the given number of sides.
func Frustum(from, to r3.Vec, radiusFrom, radiusTo float64, sides int) *Mesh {
	axis := r3.Unit(r3.Sub(to, from))
	u := r3.Unit(r3.Cross(axis, leastAligned(axis)))
	v := r3.Cross(axis, u)
	b := builder{}
	rim := func(centre r3.Vec, radius float64, k int) r3.Vec {
		s, c := math.Sincos(2 * math.Pi * float64(k%sides) / float64(sides))
		return r3.Add(centre, r3.Add(r3.Scale(radius*c, u), r3.Scale(radius*s, v)))
	}
	for k := range sides {
		a, c := rim(from, radiusFrom, k), rim(from, radiusFrom, k+1)
		d, e := rim(to, radiusTo, k), rim(to, radiusTo, k+1)
		b.triangle(a, c, e)
		b.triangle(a, e, d)
		b.triangle(from, c, a)
		b.triangle(to, d, e)
	}
	return b.mesh()
}

func leastAligned(v r3.Vec) r3.Vec {
	x, y, z := math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z)
	switch {
	case x <= y && x <= z:
		return r3.Vec{X: 1}
	case y <= z:
		return r3.Vec{Y: 1}
	}
	return r3.Vec{Z: 1}
}

// builder welds triangles given by their corners.
type builder struct{ w welder }

func (b *builder) triangle(p, q, r r3.Vec) {
	if b.w.mesh == nil {
		b.w.mesh = &Mesh{}
	}
	var t Triangle
	for k, v := range []r3.Vec{p, q, r} {
		c := point(v)
		t[k] = b.w.vertex(math.Float32bits(c[0]), math.Float32bits(c[1]), math.Float32bits(c[2]))
	}
	b.w.mesh.T = append(b.w.mesh.T, t)
}

func (b *builder) mesh() *Mesh { return b.w.mesh }

func point(v r3.Vec) Point { return Point{float32(v.X), float32(v.Y), float32(v.Z)} }

// Package mesh reads, checks, measures and voxelises closed triangle surfaces,
// such as a maker's printed or scanned pattern, and writes them.
//
// Lengths are in mm. Vertices are kept as the 32-bit floats of the STL format:
// one part in 16 million, 4e-6 mm on a bangle.
package mesh

import (
	"context"
	"math"

	"github.com/sourcegraph/conc"
	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/calc"
)

// Point is a vertex in mm.
type Point [3]float32

// Vec returns the point in double precision.
func (p Point) Vec() r3.Vec { return r3.Vec{X: float64(p[0]), Y: float64(p[1]), Z: float64(p[2])} }

// Triangle holds the numbers of three vertices, anticlockwise seen from outside.
type Triangle [3]int32

// Mesh is a surface of triangles that share their vertices.
type Mesh struct {
	V []Point
	T []Triangle
}

// Corners returns the three corners of triangle t.
func (m *Mesh) Corners(t int) (a, b, c r3.Vec) {
	k := m.T[t]
	return m.V[k[0]].Vec(), m.V[k[1]].Vec(), m.V[k[2]].Vec()
}

// Bounds returns the corners of the bounding box, in mm.
func (m *Mesh) Bounds() (low, high r3.Vec) {
	lo := Point{math.MaxFloat32, math.MaxFloat32, math.MaxFloat32}
	hi := Point{-math.MaxFloat32, -math.MaxFloat32, -math.MaxFloat32}
	for _, p := range m.V {
		for k := range p {
			lo[k], hi[k] = min(lo[k], p[k]), max(hi[k], p[k])
		}
	}
	return lo.Vec(), hi.Vec()
}

// Scale multiplies every coordinate by f.
func (m *Mesh) Scale(f float64) {
	if f == 1 {
		return
	}
	for i := range m.V {
		for k := range m.V[i] {
			m.V[i][k] = float32(float64(m.V[i][k]) * f)
		}
	}
}

// Solid is what a closed surface encloses.
type Solid struct {
	VolumeMM3 float64 // signed: negative when the normals point inwards
	AreaMM2   float64
	Centre    r3.Vec // of mass, in mm
}

// Solid integrates volume, area and centre of mass over the surface: the
// divergence theorem, exact for the polyhedron, about the middle of the
// bounding box so that little is lost to cancellation.
func (m *Mesh) Solid() Solid { return m.solid(nil) }

// solid sums the triangles, all or those listed. The parts are of fixed size
// and added in order, so that the sum does not depend on the number of cores.
func (m *Mesh) solid(list []int32) Solid {
	low, high := m.Bounds()
	origin := r3.Scale(0.5, r3.Add(low, high))
	count := len(m.T)
	if list != nil {
		count = len(list)
	}
	const part = 1 << 14
	parts := make([]Solid, (count+part-1)/part)
	for i := range parts {
		var s Solid
		for j := i * part; j < min((i+1)*part, count); j++ {
			t := j
			if list != nil {
				t = int(list[j])
			}
			a, b, c := m.Corners(t)
			a, b, c = r3.Sub(a, origin), r3.Sub(b, origin), r3.Sub(c, origin)
			n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
			v := r3.Dot(a, n) / 6
			s.VolumeMM3 += v
			s.AreaMM2 += math.Sqrt(r3.Dot(n, n)) / 2
			s.Centre = r3.Add(s.Centre, r3.Scale(v/4, r3.Add(a, r3.Add(b, c))))
		}
		parts[i] = s
	}
	var sum Solid
	for _, s := range parts {
		sum.VolumeMM3 += s.VolumeMM3
		sum.AreaMM2 += s.AreaMM2
		sum.Centre = r3.Add(sum.Centre, s.Centre)
	}
	if sum.VolumeMM3 != 0 {
		sum.Centre = r3.Scale(1/sum.VolumeMM3, sum.Centre)
	}
	sum.Centre = r3.Add(sum.Centre, origin)
	return sum
}

// Append adds the triangles of other as a shell of its own.
func (m *Mesh) Append(other *Mesh) {
	first := int32(len(m.V))
	m.V = append(m.V, other.V...)
	for _, t := range other.T {
		m.T = append(m.T, Triangle{t[0] + first, t[1] + first, t[2] + first})
	}
}

// Parallel runs f(0) … f(n-1) on the cores that ctx allows and returns when all are done, or,
// once ctx is, without the rest: look at it then. A panic of one becomes the
// caller's.
func Parallel(ctx context.Context, n int, f func(i int)) {
	workers := min(calc.Cores(ctx), n)
	if workers <= 1 {
		for i := 0; i < n && ctx.Err() == nil; i++ {
			f(i)
		}
		return
	}
	var group conc.WaitGroup
	for w := range workers {
		group.Go(func() {
			for i := w; i < n && ctx.Err() == nil; i += workers {
				f(i)
			}
		})
	}
	group.Wait()
}

// norm is the length of a vector of ordinary size, without the care for
// overflow that makes [r3.Norm] slow.
func norm(v r3.Vec) float64 { return math.Sqrt(r3.Norm2(v)) }

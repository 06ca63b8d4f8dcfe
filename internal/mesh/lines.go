package mesh

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/calc"
)

// Lines is a square array of straight lines parallel to x with the places
// where each pierces a surface.
type Lines struct {
	Y0, Z0, Step float64 // mm: line (iy, iz) runs through Y0 + iy·Step, Z0 + iz·Step
	NY, NZ       int
	start        []int32
	hits         []Hit
}

// Hit is where a line pierces the surface.
type Hit struct {
	X    float64 // mm
	Turn int     // +1 going in, −1 coming out
}

// Line returns the hits of a line in rising order of x.
func (l *Lines) Line(iy, iz int) []Hit {
	k := iz*l.NY + iy
	return l.hits[l.start[k]:l.start[k+1]]
}

// Stretches calls f for each stretch of a line that lies inside: where the
// surfaces passed on the way in outnumber those passed on the way out, so
// that shells may overlap and cavities are left out.
func (l *Lines) Stretches(iy, iz int, f func(from, to float64)) {
	depth, from := 0, 0.0
	for _, h := range l.Line(iy, iz) {
		before := depth
		depth += h.Turn
		switch {
		case before <= 0 && depth > 0:
			from = h.X
		case before > 0 && depth <= 0 && h.X > from:
			f(from, h.X)
		}
	}
}

// Inside tells whether a point, taken at the line nearest to it, is inside.
func (l *Lines) Inside(p r3.Vec) bool {
	iy, iz := int((p.Y-l.Y0)/l.Step+0.5), int((p.Z-l.Z0)/l.Step+0.5)
	if iy < 0 || iz < 0 || iy >= l.NY || iz >= l.NZ {
		return false
	}
	depth := 0
	for _, h := range l.Line(iy, iz) {
		if h.X > p.X {
			break
		}
		depth += h.Turn
	}
	return depth > 0
}

type lineHit struct {
	line int32
	turn int32
	x    float64
}

// Lines pierces the surface by ny × nz lines. Each core that ctx allows takes a band of z.
// A line through an edge or a vertex meets exactly one of the triangles there.
// Once ctx is done they are of no use.
func (m *Mesh) Lines(ctx context.Context, y0, z0, step float64, ny, nz int) *Lines {
	l := &Lines{Y0: y0, Z0: z0, Step: step, NY: ny, NZ: nz, start: make([]int32, ny*nz+1)}
	bands := min(calc.Cores(ctx), nz)
	found := make([][]lineHit, bands)
	Parallel(ctx, bands, func(b int) { found[b] = m.pierce(ctx, l, b*nz/bands, (b+1)*nz/bands) })
	total := 0
	for _, hits := range found {
		for _, h := range hits {
			l.start[h.line+1]++
		}
		total += len(hits)
	}
	for k := range ny * nz {
		l.start[k+1] += l.start[k]
	}
	l.hits = make([]Hit, total)
	at := slices.Clone(l.start)
	for _, hits := range found {
		for _, h := range hits {
			l.hits[at[h.line]] = Hit{h.x, int(h.turn)}
			at[h.line]++
		}
	}
	Parallel(ctx, nz, func(iz int) {
		for iy := range ny {
			row := l.Line(iy, iz)
			for i := 1; i < len(row); i++ {
				for j := i; j > 0 && row[j].X < row[j-1].X; j-- {
					row[j], row[j-1] = row[j-1], row[j]
				}
			}
		}
	})
	return l
}

// pierce finds the hits of the lines with low <= iz < high.
func (m *Mesh) pierce(ctx context.Context, l *Lines, low, high int) []lineHit {
	var hits []lineHit
	for t := range m.T {
		if t%4096 == 0 && ctx.Err() != nil {
			return nil
		}
		a, b, c := m.Corners(t)
		z0, z1 := span(min(a.Z, b.Z, c.Z), max(a.Z, b.Z, c.Z), l.Z0, l.Step, low, high)
		if z0 > z1 {
			continue
		}
		y0, y1 := span(min(a.Y, b.Y, c.Y), max(a.Y, b.Y, c.Y), l.Y0, l.Step, 0, l.NY)
		for iz := z0; iz <= z1; iz++ {
			z := l.Z0 + float64(float64(iz)*l.Step)
			for iy := y0; iy <= y1; iy++ {
				y := l.Y0 + float64(float64(iy)*l.Step)
				if x, turn := pierced(a, b, c, y, z); turn != 0 {
					hits = append(hits, lineHit{int32(iz*l.NY + iy), int32(turn), x})
				}
			}
		}
	}
	return hits
}

// pierced returns where the line through (y, z) meets a triangle and whether it
// goes in there, +1, or comes out, −1; 0 if it passes by.
func pierced(a, b, c r3.Vec, y, z float64) (x float64, turn int) {
	ab, abIn := side(a, b, y, z)
	bc, bcIn := side(b, c, y, z)
	ca, caIn := side(c, a, y, z)
	sum := ab + bc + ca
	if abIn != bcIn || bcIn != caIn || sum == 0 {
		return 0, 0
	}
	turn = -1 // anticlockwise in y-z: the normal points to +x, the line comes out
	if !abIn {
		turn = 1
	}
	return (bc*a.X + ca*b.X + ab*c.X) / sum, turn
}

// span returns the first and last index in [from, to) whose line lies in
// [low, high]. The lines' own places are compared, as [side] does: by a
// quotient, rounding loses the line through an edge for both its facets.
func span(low, high, origin, step float64, from, to int) (first, last int) {
	at := func(i int) float64 { return origin + float64(float64(i)*step) }
	first, last = int(math.Floor((low-origin)/step))-1, int(math.Floor((high-origin)/step))+2
	for at(first) < low {
		first++
	}
	for at(last) > high {
		last--
	}
	return max(first, from), min(last, to-1)
}

// side returns twice the area that (y, z) spans with the edge from a to b, and
// whether it counts as left of it. Both triangles of an edge get the same
// size, and a point on it is left of it in the sense from the lower end to
// the higher, so it belongs to one of them only.
func side(a, b r3.Vec, y, z float64) (area float64, left bool) {
	if a.Y > b.Y || a.Y == b.Y && a.Z > b.Z {
		area = float64((a.Y-b.Y)*(z-b.Z)) - float64((a.Z-b.Z)*(y-b.Y)) // no fused rounding: it decides
		return -area, area < 0
	}
	area = float64((b.Y-a.Y)*(z-a.Z)) - float64((b.Z-a.Z)*(y-a.Y))
	return area, area >= 0
}

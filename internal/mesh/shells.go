package mesh

import (
	"context"
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Shell is a closed part of the surface.
type Shell struct {
	Solid
	Facets int
	Depth  int // how many other shells surround it
	At     r3.Vec
}

// windingBudget bounds the work of telling which shell lies in which: solid
// angles of triangles seen from a point, about 40 ns each.
const windingBudget = 20_000_000

// Nest finds which shell lies in which, turns shells that are inside out, and
// lists cavities and what cannot be told.
func (m *Mesh) Nest(ctx context.Context, lists [][]int32) (shells []Shell, repairs []string, flaws []Flaw) {
	shells = make([]Shell, len(lists))
	low, high := make([]r3.Vec, len(lists)), make([]r3.Vec, len(lists))
	Parallel(context.Background(), len(lists), func(i int) {
		shells[i] = Shell{Solid: m.solid(listOrAll(lists, i)), Facets: len(lists[i]), At: m.V[m.T[lists[i][0]][0]].Vec()}
		low[i], high[i] = m.boundsOf(lists[i])
	})
	work := 0
	for i := range shells {
		for j := range shells {
			p := shells[i].At
			if i == j || p.X < low[j].X || p.Y < low[j].Y || p.Z < low[j].Z || p.X > high[j].X || p.Y > high[j].Y || p.Z > high[j].Z {
				continue
			}
			if work += len(lists[j]); work > windingBudget {
				return shells, repairs, append(flaws, Flaw{"too_many_shells", len(shells), p, true,
					"shells whose boxes overlap, too many to tell which lies in which"})
			}
			if ctx.Err() != nil {
				return shells, repairs, flaws
			}
			if math.Abs(m.winding(lists[j], p)) > 0.5 {
				shells[i].Depth++
			}
		}
	}
	turned, cavities := 0, Flaw{Code: "cavities", Text: "closed hollows inside the piece: clay cannot stand there, so the metal would fill them"}
	nested := Flaw{Code: "nested_shells", Fatal: true, Text: "shells inside another that face the same way: a hollow turned wrong, or a piece inside the piece"}
	for i := range shells {
		s := &shells[i]
		switch inwards := s.VolumeMM3 < 0; {
		case s.Depth%2 == 0 && inwards:
			m.turn(lists[i])
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
	return shells, repairs, flaws
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

func (m *Mesh) boundsOf(list []int32) (low, high r3.Vec) {
	lo := m.V[m.T[list[0]][0]]
	hi := lo
	for _, t := range list {
		for _, v := range m.T[t] {
			for k, x := range m.V[v] {
				lo[k], hi[k] = min(lo[k], x), max(hi[k], x)
			}
		}
	}
	return lo.Vec(), hi.Vec()
}

// winding returns how often the shell winds about p: its solid angle over 4π
// (A. van Oosterom, J. Strackee, IEEE Trans. Biomed. Eng. 30 (1983) 125).
func (m *Mesh) winding(list []int32, p r3.Vec) float64 {
	sum := 0.0
	for _, t := range list {
		a, b, c := m.Corners(int(t))
		a, b, c = r3.Sub(a, p), r3.Sub(b, p), r3.Sub(c, p)
		la, lb, lc := r3.Norm(a), r3.Norm(b), r3.Norm(c)
		sum += math.Atan2(r3.Dot(a, r3.Cross(b, c)), la*lb*lc+r3.Dot(a, b)*lc+r3.Dot(b, c)*la+r3.Dot(c, a)*lb)
	}
	return sum / (2 * math.Pi)
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

package heat

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// sharp is the turn of the normal from one cell to the next beyond which the
// surface counts as having an edge there rather than a curve: 41 degrees.
const sharp = 0.7

// bend returns the mean curvature of the surface in 1/mm, half the divergence
// of its normal, which is fitted to the patches around as a linear function of
// place. It is 1/R for a ball.
func (b *body) bend(s *surface, p *patch) float64 {
	n := p.unit
	u := r3.Vec{X: 1}
	if math.Abs(n.X) > 0.6 {
		u = r3.Vec{Y: 1}
	}
	u = r3.Unit(r3.Sub(u, r3.Scale(r3.Dot(u, n), n)))
	v := r3.Cross(n, u)
	// Normal equations; a little is added to what a single row of patches leaves open.
	uu, uv, vv := 0.02*b.D*b.D, 0.0, 0.02*b.D*b.D
	var uTurn, vTurn [2]float64
	x, y, z := b.at(p.cell)
	for k := max(z-1, 0); k <= min(z+1, b.N[2]-1); k++ {
		for j := max(y-1, 0); j <= min(y+1, b.N[1]-1); j++ {
			for i := max(x-1, 0); i <= min(x+1, b.N[0]-1); i++ {
				q := s.in(b.index(i, j, k))
				if q == nil || q == p || q.unit == (r3.Vec{}) {
					continue
				}
				turn := r3.Sub(q.unit, n)
				if r3.Norm2(turn) > sharp*sharp {
					continue
				}
				w, way := q.area/(b.D*b.D), r3.Sub(q.mid, p.mid)
				du, dv := r3.Dot(way, u), r3.Dot(way, v)
				uu, uv, vv = uu+w*du*du, uv+w*du*dv, vv+w*dv*dv
				tu, tv := w*r3.Dot(turn, u), w*r3.Dot(turn, v)
				uTurn[0], uTurn[1] = uTurn[0]+tu*du, uTurn[1]+tu*dv
				vTurn[0], vTurn[1] = vTurn[0]+tv*du, vTurn[1]+tv*dv
			}
		}
	}
	return (uTurn[0]*vv - uTurn[1]*uv + vTurn[1]*uu - vTurn[0]*uv) / (uu*vv - uv*uv) / 2
}

package metal

import "math"

// tangent finds the composition y at which phase p lies deepest below, or
// closest above, the plane of the potentials mu, downhill from y. The driving
// force is positive when the plane cuts the phase, J/mol.
// Newton's method where the phase is convex, half steps of successive
// substitution in the logarithm elsewhere.
func (m *model) tangent(p phase, mu, y vec) (at vec, force float64) {
	for range 200 {
		g := m.potentials(p, y)
		height, lo, hi := 0.0, math.Inf(1), math.Inf(-1)
		for i := range m.n {
			g[i] -= mu[i]
			height += y[i] * g[i]
			lo, hi = min(lo, g[i]), max(hi, g[i])
		}
		force = -height
		if hi-lo < affinityJ {
			break
		}
		if z, ok := m.tangentStep(p, mu, y, g, height); ok {
			y = z
			continue
		}
		sum := 0.0
		for i := range m.n {
			y[i] *= math.Exp((height - g[i]) / (2 * m.rt))
			y[i] = max(y[i], tiny)
			sum += y[i]
		}
		for i := range m.n {
			y[i] /= sum
		}
	}
	return y, force
}

// tangentStep takes a Newton step from y, if the phase is convex there and
// the step leads downhill. g is μ(y) − mu, height its mean.
func (m *model) tangentStep(p phase, mu, y, g vec, height float64) (vec, bool) {
	k := m.n - 1
	h := m.hessian(p, y)
	var a [maxParts + 1][maxParts + 2]float64
	for i := range k {
		for j := range k {
			a[i][j] = h[i][j] - h[i][k] - h[k][j] + h[k][k]
		}
		a[i][k] = g[k] - g[i]
	}
	if a[0][0] <= 0 || k == 2 && a[0][0]*a[1][1] <= a[0][1]*a[1][0] || !solve(&a, k) {
		return y, false
	}
	var step vec
	scale := 1.0
	for i := range k {
		step[i] = a[i][k]
		step[k] -= a[i][k]
	}
	for i := range m.n {
		if step[i] < 0 {
			scale = min(scale, -0.9*y[i]/step[i])
		}
	}
	z := y
	for i := range m.n {
		z[i] += scale * step[i]
		if z[i] < tiny {
			return y, false
		}
	}
	at := m.potentials(p, z)
	after := 0.0
	for i := range m.n {
		after += z[i] * (at[i] - mu[i])
	}
	return z, after <= height+affinityJ
}

// solve reduces the n×n system with its right side in column n, by
// elimination with pivoting.
func solve(a *[maxParts + 1][maxParts + 2]float64, n int) bool {
	for c := range n {
		p := c
		for r := c + 1; r < n; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[p][c]) {
				p = r
			}
		}
		if a[p][c] == 0 || math.IsNaN(a[p][c]) {
			return false
		}
		a[c], a[p] = a[p], a[c]
		for r := range n {
			if r == c {
				continue
			}
			f := a[r][c] / a[c][c]
			for k := c; k <= n; k++ {
				a[r][k] -= f * a[c][k]
			}
		}
	}
	for c := range n {
		a[c][n] /= a[c][c]
	}
	return true
}

// corner returns a start close to pure component c.
func (s *system) corner(c int) vec {
	var y vec
	n := len(s.symbols)
	for i := range n {
		y[i] = 0.02
	}
	y[c] = 1 - 0.02*float64(n-1)
	return y
}

// deepest returns the composition of phase p of the greatest driving force
// against the plane mu, of the minima reached from each pure corner.
func (m *model) deepest(p phase, mu vec) (y vec, force float64) {
	force = math.Inf(-1)
	for c := range m.n {
		if z, f := m.tangent(p, mu, m.corner(c)); f > force {
			y, force = z, f
		}
	}
	return y, force
}

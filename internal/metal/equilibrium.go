package metal

import (
	"errors"
	"math"
)

// errNoSolution means that a solver did not converge: our fault, not the caller's.
var errNoSolution = errors.New("phase equilibrium did not converge")

const (
	tiny      = 1e-12  // mole fraction kept of every component, so that logarithms exist
	fineK     = 1e-7   // K: bracket of a solidus
	lowestK   = 800.0  // no Ag-Au-Cu melt freezes below
	hottestK  = 1450.0 // nor begins to freeze above
	distinct  = 1e-5   // mole fraction: closer compositions are one phase
	affinityJ = 1e-7   // J/mol: a driving force below this is none
)

// between finds the root of f, which falls through zero from lo to hi, by
// bisection made faster by the secant (Illinois rule).
func between(lo, hi, tolerance float64, f func(float64) float64) (float64, error) {
	flo, fhi := f(lo), f(hi)
	if flo < 0 || fhi > 0 || math.IsNaN(flo) || math.IsNaN(fhi) {
		return 0, errNoSolution
	}
	side := 0
	for i := range 200 {
		if hi-lo < tolerance || flo == fhi {
			break
		}
		mid := lo + (hi-lo)*flo/(flo-fhi)
		if i%3 == 2 {
			mid = (lo + hi) / 2
		}
		v := f(mid)
		switch {
		case v == 0:
			return mid, nil
		case v > 0:
			lo, flo = mid, v
			if side == 1 {
				fhi /= 2
			}
			side = 1
		default:
			hi, fhi = mid, v
			if side == -1 {
				flo /= 2
			}
			side = -1
		}
	}
	return (lo + hi) / 2, nil
}

// liquidus returns the temperature, K, at which solid first forms from the
// liquid x, and the composition of that solid: bracketed, then by [system.coexist].
func (s *system) liquidus(x vec) (T float64, y vec, err error) {
	if T, y, err = s.bracket(x, lowestK, hottestK, 0.5); err != nil {
		return 0, y, err
	}
	if t, z, err := s.coexist(x, y, T); err == nil && math.Abs(t-T) < 1 {
		return t, z, nil
	}
	// At the edge of a miscibility gap of the solid Newton's method fails.
	return s.bracket(x, T-1, T+1, fineK)
}

// bracket finds the liquidus of x between two temperatures, K.
func (s *system) bracket(x vec, lo, hi, tolerance float64) (T float64, y vec, err error) {
	force := func(T float64) (f float64) {
		m := s.at(T)
		y, f = m.deepest(solid, m.potentials(liquid, x))
		return f
	}
	if T, err = between(lo, hi, tolerance, force); err == nil {
		force(T)
	}
	return T, y, err
}

// partner is [system.coexist], or where that fails a search near T, or [system.liquidus].
func (s *system) partner(x, y vec, T float64) (float64, vec, error) {
	if t, z, err := s.coexist(x, y, T); err == nil && math.Abs(t-T) < 30 {
		return t, z, nil
	}
	if t, z, err := s.bracket(x, T-5, T+2, fineK); err == nil {
		return t, z, nil
	}
	return s.liquidus(x)
}

// coexist finds, from a close start, the solid y and the temperature T, K, in
// equilibrium with the liquid x: Newton's method on equal potentials.
func (s *system) coexist(x, y vec, T float64) (float64, vec, error) {
	n := len(s.symbols)
	k := n - 1
	for range 30 {
		m := s.at(T)
		mul, mus := m.potentials(liquid, x), m.potentials(solid, y)
		sl, ss := m.slopes(liquid, x), m.slopes(solid, y)
		h := m.hessian(solid, y)
		var a [maxParts + 1][maxParts + 2]float64
		for i := range n {
			for j := range k {
				// ∂μ_i/∂y_j with y_k taking up the change
				a[i][j] = h[i][j] - h[i][k]
			}
			a[i][k] = ss[i] - sl[i]
			a[i][n] = mul[i] - mus[i]
		}
		if !solve(&a, n) {
			return 0, y, errNoSolution
		}
		scale := 1.0
		last := 0.0
		for j := range k {
			last -= a[j][n]
			for y[j]+scale*a[j][n] <= 0 || y[j]+scale*a[j][n] >= 1 {
				scale /= 2
			}
		}
		for y[k]+scale*last <= 0 || y[k]+scale*last >= 1 {
			scale /= 2
		}
		scale = min(scale, 50/max(50, math.Abs(a[k][n])))
		change := 0.0
		for j := range k {
			y[j] += scale * a[j][n]
			change = max(change, math.Abs(a[j][n]))
		}
		y[k] += scale * last
		T += scale * a[k][n]
		if T < lowestK/2 {
			return 0, y, errNoSolution
		}
		// The step just taken squares the error.
		if change < 1e-7 && math.Abs(a[k][n]) < 1e-4 {
			return T, y, nil
		}
	}
	return 0, y, errNoSolution
}

// split is an equilibrium of two phases: compositions, and the mole fraction
// of the second.
type split struct {
	one, two vec
	share    float64
}

// startFlash returns the moles of each component in the second phase for
// guessed compositions of both: the share that fits x best.
func (m *model) startFlash(x, one, two vec) (n2 vec, ok bool) {
	num, den := 0.0, 0.0
	for i := range m.n {
		num += (x[i] - one[i]) * (two[i] - one[i])
		den += (two[i] - one[i]) * (two[i] - one[i])
	}
	if den == 0 {
		return n2, false
	}
	share := min(0.999, max(0.001, num/den))
	for i := range m.n {
		n2[i] = share * two[i]
		if share > 0.5 { // the smaller amount takes its composition as given
			n2[i] = x[i] - (1-share)*one[i]
		}
		n2[i] = min(x[i]*(1-1e-6), max(x[i]*1e-6, n2[i]))
	}
	return n2, true
}

// flash divides x between phases p and q at the model's temperature, starting
// from compositions that differ: Newton's method on the Gibbs energy
// (Michelsen's second-order flash).
func (m *model) flash(p, q phase, x, one, two vec) (split, bool) {
	n2, ok := m.startFlash(x, one, two)
	if !ok {
		return split{}, false
	}
	for range 100 {
		var y1, y2 vec
		s1, s2 := 0.0, 0.0
		for i := range m.n {
			s2 += n2[i]
			s1 += x[i] - n2[i]
		}
		for i := range m.n {
			y2[i], y1[i] = n2[i]/s2, (x[i]-n2[i])/s1
		}
		mu1, mu2 := m.potentials(p, y1), m.potentials(q, y2)
		h1, h2 := m.hessian(p, y1), m.hessian(q, y2)
		var a [maxParts + 1][maxParts + 2]float64
		worst := 0.0
		for i := range m.n {
			for j := range m.n {
				a[i][j] = h1[i][j]/s1 + h2[i][j]/s2
			}
			a[i][m.n] = mu1[i] - mu2[i]
			worst = max(worst, math.Abs(a[i][m.n]))
		}
		if worst < affinityJ {
			return split{y1, y2, s2}, true
		}
		m.descend(&a)
		scale := 1.0
		for i := range m.n {
			for n2[i]+scale*a[i][m.n] <= 0 || n2[i]+scale*a[i][m.n] >= x[i] {
				scale /= 2
				if scale < 1e-12 {
					return split{}, false
				}
			}
		}
		if scale < 1 {
			scale *= 0.9
		}
		for i := range m.n {
			n2[i] += scale * a[i][m.n]
		}
	}
	return split{}, false
}

// descend solves for the Newton step, with a shift along the diagonal where
// the plain step would not go downhill.
func (m *model) descend(a *[maxParts + 1][maxParts + 2]float64) {
	var g vec
	for i := range m.n {
		g[i] = a[i][m.n]
	}
	for shift := 0.0; shift < 1e12; shift = max(10*shift, m.rt) {
		b := *a
		for i := range m.n {
			b[i][i] += shift
		}
		if solve(&b, m.n) {
			down := 0.0
			for i := range m.n {
				down += b[i][m.n] * g[i]
			}
			if down > 0 {
				*a = b
				return
			}
		}
	}
	for i := range m.n {
		a[i][m.n] = 0
	}
}

// solidState returns the solid equilibrium of x: whether it splits in two,
// and the potentials.
func (m *model) solidState(x vec) (s split, mu vec, splits bool) {
	mu = m.potentials(solid, x)
	for c := range m.n {
		y, force := m.tangent(solid, mu, m.corner(c))
		if force < affinityJ || apart(x, y) < distinct {
			continue
		}
		if s, ok := m.flash(solid, solid, x, x, y); ok && apart(s.one, s.two) > distinct {
			return s, m.potentials(solid, s.one), true
		}
	}
	return split{}, mu, false
}

func apart(a, b vec) float64 {
	d := 0.0
	for i := range a {
		d = max(d, math.Abs(a[i]-b[i]))
	}
	return d
}

// solidus returns the temperature, K, at which liquid first forms from the
// solid equilibrium of x, and the composition of that liquid.
func (s *system) solidus(x vec) (T float64, y vec, err error) {
	T, err = between(lowestK, hottestK, fineK, func(T float64) float64 {
		m := s.at(T)
		_, mu, _ := m.solidState(x)
		var f float64
		y, f = m.deepest(liquid, mu)
		return -f
	})
	return T, y, err
}

// lever returns the equilibrium of x at T, K, between its solidus and its
// liquidus: liquid (one) and solid (two). Where three phases meet, in Ag-Au-Cu,
// the second solid is left out.
func (s *system) lever(x vec, T float64) (split, error) {
	m := s.at(T)
	// From the liquidus down, then from the solidus up: each start is close at its end.
	y, _ := m.deepest(solid, m.potentials(liquid, x))
	if f, ok := m.flash(liquid, solid, x, x, y); ok {
		return f, nil
	}
	y, _ = m.deepest(liquid, m.potentials(solid, x))
	if f, ok := m.flash(liquid, solid, x, y, x); ok {
		return f, nil
	}
	return split{}, errNoSolution
}

package metal

import "math"

// gasConstant is the value of the time of the assessments, J/(mol K); the
// exact 8.314462618 moves the eutectic by less than 0.02 K.
const gasConstant = 8.31451

// zeroC is 0 °C in K.
const zeroC = 273.15

// polynomial is a Gibbs energy in J/mol valid up to a temperature in K:
// a + bT + cT ln T + dT² + eT³ + f/T + gT⁷ + hT⁻⁹.
type polynomial struct{ upToK, a, b, c, d, e, f, g, h float64 }

// piecewise is a Gibbs energy over successive ranges of temperature; the last
// holds beyond its end.
type piecewise []polynomial

func (p piecewise) at(T float64) *polynomial {
	for i := range p {
		if T < p[i].upToK {
			return &p[i]
		}
	}
	return &p[len(p)-1]
}

// gibbs returns G in J/mol at T in K.
func (p piecewise) gibbs(T float64) float64 {
	q := p.at(T)
	t3 := T * T * T
	g := q.a + q.b*T + q.c*T*math.Log(T) + q.d*T*T + q.e*t3 + q.f/T + q.g*t3*t3*T
	if q.h != 0 {
		g += q.h / (t3 * t3 * t3)
	}
	return g
}

// entropy returns −dG/dT in J/(mol K) at T in K.
func (p piecewise) entropy(T float64) float64 {
	q := p.at(T)
	t3 := T * T * T
	s := -q.b - q.c*(math.Log(T)+1) - 2*q.d*T - 3*q.e*T*T + q.f/(T*T) - 7*q.g*t3*t3
	if q.h != 0 {
		s += 9 * q.h / (t3 * t3 * t3 * T)
	}
	return s
}

// enthalpy returns G + TS in J/mol at T in K.
func (p piecewise) enthalpy(T float64) float64 { return p.gibbs(T) + T*p.entropy(T) }

// heatCapacity returns dH/dT in J/(mol K) at T in K.
func (p piecewise) heatCapacity(T float64) float64 {
	q := p.at(T)
	t3 := T * T * T
	c := -q.c - 2*q.d*T - 6*q.e*T*T - 2*q.f/(T*T) - 42*q.g*t3*t3
	if q.h != 0 {
		c -= 90 * q.h / (t3 * t3 * t3 * T)
	}
	return c
}

// term is an interaction parameter a + bT + cT ln T, J/mol over K.
type term struct{ a, b, c float64 }

// pair is the Redlich-Kister series of two components:
// x_i x_j Σ L_v (x_i − x_j)^v; i < j in the order of the system.
type pair struct {
	i, j  int
	terms []term
}

// maxParts is the largest number of components of a system.
const maxParts = 3

// maxTerms is the largest number of terms of a Redlich-Kister series.
const maxTerms = 5

// vec holds mole fractions or potentials of the components.
type vec [maxParts]float64

type phase int

const (
	liquid phase = iota
	solid        // face-centred cubic; it may split in two
)

// system is a set of components that mix in the liquid and in one fcc solid.
type system struct {
	symbols []string
	molar   vec // g/mol
	pure    [2][]piecewise
	pairs   [2][]pair
}

// model is a system at one temperature.
type model struct {
	*system
	n     int
	T, rt float64
	ref   [2]vec // Gibbs energies of the pure components above the solid
	refS  [2]vec // their entropies, likewise
	ex    [2][maxParts]series
	count [2]int // of the pairs in ex
}

// series is a pair with its parameters worked out at the temperature.
type series struct {
	i, j  int
	l, dl [maxTerms]float64 // L_v and dL_v/dT
}

func (s *system) at(T float64) model {
	m := model{system: s, n: len(s.symbols), T: T, rt: gasConstant * T}
	for i := range m.n {
		// Only the difference of the phases enters an equilibrium.
		m.ref[liquid][i] = s.pure[liquid][i].gibbs(T) - s.pure[solid][i].gibbs(T)
		m.refS[liquid][i] = s.pure[liquid][i].entropy(T) - s.pure[solid][i].entropy(T)
	}
	ln := math.Log(T)
	for p := range m.ex {
		m.count[p] = len(s.pairs[p])
		for k, q := range s.pairs[p] {
			e := series{i: q.i, j: q.j}
			for v, t := range q.terms {
				e.l[v] = t.a + t.b*T + t.c*T*ln
				e.dl[v] = t.b + t.c*(ln+1)
			}
			m.ex[p][k] = e
		}
	}
	return m
}

// excess returns the partial molar excess Gibbs energies at x for the
// parameters l, which are L_v or dL_v/dT.
func (m *model) excess(p phase, x vec, slope bool) vec {
	var d vec // derivatives of G_ex by each x alone
	g := 0.0
	for k := range m.count[p] {
		e := &m.ex[p][k]
		l := &e.l
		if slope {
			l = &e.dl
		}
		xi, xj := x[e.i], x[e.j]
		u := xi - xj
		s := l[0] + u*(l[1]+u*(l[2]+u*(l[3]+u*l[4])))
		ds := l[1] + u*(2*l[2]+u*(3*l[3]+u*4*l[4]))
		g += xi * xj * s
		d[e.i] += xj*s + xi*xj*ds
		d[e.j] += xi*s - xi*xj*ds
	}
	sum := 0.0
	for i := range m.n {
		sum += x[i] * d[i]
	}
	for i := range m.n {
		d[i] += g - sum
	}
	return d
}

// potentials returns the chemical potentials at x, J/mol.
func (m *model) potentials(p phase, x vec) vec {
	mu := m.excess(p, x, false)
	for i := range m.n {
		mu[i] += m.ref[p][i] + m.rt*math.Log(x[i])
	}
	return mu
}

// slopes returns dμ/dT at x, J/(mol K).
func (m *model) slopes(p phase, x vec) vec {
	s := m.excess(p, x, true)
	for i := range m.n {
		s[i] += -m.refS[p][i] + gasConstant*math.Log(x[i])
	}
	return s
}

// hessian returns ∂μ_i/∂n_j of one mole at x, J/mol². It is singular along x.
func (m *model) hessian(p phase, x vec) [maxParts]vec {
	var h [maxParts]vec
	for k := range m.count[p] {
		e := &m.ex[p][k]
		xi, xj := x[e.i], x[e.j]
		u := xi - xj
		l := &e.l
		s := l[0] + u*(l[1]+u*(l[2]+u*(l[3]+u*l[4])))
		ds := l[1] + u*(2*l[2]+u*(3*l[3]+u*4*l[4]))
		dds := 2*l[2] + u*(6*l[3]+u*12*l[4])
		h[e.i][e.i] += 2*xj*ds + xi*xj*dds
		h[e.j][e.j] += -2*xi*ds + xi*xj*dds
		cross := s + u*ds - xi*xj*dds
		h[e.i][e.j] += cross
		h[e.j][e.i] += cross
	}
	var row vec
	all := 0.0
	for i := range m.n {
		h[i][i] += m.rt / x[i]
		for j := range m.n {
			row[i] += h[i][j] * x[j]
		}
		all += row[i] * x[i]
	}
	for i := range m.n {
		for j := range m.n {
			h[i][j] += all - row[i] - row[j]
		}
	}
	return h
}

// mixingHeat returns the excess enthalpy at x as a part that does not depend
// on temperature, J/mol, and the factor of T, J/(mol K): H of a + bT + cT ln T is a − cT.
func (s *system) mixingHeat(p phase, x vec) (fixed, perK float64) {
	for _, q := range s.pairs[p] {
		u := x[q.i] - x[q.j]
		f := x[q.i] * x[q.j]
		for _, t := range q.terms {
			fixed += f * t.a
			perK -= f * t.c
			f *= u
		}
	}
	return fixed, perK
}

// enthalpy returns the molar enthalpy of a phase at x above the unmixed pure
// solids at 25 °C, J/mol.
func (s *system) enthalpy(p phase, x vec, T float64) float64 {
	fixed, perK := s.mixingHeat(p, x)
	h := fixed + perK*T
	for i := range s.symbols {
		if x[i] > 0 {
			h += x[i] * (s.pure[p][i].enthalpy(T) - s.pure[solid][i].enthalpy(zeroC+25))
		}
	}
	return h
}

// mass returns the molar mass at x, g/mol.
func (s *system) mass(x vec) float64 {
	sum := 0.0
	for i := range s.symbols {
		sum += x[i] * s.molar[i]
	}
	return sum
}

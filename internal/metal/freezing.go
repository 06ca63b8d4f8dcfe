package metal

import "math"

// lastLiquid is the mass fraction of liquid at which a casting counts as
// frozen: the rest sits in films that neither feed nor flow.
const lastLiquid = 0.01

// invariantSpan is the width in K over which a pure metal, a eutectic or the
// last liquid is taken to freeze, so that enthalpy is a function of temperature.
const invariantSpan = 0.5

// pathStep is the step of −ln(mole fraction of liquid) along a freezing path.
const pathStep = 0.08

// point is a state along a freezing path.
type point struct {
	T      float64 // K
	liquid float64 // mole fraction
	x      vec     // of the liquid
	heat   float64 // mixing heat of the solid so far, J per mole of alloy
	perK   float64 // the part of it that goes with T, J/(mol K)
}

// freezing is the path of a melt x that freezes without diffusion in the solid.
type freezing struct {
	points     []point // falling temperature
	eutecticAt int     // index of the point where a second solid joins, −1 if none does
}

// scheil follows the melt x0 as it freezes with a well mixed liquid and no
// diffusion in the solid: dx/dξ = x − y(x), where f = e^−ξ is the fraction
// liquid and y the solid that the liquid x throws down; fourth-order
// Runge-Kutta. Where a second solid becomes stable, the two freeze together in
// the share that keeps the liquid in equilibrium with both. It stops when
// [lastLiquid] is left, or at an invariant point.
func (s *system) scheil(x0 vec) (freezing, error) {
	T, y, err := s.liquidus(x0)
	if err != nil {
		return freezing{}, err
	}
	now := point{T: T, liquid: 1, x: x0}
	path := freezing{points: []point{now}, eutecticAt: -1}
	total := s.mass(x0)
	var other vec
	two, merged := false, false // two solids; the two have become one
	for now.liquid*s.mass(now.x) > lastLiquid*total {
		if two {
			next, y1, y2, ok := s.together(now, y, other)
			if ok {
				path.points = append(path.points, next)
				now, y, other = next, y1, y2
				continue
			}
			two, merged = false, true
		}
		next, z, err := s.advance(now, y, pathStep)
		if err != nil {
			return path, err
		}
		if _, force := s.rival(next, z); force <= 0 {
			merged = false
		} else if !merged {
			if next, z, other, err = s.appear(now, y); err != nil {
				return path, err
			}
			two = true
			if path.eutecticAt < 0 {
				path.eutecticAt = len(path.points)
			}
		}
		path.points = append(path.points, next)
		now, y = next, z
	}
	return path, nil
}

// appear finds the state within a step of p, with the solid y, at which a
// second solid just becomes stable, and both solids there.
func (s *system) appear(p point, y vec) (next point, one, two vec, err error) {
	if z, f := s.rival(p, y); f > -affinityJ*10 {
		return p, y, z, nil // a melt of the eutectic composition
	}
	step, err := between(0, pathStep, 1e-9, func(step float64) float64 {
		at, w, err := s.advance(p, y, step)
		if err != nil {
			return math.NaN()
		}
		if z, f := s.rival(at, w); !math.IsInf(f, -1) {
			two = z
			return -f
		}
		return 1e-9
	})
	if err != nil {
		return p, y, two, err
	}
	next, one, err = s.advance(p, y, step)
	return next, one, two, err
}

// advance moves a state by a step of ξ with one solid, y at its start.
func (s *system) advance(p point, y vec, step float64) (point, vec, error) {
	move := func(x, rate vec, h float64) vec {
		for i := range s.symbols {
			x[i] = max(tiny, x[i]+h*rate[i])
		}
		return x
	}
	rate := func(x, y vec) (r vec) {
		for i := range s.symbols {
			r[i] = x[i] - y[i]
		}
		return r
	}
	k1 := rate(p.x, y)
	x2 := move(p.x, k1, step/2)
	T2, y2, err := s.partner(x2, y, p.T)
	if err != nil {
		return p, y, err
	}
	k2 := rate(x2, y2)
	x3 := move(p.x, k2, step/2)
	T3, y3, err := s.partner(x3, y2, T2)
	if err != nil {
		return p, y, err
	}
	k3 := rate(x3, y3)
	x4 := move(p.x, k3, step)
	T4, y4, err := s.partner(x4, y3, T3)
	if err != nil {
		return p, y, err
	}
	k4 := rate(x4, y4)
	var k vec
	for i := range s.symbols {
		k[i] = (k1[i] + 2*k2[i] + 2*k3[i] + k4[i]) / 6
	}
	next := point{x: move(p.x, k, step), liquid: p.liquid * math.Exp(-step)}
	next.T, y4, err = s.partner(next.x, y4, T4)
	if err != nil {
		return p, y, err
	}
	next.heat, next.perK = p.heat, p.perK
	next.addSolid(s, p.liquid-next.liquid, y2)
	return next, y4, nil
}

// addSolid adds the mixing heat of an amount of solid of composition y.
func (p *point) addSolid(s *system, amount float64, y vec) {
	h, k := s.mixingHeat(solid, y)
	p.heat += amount * h
	p.perK += amount * k
}

// rival returns the solid, other than y, of the greatest driving force from
// the liquid of p; the force is −∞ if there is none.
func (s *system) rival(p point, y vec) (vec, float64) {
	m := s.at(p.T)
	mu := m.potentials(liquid, p.x)
	best, force := vec{}, math.Inf(-1)
	for c := range m.n {
		if y[c] > 0.5 {
			continue // from here the way leads to y itself
		}
		z, f := m.tangent(solid, mu, m.corner(c))
		if apart(z, y) > 1e-2 && f > force {
			best, force = z, f
		}
	}
	return best, force
}

// together moves a state by a step of ξ with two solids, one and two, that
// freeze side by side, and returns the solids at its end. It fails where the
// two become one.
func (s *system) together(p point, one, two vec) (next point, y1, y2 vec, ok bool) {
	next = point{liquid: p.liquid * math.Exp(-pathStep), heat: p.heat, perK: p.perK}
	grow := math.Exp(pathStep) - 1
	// The share of the first solid that leaves both in equilibrium with one
	// liquid: both have the same liquidus.
	gap := func(share float64) (float64, error) {
		for i := range s.symbols {
			next.x[i] = max(tiny, p.x[i]+grow*(p.x[i]-share*one[i]-(1-share)*two[i]))
		}
		var t1, t2 float64
		var err error
		if t1, y1, err = s.coexist(next.x, one, p.T); err != nil {
			return 0, err
		}
		if t2, y2, err = s.coexist(next.x, two, p.T); err != nil {
			return 0, err
		}
		next.T = (t1 + t2) / 2
		return t1 - t2, nil
	}
	share, err := secant(0.5, 0.6, gap)
	if err != nil || share < 0 || share > 1 || apart(y1, y2) < 1e-2 || next.T > p.T+0.01 {
		return p, one, two, false
	}
	next.addSolid(s, share*(p.liquid-next.liquid), one)
	next.addSolid(s, (1-share)*(p.liquid-next.liquid), two)
	if math.Abs(next.T-p.T) < 1e-4 {
		// Invariant: the rest freezes at one temperature.
		next.addSolid(s, share*next.liquid, one)
		next.addSolid(s, (1-share)*next.liquid, two)
		next.liquid = 0
	}
	return next, y1, y2, true
}

// secant finds a root of f near a and b.
func secant(a, b float64, f func(float64) (float64, error)) (float64, error) {
	fa, err := f(a)
	if err != nil {
		return 0, err
	}
	for range 20 {
		fb, err := f(b)
		if err != nil {
			return 0, err
		}
		if math.Abs(fb) < 1e-9 || fb == fa {
			return b, nil
		}
		a, b, fa = b, b-fb*(b-a)/(fb-fa), fb
	}
	return 0, errNoSolution
}

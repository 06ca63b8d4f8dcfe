package metal

// curve tabulates enthalpy and fraction solid over rising temperature; both
// are piecewise linear between the knots. It is not changed once made.
type curve struct {
	t     []float64 // °C
	h     []float64 // kJ/kg above the solid as cast at 25 °C
	solid []float64 // mass fraction
}

// coldC and hotC bound the tables; beyond them the specific heat is constant.
const coldC, hotC = 25.0, 2200.0

// knots of the curve below, inside and above the range of freezing.
const solidKnots, rangeKnots, liquidKnots = 96, 64, 64

// at interpolates y over rising x, and goes on in a straight line beyond.
func at(x, y []float64, v float64) float64 {
	lo, hi := 0, len(x)-1
	for hi-lo > 1 {
		if mid := int(uint(lo+hi) >> 1); x[mid] <= v {
			lo = mid
		} else {
			hi = mid
		}
	}
	return y[lo] + (y[hi]-y[lo])*((v-x[lo])/(x[hi]-x[lo]))
}

func (c *curve) add(t, h, solid float64) {
	c.t, c.h, c.solid = append(c.t, t), append(c.h, h), append(c.solid, solid)
}

// casting is a melt x0 that freezes along a path. The zero of its enthalpy is
// the solid as cast, with its concentration differences, at 25 °C.
type casting struct {
	*system
	x0   vec
	cast float64 // mixing heat of the solid at 25 °C, J/mol
}

// state returns the enthalpy, kJ/kg, and the mass fraction solid at a point.
func (c *casting) state(p point) (h, fs float64) {
	for i := range c.symbols {
		reference := c.pure[solid][i].enthalpy(zeroC + coldC)
		melt := p.liquid * p.x[i]
		h += (c.x0[i] - melt) * (c.pure[solid][i].enthalpy(p.T) - reference)
		if melt > 0 {
			h += melt * (c.pure[liquid][i].enthalpy(p.T) - reference)
		}
	}
	fixed, perK := c.mixingHeat(liquid, p.x)
	h += p.heat + p.perK*p.T + p.liquid*(fixed+perK*p.T)
	return (h - c.cast) / c.mass(c.x0), 1 - p.liquid*c.mass(p.x)/c.mass(c.x0)
}

// frozen tabulates a freezing path of x0.
func (s *system) frozen(path freezing, x0 vec) *curve {
	// The last liquid freezes as it is, at the end of the path.
	last := path.points[len(path.points)-1]
	end := last
	end.addSolid(s, last.liquid, last.x)
	end.liquid = 0
	melt := casting{s, x0, end.heat + end.perK*(zeroC+coldC)}
	endC := last.T - zeroC
	if last.liquid > 0 {
		endC -= invariantSpan
	}
	c := &curve{}
	for i := range solidKnots + 1 {
		end.T = zeroC + coldC + (endC-coldC)*float64(i)/solidKnots
		h, _ := melt.state(end)
		c.add(end.T-zeroC, h, 1)
	}
	for i := len(path.points) - 1; i >= 0; i-- {
		p := path.points[i]
		t := p.T - zeroC
		if p.liquid == 0 {
			continue
		}
		// States that share a temperature, at a eutectic, are drawn apart.
		if t < endC+invariantSpan {
			if i > 0 && path.points[i-1].T-zeroC < endC+invariantSpan {
				continue
			}
			t = endC + invariantSpan
		}
		h, fs := melt.state(p)
		if n := len(c.t) - 1; t > c.t[n]+1e-6 && h > c.h[n] {
			c.add(t, h, fs)
		}
	}
	c.heatLiquid(func(T float64) float64 {
		h, _ := melt.state(point{T: T, liquid: 1, x: x0})
		return h
	})
	return c
}

// heatLiquid adds the knots of the liquid, from the last knot up.
func (c *curve) heatLiquid(h func(T float64) float64) {
	from := c.t[len(c.t)-1]
	for i := 1; i <= liquidKnots; i++ {
		t := from + (hotC-from)*float64(i)/liquidKnots
		c.add(t, h(t+zeroC), 0)
	}
}

// lever tabulates a metal of which only the range of freezing is known.
// Kopp's rule for the solid and an ideal mixture for the liquid; the fraction
// solid by the lever rule on straight lines from the melting point tm of the
// main element, or in proportion to temperature where that lies in the range.
func lever(parts []part, endC, liquidusC, tm float64) *curve {
	enthalpy := func(p phase, t float64) float64 {
		sum := 0.0
		for _, q := range parts {
			sum += q.mass * q.enthalpy(p, t)
		}
		return sum
	}
	fraction := func(t float64) float64 { return (liquidusC - t) / (liquidusC - endC) }
	if tm > liquidusC+1 || tm < endC-1 {
		k := (liquidusC - endC) / (tm - endC) // 1 − partition coefficient
		fraction = func(t float64) float64 { return (liquidusC - t) / (tm - t) / k }
	}
	c := &curve{}
	for i := range solidKnots {
		t := coldC + (endC-coldC)*float64(i)/solidKnots
		c.add(t, enthalpy(solid, t), 1)
	}
	for i := range rangeKnots + 1 {
		t := endC + (liquidusC-endC)*float64(i)/rangeKnots
		fs := min(1, max(0, fraction(t)))
		c.add(t, fs*enthalpy(solid, t)+(1-fs)*enthalpy(liquid, t), fs)
	}
	c.heatLiquid(func(T float64) float64 { return enthalpy(liquid, T-zeroC) })
	return c
}

// latent returns the heat given up between liquidus and end of freezing that
// is not due to the fall of temperature, kJ/kg.
func (c *curve) latent(endC, liquidusC float64) float64 {
	cpSolid := (at(c.t, c.h, endC) - at(c.t, c.h, endC-20)) / 20
	cpLiquid := (at(c.t, c.h, liquidusC+20) - at(c.t, c.h, liquidusC)) / 20
	sensible := 0.0
	for i := 1; i < len(c.t); i++ {
		lo, hi := max(c.t[i-1], endC), min(c.t[i], liquidusC)
		if hi <= lo {
			continue
		}
		fs := (c.solid[i-1] + c.solid[i]) / 2
		sensible += (hi - lo) * (fs*cpSolid + (1-fs)*cpLiquid)
	}
	return at(c.t, c.h, liquidusC) - at(c.t, c.h, endC) - sensible
}

// enthalpy returns kJ/kg above the pure solid at 25 °C.
func (q *part) enthalpy(p phase, tC float64) float64 {
	u := unary[q.symbol]
	g := u.solid
	if p == liquid {
		g = u.liquid
	}
	return (g.enthalpy(tC+zeroC) - u.solid.enthalpy(coldC+zeroC)) / q.molar.value
}

// specificHeat returns kJ/(kg K).
func (q *part) specificHeat(p phase, tC float64) float64 {
	u := unary[q.symbol]
	g := u.solid
	if p == liquid {
		g = u.liquid
	}
	return g.heatCapacity(tC+zeroC) / q.molar.value
}

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

// straight returns the fraction solid by the lever rule on straight lines from
// the melting point tm of the main element, or in proportion to temperature
// where that lies in the range.
func straight(endC, liquidusC, tm float64) func(u float64) float64 {
	return func(u float64) float64 {
		t := endC + u*(liquidusC-endC)
		if tm > liquidusC+1 || tm < endC-1 {
			k := (liquidusC - endC) / (tm - endC) // 1 − partition coefficient
			return (liquidusC - t) / (tm - t) / k
		}
		return 1 - u
	}
}

// follow tabulates a metal of these parts that freezes as the assessed alloy
// core does, moved to its own range, with the heats of its further elements
// added and the sensible heat of the move made good.
func (core Metal) follow(parts []part, endC, liquidusC float64) *curve {
	scale := func(t, from, to, newFrom, newTo float64) float64 {
		return newFrom + (newTo-newFrom)*(t-from)/(to-from)
	}
	c := &curve{}
	for i, tc := range core.curve.t {
		fs := core.curve.solid[i]
		t := tc + liquidusC - core.liquidus
		switch {
		case tc <= core.end:
			t = scale(tc, coldC, core.end, coldC, endC)
		case tc < core.liquidus:
			t = scale(tc, core.end, core.liquidus, endC, liquidusC)
		}
		h, share := 0.0, 1.0
		for j := range parts {
			if q := &parts[j]; core.Composition[q.symbol] == 0 {
				h += q.mass * (fs*q.enthalpy(solid, t) + (1-fs)*q.enthalpy(liquid, t))
				share -= q.mass
			}
		}
		cp := 0.0
		for j := range core.parts {
			q := &core.parts[j]
			cp += q.mass * (fs*q.specificHeat(solid, (t+tc)/2) + (1-fs)*q.specificHeat(liquid, (t+tc)/2))
		}
		c.add(t, h+share*(core.curve.h[i]+cp*(t-tc)), fs)
	}
	return c
}

// lever tabulates a metal of which only the range of freezing is known: Kopp's
// rule for the solid, an ideal mixture for the liquid, the fraction solid by
// the lever rule.
func lever(parts []part, endC, liquidusC float64) *curve {
	shape := straight(endC, liquidusC, parts[0].melting.value)
	enthalpy := func(p phase, t float64) float64 {
		sum := 0.0
		for i := range parts {
			sum += parts[i].mass * parts[i].enthalpy(p, t)
		}
		return sum
	}
	c := &curve{}
	for i := range solidKnots {
		t := coldC + (endC-coldC)*float64(i)/solidKnots
		c.add(t, enthalpy(solid, t), 1)
	}
	for i := range rangeKnots + 1 {
		u := float64(i) / rangeKnots
		t := endC + u*(liquidusC-endC)
		fs := min(1, max(0, shape(u)))
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

package network

import (
	"math"
)

// settle gives heat to the clay, mixes what has flowed, renews the tips, and
// marks what is full, pressed and met.
func (r *Run) settle() {
	r.advect()
	r.stir()
	r.cool(r.dt / 2)
	r.mark()
}

// advect carries heat with what flowed in this step, first in first out: what
// leaves a cell is what was in it, and only then what came.
func (r *Run) advect() {
	out, was := r.rhs, r.diag // free until the next step
	for i := range r.held {
		s := &r.s[i]
		out[i], was[i] = 0, s.e
		s.passes = s.e
	}
	for _, f := range r.live {
		l, e := &r.l[f], &r.mesh.faces[f]
		switch {
		case l.q > 0:
			out[e.a] += l.q * e.ratio * r.dt
		case l.q < 0:
			out[e.b] -= l.q * r.dt
		}
	}
	r.s[0].e, r.s[0].passes, was[0] = r.pour.Enthalpy, r.pour.Enthalpy, r.pour.Enthalpy
	for i := 1; i < r.held; i++ {
		r.slope(i, out, was)
	}
	for i := 1; i < r.held; i++ {
		s := &r.s[i]
		old := max(0, s.old)
		vol, heat := 0.0, 0.0
		r.inflow(i, int32(i-1), &vol, &heat)
		for _, f := range r.mesh.outs[i] {
			r.inflow(i, f, &vol, &heat)
		}
		if vol <= 0 {
			continue
		}
		in := heat / vol
		if left := old - out[i]; left >= 0 {
			s.e = (old*was[i] - out[i]*s.passes + heat) / (left + vol)
		} else {
			s.passes = (old*was[i] - left*in) / out[i]
			s.e = in
		}
	}
}

// plunge finds what a stream that lands on a pool stirs up: a turbulent jet
// entrains about its own flow in its first diameters (Ricou and Spalding 1961),
// which in a channel has to come back, and is spent after jetCore of them.
func (r *Run) plunge() {
	for i := 1; i < r.held; i++ {
		s := &r.s[i]
		if s.full || s.m == 0 || r.blow(s) <= 0 {
			continue
		}
		jet := jetCore * math.Sqrt(4/math.Pi*s.qin/s.win)
		depth := s.m / s.vol * r.mesh.cells[i].length
		for at := int32(i); depth < 3*jet; {
			next, f := r.below(at)
			if f < 0 || !r.s[next].full {
				break
			}
			e := &r.mesh.faces[f]
			q := s.qin * math.Exp(-depth/jet)
			if e.b == at { // in copies of b
				r.l[f].back += jet * q
			} else {
				r.l[f].back += jet * q / e.ratio
			}
			t := &r.s[next]
			t.gap /= 1 + q/t.area/r.pour.Mixing*r.dt
			depth += r.mesh.cells[next].length
			at = next
		}
	}
}

// below is the neighbour that lies lower than cell i, and the face to it, or -1.
func (r *Run) below(i int32) (next, f int32) {
	c := &r.mesh.cells[i]
	if c.za < c.zb {
		if p := r.mesh.parent[i]; p > 0 {
			return p, i - 1
		}
		return 0, -1
	}
	if outs := r.mesh.outs[i]; len(outs) == 1 && !r.mesh.faces[outs[0]].loop && c.zb < c.za {
		return r.mesh.faces[outs[0]].b, outs[0]
	}
	return 0, -1
}

// stir mixes neighbours as turbulence does in a running column: a dispersion of
// mixing length times speed, implicit along the tree, so that it holds for cells
// shorter than the mixing length too; and as streams do that plunge into a pool.
func (r *Run) stir() {
	r.plunge()
	diag, rhs := r.diag, r.rhs
	for i := 1; i < r.held; i++ {
		s := &r.s[i]
		diag[i], rhs[i] = max(s.m, 1e-6*s.vol), max(s.m, 1e-6*s.vol)*s.e
	}
	last := min(r.mesh.tree, r.held-1)
	for f := range last {
		l, e := &r.l[f], &r.mesh.faces[f]
		l.k = 0
		if l.q == 0 && l.back == 0 || e.a == 0 || r.s[e.a].m <= 0 || r.s[e.b].m <= 0 {
			continue
		}
		far := (r.mesh.cells[e.a].length + r.mesh.cells[e.b].length) / 2
		l.k = (r.pour.Mixing*math.Abs(l.q) + l.back) * r.dt / far
		l.back = 0
		diag[e.a] += e.ratio * l.k
		diag[e.b] += l.k
	}
	for f := last - 1; f >= 0; f-- {
		if l, e := &r.l[f], &r.mesh.faces[f]; l.k > 0 {
			w := l.k / diag[e.b]
			diag[e.a] -= e.ratio * l.k * w
			rhs[e.a] += e.ratio * w * rhs[e.b]
		}
	}
	for f := range last {
		l, e := &r.l[f], &r.mesh.faces[f]
		if s := &r.s[e.b]; s.m > 0 {
			s.e = (rhs[e.b] + l.k*r.s[e.a].e) / diag[e.b]
		}
	}
}

// slope gives what leaves a cell the heat at its end rather than at its middle:
// second order in a run of metal, limited so that no new extreme arises.
func (r *Run) slope(i int, out, was []float64) {
	s := &r.s[i]
	outs := r.mesh.outs[i]
	if out[i] <= 0 || out[i] >= s.old || len(outs) == 0 || r.l[i-1].q <= 0 {
		return
	}
	e := &r.mesh.faces[outs[0]]
	if int(e.b) == i || r.s[e.b].old <= 0 {
		return
	}
	behind, before := was[i]-was[r.mesh.parent[i]], was[e.b]-was[i]
	if behind*before <= 0 {
		return
	}
	rise := behind
	if math.Abs(before) < math.Abs(behind) {
		rise = before
	}
	s.passes += rise / 2 * (1 - out[i]/s.old)
}

func (r *Run) inflow(i int, f int32, vol, heat *float64) {
	l, e := &r.l[f], &r.mesh.faces[f]
	into, from, q := int(e.b), e.a, l.q
	if q < 0 {
		into, from, q = int(e.a), e.b, -q*e.ratio
	}
	if into != i || q == 0 {
		return
	}
	*vol += q * r.dt
	*heat += q * r.dt * r.s[from].passes
	if s := &r.s[i]; math.IsNaN(s.since) {
		s.since = r.t - r.dt
		s.tip, s.age = r.s[from].tip, r.s[from].age
		if from == 0 {
			s.tip = r.pour.Enthalpy
		}
	}
}

// flux returns the heat in W/m² that metal at t K over the clay's start gives
// to clay that has taken g J/m², around which heat spreads with the given
// coefficient: contact in series with a half-space whose warmed depth follows
// from g.
func (r *Run) flux(t, g, around float64) float64 {
	h := r.pour.Interface
	c := 8 / math.Pi * r.eff * r.eff * h * t / max(g, 1e-3)
	b := h + around
	return h * t * (1 - 2*h/(b+math.Sqrt(b*b+c)))
}

// around is the coefficient in W/(m² K) by which heat spreads round a channel
// of the given perimeter.
func (r *Run) around(perimeter float64) float64 {
	return math.Pi * r.clay.K * r.pour.Effusivity * r.pour.Effusivity / perimeter
}

// uptake is the heat in J/m² that clay which has taken g already takes until the
// middle of a time step: what contact lets through or, in perfect contact, the
// half-space, whichever is less.
func (r *Run) uptake(t, g, dt float64) float64 {
	through := r.pour.Interface * t * dt / 4
	if half := 4 / math.Pi * sq(r.eff*t) * dt; half < 4*through*(through+g) {
		return (math.Sqrt(g*g+half) - g) / 2
	}
	return through
}

// cool gives heat to the clay for dt s: half a step before the metal moves and
// half after, so that what runs and what cools are split to second order.
func (r *Run) cool(dt float64) {
	for i := 1; i < r.held; i++ {
		s := &r.s[i]
		if s.m <= 1e-9*s.vol {
			continue
		}
		if math.IsNaN(s.since) {
			s.since = r.t - r.dt
		}
		wet := 1.0 // a stream that fills a share of its section touches that share of the wall
		if s.m < s.vol {
			wet = s.m / s.vol
		}
		if wet > s.touched {
			s.taken *= s.touched / wet
			s.touched = wet
		}
		t := max(0, r.metal.Temperature(s.e)-r.clay.StartC)
		g := s.taken
		if s.touched < 1 {
			g *= 0.75
		}
		q := r.flux(t, g+r.uptake(t, g, dt), s.around) * dt
		if wet < s.touched {
			s.taken += q * wet / s.touched
		} else {
			s.taken += q
		}
		s.e -= q * s.perMass
		r.Heat += q * wet * s.wall
		if !s.full {
			r.renew(int32(i), s, dt)
		}
	}
}

// renew cools the tip on clay that it leaves for fresh at speed over mixing
// length, and mixes metal from behind into it at the same rate. In a steady run
// the clay has been touched for mixing length over speed, whatever the cells;
// under a tip that stands it ages.
func (r *Run) renew(i int32, s *state, dt float64) {
	lambda := r.pour.Mixing
	k := max(s.speed, 1e-6) / lambda * dt
	s.age = (s.age + dt) / (1 + k)
	u := 2 * r.eff / (r.contactRatio + math.Sqrt(math.Pi*s.age))
	t := max(0, r.metal.Temperature(s.tip)-r.clay.StartC)
	s.tip = (s.tip - t*u*dt*s.perMass + k*r.behind(i, s, 1.5*lambda)) / (1 + k)
}

// behind is the heat of the metal so far behind the tip of the front in cell i,
// between the middles of the cells there.
func (r *Run) behind(i int32, s *state, back float64) float64 {
	if s.inFace < 0 {
		return s.e
	}
	e := &r.mesh.faces[s.inFace]
	d := e.a
	if d == i {
		d = e.b
	}
	at, heat := s.m/s.vol*r.mesh.cells[i].length/2, s.e
	edge := 2 * at
	for {
		next := edge + r.mesh.cells[d].length/2
		if back <= next || d == 0 || s.inFace != i-1 {
			f := max(0, min(1, (back-at)/(next-at)))
			return heat + f*(r.s[d].e-heat)
		}
		at, heat = next, r.s[d].e
		edge += r.mesh.cells[d].length
		d = r.mesh.parent[d]
	}
}

func sq(x float64) float64 { return x * x }

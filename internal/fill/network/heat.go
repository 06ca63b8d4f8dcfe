package network

import "math"

// settle gives heat to the clay, mixes what has flowed, renews the tips, and
// marks what is full, pressed and met.
func (r *Run) settle() {
	r.advect()
	r.cool()
	r.mark()
}

// advect mixes what flowed in this step into the cells that it came to. Upwind;
// where more flows through a cell than it holds, what leaves has the heat of
// what came.
func (r *Run) advect() {
	was := r.diag // free until the next step
	for i := range r.held {
		was[i] = r.s[i].e
	}
	r.s[0].e = r.pour.Enthalpy
	for i := 1; i < r.held; i++ {
		s := &r.s[i]
		s.old = max(0, s.old)
		vol, heat := s.old, s.old*was[i]
		r.inflow(i, int32(i-1), &vol, &heat, was)
		for _, f := range r.mesh.outs[i] {
			r.inflow(i, f, &vol, &heat, was)
		}
		if vol > s.old {
			s.e = heat / vol
		}
	}
}

func (r *Run) inflow(i int, f int32, vol, heat *float64, was []float64) {
	l, e := &r.l[f], &r.mesh.faces[f]
	into, from, q := int(e.b), e.a, l.q
	if q < 0 {
		into, from, q = int(e.a), e.b, -q*e.ratio
	}
	if into != i || q == 0 {
		return
	}
	v := q * r.dt
	up := was[from]
	if d := &r.s[from]; int(from) < i || from == 0 {
		through := v
		if from == e.a {
			through *= e.ratio
		}
		if through > d.old { // it passes right through the donor
			up = d.e
		}
	}
	*vol += v
	*heat += v * up
	if s := &r.s[i]; math.IsNaN(s.since) {
		s.since = r.t - r.dt
		s.tip = r.s[from].tip
		if from == 0 {
			s.tip = r.pour.Enthalpy
		}
	}
}

// flux returns the heat in W/m² that metal at t K over the clay's start gives
// to clay that has taken g J/m² in a channel of the given perimeter: contact
// in series with a half-space whose warmed depth follows from g.
func (r *Run) flux(t, g, perimeter float64) float64 {
	h := r.pour.Interface
	around := math.Pi * r.clay.K * r.pour.Effusivity * r.pour.Effusivity / perimeter
	c := 2 / math.Pi * r.eff * r.eff / max(g, 1e-3)
	b := h + around
	ts := 2 * h * t / (b + math.Sqrt(b*b+4*c*h*t))
	return h * (t - ts)
}

func (r *Run) cool() {
	rho := r.metal.Rho
	for i := 1; i < r.held; i++ {
		s := &r.s[i]
		if s.m <= 1e-9*s.vol {
			continue
		}
		if math.IsNaN(s.since) {
			s.since = r.t - r.dt
		}
		c := &r.mesh.cells[i]
		per := s.area / s.mod
		share, wet := 1.0, 1.0
		if s.m < s.vol {
			share = s.m / s.vol
			wet = r.wet(s, c, share)
		}
		if now := wet; now > s.touched {
			s.taken *= s.touched / now
			s.touched = now
		}
		t := max(0, r.metal.Temperature(s.e)-r.clay.StartC)
		g := s.taken
		if s.touched < 1 {
			g *= 0.75
		}
		q := r.flux(t, g+r.pour.Interface*t*r.dt/4, per)
		s.taken += q * r.dt * wet / max(s.touched, 1e-12)
		s.e -= q * r.dt / (rho * s.mod) * wet / share
		r.Heat += q * r.dt * wet * per * c.length * c.copies
		if !s.full {
			r.renew(int32(i), s, wet, share)
		}
	}
}

// wet returns the share of a cell's wall that its metal touches: of the length
// that it has passed, the share of the section that it fills, and more of the
// wall than that as far as a stream spreads and sways.
func (r *Run) wet(s *state, c *cell, share float64) float64 {
	long := max(share, s.x/c.length)
	return long * math.Pow(share/long, 1-r.pour.Spread)
}

// renew cools the tip on clay that it has touched for as long as it takes to
// pass its mixing length, and mixes metal from behind into it at the same rate.
func (r *Run) renew(i int32, s *state, wet, share float64) {
	lambda := r.pour.Mixing
	v := max(s.speed, 1e-6)
	age := min(lambda/v, r.t-s.since) + 1e-9
	u := 1 / (1/r.pour.Interface + math.Sqrt(math.Pi*age)/(2*r.eff))
	t := max(0, r.metal.Temperature(s.tip)-r.clay.StartC)
	behind := s.e
	if s.inFace >= 0 {
		// Metal at one and a half mixing lengths behind the tip.
		e := &r.mesh.faces[s.inFace]
		d := e.a
		if d == i {
			d = e.b
		}
		l := r.mesh.cells[i].length
		filled := s.m / s.vol * l
		if back := 1.5 * lambda; back > filled/2 {
			f := min(1, (back-filled/2)/(filled/2+r.mesh.cells[d].length/2))
			behind += f * (r.s[d].e - behind)
		}
	}
	k := v / lambda * r.dt
	tip := s.tip - t*u*r.dt/(r.metal.Rho*s.mod)*wet/share
	s.tip = (tip + k*behind) / (1 + k)
}

// mark notes what has filled, what pressure has reached and where streams met.
func (r *Run) mark() {
	for i := 1; i < r.held; i++ {
		s := &r.s[i]
		c := &r.mesh.cells[i]
		if !s.full && s.m >= s.vol*(1-1e-9) {
			s.full, s.filledAt, s.x = true, r.t, c.length
			if s.inFace >= 0 && r.l[s.inFace].branch == advancing && r.l[s.inFace].coupled {
				r.pressedNow(s)
			}
			s.p = s.capillary + r.gasAt(int32(i)) // what its front stood at
			r.welds(int32(i), s)
			r.pass(int32(i), s)
		}
	}
	r.static()
	for i := 1; i < r.held; i++ {
		if s := &r.s[i]; s.full && !s.pressed && r.rhs[i]-r.middle(int32(i)) >= s.capillary+r.gasAt(int32(i)) {
			r.pressedNow(s)
		}
	}
}

// pass hands the momentum of the column that has just filled cell i to the
// faces before it.
func (r *Run) pass(i int32, s *state) {
	if s.inFace < 0 || !r.l[s.inFace].coupled {
		return
	}
	outs := r.mesh.outs[i]
	if s.inFace != i-1 { // it came by end b and goes on by end a
		if l := &r.l[i-1]; !l.coupled && l.q == 0 {
			l.q = -r.take(i, s) / r.mesh.faces[i-1].ratio
		}
		return
	}
	total := 0.0
	for _, f := range outs {
		if e := &r.mesh.faces[f]; !r.l[f].coupled && e.b != i {
			total += e.ratio * r.s[e.b].area
		}
	}
	for _, f := range outs {
		if e, l := &r.mesh.faces[f], &r.l[f]; !l.coupled && e.b != i && l.q == 0 {
			l.q = r.take(i, s) * r.s[e.b].area / total
		}
	}
}

// take is what comes into cell i, m³/s.
func (r *Run) take(_ int32, s *state) float64 { return max(0, s.qin-s.qout) }

// static finds the pressure at rest of every full cell, over level 0: that of
// the highest free surface it hangs together with. The blow of a stream acts
// along the stream and does not press metal into the edges beside it.
func (r *Run) static() {
	phi := r.rhs // free until the next step
	for i := range r.held {
		phi[i] = math.Inf(-1)
	}
	for _, f := range r.live {
		e := &r.mesh.faces[f]
		a, b := &r.s[e.a], &r.s[e.b]
		if a.full == b.full {
			continue
		}
		y, x := e.a, e.b
		if b.full {
			y, x = e.b, e.a
		}
		_, back := r.surface(x, e)
		if x == 0 {
			back -= r.jet
		} else {
			back -= r.blow(&r.s[x])
		}
		phi[y] = max(phi[y], back)
	}
	for f := min(r.mesh.tree, r.held-1) - 1; f >= 0; f-- {
		e := &r.mesh.faces[f]
		if r.s[e.a].full && r.s[e.b].full {
			phi[e.a] = max(phi[e.a], phi[e.b])
		}
	}
	for _, f := range r.live {
		e := &r.mesh.faces[f]
		if r.s[e.a].full && r.s[e.b].full {
			phi[e.b] = max(phi[e.b], phi[e.a])
		}
	}
}

func (r *Run) pressedNow(s *state) {
	if !s.pressed {
		s.pressed, s.pressedAt, s.done = true, r.t, min(s.tip, s.e)
	}
}

// welds notes where the metal that has just filled cell i met other metal.
func (r *Run) welds(i int32, s *state) {
	if r.mesh.cells[i].mirror {
		r.weldAt = append(r.weldAt, Weld{int(i), r.t, s.tip})
	}
	try := func(f int32) {
		e, l := &r.mesh.faces[f], &r.l[f]
		o := e.a
		if o == i {
			o = e.b
		}
		if t := &r.s[o]; o != 0 && t.full && !l.welded && s.first != f && t.first != f {
			l.welded = true
			r.weldAt = append(r.weldAt, Weld{int(i), r.t, (s.tip + t.tip) / 2})
		}
	}
	try(i - 1)
	for _, f := range r.mesh.outs[i] {
		try(f)
	}
}

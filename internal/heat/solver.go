package heat

import (
	"context"
)

// solver marches metal and clay through time, a step of each in turn. The clay
// goes first, against the metal's skin as it will be half way through the step
// (extrapolated); the heat it drew is then taken evenly over the same step
// from the metal. Silver evens out a hundred times faster than clay, so only
// its few cells pay for that. Both are Runge-Kutta-Legendre steps of second
// order and move heat from node to node, so none is lost.
//
// Single precision holds the changes within a step and the clay; the metal's
// enthalpy is summed in double, as its latent heat is 1e5 times the change of
// a stage.
type solver struct {
	*body
	alloy   *Alloy
	clay    Clay
	contact func(solid float32) float64 // coefficient, W/(m² K)

	h          []float64 // J/kg, of the nodes
	hd, he     []float32 // their change since the start of the step, this stage and the one before
	hl         []float32 // their rate at the start
	theta, phi []float32 // ∫k dT of this stage and the next
	inverse    []float32 // 1/(ρ V d²)
	drawn      []float32 // what the clay draws in this step, J/(kg s)
	skin, star []float32 // °C, at the start of the step and expected half way, of nodes that touch clay
	lastTau    float64

	t          []float32 // °C, of the cells; metal's are not used
	td, te, tl []float32
	oddInverse []float32 // α/(V d²)
	wall       walls

	crew    *crew
	parts   []int   // runs of each worker
	spread  float64 // fastest rate of the metal over the slope of Theta
	stagesM int     // of the last step
	updates int64   // cells × stages, so far
}

func newSolver(b *body, a *Alloy, clay Clay, contact func(float32) float64, startH float64) *solver {
	n, c := len(b.cell), b.Cells()
	s := &solver{body: b, alloy: a, clay: clay, contact: contact, crew: newCrew(),
		h: make([]float64, n), hd: make([]float32, n), he: make([]float32, n), hl: make([]float32, n),
		theta: make([]float32, n), phi: make([]float32, n), inverse: make([]float32, n), drawn: make([]float32, n), skin: make([]float32, n), star: make([]float32, n),
		t: make([]float32, c), td: make([]float32, c), te: make([]float32, c), tl: make([]float32, c),
		oddInverse: make([]float32, len(b.odd)),
		wall:       newWalls(b, clay)}
	d := s.meters()
	for i := range s.h {
		s.h[i] = startH
		s.inverse[i] = float32(1 / (a.Rho * float64(b.volume[i]) * d * d))
		sum := float32(0)
		for _, w := range b.link[i] {
			sum += w
		}
		s.spread = max(s.spread, float64(2*sum*s.inverse[i]))
	}
	for i := range s.t {
		s.t[i] = float32(clay.Start)
	}
	for i, o := range b.odd {
		s.oddInverse[i] = float32(clay.Diffusivity() / (d * d) / float64(o.volume))
	}
	s.parts = s.divideRuns()
	return s
}

func (s *solver) meters() float64 { return s.D * 1e-3 }

// divideRuns gives each worker about the same number of cells.
func (s *solver) divideRuns() []int {
	total, sum := 0, 0
	for _, r := range s.runs {
		total += int(r.count)
	}
	parts := []int{0}
	for i, r := range s.runs {
		sum += int(r.count)
		for len(parts) < s.crew.size && sum >= total*len(parts)/s.crew.size {
			parts = append(parts, i+1)
		}
	}
	for len(parts) <= s.crew.size {
		parts = append(parts, len(s.runs))
	}
	return parts
}

// metalStep conducts heat within the metal for tau seconds.
func (s *solver) metalStep(ctx context.Context, tau float64) {
	count := stagesFor(tau, s.metalRate())
	s.stagesM = count
	list := stages(count, tau)
	s.crew.share(len(s.h), func(from, to int) {
		for i := from; i < to; i++ {
			s.theta[i] = s.alloy.look(s.alloy.Theta, s.h[i])
			s.he[i] = 0
		}
	})
	for j := 1; j <= count && ctx.Err() == nil; j++ {
		c, first, last := list[j], j == 1, j == count
		s.crew.share(len(s.h), func(from, to int) { s.metalStage(c, first, last, from, to) })
		s.theta, s.phi = s.phi, s.theta
		s.hd, s.he = s.he, s.hd
	}
	s.updates += int64(count * len(s.h))
}

// metalStage does one stage for the nodes from … to. It leaves the new change
// where that of two stages ago was; the last adds it to the enthalpy.
func (s *solver) metalStage(c stage, first, last bool, from, to int) {
	from0, perStep, table := s.alloy.From, s.alloy.perStep, (*[entries]float32)(s.alloy.Theta)
	theta, phi := s.theta, s.phi[from:to]
	next, link := s.next[from:to], s.link[from:to]
	hd, he, hl, h, inverse, drawn := s.hd[from:to], s.he[from:to], s.hl[from:to], s.h[from:to], s.inverse[from:to], s.drawn[from:to]
	for i := range h {
		n, w := &next[i], &link[i]
		here := theta[from+i]
		l := drawn[i] + inverse[i]*(w[0]*(theta[n[0]]-here)+w[1]*(theta[n[1]]-here)+
			w[2]*(theta[n[2]]-here)+w[3]*(theta[n[3]]-here)+
			w[4]*(theta[n[4]]-here)+w[5]*(theta[n[5]]-here))
		if first {
			hl[i] = l
			hd[i] = 0
		}
		change := c.mu*hd[i] + c.nu*he[i] + c.muTau*l + c.gammaTau*hl[i]
		he[i] = change
		if last {
			h[i] += float64(change)
			continue
		}
		x := (h[i] + float64(change) - from0) * perStep
		k := min(max(int(x), 0), entries-2)
		phi[i] = table[k] + float32(x-float64(k))*(table[k+1]-table[k])
	}
}

// clayRate returns a bound on the fastest rate of the clay and the contact
// (Gershgorin's discs).
func (s *solver) clayRate() float64 {
	d := s.meters()
	fastest := 12 * s.clay.Diffusivity() / (d * d)
	for i := range s.odd {
		o := &s.odd[i]
		rate := float32(0)
		for _, w := range o.link {
			rate += w * s.oddInverse[i]
		}
		if o.group != none {
			rate += sum(&s.byClay, int(o.group), s.wall.out) * s.clayHeat(o)
		}
		fastest = max(fastest, 2*float64(rate))
	}
	for e, c := range s.wall.inverse {
		fastest = max(fastest, 2*float64(c*(s.wall.in[e]+s.wall.out[e])))
	}
	return fastest
}

// sum adds what the contacts of the k-th member hold.
func sum(g *group, k int, of []float32) (total float32) {
	for _, e := range g.items[g.start[k]:g.start[k+1]] {
		total += of[e]
	}
	return total
}

// clayHeat and nodeHeat return the rise per joule, K and J/kg.
func (s *solver) clayHeat(o *oddCell) float32 {
	d := s.meters()
	return float32(1 / (s.clay.Rho * s.clay.C * d * d * d * float64(o.volume)))
}

func (s *solver) nodeHeat(n int32) float32 { return s.inverse[n] / float32(s.meters()) }

// clayStep conducts heat in the clay and through the contact for tau seconds.
func (s *solver) clayStep(ctx context.Context, tau, rate float64) {
	count := stagesFor(tau, rate)
	list := stages(count, tau)
	s.foresee(tau)
	for j := 1; j <= count && ctx.Err() == nil; j++ {
		c, first := list[j], j == 1
		s.crew.share(len(s.contacts), func(from, to int) { s.wallStage(c, first, from, to) })
		s.crew.each(func(w int) {
			s.plainStage(c, first, s.runs[s.parts[w]:s.parts[w+1]])
			part := func(n int) (int, int) { return n * w / s.crew.size, n * (w + 1) / s.crew.size }
			from, to := part(len(s.odd))
			s.oddStage(c, first, from, to)
			from, to = part(len(s.byMetal.member))
			s.skinStage(c, first, from, to)
		})
		s.td, s.te = s.te, s.td
		s.hd, s.he = s.he, s.hd
		s.wall.d, s.wall.e = s.wall.e, s.wall.d
	}
	add(s.wall.t, s.wall.d)
	s.crew.each(func(w int) {
		for _, r := range s.runs[s.parts[w]:s.parts[w+1]] {
			add(s.t[r.from:r.from+r.count], s.td[r.from:])
		}
		for _, o := range s.odd[len(s.odd)*w/s.crew.size : len(s.odd)*(w+1)/s.crew.size] {
			s.t[o.cell] += s.td[o.cell]
		}
		member := s.byMetal.member
		for _, m := range member[len(member)*w/s.crew.size : len(member)*(w+1)/s.crew.size] {
			s.drawn[m] = s.hd[m] / float32(tau)
		}
	})
	s.updates += int64(count * s.clayCount())
}

func add(to, change []float32) {
	change = change[:len(to)]
	for i := range to {
		to[i] += change[i]
	}
}

// foresee extrapolates the temperature of the skin to the middle of the step.
func (s *solver) foresee(tau float64) {
	ahead := float32(0)
	if s.lastTau > 0 {
		ahead = float32(tau / 2 / s.lastTau)
	}
	s.lastTau = tau
	s.crew.share(len(s.byMetal.member), func(from, to int) {
		for _, m := range s.byMetal.member[from:to] {
			now := s.alloy.look(s.alloy.T, s.h[m])
			s.star[m] = now
			if ahead > 0 {
				s.star[m] += ahead * (now - s.skin[m])
			}
			s.skin[m] = now
		}
	})
}

// plainStage does one stage of the seven-point scheme for whole clay cells.
func (s *solver) plainStage(c stage, first bool, runs []run) {
	d := s.meters()
	r := float32(s.clay.Diffusivity() / (d * d))
	y, z := int32(s.N[0]), int32(s.N[0]*s.N[1])
	if first {
		for _, q := range runs {
			rate(s.t, s.td, s.te, s.tl, q, y, z, r, c.muTau)
		}
		return
	}
	for _, q := range runs {
		advance(s.td, s.te, s.tl, q, y, z, c.mu-6*c.muTau*r, c.muTau*r, c.nu, c.muTau+c.gammaTau)
	}
}

// rate takes the first stage of a row: the rate tl of t, and the change te.
func rate(t, td, te, tl []float32, q run, y, z int32, r, tau float32) {
	n := int(q.count)
	here, lower, upper := t[q.from:][:n], t[q.from-1:][:n], t[q.from+1:][:n]
	south, north, down, up := t[q.from-y:][:n], t[q.from+y:][:n], t[q.from-z:][:n], t[q.from+z:][:n]
	td, te, tl = td[q.from:][:n], te[q.from:][:n], tl[q.from:][:n]
	for i, v := range here {
		l := r * ((lower[i] + upper[i]) + (south[i] + north[i]) + (down[i] + up[i]) - 6*v)
		l = (l + dust) - dust
		tl[i], te[i], td[i] = l, tau*l, 0
	}
}

// dust swallows changes below 1e-25 K: ahead of the heat they would shrink to
// denormal numbers, which processors handle a hundred times slower.
const dust = 1e-18

// advance takes a further stage of a row: te becomes a·td + b·Σ neighbours + c·te + e·tl.
// Four arrays are read and one of them written: 16 bytes a cell.
func advance(td, te, tl []float32, q run, y, z int32, a, b, c, e float32) {
	n := int(q.count)
	here, lower, upper := td[q.from:][:n], td[q.from-1:][:n], td[q.from+1:][:n]
	south, north, down, up := td[q.from-y:][:n], td[q.from+y:][:n], td[q.from-z:][:n], td[q.from+z:][:n]
	te, tl = te[q.from:][:n], tl[q.from:][:n]
	for i, v := range here {
		x := a*v + b*((lower[i]+upper[i])+(south[i]+north[i])+(down[i]+up[i])) + c*te[i] + e*tl[i]
		te[i] = (x + dust) - dust
	}
}

// oddStage does one stage for clay cells with conductances of their own.
func (s *solver) oddStage(c stage, first bool, from, to int) {
	u := s.td
	if first {
		u = s.t
	}
	perFlux := float32(1 / (s.clay.K * s.meters()))
	for i := from; i < to; i++ {
		o := &s.odd[i]
		cell := int(o.cell)
		here, n, w := u[cell], &o.next, &o.link
		l := w[0]*(u[n[0]]-here) + w[1]*(u[n[1]]-here) + w[2]*(u[n[2]]-here) +
			w[3]*(u[n[3]]-here) + w[4]*(u[n[4]]-here) + w[5]*(u[n[5]]-here)
		l *= s.oddInverse[i]
		if o.group != none {
			l += sum(&s.byClay, int(o.group), s.wall.given) * s.oddInverse[i] * perFlux
		}
		l = (l + dust) - dust
		if first {
			s.tl[cell], s.te[cell], s.td[cell] = l, c.muTau*l, 0
			continue
		}
		s.te[cell] = c.mu*here + c.nu*s.te[cell] + c.muTau*l + (c.muTau+c.gammaTau)*s.tl[cell]
	}
}

// skinStage does one stage for the metal nodes that touch clay.
func (s *solver) skinStage(c stage, first bool, from, to int) {
	for k := from; k < to; k++ {
		m := s.byMetal.member[k]
		l := -sum(&s.byMetal, k, s.wall.taken) * s.nodeHeat(m)
		if first {
			s.hl[m], s.he[m], s.hd[m] = l, c.muTau*l, 0
			continue
		}
		s.he[m] = c.mu*s.hd[m] + c.nu*s.he[m] + c.muTau*l + (c.muTau+c.gammaTau)*s.hl[m]
	}
}

func (s *solver) clayCount() int {
	n := len(s.odd)
	for _, r := range s.runs {
		n += int(r.count)
	}
	return n
}

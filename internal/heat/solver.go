package heat

import "context"

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
	level      []float32 // of h in the alloy's tables, at the start of the step
	hd, he     []float32 // their change since the start of the step, this stage and the one before
	hl         []float32 // their rate at the start
	theta, phi []float32 // ∫k dT of this stage and the next; of node i at i+1, so that every node has one before and after
	inverse    []float32 // 1/(ρ V d²)
	drawn      []float32 // what the clay draws in this step, J/(kg s)
	skin, star []float32 // °C, at the start of the step and expected half way, of nodes that touch clay
	lastTau    float64

	t          []float32 // °C, of the clay
	td, te, tl []float32
	oddInverse []float32 // α/(V d²)
	walls      []wall

	crew    *crew
	spansOf [][]span // of each worker
	rowsOf  [][]row
	spread  float64 // fastest rate of the metal over the slope of Theta
	rate    float64 // a bound on the fastest rate of clay and walls, 1/s
	stagesM int     // of the last step
}

func newSolver(cores int, b *body, a *Alloy, clay Clay, contact func(float32) float64, startH float64) *solver {
	n, c := len(b.cell), len(b.place)
	s := &solver{body: b, alloy: a, clay: clay, contact: contact, crew: newCrew(cores),
		h: make([]float64, n), level: make([]float32, n), hd: make([]float32, n), he: make([]float32, n), hl: make([]float32, n),
		theta: make([]float32, n+2), phi: make([]float32, n+2), inverse: make([]float32, n), drawn: make([]float32, n), skin: make([]float32, n), star: make([]float32, n),
		t: make([]float32, c+overread), td: make([]float32, c+overread), te: make([]float32, c+overread), tl: make([]float32, c+overread),
		oddInverse: make([]float32, len(b.odd)),
		walls:      newWalls(b, clay)}
	d := s.meters()
	for i := range s.h {
		s.h[i] = startH
		s.inverse[i] = float32(1 / (a.Rho * float64(b.volume[i]) * d * d))
	}
	s.spread = s.metalSpread()
	for i := range s.t {
		s.t[i] = float32(clay.Start)
	}
	for i, o := range b.odd {
		s.oddInverse[i] = float32(clay.Diffusivity() / (d * d) / float64(o.volume))
	}
	s.spansOf = divide(s.spans, s.crew.size, func(q *span) int { return int(q.count) })
	s.rowsOf = divide(s.rows, s.crew.size, func(q *row) int { return int(q.count) })
	s.rate = s.clayRate()
	return s
}

func (s *solver) meters() float64 { return s.D * 1e-3 }

// divide gives each of n workers about the same work, in order.
func divide[T any](list []T, n int, cells func(*T) int) (parts [][]T) {
	const begin = 8 // cells' worth of work to begin one
	total, sum, from := 0, 0, 0
	for i := range list {
		total += cells(&list[i]) + begin
	}
	for i := range list {
		sum += cells(&list[i]) + begin
		for len(parts) < n-1 && sum*n >= total*(len(parts)+1) {
			parts = append(parts, list[from:i+1])
			from = i + 1
		}
	}
	for len(parts) < n {
		parts = append(parts, list[from:])
		from = len(list)
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
			s.theta[i+1] = s.alloy.look(s.alloy.Theta, s.h[i])
			s.level[i] = float32((s.h[i] - s.alloy.From) * s.alloy.perStep)
			s.he[i] = 0
		}
	})
	for j := 1; j <= count && ctx.Err() == nil; j++ {
		c, first := &list[j], j == 1
		s.crew.each(len(s.h), func(w int) {
			s.spanStage(c, first, s.spansOf[w])
			s.edgeStage(c, first, s.edges[len(s.edges)*w/s.crew.size:len(s.edges)*(w+1)/s.crew.size])
		})
		s.theta, s.phi = s.phi, s.theta
		s.hd, s.he = s.he, s.hd
	}
	s.crew.share(len(s.h), func(from, to int) {
		for i := from; i < to; i++ {
			s.h[i] += float64(s.hd[i])
		}
	})
}

// spanStage does one stage for nodes that are whole. It leaves the new change
// where that of two stages ago was.
func (s *solver) spanStage(c *stage, first bool, spans []span) {
	perStep, table := float32(s.alloy.perStep), s.alloy.lines
	perLink := float32(1 / (s.alloy.Rho * s.meters() * s.meters()))
	for k := range spans {
		q := &spans[k]
		from, n := q.from, int(q.count)
		lower, here, upper := s.theta[from:][:n], s.theta[from+1:][:n], s.theta[from+2:][:n]
		south, north, down, up := s.theta[q.beside[0]+1:][:n], s.theta[q.beside[1]+1:][:n], s.theta[q.beside[2]+1:][:n], s.theta[q.beside[3]+1:][:n]
		hd, he, hl, level, phi := s.hd[from:][:n], s.he[from:][:n], s.hl[from:][:n], s.level[from:][:n], s.phi[from+1:][:n]
		for i, v := range here {
			l := perLink * ((lower[i] + upper[i]) + (south[i] + north[i]) + (down[i] + up[i]) - 6*v)
			if first {
				hl[i], hd[i] = l, 0
			}
			change := c.mu*hd[i] + c.nu*he[i] + c.muTau*l + c.gammaTau*hl[i]
			he[i] = change
			phi[i] = table.at(level[i] + change*perStep)
		}
	}
}

// edgeStage does the same for the other nodes, which may give heat to the clay.
func (s *solver) edgeStage(c *stage, first bool, edges []int32) {
	perStep, table, u := float32(s.alloy.perStep), s.alloy.lines, s.theta[1:]
	for _, i := range edges {
		n, w, v := &s.next[i], &s.link[i], u[i]
		l := s.drawn[i] + s.inverse[i]*(w[0]*(u[n[0]]-v)+w[1]*(u[n[1]]-v)+w[2]*(u[n[2]]-v)+w[3]*(u[n[3]]-v)+w[4]*(u[n[4]]-v)+w[5]*(u[n[5]]-v))
		if first {
			s.hl[i], s.hd[i] = l, 0
		}
		change := c.mu*s.hd[i] + c.nu*s.he[i] + c.muTau*l + c.gammaTau*s.hl[i]
		s.he[i] = change
		s.phi[i+1] = table.at(s.level[i] + change*perStep)
	}
}

// clayHeat and nodeHeat return the rise per joule, K and J/kg.
func (s *solver) clayHeat(o *oddCell) float64 {
	d := s.meters()
	return 1 / (s.clay.Rho * s.clay.C * d * d * d * float64(o.volume))
}

func (s *solver) nodeHeat(n int32) float32 { return s.inverse[n] / float32(s.meters()) }

// clayStep conducts heat in the clay and through the contact for tau seconds.
func (s *solver) clayStep(ctx context.Context, tau float64) {
	count := stagesFor(tau, s.rate)
	list := stages(count, tau)
	s.foresee(tau)
	touched := s.touchCount()
	for j := 1; j <= count && ctx.Err() == nil; j++ {
		c, first := &list[j], j == 1
		s.crew.each(len(s.t), func(w int) {
			s.rowStage(c, first, s.rowsOf[w])
			s.oddStage(c, first, touched*w/s.crew.size, touched*(w+1)/s.crew.size)
			rest := len(s.odd) - touched
			s.oddStage(c, first, touched+rest*w/s.crew.size, touched+rest*(w+1)/s.crew.size)
		})
		s.td, s.te = s.te, s.td
	}
	s.crew.share(len(s.t), func(from, to int) { add(s.t[from:to], s.td[from:to]) })
	s.crew.share(len(s.walls), func(from, to int) {
		for e := from; e < to; e++ {
			s.walls[e].t += s.walls[e].change.now
		}
	})
	s.crew.share(len(s.byMetal.member), func(from, to int) {
		for k := from; k < to; k++ {
			taken := float32(0)
			for _, e := range s.byMetal.items[s.byMetal.start[k]:s.byMetal.start[k+1]] {
				taken += s.walls[e].taken.now
			}
			m := s.byMetal.member[k]
			s.drawn[m] = -taken * s.nodeHeat(m) / float32(tau)
		}
	})
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

// oddStage does one stage for clay cells with conductances of their own, and
// for the walls of those that have any.
func (s *solver) oddStage(c *stage, first bool, from, to int) {
	u := s.td
	if first {
		u = s.t
	}
	perFlux, touched := float32(1/(s.clay.K*s.meters())), s.touchCount()
	for i := from; i < to; i++ {
		o := &s.odd[i]
		here, n, w := u[o.cell], &o.next, &o.link
		l := w[0]*(u[n[0]]-here) + w[1]*(u[n[1]]-here) + w[2]*(u[n[2]]-here) +
			w[3]*(u[n[3]]-here) + w[4]*(u[n[4]]-here) + w[5]*(u[n[5]]-here)
		if i < touched {
			given := float32(0)
			for e := s.touching[i]; e < s.touching[i+1]; e++ {
				if first {
					given += s.walls[e].begin(c, s.star[s.contacts[e].node], here)
				} else {
					given += s.walls[e].take(c, here)
				}
			}
			l += given * perFlux
		}
		l = (l*s.oddInverse[i] + dust) - dust
		if first {
			s.tl[o.cell], s.te[o.cell], s.td[o.cell] = l, c.muTau*l, 0
			continue
		}
		s.te[o.cell] = c.mu*here + c.nu*s.te[o.cell] + c.muTau*l + (c.muTau+c.gammaTau)*s.tl[o.cell]
	}
}

// clayCount returns how many cells of clay there are.
func (b *body) clayCount() int {
	n := len(b.odd)
	for i := range b.rows {
		n += int(b.rows[i].count)
	}
	return n
}

package network

import (
	"math"

	"pourwright/internal/fluid"
)

// streams carries metal down the part-full cells, from the highest to the
// lowest: a stream's speed follows from its energy (fall, less wall friction,
// losses, surface tension and gas), its section from its speed. What a cell
// cannot pass on gathers in it.
func (r *Run) streams() {
	for i := range r.held {
		s := &r.s[i]
		s.qin, s.qout, s.win, s.speed, s.inFace = 0, 0, 0, 0, -1
	}
	for _, f := range r.live {
		l, e := &r.l[f], &r.mesh.faces[f]
		l.w0, l.w = l.w, 0
		if !l.coupled {
			l.q = 0
			continue
		}
		a, b := &r.s[e.a], &r.s[e.b]
		l.w = l.q / b.area
		switch {
		case l.q > 0:
			r.feed(f, e.b, l.q, l.q/b.area)
			a.qout += l.q * e.ratio
		case l.q < 0:
			r.feed(f, e.a, -l.q*e.ratio, -l.q*e.ratio/a.area)
			b.qout -= l.q
		}
	}
	r.spout()
	for _, i := range r.mesh.downhill {
		if int(i) >= r.held {
			continue
		}
		if s := &r.s[i]; !s.full && (s.m > 0 || s.qin > 0) {
			r.pour1(i, s)
		}
	}
	for i := range r.held {
		s := &r.s[i]
		s.stream = s.qin - s.qout - s.run
	}
}

// feed lets q m³/s into cell i at speed w.
func (r *Run) feed(f, i int32, q, w float64) {
	s := &r.s[i]
	if s.inFace < 0 || q > s.qin {
		s.inFace = f
	}
	s.win = (s.win*s.qin + w*q) / (s.qin + q)
	s.qin += q
	if s.first < 0 {
		s.first = f
	}
}

// spout lets metal out of the funnel into sprues that are not full.
func (r *Run) spout() {
	f := &r.s[0]
	outs := r.mesh.outs[0]
	for n, o := range outs {
		e, l := &r.mesh.faces[o], &r.l[o]
		b := &r.s[e.b]
		if l.coupled {
			continue
		}
		h := f.m / r.mesh.funnel.Area
		w2 := 2 / r.metal.Rho * (fluid.Pressure(r.metal.Rho, h) + r.jet) / (1 + e.loss)
		if w2 <= 0 {
			continue
		}
		w := math.Sqrt(w2)
		have := (f.m/r.dt + r.supply() - f.qout) / float64(len(outs)-n)
		if l.q = min(w*b.area, have); l.q <= trickle {
			l.q = 0
			continue
		}
		f.qout += l.q
		// The little that runs before the funnel holds any comes with the speed of its fall.
		lip := math.Sqrt(2 * fluid.Gravity * r.pour.Fall * jetShare)
		r.feed(o, e.b, l.q, max(w, lip*math.Exp(-h/0.01)))
	}
}

// pour1 passes on what a part-full cell can: downhill, or on by the end to
// which its metal is under way.
func (r *Run) pour1(i int32, s *state) {
	c := &r.mesh.cells[i]
	from := r.side(i, s.inFace)
	to := 1 // the end at which it leaves: 0 is a, 1 is b
	drop := c.za - c.zb
	switch {
	case r.l[i-1].w0 < 0:
		to = 0
	case r.underWay(i):
	case drop < -1e-9:
		to = 0
	case drop <= 1e-9:
		to = 1 - from
	}
	if to == 0 {
		drop = -drop
	}
	w2 := s.win * s.win
	if to == from {
		w2 = 0
	}
	w2 += 2 * fluid.Gravity * drop
	// Friction over the cell with the section that the stream fills.
	if w2 > 0 {
		rough := fluid.TurbulentFriction(max(100, r.metal.Rho*math.Sqrt(w2)*4*s.mod/r.metal.Mu))
		w2 /= 1 + rough*c.length/(4*s.mod)
	}
	s.wout = math.Sqrt(max(0, w2))
	s.speed = max(s.qin/s.area, (s.win+s.wout)/2)
	if to == from {
		s.speed = s.qin / s.area
	}
	if s.x < c.length*(1-1e-9) {
		return
	}
	if to == 0 {
		r.leave(i, s, i-1, w2)
		return
	}
	r.leaveDown(i, s, w2)
}

// underWay says whether metal leaves cell i by its end b.
func (r *Run) underWay(i int32) bool {
	for _, f := range r.mesh.outs[i] {
		if w := r.l[f].w0; w > 0 && r.mesh.faces[f].b != i || w < 0 && r.mesh.faces[f].b == i {
			return true
		}
	}
	return false
}

// gather is the speed after this step of metal that passed a face at w0 m/s,
// on its way over the length l to the speed whose square is w2: momentum
// implicit in time, dw/dt = (w2 − w²)/2l. A square under nothing holds it back.
func (r *Run) gather(w0, w2, l float64) float64 {
	k := l / r.dt
	x := k*k + w2 + 2*k*w0
	if x <= k*k {
		return 0
	}
	return math.Sqrt(x) - k
}

// side says by which end a face enters a cell.
func (r *Run) side(i, f int32) int {
	if f < 0 || f == i-1 && !r.mesh.faces[f].loop {
		return 0
	}
	return 1
}

// leave passes metal of cell i on by its end a.
func (r *Run) leave(i int32, s *state, f int32, w2 float64) {
	e, l := &r.mesh.faces[f], &r.l[f]
	if l.coupled {
		return
	}
	k := e.a
	if k == 0 {
		return
	}
	t := &r.s[k]
	rise := 2 / r.metal.Rho * (t.capillary - s.capillary + r.gasAt(k) - r.gasAt(i))
	w2 = (w2 - rise) * kept(e.loss)
	w := r.gather(r.was(t, -l.w0, w2), w2, r.slow(i, s))
	if w <= 0 {
		return
	}
	l.w = -w
	beta := w * r.dt / r.mesh.cells[i].length
	q := min((s.m/r.dt+s.qin-s.qout)*beta/(1+beta), w*t.area)
	if q <= trickle {
		return
	}
	s.qout += q
	l.q = -q / e.ratio
	r.feed(f, k, q, w)
}

// slow is the length over which the metal of a cell holds its speed against
// what runs into it: that of the cell, or less where less metal lies there than
// a stream of this flow and speed would need.
func (r *Run) slow(i int32, s *state) float64 {
	l := r.mesh.cells[i].length
	if run := s.qin * l; run > 0 {
		return l * min(1, s.m*(s.win+s.wout)/2/run)
	}
	return l
}

// was is the speed at which metal came to a face: what passes into an empty
// cell comes as it ran.
func (r *Run) was(t *state, w0, w2 float64) float64 {
	if t.m == 0 {
		return math.Sqrt(max(0, w2))
	}
	return max(0, w0)
}

// kept is the share of its velocity head that a stream carries past a loss of
// the given velocity heads: a stream that strikes a wall keeps little.
func kept(loss float64) float64 { return max(keptLeast, 1-loss) }

// trickle is a flow that is none, m³/s.
const trickle = 1e-15

// keptLeast: a stream that strikes a wall keeps a tenth of its speed along the
// channel, whatever its blow; our choice.
const keptLeast = 0.01

// leaveDown shares what leaves by end b among the channels that begin there.
func (r *Run) leaveDown(i int32, s *state, w2 float64) {
	outs := r.mesh.outs[i]
	total := 0.0
	var w [8]float64
	for n, f := range outs {
		e, l := &r.mesh.faces[f], &r.l[f]
		if n >= len(w) || l.coupled {
			continue
		}
		k, ratio := e.b, e.ratio
		if k == i {
			k, ratio = e.a, 1
		}
		t := &r.s[k]
		rise := 2 / r.metal.Rho * (t.capillary - s.capillary + r.gasAt(k) - r.gasAt(i))
		v2 := (w2 - rise) * kept(e.loss)
		if e.loop && t.qin > 0 && t.win*t.win > v2 { // a stronger stream comes the other way
			continue
		}
		w0 := l.w0
		if k != e.b {
			w0 = -w0
		}
		if w[n] = r.gather(r.was(t, w0, v2), v2, r.slow(i, s)); w[n] > 0 {
			total += ratio * t.area * w[n]
		}
	}
	if total == 0 {
		return
	}
	have := s.m/r.dt + s.qin - s.qout
	for n, f := range outs {
		if n >= len(w) || w[n] == 0 {
			continue
		}
		e, l := &r.mesh.faces[f], &r.l[f]
		k, ratio := e.b, e.ratio
		if k == i {
			k, ratio = e.a, 1
		}
		t := &r.s[k]
		part := ratio * t.area * w[n] / total
		beta := w[n] * r.dt / r.mesh.cells[i].length
		q := min(part*have*beta/(1+beta), ratio*t.area*w[n])
		if q <= trickle {
			continue
		}
		s.qout += q
		l.q, l.w = q/ratio, w[n]
		if k != e.b {
			l.q, l.w = -l.q, -l.w
		}
		r.feed(f, k, q/ratio, w[n])
	}
}

// extend counts the cells that metal may come to in the next step: those that
// hold some and their neighbours.
func (r *Run) extend() {
	was := r.held
	for i := 1; i < r.held; i++ {
		if r.s[i].m > 0 {
			r.held = max(r.held, int(r.mesh.beyond[i]))
		}
	}
	if r.held == was && len(r.live) > 0 {
		return
	}
	r.live = r.live[:0]
	for f := range r.mesh.faces {
		if e := &r.mesh.faces[f]; int(e.a) < r.held && int(e.b) < r.held {
			r.live = append(r.live, int32(f))
		}
	}
}

// move carries volume over every face and pushes back what found no room.
func (r *Run) move() {
	for i := range r.held {
		r.s[i].old = r.s[i].m
	}
	for _, f := range r.live {
		l, e := &r.l[f], &r.mesh.faces[f]
		if l.q != 0 {
			r.s[e.a].m -= e.ratio * l.q * r.dt
			r.s[e.b].m += l.q * r.dt
		}
	}
	r.extend()
	f := &r.s[0]
	give := r.supply() * r.dt
	give = max(0, min(give, f.vol-f.m)) // the hand keeps the funnel full, no more
	f.m += give
	r.Poured += give
	if f.m < 0 {
		f.m = 0
	}
	r.giveBack()
	still := f.m >= f.vol
	for i := 1; i < r.held; i++ {
		s := &r.s[i]
		if s.m <= 0 && s.old <= 0 {
			continue
		}
		still = still && math.Abs(s.m-s.old) < stillShare*s.vol
		if s.m < 0 {
			s.m = 0
		}
		if l := r.mesh.cells[i].length; s.x < l {
			s.x = min(l, s.x+s.speed*r.dt)
			if s.x < l*s.m/s.vol {
				s.x = l * s.m / s.vol
			}
		}
	}
	if !still {
		r.moved = r.t
	}
}

// giveBack returns what a cell holds over its volume to the cell that it came
// from, the lowest cells first.
func (r *Run) giveBack() {
	for k := len(r.mesh.downhill) - 1; k >= 0; k-- {
		i := r.mesh.downhill[k]
		s := &r.s[i]
		over := s.m - s.vol
		if s.full || over <= 0 || s.inFace < 0 {
			continue
		}
		e := &r.mesh.faces[s.inFace]
		donor, ratio := e.a, e.ratio
		if donor == i {
			donor, ratio = e.b, 1/e.ratio
		}
		if d := &r.s[donor]; donor == 0 || !d.full {
			d.m += over * ratio
			s.m = s.vol
			if donor == e.a {
				r.l[s.inFace].q -= over / r.dt
			} else {
				r.l[s.inFace].q += over / e.ratio / r.dt
			}
		}
	}
}

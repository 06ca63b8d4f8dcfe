package network

import "math"

// openUnder is the share of its volume under which a cell that was full counts
// as open again.
const openUnder = 0.98

// mark notes what has filled, what pressure has reached and where streams met.
func (r *Run) mark() {
	for i := 1; i < r.held; i++ {
		s := &r.s[i]
		c := &r.mesh.cells[i]
		if !s.full && s.m < s.vol*openUnder {
			s.open = true
		}
		if !s.full && s.m >= s.vol*(1-1e-9) {
			s.full, s.fresh, s.p = true, true, s.capillary+r.gasAt(int32(i)) // what its front stood at
		}
		if s.fresh {
			s.fresh = false
			r.pass(int32(i), s)
		}
		if s.full && s.open {
			s.open, s.filledAt, s.x, s.gap = false, r.t, c.length, s.tip-s.e
			if s.inFace >= 0 && r.l[s.inFace].branch == advancing && r.l[s.inFace].coupled {
				r.pressedNow(s)
			}
			r.welds(int32(i), s)
		}
	}
	r.static()
	for i := 1; i < r.held; i++ {
		s := &r.s[i]
		if s.pressed {
			continue
		}
		was := s.lacks
		s.lacks = math.Inf(1)
		if !s.full {
			continue
		}
		s.lacks = s.capillary + r.gasAt(int32(i)) - r.rhs[i] + r.middle(int32(i))
		if s.lacks > 0 {
			continue
		}
		r.pressedNow(s)
		if !math.IsInf(was, 1) { // pressure came within the step
			rest := -s.lacks / (was - s.lacks)
			s.pressedAt -= rest * r.dt
			s.done += rest * (s.began - s.e)
		}
	}
}

// pass hands the momentum of the column that has just filled cell i to the
// faces before it: half the cell moves with the column, and what lies in the
// next as it did before.
func (r *Run) pass(i int32, s *state) {
	if s.inFace < 0 || !r.l[s.inFace].coupled {
		return
	}
	hand := func(f int32, sign, q float64) {
		if l := &r.l[f]; sign*l.q < q {
			l.q = sign * q
			l.q0 = l.q
		}
	}
	if s.inFace != i-1 { // it came by end b and goes on by end a
		if e := &r.mesh.faces[i-1]; !r.s[e.a].full {
			hand(i-1, -1, r.take(s)/e.ratio)
		}
		return
	}
	total := 0.0
	for _, f := range r.mesh.outs[i] {
		if e := &r.mesh.faces[f]; e.b != i && !r.s[e.b].full {
			total += e.ratio * r.s[e.b].area
		}
	}
	for _, f := range r.mesh.outs[i] {
		if e := &r.mesh.faces[f]; e.b != i && !r.s[e.b].full {
			hand(f, 1, r.take(s)*r.s[e.b].area/total)
		}
	}
}

// take is what comes into a cell and finds no room in it in this step, m³/s.
func (r *Run) take(s *state) float64 { return max(0, s.qin-s.qout-max(0, s.vol-s.m)/r.dt) }

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
		s.pressed, s.pressedAt, s.done = true, r.t, s.e+s.gap
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

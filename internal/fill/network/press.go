package network

import (
	"math"

	"pourwright/internal/fluid"
)

// press finds the pressures of the full cells and the flows between them:
// momentum implicit in time, no full cell gains or loses volume, none is under
// tension. Capillarity holds a front until pressure beats it.
//
// Which cells are under pressure is part of the answer: one lets go whose
// pressure would fall under that of the gas about it, one comes under pressure
// that would else be overfull. Both are settled within the step, from the flows
// before it, so that no momentum is lost or won by it.
func (r *Run) press() {
	for _, f := range r.live {
		r.l[f].q0 = r.l[f].began
	}
	for i := range r.held {
		s := &r.s[i]
		if s.let || s.fresh { // by a step that was too long
			s.full = s.let
		}
		s.let, s.fresh = false, false
	}
	r.coefficients()
	for range rounds {
		r.assemble()
		r.solve()
		r.sum()
		if !r.amend() {
			return
		}
	}
	r.assemble()
	r.solve()
	r.sum()
}

// rounds in which cells and fronts may change their mind within a step.
const rounds = 12

// sum adds up the flows under pressure of every cell.
func (r *Run) sum() {
	for i := range r.held {
		r.s[i].run = 0
	}
	for _, f := range r.coupled {
		l, e := &r.l[f], &r.mesh.faces[f]
		r.s[e.b].run += l.q
		r.s[e.a].run -= l.q * e.ratio
	}
}

// coefficients prepares inertia and losses of every face beside a full cell.
func (r *Run) coefficients() {
	rho := r.metal.Rho
	r.coupled = r.coupled[:0]
	for _, f := range r.live {
		l, e := &r.l[f], &r.mesh.faces[f]
		a, b := &r.s[e.a], &r.s[e.b]
		l.coupled = a.full || b.full
		if l.branch == fixed {
			l.branch = retreating
		}
		if !l.coupled {
			continue
		}
		r.coupled = append(r.coupled, f)
		q := math.Abs(l.q0)
		inert, fric := 0.0, 0.0
		if e.a != 0 {
			inert, fric = a.column(rho, r.mesh.cells[e.a].length, q, e.ratio)
		}
		more, lost := b.column(rho, r.mesh.cells[e.b].length, q, 1)
		inert += more
		fric += lost
		head := 1.0
		if e.a != 0 {
			grow := e.ratio * b.area / a.area
			head = 1 - grow*grow
		}
		if l.q0 < 0 {
			head = -head
		}
		kin := rho / 2 * (e.loss + head) / (b.area * b.area)
		if kin < 0 {
			kin = max(kin, -0.4*inert/(r.dt*max(q, 1e-12)))
		}
		l.den = inert/r.dt + 2*kin*q + fric
		l.num = inert/r.dt*l.q0 + kin*q*l.q0
	}
}

// column is the inertia of the part of a cell that moves with a face beside it,
// and the loss at its wall at q m³/s in each of ratio copies, each over that flow.
func (s *state) column(rho, length, q, ratio float64) (inert, fric float64) {
	share := 0.5
	if !s.full {
		share = max(0.05, s.m/s.vol)
	}
	root := math.Sqrt(q * ratio / s.area)
	return rho * share * length / s.area * ratio, share * max(s.lam, s.turb*root*math.Sqrt(root)) * ratio
}

// far returns the height of the end of cell i away from face e.
func (r *Run) far(i int32, e *face) float64 {
	c := &r.mesh.cells[i]
	if i == e.b && !e.loop {
		return c.zb
	}
	return c.za
}

// surface returns what a full neighbour must reach at the face to press metal
// into the part-full cell i, and below what the cell's own metal presses back,
// as pressures over level 0.
func (r *Run) surface(i int32, e *face) (push, back float64) {
	s := &r.s[i]
	rho := r.metal.Rho
	if i == 0 {
		back = rho*fluid.Gravity*(r.mesh.top+s.m/r.mesh.funnel.Area) + r.jet
		return back, back
	}
	z := r.mesh.cells[e.a].zb
	z += s.m / s.vol * max(0, r.far(i, e)-z)
	g := rho * fluid.Gravity * z
	gas := r.gasAt(i)
	back = g + gas
	back += r.blow(s)
	if s.m > openUnder*s.vol { // it lets go and closes again: no wall is wetted anew
		return back, back
	}
	return max(back, g+gas+s.capillary), back
}

// blow is the pressure that a stream of its own section brings to the pool on
// which it lands: what momentum leaves where a jet widens to its channel
// (Borda and Carnot), ρ Q w/A (1 − a/A).
func (r *Run) blow(s *state) float64 {
	if s.qin <= 0 || s.win <= 0 {
		return 0
	}
	return r.metal.Rho * s.qin * s.win / s.area * max(0, 1-s.qin/s.win/s.area)
}

func (r *Run) gasAt(i int32) float64 {
	if r.mesh.cells[i].piece == NoPiece {
		return 0
	}
	return r.gas
}

func (r *Run) middle(i int32) float64 {
	c := &r.mesh.cells[i]
	return r.metal.Rho * fluid.Gravity * (c.za + c.zb) / 2
}

// leak keeps the pressure of a pool defined whose surface is pinned.
const leak = 1e-7

// settling is the time in which a cell that is overfull by rounding gives the
// surplus on, s.
const settling = 0.02

func (r *Run) assemble() {
	for i := range r.held {
		r.diag[i], r.rhs[i] = 0, 0
		if s := &r.s[i]; s.full {
			r.rhs[i] = (s.m - s.vol) / r.dt
			if s.m > s.vol {
				r.rhs[i] = (s.m - s.vol) / max(r.dt, settling)
			}
		}
	}
	for _, f := range r.coupled {
		l, e := &r.l[f], &r.mesh.faces[f]
		a, b := &r.s[e.a], &r.s[e.b]
		if a.full && b.full {
			l.k = 1 / l.den
			l.qhat = (l.num + r.middle(e.a) - r.middle(e.b)) * l.k
			r.rhs[e.a] -= e.ratio * l.qhat
			r.rhs[e.b] += l.qhat
			if !e.loop { // see solve
				r.diag[e.a] += e.ratio * l.k
				r.diag[e.b] += l.k
			}
			continue
		}
		y, x, sign, ratio := e.a, e.b, 1.0, e.ratio
		if b.full {
			y, x, sign, ratio = e.b, e.a, -1.0, 1
		}
		push, back := r.surface(x, e)
		d := r.s[y].p + r.middle(y)
		num := sign * l.num
		switch {
		case l.branch == fixed:
			l.k, l.qhat = 0, l.q
		case num+d-push > 0:
			l.branch, l.k = advancing, 1/l.den
			l.qhat = sign * (num + r.middle(y) - push) * l.k
		case (num+d-back < 0 || push == back) && (x == 0 || r.s[x].m > 0):
			l.branch, l.k = retreating, 1/l.den
			l.qhat = sign * (num + r.middle(y) - back) * l.k
		default:
			l.branch, l.k = pinned, leak/l.den
			l.qhat = sign * (r.middle(y) - back) * l.k
		}
		r.diag[y] += ratio * l.k
		r.rhs[y] -= sign * ratio * l.qhat
	}
}

// solve finds the pressures. Without its loops the network is a tree, which is
// eliminated from the ends to the funnel; each loop that is closed by full cells
// adds a term of rank one (Sherman, Morrison and Woodbury), so that columns
// which meet stop each other within the step.
func (r *Run) solve() {
	faces := r.mesh.faces
	r.eliminate()
	r.substitute(r.rhs)
	for i := 1; i < r.held; i++ {
		if s := &r.s[i]; !s.full || r.diag[i] > 0 {
			s.p = r.rhs[i]
		}
	}
	r.closed = r.closed[:0]
	for f := r.mesh.tree; f < len(faces); f++ {
		if e := &faces[f]; r.l[f].coupled && r.s[e.a].full && r.s[e.b].full {
			r.closed = append(r.closed, int32(f))
		}
	}
	for n := range r.closed {
		r.closeLoop(n)
	}
	for _, f := range r.coupled {
		l, e := &r.l[f], &faces[f]
		a, b := &r.s[e.a], &r.s[e.b]
		if l.branch == fixed && !(a.full && b.full) {
			continue
		}
		switch {
		case a.full && b.full:
			l.q = l.qhat + l.k*(a.p-b.p)
		case a.full:
			l.q = l.qhat + l.k*a.p
		default:
			l.q = l.qhat - l.k*b.p
		}
	}
}

// eliminate factors the matrix of the tree.
func (r *Run) eliminate() {
	for f := min(r.mesh.tree, r.held-1) - 1; f >= 0; f-- {
		l, e := &r.l[f], &r.mesh.faces[f]
		l.elim = 0
		if r.s[e.b].full && r.s[e.a].full && r.diag[e.b] > 0 {
			l.elim = l.k / r.diag[e.b]
			r.diag[e.a] -= e.ratio * l.k * l.elim
		}
	}
}

// substitute solves the tree for a right side, which it overwrites.
func (r *Run) substitute(rhs []float64) {
	for f := min(r.mesh.tree, r.held-1) - 1; f >= 0; f-- {
		if l, e := &r.l[f], &r.mesh.faces[f]; l.elim > 0 {
			rhs[e.a] += e.ratio * l.elim * rhs[e.b]
		}
	}
	for i := 1; i < r.held; i++ {
		if s := &r.s[i]; !s.full || r.diag[i] <= 0 {
			rhs[i] = 0
			continue
		}
		if a := r.mesh.parent[i]; r.s[a].full {
			rhs[i] += r.l[i-1].k * rhs[a]
		}
		rhs[i] /= r.diag[i]
	}
}

// closeLoop adds loop n of those that are closed to a solution that has the
// loops before it. Its flow takes ratio × k × (p_a − p_b) from a and gives
// k × (p_a − p_b) to b.
func (r *Run) closeLoop(n int) {
	for len(r.turn) <= n {
		r.turn = append(r.turn, nil)
	}
	if cap(r.turn[n]) < len(r.s) {
		r.turn[n] = make([]float64, len(r.s))
	}
	z := r.turn[n][:len(r.s)]
	r.turn[n] = z
	clear(z)
	e, k := &r.mesh.faces[r.closed[n]], r.l[r.closed[n]].k
	z[e.a], z[e.b] = e.ratio, -1
	r.substitute(z)
	for m, f := range r.closed[:n] { // the loops before are in the matrix already
		o, own := &r.mesh.faces[f], r.turn[m]
		ko := r.l[f].k
		share := ko * (z[o.a] - z[o.b]) / (1 + ko*(own[o.a]-own[o.b]))
		for i := range z {
			z[i] -= share * own[i]
		}
	}
	share := k * (r.s[e.a].p - r.s[e.b].p) / (1 + k*(z[e.a]-z[e.b]))
	for i := 1; i < r.held; i++ {
		if r.s[i].full {
			r.s[i].p -= share * z[i]
		}
	}
}

// amend lets go the full cells under tension, puts those under pressure that
// would be overfull, limits what a pool can give and sees whether a front has
// changed its mind. It says whether to solve again.
func (r *Run) amend() (again bool) {
	for i := 1; i < r.held; i++ {
		s := &r.s[i]
		switch {
		case s.full && s.p < r.gasAt(int32(i))-tension:
			s.full, s.let, s.fresh, again = false, true, false, true
			r.uncouple(int32(i))
		case !s.full && !s.let && s.m > s.vol*(1-almost) && s.m+(s.run+s.stream)*r.dt > s.vol*(1+1e-9):
			s.full, s.fresh, again = true, true, true
			s.p = s.capillary + r.gasAt(int32(i))
			r.pass(int32(i), s)
		}
	}
	if again {
		r.coefficients()
		return true
	}
	for _, f := range r.coupled {
		l, e := &r.l[f], &r.mesh.faces[f]
		if r.s[e.a].full && r.s[e.b].full {
			continue
		}
		y, x, sign, ratio := e.a, e.b, 1.0, 1.0
		if r.s[e.b].full {
			y, x, sign, ratio = e.b, e.a, -1.0, e.ratio
		}
		if l.branch == fixed {
			continue
		}
		if give := r.give(x) / ratio; -sign*l.q > give*(1+1e-9) {
			l.branch, l.q, again = fixed, -sign*give, true
			continue
		}
		push, back := r.surface(x, e)
		d := sign*l.num + r.s[y].p + r.middle(y)
		now := pinned
		if d > push {
			now = advancing
		} else if (d < back || push == back) && (x == 0 || r.s[x].m > 0) {
			now = retreating
		}
		if now == l.branch {
			continue
		}
		if push == back && now != pinned && l.branch != pinned { // both ways the same equation
			l.branch = now
			continue
		}
		again = true
	}
	return again
}

func (r *Run) uncouple(i int32) {
	r.l[i-1].branch = pinned
	for _, f := range r.mesh.outs[i] {
		r.l[f].branch = pinned
	}
}

// give is what a part-full cell can lose in this step, m³/s: what lies in it,
// but for what falls through it.
func (r *Run) give(i int32) float64 {
	s := &r.s[i]
	if i == 0 {
		return s.m/r.dt + r.supply()
	}
	falling := 0.0
	if s.win > 0 {
		falling = s.qin * r.mesh.cells[i].length * 2 / (s.win + s.wout)
	}
	return max(0, s.m-falling)/r.dt + s.qin
}

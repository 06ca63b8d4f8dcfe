package front

import "math"

const newtonSteps = 3

// flow shares what gate g is given among the ducts that start there, and
// reports whether any of them still takes metal. Momentum is implicit in
// time: column inertia, velocity head, turn, wall loss, capillary and gas
// pressure against the head of the stem.
func (r *Run) flow(g int) bool {
	open, falls := false, 0.0
	hold := 0.0 // pressure at the gate that a falling stream leaves
	for i := range r.ducts {
		d := &r.ducts[i]
		for s := range d.sides {
			e := &d.sides[s]
			if e.gate != g {
				continue
			}
			if !r.takes(d, s) {
				e.q = 0
				continue
			}
			open = true
			if e.falling {
				falls += d.area[d.cell(s, 0)]
				hold = max(hold, e.hold+d.gas(r, e.q))
			}
		}
	}
	before := r.stem.flow[g]
	if !open {
		r.stem.flow[g] = 0
		return false
	}
	if falls > 0 {
		r.stem.flow[g] = r.draw(g, before, hold)
		taken := r.share(g, hold)
		left := max(0, r.stem.flow[g]-taken)
		for i := range r.ducts {
			d := &r.ducts[i]
			for s := range d.sides {
				if e := &d.sides[s]; e.gate == g && e.falling && r.takes(d, s) {
					e.q = left * d.area[d.cell(s, 0)] / falls
				}
			}
		}
	} else {
		r.stem.flow[g] = r.balance(g, before)
	}
	r.stem.drawn += r.stem.flow[g]
	return true
}

// takes says whether side s of d still takes metal.
func (r *Run) takes(d *duct, s int) bool {
	e := &d.sides[s]
	return !e.closed && d.filledAt == 0 && !(d.met && e.l >= e.x)
}

// supply is the stem's side of the balance at gate g, linear about the flow
// s: flow = at + by·(p0 − p).
func (r *Run) supply(before, s float64) (at, by, drive float64) {
	height, area := r.stem.level(r)
	full := r.mould.Stem.Length + r.mould.Stem.Head
	rho := r.metal.Rho
	loss, slope := r.stem.resist(r, s)
	loss += r.stem.inertia / r.dt * (s - before)
	slope += r.stem.inertia / r.dt
	next := height + r.dt*(r.pour.Rate/float64(r.mould.Gates)-s)/area*float64(r.mould.Gates)
	if next < full {
		slope += rho * gravity * r.dt / area * float64(r.mould.Gates)
	} else {
		next = full
	}
	return s, 1 / slope, rho*gravity*next - loss
}

// cap on what can leave the stem in this step.
func (r *Run) stock() float64 {
	return (r.stem.volume/r.dt + r.pour.Rate) / float64(r.mould.Gates)
}

// draw returns the flow through gate g when the pressure below it is p.
func (r *Run) draw(_ int, before, p float64) float64 {
	s := before
	for range newtonSteps {
		at, by, drive := r.supply(before, s)
		s = max(0, at+by*(drive-p))
	}
	return min(s, r.stock())
}

// share gives the full-running sides of gate g their flow at the pressure p
// and returns the sum.
func (r *Run) share(g int, p float64) (taken float64) {
	for i := range r.ducts {
		d := &r.ducts[i]
		for s := range d.sides {
			e := &d.sides[s]
			if e.gate != g || e.falling || !r.takes(d, s) {
				continue
			}
			before, q := e.q, e.q
			for range newtonSteps {
				need, slope := r.need(d, s, before, q)
				q = max(0, q+(p-need)/slope)
			}
			e.q = q
			taken += q
		}
	}
	return taken
}

// need returns the pressure at the gate that drives the flow q into side s
// of d, and its derivative.
func (r *Run) need(d *duct, s int, before, q float64) (p, slope float64) {
	e := &d.sides[s]
	p, slope = d.resist(r, s, e.x, q)
	column := max(d.between(d.inertia, s, e.x), d.inertia[d.n]/float64(8*d.n)) / r.dt
	tip := d.cell(s, min(int(e.x), d.n-1))
	gas := d.gasResistance(r)
	p += column*(q-before) + d.cap[tip] + gas*q +
		r.metal.Rho*gravity*(d.height(s, e.x)-d.height(s, 0))
	if other := &d.sides[1-s]; !other.falling && other.gate != NoGate {
		p += gas * other.q
	}
	return p, slope + column + gas
}

// balance finds the pressure at gate g at which its ducts take what its
// sprue gives.
func (r *Run) balance(g int, before float64) float64 {
	type runner struct {
		d         *duct
		s         int
		before, q float64
	}
	var list [8]runner
	n := 0
	for i := range r.ducts {
		d := &r.ducts[i]
		for s := range d.sides {
			if e := &d.sides[s]; e.gate == g && r.takes(d, s) && n < len(list) {
				list[n] = runner{d, s, e.q, e.q}
				n++
			}
		}
	}
	flow, limited := before, false
	for pass := 0; pass < newtonSteps; pass++ {
		at, by, drive := r.supply(before, flow)
		if limited {
			at, by, drive = r.stock(), 0, 0
		}
		var need, slope [8]float64
		given, conduct := at+by*drive, by
		for k := range n {
			need[k], slope[k] = r.need(list[k].d, list[k].s, list[k].before, list[k].q)
			given -= list[k].q - need[k]/slope[k]
			conduct += 1 / slope[k]
		}
		p := given / conduct
		flow = 0
		for k := range n {
			list[k].q = max(0, list[k].q+(p-need[k])/slope[k])
			flow += list[k].q
		}
		if !limited && pass == newtonSteps-1 && flow > r.stock()*(1+1e-9) {
			limited, pass = true, -1
		}
	}
	for k := range n {
		list[k].d.sides[list[k].s].q = list[k].q
	}
	return flow
}

// gas returns the back-pressure of the air that a flow q drives out.
func (d *duct) gas(r *Run, q float64) float64 { return d.gasResistance(r) * q }

// airViscosity at about 500 °C, Pa s: Sutherland's law, 1.716e-5 Pa s at
// 273 K, S = 111 K (F. M. White, Viscous Fluid Flow, from memory).
const airViscosity = 3.6e-5

// gasResistance returns the back-pressure per flow: the pocket's wall, by
// Darcy's law through the clay, beside the vents, laminar in their bore. From
// a small pocket the gas spreads, so the way is no longer than the pocket is
// wide.
func (d *duct) gasResistance(r *Run) float64 {
	a, b := d.sides[0].x, float64(d.n)-d.sides[1].x
	if d.met || b <= a {
		return 0
	}
	wall := max(0, sum(d.surface, a, b)) // rounding can take the last of it below zero
	width := math.Sqrt(wall)
	way := r.clay.Path * width / (r.clay.Path + width)
	conduct := r.clay.Perm * wall / (airViscosity * way)
	if v := d.d; v.VentArea > 0 {
		conduct += v.VentArea * v.VentBore * v.VentBore / (32 * airViscosity * v.VentLong)
	}
	return 1 / max(conduct, 1e-18)
}

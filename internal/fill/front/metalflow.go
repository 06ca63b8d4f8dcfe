package front

import "math"

// add puts metal of enthalpy h behind what is there; amount in cells.
func (e *side) add(amount, h float64) {
	for amount > 0 {
		room := float64(len(e.h)) - e.l
		if room <= 1e-9 {
			e.h = append(e.h, h)
			room = 1
		}
		a, had := min(room, amount), 1-room
		last := &e.h[len(e.h)-1]
		*last = (*last*had + h*a) / (had + a)
		e.l += a
		amount -= a
	}
}

// run advances the fronts that fill their section.
func (d *duct) run(r *Run) {
	var go_ [2]float64
	for s := range d.sides {
		if e := &d.sides[s]; !e.falling && !e.closed && !d.met {
			go_[s] = e.q * r.dt / d.volume
		}
	}
	gap := float64(d.n) - d.sides[0].x - d.sides[1].x
	if both := go_[0] + go_[1]; both > gap && both > 0 {
		go_[0], go_[1] = go_[0]*gap/both, go_[1]*gap/both
	}
	for s := range d.sides {
		if e := &d.sides[s]; go_[s] > 0 {
			h := r.stem.heat[e.gate]
			e.x += go_[s]
			e.add(go_[s], h)
			e.x = max(e.x, e.l)
			e.l = e.x
			r.enter(go_[s]*d.volume, h)
			d.mix(r, e)
		}
	}
}

func (r *Run) enter(volume, h float64) {
	r.Entered += r.metal.Rho * volume
	r.Brought += r.metal.Rho * volume * h
}

// mix spreads heat along a running column: turbulence by 10.1 R u* (G. I.
// Taylor, Proc. R. Soc. A 223 (1954) 446), laminar flow by α + R²v²/(48 α)
// (ibid. 219 (1953) 186; both from memory). Implicit, so it conserves heat at any step.
func (d *duct) mix(r *Run, e *side) {
	n := len(e.h)
	if n < 2 || r.mould.Stem.Smooth {
		return
	}
	area := d.area[d.cell(0, d.n/2)]
	radius := 2 * area / d.around[d.n/2]
	v := e.q / area
	re := 2 * radius * v * r.metal.Rho / r.metal.Mu
	spread := r.metal.Alpha + radius*radius*v*v/(48*r.metal.Alpha)
	if re > 2300 {
		spread = 10.1 * radius * v * math.Sqrt(blasius/8/math.Sqrt(math.Sqrt(re)))
	}
	dx := d.d.Length / float64(d.n)
	k := spread * r.dt / (dx * dx)
	// Thomas' algorithm; the pivots are kept in mixing.
	if cap(r.mixing) < n {
		r.mixing = make([]float64, 2*n)
	}
	c := r.mixing[:n]
	c[0] = k / (1 + k)
	e.h[0] /= 1 + k
	for i := 1; i < n; i++ {
		mass, right := 1.0, k
		if i == n-1 {
			mass, right = e.l-float64(n-1), 0
		}
		pivot := 1 / (mass + k + right - k*c[i-1])
		c[i] = right * pivot
		e.h[i] = (mass*e.h[i] + k*e.h[i-1]) * pivot
	}
	for i := n - 2; i >= 0; i-- {
		e.h[i] += c[i] * e.h[i+1]
	}
}

// cool takes from every parcel what its clay can hold in this step, and
// closes the fronts that freeze.
func (d *duct) cool(r *Run) {
	for s := range d.sides {
		e := &d.sides[s]
		for k := range e.h {
			place := e.x - float64(k) - 0.5
			if place < 0 || place >= float64(d.n) {
				continue
			}
			i := d.cell(s, int(place))
			d.touch(r, i, e.h[k])
			d.cover(r, i)
			r.Heat += d.chill(r, i, &e.h[k], min(1, e.l-float64(k)))
			if e.fall > 0 && !d.pressed[i] && !r.choked(e.h[k]) {
				d.pressed[i] = d.push(r, s, i, k) >= d.cap[i]
			}
		}
		r.check(d, e)
	}
}

// push returns the pressure in Pa in cell i, where parcel k of side s lies.
func (d *duct) push(r *Run, s, i, k int) float64 {
	e := &d.sides[s]
	top := d.height(s, e.x-e.l)
	p := 0.0
	if e.l >= e.x { // joined to the stem
		top, _ = r.stem.level(r)
	} else if float64(len(e.h)-k) <= e.depth+1 {
		p = e.jet
	}
	return p + r.metal.Rho*gravity*(top-(d.edge[i]+d.edge[i+1])/2)
}

// touch notes the first metal in cell i.
func (d *duct) touch(r *Run, i int, h float64) {
	if math.IsNaN(d.started[i]) {
		d.started[i] = r.t
		d.Arrived[i], d.ArrivedAt[i] = d.started[i], h
	}
}

// cover wets the rest of a wall that a stream has wetted in part: the clay is
// then as warm as its share.
func (d *duct) cover(r *Run, i int) {
	if w := d.wetted[i]; w < 1 {
		d.started[i] = r.t - w*(r.t-d.started[i])
		d.gained[i] = d.wall[i].gain(r.t - d.started[i])
		d.wetted[i] = 1
	}
}

// chill cools the parcel h, part of a cell, by the clay of cell i and returns
// the heat in J.
func (d *duct) chill(r *Run, i int, h *float64, part float64) float64 {
	now := d.wall[i].gain(r.t + r.dt - d.started[i])
	took := now - d.gained[i]
	d.gained[i] = now
	wall := d.around[i] * d.length[i]
	lost := max(0, r.metal.Temperature(*h)-r.clay.StartC) * took * wall / (r.metal.Rho * d.volume)
	lost = min(lost, max(0, *h-r.metal.low))
	*h -= lost
	return lost * r.metal.Rho * d.volume * part
}

// check closes a side whose front has frozen or can never start.
func (r *Run) check(d *duct, e *side) {
	if e.closed || d.met && !e.falling {
		return
	}
	height, _ := r.stem.level(r)
	full := height >= (r.mould.Stem.Length+r.mould.Stem.Head)*(1-1e-9)
	switch {
	case r.choked(r.stem.heat[e.gate]):
		e.closed, e.why = true, Froze
	case len(e.h) == 0 && !e.landed && e.q == 0 && full && r.stem.since > 0.05:
		e.closed, e.why = true, Tension
	case !e.falling && len(e.h) > 0 && r.choked(e.h[0]):
		e.closed, e.why = true, Froze
		if e.q*r.dt < 0.02*d.volume { // it stood before it froze
			e.why = Tension
			s := 0
			if e == &d.sides[1] {
				s = 1
			}
			if d.gas(r, e.q) > d.cap[d.cell(s, min(int(e.x), d.n-1))] {
				e.why = Gas
			}
		}
	}
}

// settled says that what a side brings to a meeting is no longer stirred by
// the stream behind it: then the meeting is as warm as it will be.
func settled(e *side) bool {
	return e.x == 0 || len(e.h) > 0 && (!e.falling || e.l >= e.depth)
}

const gapClosed = 0.02 // of a cell: what fronts closer than this leave open the next step would close

// meet notes where fronts meet and when the duct is full.
func (d *duct) meet(r *Run) {
	a, b := &d.sides[0], &d.sides[1]
	present := func(e *side) bool { return !e.falling || e.landed }
	if !d.met && present(a) && present(b) && float64(d.n)-a.x-b.x <= gapClosed && a.l+b.l > 0 {
		d.met = true
	}
	if !d.met {
		return
	}
	if !d.knit.Met && d.d.To != NoGate && settled(a) && settled(b) {
		tip := func(e *side) float64 {
			if len(e.h) > 0 {
				return e.h[0]
			}
			return r.stem.heat[e.gate]
		}
		d.knit = Meeting{true, 1, r.t + r.dt, (tip(a) + tip(b)) / 2}
		place, length := min(a.x, float64(d.n)), 0.0
		for i := 0; i < int(place); i++ {
			length += d.length[i]
		}
		if i := int(place); i < d.n {
			length += (place - float64(i)) * d.length[i]
		}
		d.knit.At = length / d.d.Length
	}
	if d.filledAt == 0 && a.l >= a.x && b.l >= b.x {
		d.filledAt = r.t + r.dt
	}
}

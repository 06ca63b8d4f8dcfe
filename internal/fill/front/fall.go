package front

import "math"

// descend carries metal down the falling sides, lets what has gathered below
// press on, and levels what has met.
func (d *duct) descend(r *Run) {
	for s := range d.sides {
		if e := &d.sides[s]; e.falling && !e.closed && e.l <= e.x {
			d.pourDown(r, s)
		}
	}
	for s := range d.sides {
		d.press(r, s)
	}
	d.level(r)
	for s := range d.sides {
		if e := &d.sides[s]; e.falling && e.landed && e.l >= e.x*(1-1e-9) {
			e.l, e.falling, e.q = e.x, false, 0
		}
	}
}

// pourDown passes this step's metal from cell to cell of the stream. Its
// section follows from its speed: gravity less the drag of the wetted wall.
// A cell gives on what it cannot hold, so the stream's tip moves with its
// metal and nothing is lost on the way.
func (d *duct) pourDown(r *Run, s int) {
	e := &d.sides[s]
	in, h := e.q*r.dt, r.stem.heat[e.gate]
	r.enter(in, h)
	end := e.low
	if other := &d.sides[1-s]; other.landed || !other.falling {
		end = min(end, d.n-int(math.Ceil(other.x-1e-9)))
	}
	if e.landed {
		end = int(max(0, e.x-e.l))
	}
	rho := r.metal.Rho
	mouth := d.area[d.cell(s, 0)]
	before := d.cap[d.cell(s, 0)]
	v2 := e.q*e.q/(mouth*mouth) + 2/rho*(e.hold-before)
	flow := e.q
	drag := r.drag(flow, e.wet)
	j, chilled := 0, 0
	for ; j < end && in > 0; j++ {
		i := d.cell(s, j)
		// Energy: fall, less what surface tension asks more than before.
		v2 += 2*gravity*max(0, d.drop(s, i)) - 2/rho*(d.cap[i]-before)
		before = d.cap[i]
		if v2 < 0 && !e.landed && math.IsNaN(d.started[i]) {
			end = j // surface tension holds the stream here
			break
		}
		area := d.area[i]
		a, v := area, math.Sqrt(max(0, v2))
		if v*area > flow {
			a = flow / v
		} else {
			v2 = flow * flow / (area * area)
		}
		wet := wettedWall(a, area, d.thick[i], d.around[i])
		v2 /= 1 + drag*wet*d.length[i]/a
		d.touch(r, i, h)
		if share := wet / d.around[i]; share > d.wetted[i] || d.wetted[i] == 1 {
			d.wetted[i] = share
		}
		had := e.content[j]
		mixed := (had*e.heat[j] + in*h) / (had + in)
		now := d.wall[i].gain(r.t + r.dt - d.started[i])
		covered := min(d.length[i], (had+in)/a) // the tip has not passed all of its cell
		lost := max(0, r.metal.Temperature(mixed)-r.clay.StartC) * (now - d.gained[i]) * wet * covered
		d.gained[i] = now
		lost = min(lost, max(0, mixed-r.metal.low)*rho*(had+in))
		r.Heat += lost
		h = mixed - lost/(rho*(had+in))
		keep := min(a*d.length[i], had+in)
		e.content[j], e.heat[j], in = keep, h, had+in-keep
		if chilled++; !r.choked(h) {
			chilled = 0
		}
		e.wide, e.wet = a, wet
	}
	// A first trickle may freeze and be overrun; a length of stream may not.
	if long := chilled * frozenPart; e.landed && 2*long >= d.n && e.l >= float64(d.n)/48 || long >= d.n {
		e.closed, e.why = true, Stream
	}
	if !e.landed {
		if j < end || in <= 0 {
			return
		}
		e.landed, e.x = true, float64(end)
	}
	e.jet = rho / 2 * v2
	d.gather(r, e, in, h)
	d.stir(r, s)
}

// frozenPart: a choked length of an eighth of the duct stops a stream on its
// way, of a sixteenth one that has come down.
const frozenPart = 8

// core is how many diameters deep a plunging stream stirs what it falls into:
// the length of the potential core of a turbulent jet (from memory).
const core = 6

// stir mixes the metal that the stream falls into.
func (d *duct) stir(r *Run, s int) {
	e := &d.sides[s]
	rear := d.cell(s, min(int(e.x-e.l), d.n-1))
	deep := core * 2 * math.Sqrt(e.wide/math.Pi) / d.length[rear]
	var mass, heat float64
	last := len(e.h) - 1
	k := last
	for ; k >= 0 && mass < deep && !r.choked(e.h[k]); k-- {
		m := min(1, e.l-float64(k))
		mass += m
		heat += m * e.h[k]
	}
	for i := k + 1; i <= last; i++ {
		e.h[i] = heat / mass
	}
	e.depth = deep
}

// drag returns a quarter of the friction factor of a stream that wets the
// given length of its section's wall. Along one stream it varies by the fourth
// root of that length, so one value holds for all of it.
func (r *Run) drag(flow, wet float64) float64 {
	if r.mould.Stem.Smooth || wet == 0 {
		return 0
	}
	re := 4 * r.metal.Rho * flow / (r.metal.Mu * wet)
	if re < bothRe {
		return 16 / re
	}
	return blasius / 4 / math.Sqrt(math.Sqrt(re))
}

// bothRe is the Reynolds number at which laminar and turbulent friction are
// equal, 64/Re = 0.316/Re^¼; above it the turbulent one is the greater.
const bothRe = 1189

// drop returns how far cell i falls, seen from side s.
func (d *duct) drop(s, i int) float64 {
	if s == 0 {
		return d.edge[i] - d.edge[i+1]
	}
	return d.edge[i+1] - d.edge[i]
}

// gather adds to the metal that fills its section below the stream, with the
// stream's own metal where it is overrun.
func (d *duct) gather(r *Run, e *side, in, h float64) {
	e.put(r, d, in, h)
	for j := int(max(0, math.Ceil(e.x-1e-9))) - 1; j >= 0 && float64(j) >= e.x-e.l-1e-9; j-- {
		if e.content[j] > 0 {
			more, heat := e.content[j], e.heat[j]
			e.content[j] = 0
			e.put(r, d, more, heat)
		}
	}
}

// put adds a volume of metal behind the front; what finds no room stays at the gate.
func (e *side) put(r *Run, d *duct, volume, h float64) {
	cells := min(volume/d.volume, e.x-e.l)
	if rest := volume - cells*d.volume; rest > 0 {
		r.enter(-rest, h)
	}
	e.add(cells, h)
}

// press moves metal that has gathered on a side forward, if the head behind
// it beats surface tension and gas; quasi-static, at most a cell a step.
func (d *duct) press(r *Run, s int) {
	e, other := &d.sides[s], &d.sides[1-s]
	if !e.falling || !e.landed || d.met || e.l < 0.05 || r.choked(e.h[0]) {
		return
	}
	room := float64(d.n) - e.x - other.x
	if room <= 0 {
		return
	}
	rho := r.metal.Rho
	rear := e.x - e.l
	tip := d.cell(s, min(int(e.x), d.n-1))
	drive := rho*gravity*(d.height(s, rear)-d.height(s, e.x)) - d.cap[tip] - d.gas(r, e.q)
	if e.l < 1 {
		drive += e.jet
	}
	if drive <= 0 {
		return
	}
	move := min(1, room, math.Sqrt(2*drive/rho)*r.dt/d.length[tip])
	// Do not overshoot the level at which head and resistance balance.
	if rise := d.height(s, e.x+1) - d.height(s, e.x) + d.height(s, rear) - d.height(s, rear+1); rise > 0 && d.height(s, e.x+1) > d.height(s, e.x) {
		move = min(move, drive/(rho*gravity*rise))
	}
	e.x += move
}

// level lets two bodies of metal that have met below stand equally high.
func (d *duct) level(r *Run) {
	a, b := &d.sides[0], &d.sides[1]
	if !d.met || !a.falling || !b.falling || len(a.h) == 0 || len(b.h) == 0 ||
		r.choked(a.h[0]) || r.choked(b.h[0]) {
		return
	}
	ra, rb := a.x-a.l, b.x-b.l
	over := d.height(0, ra) - d.height(1, rb)
	perCell := math.Abs(d.height(0, ra)-d.height(0, ra+1)) + math.Abs(d.height(1, rb)-d.height(1, rb+1))
	if perCell == 0 {
		return
	}
	move := max(-1, min(1, over/perCell))
	if move > 0 { // from a to b: b's metal rises
		move = min(move, rb)
	} else {
		move = max(move, -ra)
	}
	a.x += move
	b.x -= move
}

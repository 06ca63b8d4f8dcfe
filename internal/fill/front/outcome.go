package front

import "math"

// finish lays out what is left to say of a duct when nothing moves any more.
func (d *duct) finish() {
	for s := range d.sides {
		e := &d.sides[s]
		if e.gate != NoGate && e.why == "" {
			e.why = Starved
			if d.filledAt > 0 {
				e.why = Filled
			}
		}
	}
}

// Result is what became of one duct.
type Result struct {
	Filled   float64 // share of the volume
	At       float64 // s from the start of the pour, when it was full; 0 if never
	Falling  [2]bool // the metal came as a stream that did not fill the section
	Why      [2]Stop
	Reach    [2]float64 // how far each front came, fraction of the length
	Meeting  Meeting
	Unfilled float64 // middle of what stayed empty, fraction of the length
}

// Result returns what became of duct i.
func (r *Run) Result(i int) Result {
	d := &r.ducts[i]
	a, b := &d.sides[0], &d.sides[1]
	out := Result{Filled: min(1, (a.l+b.l)/float64(d.n)), At: d.filledAt, Meeting: d.knit,
		Why: [2]Stop{a.why, b.why}, Falling: [2]bool{a.fall > 0, b.fall > 0}}
	if d.filledAt > 0 {
		out.Filled = 1
	}
	out.Reach = [2]float64{d.part(0, a.x), d.part(1, b.x)}
	// The largest stretch without metal; edges may name another.
	widest := 1e-6
	for _, gap := range [][2]float64{{0, a.x - a.l}, {a.x, float64(d.n) - b.x}, {float64(d.n) - b.x + b.l, float64(d.n)}} {
		if gap[1]-gap[0] > widest {
			widest = gap[1] - gap[0]
			out.Unfilled = d.part(0, (gap[0]+gap[1])/2)
		}
	}
	if out.Falling[0] || out.Falling[1] {
		r.edges(d, &out)
	}
	return out
}

// edges takes off the cells whose metal froze before pressure drove it into
// the edges of the section. The stem may still fill meanwhile.
func (r *Run) edges(d *duct, out *Result) {
	empty, first := 0, 0
	for s := range d.sides {
		e := &d.sides[s]
		for k := range e.h {
			i := d.cell(s, max(0, min(int(e.x-float64(k)-0.5), d.n-1)))
			if e.fall == 0 || d.pressed[i] {
				continue
			}
			left := r.freeze(d.wall[i], d.area[i]/d.around[i], e.h[k], r.stops, r.t-d.started[i])
			top := d.height(s, e.x-e.l)
			if e.l >= e.x {
				top = r.LevelAfter(left)
			}
			if r.metal.Rho*gravity*(top-(d.edge[i]+d.edge[i+1])/2) < d.cap[i] {
				if empty++; empty == 1 {
					first = i
				}
			}
		}
	}
	if empty == 0 {
		return
	}
	out.Filled = max(0, out.Filled-float64(empty)/float64(d.n))
	out.Unfilled = d.part(0, float64(first)+0.5)
	out.Why = [2]Stop{Tension, Tension}
}

// part turns a place in cells from side s into a fraction of the length from there.
func (d *duct) part(s int, x float64) float64 {
	long := 0.0
	for j := range d.n {
		f := min(1, x-float64(j))
		if f <= 0 {
			break
		}
		long += f * d.length[d.cell(s, j)]
	}
	return long / d.d.Length
}

// Cell is the state of a short stretch of a duct when the metal has come to rest.
type Cell struct {
	From, To  float64 // fractions of the duct's length
	Height    float64 // above the gates, m
	Thickness float64 // m
	Modulus   float64 // area over perimeter, m
	Arrived   float64 // s; NaN if no metal came
	ArrivedAt float64 // enthalpy of the first metal, J/kg
	Enthalpy  float64 // at the end, J/kg; NaN if empty
	Filled    bool
	Duct      int // number of its duct
	i         int
}

// Cells appends the cells of duct i to dst.
func (r *Run) Cells(dst []Cell, i int) []Cell {
	d := &r.ducts[i]
	at := 0.0
	base := len(dst)
	for c := range d.n {
		to := at + d.length[c]/d.d.Length
		dst = append(dst, Cell{From: at, To: to, Height: (d.edge[c] + d.edge[c+1]) / 2, Thickness: d.thick[c],
			Modulus: d.area[c] / d.around[c], Arrived: d.Arrived[c], ArrivedAt: d.ArrivedAt[c], Enthalpy: math.NaN(), Duct: i, i: c})
		at = to
	}
	for s := range d.sides {
		e := &d.sides[s]
		for k := range e.h {
			if place := e.x - float64(k) - 0.5; place >= 0 && place < float64(d.n) {
				c := &dst[base+d.cell(s, int(place))]
				c.Enthalpy, c.Filled = e.h[k], true
			}
		}
	}
	return dst
}

// End is the time in s when the last metal had moved.
func (r *Run) End() float64 { return r.t }

// UntilEnthalpy returns how long after the end of the run the metal of a cell
// takes to fall to the enthalpy h, s, if it stays and cools to its clay alone.
func (r *Run) UntilEnthalpy(c Cell, h float64) float64 {
	if !c.Filled || c.Enthalpy <= h {
		return 0
	}
	d := &r.ducts[c.Duct]
	return r.freeze(d.wall[c.i], c.Modulus, c.Enthalpy, h, r.t-d.started[c.i])
}

// timeFor inverts gain: a quadratic in √t whose two slowly varying factors
// are brought up to date until t settles.
func (w wall) timeFor(gain float64) float64 {
	root, factor := math.Sqrt(gain*w.resistance), 1.0
	for range 30 {
		b := w.b + w.spread*root
		next := (gain/b + math.Sqrt(gain*gain/(b*b)+4*factor*gain*w.resistance)) / (2 * factor)
		settled := math.Abs(next-root) <= 1e-9*next
		root = next
		if settled {
			break
		}
		clay := root / (w.b + w.spread*root)
		factor = seriesFactor(clay / (w.resistance + clay))
	}
	return root * root
}

// Held returns the enthalpy in J that is in the ducts' metal; with Heat it
// balances Brought.
func (r *Run) Held() float64 {
	total := 0.0
	for i := range r.ducts {
		d := &r.ducts[i]
		for s := range d.sides {
			e := &d.sides[s]
			for k, h := range e.h {
				total += r.metal.Rho * d.volume * h * min(1, e.l-float64(k))
			}
			for j, v := range e.content {
				total += r.metal.Rho * v * e.heat[j]
			}
		}
	}
	return total
}

// StemLevel returns the height in m of the metal over the gates at the end.
func (r *Run) StemLevel() float64 {
	h, _ := r.stem.level(r)
	return h
}

// LevelAfter returns the height in m of the metal over the gates t seconds
// after the end of the run, when the hand pours on until the funnel is full.
func (r *Run) LevelAfter(t float64) float64 {
	s := r.stem
	s.volume = min(s.capacity(r), s.volume+t*r.pour.Rate)
	h, _ := s.level(r)
	return h
}

// CellVolume returns the volume of a cell, m³.
func (r *Run) CellVolume(c Cell) float64 { return r.ducts[c.Duct].volume }

// StemFreeze returns how long after the end of the run the sprue takes to fall
// to the enthalpy h, s.
func (r *Run) StemFreeze(h float64) float64 {
	s := &r.stem
	now := s.heat[0]
	for _, x := range s.heat {
		now = min(now, x)
	}
	return r.freeze(s.wall, r.mould.Stem.Diameter/4, now, h, s.since)
}

// freeze returns how long metal of the given modulus takes from one enthalpy
// to another beside clay that was first touched age seconds ago.
func (r *Run) freeze(w wall, modulus, from, to, age float64) float64 {
	if from <= to {
		return 0
	}
	mean := (r.metal.Temperature(from) + r.metal.Temperature(to)) / 2
	need := r.metal.Rho * modulus * (from - to) / (mean - r.clay.StartC)
	return w.timeFor(need+w.gain(age)) - age
}

// FreezeRound returns the time in s that metal of the given modulus and
// perimeter, m, takes from one enthalpy to another in fresh clay.
func (r *Run) FreezeRound(modulus, perimeter, from, to float64) float64 {
	return r.freeze(newWall(r.clay, perimeter), modulus, from, to, 0)
}

// StemEnthalpy returns the mean enthalpy of the metal leaving the sprues at the end, J/kg.
func (r *Run) StemEnthalpy() float64 {
	mean := 0.0
	for _, h := range r.stem.heat {
		mean += h / float64(len(r.stem.heat))
	}
	return mean
}

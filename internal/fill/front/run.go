package front

import (
	"math"

	"pourwright/internal/fluid"
)

const gravity = fluid.Gravity

// Run is one pour through a mould. Its memory is used again by the next
// Follow, so one Run serves one goroutine.
type Run struct {
	mould            *Mould
	metal            *Metal
	clay             *Clay
	pour             Pour
	ducts            []duct
	stem             stem
	t, dt            float64
	Heat             float64 // J that the clay of the ducts has taken
	Brought, Entered float64 // enthalpy (J) and mass (kg) brought into the ducts
	Steps            int
	mixing           []float64
	stops            float64 // enthalpy at which a front chokes, J/kg
}

// side is the metal that comes into a duct at one of its ends. Positions are
// counted in cells from that end.
type side struct {
	gate    int
	falling bool // a stream that does not fill its section reaches down to the metal that does
	landed  bool // the stream has reached the place where metal gathers
	closed  bool // takes no more metal
	why     Stop
	x, l    float64   // front, and length behind it, of the metal that fills its section
	h       []float64 // its parcels of one cell each, from the front back, J/kg
	q       float64   // flow in from the gate, m³/s
	low     int       // cells to the first lowest point
	content []float64 // metal in the stream, by cell, m³
	heat    []float64 // its enthalpy, J/kg
	hold    float64   // pressure at the gate that keeps the stream going, Pa
	wide    float64   // area of the stream where it lands, m²
	wet     float64   // length of the section's wall that it touches there, m
	depth   float64   // to which it stirs what it falls into, cells
	jet     float64   // dynamic pressure of the stream where it lands, Pa
	fall    float64   // time of a free fall to the low point, s
}

type duct struct {
	grid
	d                  *Duct
	sides              [2]side
	met                bool
	started            []float64 // when metal first touched the cell; NaN before
	gained             []float64 // heat its clay has taken, J/(m² K)
	wetted             []float64 // share of its wall that the stream touches
	pressed            []bool    // pressure has driven the metal into the edges of its section
	Arrived, ArrivedAt []float64 // time and enthalpy of the first metal
	knit               Meeting
	filledAt           float64
}

// Stop says why a front went no further.
type Stop string

// Why fronts stop.
const (
	Filled  Stop = "filled"
	Froze   Stop = "froze"           // the front reached the choking fraction solid
	Tension Stop = "surface_tension" // it froze while surface tension held it back
	Gas     Stop = "gas"             // it froze while gas held it back
	Stream  Stop = "froze_in_stream" // the falling stream froze on its way
	Starved Stop = "starved"         // no metal came
)

// Meeting is where two fronts met.
type Meeting struct {
	Met      bool
	At       float64 // fraction of the duct's length
	Time     float64
	Enthalpy float64 // mean of the two
}

const (
	longestPour = 120.0 // s; metal that has not arrived by then will not
	mostSteps   = 20000
)

// Follow pours. It always ends; read the answer with the other methods.
func (r *Run) Follow(mould *Mould, metal *Metal, clay *Clay, pour Pour) {
	r.start(mould, metal, clay, pour)
	for r.Steps = 0; r.Steps < mostSteps && r.t < longestPour; r.Steps++ {
		if !r.step() {
			break
		}
	}
	for i := range r.ducts {
		r.ducts[i].finish()
	}
}

func (r *Run) start(mould *Mould, metal *Metal, clay *Clay, pour Pour) {
	r.mould, r.metal, r.clay, r.pour = mould, metal, clay, pour
	r.Heat, r.Brought, r.Entered = 0, 0, 0
	r.stops = metal.AtSolid(pour.Choke)
	r.stem.start(r)
	r.t, r.dt = math.Sqrt(2*mould.Stem.Length/gravity), 1e-3
	if len(r.ducts) != len(mould.Ducts) {
		r.ducts = make([]duct, len(mould.Ducts))
	}
	n := mould.Cells
	if n == 0 {
		n = DefaultCells
	}
	for i := range r.ducts {
		r.ducts[i].start(r, &mould.Ducts[i], n)
	}
	for i := range r.ducts {
		for s := range r.ducts[i].sides {
			r.ducts[i].choose(r, s)
		}
	}
}

func (d *duct) start(r *Run, from *Duct, n int) {
	d.d, d.met, d.knit, d.filledAt = from, false, Meeting{}, 0
	d.cut(from, r.metal, r.clay, n, r.pour.Thickening)
	if len(d.started) != n {
		for _, s := range []*[]float64{&d.started, &d.gained, &d.wetted, &d.Arrived, &d.ArrivedAt} {
			*s = make([]float64, n)
		}
		d.pressed = make([]bool, n)
		for s := range d.sides {
			d.sides[s].content, d.sides[s].heat = make([]float64, n), make([]float64, n)
			d.sides[s].h = make([]float64, 0, n+2)
		}
	}
	for i := range n {
		d.started[i], d.gained[i], d.wetted[i], d.Arrived[i], d.ArrivedAt[i] = math.NaN(), 0, 1, math.NaN(), math.NaN()
	}
	clear(d.pressed)
	for s := range d.sides {
		e := &d.sides[s]
		*e = side{gate: [2]int{from.From, from.To}[s], content: e.content, heat: e.heat, h: e.h[:0]}
		clear(e.content)
		clear(e.heat)
		e.closed = e.gate == NoGate
	}
}

// cell turns a place counted from side s into an index.
func (d *duct) cell(s, j int) int {
	if s == 0 {
		return j
	}
	return d.n - 1 - j
}

// height of a place in cells from side s.
func (d *duct) height(s int, x float64) float64 {
	if s == 1 {
		x = float64(d.n) - x
	}
	return along(d.edge, max(0, min(x, float64(d.n))))
}

// between sums a cumulative row from the end of side s to x.
func (d *duct) between(row []float64, s int, x float64) float64 {
	x = max(0, min(x, float64(d.n)))
	if s == 0 {
		return along(row, x)
	}
	return row[d.n] - along(row, float64(d.n)-x)
}

// choose settles whether the metal at this end will run full or fall as a
// stream: it falls where the duct leads down and gravity alone, against the
// losses of a full section, would carry off more than the gate is given.
func (d *duct) choose(r *Run, s int) {
	e := &d.sides[s]
	if e.closed {
		return
	}
	for e.low = 0; e.low < d.n && d.height(s, float64(e.low+1)) < d.height(s, float64(e.low))-1e-9; e.low++ {
	}
	drop := d.height(s, 0) - d.height(s, float64(e.low))
	if drop < 2*d.thick[d.cell(s, 0)] {
		return
	}
	supply, area := r.stem.most(r), 0.0
	for i := range r.ducts {
		for k := range r.ducts[i].sides {
			if o := &r.ducts[i].sides[k]; o.gate == e.gate {
				area += r.ducts[i].area[r.ducts[i].cell(k, 0)]
			}
		}
	}
	share := supply * d.area[d.cell(s, 0)] / area
	if d.loss(r, s, float64(e.low), share) < r.metal.Rho*gravity*drop {
		e.falling, e.fall = true, math.Sqrt(2*drop/gravity)
		e.hold, e.wet = d.threshold(r, s), d.around[d.cell(s, 0)]
	}
}

// threshold returns the pressure at the gate from which a stream gets past
// the surface tension of every section on its way down: half the head of its
// fall is taken to be left after the drag of the walls.
func (d *duct) threshold(r *Run, s int) (p float64) {
	for j := range max(1, d.sides[s].low) {
		p = max(p, d.cap[d.cell(s, j)]-r.metal.Rho*gravity/2*(d.height(s, 0)-d.height(s, float64(j))))
	}
	return p
}

// loss returns the pressure in Pa that a flow q needs to run full to x.
func (d *duct) loss(r *Run, s int, x, q float64) float64 {
	p, _ := d.resist(r, s, x, q)
	return p
}

// resist also returns the loss's derivative by q.
func (d *duct) resist(r *Run, s int, x, q float64) (p, slope float64) {
	tip := d.area[d.cell(s, min(int(x), d.n-1))]
	mouth := d.area[d.cell(s, 0)]
	head := r.metal.Rho / 2 * (1/(tip*tip) + r.mould.Stem.Turn/(mouth*mouth))
	p, slope = head*q*q, 2*head*q
	if r.mould.Stem.Smooth || q <= 0 {
		return p, slope
	}
	return addFriction(p, slope, d.between(d.laminar, s, x), d.between(d.turbulent, s, x), q)
}

// addFriction takes the greater of the laminar and the turbulent wall loss,
// which change over near a Reynolds number of 1200; the greater is the
// cautious one in between.
func addFriction(p, slope, laminar, turbulent, q float64) (float64, float64) {
	l := laminar * q
	t := turbulent * q * math.Sqrt(q*math.Sqrt(q))
	if l >= t {
		return p + l, slope + laminar
	}
	return p + t, slope + 1.75*t/q
}

// step advances all metal by one time step; false when nothing can move any more.
func (r *Run) step() bool {
	r.limit()
	active := false
	r.stem.drawn = 0
	for g := range r.mould.Gates {
		active = r.flow(g) || active
	}
	if !active {
		return false
	}
	for i := range r.ducts {
		d := &r.ducts[i]
		for s := range d.sides {
			if e := &d.sides[s]; !e.falling && e.q > 0 {
				r.dt = min(r.dt, d.volume/e.q)
			}
		}
	}
	r.stem.pass(r)
	for i := range r.ducts {
		d := &r.ducts[i]
		if !d.done() {
			d.run(r)
			d.descend(r)
			d.meet(r)
		}
		d.cool(r)
	}
	r.t += r.dt
	return true
}

const (
	longestStep = 0.02 // s, or 1/200 of the time gone by: resolves the cooling of metal that is held back
	growth      = 1.5  // of the step from one to the next
)

// limit chooses the next step: one cell of advance for the fastest front, a
// twentieth of a fall for a stream on its way.
func (r *Run) limit() {
	dt := min(max(longestStep, r.t/200), growth*r.dt)
	for i := range r.ducts {
		d := &r.ducts[i]
		for s := range d.sides {
			e := &d.sides[s]
			if e.closed || d.done() {
				continue
			}
			if e.falling && !e.landed {
				dt = min(dt, max(e.fall/20, r.t/200))
			}
			if e.q > 0 {
				dt = min(dt, d.volume/e.q)
			}
		}
	}
	r.dt = max(dt, 1e-6)
}

// choked says that metal of this enthalpy no longer flows.
func (r *Run) choked(h float64) bool { return h <= r.stops }

// done says that no metal can be added to d.
func (d *duct) done() bool { return d.filledAt > 0 || d.sides[0].closed && d.sides[1].closed }

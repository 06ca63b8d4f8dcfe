package network

import (
	"math"

	"pourwright/internal/fluid"
)

// state is what a cell holds. One state for every regime: its filled share
// m/vol says whether it is empty, a stream, a pool or a full column.
type state struct {
	m, vol    float64 // metal in it and its volume, m³
	area, mod float64 // of its section, m², and area over perimeter, m
	capillary float64 // pressure that opposes a front in it, Pa
	around    float64 // of its wall, see Run.around, W/(m² K)
	perMass   float64 // 1 over density and modulus, m²/kg
	wall      float64 // of it and its copies, m²
	x         float64 // length that the front has passed, m
	p         float64 // pressure at its middle while full, Pa
	e         float64 // enthalpy of its metal, J/kg
	passes    float64 // enthalpy of what leaves it in this step, J/kg
	old       float64 // metal in it a step ago, m³
	taken     float64 // heat that its clay has taken, J/m² of what was touched
	touched   float64 // greatest share of its wall that was touched
	tip       float64 // enthalpy of the first metal, renewed over the mixing length, J/kg
	age       float64 // how long the clay under the tip has been touched, s
	since     float64 // when metal first came, s
	qin, qout float64 // in and out, m³/s
	run       float64 // net of the faces under pressure, m³/s
	stream    float64 // net of the other faces, m³/s
	win, wout float64 // their speeds, m/s
	speed     float64 // of its front or of what runs through, m/s
	inFace    int32   // by which most of its metal comes
	first     int32   // face by which its first metal came
	began     float64 // enthalpy of its metal as the step began, J/kg
	lacks     float64 // pressure that it lacks to be driven into its edges, Pa
	full      bool
	fresh     bool // it came under pressure in this step
	let       bool // it let go in this step
	open      bool // it has run less than full since it was last counted as full
	pressed   bool // pressure has driven it into the edges of its section
	lam, turb float64
	filledAt  float64
	done      float64 // enthalpy of the coldest metal in it when it was pressed full
	pressedAt float64
	gap       float64 // what its coldest metal lay over its mean as it filled, J/kg
}

// Branches of a face between a full and a part-full cell.
const (
	pinned int8 = iota
	advancing
	retreating
	fixed
)

type link struct {
	q        float64 // from a to b for each copy of b, m³/s
	began    float64 // q as the step began, m³/s
	q0       float64 // the same, with the momentum that a column hands on within the step
	w, w0    float64 // speed of what passes from a to b, now and as the step began, m/s
	num, den float64
	k, qhat  float64
	back     float64 // dispersion by a jet that plunges past it, m⁴/s
	elim     float64 // factor of its elimination
	branch   int8
	coupled  bool // at least one side is full
	welded   bool
}

// Run is one pour through a mesh. Its memory is used again by the next Follow,
// so one Run serves one goroutine.
type Run struct {
	mesh         *Mesh
	metal        *Metal
	clay         *Clay
	pour         Pour
	s            []state
	l            []link
	diag         []float64
	rhs          []float64
	t, dt        float64
	moved        float64 // when metal last moved, s
	gas          float64
	shut         int // vents that metal has closed, a bit each
	jet          float64
	stop         float64 // enthalpies, J/kg
	weld         float64
	eff          float64 // effusivity
	contactRatio float64 // contact against clay: twice the effusivity over the interface coefficient, √s
	weldAt       []Weld
	held         int         // cells before this one may hold metal
	live         []int32     // faces between them
	coupled      []int32     // those of them beside a full cell
	closed       []int32     // loop faces between full cells
	turn         [][]float64 // what a unit flow round each of them does to the pressures
	Steps        int
	Heat         float64 // given to clay, J
	Poured       float64 // m³ that the hand gave
	MaxDt        float64 // longest time step, s; 0 for DefaultDt
}

// Weld is where two streams met.
type Weld struct {
	Cell int
	Time float64
	H    float64 // mean enthalpy of the two, J/kg
}

const (
	longest  = 6.0 // s of pour that are followed
	jetShare = 0.3 // of the falling stream's momentum that goes down the sprue, the rest spent on the funnel's wall; our choice
	jetCore  = 6.0 // jet diameters in which a plunging stream is spent (from memory)
	gapDt    = 1e-5
	almost   = 1e-3 // share of a cell's volume that is filled without a step of its own
	tension  = 1.0  // Pa under the gas about it at which a full section lets go: rounding
)

// DefaultDt is the longest time step, s, where MaxDt says nothing; package fill's
// refinement test says what shorter ones change.
const DefaultDt = 0.005

// Follow follows a pour until all is full and pressed or nothing is left to flow.
func (r *Run) Follow(m *Mesh, metal *Metal, clay *Clay, p Pour) {
	r.mesh, r.metal, r.clay, r.pour = m, metal, clay, p
	r.start()
	for r.t < longest && !r.over() {
		r.step()
	}
}

func (r *Run) start() {
	m, p := r.mesh, &r.pour
	n := len(m.cells)
	if cap(r.s) < n {
		r.s, r.diag, r.rhs = make([]state, n), make([]float64, n), make([]float64, n)
	}
	if cap(r.l) < len(m.faces) {
		r.l = make([]link, len(m.faces))
	}
	r.s, r.l, r.diag, r.rhs = r.s[:n], r.l[:len(m.faces)], r.diag[:n], r.rhs[:n]
	clear(r.l)
	r.t, r.moved, r.Steps, r.Heat, r.Poured, r.weldAt = 0, 0, 0, 0, 0, r.weldAt[:0]
	r.dt = 1e-3
	if r.MaxDt == 0 {
		r.MaxDt = DefaultDt
	}
	r.stop, r.weld = r.metal.AtSolid(p.Stop), r.metal.AtSolid(p.Weld)
	r.eff = math.Sqrt(r.clay.K*r.clay.RhoC) * p.Effusivity
	r.contactRatio = 2 * r.eff / p.Interface
	gamma := r.metal.Gamma * p.Tension
	turb := fluid.Blasius * math.Sqrt(math.Sqrt(r.metal.Mu/(4*r.metal.Rho))) / 8 * r.metal.Rho
	for i := range m.cells {
		c := &m.cells[i]
		s := &r.s[i]
		*s = state{e: p.Enthalpy, tip: p.Enthalpy, old: p.Enthalpy, since: math.NaN(), filledAt: math.NaN(), first: -1, inFace: -1, open: true, lacks: math.Inf(1), done: math.NaN()}
		area, per := c.area, c.perimeter
		if c.piece != NoPiece && p.Thickening != 0 {
			rel := max(p.Thickening/c.thick, -0.8)
			area *= 1 + rel
			if c.round {
				area *= 1 + rel
			}
			per += c.perThick * rel
		}
		s.area, s.mod, s.vol = area, area/per, area*c.length
		s.capillary = gamma / (s.mod * c.thin)
		s.around, s.perMass, s.wall = r.around(per), 1/(r.metal.Rho*s.mod), per*c.length*c.copies
		form := 1 + min(0.5, (per*per/(4*math.Pi*area)-1)/4)
		s.lam = 2 * form * r.metal.Mu / (s.mod * s.mod * area) * c.length
		s.turb = turb / (s.mod * math.Sqrt(math.Sqrt(s.mod)) * area) * c.length
	}
	f := &r.s[0]
	r.held, r.live = int(m.beyond[0]), r.live[:0]
	r.extend()
	f.vol, f.capillary, f.since = m.funnel.Area*m.funnel.Depth, 0, 0
}

// over says that nothing is left to follow.
func (r *Run) over() bool {
	open := false
	for i := 1; i < len(r.s); i++ {
		if s := &r.s[i]; r.mesh.cells[i].piece != NoPiece && !s.pressed {
			open = true
			break
		}
	}
	if !open {
		return true
	}
	return r.metal.Solid(r.s[1].e) > 0.9 && r.t > 0.2 || r.t-r.moved > stillFor
}

// Where the funnel is full and no cell has gained or lost stillShare of itself in
// a step for stillFor s, pressures are at rest and no more will move.
const (
	stillFor   = 0.25
	stillShare = 1e-4
)

// supply is what the hand gives in the middle of the step, m³/s.
func (r *Run) supply() float64 {
	p, t := &r.pour, r.t+r.dt/2
	if p.Gap > 0 && t >= p.Break && t < p.Break+p.Gap {
		return 0
	}
	if t < p.Rise {
		return p.Rate * max(0.02, t/p.Rise)
	}
	return p.Rate
}

func (r *Run) step() {
	r.Steps++
	r.dt = r.pace()
	r.breathe()
	for _, f := range r.live {
		r.l[f].began = r.l[f].q
	}
	for i := range r.held {
		s := &r.s[i]
		s.let, s.fresh, s.began = false, false, s.e
	}
	r.press()
	if dt := r.dt; r.shorten() < 0.99*dt {
		r.press()
	}
	r.streams()
	r.cool(r.dt / 2)
	r.move()
	r.t += r.dt
	r.settle()
}

// pace chooses the time step: no further than the next cell that fills or is
// passed at the present flows.
func (r *Run) pace() float64 {
	r.dt = r.MaxDt
	r.shorten()
	return r.dt
}

// shorten cuts the step to the first cell that fills in it.
func (r *Run) shorten() float64 {
	dt := r.dt
	for i := 1; i < r.held; i++ {
		s := &r.s[i]
		if s.m == 0 && s.run == 0 {
			continue
		}
		l := r.mesh.cells[i].length
		if !s.full {
			if net := s.run + s.stream; net > 0 && s.m < s.vol*(1-almost) { // streams as they were
				dt = min(dt, (s.vol-s.m)/net)
			}
			if s.x < l {
				if s.speed > 0 {
					dt = min(dt, (l-s.x)/s.speed)
				}
				continue
			}
		}
		for _, f := range r.mesh.outs[i] { // the front's next cell
			e := &r.mesh.faces[f]
			n := &r.s[e.b]
			if int(e.b) == i || n.m > 0 {
				continue
			}
			v := s.wout
			if s.full {
				v = r.l[f].q / n.area
			}
			if v > 0 {
				dt = min(dt, r.mesh.cells[e.b].length/v)
			}
		}
	}
	r.dt = min(r.dt, max(dt, gapDt))
	return r.dt
}

// breathe finds the gas pressure before the fronts, which rises as the metal
// closes vents, and the jet in the funnel.
func (r *Run) breathe() {
	closed := 0
	for k, v := range r.mesh.vents {
		if r.s[v.cell].full {
			closed |= 1 << k
		}
	}
	if closed != r.shut || r.Steps == 1 {
		r.shut, r.gas = closed, r.vented(closed)
	}
	f := &r.s[0]
	h := f.m / r.mesh.funnel.Area
	q := r.supply()
	lip := math.Sqrt(2 * fluid.Gravity * r.pour.Fall)
	d := math.Sqrt(4 / math.Pi * q / max(lip, 0.1))
	r.jet = 0
	if q > 0 {
		wide := min(1, q/max(lip, 0.1)/r.mesh.funnel.Sprue)
		r.jet = jetShare * r.metal.Rho * q * lip / r.mesh.funnel.Sprue * (1 - wide) * math.Exp(-h/(jetCore*d))
	}
}

// Pour.Gas is what it is with two vents of a needle's width in a mould with as
// much wall as that of an everyday bangle; common practice, no source.
const (
	usualVents = 2
	usualBore  = 1e-3  // m
	usualWall  = 28e-4 // m²
)

// vented is the pressure in Pa at which the gas that the clay gives off leaves
// through clay and the vents that are not closed. How much each square metre
// gives off follows from the pressure with the usual vents and wall.
func (r *Run) vented(closed int) float64 {
	wall, path := 0.0, r.clay.Path
	if path == 0 || r.pour.Gas == 0 { // nothing is said of ways out, or there is no gas
		return r.pour.Gas
	}
	for i := range r.mesh.cells {
		if c := &r.mesh.cells[i]; c.piece != NoPiece {
			wall += c.perimeter * c.length * c.copies
		}
	}
	through := r.clay.Perm / (fluid.AirViscosity * path) // m/(s Pa)
	gives := wall * (through*r.pour.Gas + usualVents*fluid.VentFlow(r.pour.Gas, usualBore, path)/usualWall)
	leaves := func(p float64) float64 {
		q := wall * through * p
		for k, v := range r.mesh.vents {
			if closed>>k&1 == 0 {
				q += v.count * fluid.VentFlow(p, v.diameter, v.length)
			}
		}
		return q
	}
	low, high := 0.0, mostGas
	for high-low > 0.01 {
		if mid := (low + high) / 2; leaves(mid) < gives {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}

// mostGas is a pressure at which gas leaves through the metal, Pa: twice what a
// usual funnel and sprue press with.
const mostGas = 6000.0

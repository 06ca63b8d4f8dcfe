// Package sprue lays one or more pieces out in a flask on one sprue system:
// funnel, sprue, runners and gates, in the parting plane of a standing or a
// lying flask. It knows where everything lies, how much clay is left between,
// what metal the system takes and what the full mould does to its halves.
//
// Lengths are in mm. The plan is the parting plane: y up from the floor of the
// funnel in a standing flask, from the foot of the sprue in a lying one.
package sprue

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/shape"
)

// Systems that lead metal to pieces.
const (
	Direct = "direct" // one piece, the sprue runs straight into it
	Tree   = "tree"   // pieces to both sides of the sprue, gates level
	Runner = "runner" // a level runner under the sprue, pieces hang from it
)

// System is a sprue system.
type System struct {
	Kind    string
	Lying   bool
	Sprue   Bore    // from the funnel; its length down to the first gate or runner
	Runner  float64 // diameter
	Gate    Bore
	Funnel  Bore // mean diameter and depth of the metal in it
	Between float64
}

// Bore is a round channel.
type Bore struct{ Diameter, Length float64 }

// VolumeMM3 of the bore.
func (b Bore) VolumeMM3() float64 { return math.Pi / 4 * b.Diameter * b.Diameter * b.Length }

// Placed is a piece where it lies.
type Placed struct {
	Piece     int    // number among the pieces given
	Gate      r3.Vec // where the metal enters
	Out       r3.Vec // looks out of the gate
	Low, High r3.Vec // its extent in the plan
	WayMM     float64
	turn      float64
	origin    r3.Vec
}

// Run is a channel between two places of the plan.
type Run struct {
	What     string // sprue, runner or gate
	From, To r3.Vec
	Diameter float64
}

// LengthMM of the run.
func (r Run) LengthMM() float64 { return r3.Norm(r3.Sub(r.To, r.From)) }

// Layout is a flask laid out.
type Layout struct {
	System    System
	Placed    []Placed
	Runs      []Run
	Low, High r3.Vec // of pieces and runs, the funnel left out
}

// gateOf is the place of a piece, as it lies by itself, where its gate is, and
// the direction that looks out of it. A curved piece is fed at its widest
// place to +x: a ring at 12 o'clock, a cuff in its middle; a straight one at
// its start.
func gateOf(b *shape.Body) (at, out r3.Vec) {
	if !b.Kind.Curved() {
		return r3.Vec{}, r3.Vec{X: -1}
	}
	pct := 0.0
	if !b.Closed() {
		pct = 50
	}
	s := b.Station(pct)
	_, top := b.Bounds()
	return r3.Vec{X: min(top.X, s.Centre.X+s.ThicknessMM)}, r3.Vec{X: 1}
}

// GatePct is the place of the gate along the way of a piece, in percent.
func GatePct(b *shape.Body) float64 {
	if b.Kind.Curved() && !b.Closed() {
		return 50
	}
	return 0
}

// place turns the piece so that its gate looks along out and lies at gate.
func place(number int, b *shape.Body, gate, out r3.Vec, way float64) Placed {
	at, looks := gateOf(b)
	p := Placed{Piece: number, Gate: gate, Out: out, WayMM: way, turn: math.Atan2(out.Y, out.X) - math.Atan2(looks.Y, looks.X)}
	p.origin = r3.Sub(gate, p.turned(at))
	low, high := b.Bounds()
	p.Low, p.High = r3.Vec{X: math.Inf(1), Y: math.Inf(1)}, r3.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, c := range [4]r3.Vec{{X: low.X, Y: low.Y}, {X: high.X, Y: low.Y}, {X: low.X, Y: high.Y}, {X: high.X, Y: high.Y}} {
		q := p.At(c)
		p.Low = r3.Vec{X: min(p.Low.X, q.X), Y: min(p.Low.Y, q.Y)}
		p.High = r3.Vec{X: max(p.High.X, q.X), Y: max(p.High.Y, q.Y)}
	}
	return p
}

func (p *Placed) turned(v r3.Vec) r3.Vec {
	sin, cos := math.Sincos(p.turn)
	return r3.Vec{X: cos*v.X - sin*v.Y, Y: sin*v.X + cos*v.Y, Z: v.Z}
}

// At is where a place of the piece lies in the plan.
func (p *Placed) At(v r3.Vec) r3.Vec { return r3.Add(p.origin, p.turned(v)) }

// moved shifts a placed piece.
func (p Placed) moved(by r3.Vec) Placed {
	p.Gate, p.Low, p.High, p.origin = r3.Add(p.Gate, by), r3.Add(p.Low, by), r3.Add(p.High, by), r3.Add(p.origin, by)
	return p
}

// Lay lays the pieces out by rule.
func Lay(s System, pieces []*shape.Body) Layout {
	l := Layout{System: s}
	switch s.Kind {
	case Direct:
		l.direct(pieces[0])
	case Tree:
		l.tree(pieces)
	default:
		l.runner(pieces)
	}
	l.Low, l.High = r3.Vec{X: math.Inf(1), Y: math.Inf(1)}, r3.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	widen := func(low, high r3.Vec) {
		l.Low = r3.Vec{X: min(l.Low.X, low.X), Y: min(l.Low.Y, low.Y)}
		l.High = r3.Vec{X: max(l.High.X, high.X), Y: max(l.High.Y, high.Y)}
	}
	for _, p := range l.Placed {
		widen(p.Low, p.High)
	}
	for _, r := range l.Runs {
		half := r3.Vec{X: r.Diameter / 2, Y: r.Diameter / 2}
		for _, end := range [2]r3.Vec{r.From, r.To} {
			widen(r3.Sub(end, half), r3.Add(end, half))
		}
	}
	return l
}

// top is where the sprue ends in the plan: below the funnel, or, as a lying
// flask's sprue stands upright on the plan, at its foot.
func (s *System) top() r3.Vec {
	if s.Lying {
		return r3.Vec{}
	}
	return r3.Vec{Y: -s.Sprue.Length}
}

func (l *Layout) sprue() {
	s := &l.System
	if !s.Lying {
		l.Runs = append(l.Runs, Run{"sprue", r3.Vec{}, s.top(), s.Sprue.Diameter})
	}
}

// direct feeds one piece: from above in a standing flask, from the foot of the
// sprue over a gate in a lying one.
func (l *Layout) direct(b *shape.Body) {
	s := &l.System
	l.sprue()
	gate, way := s.top(), s.Sprue.Length
	if s.Lying {
		gate, way = r3.Vec{Y: -s.Sprue.Diameter/2 - s.Gate.Length}, way+s.Gate.Length
		l.Runs = append(l.Runs, Run{"gate", r3.Vec{Y: -s.Sprue.Diameter / 2}, gate, s.Gate.Diameter})
	}
	l.Placed = append(l.Placed, place(0, b, gate, r3.Vec{Y: 1}, way))
}

// tree sets pieces in pairs to the left and right of a sprue that runs on
// down, or, lying, of a runner from the foot of the sprue.
func (l *Layout) tree(pieces []*shape.Body) {
	s := &l.System
	l.sprue()
	trunk := s.Sprue.Diameter
	bottom := s.top().Y // of the row above, clay left out
	last := s.top()
	const underFunnel = 5.0
	for i := 0; i < len(pieces); i += 2 {
		var row []Placed
		for k, side := range [2]float64{-1, 1} {
			if i+k < len(pieces) {
				row = append(row, place(i+k, pieces[i+k], r3.Vec{X: side * (trunk/2 + s.Gate.Length)}, r3.Vec{X: -side}, 0))
			}
		}
		high := math.Inf(-1)
		for _, p := range row {
			high = max(high, p.High.Y)
		}
		if i > 0 || s.Lying {
			high += s.Between
		}
		down := r3.Vec{Y: bottom - high}
		if i == 0 && !s.Lying { // the first gates as high as the sprue is long, clay left under the funnel
			down.Y = min(-s.Sprue.Length, -underFunnel-high)
		}
		low := math.Inf(1)
		for _, p := range row {
			p = p.moved(down)
			p.WayMM = s.Sprue.Length + math.Abs(p.Gate.Y-s.top().Y) + s.Gate.Length
			low = min(low, p.Low.Y)
			l.Placed = append(l.Placed, p)
			l.Runs = append(l.Runs, Run{"gate", r3.Vec{X: math.Copysign(trunk/2, p.Gate.X), Y: p.Gate.Y}, p.Gate, s.Gate.Diameter})
		}
		foot := r3.Vec{Y: down.Y}
		if i+2 >= len(pieces) { // on to the lower edge of the last gates
			foot.Y -= s.Gate.Diameter / 2
		}
		if foot != last {
			l.Runs = append(l.Runs, Run{"runner", last, foot, trunk})
		}
		last, bottom = foot, low
	}
}

// runner hangs pieces side by side under a level runner; lying, on both sides of it.
func (l *Layout) runner(pieces []*shape.Body) {
	s := &l.System
	l.sprue()
	level := s.top()
	var sides [2][]Placed
	for i, b := range pieces {
		side := 0
		if s.Lying {
			side = i % 2
		}
		out := r3.Vec{Y: float64(1 - 2*side)}
		gate := r3.Vec{Y: level.Y - out.Y*(s.Runner/2+s.Gate.Length)}
		sides[side] = append(sides[side], place(i, b, gate, out, 0))
	}
	reach := [2]float64{} // of the runner to the left and right
	for _, list := range sides {
		total := -s.Between
		for _, p := range list {
			total += p.High.X - p.Low.X + s.Between
		}
		x := -total / 2
		for _, p := range list {
			p = p.moved(r3.Vec{X: x - p.Low.X})
			x = p.High.X + s.Between
			p.WayMM = s.Sprue.Length + math.Abs(p.Gate.X) + s.Runner/2 + s.Gate.Length
			reach = [2]float64{min(reach[0], p.Gate.X), max(reach[1], p.Gate.X)}
			from := r3.Vec{X: p.Gate.X, Y: level.Y + math.Copysign(s.Runner/2, p.Gate.Y-level.Y)}
			l.Placed, l.Runs = append(l.Placed, p), append(l.Runs, Run{"gate", from, p.Gate, s.Gate.Diameter})
		}
	}
	for _, x := range reach {
		if x != 0 {
			x += math.Copysign(s.Gate.Diameter/2, x)
			l.Runs = append(l.Runs, Run{"runner", level, r3.Vec{X: x, Y: level.Y}, s.Runner})
		}
	}
}

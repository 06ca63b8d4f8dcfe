package shape

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/spatial/r3"
)

// path is the line of the middle of the inside face: a straight line, or an
// ellipse moved outwards by offset (a parallel curve), whole or open by a gap,
// with a wave out of its plane.
type path struct {
	straight bool
	length   float64 // of a straight one
	a, b     float64 // half axes of the ellipse
	offset   float64
	metal    float64 // part of the round that is metal, 1 for a closed band
	rise     float64
	repeats  int
	crest    float64   // angle to the first crest, rad of the round
	arc      []float64 // length of the ellipse from +x over angle 2πi/arcs, where it is not round
}

// frame is a place of the path.
type frame struct {
	at        r3.Vec  // on the inside face, wave included
	out       r3.Vec  // unit vector of the thickness
	along     r3.Vec  // unit vector of the way, in the plane
	speed     float64 // mm of the path for the whole fraction, in the plane
	curvature float64 // 1/mm, of the path in the plane
	rise      float64 // mm of height for the whole fraction
}

const arcs = 1440 // steps of an ellipse; Simpson's rule on each

func newPath(a, b float64) path {
	p := path{a: a, b: b, metal: 1}
	if a == b {
		return p
	}
	p.arc = make([]float64, arcs+1)
	h := 2 * math.Pi / arcs
	for i := range arcs {
		t := h * float64(i)
		p.arc[i+1] = p.arc[i] + h/6*(p.pace(t)+4*p.pace(t+h/2)+p.pace(t+h))
	}
	return p
}

// pace is the length of the ellipse per radian of its parameter.
func (p *path) pace(t float64) float64 {
	s, c := math.Sincos(t)
	return math.Hypot(p.a*s, p.b*c)
}

// round is the length of the whole inside, in mm.
func (p *path) round() float64 {
	if p.arc == nil {
		return 2 * math.Pi * (p.a + p.offset)
	}
	return p.arc[arcs] + 2*math.Pi*p.offset
}

// parameter finds the ellipse's parameter where the parallel curve has run a
// fraction of the round. The length of a parallel curve is that of the ellipse
// and the offset times the turn of its normal.
func (p *path) parameter(fraction float64) float64 {
	if p.arc == nil {
		return 2 * math.Pi * fraction
	}
	whole := math.Floor(fraction)
	goal := (fraction - whole) * p.round()
	run := func(i int) float64 { return p.arc[i] + p.offset*p.turn(2*math.Pi*float64(i)/arcs) }
	i := sort.Search(arcs, func(i int) bool { return run(i+1) >= goal })
	from, to := run(i), run(min(i+1, arcs))
	t := 2 * math.Pi * (float64(i) + (goal-from)/(to-from)) / arcs
	return t + 2*math.Pi*whole
}

// turn is the angle of the outward normal at a parameter between 0 and 2π.
func (p *path) turn(t float64) float64 {
	s, c := math.Sincos(t)
	angle := math.Atan2(p.a*s, p.b*c)
	if angle < -1e-12 || angle < 0 && t > 1 {
		angle += 2 * math.Pi
	}
	if angle < 1 && t > 5 {
		angle += 2 * math.Pi
	}
	return max(angle, 0)
}

// at returns the frame at a fraction of the way.
func (p *path) at(f float64) frame {
	if p.straight {
		return frame{at: r3.Vec{X: f * p.length}, out: r3.Vec{Z: 1}, along: r3.Vec{X: 1}, speed: p.length}
	}
	round := f
	if p.metal < 1 {
		round = (f - 0.5) * p.metal
	}
	t := p.parameter(round)
	s, c := math.Sincos(t)
	pace := p.pace(t)
	out := r3.Vec{X: p.b * c / pace, Y: p.a * s / pace}
	k := p.a * p.b / (pace * pace * pace)
	g := frame{out: out, along: r3.Vec{X: -out.Y, Y: out.X}, speed: p.metal * p.round(), curvature: k / (1 + k*p.offset)}
	g.at = r3.Add(r3.Vec{X: p.a * c, Y: p.b * s}, r3.Scale(p.offset, out))
	if p.repeats > 0 {
		n := 2 * math.Pi * float64(p.repeats)
		phase := n*round - float64(p.repeats)*p.crest
		g.at.Z = p.rise / 2 * math.Cos(phase)
		g.rise = -p.rise / 2 * math.Sin(phase) * n * p.metal
	}
	return g
}

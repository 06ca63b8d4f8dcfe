package sprue

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// Way is a channel of the sprue system between two junctions; 0 is the floor of
// the funnel. Heights are over it, mm.
type Way struct {
	From, To   int
	LengthMM   float64
	DiameterMM float64
	FromMM     float64
	ToMM       float64
	Turns      bool // it leaves its junction across the channel that leads there
}

// Ways returns the channels that lead from the funnel to the gates and the
// junction of each piece's gate, in the order of Placed. Runs are cut where
// gates leave them; an end that leads nowhere is left out.
func (l *Layout) Ways() (ways []Way, gates []int) {
	g := graph{System: &l.System}
	floor := g.node(r3.Vec{}) // of the funnel, or the foot of an upright sprue
	if s := &l.System; s.Lying {
		ways = append(ways, Way{From: 0, To: floor, LengthMM: s.Sprue.Length, DiameterMM: s.Sprue.Diameter, ToMM: -s.Sprue.Length})
	}
	gateRuns := make([]Run, len(l.Placed))
	var trunks []Run
	for _, r := range l.Runs {
		if r.What == "gate" {
			i := slices.IndexFunc(l.Placed, func(p Placed) bool { return p.Gate == r.To })
			gateRuns[i] = r
		} else {
			trunks = append(trunks, r)
		}
	}
	for _, r := range trunks {
		ways = append(ways, g.cut(r, gateRuns)...)
	}
	for i, r := range gateRuns {
		if r.What == "" { // the sprue runs straight into it
			gates = append(gates, g.node(l.Placed[i].Gate))
			continue
		}
		from := g.on(trunks, r)
		to := g.node(r.To)
		gates = append(gates, to)
		ways = append(ways, Way{From: from, To: to, LengthMM: r.LengthMM(), DiameterMM: r.Diameter, FromMM: g.height(r.From), ToMM: g.height(r.To), Turns: true})
	}
	return ways, gates
}

// graph numbers the places at which channels meet.
type graph struct {
	*System
	nodes []r3.Vec // of the junctions in the plan, from the floor of the funnel or the sprue's foot
}

// node is the junction at a place of the plan.
func (g *graph) node(v r3.Vec) int {
	i := slices.IndexFunc(g.nodes, func(n r3.Vec) bool { return r3.Norm(r3.Sub(n, v)) < 1e-6 })
	if i < 0 {
		i = len(g.nodes)
		g.nodes = append(g.nodes, v)
	}
	if g.Lying { // the funnel is not in the plan
		i++
	}
	return i
}

func (g *graph) height(v r3.Vec) float64 {
	if g.Lying {
		return -g.Sprue.Length
	}
	return v.Y
}

// foot is the place on the axis of a run from which a gate leaves it, and how far
// along it lies; ok is false where the gate leaves another run.
func foot(r, gate Run) (at r3.Vec, along float64, ok bool) {
	way := r3.Sub(r.To, r.From)
	length := r3.Norm(way)
	if length == 0 {
		return r.From, 0, false
	}
	along = r3.Dot(r3.Sub(gate.From, r.From), way) / length
	at = r3.Add(r.From, r3.Scale(along/length, way))
	const rounding = 1e-6
	ok = along > -rounding && along < length+rounding && r3.Norm(r3.Sub(gate.From, at)) < r.Diameter/2+rounding
	return at, along, ok
}

// cut divides a run where gates leave it; what leads past the last gate to no
// other run is left out.
func (g *graph) cut(r Run, gates []Run) (ways []Way) {
	length := r.LengthMM()
	var at []float64
	for _, gate := range gates {
		if _, along, ok := foot(r, gate); ok {
			at = append(at, math.Min(math.Max(along, 0), length))
		}
	}
	if r.What == "sprue" || len(at) == 0 {
		at = append(at, length)
	}
	slices.SortFunc(at, cmp.Compare)
	from, last := r.From, 0.0
	for _, x := range at {
		if x-last < 1e-6 {
			continue
		}
		to := r3.Add(r.From, r3.Scale(x/length, r3.Sub(r.To, r.From)))
		ways = append(ways, Way{From: g.node(from), To: g.node(to), LengthMM: x - last, DiameterMM: r.Diameter,
			FromMM: g.height(from), ToMM: g.height(to), Turns: last == 0 && g.turns(r)})
		from, last = to, x
	}
	return ways
}

// turns says whether the metal comes round a corner into a run: of a lying flask
// from the upright sprue, of a standing one into a level runner.
func (g *graph) turns(r Run) bool {
	if g.Lying {
		return r3.Norm(r.From) < 1e-6
	}
	return math.Abs(r.To.X-r.From.X) > math.Abs(r.To.Y-r.From.Y)
}

// on is the junction from which a gate leaves the runs: of one that begins at the
// wall of the sprue's foot, that.
func (g *graph) on(trunks []Run, gate Run) int {
	for _, r := range trunks {
		if at, _, ok := foot(r, gate); ok {
			return g.node(at)
		}
	}
	return g.node(slices.MinFunc(g.nodes, func(a, b r3.Vec) int {
		return cmp.Compare(r3.Norm(r3.Sub(a, gate.From)), r3.Norm(r3.Sub(b, gate.From)))
	}))
}

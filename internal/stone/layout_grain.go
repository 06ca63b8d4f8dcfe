package stone

import (
	"math"

	"pourwright/internal/calc"
)

const ribLeastMM = 0.2 // clay between two stones, under which it crumbles

var srcShared = calc.Source{For: "shared grains", Text: "neighbours in a row share the grains between them and hold the better for it (common practice); that a shared grain reaches at least 0.1 mm in over either stone and that a rib of clay under 0.2 mm crumbles are our choice", Status: calc.Practice}

// grainAll places the grains of every stone: first those that neighbours
// share, then its own. No grain lies across the parting line.
func (r ring) grainAll(stones []seated) {
	if r.in.Grains == 0 {
		return
	}
	left, right := make([]bool, len(stones)), make([]bool, len(stones)) // the side towards the last and the next is held
	for i := range stones {
		j, arc, ok := r.next(stones, i)
		if !ok || !r.in.ShareGrains || r.in.Grains != 4 || len(stones) < 2 {
			continue
		}
		if r.share(&stones[i], &stones[j], arc) {
			right[i], left[j] = true, true
		}
	}
	for i := range stones {
		r.own(&stones[i], left[i], right[i])
	}
}

// share puts two grains into the notches between neighbours, one on either
// side of the row, each over both stones: the smallest that reach far enough
// in over either and do not touch one another. It reports whether they fit.
func (r ring) share(a, b *seated, arcDeg float64) bool {
	if !round(a.body) || !round(b.body) {
		return false
	}
	const sizes = 12
	least, most := max(a.GrainMM, b.GrainMM)/2, min(a.grains.LargestMM, b.grains.LargestMM)/2
	for k := range sizes + 1 {
		radius := least + (most-least)*float64(k)/sizes
		if radius > most*(1+1e-9) {
			return false
		}
		x, y, ok := notch(a.body.WidthMM/2, b.body.WidthMM/2, r.along(arcDeg), radius)
		if !ok || !r.offParting(a.AcrossMM+y, radius) || !r.offParting(a.AcrossMM-y, radius) {
			continue
		}
		for _, side := range []float64{y, -y} {
			number := b.Number
			a.Grains = append(a.Grains, PlacedGrain{r.wrapMM(a.AlongMM + x), a.AcrossMM + side, 2 * radius, &number})
		}
		return true
	}
	return false
}

// notch is the middle of a grain of the given radius in the notch between two
// round stones of radius ra and rb, d apart: x from the first along the row, y
// beside it. The grain reaches equally far in over both, at most half of it is
// over stones, and it clears its twin on the other side; false where it would
// reach in less than lipLeastMM.
func notch(ra, rb, d, radius float64) (x, y float64, ok bool) {
	at := func(y float64) (x, bite float64) { // equal bites: ra + radius - da = rb + radius - db
		x = d / 2
		lo, hi := 0.0, d
		for range 30 {
			if ra == rb {
				break
			}
			x = (lo + hi) / 2
			if ra-math.Hypot(x, y) > rb-math.Hypot(d-x, y) {
				lo = x
			} else {
				hi = x
			}
		}
		return x, ra + radius - math.Hypot(x, y)
	}
	over := func(y float64) float64 {
		x, _ := at(y)
		return (lens(ra, radius, math.Hypot(x, y)) + lens(rb, radius, math.Hypot(d-x, y))) / (math.Pi * radius * radius)
	}
	lo, hi := 1.05*radius, 1.05*radius
	if over(lo) > overStone { // further out until half is over stones
		hi = max(ra, rb) + radius
		for range 30 {
			if mid := (lo + hi) / 2; over(mid) > overStone {
				lo = mid
			} else {
				hi = mid
			}
		}
	}
	x, bite := at(hi)
	return x, hi, bite >= lipLeastMM
}

// own puts the stone's own grains where it is not yet held by shared ones.
func (r ring) own(s *seated, left, right bool) {
	n := r.in.Grains
	for _, p := range r.places(s, n) {
		side := math.Cos(p.AngleDeg * math.Pi / 180)
		if n == 4 && (side > 0.1 && right || side < -0.1 && left) {
			continue
		}
		s.Grains = append(s.Grains, PlacedGrain{r.wrapMM(s.AlongMM + p.AlongMM), s.AcrossMM + p.AcrossMM, s.GrainMM, nil})
	}
}

// places are where a stone's grains stand, turned away from the parting line
// where the stone lies on it.
func (r ring) places(s *seated, n int) []GrainPlace {
	g := s.body.girdle()
	if s.AcrossMM != 0 || n != 4 || len(g.points) > 0 {
		return s.grains.Places
	}
	top := place(s.body, g, 90, s.GrainMM/2)
	edge := top.AcrossMM // from the middle, across
	need := math.Asin(min(1, (s.GrainMM/2+partingMM)/edge)) * 180 / math.Pi
	apart := math.Acos(min(1, grainSpaces*s.GrainMM/2/edge)) * 180 / math.Pi // the two on one side do not touch
	a := max(45, need)
	angles := []float64{a, 180 - a, 180 + a, 360 - a}
	if a > max(apart, 45) {
		angles = []float64{90, 270} // no room for two on a side
	}
	var out []GrainPlace
	for _, angle := range angles {
		out = append(out, place(s.body, g, angle, s.GrainMM/2))
	}
	return out
}

// wrapMM brings a way round the outer face into its first round.
func (r ring) wrapMM(along float64) float64 { return r.along(wrap(along / r.along(1))) }

func (r ring) offParting(acrossMM, radius float64) bool {
	return math.Abs(acrossMM) >= radius+partingMM-1e-9
}

// judgeGrains finds grains that cross the parting line, touch one another or
// lie on a stone that is not theirs.
func (r ring) judgeGrains(out *LayoutOut, stones []seated) {
	around := 2 * math.Pi * r.face
	apart := func(a, b float64) float64 { return math.Abs(math.Remainder(a-b, around)) }
	for i := range stones {
		s := &stones[i]
		for k, g := range s.Grains {
			if !r.offParting(g.AcrossMM, g.DiameterMM/2) {
				out.fault("grain_parting", "a grain comes within %.2f mm of the parting line (negative: across it); use 2 or 4 grains, or a row in one half", math.Abs(g.AcrossMM)-g.DiameterMM/2, s.Number)
			}
			for _, h := range s.Grains[k+1:] {
				if d := math.Hypot(apart(g.AlongMM, h.AlongMM), g.AcrossMM-h.AcrossMM) - (g.DiameterMM+h.DiameterMM)/2; d < -1e-9 {
					out.fault("grains_touch", "two of its grains overlap by %.2f mm", -d, s.Number)
				}
			}
			for _, j := range r.near(stones, i) {
				o := &stones[j]
				if g.SharedWith == nil || *g.SharedWith != o.Number {
					d := math.Hypot(apart(g.AlongMM, o.AlongMM), g.AcrossMM-o.AcrossMM) - g.DiameterMM/2 - max(o.LengthMM, o.WidthMM)/2
					if d < -1e-9 && round(o.body) {
						out.fault("grain_on_neighbour", "a grain reaches %.2f mm over the next stone", -d, s.Number, o.Number)
					}
				}
				for _, h := range o.Grains {
					if d := math.Hypot(apart(g.AlongMM, h.AlongMM), g.AcrossMM-h.AcrossMM) - (g.DiameterMM+h.DiameterMM)/2; d < -1e-9 && i < j {
						out.fault("grains_touch", "grains of neighbours overlap by %.2f mm", -d, s.Number, o.Number)
					}
				}
			}
		}
	}
}

// near lists the stones close enough to i for their grains to meet.
func (r ring) near(stones []seated, i int) []int {
	var out []int
	s := stones[i]
	for j, o := range stones {
		reach := s.LengthMM + o.LengthMM + s.GrainMM + o.GrainMM
		if j != i && math.Abs(math.Remainder(s.AlongMM-o.AlongMM, 2*math.Pi*r.face)) < reach {
			out = append(out, j)
		}
	}
	return out
}

package stone

import (
	"math"
)

// grainAll places the grains of every stone: first those that neighbours
// share, then its own. No grain lies across the parting line.
func (r ring) grainAll(out *LayoutOut) {
	if r.in.Grains == 0 {
		return
	}
	stones := out.Stones
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
	for _, s := range stones {
		out.GrainCount += len(s.Grains)
	}
}

// share puts two grains between neighbours, a quarter of each over either
// stone, so that half of it is over stones. It reports whether they fit.
func (r ring) share(a, b *PlacedStone, arcDeg float64) bool {
	if !round(a.body) || !round(b.body) {
		return false
	}
	radius := max(a.GrainMM, b.GrainMM) / 2
	da, db := quarterOffset(a.body, radius), quarterOffset(b.body, radius)
	d := r.along(arcDeg) // along the face
	x := (d*d + da*da - db*db) / (2 * d)
	y := da*da - x*x
	if y <= 0 {
		return false // the gap is too wide to reach both
	}
	if y = math.Sqrt(y); y < 1.05*radius || !r.offParting(a.AcrossMM+y, radius) || !r.offParting(a.AcrossMM-y, radius) {
		return false
	}
	for _, side := range []float64{y, -y} {
		number := b.Number
		a.Grains = append(a.Grains, PlacedGrain{r.wrapMM(a.AlongMM + x), a.AcrossMM + side, 2 * radius, &number})
	}
	return true
}

func round(s solid) bool { return s.rule.outline == ellipse && s.LengthMM == s.WidthMM }

// quarterOffset is the distance from a round stone's middle at which a
// quarter of a grain of radius r lies over it.
func quarterOffset(s solid, r float64) float64 {
	big := s.WidthMM / 2
	lo, hi := math.Abs(big-r), big+r
	for range 60 {
		mid := (lo + hi) / 2
		if lens(big, r, mid) > overStone/2*math.Pi*r*r {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// own puts the stone's own grains where it is not yet held by shared ones.
func (r ring) own(s *PlacedStone, left, right bool) {
	n := r.in.Grains
	offset, _ := grainOffset(s.body, s.GrainMM/2)
	for _, angle := range r.angles(s, n, offset) {
		side := math.Cos(angle * math.Pi / 180)
		if n == 4 && (side > 0.1 && right || side < -0.1 && left) {
			continue
		}
		p := place(s.body, angle, offset)
		s.Grains = append(s.Grains, PlacedGrain{r.wrapMM(s.AlongMM + p.AlongMM), s.AcrossMM + p.AcrossMM, s.GrainMM, nil})
	}
}

// angles are the directions of a stone's grains, turned away from the parting
// line where the stone lies on it.
func (r ring) angles(s *PlacedStone, n int, offset float64) []float64 {
	even := make([]float64, n)
	for i := range n {
		even[i] = 180/float64(n) + 360*float64(i)/float64(n)
	}
	if s.AcrossMM != 0 || n != 4 {
		return even
	}
	edge := s.WidthMM/2 + offset
	need := math.Asin(min(1, (s.GrainMM/2+partingMM)/edge)) * 180 / math.Pi
	apart := math.Acos(min(1, grainSpaces*s.GrainMM/2/edge)) * 180 / math.Pi // the two on one side do not touch
	a := max(45, need)
	if a > max(apart, 45) {
		return []float64{90, 270} // no room for two on a side
	}
	return []float64{a, 180 - a, 180 + a, 360 - a}
}

// wrapMM brings a way round the outer face into its first round.
func (r ring) wrapMM(along float64) float64 { return r.along(wrap(along / r.along(1))) }

func (r ring) offParting(acrossMM, radius float64) bool {
	return math.Abs(acrossMM) >= radius+partingMM-1e-9
}

// judgeGrains finds grains that cross the parting line, touch one another or
// lie on a stone that is not theirs.
func (r ring) judgeGrains(out *LayoutOut) {
	around := 2 * math.Pi * r.face
	apart := func(a, b float64) float64 { return math.Abs(math.Remainder(a-b, around)) }
	for i := range out.Stones {
		s := &out.Stones[i]
		if r.in.Grains > 0 && (s.GrainsFill == FillsDoubtful || s.GrainsFill == FillsNot) {
			out.fault("grain_fill", "whether its grains fill at a head of %.0f mm is doubtful", s.HeadMM, s.Number)
		}
		for k, g := range s.Grains {
			if !r.offParting(g.AcrossMM, g.DiameterMM/2) {
				out.fault("grain_parting", "a grain comes within %.2f mm of the parting line (negative: across it); use 2 or 4 grains, or a row in one half", math.Abs(g.AcrossMM)-g.DiameterMM/2, s.Number)
			}
			for _, h := range s.Grains[k+1:] {
				if d := math.Hypot(apart(g.AlongMM, h.AlongMM), g.AcrossMM-h.AcrossMM) - (g.DiameterMM+h.DiameterMM)/2; d < -1e-9 {
					out.fault("grains_touch", "two of its grains overlap by %.2f mm", -d, s.Number)
				}
			}
			for _, j := range r.near(out.Stones, i) {
				o := &out.Stones[j]
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
func (r ring) near(stones []PlacedStone, i int) []int {
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

package heat

import "math"

// metalSpread returns a bound on the fastest rate of the metal over the slope of
// Theta: for any weights x > 0, the largest Σ|a_ij|x_j/x_i (L. Collatz, Math. Z.
// 48 (1942) 221). With weights of one it is Gershgorin's; a few rounds of
// x ← |A|x bring it down from small cells' own sum to what they share.
func (s *solver) metalSpread() float64 {
	const rounds = 4
	x, sum := make([]float64, len(s.h)), make([]float64, len(s.h))
	for i := range x {
		x[i] = 1
	}
	least := math.Inf(1)
	for range rounds {
		bound, top := 0.0, 0.0
		for i, link := range s.link {
			sum[i] = 0
			for side, w := range link {
				sum[i] += float64(w) * (x[i] + x[s.next[i][side]])
			}
			sum[i] *= float64(s.inverse[i])
			bound, top = max(bound, sum[i]/x[i]), max(top, sum[i])
		}
		least = min(least, bound)
		for i := range x {
			x[i] = max(sum[i]/max(top, 1e-300), 1e-6)
		}
	}
	return least
}

// clayRate returns a bound on the fastest rate of clay and walls, at the best
// contact there will be, in the manner of [solver.metalSpread]. A wall's own sum
// only falls as it weighs more, that of its cell rises; the bound is the least
// for which there is a weight that suits both.
func (s *solver) clayRate() float64 {
	best := max(s.contact(0), s.contact(1))
	for e := range s.walls {
		s.conduct(e, best)
	}
	d := s.meters()
	low := 12 * s.clay.Diffusivity() / (d * d)
	high := low
	for !s.bounds(high) {
		low, high = high, 1.5*high
	}
	for high > 1.02*low {
		if mid := (low + high) / 2; s.bounds(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}

// bounds tells whether no cell or wall need change faster than rate.
func (s *solver) bounds(rate float64) bool {
	for i := range s.odd {
		o := &s.odd[i]
		links := float32(0)
		for _, w := range o.link {
			links += w
		}
		sum := 2 * float64(links*s.oddInverse[i])
		if i < s.touchCount() {
			for e := s.touching[i]; e < s.touching[i+1]; e++ {
				w := &s.walls[e]
				weight := 0.0 // metal stands still for the clay
				if w.inverse > 0 {
					spare := rate/float64(w.inverse) - float64(w.in+w.out)
					if spare <= 0 {
						return false
					}
					weight = float64(w.out) / spare
				}
				sum += float64(w.out) * (1 + weight) * s.clayHeat(o)
			}
		}
		if sum > rate {
			return false
		}
	}
	return true
}

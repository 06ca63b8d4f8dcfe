package heat

import (
	"context"
	"fmt"
	"math"

	"pourwright/internal/calc"
)

// plan says how finely time is cut: a step is rel of the time since the pour,
// counted from first on, and bounded by what the stages allow.
type plan struct {
	first float64 // s; about a hundredth of the time that the thinnest part takes
	rel   float64
	most  float64 // s, a step: the contact is met step by step, so a step must not cool the thinnest part much; 0 for no bound
	limit float64 // s, after which it is given up
	close float64 // enthalpy at which feeding through a place stops, J/kg
}

const (
	defaultRel     = 0.04
	quick          = 1.0 // over the fastest rate of clay and contact; shorter steps show nothing that the cells can hold
	mostStages     = 121 // of the metal
	mostStagesClay = 201
)

// history is what is kept of a run, per metal node.
type history struct {
	closed, frozen []float32 // s; NaN while not yet
	gradient, rate []float32 // K/mm and K/s near the end of freezing
	time, solid    []float64 // the share of metal that is solid, against time
	steps          int
	heat           float64 // J lost by the metal
	drift          float64 // of the whole heat, relative to that lost
	warmest        float64 // °C, at the outer bound of the clay
	done           bool
	maxStages      int
}

// march runs until all metal is frozen, or the limit.
func (s *solver) march(ctx context.Context, p plan) (*history, error) {
	n := len(s.h)
	r := &history{closed: blank(n), frozen: blank(n), gradient: blank(n), rate: blank(n)}
	before := make([]float64, n)
	metal0, all0 := s.heat()
	r.note(s, 0)
	reading := s.alloy.enthalpyAt(niyamaAt)
	for t := 0.0; t < p.limit; {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		copy(before, s.h)
		s.setContact()
		tau := min(max(p.rel*(t+p.first), quick/s.rate), longest(mostStagesClay, s.rate), p.limit-t+1e-9)
		if p.most > 0 {
			tau = min(tau, p.most)
		}
		if rateM := s.metalRate(); rateM > 0 {
			tau = min(tau, longest(mostStages, rateM))
		}
		// The last latent heat can go in a moment: come up to it in small steps.
		if end := r.untilSolid(); end < 4*tau {
			tau = max(end/4, tau/16)
		}
		s.clayStep(ctx, tau)
		s.metalStep(ctx, tau)
		r.maxStages = max(r.maxStages, s.stagesM)
		left := r.record(s, before, t, tau, p.close, reading)
		if math.IsNaN(s.h[0]) {
			return nil, fmt.Errorf("heat: the march diverged after %g s", t)
		}
		t += tau
		r.steps++
		share := r.note(s, t)
		if r.steps%8 == 0 {
			calc.Progress(ctx, share, "freezing")
		}
		if left == 0 {
			r.done = true
			break
		}
	}
	metal1, all1 := s.heat()
	r.heat = metal0 - metal1
	r.drift = (all1 - all0) / r.heat
	r.warmest = s.boundary(ctx)
	return r, ctx.Err()
}

// untilSolid returns the time until all is solid at the present rate.
func (r *history) untilSolid() float64 {
	n := len(r.time)
	if n < 2 || r.solid[n-1] <= r.solid[n-2] {
		return math.Inf(1)
	}
	return (1 - r.solid[n-1]) * (r.time[n-1] - r.time[n-2]) / (r.solid[n-1] - r.solid[n-2])
}

// niyamaAt is the solid fraction at which gradient and cooling rate are read.
const niyamaAt = 0.9

func blank(n int) []float32 {
	v := make([]float32, n)
	for i := range v {
		v[i] = float32(math.NaN())
	}
	return v
}

// record notes which nodes passed a mark during the step, and when, straight
// between the two ends. It returns how many still hold liquid.
func (r *history) record(s *solver, before []float64, t, tau, closing, reading float64) (left int) {
	cross := func(i int, mark float64) float32 {
		return float32(t + tau*(before[i]-mark)/(before[i]-s.h[i]))
	}
	for i, h := range s.h {
		if h > s.alloy.EndH {
			left++
		}
		if h > closing && h > reading {
			continue
		}
		b := before[i]
		if math.IsNaN(float64(r.closed[i])) && h <= closing {
			r.closed[i] = 0
			if b > closing {
				r.closed[i] = cross(i, closing)
			}
		}
		if b > reading && h <= reading {
			now, then := s.alloy.look(s.alloy.T, h), s.alloy.look(s.alloy.T, b)
			r.gradient[i], r.rate[i] = s.gradient(i), float32(float64(then-now)/tau)
		}
		if h <= s.alloy.EndH && math.IsNaN(float64(r.frozen[i])) {
			r.frozen[i] = 0
			if b > s.alloy.EndH {
				r.frozen[i] = cross(i, s.alloy.EndH)
			}
		}
	}
	return left
}

// gradient returns the size of the temperature gradient at a node, K/mm, by
// the neighbours there are.
func (s *solver) gradient(i int) float32 {
	sum := 0.0
	at := func(n int32) float64 { return float64(s.alloy.look(s.alloy.T, s.h[n])) }
	for axis := range 3 {
		lo, hi := s.next[i][2*axis], s.next[i][2*axis+1]
		span := 0.0
		if int(lo) != i {
			span += s.D
		}
		if int(hi) != i {
			span += s.D
		}
		if span > 0 {
			g := (at(hi) - at(lo)) / span
			sum += g * g
		}
	}
	return float32(math.Sqrt(sum))
}

// note keeps the share of metal that is solid.
func (r *history) note(s *solver, t float64) float64 {
	solid, whole := 0.0, 0.0
	for i, h := range s.h {
		v := float64(s.volume[i])
		solid += v * float64(s.alloy.look(s.alloy.Solid, h))
		whole += v
	}
	r.time, r.solid = append(r.time, t), append(r.solid, solid/whole)
	return solid / whole
}

// metalRate returns the fastest rate of conduction in the metal as it stands.
func (s *solver) metalRate() float64 {
	low, high := s.h[0], s.h[0]
	for _, h := range s.h {
		low, high = min(low, h), max(high, h)
	}
	margin := 0.02*(high-low) + 2*s.alloy.Step
	return s.spread * s.alloy.slope(s.alloy.Theta, low-margin, high+margin)
}

// heat returns the heat in the metal, and in metal and clay, in J.
func (s *solver) heat() (metal, all float64) {
	d := s.meters()
	for i, h := range s.h {
		metal += h * float64(s.volume[i])
	}
	metal *= s.alloy.Rho * d * d * d
	clay := 0.0
	for i := range s.rows {
		r := &s.rows[i]
		for _, t := range s.t[r.from : r.from+r.count] {
			clay += float64(t) - s.clay.Start
		}
	}
	for _, o := range s.odd {
		clay += (float64(s.t[o.cell]) - s.clay.Start) * float64(o.volume)
	}
	for e := range s.walls {
		if inverse := float64(s.walls[e].inverse); inverse > 0 {
			clay += (float64(s.walls[e].t) - s.clay.Start) / (inverse * s.clay.Rho * s.clay.C * d * d * d)
		}
	}
	return metal, metal + clay*s.clay.Rho*s.clay.C*d*d*d
}

// boundary returns the highest temperature at the outer bound of the clay.
func (s *solver) boundary(ctx context.Context) float64 {
	hottest := s.clay.Start
	for n, c := range s.place {
		if gone(ctx, n) {
			break
		}
		if c == none || s.oddAt[n] != none && int(s.oddAt[n]) < s.touchCount() {
			continue
		}
		for side := range 6 {
			if at, ok := s.neighbour(int(c), side); !ok || s.metal[at] == 0 && s.clayAt[at] == none {
				hottest = max(hottest, float64(s.t[n]))
			}
		}
	}
	return hottest
}

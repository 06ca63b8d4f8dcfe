package fill

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
)

const (
	hottest = 150.0 // K over the liquidus: silver and gold in small moulds, 50 to 150 K (from memory)
	warmest = 90.0  // °C of an oil-bonded mould: well below smoking oil; common practice, no source
)

// lever is a practical change of size x: what it makes of an input, in words,
// or false where it does not apply.
type lever struct {
	name   string
	usual  float64 // size of the change that is tried
	most   float64 // largest that is sensible
	fixed  bool    // there is only one size of it
	effort float64 // of the usual size, 1 for the least; our estimate
	apply  func(in *In, x float64) (words string, ok bool)
}

// levers in the order of the bench.
func (j *job) levers(ctx context.Context, before *risk, margin float64) ([]Lever, *Smallest, error) {
	base := before.failure().p
	out := []Lever{}
	var tried []trial
	for _, l := range j.choices() {
		t, err := j.try(ctx, l, l.usual)
		if err != nil {
			return nil, nil, err
		}
		if t == nil {
			continue
		}
		tried = append(tried, *t)
		out = append(out, Lever{Lever: l.name, Change: t.words, FailurePct: 100 * t.failure,
			GainPct: 100 * (base - t.failure), MarginGain: t.margin - margin, Effort: l.effort})
	}
	slices.SortStableFunc(out, func(a, b Lever) int {
		if c := cmp.Compare(b.GainPct/b.Effort, a.GainPct/a.Effort); c != 0 {
			return c
		}
		return cmp.Compare(b.MarginGain/b.Effort, a.MarginGain/a.Effort)
	})
	if 100*base <= j.in.RiskLimitPct {
		return out, nil, nil
	}
	smallest, err := j.smallest(ctx, tried)
	return out, smallest, err
}

// trial is a lever tried at one size.
type trial struct {
	lever
	words   string
	failure float64
	margin  float64
}

// try assesses the pour with the lever set to x; nil where it does not apply.
// The members are the same as without it, so that the difference is the
// change's and not the sampling's.
func (j *job) try(ctx context.Context, l lever, x float64) (*trial, error) {
	in := j.in
	rate := 1e9 * j.rate // the hand pours as before
	in.PourRateMM3S = &rate
	words, ok := l.apply(&in, x)
	if !ok {
		return nil, nil
	}
	changed, err := prepare(ctx, in)
	if err != nil {
		return nil, nil // the change leads out of what is accepted
	}
	r, err := assess(ctx, changed)
	if err != nil {
		return nil, err
	}
	w := new(run)
	w.follow(changed, changed.planned())
	return &trial{l, words, r.failure().p, w.judge().margin}, nil
}

const (
	candidates = 3 // levers that are tried for the smallest change
	halvings   = 4 // of the size: to a sixteenth
)

// smallest looks for the least trouble that brings the risk under the limit:
// of the levers that can, the sizes just sufficient, found by bisection.
func (j *job) smallest(ctx context.Context, tried []trial) (*Smallest, error) {
	limit := j.in.RiskLimitPct / 100
	enough := slices.DeleteFunc(slices.Clone(tried), func(t trial) bool { return t.failure > limit })
	if len(enough) == 0 { // then the best of them at full size
		slices.SortStableFunc(tried, func(a, b trial) int { return cmp.Compare(a.failure, b.failure) })
		for _, t := range tried[:min(candidates, len(tried))] {
			if t.fixed || t.most <= t.usual {
				continue
			}
			more, err := j.try(ctx, t.lever, t.most)
			if err != nil {
				return nil, err
			}
			if more != nil && more.failure <= limit {
				more.effort *= t.most / t.usual
				more.usual = t.most
				enough = append(enough, *more)
			}
		}
	}
	slices.SortStableFunc(enough, func(a, b trial) int { return cmp.Compare(a.effort, b.effort) })
	var best *trial
	for _, t := range enough[:min(candidates, len(enough))] {
		least, err := j.shrink(ctx, t, limit)
		if err != nil {
			return nil, err
		}
		if best == nil || least.effort < best.effort {
			best = &least
		}
	}
	if best == nil {
		return nil, nil
	}
	return &Smallest{best.name, best.words, 100 * best.failure}, nil
}

// shrink halves its way to the least size of t that keeps to the limit.
func (j *job) shrink(ctx context.Context, t trial, limit float64) (trial, error) {
	if t.fixed {
		return t, nil
	}
	full, effort := t.usual, t.effort
	lo, hi := 0.0, full
	for range halvings {
		mid := (lo + hi) / 2
		m, err := j.try(ctx, t.lever, mid)
		if err != nil {
			return t, err
		}
		if m != nil && m.failure <= limit {
			hi = mid
			m.effort = effort * mid / full
			t = *m
		} else {
			lo = mid
		}
	}
	return t, nil
}

// choices are the levers with their usual sizes. Efforts are our own
// estimate: 1 turns a knob, 2 needs the mould opened or the pattern worked,
// 3 changes the piece or the whole set-up.
func (j *job) choices() []lever {
	return []lever{
		{"thicken", 0.3, 1.2, false, 3, thicken},
		{"raise_pattern", 5, j.in.SprueLengthMM - 4, false, 2, func(in *In, x float64) (string, bool) {
			in.SprueLengthMM -= x
			return fmt.Sprintf("set the pattern %.3g mm higher, under a shorter sprue", x), in.SprueLengthMM >= 4-1e-9
		}},
		{"deepen_pattern", 10, 30, false, 2, func(in *In, x float64) (string, bool) {
			in.SprueLengthMM += x
			return fmt.Sprintf("set the pattern %.3g mm deeper, under a longer sprue, for more head", x), true
		}},
		{"fill_funnel", 8, 20, false, 1, func(in *In, x float64) (string, bool) {
			in.FunnelHeadMM += x
			return fmt.Sprintf("keep the funnel %.3g mm fuller", x), true
		}},
		{"widen_sprue", 2, 6, false, 1.5, func(in *In, x float64) (string, bool) {
			in.SprueDiameterMM += x
			return fmt.Sprintf("widen the sprue by %.3g mm to %.3g mm", x, in.SprueDiameterMM), true
		}},
		{"second_sprue", 1, 1, true, 2, func(in *In, _ float64) (string, bool) {
			ok := in.SprueCount == 1
			in.SprueCount = 2
			return fmt.Sprintf("cut a second sprue, %.0f° from the first", in.SpreadDeg), ok
		}},
		{"hotter", 30, j.alloy.LiquidusC() + hottest - j.pourC, false, 1, func(in *In, x float64) (string, bool) {
			c := j.pourC + x
			in.PourC = &c
			return fmt.Sprintf("pour %.0f K hotter, at %.0f °C", x, c), c <= j.alloy.LiquidusC()+hottest+1e-9
		}},
		{"faster", 30, 50, false, 1, func(in *In, x float64) (string, bool) {
			rate := *in.PourRateMM3S / (1 - x/100)
			in.PourRateMM3S = &rate
			seconds := 1e9 * j.whole / rate
			return fmt.Sprintf("pour faster: all of it in %.2g s", seconds), seconds >= 0.4
		}},
		{"vents", 2, 6, false, 1, func(in *In, x float64) (string, bool) {
			in.VentCount += int(math.Ceil(x))
			return fmt.Sprintf("cut %d more vents at the place that fills last", int(math.Ceil(x))), in.VentCount <= 12
		}},
		{"turn", 1, 1, true, 2, j.turnOver},
		{"lay_flask", 1, 1, true, 2.5, func(in *In, _ float64) (string, bool) {
			ok := in.Posture == "standing"
			in.Posture = "lying"
			return "lay the flask so that the metal runs round level", ok
		}},
		{"stand_flask", 1, 1, true, 2.5, func(in *In, _ float64) (string, bool) {
			ok := in.Posture == "lying"
			in.Posture, in.Gate = "standing", "top"
			return "stand the flask up, with the gate on top", ok
		}},
		{"feed_below", 1, 1, true, 3, j.feedBelow},
		{"warm_mould", 40, warmest - j.in.ClayC, false, 1.5, func(in *In, x float64) (string, bool) {
			in.ClayC += x
			return fmt.Sprintf("warm the mould by %.0f K to %.0f °C", x, in.ClayC), in.ClayC <= warmest+1e-9
		}},
	}
}

// thicken raises the thinnest places by x mm.
func thicken(in *In, x float64) (string, bool) {
	switch {
	case len(in.Stations) > 0:
		least, _ := in.Stations.Thinnest()
		in.Stations = slices.Clone(in.Stations)
		for i := range in.Stations {
			in.Stations[i].ThicknessMM = max(in.Stations[i].ThicknessMM, least+x)
		}
	case in.ThinSpot != nil:
		t := *in.ThinSpot
		t.ThicknessMM += x
		in.Section.ThicknessMM = max(in.Section.ThicknessMM, t.ThicknessMM)
		in.ThinSpot = &t
	default:
		in.Section.ThicknessMM += x
		return fmt.Sprintf("make the whole section %.2g mm thicker", x), true
	}
	return fmt.Sprintf("thicken the thinnest place by %.2g mm", x), true
}

// turnOver puts the thickest part of a band where it is not.
func (j *job) turnOver(in *In, _ float64) (string, bool) {
	if !in.isBand() || len(j.profile) < 2 {
		return "", false
	}
	if j.profile.At(0).ThicknessMM > j.profile.At(0.5).ThicknessMM {
		in.Thickest = "far"
		return "turn the pattern so that its thickest part lies opposite the gate", true
	}
	in.Thickest = "at_gate"
	return "turn the pattern so that its thickest part lies at the gate", true
}

// feedBelow leads a sprue of enough length down to the bottom of the piece.
func (j *job) feedBelow(in *In, _ float64) (string, bool) {
	if in.Posture != "standing" || in.Gate == "bottom" {
		return "", false
	}
	in.SprueLengthMM += 1e3 * math.Abs(j.lowest())
	in.Gate = "bottom"
	return "lead the sprue down and gate the piece from below", in.SprueLengthMM <= 200
}

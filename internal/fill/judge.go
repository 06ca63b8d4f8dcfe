package fill

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"pourwright/internal/fill/network"
	"pourwright/internal/verdict"
)

// How far over the accepted risk is still a matter of care, and when the band
// says nothing: our choice.
const (
	careTimes  = 2.5
	tellLow    = 0.5 // of the limit: some studios hardly ever fail
	tellHigh   = 70  // %: and others mostly do
	thinClayMM = 8.0
	leastClay  = 3.0
)

// level is the verdict of a chance of failure alone.
func level(limit float64, c Chance) verdict.Level {
	switch {
	case c.FailurePct <= limit:
		return verdict.Go
	case c.LowPct < tellLow*limit && c.HighPct > tellHigh:
		return verdict.CannotTell
	case c.FailurePct <= careTimes*limit && c.FailurePct <= 50:
		return verdict.Care
	}
	return verdict.DoNotPour
}

// judgeFill gives the reason that the fill has against the pour, if any, with
// the improvement that meets it.
func (o *Out) judgeFill(ctx context.Context, j *job, r *risk) error {
	limit := j.in.RiskLimitPct
	level := level(limit, o.Chance)
	if level != verdict.Go {
		do := ""
		if best := o.Enough(); best != nil {
			do = best.Do + fmt.Sprintf(" Then %s fail.", best.Words)
		} else if len(o.Improvements) > 0 {
			do = o.Improvements[0].Do + fmt.Sprintf(" That alone is not enough: then %s fail.", o.Improvements[0].Words)
		}
		if j.shared && o.Enough() == nil {
			do = strings.TrimSpace(do + " Pour it by itself, or fewer pieces to a flask.")
		}
		if level == verdict.CannotTell {
			test, err := j.cheapest(ctx)
			if err != nil {
				return err
			}
			do = strings.TrimSpace(test + do)
		}
		o.Reasons.Add(verdict.Fill, level, do, "%s pours fail, more than the %.3g %% accepted; mostly %s.", capital(o.Words), limit, r.worst())
	}
	return nil
}

// judgeMould gives the reasons that feeding and flask have against the pour.
func (o *Out) judgeMould(j *job) (reasons verdict.Reasons) {
	if !o.Feeding.LeadsToSprue {
		do := ""
		if o.Feeding.SprueMM > 1.05*j.in.SprueDiameterMM {
			do = fmt.Sprintf("Cut the %s %.2g mm wide.", j.feeder(), o.Feeding.SprueMM)
		} else if len(o.Feeding.HotSpots) > 0 {
			do = j.feedThick(o.Feeding.HotSpots[0].Where)
		}
		reasons.Add(verdict.Feeding, verdict.Care, do, "More than a tenth of the piece freezes cut off from the sprue and may be porous.")
	}
	if c := o.Flask.ClayWallMM; c != nil && *c < thinClayMM {
		level := verdict.Care
		if *c < leastClay {
			level = verdict.DoNotPour
		}
		reasons.Add(verdict.Flask, level, fmt.Sprintf("Take a flask that leaves %.0f mm of clay or more.", thinClayMM), "Only %.1f mm of clay is left between piece and flask; metal may break out.", *c)
	}
	return reasons
}

// feeder is what the piece hangs from.
func (j *job) feeder() string {
	if j.shared {
		return "gate and what leads to it"
	}
	return "sprue"
}

// feedThick says how a thick place that freezes last is fed.
func (j *job) feedThick(where string) string {
	if j.shared {
		return fmt.Sprintf("Set the gate at the thick place %s, or pour the piece by itself.", where)
	}
	if j.in.isBand() && !j.open() && j.in.Thickest != "at_gate" && len(j.profile) > 1 {
		return fmt.Sprintf("Turn the pattern so that its thickest part lies at the gate, or lead another sprue to the thick place %s.", where)
	}
	return fmt.Sprintf("Lead the sprue, or another one, to the thick place %s, or let the piece grow evenly thicker from it to the gate.", where)
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return string(s[0]-'a'+'A') + s[1:]
}

// Enough returns the first improvement that brings the risk to what is
// accepted; nil if none does.
func (o *Out) Enough() *Improvement {
	for i := range o.Improvements {
		if o.Improvements[i].Enough {
			return &o.Improvements[i]
		}
	}
	return nil
}

var modeWords = map[string]string{"misrun": "places that do not fill", "cold_shut": "streams that meet too cold", "broken_stream": "a stream that breaks off", "detail_loss": "lost detail", "other": "crumbs and the like"}

// worst names the way in which most of the pours fail.
func (r *risk) worst() string {
	best := FailureMode{}
	for _, m := range r.modes() {
		if m.Kind != "shrinkage" && m.Pct > best.Pct {
			best = m
		}
	}
	return modeWords[best.Kind]
}

// spots is the map over the piece; a twin gets its image.
func (j *job) spots(r *risk, cells []network.Cell) []Spot {
	out := []Spot{}
	n := float64(len(r.outcomes))
	pct := func(v float64) float64 { return math.Round(1000*v/n) / 10 }
	for i := range cells {
		c := &cells[i]
		if c.Piece != j.part || r.cells.empty == nil {
			continue
		}
		at := j.placePct(c)
		s := Spot{at, pct(r.cells.empty[i]), pct(r.cells.cold[i]), pct(r.cells.unfed[i])}
		out = append(out, s)
		if j.twin(c.Reach) && j.in.isBand() && at != 50 && at != 0 {
			s.AtPct = 100 - at
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b Spot) int { return cmp.Compare(a.AtPct, b.AtPct) })
	return out
}

func (j *job) twin(reach int) bool {
	for i := range j.stretches {
		if j.stretches[i].reach == reach {
			return j.stretches[i].twin
		}
	}
	return false
}

func sortPlaces(p []Place) {
	slices.SortStableFunc(p, func(a, b Place) int { return cmp.Compare(a.AtPct, b.AtPct) })
}

// details says how far each detail fills as planned and how often not at all.
func (w *run) details(r *risk) []DetailFill {
	out := []DetailFill{}
	for i := range w.job.in.Details {
		d := &w.job.in.Details[i]
		lost := r.share(func(o *outcome) float64 { return float64(o.details >> i & 1) })
		f := DetailFill{Kind: d.Kind, SizeMM: d.SizeMM, FilledPct: 100 * w.detail(d), LossPct: math.Round(1000*lost) / 10}
		if p := w.pressure(w.place(d.AtPct)); p > 0 {
			f.SmallestMM = 2e3 * w.metal().Gamma / p // radius of a dimple, or width of a line
		}
		out = append(out, f)
	}
	return out
}

// place returns the cell of the piece nearest to a place on the way from the gate.
func (w *run) place(pct float64) *network.Cell {
	j := w.job
	best, gap := 0, math.Inf(1)
	for i := range w.cells {
		c := &w.cells[i]
		if c.Piece != j.part {
			continue
		}
		at := j.placePct(c)
		d := math.Abs(at - pct)
		if j.in.isBand() {
			d = math.Abs(math.Remainder(at-pct, 100))
			if j.twin(c.Reach) {
				d = min(d, math.Abs(math.Remainder(at+pct, 100)))
			}
		}
		if d < gap {
			best, gap = i, d
		}
	}
	return &w.cells[best]
}

// pressure returns the greatest pressure in Pa that the metal of a cell feels
// while it is still liquid enough to move: the hand pours on after the piece
// is full.
func (w *run) pressure(c *network.Cell) float64 {
	if math.IsNaN(c.Pressed) {
		return 0
	}
	left := w.UntilEnthalpy(c, w.StopEnthalpy())
	return w.Pressure(w.HeadAfter(left), c.Height)
}

// detail returns the share of a detail's depth that the metal enters: the
// meniscus of radius 2γ|cos|/p of a dimple, γ|cos|/p of a line, sags between
// the edges of the hollow and enters when it fits.
func (w *run) detail(d *Detail) float64 {
	p := w.pressure(w.place(d.AtPct))
	if p <= 0 {
		return 0
	}
	gamma := w.metal().Gamma * w.poured.Tension
	half, depth := d.SizeMM/1e3, d.SizeMM/1e3 // a hemispherical dimple
	radius := 2 * gamma / p
	if d.Kind == "line" {
		half = d.SizeMM / 2e3
		depth = half
		if d.DepthMM > 0 {
			depth = d.DepthMM / 1e3
		}
		radius = gamma / p
	}
	if radius <= half {
		return 1
	}
	return min(1, (radius-math.Sqrt(radius*radius-half*half))/depth)
}

package fill

import (
	"context"
	"math"
	"sync/atomic"

	"github.com/sourcegraph/conc"
	"gonum.org/v1/gonum/stat/distuv"

	"pourwright/internal/calc"
	"pourwright/internal/fill/network"
)

// outcome is what matters of a member.
type outcome struct {
	misrun, cold float64 // margins
	broken       bool    // the stream broke off before the piece was full
	unfed        bool
	details      uint32 // bit set of those lost
}

func (o *outcome) margin() float64 { return min(o.misrun, o.cold) }

// blur is the model's own error of a margin: a pour that clears by less may
// fail, one that misses by less may not.
const blur = 0.03

func soft(margin float64) float64 {
	switch {
	case margin > 20*blur:
		return 0
	case margin < -20*blur:
		return 1
	}
	return 1 / (1 + math.Exp(margin/blur))
}

// fails is the chance that the member's pour fails, as far as the model holds.
func (o *outcome) fails() float64 {
	if o.broken || o.details != 0 {
		return 1
	}
	return 1 - (1-soft(o.misrun))*(1-soft(o.cold))
}

// tally counts what went wrong in each cell.
type tally struct{ empty, cold, unfed []float64 }

// risk is the outcome of all members.
type risk struct {
	job      *job
	outcomes []outcome // studio by studio
	pours    int       // of each studio
	studios  int
	cells    tally
	other    float64 // chance of what no model holds
}

// assess follows the pours of the first studios, on the cores that ctx allows;
// the answer does not depend on how many there are.
func assess(ctx context.Context, j *job, studios, pours int) (*risk, error) {
	return (&risk{job: j, other: j.other()}).grow(ctx, studios, pours)
}

// grow returns the outcome of more studios and pours, of which those of r need
// not be followed again. What it counts by cell is of the new ones alone.
func (r *risk) grow(ctx context.Context, studios, pours int) (*risk, error) {
	out := &risk{job: r.job, outcomes: make([]outcome, studios*pours), pours: pours, studios: studios, other: r.other}
	tallies := make([]tally, studios)
	overStudios(ctx, studios, func(w *run, i int) {
		s := out.job.studio(i)
		for n := range pours {
			o := &out.outcomes[i*pours+n]
			if i < r.studios && n < r.pours {
				*o = r.outcomes[i*r.pours+n]
				continue
			}
			w.follow(out.job, out.job.pour(s, points.pour[i*each+n][:]))
			*o = w.judge(&tallies[i])
		}
	})
	for i := range tallies {
		out.cells.add(&tallies[i])
	}
	return out, ctx.Err()
}

// overStudios does a studio after the other on the cores that ctx allows, until
// it ends; each core has a run of its own.
func overStudios(ctx context.Context, studios int, one func(w *run, i int)) {
	var next atomic.Int64
	var wait conc.WaitGroup // a panic becomes the caller's
	for range min(calc.Cores(ctx), studios) {
		wait.Go(func() {
			w := new(run)
			for i := int(next.Add(1)) - 1; i < studios && ctx.Err() == nil; i = int(next.Add(1)) - 1 {
				one(w, i)
			}
		})
	}
	wait.Wait()
}

// part is the outcome of the first studios and pours of r.
func (r *risk) part(studios, pours int) *risk {
	out := &risk{job: r.job, pours: pours, studios: studios, other: r.other}
	for i := range studios {
		out.outcomes = append(out.outcomes, r.outcomes[i*r.pours:i*r.pours+pours]...)
	}
	return out
}

func (t *tally) add(o *tally) {
	if t.empty == nil && len(o.empty) > 0 {
		n := len(o.empty)
		t.empty, t.cold, t.unfed = make([]float64, n), make([]float64, n), make([]float64, n)
	}
	for i := range o.empty {
		t.empty[i] += o.empty[i]
		t.cold[i] += o.cold[i]
		t.unfed[i] += o.unfed[i]
	}
}

// share of pours for which f holds.
func (r *risk) share(f func(*outcome) float64) float64 {
	sum := 0.0
	for i := range r.outcomes {
		sum += f(&r.outcomes[i])
	}
	return sum / float64(len(r.outcomes))
}

// failure is the share of pours that fail, other causes included.
func (r *risk) failure() float64 {
	return 1 - (1-r.share((*outcome).fails))*(1-r.other)
}

// Other causes: crumbs, a torn wall, a short charge, damp. Practice, no source.
const (
	otherUsual = 0.03
	otherLeast = 0.005
	otherLow   = 0.4 // times it in one studio of twenty
	otherHigh  = 2.0
	// usualMisruns is what the prior gives a standard piece, an even bangle of
	// 3 mm standing: what of a studio's own scrap the model accounts for.
	usualMisruns = 0.015
)

// other is the chance of what no model holds. A studio's own scrap rate is
// evidence on the total, so what the model accounts for is taken off it.
func (j *job) other() float64 {
	if j.in.ScrapPct == nil {
		return otherUsual
	}
	return max(otherLeast, 1-(1-*j.in.ScrapPct/100)/(1-usualMisruns))
}

// band returns the centre and what one studio in twenty falls below and above:
// a beta distribution with the mean of the studios and the variance that is
// theirs, the scatter of their few pours taken off.
func (r *risk) band() (centre, low, high float64) {
	mean, square, within := 0.0, 0.0, 0.0
	for i := range r.studios {
		p, own := 0.0, 0.0
		for n := range r.pours {
			f := r.outcomes[i*r.pours+n].fails()
			p += f
			own += f * f
		}
		n := float64(r.pours)
		p /= n
		mean += p
		square += p * p
		within += (own/n - p*p) / max(1, n-1)
	}
	n := float64(r.studios)
	mean /= n
	return bandOf(mean, (square/n-mean*mean)-within/n, r.other, 3/float64(len(r.outcomes)))
}

// bandOf is the band of studios whose share of spoilt pours has this mean and
// variance between them; where not one pour tells, open bounds what that leaves.
func bandOf(mean, between, other, open float64) (centre, low, high float64) {
	between = max(1e-9, between)
	out := func(p float64) float64 { return 1 - (1-p)*(1-other) }
	// What no model holds differs between studios too.
	less := func(p float64) float64 { return 1 - (1-p)*(1-other*otherLow) }
	more := func(p float64) float64 { return 1 - (1-p)*(1-min(0.9, other*otherHigh)) }
	if mean < 1e-6 || mean > 1-1e-6 {
		// Not one of the pours tells: the rule of three bounds what they leave open.
		if mean < 0.5 {
			return out(mean), less(0), more(open)
		}
		return out(mean), less(1 - open), more(1)
	}
	between = min(between, 0.98*mean*(1-mean))
	k := mean*(1-mean)/between - 1
	d := distuv.Beta{Alpha: mean * k, Beta: (1 - mean) * k}
	return out(mean), less(d.Quantile(0.05)), more(d.Quantile(0.95))
}

// run follows one member; its memory serves the next.
type run struct {
	network.Run
	job        *job
	poured     network.Pour
	cells      []network.Cell
	free, back []float64
	lastSpot   int
}

func (w *run) follow(j *job, p network.Pour) {
	w.job, w.poured = j, p
	w.Follow(j.mesh, &j.metal, &j.mould, p)
}

// judge reads the outcome of the member just followed and counts its places.
func (w *run) judge(t *tally) outcome {
	o := w.Outcome(w.job.part)
	out := outcome{misrun: o.Misrun, cold: o.Cold}
	out.broken = w.poured.Gap > 0 && w.poured.Break < o.Full
	w.cells = w.Cells(w.cells[:0])
	if t != nil {
		w.count(t, &o)
	}
	if o.Misrun > 0 {
		var unfed []float64
		if t != nil {
			unfed = t.unfed
		}
		out.unfed = w.feeding(nil, unfed) > isolatedShare*w.job.volume
	}
	for i := range w.job.in.Details {
		if w.detail(&w.job.in.Details[i]) < 1 {
			out.details |= 1 << i
		}
	}
	return out
}

func (w *run) count(t *tally, o *network.Outcome) {
	if t.empty == nil {
		n := len(w.cells)
		t.empty, t.cold, t.unfed = make([]float64, n), make([]float64, n), make([]float64, n)
	}
	stop := w.StopEnthalpy()
	span := w.poured.Enthalpy - stop
	for i := range w.cells {
		c := &w.cells[i]
		m := -1.0
		if !math.IsNaN(c.Pressed) {
			m = (c.Coldest - stop) / span
		}
		t.empty[i] += soft(m)
	}
	if o.ColdAt > 0 {
		t.cold[o.ColdAt-1] += soft(o.Cold)
	}
}

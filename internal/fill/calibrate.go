package fill

import (
	"context"
	"fmt"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/fill/network"
	"pourwright/internal/verdict"
)

// CalibrateIn is what a studio has poured before.
type CalibrateIn struct {
	Pours  []PastPour    `json:"pours,omitempty" maxItems:"10" doc:"Past pours and how they came out"`
	Strips []PouredStrip `json:"strips,omitempty" maxItems:"10" doc:"Test strips and wedges, and how far they ran"`
}

// PastPour is a pour with its outcome.
type PastPour struct {
	Pour      In       `json:"pour" doc:"The piece, mould and pour, as for fills, with pour_time_s if you have it from a video; its improvements, details and calibration are not used"`
	Outcome   string   `json:"outcome" enum:"full,seam,porous,short" default:"full" doc:"full: sound; seam: full, but a seam shows where streams met; porous: full, with pores; short: not full"`
	FilledPct *float64 `json:"filled_pct,omitempty" minimum:"0" maximum:"100" doc:"For short: share of the piece that came out"`
}

// CalibrateOut is what the pours say.
type CalibrateOut struct {
	Verdict   verdict.Level   `json:"verdict" enum:"go,care,cannot_tell,not_yet,do_not_pour" doc:"go: the records agree with what is known; not_yet: they contradict it or one another, so look them through first"`
	Reasons   verdict.Reasons `json:"reasons" doc:"Which records are doubtful, and why"`
	Learnt    []Learnt        `json:"learnt" doc:"Each unknown before and after"`
	Evidence  []Evidence      `json:"evidence" doc:"Each record in the order given, pours first"`
	LikelyPct float64         `json:"as_likely_pct" doc:"How often studios like those known would bring records as unlikely as all of these together; under 1 they contradict what is known"`
	Bits      float64         `json:"bits_learnt" doc:"Information gained, in bits; under 1 the pours have told little"`
	Posterior Posterior       `json:"posterior" doc:"Keep this and give it as calibration of fills"`
	calc.Notes
}

// Learnt is an unknown before and after the evidence.
type Learnt struct {
	Name   string   `json:"name" doc:"The unknown" example:"gas pressure of the clay"`
	Unit   string   `json:"unit" doc:"Its unit; empty for a fraction"`
	Before Interval `json:"before" doc:"Held before"`
	After  Interval `json:"after" doc:"Held after these records"`
}

// Interval is what is held of an unknown, in short.
type Interval struct {
	Low    float64 `json:"low" doc:"5 % lie below"`
	Median float64 `json:"median" doc:"Half lies on either side"`
	High   float64 `json:"high" doc:"5 % lie above"`
}

// Evidence is how one record was expected.
type Evidence struct {
	What        string   `json:"what" doc:"Which record" example:"pours[0]"`
	ExpectedPct float64  `json:"expected_pct" doc:"How likely its outcome was held before any record; for a strip, a run that ends in the same sixth of its length"`
	OthersPct   float64  `json:"given_others_pct" doc:"How likely, given all the other records"`
	TimePct     *float64 `json:"time_pct,omitempty" doc:"How often a hand's time is as unusual as that of the video"`
}

// Of calibrations. Our choice.
const (
	mostRecords = 20
	pastStudios = 2048
	pastPours   = 1
	// Where the evidence leaves fewer studios than these, others are drawn from
	// what it left, so much wider, and poured more often: rare outcomes need it.
	leastStudios = 400
	rounds       = 3
	widen        = 1.3
	againStudios = 1024
	againPours   = 4
	doubt        = 0.03 // chance that a record is wrong or the model misses something else
	shareError   = 0.12 // of the share that filled
	timeError    = 0.10 // logarithmic, of a time that is read from a video
)

// Calibrate finds what past pours say of the unknowns: Bayes' rule over studios
// drawn from what is held of the trade, each record followed in all of them. A
// pour fails as fills counts it. What strays from pour to pour is averaged out;
// the chance of a wrong record keeps the answer from ever being certain.
func Calibrate(ctx context.Context, in CalibrateIn) (CalibrateOut, error) {
	if err := in.check(); err != nil {
		return CalibrateOut{}, err
	}
	c := newCloud(nil, pastStudios, pastPours)
	e, err := c.records(ctx, &in)
	if err != nil {
		return CalibrateOut{}, err
	}
	out := CalibrateOut{Reasons: verdict.Reasons{}, Evidence: []Evidence{}, Notes: calc.Noting(ctx)}
	s := c.surprise(e.trials)
	out.LikelyPct = 100 * s.all
	agrees := s.agrees()
	for i, t := range e.trials {
		v := Evidence{What: e.what[i], OthersPct: 100 * s.others[i]}
		for k := range t.chances {
			v.ExpectedPct += 100 * t.chances[k][t.seen] / pastStudios
		}
		if late := e.late[i]; late != nil {
			v.TimePct = ptr(100 * *late)
			agrees = agrees && *late >= surprising/float64(len(e.trials))
		}
		out.Evidence = append(out.Evidence, v)
	}
	for _, t := range e.trials {
		c.take(t)
	}
	out.Posterior, out.Bits = compress(c.z, c.weight)
	for round := 1; round < rounds && c.effective() < leastStudios/float64(round); round++ {
		c = proposal(out.Posterior.held(), againStudios, againPours)
		if e, err = c.records(ctx, &in); err != nil {
			return CalibrateOut{}, err
		}
		for _, t := range e.trials {
			c.take(t)
		}
		out.Posterior, out.Bits = compress(c.z, c.weight)
	}
	out.Posterior.Agrees = agrees
	out.judge(&s)
	out.say()
	return out, nil
}

// past is the records of a studio, followed in every studio of a cloud.
type past struct {
	what   []string
	trials []*trial
	late   []*float64
}

// records follows them all.
func (c *cloud) records(ctx context.Context, in *CalibrateIn) (e past, err error) {
	total := float64(len(in.Pours) + len(in.Strips))
	add := func(what string, pour In, read func(w *run, o *outcome) reading) (*trial, error) {
		j, err := prepare(ctx, pour)
		if err != nil {
			return nil, err
		}
		var late *float64
		var hand []float64
		if t := pour.PourTimeS; t != nil {
			late, hand = ptr(c.late(j, *t)), c.hand(j, *t)
			j.scatter.PourRatePct = 100 * timeError // of this pour the time is known, as far as it can be read
		}
		t, err := c.follow(ctx, j, len(e.trials), read)
		if err != nil {
			return nil, err
		}
		for i, l := range hand {
			t.likely[i] *= l
		}
		e.what, e.trials, e.late = append(e.what, what), append(e.trials, t), append(e.late, late)
		calc.Progress(ctx, float64(len(e.trials))/total, "following past pours")
		return t, nil
	}
	for i := range in.Pours {
		p := &in.Pours[i]
		pour := p.Pour
		pour.Details, pour.Calibration = nil, nil
		what := fmt.Sprintf("pours[%d]", i)
		t, err := add(what, pour, p.read)
		if err != nil {
			return e, calc.Under(what+".pour", err)
		}
		t.seen = pieceClass[p.Outcome]
	}
	for i := range in.Strips {
		p := &in.Strips[i]
		what := fmt.Sprintf("strips[%d]", i)
		share := p.ReachedMM / p.LengthMM
		t, err := add(what, p.input(), func(w *run, o *outcome) reading {
			r := w.strip(o, share)
			r.likely = doubt/classes + (1-doubt)*r.likely
			return r
		})
		if err != nil {
			return e, calc.Under(what, err)
		}
		t.seen = reachClass(share)
	}
	return e, nil
}

var pieceClass = map[string]int{"full": full, "seam": seam, "porous": porous, "short": short}

// read is what a member's run says of the record.
func (p *PastPour) read(w *run, o *outcome) reading {
	r := reading{chances: w.job.piece(o)}
	k := pieceClass[p.Outcome]
	r.likely = r.chances[k]
	if k == short && p.FilledPct != nil {
		gap := (w.filled(func(c *network.Cell) float64 { return c.Volume }) - *p.FilledPct/100) / shareError
		r.likely *= math.Exp(-gap * gap / 2)
	}
	r.likely = doubt/(1+short) + (1-doubt)*r.likely
	return r
}

// judge says loudly where the records are not what could happen.
func (o *CalibrateOut) judge(s *surprises) {
	for i := range o.Evidence {
		e := &o.Evidence[i]
		switch {
		case s.doubtful(i) && e.ExpectedPct >= 100*surprising:
			o.Reasons.Add(verdict.Fill, verdict.NotYet, "Look through this record and those that say the opposite.", "%s contradicts the other records: by them its outcome had a chance of %.2g %%.", e.What, e.OthersPct)
		case s.doubtful(i):
			o.Reasons.Add(verdict.Fill, verdict.NotYet, "Look for a wrong figure or outcome in this record.", "%s is all but impossible: its outcome had a chance of %.2g %% before any record, and of %.2g %% by the others.", e.What, e.ExpectedPct, e.OthersPct)
		}
		if e.TimePct != nil && *e.TimePct < 100*surprising/float64(len(o.Evidence)) {
			o.Reasons.Add(verdict.Fill, verdict.NotYet, "Read the time again: from the first metal in the funnel until all is full.", "%s: hardly a hand pours in such a time.", e.What)
		}
	}
	if !o.Posterior.Agrees && len(o.Reasons) == 0 {
		o.Reasons.Add(verdict.Fill, verdict.NotYet, "Look for a wrong entry, or for a clay or way of pouring that is not what is described.", "All records together had a chance of %.2g %%.", o.LikelyPct)
	}
	o.Verdict = o.Reasons.Level()
}

func (o *CalibrateOut) say() {
	before, after := new(Posterior).held(), o.Posterior.held()
	for k := range unknowns {
		o.Learnt = append(o.Learnt, Learnt{unknownTable[k].Name, unknownTable[k].Unit, before.interval(k), after.interval(k)})
	}
	o.Step("information gained", o.Bits, "bit", "divergence of what is held now from what was held before, %d studios", pastStudios)
	for i := range o.Posterior.Combinations {
		c := &o.Posterior.Combinations[i]
		o.Step(fmt.Sprintf("combination %d", i+1), c.Mean, "standard deviations", "± %.2g, from 0 ± 1: %s", c.SD, c.words())
	}
	o.Cite(sources...)
	if !o.Posterior.Agrees {
		o.Warn("contradiction", calc.Danger, "These records contradict one another or all that is known: do not rely on the posterior before you have found out why.")
	}
	o.Warn("same_conditions", calc.Note, "The result holds for the clay, dressing, metal and hand that these pours had.")
}

func (in *CalibrateIn) check() error {
	var c calc.Checks
	c.Bounds(*in)
	if len(in.Pours)+len(in.Strips) == 0 {
		c.Refuse("pours", nil, "give at least one past pour or test strip")
	}
	for i := range in.Pours {
		if p := &in.Pours[i]; p.FilledPct != nil && p.Outcome != "short" {
			c.Refuse(fmt.Sprintf("pours[%d].filled_pct", i), *p.FilledPct, "give it for outcome short alone")
		}
	}
	for i := range in.Strips {
		c.Under(fmt.Sprintf("strips[%d]", i), in.Strips[i].check())
	}
	return c.Err()
}

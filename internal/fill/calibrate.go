package fill

import (
	"context"
	"fmt"
	"math"
	"runtime"

	"github.com/sourcegraph/conc"

	"pourwright/internal/calc"
	"pourwright/internal/fill/sobol"
	"pourwright/internal/fluid"
	"pourwright/internal/metal"
)

// CalibrateIn is what a studio has poured before.
type CalibrateIn struct {
	Pours  []PastPour  `json:"pours,omitempty" maxItems:"10" doc:"Past pours and how they came out"`
	Wedges []WedgeTest `json:"wedges,omitempty" maxItems:"10" doc:"Wedge tests: an upright strip that tapers to an edge, filled from its foot, and how high it filled"`
}

// PastPour is a pour with its outcome.
type PastPour struct {
	Pour      In       `json:"pour" doc:"The piece, mould and pour, as for fills; its improvements, details and calibration are not used"`
	Outcome   string   `json:"outcome" enum:"full,seam,short" default:"full" doc:"full: sound; seam: full, but a seam shows where streams met; short: not full"`
	FilledPct *float64 `json:"filled_pct,omitempty" minimum:"0" maximum:"100" doc:"For short: share of the piece that came out"`
}

// WedgeTest is a West-type taper.
type WedgeTest struct {
	LengthMM    float64  `json:"length_mm" minimum:"20" maximum:"400" doc:"Height of the strip from its foot to the edge" example:"120"`
	WidthMM     float64  `json:"width_mm" minimum:"4" maximum:"100" doc:"Width of the strip" example:"15"`
	FootMM      float64  `json:"foot_mm" minimum:"0.5" maximum:"20" doc:"Thickness at the foot; it tapers to nothing at the top" example:"2.5"`
	ReachedMM   float64  `json:"reached_mm" minimum:"1" maximum:"400" doc:"Height that the metal reached" example:"62"`
	RiseMS      float64  `json:"rise_m_s" minimum:"0.005" maximum:"2" default:"0.1" doc:"Speed at which the metal rose, m/s: height filled over the time it took"`
	HeadAboveMM float64  `json:"head_above_mm" minimum:"0" maximum:"400" default:"80" doc:"Head of metal over the tip that was reached"`
	Alloy       string   `json:"alloy" default:"silver-925" doc:"Alloy by its id"`
	PourC       *float64 `json:"pour_c,omitempty" minimum:"100" maximum:"2000" doc:"Temperature of the metal at the foot; 100 K over the liquidus if absent"`
	ClayC       float64  `json:"clay_c" minimum:"-20" maximum:"300" default:"25" doc:"Temperature of the clay"`
}

// CalibrateOut is what the pours say.
type CalibrateOut struct {
	Learnt    []Learnt   `json:"learnt" doc:"Each unknown before and after"`
	Evidence  []Evidence `json:"evidence" doc:"Each pour or wedge in the order given, pours first"`
	Bits      float64    `json:"bits_learnt" doc:"Information gained, in bits; under 1 the pours have told little"`
	Credible  bool       `json:"credible" doc:"Whether the records are what could happen: false where one of them, or all together, had a probability under 1 %"`
	Posterior Posterior  `json:"posterior" doc:"Keep this and give it as calibration of fills"`
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

// Evidence is what one pour says by itself.
type Evidence struct {
	What        string  `json:"what" doc:"Which record" example:"pours[0]"`
	ExpectedPct float64 `json:"expected_pct" doc:"For a pour: how likely its outcome was held beforehand. For a wedge: the share of the height that was expected"`
}

// Posterior is what a studio's own pours say of its clay and its hand.
type Posterior struct {
	Belief
}

const (
	pastStudios = 128
	pastPours   = 4
	rounds      = 2    // each draws its studios from what the one before left
	doubt       = 0.03 // chance that a record is wrong or the model misses something else
	reachError  = 0.25 // relative error of a run length by the model
	shareError  = 0.12 // of the share that filled
	surprising  = 0.01
)

// Calibrate finds what past pours say of the unknowns: Bayes' rule by
// importance sampling, in rounds, each from the normal distribution that the
// one before left. What strays from pour to pour is averaged out; the chance of
// a wrong record keeps the answer from ever being certain.
func Calibrate(ctx context.Context, in CalibrateIn) (CalibrateOut, error) {
	if err := in.check(); err != nil {
		return CalibrateOut{}, err
	}
	out := CalibrateOut{Evidence: []Evidence{}, Credible: true, Notes: calc.Noting(ctx)}
	from := prior
	for round := range rounds {
		c := newCloud(&from, round)
		for i := range in.Pours {
			what := fmt.Sprintf("pours[%d]", i)
			if err := c.pour(ctx, &in.Pours[i]); err != nil {
				return CalibrateOut{}, calc.Under(what+".pour", err)
			}
			if round == 0 {
				out.Evidence = append(out.Evidence, Evidence{what, 100 * c.expected})
			}
			calc.Progress(ctx, (float64(round)+float64(i+1)/float64(len(in.Pours)))/rounds, "following past pours")
		}
		for i := range in.Wedges {
			what := fmt.Sprintf("wedges[%d]", i)
			if err := c.wedge(&in.Wedges[i]); err != nil {
				return CalibrateOut{}, calc.Under(what, err)
			}
			if round == 0 {
				out.Evidence = append(out.Evidence, Evidence{what, 100 * c.expected})
			}
		}
		if round == 0 {
			out.Credible = c.credible(out.Evidence[:len(in.Pours)])
		}
		from = c.belief()
	}
	out.Posterior = Posterior{from}
	out.say(&from)
	return out, nil
}

// cloud is studios drawn from a belief, weighed by the evidence.
type cloud struct {
	x        [pastStudios][unknowns]float64
	weight   [pastStudios]float64 // before the evidence: what the prior holds over what was drawn from
	likely   [pastStudios]float64
	raw      [pastStudios]float64 // product of the bare probabilities of the records
	expected float64
}

func newCloud(b *Belief, round int) *cloud {
	c := new(cloud)
	for i := range c.x {
		var u, z [unknowns]float64
		sobol.Point(u[:], uint32(i), uint32(10+round))
		for k := range z {
			z[k] = normal(u[k])
		}
		c.x[i] = b.at(z[:])
		c.weight[i] = math.Exp(prior.logDensity(c.x[i]) - b.logDensity(c.x[i]))
		c.likely[i], c.raw[i] = 1, 1
	}
	return c
}

// logDensity up to a constant.
func (b *Belief) logDensity(x [unknowns]float64) float64 {
	sum, k := 0.0, 0
	var z [unknowns]float64
	for i := range unknowns {
		v := x[i] - b.Mean[i]
		for j := range i {
			v -= b.Lower[k] * z[j]
			k++
		}
		z[i] = v / b.Lower[k]
		sum -= z[i]*z[i]/2 + math.Log(b.Lower[k])
		k++
	}
	return sum
}

// take folds a record's likelihoods into the cloud.
func (c *cloud) take(likely *[pastStudios]float64) {
	total, sum := 0.0, 0.0
	for i, l := range likely {
		w := c.weight[i]
		total += w
		sum += w * l
		c.raw[i] *= l
		c.likely[i] *= doubt + (1-doubt)*l
	}
	c.expected = sum / total
}

// pour follows a record over the cloud.
func (c *cloud) pour(ctx context.Context, p *PastPour) error {
	in := p.Pour
	in.Details, in.Calibration, in.PatternMesh = nil, nil, p.Pour.PatternMesh
	j, err := prepare(ctx, in)
	if err != nil {
		return err
	}
	var likely [pastStudios]float64
	workers := runtime.GOMAXPROCS(0)
	var wait conc.WaitGroup // a panic becomes the caller's
	for k := range workers {
		wait.Go(func() {
			w := new(run)
			for i := k; i < pastStudios && ctx.Err() == nil; i += workers {
				s := j.studio(i % studios)
				s.v = values(c.x[i])
				for n := range pastPours {
					w.follow(j, j.pour(s, points.pour[(i*pastPours+n)%members][:]))
					likely[i] += p.likelihood(w) / pastPours
				}
			}
		})
	}
	wait.Wait()
	c.take(&likely)
	return ctx.Err()
}

// likelihood of the record, given the pour that w has followed.
func (p *PastPour) likelihood(w *run) float64 {
	o := w.judge(nil)
	full := 1 - soft(o.misrun)
	seam := soft(o.cold)
	if o.broken {
		seam = 1
	}
	switch {
	case p.Outcome == "full":
		return full * (1 - seam)
	case p.Outcome == "seam":
		return full * seam
	case p.FilledPct == nil:
		return 1 - full
	}
	gap := (w.Outcome(0).Empty - (1 - *p.FilledPct/100)) / shareError
	return (1 - full) * math.Exp(-gap*gap/2)
}

// wedge reads a wedge test: the front, always on fresh clay, runs until
// ∫ dz/M = ρ v H/(h (T* − T0)), v as measured. Where surface tension could have
// stopped it first, its reach is only a lower bound.
func (c *cloud) wedge(t *WedgeTest) error {
	m, err := metal.Named(t.Alloy)
	if err != nil {
		return err
	}
	pour := m.LiquidusC() + superheat
	if t.PourC != nil {
		pour = *t.PourC
	}
	if pour <= m.LiquidusC() || pour > m.LiquidusC()+600 {
		return calc.Refuse("pour_c", pour, "give a temperature over the liquidus of %s, %.0f °C, by at most 600 K", t.Alloy, m.LiquidusC())
	}
	tip := t.FootMM / 1e3 * (1 - t.ReachedMM/t.LengthMM)
	tension := fluid.SlitPressure(m.SurfaceTensionNM(pour), fluid.NonWetting(fluid.ContactDeg), max(tip, 1e-6))
	seen := math.Log(t.passed(t.ReachedMM / 1e3))
	var likely [pastStudios]float64
	total, expected := 0.0, 0.0
	for i := range likely {
		v := values(c.x[i])
		stop := stopTemperature(m, v[stopSolid])
		ask := m.LiquidDensityKgM3(pour) * t.RiseMS * 1e3 * (m.EnthalpyKJKg(pour) - m.EnthalpyKJKg(stop)) / ((pour+stop)/2 - t.ClayC) / v[interfaceH]
		gap := (math.Log(ask) - seen) / reachError
		likely[i] = math.Exp(-gap * gap / 2)
		if tension+v[gasPressure] > fluid.Pressure(m.LiquidDensityKgM3(pour), t.HeadAboveMM/1e3) {
			likely[i] = 0.5 * math.Erfc(-gap/math.Sqrt2)
		}
		total += c.weight[i] * c.likely[i]
		expected += c.weight[i] * c.likely[i] * t.reach(ask)
	}
	c.take(&likely)
	c.expected = expected / total / (t.LengthMM / 1e3)
	return nil
}

// credible says whether no record, nor all together, was all but impossible.
func (c *cloud) credible(pours []Evidence) bool {
	most := 1.0
	for _, e := range pours {
		p := e.ExpectedPct / 100
		if p < surprising {
			return false
		}
		most *= max(p, 1-p)
	}
	sum, total := 0.0, 0.0
	for i, r := range c.raw {
		sum += c.weight[i] * r
		total += c.weight[i]
	}
	return len(pours) == 0 || sum/total >= surprising*most
}

// belief is the normal distribution with the cloud's moments.
func (c *cloud) belief() Belief {
	w := make([]float64, pastStudios)
	for i := range w {
		w[i] = c.weight[i] * c.likely[i]
	}
	return moments(c.x[:], w)
}

func (o *CalibrateOut) say(after *Belief) {
	band := func(b *Belief, k int) Interval {
		sd, at := 0.0, k*(k+1)/2
		for j := range k + 1 {
			sd += sq(b.Lower[at+j])
		}
		wide := 1.6449 * math.Sqrt(sd)
		from := unknownTable[k].fromPlain
		return Interval{from(b.Mean[k] - wide), from(b.Mean[k]), from(b.Mean[k] + wide)}
	}
	for k := range unknowns {
		o.Learnt = append(o.Learnt, Learnt{unknownTable[k].Name, unknownTable[k].Unit, band(&prior, k), band(after, k)})
	}
	o.Bits = divergence(after, &prior)
	o.Step("information gained", o.Bits, "bit", "divergence of what is held now from what was held before, %d studios in %d rounds", pastStudios, rounds)
	o.Cite(sources...)
	if !o.Credible {
		o.Warn("contradiction", calc.Danger, "These records had a probability under 1 %% by all that is known: look for a wrong entry, or a clay or way of pouring that is not what is described, before you rely on the posterior.")
	}
	o.Warn("same_conditions", calc.Note, "The result holds for the clay, dressing, metal and hand that these pours had.")
}

// divergence is the information of a over b in bits (Kullback and Leibler).
func divergence(a, b *Belief) float64 {
	row := func(m *Belief, i, j int) float64 { return m.Lower[i*(i+1)/2+j] }
	trace, quad, logs := 0.0, 0.0, 0.0
	// Solve Lb x = column of La, and Lb y = mean difference.
	for j := range unknowns + 1 {
		var x [unknowns]float64
		for i := range unknowns {
			v := 0.0
			switch {
			case j == unknowns:
				v = a.Mean[i] - b.Mean[i]
			case j <= i:
				v = row(a, i, j)
			}
			for k := range i {
				v -= row(b, i, k) * x[k]
			}
			x[i] = v / row(b, i, i)
		}
		for _, v := range x {
			if j == unknowns {
				quad += v * v
			} else {
				trace += v * v
			}
		}
	}
	for i := range unknowns {
		logs += math.Log(row(b, i, i) / row(a, i, i))
	}
	return max(0, (trace+quad-unknowns)/2+logs) / math.Ln2
}

func (in *CalibrateIn) check() error {
	var c calc.Checks
	c.Bounds(*in)
	if len(in.Pours)+len(in.Wedges) == 0 {
		c.Refuse("pours", nil, "give at least one past pour or wedge test")
	}
	for i := range in.Pours {
		if p := &in.Pours[i]; p.FilledPct != nil && p.Outcome != "short" {
			c.Refuse(fmt.Sprintf("pours[%d].filled_pct", i), *p.FilledPct, "give it for outcome short alone")
		}
	}
	for i := range in.Wedges {
		c.Under(fmt.Sprintf("wedges[%d]", i), in.Wedges[i].check())
	}
	return c.Err()
}

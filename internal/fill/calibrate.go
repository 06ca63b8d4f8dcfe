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
	Pours             []PastPour  `json:"pours,omitempty" maxItems:"10" doc:"Past pours and how they came out"`
	Wedges            []WedgeTest `json:"wedges,omitempty" maxItems:"10" doc:"Wedge tests: an upright strip that tapers to an edge, filled from its foot, and how high it filled"`
	InterfaceLowWM2K  float64     `json:"interface_low_w_m2k" minimum:"50" maximum:"10000" default:"500" doc:"What is held before: with 80 % probability the coefficient lies above this"`
	InterfaceHighWM2K float64     `json:"interface_high_w_m2k" minimum:"50" maximum:"10000" default:"1500" doc:"and below this"`
	RatePct           float64     `json:"rate_pct" minimum:"1" maximum:"100" default:"30" doc:"Standard deviation of the hand's rate about what the stated pour time means"`
}

// PastPour is a pour with its outcome.
type PastPour struct {
	Pour      In      `json:"pour" doc:"The piece, mould and pour, as for fills; its levers, details and calibration are not used"`
	FilledPct float64 `json:"filled_pct" minimum:"0" maximum:"100" doc:"Share of the piece that came out; 100 if it was full"`
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
	Prior     CalibrationBand `json:"prior" doc:"Held before"`
	After     CalibrationBand `json:"after" doc:"Held after these pours"`
	Evidence  []Evidence      `json:"evidence" doc:"Each pour or wedge in the order given, pours first"`
	Bits      float64         `json:"bits_learnt" doc:"Information gained, in bits; under 1 the pours have told little"`
	Posterior Posterior       `json:"posterior" doc:"Keep this and give it as calibration of fills"`
	calc.Notes
}

// CalibrationBand is a distribution in short.
type CalibrationBand struct {
	MedianWM2K float64 `json:"interface_median_w_m2k" doc:"Median of the interface coefficient"`
	LowWM2K    float64 `json:"interface_low_w_m2k" doc:"5 % lie below"`
	HighWM2K   float64 `json:"interface_high_w_m2k" doc:"5 % lie above"`
	RateMedian float64 `json:"rate_median" doc:"Median of the pour rate over what the stated pour time means"`
	RateLow    float64 `json:"rate_low" doc:"5 % lie below"`
	RateHigh   float64 `json:"rate_high" doc:"5 % lie above"`
}

// Evidence is what one pour says by itself.
type Evidence struct {
	What        string  `json:"what" doc:"Which pour" example:"pours[0]"`
	ExpectedPct float64 `json:"expected_pct" doc:"For a pour: how likely its outcome, full or not, was held beforehand. For a wedge: the share of the height that was expected"`
	BestWM2K    float64 `json:"best_w_m2k" doc:"Coefficient that this one by itself favours most, on the grid, what was held before included"`
}

const (
	gridH, gridRate = 17, 7
	pastMembers     = 32   // per grid point and pour, over what else scatters
	doubt           = 0.03 // probability that a record is wrong or the model misses something else
	reachError      = 0.25 // relative error of a run length by the model, at one coefficient
	shareError      = 0.12 // of the share that filled
)

// Calibrate finds what past pours say of the interface coefficient and of the
// hand's pour rate: Bayes' rule on a grid of both. The other scatter of a
// pour is averaged out; the model's own error and the chance of a wrong
// record keep it from ever being certain.
func Calibrate(ctx context.Context, in CalibrateIn) (CalibrateOut, error) {
	if err := in.check(); err != nil {
		return CalibrateOut{}, err
	}
	g := in.grid()
	prior := g.Weight
	weight := append([]float64(nil), prior...)
	out := CalibrateOut{Evidence: []Evidence{}, Notes: calc.Noting(ctx)}
	take := func(what string, expected float64, likely []float64) {
		best := 0
		for i := range weight {
			weight[i] *= likely[i]
			if prior[i]*likely[i] > prior[best]*likely[best] {
				best = i
			}
		}
		out.Evidence = append(out.Evidence, Evidence{what, expected, g.InterfaceWM2K[best/gridRate]})
	}
	for i := range in.Pours {
		what := fmt.Sprintf("pours[%d]", i)
		expected, likely, err := in.Pours[i].likelihood(ctx, g)
		if err != nil {
			return CalibrateOut{}, calc.Under(what+".pour", err)
		}
		take(what, 100*expected, likely)
		calc.Progress(ctx, float64(i+1)/float64(len(in.Pours)), "following past pours")
	}
	for i := range in.Wedges {
		what := fmt.Sprintf("wedges[%d]", i)
		expected, likely, err := in.Wedges[i].likelihood(g)
		if err != nil {
			return CalibrateOut{}, calc.Under(what, err)
		}
		take(what, 100*expected, likely)
	}
	normalise(weight)
	for i, p := range prior {
		if weight[i] > 0 {
			out.Bits += weight[i] * math.Log2(weight[i]/p)
		}
	}
	out.Prior = g.band()
	g.Weight = weight
	out.After, out.Posterior = g.band(), g
	out.note(len(in.Pours) + len(in.Wedges))
	return out, nil
}

func (o *CalibrateOut) note(records int) {
	o.Step("information", o.Bits, "bit", "Σ w log₂(w/w_prior) over %d × %d pairs", gridH, gridRate)
	o.Cite(calc.Source{For: "posterior", Text: "Bayes' rule on a grid; T. Bayes 1763, any text on statistics", Status: calc.Confirmed},
		calc.Source{For: "wedge test", Text: "tapered strip after T. D. West, Metallurgy of Cast Iron, 5th ed. 1902, p. 374; front by M. C. Flemings 1974 ch. 7 with the local modulus", Status: calc.Computed},
		calc.Source{For: "model error 25 % of a length, 3 % doubt of a record", Text: "after one fit the channel formula is judged good to about 30 % in the same mould and metal", Status: calc.Choice})
	if records < 4 {
		o.Warn("few_pours", calc.Care, "%d records narrow the range; they do not settle it. Pour a wedge beside each piece and add it.", records)
	}
	o.Warn("same_conditions", calc.Note, "The result holds for the clay, dressing, metal and hand that these pours had.")
}

func (in *CalibrateIn) check() error {
	var c calc.Checks
	if len(in.Pours)+len(in.Wedges) == 0 {
		c.Refuse("pours", nil, "give at least one past pour or wedge")
	}
	c.Bounds(*in)
	if in.InterfaceHighWM2K < 1.05*in.InterfaceLowWM2K {
		c.Refuse("interface_high_w_m2k", in.InterfaceHighWM2K, "give at least %g W/(m² K), above interface_low_w_m2k", 1.05*in.InterfaceLowWM2K)
	}
	for i, p := range in.Pours {
		c.Under(fmt.Sprintf("pours[%d]", i), calc.InBounds(p))
	}
	for i, w := range in.Wedges {
		c.Under(fmt.Sprintf("wedges[%d]", i), w.check())
	}
	return c.Err()
}

// grid is the prior: log-normal in the coefficient, its central 80 % the range
// given, and log-normal in the rate; three standard deviations wide.
func (in *CalibrateIn) grid() Posterior {
	const z80 = 1.2816
	lo, hi := in.InterfaceLowWM2K, in.InterfaceHighWM2K
	middle, sd := math.Sqrt(lo*hi), math.Log(hi/lo)/2/z80
	sdRate := math.Sqrt(math.Log1p(sq(in.RatePct / 100)))
	p := Posterior{}
	for i := range gridH {
		p.InterfaceWM2K = append(p.InterfaceWM2K, middle*math.Exp(sd*3*(2*float64(i)/(gridH-1)-1)))
	}
	for k := range gridRate {
		p.RateFactor = append(p.RateFactor, math.Exp(sdRate*2*(2*float64(k)/(gridRate-1)-1)))
	}
	for i := range gridH {
		for k := range gridRate {
			zh, zr := 3*(2*float64(i)/(gridH-1)-1), 2*(2*float64(k)/(gridRate-1)-1)
			p.Weight = append(p.Weight, math.Exp(-(zh*zh+zr*zr)/2))
		}
	}
	normalise(p.Weight)
	return p
}

func normalise(w []float64) {
	total := 0.0
	for _, x := range w {
		total += x
	}
	for i := range w {
		w[i] /= total
	}
}

func (p *Posterior) band() CalibrationBand {
	byH, byRate := make([]float64, len(p.InterfaceWM2K)), make([]float64, len(p.RateFactor))
	for i, w := range p.Weight {
		byH[i/len(byRate)] += w
		byRate[i%len(byRate)] += w
	}
	h := func(u float64) float64 { x, _ := quantile(p.InterfaceWM2K, byH, u); return x }
	r := func(u float64) float64 { x, _ := quantile(p.RateFactor, byRate, u); return x }
	return CalibrationBand{h(0.5), h(0.05), h(0.95), r(0.5), r(0.05), r(0.95)}
}

// likelihood follows the pour over the grid; it also returns how likely its
// outcome, full or not, was held beforehand.
func (p *PastPour) likelihood(ctx context.Context, g Posterior) (expected float64, likely []float64, err error) {
	j, err := prepare(ctx, p.Pour)
	if err != nil {
		return 0, nil, err
	}
	likely, agree := make([]float64, len(g.Weight)), make([]float64, len(g.Weight))
	workers := runtime.GOMAXPROCS(0)
	var wait conc.WaitGroup // a panic becomes the caller's
	for k := range workers {
		wait.Go(func() {
			w := new(run)
			for i := k; i < len(likely) && ctx.Err() == nil; i += workers {
				likely[i], agree[i] = p.at(w, j, g.InterfaceWM2K[i/gridRate], g.RateFactor[i%gridRate])
			}
		})
	}
	wait.Wait()
	for i, weight := range g.Weight {
		expected += weight * agree[i]
	}
	return expected, likely, ctx.Err()
}

// at returns the likelihood of the outcome at one grid point, and the share of
// members that agree with it on full or not.
func (p *PastPour) at(w *run, j *job, h, rate float64) (likely, agree float64) {
	full := p.FilledPct >= 100*filledShare
	var u [dims]float64
	for i := range uint32(pastMembers) {
		sobol.Point(u[:], i, 1)
		d := j.draw(u[:])
		d.interfaceH, d.rate = h, rate
		w.follow(j, d)
		o := w.judge()
		switch {
		case full != !o.misrun:
		case full:
			likely++
			agree++
		default:
			agree++
			likely += math.Exp(-sq((-o.margin-(1-p.FilledPct/100))/shareError) / 2)
		}
	}
	return doubt + (1-doubt)*likely/pastMembers, agree / pastMembers
}

func (t *WedgeTest) check() error {
	var c calc.Checks
	c.Bounds(*t)
	if t.ReachedMM > t.LengthMM {
		c.Refuse("reached_mm", t.ReachedMM, "give at most length_mm, %g mm", t.LengthMM)
	}
	return c.Err()
}

// passed returns what the metal's way up to z (m) asks of its heat: ∫ dz/M.
func (t *WedgeTest) passed(z float64) float64 {
	l, foot := t.LengthMM/1e3, t.FootMM/1e3
	return 2*l/foot*math.Log(1/(1-min(z/l, 1-1e-9))) + 2*z/(t.WidthMM/1e3)
}

// reach inverts passed.
func (t *WedgeTest) reach(ask float64) float64 {
	return solve(0, t.LengthMM/1e3, func(z float64) bool { return t.passed(z) >= ask })
}

// likelihood of the height reached: the front, always on fresh clay, runs
// until ∫ dz/M = ρ v H/(h (T* − T0)), v as measured. Where surface tension could have stopped
// it first, its reach is only a lower bound.
func (t *WedgeTest) likelihood(g Posterior) (expected float64, likely []float64, err error) {
	m, err := metal.Named(t.Alloy)
	if err != nil {
		return 0, nil, err
	}
	pour := m.LiquidusC() + superheat
	if t.PourC != nil {
		pour = *t.PourC
	}
	if pour <= m.LiquidusC() || pour > m.LiquidusC()+600 {
		return 0, nil, calc.Refuse("pour_c", pour, "give a temperature over the liquidus of %s, %.0f °C, by at most 600 K", t.Alloy, m.LiquidusC())
	}
	choke := chokeRange(m.LiquidusC() - m.FreezingEndC())
	stop := stopTemperature(m, (choke[0]+choke[1])/2)
	perH := m.LiquidDensityKgM3(pour) * t.RiseMS * 1e3 * (m.EnthalpyKJKg(pour) - m.EnthalpyKJKg(stop)) / ((pour+stop)/2 - t.ClayC)
	tip := t.FootMM / 1e3 * (1 - t.ReachedMM/t.LengthMM)
	tension := m.SurfaceTensionNM(pour) * fluid.NonWetting(fluid.ContactDeg) * 2 / max(tip, 1e-6)
	held := tension > m.LiquidDensityKgM3(pour)*fluid.Gravity*t.HeadAboveMM/1e3
	seen := math.Log(t.passed(t.ReachedMM / 1e3))
	likely = make([]float64, len(g.Weight))
	for i := range likely {
		gap := (math.Log(perH/g.InterfaceWM2K[i/gridRate]) - seen) / reachError
		switch {
		case held:
			likely[i] = doubt + (1-doubt)*0.5*math.Erfc(-gap/math.Sqrt2)
		default:
			likely[i] = doubt + (1-doubt)*math.Exp(-gap*gap/2)
		}
		expected += g.Weight[i] * t.reach(perH/g.InterfaceWM2K[i/gridRate])
	}
	return expected / (t.LengthMM / 1e3), likely, nil
}

// stopTemperature returns the temperature in °C at which the fraction f is solid.
func stopTemperature(m metal.Metal, f float64) float64 {
	return solve(m.FreezingEndC(), m.LiquidusC(), func(t float64) bool { return m.SolidFraction(t) <= f })
}

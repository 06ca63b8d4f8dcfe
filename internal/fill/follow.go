package fill

import (
	"context"
	"fmt"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/fill/network"
	"pourwright/internal/fluid"
	"pourwright/internal/safety"
	"pourwright/internal/verdict"
)

// Follow follows the metal of a pour through its mould: the planned run, the
// share of pours that fail as a band over studios, the causes, improvements,
// feeding and the force on the flask. The errors are refusals.
//
// Valid for gravity pours into a mould of oil-bonded clay, sand or plaster
// that does not chill the metal to a skin at once; sections of 0.5 to 20 mm.
func Follow(ctx context.Context, in In) (Out, error) {
	return follow(ctx, in, true)
}

// FollowSparing is Follow that tries improvements only where the answer is not
// a plain go.
func FollowSparing(ctx context.Context, in In) (Out, error) {
	return follow(ctx, in, false)
}

func follow(ctx context.Context, in In, always bool) (Out, error) {
	j, err := prepare(ctx, in)
	if err != nil {
		return Out{}, err
	}
	out := Out{Notes: calc.Noting(ctx), Reasons: verdict.Reasons{}, Improvements: []Improvement{}}
	r, err := assess(ctx, j, studios, each)
	if err != nil {
		return Out{}, err
	}
	w := new(run)
	w.follow(j, j.pour(j.planned(), nil))
	w.judge(nil)
	out.Flask = j.flask()
	err = out.tell(ctx, r, w, always)
	return out, err
}

// tell fills in what was found of a piece whose planned run w has just judged.
func (o *Out) tell(ctx context.Context, r *risk, w *run, always bool) (err error) {
	j := w.job
	o.Chance, o.Hand, o.Risks, o.Causes = r.chance(), j.in.Hand, r.modes(), r.causes()
	o.Nominal, o.Map, o.Details, o.Feeding = w.nominal(), j.spots(r, w.cells), w.details(r), w.feedingPlan()
	mould := o.judgeMould(j)
	plain := level(j.in.RiskLimitPct, o.Chance) == verdict.Go && len(mould) == 0
	if j.in.Improvements && (always || !plain) {
		if o.Improvements, err = j.improvements(ctx, r); err != nil {
			return err
		}
	}
	if err := o.judgeFill(ctx, j, r); err != nil {
		return err
	}
	o.Reasons = append(o.Reasons, mould...).Sorted()
	o.Verdict = o.Reasons.Level()
	o.note(r, w)
	return nil
}

// Risk returns the band of failing pours as [Follow] answers it, and nothing else.
func Risk(ctx context.Context, in In) (Chance, error) {
	j, err := prepare(ctx, in)
	if err != nil {
		return Chance{}, err
	}
	r, err := assess(ctx, j, studios, each)
	if err != nil {
		return Chance{}, err
	}
	return r.chance(), nil
}

// Screening is a coarse look at a pour: the planned run and a few members of
// the scatter. It ranks ways to pour; it is no probability to rely on.
type Screening struct {
	Margin   float64   // of the planned run, as in Nominal
	Failing  float64   // share of the members that fail
	Flask    Flask     // what the metal does to the flask
	Meetings []float64 // where streams meet in the planned run, fractions of the way from the gate
}

// Screen follows the planned run of in and about first members of the scatter
// that [Risk] draws from.
func Screen(ctx context.Context, in In, first int) (Screening, error) {
	j, err := prepare(ctx, in)
	if err != nil {
		return Screening{}, err
	}
	w := new(run)
	w.follow(j, j.pour(j.planned(), nil))
	o := w.judge(nil)
	s := Screening{Margin: o.margin(), Flask: j.flask()}
	for _, m := range w.Welds() {
		s.Meetings = append(s.Meetings, j.placePct(&w.cells[m.Cell-1])/100)
	}
	if first > 0 {
		r, err := assess(ctx, j, min(studios, max(1, first/4)), min(4, first))
		if err != nil {
			return s, err
		}
		s.Failing = r.failure()
	}
	return s, ctx.Err()
}

// planned is the studio in the middle of what is held.
func (j *job) planned() studio {
	z := j.held.at(new([studioDims]float64))
	return j.studioOf(&z)
}

// chance is the band, rounded to what it is worth.
func (r *risk) chance() Chance {
	return chanceOf(r.band())
}

func chanceOf(p, low, high float64) Chance {
	c := Chance{FailurePct: rounded(100 * p), LowPct: rounded(100 * low), HighPct: rounded(100 * high)}
	best, most, worst := oneIn(c.LowPct), oneIn(c.FailurePct), oneIn(c.HighPct)
	switch {
	case best == nearlyAll:
		c.Words = nearlyAll
	case most == nearlyAll:
		c.Words = fmt.Sprintf("%s (%s or more)", most, best)
	default:
		c.Words = fmt.Sprintf("about %s (%s to %s)", most, best, worst)
	}
	return c
}

// Short is the band as figures in a line.
func (c *Chance) Short() string {
	return fmt.Sprintf("%.3g %% (%.3g to %.3g)", c.FailurePct, c.LowPct, c.HighPct)
}

// rounded gives a percentage two figures at most, from the nearer end.
func rounded(pct float64) float64 {
	if pct > 50 {
		return 100 - rounded(100-pct)
	}
	switch {
	case pct < 1:
		return math.Max(0.5, math.Round(pct*2)/2)
	case pct < 10:
		return math.Round(pct*2) / 2
	}
	return math.Round(pct)
}

const nearlyAll = "nearly all"

// oneIn says a percentage as people do.
func oneIn(pct float64) string {
	switch {
	case pct >= 95:
		return nearlyAll
	case pct > 60:
		return fmt.Sprintf("%.0f in 10", math.Max(6, math.Round(pct/10)))
	case pct > 40:
		return "1 in 2"
	}
	n := 100 / pct
	switch {
	case n < 10:
		return fmt.Sprintf("1 in %.0f", n)
	case n < 30:
		return fmt.Sprintf("1 in %.0f", math.Round(n))
	}
	return fmt.Sprintf("1 in %.0f", math.Round(n/10)*10)
}

// modes counts each way to fail by itself.
func (r *risk) modes() []FailureMode {
	flag := func(b bool) float64 {
		if b {
			return 1
		}
		return 0
	}
	list := []FailureMode{
		{"misrun", r.share(func(o *outcome) float64 { return soft(o.misrun) })},
		{"cold_shut", r.share(func(o *outcome) float64 { return (1 - soft(o.misrun)) * soft(o.cold) })},
		{"broken_stream", r.share(func(o *outcome) float64 { return flag(o.broken) })},
	}
	if len(r.job.in.Details) > 0 {
		list = append(list, FailureMode{"detail_loss", r.share(func(o *outcome) float64 { return flag(o.details != 0) })})
	}
	list = append(list, FailureMode{"other", r.other}, FailureMode{"shrinkage", r.share(func(o *outcome) float64 { return flag(o.unfed) })})
	for i := range list {
		list[i].Pct = math.Round(1000*list[i].Pct) / 10
	}
	return list
}

// nominal describes the planned run that w has just followed.
func (w *run) nominal() Nominal {
	j := w.job
	o := w.Outcome(j.part)
	n := Nominal{FilledPct: 100 * (1 - o.Empty), Margin: min(o.Misrun, o.Cold), CoolestC: j.pourC, Stretches: []Stretch{}, Meetings: []Meeting{}}
	n.HeadMM = 1e3 * (j.brim() - j.lowest())
	n.PourTimeS = w.poured.Rise/2 + j.poured/w.poured.Rate
	if !math.IsInf(o.Full, 1) {
		n.FillTimeS = &o.Full
		n.PourTimeS = max(n.PourTimeS, o.Full)
	}
	for i := range j.stretches {
		n.Stretches = append(n.Stretches, w.stretch(&j.stretches[i], &n.CoolestC))
	}
	for _, m := range w.Welds() {
		c := &w.cells[m.Cell-1]
		for i := range j.stretches {
			if s := &j.stretches[i]; s.reach == c.Reach {
				at := c.At
				if s.twin {
					at = 1
				}
				solid := w.metal().Solid(m.H)
				n.Meetings = append(n.Meetings, Meeting{Stretch: i, Where: j.where(j.placePct(c)), AtPct: 100 * at, TimeS: m.Time,
					KnitC: w.metal().Temperature(m.H), Solid: solid, Welds: solid < w.poured.Weld})
			}
		}
	}
	return n
}

func (w *run) metal() *network.Metal { return &w.job.metal }

func (w *run) stretch(s *stretch, coolest *float64) Stretch {
	j := w.job
	out := Stretch{Name: s.name, LengthMM: 1e3 * j.length * math.Abs(s.span), Places: []Place{}}
	full, all := 0.0, 0.0
	for i := range w.cells {
		c := &w.cells[i]
		if c.Reach != s.reach {
			continue
		}
		all += c.Volume
		p := Place{AtPct: 100 * c.At, HeightMM: 1e3 * c.Height, ThicknessMM: 1e3 * c.Thickness}
		if !math.IsNaN(c.Arrived) {
			at, t, f := c.Arrived, w.metal().Temperature(c.Coldest), w.metal().Solid(c.Coldest)
			p.ArrivalS, p.ArrivalC, p.ArrivalSolid = &at, &t, &f
			*coolest = min(*coolest, t)
			freeze := w.End() + w.UntilEnthalpy(c, j.ended)
			p.FreezeS = &freeze
		}
		if at := c.Pressed; !math.IsNaN(at) {
			full += c.Volume
			p.FullS = &at
		}
		out.Places = append(out.Places, p)
	}
	out.FilledPct = 100 * full / all
	sortPlaces(out.Places)
	return out
}

// placePct is where a cell lies on the way from the gate, per cent.
func (j *job) placePct(c *network.Cell) float64 {
	for i := range j.stretches {
		if s := &j.stretches[i]; s.reach == c.Reach {
			at := c.At
			if s.twin && c.At > 1-c.Size && math.Abs(s.start+s.span-0.5) < 1e-9 {
				at = 1 // the last cell ends where it meets its twin
			}
			f := s.start + s.span*at
			if j.in.isBand() {
				f = wrap(f)
			}
			return 100 * f
		}
	}
	return 0
}

// where says in words where a place of the way from the gate lies.
func (j *job) where(pct float64) string {
	switch {
	case !j.in.isBand():
		return fmt.Sprintf("%.0f mm from the gate", pct/100*j.length*1e3)
	case pct < 4 || pct > 96:
		return "at the gate"
	case j.open():
		if pct > 50 {
			return fmt.Sprintf("%.0f mm from the gate, the other way", (1-pct/100)*j.length*1e3)
		}
		return fmt.Sprintf("%.0f mm from the gate", pct/100*j.length*1e3)
	case pct > 46 && pct < 54:
		return "opposite the gate"
	case pct < 50:
		return fmt.Sprintf("%.0f° round from the gate", 3.6*pct)
	}
	return fmt.Sprintf("%.0f° round from the gate, the other way", 360-3.6*pct)
}

func (o *Out) note(r *risk, w *run) {
	j := w.job
	p := &w.poured
	o.Step("rate of the full stream", 1e9*p.Rate, "mm³/s", "what the hand gives after %.2g s", p.Rise)
	o.Step("superheat", j.pourC-j.alloy.LiquidusC(), "K", "T_pour − T_liquidus = %.0f − %.0f °C", j.pourC, j.alloy.LiquidusC())
	thin, m := math.Inf(1), math.Inf(1)
	for _, s := range j.profile {
		thin, m = min(thin, s.ThicknessMM), min(m, s.Modulus())
	}
	o.Step("head that the thinnest place asks", 1e3*fluid.Head(w.metal().Rho, fluid.SectionPressure(w.metal().Gamma, 1, m/1e3)), "mm",
		"γ |cos θ| / (M ρ g), γ |cos θ| = %.3g N/m, M = %.3g mm (%.3g mm thick)", w.metal().Gamma, m, thin)
	o.Step("head of the clay's gas", 1e3*fluid.Head(w.metal().Rho, p.Gas), "mm", "p / (ρ g), p = %.0f Pa, the middle of what is held", p.Gas)
	o.Step("heat taken at the wall, planned run", p.Interface, "W/(m² K)", "middle of what is held")
	o.Step("solid fraction that stops a front, planned run", p.Stop, "", "middle of what is held")
	o.Step("failure", o.FailurePct, "%", "%d studios of %d pours each, %.1f %% for other causes; one studio in twenty under %.3g %%, one over %.3g %%", r.studios, r.pours, 100*j.other(), o.LowPct, o.HighPct)
	o.Cite(sources...)
	o.Cite(fluid.SourceCapillary, fluid.SourceLosses, fluid.SourceClay)
	o.Cite(j.alloy.Sources()...)
	o.Caution(safety.MoltenMetal, safety.DampMould, safety.OilSmoke, safety.HotMould)
	o.Caution(j.alloy.Cautions()...)
	o.Warn("vents", calc.Danger, "Keep face and hands away from the vents: metal and burning oil vapour can spout from them.")
	if c := j.in.Calibration; c == nil {
		o.Warn("uncalibrated", calc.Care, "Nobody has measured what oil-bonded clay does to the metal. This band rests on physics and on what the trade casts; your own pours, given to calibrations, narrow it.")
	} else if !c.Agrees {
		o.Warn("contradiction", calc.Danger, "The records behind this calibration contradict one another or all that is known: do not rely on this answer before you have found out why.")
	}
	if h := j.pourC - j.alloy.LiquidusC(); h > HottestK {
		o.Warn("too_hot", calc.Care, "%.0f K of superheat is more than the %.0f K that the trade goes to: expect gas, oxide and burnt clay.", h, HottestK)
	}
	if j.in.VentCount == 0 {
		o.Warn("no_vents", calc.Care, "Without vents gas must leave through the clay alone.")
	}
}

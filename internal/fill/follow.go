package fill

import (
	"context"
	"fmt"
	"math"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/fill/front"
	"pourwright/internal/fluid"
	"pourwright/internal/safety"
)

// Follow follows the metal of a pour through its mould: the planned run, the
// probability of failure over its scatter, the causes, the levers, the
// feeding and the force on the flask. The errors are refusals.
//
// Valid for gravity pours into a mould of oil-bonded clay, sand or plaster
// that does not chill the metal to a skin at once; sections of 0.5 to 20 mm.
// Without calibration its lengths are good to a factor of about two, which
// the probability carries as the range of the interface coefficient.
func Follow(ctx context.Context, in In) (Out, error) {
	j, err := prepare(ctx, in)
	if err != nil {
		return Out{}, err
	}
	out := Out{Notes: calc.Noting(ctx)}
	r, err := assess(ctx, j)
	if err != nil {
		return Out{}, err
	}
	out.risks(j, r)
	w := new(run)
	w.follow(j, j.planned())
	planned := w.judge()
	out.Nominal = w.nominal(planned)
	out.Details = w.details(r)
	out.Feeding = w.feedingPlan()
	out.Flask = j.flask()
	out.Levers = []Lever{}
	if in.Levers {
		if out.Levers, out.Smallest, err = j.levers(ctx, r, planned.margin); err != nil {
			return Out{}, err
		}
	}
	out.note(j, w)
	return out, nil
}

// Risk returns the probability that the pour of in fails, and its standard
// error, both as fractions.
func Risk(ctx context.Context, in In) (probability, standardError float64, err error) {
	j, err := prepare(ctx, in)
	if err != nil {
		return 0, 0, err
	}
	r, err := assess(ctx, j)
	if err != nil {
		return 0, 0, err
	}
	f := r.failure()
	return f.p, f.se, nil
}

var causeNames = [dims]string{
	dimPour: "pour temperature", dimRate: "pour rate", dimInterface: "interface coefficient",
	dimEffusivity: "heat diffusivity of the clay", dimThickness: "thickness of the impression",
	dimChoke: "solid fraction that stops a front", dimTension: "surface tension and contact angle",
	dimPermeability: "permeability of the clay"}

func (o *Out) risks(j *job, r *risk) {
	f := r.failure()
	o.FailurePct, o.FailureSEPct, o.FailureTopPct = 100*f.p, 100*f.se, 100*f.top
	o.Score = 100 - o.FailurePct
	o.Verdict = verdict(o.FailurePct, j.in.RiskLimitPct)
	kinds := []struct {
		name string
		of   func(*outcome) bool
	}{
		{"misrun", func(o *outcome) bool { return o.misrun }},
		{"cold_shut", func(o *outcome) bool { return o.coldShut }},
		{"shrinkage", func(o *outcome) bool { return o.shrinkage }},
		{"detail_loss", func(o *outcome) bool { return o.details != 0 }},
	}
	for _, k := range kinds {
		if k.name == "detail_loss" && len(j.in.Details) == 0 {
			continue
		}
		s := r.of(k.of)
		o.Risks = append(o.Risks, FailureMode{k.name, 100 * s.p, 100 * s.se, 100 * s.top})
	}
	o.Causes = r.causes(causeNames[:])
	slices.SortStableFunc(o.Causes, func(a, b Cause) int {
		switch {
		case a.SharePct > b.SharePct:
			return -1
		case a.SharePct < b.SharePct:
			return 1
		}
		return 0
	})
}

func verdict(failurePct, limitPct float64) string {
	switch {
	case failurePct <= limitPct:
		return "go"
	case failurePct <= min(50, 3*limitPct):
		return "care"
	}
	return "do_not_pour"
}

func regime(falling bool) string {
	if falling {
		return "part_full"
	}
	return "running_full"
}

// nominal describes the planned run that w has just followed.
func (w *run) nominal(o outcome) Nominal {
	j := w.job
	n := Nominal{Margin: o.margin, CoolestC: j.pourC, Stretches: []Stretch{}, Meetings: []Meeting{}}
	n.HeadMM = 1e3 * (j.mould.Stem.Length + j.mould.Stem.Head - j.lowest())
	last, falling := 0.0, false
	for i := range w.mould.Ducts {
		r := w.Result(i)
		falling = falling || r.Falling[0] || r.Falling[1]
		n.FilledPct += 100 * r.Filled * j.span[i]
		if r.At == 0 {
			last = math.Inf(1)
		}
		last = max(last, r.At)
		n.Stretches = append(n.Stretches, w.stretch(i, r))
		n.Meetings = append(n.Meetings, w.meetings(i, r)...)
	}
	n.Regime = regime(falling)
	if !math.IsInf(last, 1) {
		n.FillTimeS = &last
	}
	for i := range w.cells {
		if c := &w.cells[i]; !math.IsNaN(c.Arrived) {
			n.CoolestC = min(n.CoolestC, w.metal.Temperature(c.ArrivedAt))
		}
	}
	w.bounds(&n)
	return n
}

// meetings lists where the streams of duct i meet: where their fronts do, and
// once more at the gate when both have fallen past it and the piece fills up to it.
func (w *run) meetings(i int, r front.Result) (list []Meeting) {
	j := w.job
	add := func(where string, at, time, h float64) {
		solid := w.metal.Solid(h)
		list = append(list, Meeting{Stretch: i, Where: where, AtPct: at, TimeS: time,
			KnitC: w.metal.Temperature(h), Solid: solid, Welds: solid < j.scatter.ColdShut})
	}
	if m := r.Meeting; m.Met {
		add(j.where(100*math.Mod(j.offset[i]+j.span[i]*m.At+1, 1)), 100*m.At, m.Time, m.Enthalpy)
	}
	if d := &w.mould.Ducts[i]; r.At > 0 && r.Falling[0] && r.Falling[1] && d.From == d.To {
		var ends []float64
		for c := range w.cells {
			if cell := &w.cells[c]; cell.Duct == i && cell.Filled && (cell.From == 0 || cell.To > 1-1e-9) {
				ends = append(ends, cell.Enthalpy)
			}
		}
		if len(ends) == 2 {
			add("at the gate, as the piece fills up to it", 0, r.At, (ends[0]+ends[1])/2)
		}
	}
	return list
}

func (w *run) stretch(i int, r front.Result) Stretch {
	d := &w.mould.Ducts[i]
	s := Stretch{Name: w.job.names[i], LengthMM: 1e3 * d.Length, Regime: regime(r.Falling[0] || r.Falling[1]),
		FilledPct: 100 * r.Filled, Stopped: string(r.Why[0]), Places: []Place{}}
	switch {
	case r.Filled >= filledShare:
		s.Stopped = string(front.Filled)
	case d.To != front.NoGate && r.Why[0] == front.Starved:
		s.Stopped = string(r.Why[1])
	}
	if r.Filled < filledShare {
		at := 100 * r.Unfilled
		s.EmptyAtPct = &at
	}
	k := 0
	for c := range w.cells {
		cell := &w.cells[c]
		if cell.Duct != i {
			continue
		}
		if k++; k%2 != 1 && k != front.DefaultCells {
			continue
		}
		p := Place{AtPct: 50 * (cell.From + cell.To), HeightMM: 1e3 * cell.Height, ThicknessMM: 1e3 * cell.Thickness}
		if !math.IsNaN(cell.Arrived) {
			at, t, f := cell.Arrived, w.metal.Temperature(cell.ArrivedAt), w.metal.Solid(cell.ArrivedAt)
			p.ArrivalS, p.ArrivalC, p.ArrivalSolid = &at, &t, &f
		}
		if cell.Filled {
			t := w.End() + w.UntilEnthalpy(*cell, w.job.ended)
			p.FreezeS = &t
		}
		s.Places = append(s.Places, p)
	}
	return s
}

// where says in words where a place of the way from the gate lies.
func (j *job) where(pct float64) string {
	switch {
	case !j.in.isBand():
		return fmt.Sprintf("%.0f mm from the gate", pct/100*j.length*1e3)
	case pct < 4 || pct > 96:
		return "at the gate"
	case pct > 46 && pct < 54:
		return "opposite the gate"
	case pct < 50:
		return fmt.Sprintf("%.0f° round from the gate", 3.6*pct)
	}
	return fmt.Sprintf("%.0f° round from the gate, the other way", 360-3.6*pct)
}

// details says how far each detail fills as planned and how often not at all.
func (w *run) details(r *risk) []DetailFill {
	out := []DetailFill{}
	for i := range w.job.in.Details {
		d := &w.job.in.Details[i]
		lost := r.of(func(o *outcome) bool { return o.details>>i&1 == 1 })
		f := DetailFill{Kind: d.Kind, SizeMM: d.SizeMM, FilledPct: 100 * w.detail(d), LossPct: 100 * lost.p}
		if p := w.pressure(w.place(d.AtPct / 100)); p > 0 {
			f.SmallestMM = 2e3 * w.metal.Gamma / p // radius of a dimple, or width of a line
		}
		out = append(out, f)
	}
	return out
}

func (o *Out) note(j *job, w *run) {
	d := w.drawn
	if j.in.PourRateMM3S == nil {
		o.Step("pour rate", 1e9*j.rate, "mm³/s", "(V_piece + V_sprue + V_funnel)/t = %.4g mm³ / %.3g s", 1e9*j.whole, j.in.PourTimeS)
	}
	o.Step("superheat", j.pourC-j.alloy.LiquidusC(), "K", "T_pour − T_liquidus = %.0f − %.0f °C", j.pourC, j.alloy.LiquidusC())
	thin, _ := j.profile.Thinnest()
	m := thinnestModulus(j.profile)
	o.Step("head that the thinnest place asks", 1e3*w.metal.Gamma/(m/1e3)/(w.metal.Rho*fluid.Gravity), "mm",
		"γ |cos θ| / (M ρ g), γ |cos θ| = %.3g N/m, M = %.3g mm (%.3g mm thick)", w.metal.Gamma, m, thin)
	o.Step("effusivity of the clay", w.clay.Effusivity(), "W √s/(m² K)", "√(k ρ c)")
	o.Step("interface coefficient of the planned run", d.interfaceH, "W/(m² K)", "middle of its range")
	o.Step("solid fraction that stops a front", d.choke, "", "middle of %.2f to %.2f", j.choke[0], j.choke[1])
	o.Step("failure", o.FailurePct, "%", "%d members in %d scrambled Sobol batches; 95 %% bound %.1f %%", members, batches, o.FailureTopPct)
	o.Cite(sources...)
	o.Cite(j.alloy.Sources()...)
	o.Caution(safety.MoltenMetal, safety.DampMould, safety.OilSmoke, safety.HotMould)
	o.Caution(j.alloy.Cautions()...)
	o.Warn("vents", calc.Danger, "Keep face and hands away from the vents: metal and burning oil vapour can spout from them.")
	if j.in.Calibration == nil {
		o.Warn("uncalibrated", calc.Care, "Nobody has measured the interface coefficient of oil-bonded clay. This answer rests on a range of %.0f to %.0f W/(m² K); a wedge test in your own clay narrows it.", j.in.InterfaceLowWM2K, j.in.InterfaceHighWM2K)
	}
	if h := j.pourC - j.alloy.LiquidusC(); h > hottest {
		o.Warn("too_hot", calc.Care, "%.0f K of superheat is more than the %.0f K that the trade goes to: expect gas, oxide and burnt clay.", h, hottest)
	}
	if j.in.VentCount == 0 {
		o.Warn("no_vents", calc.Care, "Without vents the air must leave through the clay; oil vapour adds to it in an amount nobody has measured, which this model leaves out.")
	}
	if c := o.Flask.ClayWallMM; c != nil && *c < 5 {
		o.Warn("thin_clay", calc.Danger, "Only %.1f mm of clay is left between piece and flask; metal may break out. Leave at least 5 mm.", *c)
	}
}

package fill

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"pourwright/internal/section"
)

const (
	// HottestK is the most superheat that is asked for.
	HottestK = 150.0 // K over the liquidus: silver and gold in small moulds, 50 to 150 K (from memory)
	warmest  = 90.0  // °C of an oil-bonded mould: well below smoking oil; common practice, no source
	// Screened: studios and pours each of a first look at all and of a coarse
	// look at the most promising.
	screenStudios, firstPours, screenPours = 32, 1, 4
	promising                              = 8
	confirmed                              = 4    // improvements that the full calculation confirms
	noise                                  = 0.01 // a gain under this is none
)

// change is a practical change of a pour.
type change struct {
	name   string
	do     string
	effort float64 // 1 turns a knob, 2 opens the mould, 3 works the piece; our estimate
	patch  Patch
	risk   *risk
	gain   float64
}

// improvements looks at singles, more closely at the promising, then at pairs of
// the best, confirms the best four by the full calculation and sorts them by
// gain for effort. Every look adds pours to those of the look before.
func (j *job) improvements(ctx context.Context, r *risk) ([]Improvement, error) {
	singles, err := screen(ctx, j.prepared(ctx, j.changes()), r, firstPours)
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(singles, byGain)
	if singles, err = screen(ctx, singles[:min(promising, len(singles))], r, screenPours); err != nil {
		return nil, err
	}
	slices.SortStableFunc(singles, byGain)
	pairs, err := screen(ctx, j.prepared(ctx, pairsOf(singles[:min(3, len(singles))])), r, screenPours)
	if err != nil {
		return nil, err
	}
	all := append(singles, pairs...)
	slices.SortStableFunc(all, byGainForEffort)
	all = pick(all)
	out := []Improvement{}
	for i := range all {
		c := &all[i]
		full, err := c.risk.grow(ctx, studios, each)
		if err != nil {
			return nil, err
		}
		m := Improvement{Name: c.name, Do: c.do, Chance: full.chance(), Effort: c.effort, Patch: c.patch}
		m.GainPct = math.Round(1000*(r.failure()-full.failure())) / 10
		m.Enough = m.FailurePct <= j.in.RiskLimitPct
		if m.GainPct > 100*noise {
			out = append(out, m)
		}
	}
	slices.SortStableFunc(out, func(a, b Improvement) int { return cmp.Compare(b.GainPct/b.Effort, a.GainPct/a.Effort) })
	return out, nil
}

// pick keeps the best by gain for effort, with the greatest gain among them. Of
// the same change by another measure, more effort must gain more.
func pick(list []change) []change {
	list = slices.DeleteFunc(slices.Clone(list), func(c change) bool {
		return c.gain < noise || slices.ContainsFunc(list, func(o change) bool {
			return o.name == c.name && o.effort < c.effort && o.gain > c.gain-noise
		})
	})
	if len(list) <= confirmed {
		return list
	}
	most := 0
	for i := range list {
		if list[i].gain > list[most].gain+noise {
			most = i
		}
	}
	if most >= confirmed {
		list[confirmed-1] = list[most]
	}
	return list[:confirmed]
}

func byGain(a, b change) int { return cmp.Compare(b.gain, a.gain) }

func byGainForEffort(a, b change) int { return cmp.Compare(b.gain/b.effort, a.gain/a.effort) }

// prepared makes changes ready; those that the input refuses fall away.
func (j *job) prepared(ctx context.Context, list []change) []change {
	out := list[:0]
	for _, c := range list {
		if changed, err := prepare(ctx, c.patch.apply(j.in)); err == nil {
			c.risk = &risk{job: changed, other: changed.other()}
			out = append(out, c)
		}
	}
	return out
}

// screen follows more pours of each change and takes its gain over the same
// pours of before; those that gain nothing fall away.
func screen(ctx context.Context, list []change, before *risk, pours int) ([]change, error) {
	base := before.part(screenStudios, pours).failure()
	out := list[:0]
	for _, c := range list {
		var err error
		if c.risk, err = c.risk.grow(ctx, screenStudios, pours); err != nil {
			return nil, err
		}
		if c.gain = base - c.risk.failure(); c.gain > 0 {
			out = append(out, c)
		}
	}
	return out, nil
}

// pairsOf joins changes that do not touch the same members.
func pairsOf(list []change) (pairs []change) {
	for i := range list {
		for k := i + 1; k < len(list); k++ {
			a, b := &list[i], &list[k]
			if p, ok := a.patch.join(&b.patch); ok && a.gain > noise && b.gain > noise {
				pairs = append(pairs, change{name: a.name + "+" + b.name, do: a.do + " And: " + b.do, effort: a.effort + b.effort, patch: p})
			}
		}
	}
	return pairs
}

func ptr[T any](v T) *T { return &v }

// changes are the practical ones.
func (j *job) changes() []change {
	in := &j.in
	list := j.pressDeeper()
	add := func(name string, effort float64, p Patch, do string, args ...any) {
		list = append(list, change{name: name, do: fmt.Sprintf(do, args...), effort: effort, patch: p})
	}
	if more := 8.0; in.FunnelHeadMM+more <= 80 {
		add("fuller_funnel", 1, Patch{FunnelHeadMM: ptr(in.FunnelHeadMM + more)}, "Keep the funnel %.0f mm fuller, %.0f mm of metal: %.0f g more.", more, in.FunnelHeadMM+more, j.grams(more*j.funnelArea()*1e6))
	}
	bore := func(d float64) float64 { return math.Pi / 4 * d * d * in.SprueLengthMM * float64(in.SprueCount) }
	if d := in.SprueDiameterMM + 2; d <= 12 {
		add("wider_sprue", 1.5, Patch{SprueDiameterMM: &d}, "Cut the sprue %.3g mm wide instead of %.3g: %.0f g more.", d, in.SprueDiameterMM, j.grams(bore(d)-bore(in.SprueDiameterMM)))
	}
	if l := in.SprueLengthMM + 10; l <= 100 {
		add("longer_sprue", 2, Patch{SprueLengthMM: &l}, "Set the pattern 10 mm deeper, under a sprue of %.3g mm, for more head: %.0f g more.", l, j.grams(bore(in.SprueDiameterMM)/in.SprueLengthMM*10))
	}
	if l := in.SprueLengthMM - 6; l >= 8 {
		add("shorter_sprue", 2, Patch{SprueLengthMM: &l}, "Set the pattern 6 mm nearer the funnel, under a sprue of %.3g mm.", l)
	}
	if in.SprueCount == 1 {
		p := Patch{SprueCount: ptr(2)}
		if in.isBand() && in.Posture == "standing" && in.Gate == "top" { // the piece stays where it is
			p.SprueLengthMM = ptr(in.SprueLengthMM + 1e3*j.length/(2*math.Pi)*(1-math.Cos(math.Pi*in.SpreadDeg/360)))
		}
		add("second_sprue", 2, p, "Cut a second sprue, %.0f° from the first, the piece where it is: %.0f g more.", in.SpreadDeg, j.grams(bore(in.SprueDiameterMM)))
	}
	if hot := math.Round(min(j.pourC+30, j.alloy.LiquidusC()+HottestK)); hot > j.pourC+5 {
		add("hotter", 1, Patch{PourC: &hot}, "Pour %.0f K hotter, at %.0f °C.", hot-j.pourC, hot)
	}
	if warm := min(in.ClayC+40, warmest); warm > in.ClayC+5 {
		add("warm_mould", 1.5, Patch{ClayC: &warm}, "Warm the mould to %.0f °C.", warm)
	}
	if n := in.VentCount + 2; n <= 12 {
		add("vents", 1, Patch{VentCount: &n}, "Cut two more vents at the place that fills last.")
	}
	if in.Hand == "beginner" {
		add("steady_hand", 1, Patch{Hand: ptr("practised")}, "Let a practised hand pour, in one steady stream.")
	}
	return append(list, j.turns()...)
}

func (j *job) grams(mm3 float64) float64 { return mm3 * j.alloy.DensityGCm3() / 1e3 }

// turns lay the flask or the pattern another way.
func (j *job) turns() (list []change) {
	in := &j.in
	switch {
	case in.Posture == "standing" && (in.isBand() || in.SprueCount == 1):
		list = append(list, change{name: "lay_flask", effort: 2.5, patch: Patch{Posture: ptr("lying")}, do: "Lay the flask, so that the metal runs round level."})
	case in.SprueCount == 1:
		list = append(list, change{name: "stand_flask", effort: 2.5, patch: Patch{Posture: ptr("standing"), Gate: ptr("top")}, do: "Stand the flask up, with the gate on top."})
	}
	if in.course == nil && (in.isBand() && len(in.Stations) == 0 && in.ThinSpot != nil && in.ThinSpot.AtPct == 50 || in.isBand() && len(in.Stations) > 1) {
		if j.profile.At(0).ThicknessMM < j.profile.At(0.5).ThicknessMM && in.Thickest != "at_gate" {
			list = append(list, change{name: "turn", effort: 2, patch: Patch{Thickest: ptr("at_gate")}, do: "Turn the pattern so that its thickest part lies at the gate."})
		}
	}
	return list
}

// pressDeeper thickens the thin places by pressing the pattern deeper there.
func (j *job) pressDeeper() (list []change) {
	for _, mm := range []float64{0.2, 0.4, 0.8} {
		if t := j.in.ThinSpot; t != nil {
			spot := *t
			spot.ThicknessMM += mm
			if spot.ThicknessMM > j.in.Section.ThicknessMM {
				continue
			}
			p := Patch{ThinSpot: &spot}
			in := p.apply(j.in)
			list = append(list, change{name: "press_deeper", effort: 1.5 + mm, patch: p,
				do: fmt.Sprintf("Press the pattern %.1f mm deeper %s, running out evenly towards the gate: %.1f g more.", mm, j.where(j.thinPct()), j.grams(1e9*in.volume()-1e9*j.volume))})
			continue
		}
		p, from, to, ok := j.deeper(mm)
		if !ok {
			continue
		}
		in := p.apply(j.in)
		more := j.grams(1e9*in.volume() - 1e9*j.volume)
		do := fmt.Sprintf("Press the pattern %.1f mm deeper all round: %.1f g more.", mm, more)
		if from > 0 || to < 100 {
			where := fmt.Sprintf("from %.0f to %.0f mm from the gate", from/100*j.length*1e3, to/100*j.length*1e3)
			if j.in.isBand() {
				where = fmt.Sprintf("from %.0f° to %.0f° round from the gate", 3.6*from, 3.6*to)
			}
			do = fmt.Sprintf("Press the pattern deeper %s, so that no place there is under %.2g mm: %.1f g more.", where, j.thinnest()+mm, more)
		}
		list = append(list, change{name: "press_deeper", do: do, effort: 1.5 + mm, patch: p})
	}
	return list
}

// thinPct is where the thinnest place lies.
func (j *job) thinPct() float64 {
	_, at := j.profile.Thinnest()
	return 100 * at
}

func (j *job) thinnest() float64 {
	t, _ := j.profile.Thinnest()
	return t
}

// volume of the piece as asked for, m³.
func (in *In) volume() float64 {
	p := in.shape()
	switch {
	case in.course != nil:
		return p.Volume(1e3*in.course.length) / 1e9
	case in.isBand():
		return p.RingVolume(in.InsideDiameterMM) / 1e9
	}
	return p.Volume(in.LengthMM) / 1e9
}

// deeper raises every place to mm over the thinnest; it tells from where to
// where, per cent of the way.
func (j *job) deeper(mm float64) (p Patch, from, to float64, ok bool) {
	in := &j.in
	least := j.thinnest() + mm
	from, to = math.Inf(1), 0
	const steps = 72
	course := make(section.Profile, steps+1)
	changed := false
	for i := range course {
		f := float64(i) / steps
		s := j.profile.At(f)
		if s.ThicknessMM < least-1e-9 {
			changed = true
			from, to = min(from, 100*f), max(to, 100*f)
			s.ThicknessMM = least
		}
		course[i] = section.Station{AtPct: 100 * f, Section: s}
	}
	if !changed || in.PatternMesh != nil {
		return p, 0, 0, false
	}
	if from == 0 && to == 100 && len(in.Stations) == 0 && in.ThinSpot == nil {
		s := in.Section
		s.ThicknessMM = least
		return Patch{Section: &s}, 0, 100, true
	}
	p.Stations = thinOut(course)
	if in.Thickest != "as_given" {
		p.Thickest = ptr("as_given")
	}
	return p, from, to, len(p.Stations) <= 40
}

// thinOut drops stations that lie straight between their neighbours.
func thinOut(p section.Profile) section.Profile {
	out := section.Profile{p[0]}
	for i := 1; i+1 < len(p); i++ {
		last, next := out[len(out)-1], p[i+1]
		f := (p[i].AtPct - last.AtPct) / (next.AtPct - last.AtPct)
		straight := last.ThicknessMM + f*(next.ThicknessMM-last.ThicknessMM)
		wide := last.WidthMM + f*(next.WidthMM-last.WidthMM)
		if math.Abs(straight-p[i].ThicknessMM) > 1e-6 || math.Abs(wide-p[i].WidthMM) > 1e-6 || last.Shape != p[i].Shape || next.Shape != p[i].Shape {
			out = append(out, p[i])
		}
	}
	return append(out, p[len(p)-1])
}

// apply puts the members of a patch in place of those of in.
func (p *Patch) apply(in In) In {
	set(&in.Section, p.Section)
	set(&in.Thickest, p.Thickest)
	set(&in.Posture, p.Posture)
	set(&in.Gate, p.Gate)
	set(&in.SprueCount, p.SprueCount)
	set(&in.SprueLengthMM, p.SprueLengthMM)
	set(&in.SprueDiameterMM, p.SprueDiameterMM)
	set(&in.FunnelHeadMM, p.FunnelHeadMM)
	set(&in.VentCount, p.VentCount)
	set(&in.ClayC, p.ClayC)
	set(&in.Hand, p.Hand)
	if p.ThinSpot != nil {
		in.ThinSpot = p.ThinSpot
	}
	if len(p.Stations) > 0 {
		in.Stations, in.ThinSpot = p.Stations, nil
	}
	if p.PourC != nil {
		in.PourC = p.PourC
	}
	if p.PourRateMM3S != nil {
		in.PourRateMM3S, in.PourTimeS = p.PourRateMM3S, nil
	}
	return in
}

func set[T any](to *T, v *T) {
	if v != nil {
		*to = *v
	}
}

// join merges two patches that do not touch the same member.
func (p *Patch) join(q *Patch) (Patch, bool) {
	out := *p
	ok := take(&out.Section, q.Section) && take(&out.ThinSpot, q.ThinSpot) && take(&out.Posture, q.Posture) && take(&out.Gate, q.Gate) &&
		take(&out.Thickest, q.Thickest) && take(&out.SprueCount, q.SprueCount) && take(&out.SprueLengthMM, q.SprueLengthMM) &&
		take(&out.SprueDiameterMM, q.SprueDiameterMM) && take(&out.FunnelHeadMM, q.FunnelHeadMM) && take(&out.VentCount, q.VentCount) &&
		take(&out.PourC, q.PourC) && take(&out.ClayC, q.ClayC) && take(&out.Hand, q.Hand)
	if len(q.Stations) > 0 {
		ok = ok && len(out.Stations) == 0 && out.Section == nil
		out.Stations = q.Stations
	}
	return out, ok
}

func take[T any](to **T, v *T) bool {
	if v == nil {
		return true
	}
	if *to != nil {
		return false
	}
	*to = v
	return true
}

package blend

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/verdict"
)

// Match says whether a charge is the alloy that was asked for.
type Match struct {
	Alloy     string         `json:"alloy" doc:"The alloy asked for"`
	IsAlloy   bool           `json:"is_alloy" doc:"Whether the middle of the charge lies in the alloy's window of elements and its worst case reaches the fineness without passing it by more than 5 parts per thousand"`
	Window    string         `json:"window" doc:"The window, parts per thousand by mass"`
	Outside   []metal.Breach `json:"outside" doc:"Elements outside the window, in the middle of what is known"`
	Instead   []string       `json:"instead" doc:"Catalogue alloys that the charge is instead, nearest first; empty when it is the alloy, or none"`
	DeltaE    *float64       `json:"delta_e,omitempty" doc:"Delta E*ab between the colour of the charge and that of the alloy; left out where a colour is not known"`
	DeltaEMax *float64       `json:"delta_e_greatest,omitempty" doc:"The same at the worst end of what the lots leave open"`
}

// Properties are those of the charge, in the middle and over all compositions
// that the lots leave open.
type Properties struct {
	Known           bool           `json:"known" doc:"Whether the melting range of the charge is known; when not, the ranges are 0 and why says what is missing"`
	Why             string         `json:"why,omitempty" doc:"What is not known"`
	DensityGCm3     metal.Interval `json:"density_g_cm3" doc:"Density of the sound solid at 20 °C"`
	SolidusC        metal.Interval `json:"solidus_c" doc:"Equilibrium solidus, °C"`
	LiquidusC       metal.Interval `json:"liquidus_c" doc:"Liquidus, °C"`
	LiquidusBandK   float64        `json:"liquidus_band_k" doc:"Error of the liquidus of a known composition, ± K"`
	FreezingEndC    metal.Interval `json:"freezing_end_c" doc:"Where the last liquid of a casting freezes, °C"`
	ContractionPct  metal.Interval `json:"contraction_pct" doc:"Linear contraction of the solid to 20 °C, per cent"`
	SurfaceTension  metal.Interval `json:"surface_tension_n_m" doc:"Surface tension of the clean liquid 100 K above the liquidus, N/m"`
	PourC           float64        `json:"pour_c" doc:"Temperature to pour at, °C: 100 K over the liquidus of the middle, or what leaves 50 K over the highest that the lots leave open"`
	PourForTheWorst bool           `json:"pour_for_the_worst" doc:"Whether the highest liquidus decides it"`
}

// Spread is the metal of the charge over what its lots leave open; the error
// is a refusal where its melting range is not known.
func (c ChargePlan) Spread() (metal.Spread, error) {
	middle, least, most := metal.Composition{}, metal.Composition{}, metal.Composition{}
	for _, e := range c.Elements {
		middle[e.Element], least[e.Element], most[e.Element] = e.MiddlePermil/1000, e.LeastPermil/1000, e.GreatestPermil/1000
	}
	id := ""
	if c.Match != nil {
		id = c.Match.Alloy
	}
	return metal.Between(melted(middle), least, most, id, c.own)
}

// melted is a composition without the traces of elements whose properties are
// not kept; more than a trace stays, and is refused by name.
func melted(c metal.Composition) metal.Composition {
	const trace = 0.002
	unknown, sum := 0.0, 0.0
	out := metal.Composition{}
	for e, v := range c {
		if metal.Knows(e) {
			out[e] = v
			sum += v
		} else {
			unknown += v
		}
	}
	if unknown > trace || sum == 0 {
		return c
	}
	for e := range out {
		out[e] /= sum
	}
	return out
}

// judge compares the charge of melt b with the alloy asked for, computes its
// properties and gathers its reasons.
func (q *question) judge(b int, out *ChargePlan, notes *calc.Notes) {
	given := &q.in.Melts[b]
	middle := metal.Composition{}
	for _, e := range out.Elements {
		middle[e.Element] = e.MiddlePermil / 1000
	}
	if out.Colour = metal.ColourOf(melted(middle)); out.Colour != nil {
		notes.Cite(metal.ColourSources()...)
	}
	if given.Alloy != "" {
		out.Match = q.match(b, out, melted(middle))
	}
	out.own = given.ownRange()
	s, err := out.Spread()
	p := Properties{Known: err == nil && s.Unknown == ""}
	if err != nil {
		p.Why = firstFault(err)
		out.Reasons.Add(verdict.Metal, verdict.NotYet, "Give solidus_c and liquidus_c of the metal from a data sheet, or choose lots whose melting range is known.", "The melting range of the charge, %s, is not known: %s.", out.Composition, p.Why)
	} else {
		p.Why = s.Unknown
		p.DensityGCm3, p.SolidusC, p.LiquidusC, p.FreezingEndC, p.ContractionPct, p.SurfaceTension = s.Density, s.Solidus, s.Liquidus, s.FreezesAt, s.Contracts, s.Tension
		p.LiquidusBandK = s.RangeBandK()
		p.PourC, p.PourForTheWorst = s.PourC(), s.Raised()
		notes.Cite(s.Sources()...)
		notes.Caution(s.Cautions()...)
		if width := s.Liquidus.High - s.Liquidus.Low; width > widest {
			out.Reasons.Add(verdict.Metal, verdict.CannotTell, "Give the colour or the elements of the lots, or have them assayed.", "What the lots leave open puts the liquidus anywhere between %.0f and %.0f °C: no temperature suits both.", s.Liquidus.Low, s.Liquidus.High)
		} else if p.PourForTheWorst {
			out.Reasons.Add(verdict.Metal, verdict.Care, "Assay the doubtful lots, or list their elements.", "What the lots leave open puts the liquidus between %.0f and %.0f °C: pour at %.0f °C for the worst case.", s.Liquidus.Low, s.Liquidus.High, p.PourC)
		}
		if p.PourC > hotC {
			out.Reasons.Add(verdict.Metal, verdict.Care, "Leave it to a caster equipped for it, or ask for a metal that pours lower.", "It pours at %.0f °C: beyond what a gas and air torch, a clay-graphite crucible and oil-bonded clay are made for.", p.PourC)
		}
		if s.Unknown != "" {
			out.Reasons.Add(verdict.Metal, verdict.CannotTell, "List the elements of the lots, or have them assayed.", "Some of what the lots leave open has no known melting range: %s.", s.Unknown)
		}
	}
	out.Properties = &p
	for _, part := range out.Charge {
		if part.WeighG > 0 && !part.Bought {
			out.Reasons.Join(q.reasons[part.ID])
		}
	}
	q.finer(b, out)
	q.leftOut(b, out)
	q.otherAlloy(b, out, middle)
	out.Reasons = out.Reasons.Sorted()
	out.Verdict = out.Reasons.Level()
}

// hotC is the temperature above which a pour is beyond the usual means of a
// small studio, °C: common practice, no source.
const hotC = 1200.0

// widest is the range of liquidus, K, that one pour can bear: 50 to 150 K over
// it are poured without harm.
const widest = 100.0

func firstFault(err error) string {
	var r *calc.Refusal
	if errors.As(err, &r) && len(r.Faults) > 0 {
		why, _, _ := strings.Cut(r.Faults[0].Accepts, ";")
		return strings.TrimPrefix(why, "the melting range of this metal is not known: ")
	}
	return err.Error()
}

// Tolerances of a match.
const (
	mostFiner = 0.005 // of the fineness: GOST 30649-99 allows carat golds 5 parts per thousand over
	weighed   = 5e-4  // least tolerance of a window: the rounding of the scale
)

// match compares the charge with the alloy asked for.
func (q *question) match(b int, out *ChargePlan, middle metal.Composition) *Match {
	given := &q.in.Melts[b]
	w, _ := metal.WindowOf(given.Alloy)
	m := &Match{Alloy: given.Alloy, Window: w.String(), Instead: []string{}}
	tolerance := max(weighed, 2*q.in.ResolutionG/max(out.MassG, q.in.ResolutionG))
	m.Outside = w.Breaches(middle, tolerance)
	over := out.FinenessWorst/1000 - q.programme.Melts[b].Fineness
	m.IsAlloy = len(m.Outside) == 0 && over <= mostFiner+tolerance
	if !m.IsAlloy {
		for _, id := range middle.Is() {
			if id != given.Alloy {
				m.Instead = append(m.Instead, id)
			}
		}
	}
	named, err := metal.Named(given.Alloy)
	if err != nil {
		return m
	}
	want, _, ok := named.Composition.Colour()
	got, _, also := middle.Colour()
	if ok && also {
		e := math.Round(10*want.DeltaE(got)) / 10
		m.DeltaE = &e
		worst := e
		for _, c := range q.ends(out) {
			if lab, _, ok := c.Colour(); ok {
				worst = max(worst, math.Round(10*want.DeltaE(lab))/10)
			}
		}
		m.DeltaEMax = &worst
	}
	return m
}

// ends are the compositions at the ends of what the lots leave open.
func (q *question) ends(out *ChargePlan) []metal.Composition {
	middle, least, most := metal.Composition{}, metal.Composition{}, metal.Composition{}
	for _, e := range out.Elements {
		middle[e.Element], least[e.Element], most[e.Element] = e.MiddlePermil/1000, e.LeastPermil/1000, e.GreatestPermil/1000
	}
	return metal.Corners(melted(middle), least, most)
}

// finer says where the charge is finer than asked, why, how much fine metal
// that gives away and what it is worth.
func (q *question) finer(b int, out *ChargePlan) {
	melt := &q.programme.Melts[b]
	over := out.FinenessWorst/1000 - melt.Fineness
	const generous = 0.002 // more than rounding gives away
	if over <= generous {
		return
	}
	g := over * out.MassG
	worth := ""
	if price, ok := q.finePrice(); ok {
		worth = fmt.Sprintf(", worth about %.2f of your money", g*price)
	}
	why := "what must go in is finer, and the limits leave no room to let it down"
	if len(q.in.Additions) > 0 {
		why = "what must go in is finer, and nothing on sale lets it down"
	}
	out.Reasons.Add(verdict.Metal, verdict.Care, "Offer base metal or the alloying metals under additions, let the melt grow, or leave some of the finer lots out.",
		"The charge is %.0f parts per thousand finer than asked in the worst case: %.2f g of fine %s given away%s, because %s.", 1000*over, g, q.in.Metal, worth, why)
}

// leftOut says which clients' lots are left over though metal is bought,
// because the window of the alloy does not take them.
func (q *question) leftOut(b int, out *ChargePlan) {
	melt := &q.programme.Melts[b]
	const much = 0.1 // of the charge: less is what fineness asks for
	if len(melt.Window) == 0 || out.BoughtG < much*out.MassG {
		return
	}
	for _, part := range out.Charge {
		k := slices.IndexFunc(q.programme.Lots, func(l Lot) bool { return l.ID == part.ID && !l.Bought })
		if k < 0 || part.LeftG < part.WeighG || part.LeftG == 0 || !q.programme.Lots[k].clients() {
			continue
		}
		var why []string
		for _, w := range melt.Window {
			if v := q.programme.Lots[k].likely(q.symbol)[w.Element]; v > w.Most || v < w.Least {
				why = append(why, fmt.Sprintf("%s %.0f where the alloy has %.0f to %.0f", w.Element, 1000*v, 1000*w.Least, 1000*w.Most))
			}
		}
		if len(why) > 0 {
			out.Reasons.Add(verdict.Metal, verdict.Care, "Tell the client, ask for an alloy that her metal suits, or for composition free.",
				"Only %.2f g of %s go in and %.2f g are left, while %.2f g are bought: it has %s parts per thousand.", part.WeighG, part.ID, part.LeftG, out.BoughtG, strings.Join(why, ", "))
		}
	}
}

// finePrice is the price of a gram of fine metal, from the finest addition
// that has a price.
func (q *question) finePrice() (perG float64, ok bool) {
	best := 0.0
	for _, l := range q.programme.Lots {
		if f := l.Least[q.symbol]; l.Bought && l.PricePerG > 0 && f > best {
			best, perG, ok = f, l.PricePerG/f, true
		}
	}
	return perG, ok
}

// farColour is the Delta E*ab beyond which a charge does not look like the
// alloy that was asked for: twice what the computed colours err by.
const farColour = 6.0

// otherAlloy says where the charge is not the alloy that was asked for.
func (q *question) otherAlloy(b int, out *ChargePlan, middle metal.Composition) {
	m, free := out.Match, q.in.Melts[b].Composition == "free"
	if m == nil {
		return
	}
	if len(m.Outside) > 0 {
		var list []string
		for _, o := range m.Outside {
			list = append(list, fmt.Sprintf("%s %g where the alloy has %g to %g", o.Element, o.Permil, o.Least, o.Most))
		}
		instead := "no alloy of the catalogue"
		if len(m.Instead) > 0 {
			instead = m.Instead[0]
		}
		colour := ""
		if out.Colour != nil {
			colour = fmt.Sprintf(", by colour %s (%s)", out.Colour.Lab().Words(), out.Colour.SRGB)
		}
		level, do := verdict.DoNotPour, "Take lots of the alloy, put part of a lot in instead of the whole, offer the metals that are missing, or ask for composition free."
		if free {
			level, do = verdict.Care, "Say so to the client, or ask for composition as_alloy."
		}
		out.Reasons.Add(verdict.Metal, level, do, "The charge is not %s but %s%s: %s parts per thousand.", m.Alloy, instead, colour, strings.Join(list, ", "))
	}
	if m.DeltaE != nil && *m.DeltaE > farColour && len(m.Outside) == 0 {
		out.Reasons.Add(verdict.Metal, verdict.Care, "Show the client the swatch, or add the alloy's own metals.", "The charge is within the window of %s but off its colour by Delta E %.1f: it is %s.", m.Alloy, *m.DeltaE, out.Colour.Lab().Words())
	}
	if m.DeltaEMax != nil && *m.DeltaEMax > farColour && (m.DeltaE == nil || *m.DeltaE <= farColour) {
		out.Reasons.Add(verdict.Metal, verdict.Care, "Give the colour or the elements of the lots.", "What the lots leave open lets the colour be off that of %s by up to Delta E %.1f.", m.Alloy, *m.DeltaEMax)
	}
}

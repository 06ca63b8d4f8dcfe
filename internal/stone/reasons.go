package stone

import (
	"fmt"
	"slices"
	"strings"

	"pourwright/internal/calc"
)

// Limits of practice.
const (
	tooSmallMM  = 1.0   // too small to place by hand
	canBeMM     = 1.3   // can be done
	smallMM     = 3.0   // what "small" means in the practice with cold clay
	preheatedC  = 400.0 // least temperature of the flasks that the customs come from
	silverShare = 0.75  // mass fraction of silver that makes a metal silver
)

var (
	srcColdPractice = calc.Source{For: "stones in cold oil-bonded clay", Text: "small, clean, faceted natural sapphires and diamonds from about 1.3 mm come out whole in silver; nothing else has practice behind it", Status: calc.Practice}
	srcSmallest     = calc.Source{For: "smallest stone", Text: "1 mm is too small to place by hand, 1.3 mm can be done; up to 3 mm counts as small here (our choice)", Status: calc.Practice}
)

// reasons gathers the grounds of a verdict, weightiest first: what rules it
// out before what must be asked before what calls for care; within each,
// treatment, flaws, kind, size, seat, heat.
func reasons(in SettingIn, p pour, gem Gem, s In, j Judgement) []VerdictReason {
	var all []VerdictReason
	say := func(code string, v Verdict, format string, args ...any) {
		all = append(all, VerdictReason{code, v, fmt.Sprintf(format, args...)})
	}
	byTreatment(say, s)
	byCondition(say, s.Condition)
	byKind(say, in, p, gem, s)
	bySize(say, j.Measures, s)
	bySeat(say, j)
	byHeat(say, in, p, gem, s, j.Heat)
	if s.ClientOwned {
		say("client_owned", Proven, "a client's own stone: get the consent line signed before the pour")
	}
	slices.SortStableFunc(all, func(a, b VerdictReason) int { return verdictOrder[b.Verdict] - verdictOrder[a.Verdict] })
	return all
}

type saying func(code string, v Verdict, format string, args ...any)

func byTreatment(say saying, s In) {
	if len(s.Treatments) == 0 {
		say("treatment_not_asked", CannotTell, "nothing is said of treatments: ask the seller or owner, and give \"none\" or what was done; \"not_known\" rules it out")
	}
	for _, t := range s.Treatments {
		r, _ := treatmentRule(t)
		say("treatment", r.Verdict, "%s: %s", strings.ReplaceAll(string(t), "_", " "), r.InHeat)
	}
}

func byCondition(say saying, c Condition) {
	switch c {
	case LiquidInc:
		say("condition", DoNot, "liquid or gas inclusions burst the stone when it is heated")
	case Fissures:
		say("condition", DoNot, "fissures grow under thermal stress")
	case Chipped:
		say("condition", Care, "a chipped edge is where a crack begins")
	case SmallIncl:
		say("condition", Care, "inclusions expand unlike their host; practice is with clean stones")
	case Clean:
		say("condition", Proven, "clean under the loupe")
	default:
		say("condition_not_looked", CannotTell, "nobody has looked: loupe the stone for inclusions, fissures and fillings")
	}
}

func byKind(say saying, in SettingIn, p pour, gem Gem, s In) {
	name := strings.ToLower(gem.Name)
	hot := p.clayC >= preheatedC
	best := gem.InColdClay
	if hot {
		best = preheated(gem.Cast)
	}
	switch {
	case gem.Cast == NotCast:
		say("kind", DoNot, "%s is not cast in place: %s", name, gem.InHeat)
	case gem.Cast == CustomUnsure:
		say("kind", CannotTell, "no custom is known for %s in any mould, nor what heat does to it: ask the seller, try a like stone", name)
	case best == Proven && hot:
		say("kind", Proven, "%s is customarily cast in place in flasks at 400-570 °C that cool slowly", name)
	case hot:
		say("kind", Care, "%s is cast in place with care in preheated flasks: small, clean, untreated", name)
	case best == Proven && p.metal.Composition["Ag"] < silverShare:
		say("metal", Care, "the practice with %s in cold clay is in silver; none is known in %s", name, p.metal.Name)
	case best == Proven:
		say("kind", Proven, "small clean natural %s has come out whole in silver in cold oil-bonded clay", name)
	case gem.ID == "corundum-lab":
		say("kind", Care, "laboratory-grown corundum has cracked again and again in cold bonded sand, by shock or by the metal's shrinkage: a trial stone first")
	case gem.Cast == Customary:
		say("kind", Care, "%s is customary in preheated flasks only; in cold clay the shock is about double and no practice is known: a trial stone first", name)
	default:
		say("kind", Care, "%s needs care even in a preheated flask; in cold clay a trial stone first, or set it afterwards", name)
	}
	if _, twin := twins[gem.ID]; twin && s.Origin == "not_known" {
		say("origin", Care, "whether it is natural or laboratory-grown is not known: the practice is with natural stones")
	}
	if gem.Cleavage == "perfect" && gem.Cast != NotCast && !provenCold(gem.ID) {
		say("cleavage", Care, "perfect cleavage: no sharp corner in the grip")
	}
}

func bySize(say saying, m Measures, s In) {
	least := min(m.LengthMM, m.WidthMM)
	switch {
	case least <= tooSmallMM:
		say("too_small", DoNot, "%.2g mm is too small to place by hand in clay; from %.1f mm it can be done", least, canBeMM)
	case least < canBeMM:
		say("small", Care, "%.3g mm is below the %.1f mm that is known to work by hand", least, canBeMM)
	case m.LengthMM > smallMM:
		say("large", Care, "%.3g mm is more than small: the practice in cold clay is with small stones, and shock grows with size", m.LengthMM)
	}
	if s.Cut == Bead {
		say("cut", DoNot, "a bead has no girdle to grip and holds air in its bore")
	}
	if s.Cut == Cabochon {
		say("cut", Care, "practice is with faceted stones; cabochons flake")
	}
}

func bySeat(say saying, j Judgement) {
	seat, g := j.Seat, j.Grains
	switch {
	case seat.Window.Empty():
		say("no_seat", DoNot, "no press depth holds it: %s", seat.Window.Reason)
	case !seat.PressWithin:
		say("press", Care, "pressed %.2f mm it is outside the window %.2f-%.2f mm: %s", seat.PressMM, *seat.Window.LowMM, *seat.Window.HighMM, outside(seat))
	}
	if !seat.Carried {
		say("section", DoNot, "the section does not carry it: %.2f mm behind (needs %.2f), %.2f mm beside (needs %.2f); use at least %.1f × %.1f mm, thick × wide", seat.BehindMM, seat.BehindNeededMM, seat.BesideMM, seat.BesideNeededMM, seat.ThicknessMinMM, seat.WidthMinMM)
	}
	if seat.HoldBy == "grains" && (g.Fills == FillsLikely || g.Fills == FillsDoubtful) {
		say("grain_fill", Care, "whether grains of %.2f mm fill at this head is %s; they surely do at %.0f mm of head", g.DiameterMM, g.Fills, g.HeadToFillMM)
	}
	if seat.HoldBy == "grains" && !g.Holds {
		say("grip", Care, "the grains bear %.1f N, less than twice the stated pull of %.1f N: more or larger grains, or set it afterwards", g.GripN, g.PullN)
	}
}

func outside(seat Seat) string {
	if seat.PressMM < *seat.Window.LowMM {
		return "metal drowns it and it must be cut free"
	}
	return "the girdle is buried in the clay and nothing grips it"
}

func byHeat(say saying, in SettingIn, p pour, gem Gem, s In, h Heat) {
	for i, e := range gem.HeatEvents {
		if i < len(h.Events) && h.Events[i].AboveS > 0 && !e.Reversible && gem.Cast != NotCast && !strings.HasPrefix(gem.ID, "diamond") {
			v := Care
			if provenCold(gem.ID) || p.clayC >= preheatedC && gem.Cast == Customary { // what has come out whole was as hot
				v = Proven
			}
			say("heat", v, "its surface is above %.0f °C for %.0f s: %s", h.Events[i].FromC, h.Events[i].AboveS, e.What)
		}
	}
	if h.BurnSharePct != nil && *h.BurnSharePct > 1 {
		say("oxidation", Proven, "were air to reach it, it would burn %.0f %% as much as in the kiln hour that left a burnt skin; keep the air off", *h.BurnSharePct)
	}
	switch {
	case h.IndexMissing != "":
		say("no_index", Proven, "no thermal-stress index: %s", h.IndexMissing)
	case h.ShockIndex != nil:
		ratio := *h.ShockIndex / h.Beside[1].Index
		v := Proven
		if ratio > 1.01 && p.clayC < preheatedC {
			v = Care
		}
		say("shock_rank", v, "thermal-stress index %.2g, %.2g times that of natural sapphire of this size in cold clay; a rank, not a prediction", *h.ShockIndex, ratio)
	}
}

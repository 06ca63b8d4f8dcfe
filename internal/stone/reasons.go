package stone

import (
	"fmt"
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/verdict"
)

// Limits of practice.
const (
	tooSmallMM  = 1.0   // too small to place by hand
	canBeMM     = 1.3   // can be done
	sieveMM     = 0.05  // a size of the trade covers so much more at 1.1 to 1.55 mm (sieve tables, read)
	smallMM     = 3.0   // what "small" means in the practice with cold clay
	preheatedC  = 400.0 // least temperature of the flasks that the customs come from
	silverShare = 0.75  // mass fraction of silver that makes a metal silver
)

var (
	srcColdPractice = calc.Source{For: "stones in cold oil-bonded clay", Text: "clean faceted diamonds, rubies and sapphires, laboratory-grown ones too, from about 1.3 mm come out whole in silver as a matter of course; cubic zirconia commonly; garnet and spinel by trial", Status: calc.Practice}
	srcSmallest     = calc.Source{For: "smallest stone", Text: "1 mm is too small to place by hand, 1.3 mm is the practical lower limit; up to 3 mm counts as small here (our choice)", Status: calc.Practice}
)

// reasons gathers the grounds of a verdict, weightiest first: what rules it
// out before what must be asked before what calls for care; within each,
// treatment, flaws, kind, size, seat, heat.
func reasons(in SettingIn, p pour, gem Gem, s In, j Judgement) []VerdictReason {
	var all []VerdictReason
	say := func(code string, v verdict.Level, format string, args ...any) {
		all = append(all, VerdictReason{code, v, fmt.Sprintf(format, args...)})
	}
	byTreatment(say, gem, s)
	byCondition(say, s.Condition)
	byKind(say, in, p, gem, s)
	bySize(say, j.Measures, s.Cut)
	byCut(say, gem, s.Cut)
	bySeat(say, j.Seat, j.Grains)
	byHeat(say, in, p, gem, s, j.Heat)
	if s.ClientOwned {
		say("client_owned", verdict.Go, "a client's own stone: get the consent line signed before the pour")
	}
	slices.SortStableFunc(all, func(a, b VerdictReason) int { return b.Verdict.Rank() - a.Verdict.Rank() })
	return all
}

type saying func(code string, v verdict.Level, format string, args ...any)

func byTreatment(say saying, gem Gem, s In) {
	if len(s.Treatments) == 0 {
		say("treatment_not_asked", verdict.CannotTell, "nothing is said of treatments: ask the seller or owner, and give \"none\" or what was done; \"not_known\" rules it out")
	}
	for _, t := range s.Treatments {
		r := gem.ruleFor(t)
		say("treatment", r.Verdict, "%s: %s", strings.ReplaceAll(string(t), "_", " "), r.InHeat)
	}
}

func byCondition(say saying, c Condition) {
	switch c {
	case LiquidInc:
		say("condition", verdict.DoNotPour, "liquid or gas inclusions burst the stone when it is heated")
	case Fissures:
		say("condition", verdict.DoNotPour, "fissures grow under thermal stress")
	case Chipped:
		say("condition", verdict.Care, "a chipped edge is where a crack begins")
	case SmallIncl:
		say("condition", verdict.Care, "inclusions expand unlike their host; practice is with clean stones")
	case Clean:
		say("condition", verdict.Go, "clean under the loupe")
	default:
		say("condition_not_looked", verdict.CannotTell, "nobody has looked: loupe the stone for inclusions, fissures and fillings")
	}
}

func byKind(say saying, in SettingIn, p pour, gem Gem, s In) {
	name := strings.ToLower(gem.Name)
	if gem.Cast == NotCast {
		say("kind", verdict.DoNotPour, "%s is not cast in place: %s", name, gem.InHeat)
		return
	}
	if gem.Cast == CustomUnsure {
		say("kind", verdict.CannotTell, "no custom is known for %s in any mould, nor what heat does to it: ask the seller, try a like stone", name)
		return
	}
	if p.clayC >= preheatedC {
		byFlask(say, p.clayC, gem, in.BoricAcid)
	} else {
		byClay(say, p, gem)
	}
	if _, twin := twins[gem.ID]; twin && s.Origin == "not_known" && gem.InColdClay != verdict.Go {
		say("origin", verdict.Care, "whether it is natural or laboratory-grown is not known")
	}
}

// byFlask judges a kind in a preheated flask, up to the temperature that is customary.
func byFlask(say saying, clayC float64, gem Gem, boricAcid bool) {
	name, most := strings.ToLower(gem.Name), gem.flaskMaxC(boricAcid)
	switch {
	case clayC > most && gem.diamond():
		say("flask", verdict.DoNotPour, "%.0f °C is over the %.0f °C that are customary for %s%s: it frosts, as air reaches it for hours", clayC, most, name, acidWords(boricAcid))
	case clayC > most:
		say("flask", verdict.Care, "%.0f °C is over the %.0f °C that are customary for %s%s: a trial stone first", clayC, most, name, acidWords(boricAcid))
	case preheated(gem.Cast) == verdict.Go:
		say("kind", verdict.Go, "%s is customarily cast in place in flasks of 400 to %.0f °C that cool slowly", name, most)
	default:
		say("kind", verdict.Care, "%s is cast in place with care in preheated flasks: small, clean, untreated", name)
	}
}

func acidWords(boricAcid bool) string {
	if boricAcid {
		return " with boric acid in the investment"
	}
	return " without boric acid in the investment"
}

// metalWord is what a metal is called by its main precious metal.
func metalWord(m metal.Metal) string {
	switch c := m.Composition; {
	case c["Au"] >= 0.3:
		return "gold"
	case c["Pt"] >= 0.3:
		return "platinum"
	case c["Pd"] >= 0.3:
		return "palladium"
	}
	return "metals other than silver"
}

// byClay judges a kind in oil-bonded clay that is poured cold or warm.
func byClay(say saying, p pour, gem Gem) {
	name := strings.ToLower(gem.Name)
	switch {
	case gem.InColdClay == verdict.Go && p.metal.Composition["Ag"] < silverShare:
		say("metal", verdict.Care, "the practice with %s in cold clay is in silver; none is known in %s", name, metalWord(p.metal))
	case gem.ID == "corundum-lab":
		say("kind", verdict.Go, "clean ruby and sapphire are cast in place in silver in cold oil-bonded clay as a matter of course, laboratory-grown ones too; in bentonite sand some have cracked (workshop reports), so let it cool slowly in the mould")
	case gem.InColdClay == verdict.Go:
		say("kind", verdict.Go, "clean %s is cast in place in silver in cold oil-bonded clay as a matter of course", name)
	case gem.ID == "cz":
		say("kind", verdict.Care, "cubic zirconia is commonly cast in place, but the shock in cold clay is about double that in a flask: a trial stone first")
	case gem.Cast == Customary:
		say("kind", verdict.Care, "%s is customary in preheated flasks; in cold clay the shock is about double: a trial stone first", name)
	default:
		say("kind", verdict.Care, "%s is cast in place by trial only: a like stone first, or set it afterwards", name)
	}
}

// bySize judges the size of a stone; settings and layouts both ask it.
func bySize(say saying, m Measures, cut Cut) {
	least := min(m.LengthMM, m.WidthMM)
	switch {
	case least <= tooSmallMM:
		say("too_small", verdict.DoNotPour, "%.3g mm is too small to place by hand in clay; %.1f mm is the practical lower limit", least, canBeMM)
	case least < canBeMM-1e-9:
		say("small", verdict.Care, "%.3g mm is below the %.1f mm that are the practical lower limit by hand: setting it at the bench is surer", least, canBeMM)
	case least <= canBeMM+sieveMM:
		say("small", verdict.Care, "%.3g mm is just the practical lower limit of %.1f mm: possible, and some are lost", least, canBeMM)
	case m.LengthMM > smallMM:
		say("large", verdict.Care, "%.3g mm is more than small: the practice in cold clay is with small stones, and shock grows with size", m.LengthMM)
	}
	if cut == Bead {
		say("cut", verdict.DoNotPour, "a bead has no girdle to grip and holds air in its bore")
	}
	if cut == Cabochon {
		say("cut", verdict.Care, "practice is with faceted stones; cabochons flake")
	}
}

// byCut judges the sharp points of a cut: metal that shrinks on a point chips it.
func byCut(say saying, gem Gem, cut Cut) {
	n := sharpPoints(cut)
	if n == 0 {
		return
	}
	cleaves := ""
	if gem.Cleavage == "perfect" {
		cleaves = fmt.Sprintf("; %s cleaves perfectly, and a blow or squeeze on a point splits it", strings.ToLower(gem.Name))
	}
	say("points", verdict.Care, "%d sharp %s: no grain on a point; carry it by a V-shaped support half-way up the crown with a relief round the point, so that the metal does not touch it%s", n, plural(n, "point", "points"), cleaves)
}

func sharpPoints(c Cut) int {
	r, ok := ruleOf(c)
	if !ok {
		return 0
	}
	return len(girdleOf(r.outline, 1, 1).points)
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// bySeat judges how a stone sits and what holds it; settings and layouts both ask it.
func bySeat(say saying, seat Seat, g Grains) {
	switch {
	case seat.Window.Empty():
		say("no_seat", verdict.DoNotPour, "no press depth holds it: %s", seat.Window.Reason)
	case !seat.PressWithin:
		say("press", verdict.DoNotPour, "pressed %.2f mm it is outside the window %.2f-%.2f mm: %s", seat.PressMM, *seat.Window.LowMM, *seat.Window.HighMM, outside(seat))
	}
	if !seat.Carried {
		say("section", verdict.DoNotPour, "the section does not carry it: %.2f mm of metal behind (needs %.2f), %.2f mm beside (needs %.2f); use at least %.1f × %.1f mm, thick × wide", seat.BehindMM, seat.BehindNeededMM, seat.BesideMM, seat.BesideNeededMM, seat.ThicknessMinMM, seat.WidthMinMM)
	}
	if g.Count > 0 && (g.TooLarge() || g.DiameterMM == 0) {
		say("grain_size", verdict.DoNotPour, "grains: %s", g.Reason)
	}
	if seat.HoldBy != "grains" {
		return
	}
	if g.Fills == FillsLikely || g.Fills == FillsDoubtful {
		say("grain_fill", verdict.Care, "whether grains of %.2f mm fill at this head is %s; they surely do at %.0f mm of head", g.DiameterMM, g.Fills, g.HeadToFillMM)
	}
	if !g.Holds {
		say("grip", verdict.Care, "the grains bear %.1f N, less than twice the stated pull of %.1f N: more or larger grains, or set it afterwards", g.GripN, g.PullN)
	}
}

func outside(seat Seat) string {
	switch {
	case seat.PressMM < *seat.Window.LowMM:
		return "metal drowns it and it must be cut free"
	case seat.PressMM < seat.BuriedMM:
		return "too little of the crown is in the metal for it to be held"
	}
	return "the girdle is buried in the clay and nothing grips it"
}

func byHeat(say saying, in SettingIn, p pour, gem Gem, s In, h Heat) {
	for i, e := range gem.HeatEvents {
		if i < len(h.Events) && h.Events[i].AboveS > 0 && !e.Reversible && gem.Cast != NotCast && !strings.HasPrefix(gem.ID, "diamond") {
			v := verdict.Care
			if provenCold(gem.ID) || p.clayC >= preheatedC && gem.Cast == Customary { // what has come out whole was as hot
				v = verdict.Go
			}
			say("heat", v, "its surface is above %.0f °C for %.0f s: %s", h.Events[i].FromC, h.Events[i].AboveS, e.What)
		}
	}
	if h.BurnSharePct != nil && *h.BurnSharePct > 1 {
		say("oxidation", verdict.Go, "were air to reach it, it would burn %.0f %% as much as in the kiln hour that left a burnt skin; keep the air off", *h.BurnSharePct)
	}
	switch {
	case h.IndexMissing != "":
		say("no_index", verdict.Go, "no thermal-stress index: %s", h.IndexMissing)
	case h.ShockIndex != nil:
		ratio := *h.ShockIndex / h.Beside[1].Index
		v := verdict.Go
		if ratio > 1.01 && p.clayC < preheatedC {
			v = verdict.Care
		}
		say("shock_rank", v, "thermal-stress index %.2g, %.2g times that of natural sapphire of this size in cold clay; a rank, not a prediction", *h.ShockIndex, ratio)
	}
}

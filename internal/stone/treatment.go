package stone

import (
	"pourwright/internal/calc"
	"pourwright/internal/verdict"
)

// Treatment is something done to a stone before it came to the bench.
type Treatment string

// The treatments. None must be said; NotKnown is an answer too.
const (
	None            Treatment = "none"
	NotKnown        Treatment = "not_known"
	Heated          Treatment = "heated"
	FractureFilled  Treatment = "fracture_filled"
	LeadGlassFilled Treatment = "lead_glass_filled"
	FluxHealed      Treatment = "flux_healed"
	Diffused        Treatment = "diffused"
	Irradiated      Treatment = "irradiated"
	PressureHeated  Treatment = "pressure_heated"
	LaserDrilled    Treatment = "laser_drilled"
	Oiled           Treatment = "oiled"
	Waxed           Treatment = "waxed"
	ResinFilled     Treatment = "resin_filled"
	Dyed            Treatment = "dyed"
	Coated          Treatment = "coated"
	Smoked          Treatment = "sugar_or_smoke_blackened"
	AssembledPiece  Treatment = "assembled_or_foiled"
)

// TreatmentRule is what a treatment means in the fire.
type TreatmentRule struct {
	Treatment Treatment
	Verdict   verdict.Level // the best that a stone so treated can have
	InHeat    string
	Fume      bool // it gives off something to breathe or something that pits the metal
}

// treatmentRules, worst first. Behaviour in heat: Gem Reference Guide; Nassau,
// Gemstone Enhancement (1984), from memory. That a treatment of the first
// group, or an unknown one, rules out casting in place is this program's rule.
var treatmentRules = []TreatmentRule{
	{FractureFilled, verdict.DoNotPour, "the high-lead glass in its fractures oozes or discolours", true},
	{LeadGlassFilled, verdict.DoNotPour, "its lead-glass filling softens far below 1000 °C", true},
	{FluxHealed, verdict.DoNotPour, "flux residue in its healed fractures softens at 700-1000 °C (uncertain)", false},
	{Oiled, verdict.DoNotPour, "its oil bleeds, smokes and chars from 100-200 °C and the fissures show", true},
	{ResinFilled, verdict.DoNotPour, "its resin softens at 60-150 °C and chars at 200-350 °C; the gas spoils the metal", true},
	{Waxed, verdict.DoNotPour, "its wax bleeds, smokes and chars from 100-200 °C", true},
	{Dyed, verdict.DoNotPour, "organic dye chars at 150-300 °C", true},
	{Coated, verdict.DoNotPour, "its coating burns off, peels or discolours", false},
	{Smoked, verdict.DoNotPour, "the carbon that blackens it burns, and its host fails first", false},
	{AssembledPiece, verdict.DoNotPour, "its glue fails at 80-200 °C and it falls apart", true},
	{NotKnown, verdict.DoNotPour, "what was done to it is not known, and many stones of this kind hold oil, resin or dye", false},
	{Irradiated, verdict.DoNotPour, "its colour centres anneal: quartz 200-400, beryl 100-400, topaz about 500, diamond from 500-600 °C", false},
	{LaserDrilled, verdict.Care, "a laser-drilled channel may hold a glass filling: look with the loupe; filled is not to be cast in place", false},
	{Diffused, verdict.Care, "heat is mostly harmless to diffused colour, but it is shallow: repolishing after the pour loses it", false},
	{Heated, verdict.Care, "it is stable to its own heating only; hotter or reducing heat can shift the colour", false},
	{PressureHeated, verdict.Go, "pressure-heated colour is stable in heat", false},
	{None, verdict.Go, "declared untreated", false},
}

var (
	srcTreatments = calc.Source{For: "treatments in heat", Text: "Gem Reference Guide; K. Nassau, Gemstone Enhancement, 1984", Status: calc.FromMemory}
	srcHeated     = calc.Source{For: "heated corundum", Text: "trade and laboratory pages: ruby heated in 99 of 100 cases, almost all sapphire; stable, no special care; lead glass in a ruby melts under a torch and is etched by pickle", Status: calc.Practice}
)

func treatmentRule(t Treatment) (TreatmentRule, bool) {
	for _, r := range treatmentRules {
		if r.Treatment == t {
			return r, true
		}
	}
	return TreatmentRule{}, false
}

// ruleFor is what a treatment means for a stone of this kind. Nearly all ruby
// and sapphire of the trade is heated, hotter than any pour, so that heating
// is no objection to corundum and an unknown treatment asks for a look: it is
// a filling that rules corundum and diamond out, and a loupe shows one.
func (g Gem) ruleFor(t Treatment) TreatmentRule {
	r, _ := treatmentRule(t)
	switch {
	case t == Heated && g.corundum():
		r.Verdict, r.InHeat = verdict.Go, "usual for ruby and sapphire, at 1000 °C and over, and no objection"
	case t == NotKnown && (g.corundum() || g.diamond()):
		r.Verdict = verdict.CannotTell
		r.InHeat = "heating is no objection, but a filling is: look for one under the loupe (flash of colour, gas bubbles, a filled drill hole) and give \"heated\", \"none\" or what you find"
	}
	return r
}

func (g Gem) corundum() bool { return g.ID == "ruby" || g.ID == "sapphire" || g.ID == "corundum-lab" }

func (g Gem) diamond() bool { return g.ID == "diamond" || g.ID == "diamond-lab" }

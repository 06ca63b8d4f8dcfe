package blend

import (
	"context"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/safety"
)

// CorrectionIn asks how to bring a melt whose assay is known to its fineness.
type CorrectionIn struct {
	Metal            string   `json:"metal,omitempty" enum:"silver,gold,platinum,palladium" doc:"The metal whose fineness counts; that of the alloy when left out, else silver"`
	MeltG            float64  `json:"melt_g" minimum:"0.01" maximum:"1000000" doc:"Mass of the melt or casting, g" example:"50"`
	Alloy            string   `json:"alloy,omitempty" maxLength:"60" doc:"Catalogue alloy that the melt is: what lowers it is then the alloy's other metals in their proportions, and what raises it is said to be its fine metal; fineness_permil may be left out" example:"gold-750-yellow"`
	AssayPermil      float64  `json:"assay_permil" minimum:"0" maximum:"1000" doc:"Fineness that the assay found, parts per thousand" example:"918"`
	AssayUncertainty float64  `json:"assay_uncertainty_permil,omitempty" minimum:"0" maximum:"100" default:"0" doc:"Half-width of the assay, parts per thousand; about 0.3 for fire assay, 12 for X-ray, 20 for a touchstone" example:"0.3"`
	FinenessPermil   float64  `json:"fineness_permil,omitempty" minimum:"1" maximum:"999.9" doc:"Fineness wanted in the worst case, parts per thousand; that of the alloy when left out" example:"925"`
	Add              string   `json:"add,omitempty" enum:"whatever_is_needed,fine,base,lot" default:"whatever_is_needed" doc:"What to add: fine metal to raise, base metal to lower, or a lot of the fineness given"`
	AdditionPermil   *float64 `json:"addition_fineness_permil,omitempty" minimum:"0" maximum:"1000" doc:"Fineness of what is added; 999 for fine metal and 0 for base metal when left out" example:"999"`
	MostMassG        *float64 `json:"most_mass_g,omitempty" minimum:"0.01" maximum:"1000000" doc:"What the crucible holds, g"`
	ResolutionG      float64  `json:"resolution_g,omitempty" minimum:"0.0001" maximum:"10" default:"0.01" doc:"Step of the scale, g"`
}

// CorrectionOut says what to add.
type CorrectionOut struct {
	AddG          float64          `json:"add_g" doc:"Add this much, g, rounded to the scale so that the fineness holds"`
	ExactG        float64          `json:"exact_g" doc:"The same before rounding, g"`
	Adds          string           `json:"adds" enum:"nothing,fine,base,lot" doc:"What is added"`
	MassG         float64          `json:"mass_g" doc:"Mass of the melt after it, g, before loss"`
	FinenessWorst float64          `json:"fineness_worst_permil" doc:"Fineness after it in the worst case of the assay, parts per thousand"`
	FinenessBest  float64          `json:"fineness_best_permil" doc:"In the best case"`
	Parts         []CorrectionPart `json:"parts" doc:"What the addition is made of, where the alloy is known"`
	ExchangeG     float64          `json:"exchange_g" doc:"Instead, to keep the mass: take this much of the melt out and put as much of the addition in, g"`
	calc.Notes
}

// CorrectionPart is a metal of an addition.
type CorrectionPart struct {
	Metal string  `json:"metal" doc:"Symbol" example:"Cu"`
	G     float64 `json:"g" doc:"Weigh out this much, g"`
}

// afterAssay is the question that corrections takes once melt b is assayed.
func (q *question) afterAssay(b int, massG float64) *CorrectionIn {
	m := &q.in.Melts[b]
	return &CorrectionIn{Metal: q.in.Metal, MeltG: tidy(massG), Alloy: m.Alloy, AssayPermil: m.FinenessPermil, FinenessPermil: m.FinenessPermil,
		Add: "whatever_is_needed", ResolutionG: q.in.ResolutionG}
}

// alloyed reads the alloy of the melt, if one is named.
func (in *CorrectionIn) alloyed() (metal.Composition, error) {
	if in.Alloy == "" {
		in.Metal = cmpOr(in.Metal, "silver")
		if in.FinenessPermil == 0 {
			return nil, calc.Refuse("fineness_permil", nil, "give the fineness wanted, or the alloy")
		}
		return nil, nil
	}
	m, err := metal.Named(in.Alloy)
	if err != nil {
		return nil, err
	}
	w, ok := metal.WindowOf(in.Alloy)
	if !ok || in.Metal != "" && symbols[in.Metal] != w.Metal {
		return nil, calc.Refuse("alloy", in.Alloy, "give a catalogue alloy of gold or silver, of the metal whose fineness counts")
	}
	in.Metal = metalOf[w.Metal]
	if in.FinenessPermil == 0 {
		in.FinenessPermil = tidy(1000 * m.Composition[w.Metal])
	}
	return m.Composition, nil
}

// parts shares the addition out over the other metals of the alloy, or names
// the fine metal.
func (in *CorrectionIn) parts(adds string, g float64, alloy metal.Composition) []CorrectionPart {
	list, symbol := []CorrectionPart{}, symbols[in.Metal]
	switch {
	case g == 0:
	case adds == "fine":
		list = append(list, CorrectionPart{symbol, g})
	case adds == "base" && alloy != nil:
		rest := 1 - alloy[symbol]
		for _, e := range alloy.Symbols() {
			if e != symbol {
				list = append(list, CorrectionPart{e, grid(math.Round(g*alloy[e]/rest/in.ResolutionG), in.ResolutionG)})
			}
		}
	case adds == "base":
		list = append(list, CorrectionPart{"Cu", g})
	}
	return list
}

var srcCorrection = calc.Source{For: "correction of a melt", Text: "alligation: w (t − f) = x (h − t), as in G. E. Gee, The Silversmith's Handbook", Status: calc.Confirmed}

// Raise returns the mass in g of metal of fineness h that brings w g of
// fineness f to fineness t. It needs t between f and h and not equal to h;
// else the answer is NaN. All finenesses in the same measure.
func Raise(w, f, t, h float64) float64 {
	if t == f {
		return 0
	}
	x := w * (t - f) / (h - t)
	if h == t || x < 0 || math.IsNaN(x) {
		return math.NaN()
	}
	return x
}

// Correct answers in. Masses in g, fineness in parts per thousand by mass.
// Model: mass and fine metal add up; loss on remelting is not counted, which
// errs to the safe side where base metal burns. Errors are refusals.
func Correct(ctx context.Context, in CorrectionIn) (CorrectionOut, error) {
	in.Add = cmpOr(in.Add, "whatever_is_needed")
	if in.ResolutionG == 0 {
		in.ResolutionG = DefaultResolutionG
	}
	alloy, err := in.alloyed()
	if err != nil {
		return CorrectionOut{}, err
	}
	if err := in.check(); err != nil {
		return CorrectionOut{}, err
	}
	worst, best := max(in.AssayPermil-in.AssayUncertainty, 0), min(in.AssayPermil+in.AssayUncertainty, 1000)
	t := in.FinenessPermil
	adds, h, err := in.addition(worst)
	if err != nil {
		return CorrectionOut{}, err
	}
	out := CorrectionOut{Notes: calc.Noting(ctx), Adds: adds}
	if adds != "nothing" {
		out.ExactG = Raise(in.MeltG, worst, t, h)
		out.ExchangeG = in.MeltG * (t - worst) / (h - worst)
		units := out.ExactG / in.ResolutionG
		if h > t {
			out.AddG = grid(math.Ceil(units-1e-9), in.ResolutionG)
		} else {
			out.AddG = grid(math.Floor(units+1e-9), in.ResolutionG)
		}
		out.Step("addition", out.ExactG, "g", "w (t − f) / (h − t) = %g × (%g − %g) / (%g − %g)", in.MeltG, t, worst, h, t)
		out.Step("exchange at the same mass", out.ExchangeG, "g", "w (t − f) / (h − f) = %g × (%g − %g) / (%g − %g)", in.MeltG, t, worst, h, worst)
	}
	out.Parts = in.parts(adds, out.AddG, alloy)
	if in.Metal == "gold" && adds == "base" && alloy == nil {
		out.Warn("colour", calc.Care, "Copper alone reddens gold: give alloy, so that it is let down with the alloy's own metals.")
	}
	out.MassG = in.MeltG + out.AddG
	if in.MostMassG != nil && out.MassG > *in.MostMassG {
		return CorrectionOut{}, &calc.Refusal{Faults: []calc.Fault{{Field: "most_mass_g", Value: *in.MostMassG,
			Accepts: "the corrected melt would be heavier; give a larger crucible, or exchange metal instead of adding it"}},
			Explain: map[string]any{"add_g": tidy(out.AddG), "mass_g": tidy(out.MassG), "exchange_g": tidy(out.ExchangeG)}}
	}
	out.FinenessWorst = (in.MeltG*worst + out.AddG*h) / out.MassG
	out.FinenessBest = (in.MeltG*best + out.AddG*h) / out.MassG
	out.Step("fineness after it", out.FinenessWorst, "‰", "(w f + x h) / (w + x), x rounded so that it is not below %g", t)
	if out.AddG > 2*in.MeltG {
		out.Warn("large_addition", calc.Care, "The addition outweighs the melt: the fineness wanted is close to that of the addition. Exchange metal, take a finer addition, or have the melt refined.")
	}
	out.Cite(srcCorrection, srcWorst)
	out.Caution(safety.HallmarkLaw, safety.MoltenMetal, safety.DampMould, safety.Flux)
	out.Warn("stir_and_sample", calc.Care, "Melt the whole again under flux, warm the addition before it goes in, stir with a dry graphite or fused silica rod and sample from the stirred melt; assay again before marking.")
	return out, nil
}

func (in *CorrectionIn) check() error {
	var c calc.Checks
	c.Bounds(*in)
	return c.Err()
}

// addition chooses what to add for a melt of the given worst fineness, and
// its fineness.
func (in *CorrectionIn) addition(worst float64) (adds string, h float64, err error) {
	t := in.FinenessPermil
	adds = in.Add
	if worst == t {
		return "nothing", 0, nil
	}
	if adds == "whatever_is_needed" {
		adds = "fine"
		if worst > t {
			adds = "base"
		}
	}
	switch {
	case in.AdditionPermil != nil:
		h = *in.AdditionPermil
	case adds == "fine":
		h = 999
	case adds == "lot":
		return "", 0, calc.Refuse("addition_fineness_permil", nil, "give the fineness of the lot")
	}
	switch {
	case worst < t && h <= t:
		return "", 0, calc.Refuse("addition_fineness_permil", h, "the melt, %g in the worst case, must be raised to %g: give an addition above %g", worst, t, t)
	case worst > t && h >= t:
		return "", 0, calc.Refuse("addition_fineness_permil", h, "the melt, %g in the worst case, is above %g already: nothing needs adding; to lower it give an addition below %g", worst, t, t)
	}
	return adds, h, nil
}

// Package ledger accounts for metal after the pour: what went in, what came
// out, what was lost, and what belongs to whom.
package ledger

import (
	"context"
	"fmt"
	"math"
	"slices"

	"pourwright/internal/blend"
	"pourwright/internal/calc"
	"pourwright/internal/metal"
)

// Entry is one weighing, of metal that went in or of metal that came out.
type Entry struct {
	ID                string             `json:"id,omitempty" maxLength:"80" doc:"What you call it" example:"spoons"`
	Kind              string             `json:"kind" enum:"scrap,bought,casting,button,sprue,filings,sweeps,spill,sample" doc:"In: scrap, bought, or button, sprue, filings and sweeps melted again. Out: casting, button, sprue, filings, sweeps, spill or sample" example:"casting"`
	MassG             float64            `json:"mass_g" minimum:"0" maximum:"1000000" doc:"Mass weighed, g" example:"42.5"`
	Owner             string             `json:"owner,omitempty" enum:"client,studio" doc:"In: whose metal it was, the client's when left out. Out: to whom it goes as it is; a casting goes to the client and the rest is still to be divided when left out"`
	OwnerName         string             `json:"owner_name,omitempty" maxLength:"80" doc:"Which client, where there are several" example:"client A"`
	Alloy             string             `json:"alloy,omitempty" maxLength:"40" doc:"Id of a catalogue alloy" example:"silver-925"`
	CompositionPermil map[string]float64 `json:"composition_permil,omitempty" maxProperties:"28" doc:"Parts per thousand by mass of each element; what is missing to 1000 counts as copper"`
	FinenessPermil    *float64           `json:"fineness_permil,omitempty" minimum:"0" maximum:"1000" doc:"Fineness, parts per thousand; the rest counts as copper. What came out counts as the mixture that went in when nothing is given" example:"925"`
	FinenessPlusMinus float64            `json:"fineness_plus_minus_permil,omitempty" minimum:"0" maximum:"500" default:"0" doc:"Half-width of the fineness, parts per thousand" example:"5"`
	StonesCt          float64            `json:"stones_ct,omitempty" minimum:"0" maximum:"100000" default:"0" doc:"Stones weighed with it, ct; taken off" example:"1.2"`
	MetalPct          *float64           `json:"metal_pct,omitempty" minimum:"0" maximum:"100" doc:"Part of the mass that is metal, per cent; needed for sweeps, 100 for the rest when left out" example:"30"`
}

// ReconciliationIn is the account before it is drawn up.
type ReconciliationIn struct {
	Metal       string   `json:"metal,omitempty" enum:"silver,gold,platinum,palladium" default:"silver" doc:"The metal whose fineness counts"`
	In          []Entry  `json:"in" minItems:"1" maxItems:"500" doc:"What went into the crucible"`
	Out         []Entry  `json:"out" minItems:"1" maxItems:"500" doc:"What was weighed after the pour"`
	Finished    bool     `json:"finished,omitempty" default:"false" doc:"Whether the casting was weighed after filing and polishing rather than as cast"`
	ResolutionG float64  `json:"resolution_g,omitempty" minimum:"0.0001" maximum:"10" default:"0.01" doc:"Step of the scale, g"`
	ScaleErrorG *float64 `json:"scale_error_g,omitempty" minimum:"0" maximum:"10" doc:"Greatest error of the scale besides its step, g; one step when left out" example:"0.01"`
}

// Element is the balance of one element.
type Element struct {
	Element   string  `json:"element" doc:"Symbol"`
	InG       float64 `json:"in_g" doc:"Went in, g"`
	OutG      float64 `json:"out_g" doc:"Came out, g"`
	LossG     float64 `json:"loss_g" doc:"Difference, g"`
	PlusMinus float64 `json:"plus_minus_g" doc:"Uncertainty of the difference, g, at about 95 % (k = 2)"`
}

// Owner is the account of one owner.
type Owner struct {
	Owner     string  `json:"owner" doc:"Whose account"`
	InG       float64 `json:"in_g" doc:"Mass put in, g"`
	FineInG   float64 `json:"fine_in_g" doc:"Fine metal put in, g"`
	FineLossG float64 `json:"fine_loss_g" doc:"Share of the fine metal lost, in proportion to what was put in, g"`
	TakenG    float64 `json:"taken_g" doc:"Mass that goes to this owner as it is, g"`
	FineTaken float64 `json:"fine_taken_g" doc:"Fine metal in that, g"`
	FineDueG  float64 `json:"fine_due_g" doc:"Fine metal still to be given to this owner out of what is to be divided, g; negative: this owner has that much too much"`
	MassDueG  float64 `json:"mass_due_g" doc:"The same as mass of what is to be divided, g"`
	Text      string  `json:"text" doc:"In a sentence"`
}

// ReconciliationOut is the account.
type ReconciliationOut struct {
	InG           float64   `json:"in_g" doc:"Metal in, g"`
	OutG          float64   `json:"out_g" doc:"Metal out, g"`
	LossG         float64   `json:"loss_g" doc:"Loss, g"`
	LossPlusMinus float64   `json:"loss_plus_minus_g" doc:"Uncertainty of the loss from the scale, g, at about 95 % (k = 2)"`
	LossPct       float64   `json:"loss_pct" doc:"Loss of what went in, per cent"`
	UsualLossPct  float64   `json:"usual_loss_pct" doc:"Most that practice would lose on such a charge, per cent"`
	FinenessIn    float64   `json:"fineness_in_permil" doc:"Fineness of the charge, parts per thousand"`
	FinenessBase  float64   `json:"fineness_if_base_lost_permil" doc:"Fineness of what came out had all the loss been base metal; do not count on it"`
	Elements      []Element `json:"elements" doc:"Balance by element"`
	ToDivideG     float64   `json:"to_divide_g" doc:"Metal that came out and goes to nobody yet: button, sprue, filings, sweeps, g"`
	Owners        []Owner   `json:"owners" doc:"Account of each owner"`
	calc.Notes
}

var (
	srcScale = calc.Source{For: "uncertainty of a weighing", Text: "half a step and the scale's error as rectangular distributions, summed in squares, k = 2: JCGM 100:2008, 4.3.7 and 6.2", Status: calc.FromMemory}
	srcLoss  = calc.Source{For: "usual loss: melt 1 %, filings 5 %, sweeps 40 %", Text: "common figures of refiners and workshops", Status: calc.Practice}
	srcWear  = calc.Source{For: "usual loss of finishing, 2.5 % of the input", Text: "a tenth of the input leaves as filings and dust, a quarter of it for ever: G. E. Gee, The Silversmith's Handbook", Status: calc.Confirmed}
	srcShare = calc.Source{For: "loss shared by fine metal put in", Text: "agree another rule with your client where you prefer one", Status: calc.Choice}
)

// Parts of a charge that practice loses at most.
const (
	meltLoss    = 0.01
	filingsLoss = 0.05
	sweepsLoss  = 0.40
	finishLoss  = 0.025
)

// weighing is an entry read: grams of metal, what it is made of, and the
// variances of both.
type weighing struct {
	Entry
	owner       string // "" when still to be divided
	g           float64
	composition metal.Composition
	varG        float64 // g²
	varFine     float64 // of the mass fraction of the metal that counts
}

// Reconcile draws up the account of a pour: mass balance, balance of each
// element, uncertainty from the scale, and what is due to each owner. Masses
// in g; fineness in parts per thousand. What came out without a fineness of
// its own counts as the mixture that went in. Errors are refusals.
func Reconcile(ctx context.Context, in ReconciliationIn) (ReconciliationOut, error) {
	out := ReconciliationOut{Notes: calc.Noting(ctx)}
	if in.Metal == "" {
		in.Metal = "silver"
	}
	if in.ResolutionG == 0 {
		in.ResolutionG = blend.DefaultResolutionG
	}
	into, from, err := in.read()
	if err != nil {
		return ReconciliationOut{}, err
	}
	symbol := blend.Symbol(in.Metal)
	out.InG, out.OutG = mass(into), mass(from)
	const least = 0.001 // g; below it there is nothing to account for
	if out.InG < least {
		return ReconciliationOut{}, calc.Refuse("in", out.InG, "give what went in: at least %g g of metal", least)
	}
	charge := mixture(into)
	for i := range from {
		if from[i].composition == nil {
			from[i].composition = charge
		}
	}
	out.LossG = out.InG - out.OutG
	out.LossPct = 100 * out.LossG / out.InG
	out.LossPlusMinus = 2 * math.Sqrt(sum(into, weighing.variance)+sum(from, weighing.variance))
	out.FinenessIn = charge[symbol] * 1000
	if out.OutG > 0 {
		out.FinenessBase = 1000 * min(out.InG*charge[symbol]/out.OutG, 1)
	}
	out.Elements = balance(into, from, symbol)
	out.UsualLossPct = 100 * in.usual(into)
	out.Owners, out.ToDivideG = accounts(into, from, symbol)
	in.note(&out, into, from)
	return out, nil
}

func (w weighing) variance() float64 { return w.varG }

func sum(list []weighing, f func(weighing) float64) float64 {
	s := 0.0
	for _, w := range list {
		s += f(w)
	}
	return s
}

func mass(list []weighing) float64 { return sum(list, func(w weighing) float64 { return w.g }) }

// fine is the mass of an element in the list.
func fine(list []weighing, symbol string) float64 {
	return sum(list, func(w weighing) float64 { return w.g * w.composition[symbol] })
}

func mixture(list []weighing) metal.Composition {
	c, total := metal.Composition{}, mass(list)
	for _, w := range list {
		for e, f := range w.composition {
			c[e] += w.g * f / total
		}
	}
	return c
}

func (in *ReconciliationIn) read() (into, from []weighing, err error) {
	var checks calc.Checks
	if blend.Symbol(in.Metal) == "" {
		checks.Refuse("metal", in.Metal, "give silver, gold, platinum or palladium")
		return nil, nil, checks.Err()
	}
	checks.Bounds(*in)
	scale := in.ResolutionG
	if in.ScaleErrorG != nil {
		scale = *in.ScaleErrorG
	}
	// A rectangle of half-width a has the variance a²/3.
	varG := in.ResolutionG*in.ResolutionG/12 + scale*scale/3
	for i, e := range in.In {
		into = append(into, e.read(fmt.Sprintf("in[%d]", i), blend.Symbol(in.Metal), varG, true, &checks))
	}
	for i, e := range in.Out {
		from = append(from, e.read(fmt.Sprintf("out[%d]", i), blend.Symbol(in.Metal), varG, false, &checks))
	}
	return into, from, checks.Err()
}

// kinds that can go in, and out.
var (
	kindsIn  = []string{"scrap", "bought", "button", "sprue", "filings", "sweeps"}
	kindsOut = []string{"casting", "button", "sprue", "filings", "sweeps", "spill", "sample"}
)

func (e Entry) read(field, symbol string, varG float64, goesIn bool, checks *calc.Checks) weighing {
	w := weighing{Entry: e, varG: varG}
	checks.Under(field, calc.InBounds(e))
	kinds := kindsOut
	if goesIn {
		kinds = kindsIn
	}
	if !slices.Contains(kinds, e.Kind) {
		checks.Refuse(field+".kind", e.Kind, "give one of %v", kinds)
	}
	const gramsPerCarat = 0.2
	w.g = e.MassG - gramsPerCarat*e.StonesCt
	if w.g < 0 {
		checks.Refuse(field+".stones_ct", e.StonesCt, "give stones lighter than the %g g they were weighed with", e.MassG)
	}
	share := 1.0
	switch {
	case e.MetalPct != nil:
		share = *e.MetalPct / 100
	case e.Kind == "sweeps":
		checks.Refuse(field+".metal_pct", nil, "say what part of the sweeps is metal; a refiner's assay tells, 10 to 60 is usual")
	}
	w.g *= share
	w.varG *= share * share
	if e.MassG == 0 {
		w.varG = 0 // nothing was weighed
	}
	w.composition = e.composition(field, symbol, goesIn, checks)
	half := e.FinenessPlusMinus / 1000
	w.varFine = half * half / 3
	w.owner = e.belongs(goesIn)
	return w
}

// belongs says whose metal the entry is.
func (e Entry) belongs(goesIn bool) string {
	switch {
	case e.Owner == "studio" || e.Owner == "" && e.Kind == "bought":
		return "studio"
	case e.OwnerName != "":
		return e.OwnerName
	case e.Owner == "client" || goesIn || e.Kind == "casting":
		return "client"
	}
	return ""
}

func (e Entry) composition(field, symbol string, needed bool, checks *calc.Checks) metal.Composition {
	ways := 0
	for _, given := range []bool{e.Alloy != "", len(e.CompositionPermil) > 0, e.FinenessPermil != nil} {
		if given {
			ways++
		}
	}
	if ways > 1 || ways == 0 && needed {
		checks.Refuse(field+".fineness_permil", nil, "say what it is in one way: fineness_permil, alloy or composition_permil")
		return metal.Composition{}
	}
	switch {
	case e.Alloy != "":
		m, err := metal.Named(e.Alloy)
		checks.Under(field, err)
		return m.Composition
	case len(e.CompositionPermil) > 0:
		var inner calc.Checks
		c := blend.Analysis("composition_permil", e.CompositionPermil, &inner)
		checks.Under(field, inner.Err())
		return c
	case e.FinenessPermil != nil:
		f := *e.FinenessPermil / 1000
		c := metal.Composition{"Cu": 1 - f}
		c[symbol] += f
		return c
	}
	return nil
}

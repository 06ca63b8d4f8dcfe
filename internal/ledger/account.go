package ledger

import (
	"fmt"
	"math"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/safety"
)

func balance(into, from []weighing, symbol string) []Element {
	total := metal.Composition{}
	for _, w := range slices.Concat(into, from) {
		for e, f := range w.composition {
			total[e] += w.g * f
		}
	}
	list := []Element{}
	for _, e := range total.Symbols() {
		if total[e] == 0 {
			continue
		}
		v := func(w weighing) float64 { // u²(m f) = f² u²(m) + m² u²(f)
			f := w.composition[e]
			u := f * f * w.varG
			if e == symbol {
				u += w.g * w.g * w.varFine
			}
			return u
		}
		a, b := fine(into, e), fine(from, e)
		list = append(list, Element{e, a, b, a - b, 2 * math.Sqrt(sum(into, v)+sum(from, v))})
	}
	return list
}

// usual is the largest part of the charge that practice would lose.
func (in *ReconciliationIn) usual(into []weighing) float64 {
	lost := 0.0
	for _, w := range into {
		switch w.Kind {
		case "filings":
			lost += filingsLoss * w.g
		case "sweeps":
			lost += sweepsLoss * w.g
		default:
			lost += meltLoss * w.g
		}
	}
	part := lost / mass(into)
	if in.Finished {
		part += finishLoss
	}
	return part
}

// accounts shares the fine metal that came out in proportion to what each
// owner put in, and says what each still has to get or to give.
func accounts(into, from []weighing, symbol string) ([]Owner, float64) {
	fineIn, fineOut := fine(into, symbol), fine(from, symbol)
	by := map[string]*Owner{}
	account := func(owner string) *Owner {
		if by[owner] == nil {
			by[owner] = &Owner{Owner: owner}
		}
		return by[owner]
	}
	for _, w := range into {
		a := account(w.owner)
		a.InG += w.g
		a.FineInG += w.g * w.composition[symbol]
	}
	pool, poolFine := 0.0, 0.0
	for _, w := range from {
		if w.owner == "" {
			pool += w.g
			poolFine += w.g * w.composition[symbol]
			continue
		}
		a := account(w.owner)
		a.TakenG += w.g
		a.FineTaken += w.g * w.composition[symbol]
	}
	names := make([]string, 0, len(by))
	for name := range by {
		names = append(names, name)
	}
	slices.Sort(names)
	list := []Owner{}
	for _, name := range names {
		a := by[name]
		if fineIn > 0 {
			a.FineLossG = a.FineInG - fineOut*(a.FineInG/fineIn)
		}
		a.FineDueG = a.FineInG - a.FineLossG - a.FineTaken
		if poolFine > 1e-6*pool { // else what is to be divided is base metal
			a.MassDueG = a.FineDueG * pool / poolFine
		}
		a.Text = a.sentence()
		list = append(list, *a)
	}
	return list, pool
}

func (a *Owner) sentence() string {
	const nothing = 0.005 // g, half the last digit shown
	switch {
	case a.FineDueG > nothing:
		return fmt.Sprintf("%s gets %.2f g of what is to be divided, with %.2f g fine metal in it.", a.Owner, a.MassDueG, a.FineDueG)
	case a.FineDueG < -nothing:
		return fmt.Sprintf("%s has had %.2f g fine metal more than was put in less the loss: to be paid for or made good.", a.Owner, -a.FineDueG)
	}
	return a.Owner + " is even."
}

func (in *ReconciliationIn) note(out *ReconciliationOut, into, from []weighing) {
	out.Step("metal in", out.InG, "g", "sum of %d weighings less stones and dirt", len(into))
	out.Step("metal out", out.OutG, "g", "sum of %d weighings less stones and dirt", len(from))
	out.Step("loss", out.LossG, "g", "%.7g − %.7g g, ± %.2g g from the scale (k = 2)", out.InG, out.OutG, out.LossPlusMinus)
	out.Step("usual loss", out.UsualLossPct, "%", "1 %% of metal, 5 %% of filings, 40 %% of sweeps melted; finishing 2.5 %% more: %t", in.Finished)
	out.Step("fineness of the charge", out.FinenessIn, "‰", "Σ mass × fineness / Σ mass")
	out.Cite(srcScale, srcLoss, srcShare)
	if in.Finished {
		out.Cite(srcWear)
	}
	least := 100 * (out.LossG - out.LossPlusMinus) / out.InG
	switch {
	case out.LossG < -out.LossPlusMinus:
		out.Warn("more_out_than_in", calc.Care, "%.2f g more came out than went in, beyond what the scale can explain: look for flux, clay or stones weighed as metal, a lot not entered, or a wrong weighing.", -out.LossG)
	case least > out.UsualLossPct:
		out.Warn("loss_past_practice", calc.Care, "The loss of %.2f %% is past what practice would allow on this charge (%.2f %%): look for metal in the crucible, the sand tray, the vents and the sweeps, for stones, steel or dirt weighed in, and for zinc burnt off.", out.LossPct, out.UsualLossPct)
	}
	out.Warn("fineness_after_loss", calc.Note, "Base metal burns first, so what is left may be finer than the charge. Do not count on it: mark by assay.")
	out.Caution(safety.HallmarkLaw, safety.ConsumerLaw)
}

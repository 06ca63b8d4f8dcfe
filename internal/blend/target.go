package blend

import (
	"math"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
)

// names of the metals by symbol.
var metalOf = map[string]string{"Ag": "silver", "Au": "gold", "Pt": "platinum", "Pd": "palladium"}

// metal is the metal whose fineness counts where the request does not say: that
// of the first alloy asked for, else silver.
func (in *JointBlendIn) metal() string {
	for _, m := range in.Melts {
		if w, ok := metal.WindowOf(m.Alloy); ok {
			return metalOf[w.Metal]
		}
	}
	return "silver"
}

// readAlloy checks the alloy asked for and takes the fineness from it where
// none is given.
func (q *question) readAlloy(in *MeltTarget, prefix string, checks *calc.Checks) *metal.Metal {
	if in.Alloy == "" {
		if in.FinenessPermil == 0 {
			checks.Refuse(prefix+"fineness_permil", nil, "give the fineness, or the alloy that the charge is to be")
		}
		if in.Composition == "free" {
			checks.Refuse(prefix+"composition", in.Composition, "give it with alloy: without one nothing but the fineness is held")
		}
		return nil
	}
	m, err := metal.Named(in.Alloy)
	if !checks.Under(prefix, err) {
		return nil
	}
	w, ok := metal.WindowOf(in.Alloy)
	if !ok || w.Metal != q.symbol {
		checks.Refuse(prefix+"alloy", in.Alloy, "give a catalogue alloy of %s, or fineness_permil alone", q.in.Metal)
		return nil
	}
	if in.FinenessPermil == 0 {
		in.FinenessPermil = tidy(1000 * m.Composition[q.symbol])
	}
	return &m
}

// ownRange is the melting range that the request gives for the charge, or nil.
func (t *Target) ownRange() *metal.MeltingRange {
	if t.SolidusC == nil || t.LiquidusC == nil {
		return nil
	}
	return &metal.MeltingRange{SolidusC: *t.SolidusC, LiquidusC: *t.LiquidusC}
}

// window sets what the melt keeps if it can: no finer than asked, and where an
// alloy is asked for its window.
func (q *question) window(melt *Melt, in *MeltTarget, alloy *metal.Metal) {
	melt.Finest = melt.Fineness
	if alloy == nil || in.Composition == "free" {
		return
	}
	w, _ := metal.WindowOf(alloy.ID)
	melt.Nominal = alloy.Composition
	for _, e := range elements {
		if e == q.symbol || !slices.ContainsFunc(q.programme.Lots, func(l Lot) bool { return l.likely(q.symbol)[e] > 0 }) {
			continue
		}
		if r := w.Of(e); r.Most < 1 || r.Least > 0 {
			melt.Window = append(melt.Window, Limit{e, r.Least, r.Most})
		}
	}
}

// listed reports whether the alloy asked for holds an element by intention, so
// that its usual limit as a contaminant does not apply.
func (q *question) listed(in *MeltTarget, l Limit) bool {
	w, ok := metal.WindowOf(in.Alloy)
	if !ok {
		return false
	}
	r, named := w.Bounds[l.Element]
	return named && r.Most > l.Most
}

// offered is what can be bought where the request does not say: as
// [DefaultAdditions], and for alloys casting grain of each and the metals that
// their windows ask for.
func (q *question) offered() []Lot {
	var alloys []string
	for _, m := range q.in.Melts {
		if _, ok := metal.WindowOf(m.Alloy); ok && !slices.Contains(alloys, m.Alloy) {
			alloys = append(alloys, m.Alloy)
		}
	}
	if len(alloys) == 0 {
		return DefaultAdditions(q.in.Metal)
	}
	pure := func(id string, c metal.Composition) Lot {
		return Lot{ID: id, StockG: math.Inf(1), Bought: true, Least: c, Most: c, Middle: c}
	}
	list := []Lot{}
	add := func(l Lot) {
		if !slices.ContainsFunc(list, func(o Lot) bool { return o.ID == l.ID }) {
			list = append(list, l)
		}
	}
	fine := DefaultAdditions(q.in.Metal)[0]
	fine.Middle = fine.Least
	add(fine)
	for _, id := range alloys {
		m, err := metal.Named(id)
		if err != nil {
			continue
		}
		w, _ := metal.WindowOf(id)
		for _, e := range elements {
			if r := w.Of(e); e != q.symbol && (r.Least > 0 || r.Most > metal.Stray && slices.Contains([]string{"Ag", "Cu"}, e)) {
				switch e {
				case "Ag":
					add(pure("fine silver 999", metal.Composition{"Ag": .999, "Cu": .001}))
				case "Cu", "Pd", "Ni", "Zn":
					add(pure(map[string]string{"Cu": "copper", "Pd": "palladium", "Ni": "nickel", "Zn": "zinc"}[e], metal.Composition{e: 1}))
				}
			}
		}
		grain := pure("grain of "+id, m.Composition)
		grain.Grain = true
		add(grain)
	}
	return list
}

package order

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"pourwright/internal/blend"
	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/verdict"
)

var metalNames = map[string]string{"Ag": "silver", "Au": "gold", "Pt": "platinum", "Pd": "palladium"}

// MetalName is the precious metal that the alloy is marked for: silver, gold,
// platinum or palladium.
func MetalName(alloy metal.Metal) string { return metalNames[Precious(alloy)] }

// Precious is the symbol of the metal whose fineness the alloy is marked for.
func Precious(alloy metal.Metal) string {
	best := "Ag"
	for _, symbol := range []string{"Au", "Pt", "Pd", "Ag"} {
		if alloy.Composition[symbol] > alloy.Composition[best] {
			best = symbol
		}
	}
	return best
}

// alloy is that of the order, with the studio's own melting range if one is given.
func (in *Order) alloy() (metal.Metal, error) {
	switch {
	case (in.SolidusC == nil) != (in.LiquidusC == nil):
		return metal.Metal{}, calc.Refuse("liquidus_c", nil, "give solidus_c and liquidus_c together, or neither")
	case in.SolidusC == nil:
		return metal.Named(in.Alloy)
	}
	return metal.Melting(in.Alloy, metal.MeltingRange{SolidusC: *in.SolidusC, LiquidusC: *in.LiquidusC})
}

// Wanted finds the alloy that was asked for of each piece. One order is of one
// precious metal, as its lots are.
func (in *Order) Wanted() ([]metal.Metal, error) {
	var c calc.Checks
	whole, err := in.alloy()
	c.Under("", err)
	alloys := make([]metal.Metal, len(in.Pieces))
	for i, p := range in.Pieces {
		alloys[i] = whole
		if p.Alloy == "" || err != nil {
			continue
		}
		own, err := metal.Named(p.Alloy)
		if !c.Under(fmt.Sprintf("pieces[%d]", i), err) {
			continue
		}
		if alloys[i] = own; Precious(own) != Precious(whole) {
			c.Refuse(fmt.Sprintf("pieces[%d].alloy", i), p.Alloy, "give an alloy of %s, as that of the order; make an order of its own of the other metal", MetalName(whole))
		}
	}
	return alloys, c.Err()
}

// Metal is the metal of an order, shared out over its pieces.
type Metal struct {
	MeltMassG    float64 // for all pieces
	ClientG      float64 // of it, the client's
	BoughtG      float64
	FineBoughtG  float64         // of what is bought, the metal whose fineness counts
	Reasons      verdict.Reasons // of lots and melts
	TestFirst    *blend.TestFirst
	Clean        []blend.CleanMass
	ReturnsG     float64 // of it, button and sprue of an earlier pour
	PourOrder    []string
	Charges      []Charge // one for each piece
	Left         []blend.Left
	Refused      []blend.Refused
	WhatIf       []blend.WhatIf
	Verification blend.Verification
	calc.Notes
}

// Charge is what is weighed out for a piece.
type Charge struct {
	blend.ChargePlan
	Turn     int // which pour it is, from 1
	ReturnsG float64
}

// joint states the order's melts as one programme: of each pour the button and
// the sprue come back, and may go into the next.
func (in *Order) joint(wanted []metal.Metal, pieces []*Worked) blend.JointBlendIn {
	b := calc.Default[blend.JointBlendIn]()
	b.Metal, b.Lots, b.Additions, b.Objective = MetalName(wanted[0]), in.Lots, in.Additions, in.Objective
	b.ResolutionG, b.Apportion = in.Studio.ScaleStepG, in.Apportion
	b.KeepOwnersApart, b.ReuseReturns, b.PourOrder = in.KeepApart, in.Returns, in.PourOrder
	for i, w := range pieces {
		if w.leader != nil {
			continue // in the pour of another
		}
		m := w.Plan.Melt
		melt := calc.Default[blend.MeltTarget]()
		melt.ID, melt.FinenessPermil, melt.MarginPermil, melt.MassG = w.Plan.Name, 1000*wanted[i].Composition[Precious(wanted[i])], in.Margin, &m.MeltMassG
		if _, ok := metal.WindowOf(wanted[i].ID); ok {
			melt.Alloy, melt.Composition = wanted[i].ID, in.Composed
		}
		if in.Pieces[i].Alloy == "" {
			melt.SolidusC, melt.LiquidusC = in.SolidusC, in.LiquidusC
		}
		melt.ReturnsPct = min(95, 100*(m.SprueMassG+m.ButtonMassG)/m.MeltMassG)
		if in.KeepApart {
			melt.ForOwner = in.Pieces[i].Owner
		}
		b.Melts = append(b.Melts, melt)
	}
	return b
}

// Share shares the lots out over the pieces by one programme. pieces are all
// pieces of the order, weighed.
func (in *Order) Share(ctx context.Context, pieces []*Worked) (Metal, error) {
	wanted, err := in.Wanted()
	if err != nil {
		return Metal{}, err
	}
	joint, err := in.blended(ctx, in.joint(wanted, pieces))
	if err != nil {
		return Metal{}, inOrder(err)
	}
	out := Metal{PourOrder: []string{}, Charges: make([]Charge, len(pieces)), ClientG: joint.ClientG, BoughtG: joint.BoughtG, FineBoughtG: joint.FineBoughtG,
		Reasons: joint.Reasons, TestFirst: joint.TestFirst, Clean: joint.CleanMass,
		Left: joint.Left, Refused: joint.RefusedLots, WhatIf: joint.WhatIf, Verification: joint.Verification, Notes: joint.Notes}
	for turn, m := range joint.Melts {
		i := slices.IndexFunc(pieces, func(w *Worked) bool { return w.Plan.Name == m.ID })
		for j, w := range pieces {
			if j == i || w.leader == pieces[i] {
				out.Charges[j] = Charge{m.ChargePlan, turn + 1, m.ReturnsG}
				out.PourOrder = append(out.PourOrder, w.Plan.Name)
			}
		}
		out.Reasons = slices.DeleteFunc(out.Reasons, func(r verdict.Reason) bool { return slices.Contains(m.Reasons, r) }) // the piece has it
		out.MeltMassG += m.MassG
		out.ReturnsG += m.ReturnsG
		out.Step("fineness wanted of "+m.ID, 1000*wanted[i].Composition[Precious(wanted[i])]+in.Margin, "‰", "%s and a margin of %g ‰, in the worst case of its lots", wanted[i].Name, in.Margin)
	}
	out.Step("metal for all pieces", out.MeltMassG, "g", "sum of %d charges; %.4g g of it are returns, so %.4g g leave the lots", len(joint.Melts), out.ReturnsG, out.MeltMassG-out.ReturnsG)
	if in.Returns && out.ReturnsG > 0 {
		out.Warn("returns", calc.Care, "Button and sprue melted again carry oxide, clay and gas: pickle (acid into water, goggles and gloves, no steel in it) and brush them clean, and keep at least half new metal in a melt (common practice).")
	}
	return out, nil
}

// blended solves the programme; with same_metal the lots are blended once, for all
// melts together, and the mixture is divided by mass.
func (in *Order) blended(ctx context.Context, b blend.JointBlendIn) (blend.JointBlendOut, error) {
	if !in.SameMetal || len(b.Melts) == 1 {
		return blend.SolveJoint(ctx, b)
	}
	if in.Returns {
		return blend.JointBlendOut{}, calc.Refuse("same_metal", true, "leave out reuse_returns: what comes back of one pour is not in the mixture of the first")
	}
	melts, total := b.Melts, 0.0
	for i, m := range melts {
		total += *m.MassG
		if m.Alloy != melts[0].Alloy || m.FinenessPermil != melts[0].FinenessPermil {
			return blend.JointBlendOut{}, calc.Refuse(fmt.Sprintf("pieces[%d].alloy", i), m.Alloy, "leave it out: with same_metal every piece is of the alloy of the order")
		}
	}
	whole := melts[0]
	whole.MassG = &total
	b.Melts = []blend.MeltTarget{whole}
	out, err := blend.SolveJoint(ctx, b)
	if err != nil {
		return out, err
	}
	mixture := out.Melts[0]
	out.Melts = nil
	for _, m := range melts {
		out.Melts = append(out.Melts, blend.MeltResult{ID: m.ID, ChargePlan: divided(mixture.ChargePlan, *m.MassG/total, in.Studio.ScaleStepG)})
	}
	return out, nil
}

// divided is so large a part of a charge, weighed out by steps of the scale: lots
// finer than the mixture to the step above, the others to the step below, so that
// the part is no less fine in the worst case than the whole.
func divided(c blend.ChargePlan, part, stepG float64) blend.ChargePlan {
	mean := c.FinenessWorst / 1000
	c.Charge = slices.Clone(c.Charge)
	c.Owners = slices.Clone(c.Owners)
	c.BoughtG, c.ClientG, c.FineBoughtG, c.Cost = c.BoughtG*part, c.ClientG*part, c.FineBoughtG*part, ""
	c.MassG = 0
	fine := 0.0
	for i := range c.Charge {
		p := &c.Charge[i]
		p.ExactG *= part
		const grain = 1e-6 // of a step: a product that is whole but for rounding
		steps := math.Floor(p.WeighG*part/stepG + grain)
		if p.FineLeastG > p.WeighG*mean {
			steps = math.Ceil(p.WeighG*part/stepG - grain)
		}
		weigh(p, steps*stepG)
		c.MassG += p.WeighG
		fine += p.FineLeastG
	}
	c.FinenessWorst = 1000 * fine / c.MassG
	for i := range c.Owners {
		c.Owners[i].MassG *= part
		c.Owners[i].FineLeastG *= part
		c.Owners[i].FineGreatest *= part
	}
	return c
}

// weigh changes what is weighed of a part, its fine metal in proportion.
func weigh(p *blend.Part, g float64) {
	if p.WeighG > 0 {
		p.FineLeastG *= g / p.WeighG
		p.FineGreatest *= g / p.WeighG
	}
	p.WeighG = g
}

// inOrder moves the faults of a blend to where an order has the same thing:
// its fineness comes from the alloy, its mass from the pieces.
func inOrder(err error) error {
	var r *calc.Refusal
	if !errors.As(err, &r) {
		return err
	}
	moved := *r
	moved.Faults = nil
	for _, f := range r.Faults {
		place, field, _ := strings.Cut(f.Field, "].")
		switch {
		case f.Field == "resolution_g":
			f.Field = "studio.scale_step_g"
		case strings.HasPrefix(place, "melts[") && field == "fineness_permil":
			f.Field = "alloy"
		case strings.HasPrefix(place, "melts["):
			f.Field = strings.Replace(place, "melts[", "pieces[", 1) + "]"
		}
		moved.Faults = append(moved.Faults, f)
	}
	return &moved
}

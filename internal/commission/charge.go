package commission

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"pourwright/internal/blend"
	"pourwright/internal/calc"
	"pourwright/internal/metal"
)

// precious is the symbol of the metal whose fineness the alloy is marked for.
func precious(alloy metal.Metal) string {
	best := "Ag"
	for _, symbol := range []string{"Au", "Pt", "Pd", "Ag"} {
		if alloy.Composition[symbol] > alloy.Composition[best] {
			best = symbol
		}
	}
	return best
}

// alloys finds what each piece is cast of. One order is of one precious metal,
// as its lots are.
func (in *In) alloys() ([]metal.Metal, error) {
	var c calc.Checks
	whole, err := metal.Named(in.Alloy)
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
		if alloys[i] = own; precious(own) != precious(whole) {
			c.Refuse(fmt.Sprintf("pieces[%d].alloy", i), p.Alloy, "give an alloy of %s, as that of the order; make an order of its own of the other metal", metalWords[precious(whole)])
		}
	}
	return alloys, c.Err()
}

// joint states the order's melts as one programme: of each pour the button and
// the sprue come back, and may go into the next.
func (out *Out) joint(in In, alloys []metal.Metal) blend.JointBlendIn {
	symbol := precious(alloys[0])
	b := calc.Default[blend.JointBlendIn]()
	b.Metal, b.Lots, b.Additions, b.Objective = metalWords[symbol], in.Lots, in.Additions, in.Objective
	b.ResolutionG, b.Apportion = in.Studio.ScaleStepG, in.Apportion
	b.KeepOwnersApart, b.ReuseReturns, b.PourOrder = in.KeepApart, in.Returns, in.PourOrder
	for i := range out.Pieces {
		p := &out.Pieces[i]
		melt := calc.Default[blend.MeltTarget]()
		melt.ID, melt.FinenessPermil, melt.MarginPermil, melt.MassG = p.Name, 1000*alloys[i].Composition[symbol], in.Margin, &p.Melt.MeltMassG
		melt.ReturnsPct = min(95, 100*(p.Melt.SprueMassG+p.Melt.ButtonMassG)/p.Melt.MeltMassG)
		if in.KeepApart {
			melt.ForOwner = in.Pieces[i].Owner
		}
		b.Melts = append(b.Melts, melt)
	}
	return b
}

// charge shares the lots out over the pieces by one programme, and hands each
// piece its charge and its turn.
func (out *Out) charge(ctx context.Context, in In, alloys []metal.Metal) error {
	b := out.joint(in, alloys)
	joint, err := blend.SolveJoint(ctx, b)
	if err != nil {
		return inOrder(err)
	}
	out.PourOrder = []string{}
	for turn, m := range joint.Melts {
		i := slices.IndexFunc(out.Pieces, func(p PiecePlan) bool { return p.Name == m.ID })
		p := &out.Pieces[i]
		p.Charge, p.PourTurn, p.ReturnsG = m.ChargePlan, turn+1, m.ReturnsG
		out.PourOrder = append(out.PourOrder, p.Name)
		out.MeltMassG += m.MassG
		out.ReturnsG += m.ReturnsG
		out.Step("fineness wanted of "+p.Name, 1000*alloys[i].Composition[precious(alloys[i])]+in.Margin, "‰", "%s and a margin of %g ‰, in the worst case of its lots", alloys[i].Name, in.Margin)
	}
	out.ClientMetalG, out.BoughtMetalG = joint.ClientG, joint.BoughtG
	out.LotsLeft, out.RefusedLots, out.WhatIf, out.Verification = joint.Left, joint.RefusedLots, joint.WhatIf, joint.Verification
	out.take("metal", &joint.Notes)
	out.Step("metal for all pieces", out.MeltMassG, "g", "sum of %d charges; %.4g g of it are returns, so %.4g g leave the lots", len(joint.Melts), out.ReturnsG, out.MeltMassG-out.ReturnsG)
	if in.Returns && out.ReturnsG > 0 {
		out.Warn("returns", calc.Care, "Button and sprue melted again carry oxide, clay and gas: pickle and brush them clean, and keep at least half new metal in a melt (common practice).")
	}
	return nil
}

// inOrder moves the faults of a blend to where an order has the same thing:
// its fineness comes from the alloy, its mass from the pieces.
func inOrder(err error) error {
	r, ok := err.(*calc.Refusal)
	if !ok {
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

package commission

import (
	"context"
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

// charge shares the lots out over the pieces by one programme, and hands each
// piece its charge.
func (out *CommissionOut) charge(ctx context.Context, in CommissionIn, alloy metal.Metal) error {
	symbol := precious(alloy)
	b := calc.Default[blend.JointBlendIn]()
	b.Metal, b.Lots, b.Additions, b.Objective = metalWords[symbol], in.Lots, in.Additions, in.Objective
	b.ResolutionG, b.Apportion = in.Studio.ScaleStepG, in.Apportion
	fineness := 1000 * alloy.Composition[symbol]
	for i := range out.Pieces {
		p := &out.Pieces[i]
		melt := calc.Default[blend.BlendMelt]()
		melt.ID, melt.FinenessPermil, melt.MarginPermil, melt.MassG = p.Name, fineness, in.Margin, &p.Melt.MeltMassG
		b.Melts = append(b.Melts, melt)
	}
	joint, err := blend.SolveJoint(ctx, b)
	if err != nil {
		return inOrder(err)
	}
	for i, m := range joint.Melts {
		out.Pieces[i].Charge = m.BlendCharge
		out.MeltMassG += m.MassG
	}
	out.ClientMetalG, out.BoughtMetalG = joint.ClientG, joint.BoughtG
	out.LotsLeft, out.RefusedLots, out.WhatIf, out.Verification = joint.Left, joint.RefusedLots, joint.WhatIf, joint.Verification
	out.take("metal", &joint.Notes)
	out.Step("metal for all pieces", out.MeltMassG, "g", "sum of %d charges, each to %.4g ‰ of %s in the worst case", len(joint.Melts), fineness+in.Margin, b.Metal)
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

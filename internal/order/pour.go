package order

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/melt"
	"pourwright/internal/shape"
	"pourwright/internal/sprue"
)

// SharedPour is pieces that are cast from one melt in one flask.
type SharedPour struct {
	Pieces []string `json:"pieces" minItems:"2" maxItems:"12" doc:"Their names" example:"[\"his ring\",\"her ring\"]"`
}

const usualFlaskMM = 130.0 // inside a flask whose measures are not given, either way

var srcShared = calc.Source{For: "which pieces share a flask", Text: "one alloy and one posture, laid out as sprue-layouts does, within crucible and flask; where no flask is given, 130 mm either way", Status: calc.Choice}

// Pour is one melt poured into one flask.
type Pour struct {
	Pieces []int    // of the order
	Melt   melt.Out // of the whole pour
}

// Pours puts the pieces together as the order says, or as few pours as crucible
// and flask allow where it leaves that to the plan, and gives each piece of a
// shared pour the melt of its pour. pieces are all pieces, weighed. Errors are
// refusals.
func (in *Order) Pours(ctx context.Context, pieces []*Worked) ([]Pour, error) {
	groups, err := in.groups(pieces)
	if err != nil {
		return nil, err
	}
	var pours []Pour
	for _, g := range groups {
		p := Pour{g, pieces[g[0]].Plan.Melt}
		if len(g) > 1 {
			if p.Melt, err = in.sharedMelt(ctx, pieces, g); err != nil {
				return nil, err
			}
		}
		if in.Grouping == "fewest_pours" && len(pours) > 0 {
			last := &pours[len(pours)-1]
			if joined, ok := in.joined(ctx, pieces, last.Pieces, g); ok {
				*last = joined
				continue
			}
		}
		pours = append(pours, p)
	}
	for _, p := range pours {
		for _, i := range p.Pieces {
			w := pieces[i]
			w.Sharing = len(p.Pieces)
			if i != p.Pieces[0] {
				w.leader = pieces[p.Pieces[0]]
			}
			if w.Sharing > 1 {
				w.Plan.Melt = p.Melt
				if c := p.Melt.Channels; c != nil {
					w.Plan.FunnelDiameterMM = c.FunnelMeanMM
				}
			}
			for _, k := range p.Pieces {
				if k != i {
					w.Plan.SharesPourWith = append(w.Plan.SharesPourWith, pieces[k].Plan.Name)
				}
			}
		}
	}
	return pours, nil
}

// groups are the pieces as the order puts them together, in its order.
func (in *Order) groups(pieces []*Worked) ([][]int, error) {
	var c calc.Checks
	inPour := make([]int, len(pieces)) // 1 + the shared pour that a piece is in
	for k, pour := range in.SharedPours {
		first := -1
		for j, name := range pour.Pieces {
			field := fmt.Sprintf("shared_pours[%d].pieces[%d]", k, j)
			i := slices.IndexFunc(pieces, func(w *Worked) bool { return w.Plan.Name == name })
			switch {
			case i < 0:
				c.Refuse(field, name, "give the name of a piece of this order")
			case inPour[i] > 0:
				c.Refuse(field, name, "give a piece once: it is in another shared pour")
			default:
				inPour[i] = k + 1
				if first < 0 {
					first = i
				} else if why := unlike(pieces[first], pieces[i]); why != "" {
					c.Refuse(field, name, "leave it out, or make it like %s: %s", pieces[first].Plan.Name, why)
				}
			}
		}
	}
	if err := c.Err(); err != nil {
		return nil, err
	}
	var groups [][]int
	for i := range pieces {
		if inPour[i] == 0 {
			groups = append(groups, []int{i})
			continue
		}
		var g []int
		for j := range pieces {
			if inPour[j] == inPour[i] {
				g = append(g, j)
			}
		}
		if g[0] == i {
			groups = append(groups, g)
		}
	}
	return groups, nil
}

// unlike says why two pieces cannot share a pour; "" if they can.
func unlike(a, b *Worked) string {
	switch {
	case a.Plan.Alloy != b.Plan.Alloy:
		return fmt.Sprintf("one melt is one alloy, and they are %s and %s", a.Plan.Alloy, b.Plan.Alloy)
	case a.Piece.Mould.Posture != b.Piece.Mould.Posture:
		return "one flask stands or lies"
	case a.Piece.Owner != b.Piece.Owner:
		return "they are of different owners"
	case !sameTemperature(a.Piece.Mould.PourC, b.Piece.Mould.PourC):
		return "one melt has one temperature, and their pour_c differ"
	}
	return ""
}

func sameTemperature(a, b *float64) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a == *b
}

// joined is two pours as one, if flask and crucible hold it.
func (in *Order) joined(ctx context.Context, pieces []*Worked, a, b []int) (Pour, bool) {
	both := slices.Concat(a, b)
	if len(both) > in.MaxPerFlask || unlike(pieces[a[0]], pieces[b[0]]) != "" || tooLarge(pieces, both) {
		return Pour{}, false
	}
	m, err := in.sharedMelt(ctx, pieces, both)
	if err != nil || m.CrucibleFits != nil && !*m.CrucibleFits {
		return Pour{}, false
	}
	return Pour{both, m}, true
}

// tooLarge says whether the layout of pieces asks for more flask than there is:
// the least that a piece names, or the usual one.
func tooLarge(pieces []*Worked, group []int) bool {
	in := calc.Default[sprue.In]()
	first := pieces[group[0]]
	mould := first.Piece.Mould
	in.Posture, in.SprueLengthMM, in.FunnelHeadMM = mould.Posture, mould.SprueLengthMM, mould.FunnelHeadMM
	var bodies []*shape.Body
	wide, high := math.Inf(1), math.Inf(1)
	for _, i := range group {
		bodies = append(bodies, pieces[i].Cavity.Body)
		if m := pieces[i].Piece.Mould; m.FlaskWidthMM > 0 {
			wide = min(wide, m.FlaskWidthMM)
		}
		if m := pieces[i].Piece.Mould; m.FlaskHeightMM > 0 {
			high = min(high, m.FlaskHeightMM)
		}
	}
	if math.IsInf(wide, 1) {
		wide = usualFlaskMM
	}
	if math.IsInf(high, 1) {
		high = usualFlaskMM
	}
	asksWide, asksHigh := sprue.Flask(in, bodies, first.alloy)
	return asksWide > wide || asksHigh > high
}

// sharedMelt is the melt of pieces that hang on one sprue under one funnel.
func (in *Order) sharedMelt(ctx context.Context, pieces []*Worked, group []int) (melt.Out, error) {
	m := pieces[group[0]].melt
	m.VolumeMM3, m.StonesVolumeMM3 = 0, 0
	var names []string
	for _, i := range group {
		m.VolumeMM3 += pieces[i].melt.VolumeMM3 / float64(len(group))
		m.StonesVolumeMM3 += pieces[i].melt.StonesVolumeMM3 / float64(len(group))
		names = append(names, pieces[i].Plan.Name)
	}
	m.Castings = len(group)
	if m.Vents != nil {
		each := *m.Vents
		all := each * len(group)
		m.Vents = &all
	}
	m.Sprues, m.SprueDiameterMM, m.SprueLengthMM, m.FunnelDiameterMM, m.FunnelHeadMM = 1, 0, 0, 0, 0 // one for all, as the feeding needs
	out, err := melt.PlanFor(ctx, m, pieces[group[0]].alloy)
	if err != nil {
		return out, calc.Under(fmt.Sprintf("pieces[%d]", group[0]), err)
	}
	out.Step("metal of the shared pour", out.MeltMassG, "g", "%s on one sprue under one funnel", strings.Join(names, ", "))
	out.Cite(srcShared)
	return out, nil
}

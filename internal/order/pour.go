package order

import (
	"context"
	"fmt"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/melt"
	"pourwright/internal/sprue"
	"pourwright/internal/verdict"
)

// SharedPour is pieces that are cast from one melt in one flask.
type SharedPour struct {
	Pieces []string `json:"pieces" minItems:"2" maxItems:"12" doc:"Their names" example:"[\"his ring\",\"her ring\"]"`
}

// Pour is one melt poured into one flask.
type Pour struct {
	Pieces  []int           // of the order
	Melt    melt.Out        // of the whole pour
	Flask   *Flask          // of a shared one
	Reasons verdict.Reasons // why its layout is not a plain go
}

// Pours puts the pieces together as the order says, or as few pours as crucible
// and flask allow where it leaves that to the plan, and gives each piece of a
// shared pour the melt of its pour, its gate and its funnel. pieces are all
// pieces, weighed. Errors are refusals.
func (in *Order) Pours(ctx context.Context, pieces []*Worked) ([]Pour, error) {
	groups, err := in.groups(pieces)
	if err != nil {
		return nil, err
	}
	var pours []Pour
	for _, g := range groups {
		p := Pour{Pieces: g, Melt: pieces[g[0]].Plan.Melt}
		if len(g) > 1 {
			if p, err = in.shared(ctx, pieces, g); err != nil {
				return nil, calc.Under(fmt.Sprintf("pieces[%d]", g[0]), err)
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
		p.hand(pieces)
	}
	return pours, nil
}

// hand gives the pieces of a pour what they share.
func (p *Pour) hand(pieces []*Worked) {
	for _, i := range p.Pieces {
		w := pieces[i]
		if w.Sharing = len(p.Pieces); w.Sharing == 1 {
			continue
		}
		if i != p.Pieces[0] {
			w.leader = pieces[p.Pieces[0]]
		}
		w.Plan.Melt = p.Melt
		w.Plan.SprueDiameterMM, w.Plan.FunnelDiameterMM = p.Flask.GateMM, p.Flask.FunnelMM
		w.Pour.SprueDiameterMM, w.Pour.FunnelDiameterMM = p.Flask.GateMM, p.Flask.FunnelMM
		w.Pour.SprueLengthMM, w.Pour.FunnelHeadMM = p.Flask.SprueLongMM, p.Flask.HeadMM
		w.Pour.Gate = map[string]string{sprue.Tree: "side", sprue.Runner: "top"}[p.Flask.System]
		for _, k := range p.Pieces {
			if k != i {
				w.Plan.SharesPourWith = append(w.Plan.SharesPourWith, pieces[k].Plan.Name)
			}
		}
	}
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
	case max(a.Piece.Mould.SprueCount, b.Piece.Mould.SprueCount) > 1:
		return "a piece in a shared flask has one gate; leave out sprue_count"
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
	if len(both) > in.MaxPerFlask || unlike(pieces[a[0]], pieces[b[0]]) != "" {
		return Pour{}, false
	}
	p, err := in.shared(ctx, pieces, both)
	if err != nil || !p.Flask.room() || p.Melt.CrucibleFits != nil && !*p.Melt.CrucibleFits {
		return Pour{}, false
	}
	return p, true
}

package order

import (
	"context"
	"fmt"
	"slices"

	"pourwright/internal/fill"
	"pourwright/internal/sprue"
)

// Follow follows the pour of a shared flask as one network and gives each piece
// its own risk. pieces are all of the order. Errors are refusals, with the
// number of the piece in it.
func (p *Pour) Follow(ctx context.Context, in *Order, pieces []*Worked) error {
	outs, err := fill.FollowShared(ctx, p.network(p.Flask, pieces), func() []fill.Change {
		if !in.Improvements {
			return nil
		}
		return p.changes(ctx, pieces)
	})
	if err != nil {
		return err
	}
	for k, i := range p.Pieces {
		w := pieces[i]
		w.Plan.Fill, w.Plan.FailurePct = outs[k], outs[k].FailurePct
	}
	return nil
}

// network is the flask as the fill follows it.
func (p *Pour) network(f *Flask, pieces []*Worked) fill.Shared {
	s := fill.Shared{FunnelHeadMM: f.HeadMM, FunnelDiameterMM: f.FunnelMM, Pieces: make([]fill.Part, len(p.Pieces)),
		Flask: fill.Flask{PartingMM2: f.partingMM2, PressureKPa: f.PressureKPa, OpeningN: f.openingN, HoldKg: f.HoldKg}}
	ways, gates := f.layout.Ways()
	for _, w := range ways {
		s.Channels = append(s.Channels, fill.Channel(w))
	}
	for n, placed := range f.layout.Placed {
		in := pieces[p.Pieces[placed.Piece]].Pour
		in.FlaskSize = fill.FlaskSize{} // the layout has judged the room in it
		in.SprueDiameterMM, in.SprueLengthMM = f.GateMM, f.layout.System.Gate.Length
		gate := slices.IndexFunc(ways, func(w sprue.Way) bool { return w.To == gates[n] })
		s.Pieces[placed.Piece] = fill.Part{In: in, Field: fmt.Sprintf("pieces[%d]", p.Pieces[placed.Piece]), Junction: gates[n], GateMM: ways[gate].ToMM,
			// A side gate by itself: of a shape the band lies to its left, of a plain round band to its right.
			Mirrored: (placed.Out.X < 0) == (in.Shape != nil)}
	}
	return s
}

// changes are other ways to pour the flask; those that cannot be laid out fall away.
func (p *Pour) changes(ctx context.Context, pieces []*Worked) (list []fill.Change) {
	const hotterK, deeperMM, widerMM = 30.0, 10.0, 1.0
	const longestMM, widestMM = 100.0, 10.0
	f := p.Flask
	first := &pieces[p.Pieces[0]].Pour
	if c := *first.PourC + hotterK; c <= f.alloy.LiquidusC()+fill.HottestK {
		s := p.network(f, pieces)
		for i := range s.Pieces {
			s.Pieces[i].PourC = &c
		}
		list = append(list, fill.Change{Name: "hotter", Effort: 1, Patch: fill.Patch{PourC: &c}, Shared: s,
			Do: fmt.Sprintf("Pour the flask at %.0f °C, %.0f K hotter.", c, hotterK)})
	}
	laid := func(c fill.Change, rules sprue.In) {
		changed, err := lay(ctx, rules, f.casts, f.alloy)
		if err != nil {
			return
		}
		c.Do = fmt.Sprintf(c.Do, changed.systemG-f.systemG)
		c.Shared = p.network(changed, pieces)
		list = append(list, c)
	}
	if rules := f.rules; rules.SprueLengthMM+deeperMM <= longestMM {
		rules.SprueLengthMM += deeperMM
		laid(fill.Change{Name: "longer_sprue", Effort: 2, Patch: fill.Patch{SprueLengthMM: &rules.SprueLengthMM},
			Do: fmt.Sprintf("Set the pieces %.0f mm deeper, under a sprue of %.3g mm, for more head: %%.0f g more.", deeperMM, rules.SprueLengthMM)}, rules)
	}
	if rules := f.rules; f.SprueMM+widerMM <= widestMM {
		wide := f.SprueMM + widerMM
		rules.SprueDiameterMM = &wide
		laid(fill.Change{Name: "wider_sprue", Effort: 1.5, Patch: fill.Patch{SprueDiameterMM: &wide},
			Do: fmt.Sprintf("Cut sprue and runners %.3g mm wide instead of %.3g: %%.0f g more.", wide, f.SprueMM)}, rules)
	}
	return list
}

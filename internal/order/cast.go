package order

import (
	"context"
	"fmt"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
)

// Alloys finds the metal that each piece is cast of, that of its charge, so that
// everything that follows is computed from it: the pieces are weighed as the
// alloy asked for, the lots shared out, and once more as the metal of that
// charge, whose density is another. Where the melting range of a charge is not
// known the alloy asked for stands in, and the charge's reasons say so. With
// no lots there is no charge, and the alloys are those asked for. Errors are
// refusals.
func (in *Order) Alloys(ctx context.Context) ([]metal.Metal, error) {
	wanted, err := in.Wanted()
	if err != nil || len(in.Lots) == 0 {
		return wanted, err
	}
	ctx = calc.Silent(ctx)
	alloys := wanted
	const rounds = 2 // the second moves the mass by the difference of two densities, the third by nothing
	for range rounds {
		pieces, err := in.weighed(ctx, alloys)
		if err != nil {
			return nil, err
		}
		if _, err := in.Pours(ctx, pieces); err != nil {
			return nil, err
		}
		shared, err := in.Share(ctx, pieces)
		if err != nil {
			return nil, err
		}
		alloys = slices.Clone(wanted)
		for i := range alloys {
			if s, err := shared.Charges[i].Spread(); err == nil {
				alloys[i] = s.Metal
			}
		}
	}
	return alloys, nil
}

// weighed works the pieces out as far as their melts.
func (in *Order) weighed(ctx context.Context, alloys []metal.Metal) ([]*Worked, error) {
	stock, err := in.Stock()
	if err != nil {
		return nil, err
	}
	var checks calc.Checks
	pieces := make([]*Worked, len(in.Pieces))
	for i, piece := range in.Pieces {
		p := Planner{Order: in, Piece: piece, Alloy: alloys[i], Stock: stock}
		w, err := p.Work(ctx)
		checks.Under(fmt.Sprintf("pieces[%d]", i), err)
		pieces[i] = w
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
	}
	return pieces, checks.Err()
}

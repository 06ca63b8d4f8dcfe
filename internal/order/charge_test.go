package order

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/wire"
	"pourwright/testdata"
)

var ctx = context.Background()

// read reads the order of a body as the server does; its pour options are not of
// this package.
func read(t testing.TB, body string) Order {
	type whole struct {
		Order
		PourOptions *struct {
			MaxRiskPct float64 `json:"max_risk_pct" minimum:"0" maximum:"100" doc:"Not read here"`
			Favour     string  `json:"favour" doc:"Not read here"`
		} `json:"pour_options,omitempty" doc:"Not read here"`
	}
	in, err := wire.ShapeOf(reflect.TypeFor[whole]()).ReadJSON([]byte(body))
	require.NoError(t, err)
	return in.(*whole).Order
}

// TestMetalBalancesOverTheOrder: over all pours with returns melted again,
// what leaves the lots and what is bought is what the charges hold less what
// came back, in mass and in fine metal; each charge has its fineness.
func TestMetalBalancesOverTheOrder(t *testing.T) {
	const balance = 1e-9 // relative: rounding of a few dozen sums
	given := read(t, testdata.Mixed)
	rapid.Check(t, func(t *rapid.T) {
		in := given
		var pieces []*Worked
		for i := range in.Pieces {
			w := &Worked{Plan: PiecePlan{Name: fmt.Sprint(i)}}
			p := &w.Plan
			p.Melt.MeltMassG = rapid.Float64Range(20, 120).Draw(t, "melt")
			p.Melt.SprueMassG = p.Melt.MeltMassG * rapid.Float64Range(0.05, 0.2).Draw(t, "sprue")
			p.Melt.ButtonMassG = p.Melt.MeltMassG * rapid.Float64Range(0.05, 0.25).Draw(t, "button")
			pieces = append(pieces, w)
		}
		in.Returns = rapid.Bool().Draw(t, "returns")
		out, err := in.Share(ctx, pieces)
		require.NoError(t, err)
		charged, fine, in0, fine0, returned, fineBack := 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
		for _, p := range out.Charges {
			charged += p.MassG
			fine += p.MassG * p.FinenessWorst / 1000
			require.GreaterOrEqual(t, p.FinenessWorst, 925+in.Margin-1e-6)
			for _, part := range p.Charge {
				if part.Owner == "shared" {
					returned += part.WeighG
					fineBack += part.FineLeastG
					continue
				}
				in0 += part.WeighG
				fine0 += part.FineLeastG
			}
		}
		require.InEpsilon(t, charged, in0+returned, balance)
		require.InEpsilon(t, fine, fine0+fineBack, balance)
		require.InDelta(t, out.ReturnsG, returned, balance*charged)
		require.InDelta(t, charged-returned, out.ClientG+out.BoughtG+studio(&out), balance*charged)
		used := 0.0
		for _, l := range out.Left {
			used += lotMass(in, l.ID) - l.LeftG
		}
		require.InDelta(t, in0-out.BoughtG, used, balance*charged)
	})
}

func studio(out *Metal) float64 {
	g := 0.0
	for _, p := range out.Charges {
		for _, part := range p.Charge {
			if part.Owner == "studio" && !part.Bought {
				g += part.WeighG
			}
		}
	}
	return g
}

func lotMass(in Order, id string) float64 {
	for _, l := range in.Lots {
		if l.ID == id {
			return l.MassG
		}
	}
	return math.NaN()
}

// Two bands in one flask are one charge under one funnel: less metal than two
// pours, both pieces of the same charge, and the lots counted once.
func TestSharedPour(t *testing.T) {
	in := read(t, `{"alloy": "silver-925", "lots": [{"id": "old", "mass_g": 60, "alloy": "silver-925"}], "pieces": [
		{"name": "a", "kind": "ring", "inside_diameter_mm": 17.3, "profile": "d", "thickness_mm": 1.7, "width_mm": 4},
		{"name": "b", "kind": "ring", "inside_diameter_mm": 19.8, "profile": "d", "thickness_mm": 1.7, "width_mm": 4}]}`)
	share := func(in Order) (Metal, []*Worked, error) {
		alloys, err := in.Wanted()
		require.NoError(t, err)
		stock, err := in.Stock()
		require.NoError(t, err)
		var pieces []*Worked
		for i, p := range in.Pieces {
			planner := Planner{Order: &in, Piece: p, Alloy: alloys[i], Stock: stock}
			w, err := planner.Prepare(ctx)
			require.NoError(t, err)
			require.NoError(t, planner.Weigh(ctx, w))
			pieces = append(pieces, w)
		}
		if _, err := in.Pours(ctx, pieces); err != nil {
			return Metal{}, nil, err
		}
		m, err := in.Share(ctx, pieces)
		return m, pieces, err
	}
	alone, apart, err := share(in)
	require.NoError(t, err)
	in.SharedPours = []SharedPour{{Pieces: []string{"a", "b"}}}
	shared, together, err := share(in)
	require.NoError(t, err)
	require.Less(t, shared.MeltMassG, alone.MeltMassG-5, "one button is saved")
	require.InDelta(t, shared.MeltMassG, together[0].Plan.Melt.MeltMassG, 0.02, "to the scale's step")
	require.Equal(t, shared.Charges[0], shared.Charges[1])
	require.Equal(t, []string{"a", "b"}, shared.PourOrder)
	require.Equal(t, []string{"b"}, together[0].Plan.SharesPourWith)
	require.InDelta(t, apart[0].CastingG+apart[1].CastingG, together[0].Plan.Melt.CastingMassG, 1e-6, "the castings are what they were")
	require.InDelta(t, 60-shared.MeltMassG, shared.Left[0].LeftG, 0.01)

	in.SharedPours, in.Grouping = nil, "fewest_pours"
	fewest, _, err := share(in)
	require.NoError(t, err)
	require.Equal(t, shared.MeltMassG, fewest.MeltMassG, "the plan comes to the same")
	in.Pieces[1].Mould.Posture = "lying"
	apartAgain, _, err := share(in)
	require.NoError(t, err)
	require.InDelta(t, alone.MeltMassG, apartAgain.MeltMassG, 0.01, "one flask stands or lies")
	in.SharedPours = []SharedPour{{Pieces: []string{"a", "b"}}}
	_, _, err = share(in)
	require.ErrorContains(t, err, "shared_pours[0].pieces[1]: b refused")
	in.SharedPours[0].Pieces[1] = "c"
	_, _, err = share(in)
	require.ErrorContains(t, err, "give the name of a piece")
}

// With same_metal every pour holds the lots in the same proportion, to the step of
// the scale, and is as fine as the whole mixture.
func TestSameMetal(t *testing.T) {
	in := read(t, testdata.Mixed)
	in.SameMetal, in.Returns = true, false
	alloys, err := in.Wanted()
	require.NoError(t, err)
	var pieces []*Worked
	for i := range in.Pieces {
		in.Pieces[i].Alloy = ""
		w := &Worked{Plan: PiecePlan{Name: in.Pieces[i].Name}}
		w.Plan.Melt.MeltMassG = 15 + 11*float64(i)
		pieces = append(pieces, w)
	}
	for i := range alloys {
		alloys[i] = alloys[0]
	}
	m, err := in.Share(ctx, pieces)
	require.NoError(t, err)
	first := m.Charges[0]
	for i, c := range m.Charges {
		require.InDelta(t, pieces[i].Plan.Melt.MeltMassG, c.MassG, 0.1)
		require.GreaterOrEqual(t, c.FinenessWorst, 925-1e-6)
		for k, part := range c.Charge {
			require.InDelta(t, first.Charge[k].WeighG/first.MassG, part.WeighG/c.MassG, 0.002, "%s", part.ID)
		}
	}
}

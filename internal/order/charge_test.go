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
	given := read(t, testdata.Order)
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

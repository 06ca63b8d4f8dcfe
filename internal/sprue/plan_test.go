package sprue

import (
	"context"
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/verdict"
)

var ctx = context.Background()

func read1(t require.TestingT, text string) In {
	in := calc.Default[In]()
	require.NoError(t, json.Unmarshal([]byte(text), &in))
	for i := range in.Pieces {
		in.Pieces[i].Count = max(in.Pieces[i].Count, 1)
	}
	return in
}

func planned(t require.TestingT, text string) Out {
	out, err := Plan(ctx, read1(t, text))
	require.NoError(t, err)
	return out
}

const pair = `{"alloy":"gold-585-yellow","pieces":[{"name":"hers","kind":"ring","inside_diameter_mm":17.5,"thickness_mm":1.7,"width_mm":4},{"name":"his","kind":"ring","inside_diameter_mm":20,"thickness_mm":1.7,"width_mm":4}]}`

func TestPairOfBands(t *testing.T) {
	out := planned(t, pair)
	require.Equal(t, Tree, out.System)
	require.Equal(t, verdict.Go, out.Verdict)
	require.Len(t, out.Places, 2)
	// What a caster expects of a pair of 4 mm bands of 14 ct: 9 to 11 g cast, 20 to 25 g poured.
	require.InDelta(t, 10.8, out.PiecesG, 0.3)
	require.Greater(t, out.PouredG, 20.0)
	require.Less(t, out.PouredG, 25.0)
	// Side by side: the gap is the sprue and two gates.
	require.InDelta(t, out.SprueMM+2*4, out.Places[0].ClayMM, 1e-3)
	require.InDelta(t, 20+4, out.Places[0].WayMM, 1e-9)
	// Width: sprue, two gates, the larger ring twice, two walls.
	require.InDelta(t, out.SprueMM+2*4+2*23.4+2*15, out.WidthMM, 1e-2)
}

func TestSixCharmsOnARunner(t *testing.T) {
	out := planned(t, `{"pieces":[{"name":"charm","count":6,"kind":"disc","length_mm":12,"thickness_mm":1.6}]}`)
	require.Equal(t, Runner, out.System)
	require.InDelta(t, 5*(12+8)+4*0.0+out.GateMM, out.RunnerLong, 0.1)
	require.InDelta(t, 8, out.Places[0].ClayMM, 0.02)
	require.Equal(t, out.Places[0].WayMM, out.Places[1].WayMM, "the middle two come first, together")
	require.Greater(t, out.Places[5].WayMM, out.Places[0].WayMM)
	// Six discs of 12 by 1.6 mm in sterling.
	require.InEpsilon(t, 6*math.Pi/4*144*1.6/1000*10.36, out.PiecesG, 2e-3)
}

// The force on a lying flask is the head over the whole area of metal at the
// parting: of a ring alone π (d + t) t, its gate beside it.
func TestForceOnALyingRing(t *testing.T) {
	out := planned(t, `{"posture":"lying","pieces":[{"name":"r","kind":"ring","inside_diameter_mm":18,"thickness_mm":2,"width_mm":4,"profile":"rectangular"}]}`)
	area := math.Pi*20*2 + out.GateMM*4
	require.InEpsilon(t, area, out.PartingMM2, 1e-3)
	in := read1(t, `{"pieces":[{"name":"r","kind":"ring"}]}`)
	p := planned(t, `{"posture":"lying","sprue_length_mm":50,"pieces":[{"name":"r","kind":"ring","inside_diameter_mm":18,"thickness_mm":2,"width_mm":4,"profile":"rectangular"}]}`)
	require.InEpsilon(t, (50+in.FunnelHeadMM)/(20+in.FunnelHeadMM), p.OpeningN/out.OpeningN, 1e-6)
}

// A standing ring alone: the mean depth of its metal is that of its centre.
func TestForceOnAStandingRing(t *testing.T) {
	a := planned(t, `{"pieces":[{"name":"r","kind":"ring","inside_diameter_mm":18,"thickness_mm":2,"width_mm":4,"profile":"rectangular"}]}`)
	rho := a.PressureKPa * 1e3 / (9.80665 * (12 + 20 + 22) / 1e3)
	require.InDelta(t, 9300, rho, 150, "sterling, liquid: 9.2 to 9.4 g/cm³")
	ring, sprue, funnel := math.Pi*20*2, a.SprueMM*20, a.PartingMM2-math.Pi*20*2-a.SprueMM*20
	moment := ring*(12+20+11) + sprue*(12+10) + funnel*6
	require.InEpsilon(t, rho*9.80665*moment/1e9, a.OpeningN, 2e-3)
	require.InEpsilon(t, 3*a.OpeningN/9.80665, a.HoldKg, 1e-9)
}

func TestImpossibleLayoutsAreRefused(t *testing.T) {
	for _, c := range []struct{ text, field, says string }{
		{`{"gate_diameter_mm":6,` + pair[1:], "gate_diameter_mm", "4 mm"},
		{`{"system":"direct",` + pair[1:], "system", "tree"},
		{`{"pieces":[{"name":"x","count":30,"kind":"ring","inside_diameter_mm":17,"thickness_mm":2,"width_mm":4},{"name":"x","count":24,"kind":"ring","inside_diameter_mm":17,"thickness_mm":2,"width_mm":4}]}`, "pieces", "24"},
		{`{"posture":"lying","sprue_length_mm":4,"funnel_head_mm":2,"pieces":[{"name":"x","kind":"ring","inside_diameter_mm":17,"thickness_mm":2,"width_mm":14}]}`, "sprue_length_mm", "over it"},
		{`{"pieces":[{"name":"x","kind":"ring","thickness_mm":2,"width_mm":4}]}`, "pieces[0].inside_diameter_mm", "inside"},
	} {
		_, err := Plan(ctx, read1(t, c.text))
		require.ErrorContains(t, err, c.field, c.text)
		require.ErrorContains(t, err, c.says, c.text)
	}
	thin := planned(t, `{"between_mm":3,"flask_width_mm":60,"pieces":[{"name":"c","count":4,"kind":"disc","length_mm":12,"thickness_mm":1.6}]}`)
	require.Equal(t, verdict.DoNotPour, thin.Verdict)
	require.Contains(t, thin.Reasons[0].Why, "flask")
}

// Whatever is laid out, no two pieces come nearer than asked, none lies over
// the brim, and the metal adds up.
func TestLayoutsKeepTheirClay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := calc.Default[In]()
		in.Posture = rapid.SampledFrom([]string{"standing", "lying"}).Draw(t, "posture")
		in.System = rapid.SampledFrom([]string{"", Tree, Runner}).Draw(t, "system")
		in.BetweenMM = rapid.Float64Range(4, 15).Draw(t, "between")
		for i := range rapid.IntRange(2, 3).Draw(t, "pieces") {
			p := read1(t, `{"pieces":[{"name":"x","kind":"ring","inside_diameter_mm":17,"thickness_mm":2,"width_mm":5}]}`).Pieces[0]
			if rapid.Bool().Draw(t, "straight") {
				p = read1(t, `{"pieces":[{"name":"x","kind":"drop","length_mm":24,"thickness_mm":3,"width_mm":9}]}`).Pieces[0]
			}
			p.Count = rapid.IntRange(1, 3).Draw(t, "count")
			_ = i
			in.Pieces = append(in.Pieces, p)
		}
		out, err := Plan(ctx, in)
		require.NoError(t, err)
		sum := 0.0
		for _, p := range out.Places {
			sum += p.CastG
			if in.System == Runner || in.System == "" && out.System == Runner {
				require.GreaterOrEqual(t, p.ClayMM, min(in.BetweenMM, out.RunnerMM+2*4)-0.01)
			} else {
				require.GreaterOrEqual(t, p.ClayMM, min(in.BetweenMM, out.SprueMM+2*4)-0.01)
			}
		}
		require.InEpsilon(t, sum, out.PiecesG, 1e-9)
		require.InEpsilon(t, out.PiecesG+out.SystemG+out.FunnelG, out.PouredG, 1e-9)
		require.Positive(t, out.OpeningN)
	})
}

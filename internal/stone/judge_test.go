package stone

import (
	"context"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/section"
	"pourwright/internal/stone/shock"
	"pourwright/internal/verdict"
)

func setting(stones ...In) SettingIn {
	in := calc.Default[SettingIn]()
	in.HeadMM = 80
	in.Section = section.Section{Shape: section.Rectangular, ThicknessMM: 3, WidthMM: 8}
	in.Stones = stones
	return in
}

func clean(gem string, mm float64) In {
	s := calc.Default[In]()
	s.Gem, s.LengthMM, s.Treatments, s.Condition = gem, mm, []Treatment{None}, Clean
	return s
}

func judged(t require.TestingT, in SettingIn) SettingOut {
	out, err := Judge(context.Background(), in)
	require.NoError(t, err)
	return out
}

// What practice says of small, clean, untreated stones in silver in cold clay.
func TestVerdictsOfPractice(t *testing.T) {
	for _, row := range []struct {
		what string
		s    In
		want verdict.Level
	}{
		{"small clean diamond", clean("diamond", 1.5), verdict.Go},
		{"just the practical lower limit", clean("diamond", 1.3), verdict.Care},
		{"laboratory-grown as natural", clean("diamond-lab", 1.5), verdict.Go},
		{"ruby is sapphire but for its colour", clean("ruby", 1.5), verdict.Go},
		{"a glued stone, without its density", clean("doublet", 3), verdict.DoNotPour},
		{"by its common name", clean("garnet", 2.5), verdict.Care},
		{"small clean natural sapphire", clean("sapphire", 1.5), verdict.Go},
		{"1 mm is too small to place", clean("diamond", 1), verdict.DoNotPour},
		{"between 1 and 1.3 mm", clean("diamond", 1.2), verdict.Care},
		{"not small", clean("sapphire", 4), verdict.Care},
		{"laboratory-grown sapphire", clean("corundum-lab", 1.5), verdict.Go},
		{"customary only when preheated", clean("cz", 2), verdict.Care},
		{"garnet, with care even there", clean("almandine", 2), verdict.Care},
		{"no custom known", clean("emerald-lab", 2), verdict.CannotTell},
		{"emerald", clean("emerald", 2), verdict.DoNotPour},
		{"opal", clean("opal", 2), verdict.DoNotPour},
	} {
		out := judged(t, setting(row.s))
		require.Equal(t, row.want, out.Verdict, "%s: %v", row.what, out.Stones[0].Reasons)
		require.Equal(t, row.want == verdict.Care, out.Stones[0].TrialFirst)
	}
	lab := clean("sapphire", 1.5)
	lab.Origin = "lab"
	out := judged(t, setting(lab))
	require.Equal(t, "corundum-lab", out.Stones[0].Gem)
	require.Equal(t, verdict.Go, out.Verdict)
	lab.Origin = "not_known"
	require.Equal(t, verdict.Go, judged(t, setting(lab)).Verdict, "either is cast in place")

	gold := setting(clean("diamond", 1.5))
	gold.Alloy, gold.MetalC = "gold-750-yellow", 1050
	require.Equal(t, verdict.Care, judged(t, gold).Verdict, "the practice is in silver")

	hot := setting(clean("cz", 2))
	hot.ClayC = 450
	require.Equal(t, verdict.Go, judged(t, hot).Verdict, "customary in a preheated flask")
}

// Nothing the physics finds turns a ban of the tables into anything better,
// over every material, treatment and condition.
func TestTablesOverrideThePhysics(t *testing.T) {
	for _, g := range catalogue {
		s := clean(g.ID, 1.5)
		in := setting(s)
		p, err := in.pour()
		require.NoError(t, err)
		j, err := judgeOne(context.Background(), in, p, s)
		require.NoError(t, err)
		for _, r := range treatmentRules {
			s.Treatments = []Treatment{r.Treatment}
			all := reasons(in, p, g, s, j)
			worst := worstOf(all)
			require.GreaterOrEqual(t, worst.Rank(), g.ruleFor(r.Treatment).Verdict.Rank(), "%s %s", g.ID, r.Treatment)
			require.GreaterOrEqual(t, worst.Rank(), g.InColdClay.Rank(), "%s %s", g.ID, r.Treatment)
			require.Equal(t, worst, all[0].Verdict, "the weightiest reason first")
			for i := 1; i < len(all); i++ {
				require.LessOrEqual(t, all[i].Verdict.Rank(), all[i-1].Verdict.Rank())
			}
		}
	}
	for condition, want := range map[Condition]verdict.Level{LiquidInc: verdict.DoNotPour, Fissures: verdict.DoNotPour, Chipped: verdict.Care, SmallIncl: verdict.Care, NotLooked: verdict.CannotTell, Clean: verdict.Go} {
		s := clean("diamond", 1.5)
		s.Condition = condition
		require.Equal(t, want, judged(t, setting(s)).Verdict, condition)
	}
	s := clean("diamond", 1.5)
	s.Treatments = nil
	require.Equal(t, verdict.CannotTell, judged(t, setting(s)).Verdict, "not asked is not the same as none")
}

// A property that is unknown stops the index; it is never taken as 0.
func TestUnknownStopsTheIndex(t *testing.T) {
	for _, g := range catalogue {
		j := judged(t, setting(clean(g.ID, 1.5))).Stones[0]
		_, thermal := g.Body.medium(1)
		_, elastic := g.Body.elastic()
		require.Equal(t, thermal, j.Heat.PeakSurfaceC != nil, g.ID)
		require.Equal(t, thermal && elastic, j.Heat.ShockIndex != nil, g.ID)
		require.Equal(t, thermal && elastic, j.Heat.IndexMissing == "", g.ID)
		if !thermal {
			require.Empty(t, j.Heat.Events, "%s: no seconds where no temperature is known", g.ID)
		}
	}
}

func TestIndexTable(t *testing.T) {
	// film 3000 W/(m² K), r 1 mm, metal 960 °C, mould 20 and 540 °C: index as
	// tabulated from the exact series and R of the resistance table; sapphire's
	// less in the ratio of E/(1−ν), 403/0.77 to 400/0.72, since its modulus is computed
	for _, row := range []struct {
		gem       string
		cold, hot float64
	}{
		{"diamond", 0.0017, 0.00076}, {"moissanite", 0.0092, 0.0041}, {"sapphire", 0.113, 0.053},
		{"rock-crystal", 1.1, 0.48}, {"almandine", 1.9, 0.84}, {"cz", 2.2, 0.97}, {"glass-soda", 2.9, 1.3},
	} {
		g, err := Find(row.gem)
		require.NoError(t, err)
		m, ok1 := g.Body.medium(3)
		e, ok2 := g.Body.elastic()
		require.True(t, ok1 && ok2)
		_, cold := shockIndex(m, e, 3000, 1, 960, 20)
		_, hot := shockIndex(m, e, 3000, 1, 960, 540)
		require.InEpsilon(t, row.cold, cold, 0.06, "%s: printed to two digits", row.gem)
		require.InEpsilon(t, row.hot, hot, 0.06, row.gem)
	}
}

// The transient's centre tension is that of the exact series when the metal
// round the stone is plentiful and stays hot, so that it is a fluid to it.
func TestTransientTensionAgainstSeries(t *testing.T) {
	in := setting(clean("almandine", 2))
	in.Section = section.Section{Shape: section.Rectangular, ThicknessMM: 40, WidthMM: 60}
	p, err := in.pour()
	require.NoError(t, err)
	p.film = 1000 // a film that rules, so that the metal's own gradient is small
	m := shock.Medium{K: 3.3, Rho: 4050, C: 750}
	tr, err := follow(context.Background(), p, m, 0.75, nil)
	require.NoError(t, err)
	biot := p.film * 0.75e-3 / m.K
	want := shock.CentrePeak(biot) * (p.metalC - p.clayC)
	require.InEpsilon(t, want, tr.heatingPa, 0.08) // the metal cools a little; cells and steps are finite
}

func TestTransientIsSane(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := rapid.SampledFrom(catalogue).Draw(t, "gem")
		in := setting(clean(g.ID, rapid.Float64Range(1, 4).Draw(t, "size")))
		in.MetalC = rapid.Float64Range(920, 1150).Draw(t, "metal")
		in.ClayC = rapid.Float64Range(0, 500).Draw(t, "clay")
		in.FilmWM2K = rapid.Float64Range(500, 30000).Draw(t, "film")
		h := judged(t, in).Stones[0].Heat
		if h.PeakSurfaceC == nil {
			return
		}
		require.LessOrEqual(t, *h.PeakSurfaceC, in.MetalC)
		require.GreaterOrEqual(t, *h.PeakSurfaceC, *h.PeakCentreC-0.5)
		require.Greater(t, *h.PeakCentreC, in.ClayC)
		require.Positive(t, *h.FrozenS)
		for i := 1; i < len(h.Events); i++ {
			require.LessOrEqual(t, h.Events[i].AboveS, h.Events[i-1].AboveS, "less time above a higher temperature")
		}
	})
}

// Diamond burns by 213 kJ/mol: rates over that at 700 °C as tabulated.
func TestBurnRate(t *testing.T) {
	for at, want := range map[float64]float64{600: 0.05, 700: 1, 800: 12, 900: 90} {
		require.InEpsilon(t, want, burnRate(at), 0.1, "%g °C, one or two digits printed", at)
	}
	s := clean("diamond", 1.5)
	cool := setting(s)
	warm := setting(s)
	warm.MetalC = 1100
	require.Greater(t, *judged(t, warm).Stones[0].Heat.BurnSharePct, *judged(t, cool).Stones[0].Heat.BurnSharePct)
	require.Nil(t, judged(t, setting(clean("sapphire", 1.5))).Stones[0].Heat.BurnSharePct)
}

func TestTotalsAndConsent(t *testing.T) {
	a, b := clean("sapphire", 1.5), clean("almandine", 2)
	a.Quantity = 5
	b.ClientOwned = true
	in := setting(a, b)
	in.HoldingCounts = &HoldingCounts{Placed: 40, Lost: 3}
	out := judged(t, in)
	require.Equal(t, 6, out.Count)
	require.InEpsilon(t, 5*out.Stones[0].MassCt+out.Stones[1].MassCt, out.MassCt, 1e-12)
	require.InEpsilon(t, 5*out.Stones[0].Seat.DisplacedMM3+out.Stones[1].Seat.DisplacedMM3, out.DisplacedMM3, 1e-12)
	require.Equal(t, math.Max(out.Stones[0].Seat.FlowTakenMM2, out.Stones[1].Seat.FlowTakenMM2), out.FlowTakenMM2)
	require.NotNil(t, out.Loss)
	for _, j := range out.Stones {
		require.Contains(t, j.Consent, "I ask for it to be cast in place")
		require.Contains(t, j.Consent, "signed ___")
	}
	text, err := json.Marshal(out)
	require.NoError(t, err)
	require.False(t, strings.Contains(string(text), "null,\"high\":0"))
}

func TestJudgeRefusals(t *testing.T) {
	for _, row := range []struct {
		change func(*SettingIn)
		field  string
	}{
		{func(in *SettingIn) { in.Alloy = "sterling" }, "alloy"},
		{func(in *SettingIn) { in.MetalC = 700 }, "metal_c"},
		{func(in *SettingIn) { in.ClayC = 790 }, "clay_c"},
		{func(in *SettingIn) { in.HeadMM = math.NaN() }, "head_mm"},
		{func(in *SettingIn) { in.FilmWM2K = 0 }, "film_w_m2k"},
		{func(in *SettingIn) { in.Section.WidthMM = 0 }, "section.width_mm"},
		{func(in *SettingIn) { in.Stones[0].Gem = "diamnd" }, "stones[0].gem"},
		{func(in *SettingIn) { in.Stones[0].Treatments = []Treatment{None, Oiled} }, "stones[0].treatments"},
		{func(in *SettingIn) { in.Stones[0].Treatments = []Treatment{"polished"} }, "stones[0].treatments"},
		{func(in *SettingIn) { in.Stones = nil }, "stones"},
		{func(in *SettingIn) { in.Stones[0].Gem, in.Stones[0].Origin = "diamond-lab", "natural" }, "stones[0].origin"},
		{func(in *SettingIn) { in.HoldingCounts = &HoldingCounts{Placed: 3, Lost: 4} }, "holding_counts.lost"},
	} {
		in := setting(clean("diamond", 1.5))
		row.change(&in)
		_, err := Judge(context.Background(), in)
		require.ErrorContains(t, err, row.field)
	}
	stopped, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := Judge(stopped, setting(clean("diamond", 1.5)))
	require.ErrorIs(t, err, context.Canceled)
}

func BenchmarkJudge(b *testing.B) {
	one := setting(clean("sapphire", 1.5))
	b.Run("one line", func(b *testing.B) {
		for b.Loop() {
			judged(b, one)
		}
	})
	p, _ := one.pour()
	m := shock.Medium{K: 35, Rho: 4000, C: 760}
	b.Run("of which the transient", func(b *testing.B) {
		for b.Loop() {
			_, _ = follow(context.Background(), p, m, 0.56, []float64{800})
		}
	})
}

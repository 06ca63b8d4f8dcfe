package fill

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/former"
	"pourwright/internal/verdict"
)

func planTests(t *testing.T, in In, pours int) TestPoursOut {
	ask := calc.Default[TestPoursIn]()
	ask.In, ask.TestPours = in, pours
	out, err := PlanTestPours(t.Context(), ask)
	require.NoError(t, err)
	return out
}

// TestGainByHand: two studios, in one of which the piece always fails but for
// what no model holds.
func TestGainByHand(t *testing.T) {
	j := &job{in: In{ScrapPct: ptr(0.0)}}
	other := j.other()
	l := &lesson{job: j, cloud: &cloud{weight: []float64{0.5, 0.5}}, piece: &trial{spoilt: []float64{0, 1}, within: []float64{0, 0}}}
	tells := &trial{chances: []chances{{0.9, 0.1}, {0.2, 0.8}}}
	h := func(p float64) float64 { return -p*math.Log2(p) - (1-p)*math.Log2(1-p) }
	// Chances of failure: before, when full, when short.
	before, whole, part := (other+1)/2, (0.45*other+0.1)/0.55, (0.05*other+0.4)/0.45
	require.InDelta(t, h(before)-0.55*h(whole)-0.45*h(part), l.gain(tells), 1e-12)
	require.InDelta(t, h(before)-h(other)/2, l.most(), 1e-3)
	idle := &trial{chances: []chances{{0.3, 0.7}, {0.3, 0.7}}}
	require.InDelta(t, 0, l.gain(idle), 1e-12)
	require.InDelta(t, l.gain(tells), l.gain(idle, tells), 1e-12)
	require.Greater(t, l.gain(tells, tells), l.gain(tells))
	require.Less(t, l.gain(tells, tells, tells), l.most())

	// Of pours that tell the same the cheaper is taken, and none that tells nothing.
	l.pours = []TestPour{{trial: tells, MetalG: 30}, {trial: tells, MetalG: 20}, {trial: idle, MetalG: 1}}
	l.choose(3)
	require.Equal(t, []int{1, 0}, l.chosen)
}

// TestTestPours: a plan for a lying bangle with a thin back. Outcomes add up,
// failures over them come to the failure before, long runs are better news than
// short ones, and formers takes what it is given.
func TestTestPours(t *testing.T) {
	if testing.Short() {
		t.Skip("thousands of studios")
	}
	piece := thinned(1, "lying")
	out := planTests(t, piece, 2)
	require.NotEmpty(t, out.Plan)
	require.GreaterOrEqual(t, out.TogetherBit, out.Plan[0].Bits-alikeBits)
	require.LessOrEqual(t, out.TogetherBit, out.MostBit)
	for i := range out.Plan {
		p := &out.Plan[i]
		t.Logf("%s %.0f g, %.3f bits of %.3f", p.Do, p.MetalG, p.Bits, out.MostBit)
		require.GreaterOrEqual(t, p.Bits, 0.8*out.Candidates[0].Bits-float64(i), "the first is about the best")
		sum, mean := 0.0, 0.0
		for k, m := range p.Meanings {
			t.Logf("   %3.0f %% %s: %s, %s", m.ProbabilityPct, m.Outcome, m.Words, m.Level)
			sum += m.ProbabilityPct
			mean += m.ProbabilityPct * m.FailurePct / 100
			require.LessOrEqual(t, m.FromMM, m.ToMM)
			if k > 0 {
				require.GreaterOrEqual(t, m.FromMM, p.Meanings[k-1].ToMM)
			}
		}
		require.InDelta(t, 100, sum, 4, "rare outcomes are left out")
		require.InDelta(t, out.FailurePct, mean, 2)
		require.Less(t, p.Meanings[len(p.Meanings)-1].FailurePct, p.Meanings[0].FailurePct)

		ask := calc.Default[former.In]()
		ask.Kind, ask.WedgeLengthMM, ask.WedgeWidthMM = p.Former.Kind, p.Former.WedgeLengthMM, p.Former.WedgeWidthMM
		ask.WedgeFootMM, ask.WedgeTipMM = p.Former.WedgeFootMM, p.Former.WedgeTipMM
		solid, err := former.Plan(t.Context(), ask)
		require.NoError(t, err)
		require.True(t, solid.Watertight)
	}
}

// TestWhatAnOutcomeWouldMeanIsWhatCalibrationsSays: the record of an outcome,
// given to calibrations, brings the piece to the risk that was foretold, within
// seven points: calibrations knows the run to the millimetre and doubts it.
func TestWhatAnOutcomeWouldMeanIsWhatCalibrationsSays(t *testing.T) {
	if testing.Short() {
		t.Skip("thousands of studios")
	}
	piece := thinned(1, "lying")
	p := planTests(t, piece, 1).Plan[0]
	for _, k := range []int{0, len(p.Meanings) - 1} {
		m := p.Meanings[k]
		record := PouredStrip{TestStrip: p.Strip, ReachedMM: (m.FromMM + m.ToMM) / 2}
		out := calibrate(t, CalibrateIn{Strips: []PouredStrip{record}})
		then := piece
		then.Calibration = &out.Posterior
		got := failure(t, then)
		t.Logf("%s: foretold %g, then %g", m.Outcome, m.FailurePct, got)
		require.InDelta(t, m.FailurePct, got, 7)
	}
}

// TestCannotTellNamesAPour.
func TestCannotTellNamesAPour(t *testing.T) {
	in := thinned(1, "lying")
	in.RiskLimitPct = 30 // of a band from a few to most
	out, err := Follow(t.Context(), in)
	require.NoError(t, err)
	require.Equal(t, verdict.CannotTell, out.Verdict, out.Words)
	require.Regexp(t, `^Pour a (lying|standing) (strip|wedge) .* \(\d+ g, .*test-pours`, out.Reasons[0].Do)
}

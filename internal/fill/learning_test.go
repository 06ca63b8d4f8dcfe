package fill

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"pourwright/internal/calc"
	"pourwright/internal/fill/network"
)

// Parts of calibrations and test pours, each by hand.

func TestReachClasses(t *testing.T) {
	for share, want := range map[float64]int{0: 1, 0.166: 1, 0.167: 2, 0.5: 4, 0.84: 6, 0.969: 6, 0.97: full, 1: full} {
		require.Equal(t, want, reachClass(share), share)
	}
}

// TestStripByHand: the run of a planned pour, blurred by the normal
// distribution of a library.
func TestStripByHand(t *testing.T) {
	s := strip(1, 40)
	j, err := prepare(t.Context(), s.input())
	require.NoError(t, err)
	w := new(run)
	w.follow(j, j.pour(j.planned(), nil))
	o := w.judge(nil)
	length := func(c *network.Cell) float64 { return c.Size }
	reach := w.filled(length)
	require.InDelta(t, 0.5, reach, 0.3)
	blurred := distuv.Normal{Mu: reach, Sigma: 0.15 * reach}
	other := 0.03
	whole := 1 - 1/(1+math.Exp(o.misrun/blur))
	r := w.strip(&o, 0.4)
	require.InDelta(t, whole*(1-other), r.chances[full], 1e-8)
	sum := r.chances[full]
	for k := 1; k <= 6; k++ {
		p := blurred.CDF(float64(k) / 6)
		if k == 6 {
			p = 1
		}
		if k > 1 {
			p -= blurred.CDF(float64(k-1) / 6)
		}
		require.InDelta(t, (1-whole)*(1-other)*p+other/6, r.chances[k], 1e-9)
		sum += r.chances[k]
	}
	require.InDelta(t, 1, sum, 1e-12)
	peak := blurred.Prob(reach)
	require.InDelta(t, (1-whole)*(1-other)*blurred.Prob(0.4)/peak+other/peak, r.likely, 1e-9)
	require.InDelta(t, r.chances[full], w.strip(&o, 1).likely, 1e-12)

	// Cells with heat left, by hand.
	stop, all, out := w.StopEnthalpy(), 0.0, 0.0
	for _, c := range w.cells {
		if c.Piece != network.NoPiece {
			all += c.Size
			if !math.IsNaN(c.Pressed) && c.Coldest > stop {
				out += c.Size
			}
		}
	}
	require.InDelta(t, out/all, reach, 0.05) // the blur of the margin moves the end by a few of 96 cells
}

func TestStripAsABar(t *testing.T) {
	s := strip(2, 40)
	s.TipMM, s.Posture, s.WidthMM, s.VentCount, s.ClayC, s.Hand = ptr(0.3), "standing", 9, 3, 40, "beginner"
	s.SprueLengthMM, s.SprueDiameterMM, s.FunnelHeadMM, s.FunnelWideMM = 31, 5, 14, 16
	in := s.input()
	require.Equal(t, "bar", in.Piece)
	require.Equal(t, []any{"standing", 3, 40.0, "beginner", 31.0, 5.0, 14.0, 16.0}, []any{in.Posture, in.VentCount, in.ClayC, in.Hand, in.SprueLengthMM, in.SprueDiameterMM, in.FunnelHeadMM, in.FunnelDiameterMM})
	j, err := prepare(t.Context(), in)
	require.NoError(t, err)
	require.InDelta(t, 100*9*(2+0.3)/2, 1e9*j.volume, 1)
	even := strip(2, 40)
	require.Empty(t, even.input().Stations)
}

// TestTimesOfAVideo: a hand's time for a charge is that of its stream; a gap is
// measured in standard deviations of hand and reading.
func TestTimesOfAVideo(t *testing.T) {
	j, err := prepare(t.Context(), bangle(3, "standing"))
	require.NoError(t, err)
	rate, rise := j.stream(1.4)
	require.InDelta(t, rise/2+j.poured/rate, j.handTime(1.4), 1e-12)
	sd := math.Sqrt(math.Log(1+0.15*0.15) + 0.1*0.1)
	c := newCloud(nil, 256, 1)
	usual := j.handTime(values(prior.at(c.z[7][:unknowns]))[pourTime])
	likely := c.hand(j, usual)
	require.InDelta(t, 1, likely[7], 1e-12)
	require.InDelta(t, math.Exp(-0.5), c.hand(j, usual*math.Exp(sd))[7], 1e-9)
	require.Greater(t, c.late(j, j.handTime(math.Exp(prior.Mean[pourTime]))), 0.9)
	require.Less(t, c.late(j, 0.3), 1e-3)
	require.Less(t, c.late(j, 20), 1e-3)
	slow := bangle(3, "standing")
	slow.Hand = "beginner"
	b, err := prepare(t.Context(), slow)
	require.NoError(t, err)
	require.InDelta(t, math.Sqrt(math.Log(1+sq(0.15*1.5))+0.01), b.timeSpread(), 1e-12)
	require.InDelta(t, 0, c.gap(b, 7, b.handTime(1.3*values(prior.at(c.z[7][:unknowns]))[pourTime])), 1e-12)
}

// TestProposal: whatever the studios are drawn from, weighed they have the
// moments of the prior.
func TestProposal(t *testing.T) {
	h := (&Posterior{Combinations: []Combination{{Weights: []float64{0.6, 0.8, 0, 0, 0, 0, 0, 0}, Mean: 0.4, SD: 0.8}}}).held()
	const size = 1 << 15
	c := proposal(h, size, 1)
	total, mean, square := 0.0, 0.0, 0.0
	for i, w := range c.weight {
		along := 0.6*c.z[i][0] + 0.8*c.z[i][1]
		total += w
		mean += w * along
		square += w * along * along
	}
	require.InDelta(t, 1, total/size, 0.03) // of 32,768 points, cut at three standard deviations
	require.InDelta(t, 0, mean/total, 0.03)
	require.InDelta(t, 1, square/total, 0.03)
	require.InDelta(t, 4, (&cloud{weight: []float64{2, 2, 2, 2, 0}}).effective(), 1e-12)
	// It is as much wider than what it is drawn from as it says.
	require.InDelta(t, widen, c.z[1][7]/newCloud(nil, 2, 1).z[1][7], 1e-9)
}

func TestCandidates(t *testing.T) {
	j, err := prepare(t.Context(), thinned(1, "lying"))
	require.NoError(t, err)
	all := j.candidates()
	require.Len(t, all, 8)
	feet := []float64{0.8, 1, 1.4, 2, 0.8, 1, 1.4, 2}
	for i, s := range all {
		require.InDelta(t, feet[i], s.FootMM, 1e-12)
		require.Equal(t, i%4 == 3, s.TipMM != nil)
		require.Equal(t, map[bool]string{true: "lying", false: "standing"}[i < 4], s.Posture)
		require.Equal(t, 6.0, s.WidthMM)
		require.InDelta(t, 100, s.LengthMM, 2, "half round a bangle of 62 mm")
		require.NoError(t, s.check())
	}
	require.Equal(t, "a lying strip 0.8 mm thick, 6 mm wide and 100 mm long", all[0].words())
	require.Equal(t, "a standing wedge from 2 to 0.3 mm, 6 mm wide and 100 mm long", all[7].words())
	require.Equal(t, FormerOf{"wedge", 100, 6, 0.8, 0.8}, all[0].former())
	require.Equal(t, FormerOf{"wedge", 100, 6, 2, 0.3}, all[7].former())
}

func TestCalibrationsRefuse(t *testing.T) {
	over, steep := strip(1, 101), strip(1, 50)
	steep.TipMM = ptr(1.1)
	share := 80.0
	for field, in := range map[string]CalibrateIn{
		"pours":                {},
		"strips[0].reached_mm": {Strips: []PouredStrip{over}},
		"strips[0].tip_mm":     {Strips: []PouredStrip{steep}},
		"pours[0].filled_pct":  {Pours: []PastPour{{Pour: bangle(2, "lying"), Outcome: "full", FilledPct: &share}}},
		"pours[0].pour.pour_c": {Pours: []PastPour{{Pour: func() In { p := bangle(2, "lying"); p.PourC = ptr(500.0); return p }(), Outcome: "full"}}},
	} {
		_, err := Calibrate(t.Context(), in)
		require.ErrorContains(t, err, field)
	}
	ask := calc.Default[TestPoursIn]()
	_, err := PlanTestPours(t.Context(), ask)
	require.ErrorContains(t, err, "inside_diameter_mm")
}

// TestPastPourByHand: what a record makes of one run.
func TestPastPourByHand(t *testing.T) {
	j, err := prepare(t.Context(), thinned(0.8, "lying"))
	require.NoError(t, err)
	w := new(run)
	w.follow(j, j.pour(j.planned(), nil))
	o := w.judge(nil)
	p := j.piece(&o)
	for name, k := range pieceClass {
		r := (&PastPour{Outcome: name}).read(w, &o)
		require.InDelta(t, 0.03/4+0.97*p[k], r.likely, 1e-12, name)
	}
	share := 60.0
	gap := (w.filled(func(c *network.Cell) float64 { return c.Volume }) - 0.6) / 0.12
	r := (&PastPour{Outcome: "short", FilledPct: &share}).read(w, &o)
	require.InDelta(t, 0.03/4+0.97*p[short]*math.Exp(-gap*gap/2), r.likely, 1e-12)

	sound := j.piece(&outcome{misrun: 9, cold: 9})
	require.InDelta(t, 0.97, sound[full], 1e-12)
	require.InDelta(t, 0.03*0.4, sound[short], 1e-12)
	require.InDelta(t, 0.03*0.4, sound[porous], 1e-12)
	require.InDelta(t, 0.03*0.2, sound[seam], 1e-12)
	broken := j.piece(&outcome{misrun: 9, cold: 9, broken: true})
	require.InDelta(t, 1, broken[seam], 1e-12)
}

// TestIntervalsBefore are those of the record of the prior.
func TestIntervalsBefore(t *testing.T) {
	r, err := record()
	require.NoError(t, err)
	h := new(Posterior).held()
	for k, u := range r.Unknowns {
		in := h.interval(k)
		require.InEpsilon(t, u.Practice[0], in.Low, 1e-9)
		require.InEpsilon(t, u.Practice[1], in.Median, 1e-9)
		require.InEpsilon(t, u.Practice[2], in.High, 1e-9)
	}
}

package fill

import (
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/fill/sobol"
	"pourwright/internal/verdict"
)

func thinned(to float64, posture string) In {
	in := bangle(2.6, posture)
	in.ThinSpot = &Thin{ThicknessMM: to, AtPct: 50}
	return in
}

func calibrate(t *testing.T, in CalibrateIn) CalibrateOut {
	out, err := Calibrate(t.Context(), in)
	require.NoError(t, err)
	return out
}

func poured(outcome string, pieces ...In) (in CalibrateIn) {
	for _, p := range pieces {
		in.Pours = append(in.Pours, PastPour{Pour: p, Outcome: outcome})
	}
	return in
}

// TestTenLyingSuccesses of 2 to 4 mm bring an everyday lying bangle to at most
// 8 %, and nothing about them is surprising.
func TestTenLyingSuccesses(t *testing.T) {
	if testing.Short() {
		t.Skip("ten past pours")
	}
	var in CalibrateIn
	for _, thick := range []float64{2, 2.2, 2.4, 2.6, 2.8, 3, 3.2, 3.5, 3.8, 4} {
		in.Pours = append(in.Pours, poured("full", bangle(thick, "lying")).Pours...)
	}
	out := calibrate(t, in)
	require.Equal(t, verdict.Go, out.Verdict, out.Reasons)
	require.True(t, out.Posterior.Agrees)
	piece := bangle(2.6, "lying")
	before := failure(t, piece)
	piece.Calibration = &out.Posterior
	after := failure(t, piece)
	t.Logf("%.2f bits in %d combinations: %g to %g %%", out.Bits, len(out.Posterior.Combinations), before, after)
	require.Less(t, after, before)
	require.LessOrEqual(t, after, 8.0)
}

// TestImpossibleRecordsAreLoud: in the verdict, the reasons, a caution, and in
// every answer that is given their posterior.
func TestImpossibleRecordsAreLoud(t *testing.T) {
	if testing.Short() {
		t.Skip("thousands of studios")
	}
	impossible := bangle(0.5, "lying")
	out := calibrate(t, poured("full", impossible, impossible, impossible, impossible, impossible))
	require.Equal(t, verdict.NotYet, out.Verdict)
	require.Len(t, out.Reasons, 5)
	require.Equal(t, calc.Danger, out.Cautions[0].Severity)
	require.Equal(t, "contradiction", out.Cautions[0].Code)
	require.Less(t, out.LikelyPct, 1.0)
	piece := bangle(3, "standing")
	piece.Calibration = &out.Posterior
	then, err := Follow(t.Context(), piece)
	require.NoError(t, err)
	codes := []string{}
	for _, c := range then.Cautions {
		codes = append(codes, c.Code)
	}
	require.Contains(t, codes, "contradiction")
}

// TestRecordsThatContradictOneAnother: each of them alone is what happens.
func TestRecordsThatContradictOneAnother(t *testing.T) {
	if testing.Short() {
		t.Skip("thousands of studios")
	}
	thin, thick := thinned(1, "lying"), bangle(2.4, "lying")
	in := poured("full", thin, thin, thin, thin)
	in.Pours = append(in.Pours, poured("short", thick, thick, thick, thick).Pours...)
	out := calibrate(t, in)
	t.Log(out.LikelyPct, out.Reasons)
	require.Equal(t, verdict.NotYet, out.Verdict)
	alone := calibrate(t, poured("full", thin, thin))
	require.Equal(t, verdict.Go, alone.Verdict, alone.Reasons)
}

// TestPredictionsOfThePosterior are those of the records, weighed studio by
// studio, within two points: the few combinations lose no more. The records
// have eight pours for each of calibrations' one, in studios that come from
// what its posterior holds, widened, and are weighed by the records and the
// prior alone. What calibrations itself answers, from fewer pours, is held to
// the same. Not met, and held to seven: a seam among short pieces. It speaks
// for a strict weld limit or for nothing of the kind (an interrupted stream, a
// wrong record), and one normal distribution cannot say either-or.
//
// All of it is a matter of `make calibrate`; go test looks at the first kind of
// records with a quarter of the studios and half the pours, whose sampling is a
// point more.
func TestPredictionsOfThePosterior(t *testing.T) {
	if testing.Short() {
		t.Skip("many pours")
	}
	studios, often, sampling, all := pastStudios/4, 4, 1.0, os.Getenv("CALIBRATE_STUDIOS") != ""
	if all {
		studios, often, sampling = pastStudios, 8, 0
	}
	part := 80.0
	for _, c := range []struct {
		name   string
		within float64
		in     CalibrateIn
	}{
		{"full", 2, poured("full", thinned(1.2, "lying"), bangle(2, "lying"), thinned(1, "standing"))},
		{"short", 2, CalibrateIn{Pours: []PastPour{{Pour: bangle(2, "lying"), Outcome: "short", FilledPct: &part}}, Strips: []PouredStrip{strip(1.2, 60)}}},
		{"seam", 7, CalibrateIn{Pours: []PastPour{{Pour: bangle(2, "lying"), Outcome: "short", FilledPct: &part}, {Pour: bangle(2.6, "lying"), Outcome: "seam"}},
			Strips: []PouredStrip{strip(1.2, 40)}}},
	} {
		if c.name != "full" && !all {
			continue
		}
		answer := calibrate(t, c.in).Posterior
		records := proposal(answer.held(), studios, often)
		e, err := records.records(t.Context(), &c.in)
		require.NoError(t, err)
		for _, r := range e.trials {
			records.take(r)
		}
		exact, _ := compress(records.z, records.weight)
		t.Logf("%s: %.0f studios of %d tell", c.name, records.effective(), studios)
		for _, piece := range []In{bangle(2.6, "lying"), thinned(1.0, "lying"), thinned(1.2, "standing")} {
			predict := func(of *cloud) float64 {
				c := *of
				c.pours = 2
				j, err := prepare(t.Context(), piece)
				require.NoError(t, err)
				p, err := c.follow(t.Context(), j, mostRecords, func(*run, *outcome) reading { return reading{} })
				require.NoError(t, err)
				return 100 * (1 - (1-expect(p.spoilt, c.weight))*(1-j.other()))
			}
			direct, small := predict(records), predict(newCloud(exact.held(), studios, 1))
			own := predict(newCloud(answer.held(), studios, 1))
			t.Logf("%s, %s: %.1f directly, %.1f through the posterior, %.1f through that of calibrations", c.name, piece.Posture, direct, small, own)
			assert.InDelta(t, direct, small, c.within+sampling, c.name)
			assert.InDelta(t, direct, own, c.within+sampling, c.name)
		}
	}
}

func strip(foot, reached float64) PouredStrip {
	s := calc.Default[PouredStrip]()
	s.LengthMM, s.FootMM, s.ReachedMM = 100, foot, reached
	return s
}

// TestEachKindOfRecordTeaches what it must: that a long run speaks for little
// heat taken, a seam for a strict weld limit, a quick video for a quick hand.
func TestEachKindOfRecordTeaches(t *testing.T) {
	if testing.Short() {
		t.Skip("thousands of studios")
	}
	medians := func(in CalibrateIn) (m [unknowns]float64) {
		for k, l := range calibrate(t, in).Learnt {
			m[k] = l.After.Median / l.Before.Median
		}
		return m
	}
	far := medians(CalibrateIn{Strips: []PouredStrip{strip(1.2, 95)}})
	near := medians(CalibrateIn{Strips: []PouredStrip{strip(1.2, 25)}})
	require.Less(t, far[interfaceH], 0.97)
	require.Greater(t, near[interfaceH], 1.03)

	seams := medians(poured("seam", bangle(2, "lying"), bangle(2.6, "lying")))
	require.Less(t, seams[weldSolid], 0.9)

	quick, slow := bangle(3, "standing"), bangle(3, "standing")
	quick.PourTimeS, slow.PourTimeS = ptr(0.9), ptr(1.9)
	require.Less(t, medians(poured("full", quick))[pourTime], 0.98)
	require.Greater(t, medians(poured("full", slow))[pourTime], 1.02)
	quick.PourTimeS = ptr(0.3)
	require.Equal(t, verdict.NotYet, calibrate(t, poured("full", quick)).Verdict)
}

// TestClassesAddUp: chances of all outcomes of a pour are 1, and a piece is
// spoilt with the chance that fills gives it.
func TestClassesAddUp(t *testing.T) {
	j, err := prepare(t.Context(), thinned(1, "lying"))
	require.NoError(t, err)
	for _, o := range []outcome{{misrun: 1, cold: 1}, {misrun: 0.02, cold: -0.01}, {misrun: -0.3, cold: math.Inf(1)}, {misrun: 0.5, cold: 0.03, broken: true}, {misrun: 1, cold: 1, unfed: true}} {
		c := j.piece(&o)
		sum := 0.0
		for _, p := range c {
			require.GreaterOrEqual(t, p, 0.0)
			sum += p
		}
		require.InDelta(t, 1, sum, 1e-12)
		sound := (1 - o.fails()) * (1 - j.other())
		if o.unfed {
			require.InDelta(t, sound/2, c[full], 1e-12)
			require.InDelta(t, sound, c[full]+c[porous], otherUsual)
			continue
		}
		require.InDelta(t, sound, c[full], 1e-12)
	}
}

// TestCompressKeepsTheNormalDistribution: points weighed by a normal likelihood
// along two oblique directions give back its mean and spread (conjugate normal:
// variance 1/(1 + 1/s²), mean that times y/s²), and nothing else.
func TestCompressKeepsTheNormalDistribution(t *testing.T) {
	a := [studioDims]float64{0.6, 0, 0.8}
	b := [studioDims]float64{0, 1}
	var z [][studioDims]float64
	var weight []float64
	for i := range 1 << 14 {
		var u, p [studioDims]float64
		sobol.Point(u[:], uint32(i), 3)
		along, across := 0.0, 0.0
		for k := range u {
			p[k] = normal(u[k])
			along += a[k] * p[k]
			across += b[k] * p[k]
		}
		z = append(z, p)
		weight = append(weight, math.Exp(-sq((along-1)/0.5)/2-sq((across+0.5)/1)/2))
	}
	p, bits := compress(z, weight)
	require.Len(t, p.Combinations, 2)
	const of = 0.02 // 16,384 points, cut at three standard deviations
	first, second := p.Combinations[0], p.Combinations[1]
	require.InDelta(t, math.Sqrt(0.2), first.SD, of)
	require.InDelta(t, 0.8, first.Mean, of)
	require.InDelta(t, 0.6, first.Weights[0], of)
	require.InDelta(t, 0.8, first.Weights[2], of)
	require.InDelta(t, math.Sqrt(0.5), second.SD, of)
	require.InDelta(t, -0.25, second.Mean, of)
	// Kullback and Leibler, by hand.
	nats := (0.2+0.64-1-math.Log(0.2))/2 + (0.5+0.0625-1-math.Log(0.5))/2
	require.InDelta(t, nats/math.Ln2, bits, 0.03)

	// What is held has these moments: along a direction w, mean w·m and spread |Lᵀw|.
	h := p.held()
	for _, c := range []struct {
		w        [studioDims]float64
		mean, sd float64
	}{{a, 0.8, math.Sqrt(0.2)}, {b, -0.25, math.Sqrt(0.5)}, {[studioDims]float64{0.8, 0, -0.6}, 0, 1}, {[studioDims]float64{7: 1}, 0, 1}} {
		zero := h.at(new([studioDims]float64))
		mean, square := 0.0, 0.0
		for k := range studioDims {
			mean += c.w[k] * zero[k]
			var unit [studioDims]float64
			unit[k] = 1
			at, along := h.at(&unit), 0.0
			for i := range at {
				along += c.w[i] * (at[i] - zero[i])
			}
			square += along * along
		}
		require.InDelta(t, c.mean, mean, of)
		require.InDelta(t, c.sd, math.Sqrt(square), of)
	}
	require.NoError(t, p.check())
	z1 := [studioDims]float64{1, 2, 3, 4, 5, 6, 7, 8}
	require.Equal(t, z1, new(Posterior).held().at(&z1))
	require.Equal(t, z1, (*held)(nil).at(&z1))
}

func TestForeignPosteriorsAreRefused(t *testing.T) {
	good := Combination{Weights: []float64{1, 0, 0, 0, 0, 0, 0, 0}, SD: 0.5}
	long := Combination{Weights: []float64{1, 0.1, 0, 0, 0, 0, 0, 0}, SD: 0.5}
	askew := Combination{Weights: []float64{0.8, 0.6, 0, 0, 0, 0, 0, 0}, SD: 0.5}
	require.NoError(t, (&Posterior{Prior: priorMark, Combinations: []Combination{good}}).check())
	require.ErrorContains(t, (&Posterior{Prior: "00000000", Combinations: []Combination{good}}).check(), "prior")
	require.ErrorContains(t, (&Posterior{Prior: priorMark, Combinations: []Combination{long}}).check(), "combinations")
	require.ErrorContains(t, (&Posterior{Prior: priorMark, Combinations: []Combination{good, askew}}).check(), "combinations")
	require.Error(t, (&Posterior{Prior: priorMark, Combinations: []Combination{{Weights: []float64{1}, SD: 1}}}).check())
}

// TestSurpriseByHand: two records, two studios of equal weight.
func TestSurpriseByHand(t *testing.T) {
	c := &cloud{z: make([][studioDims]float64, 2)}
	one := &trial{chances: []chances{{0.9, 0.1}, {0.5, 0.5}}, seen: 1}
	two := &trial{chances: []chances{{0.8, 0.2}, {0.4, 0.6}}, seen: 0}
	s := c.surprise([]*trial{one, two})
	require.InDelta(t, 0.3, s.alone[0], 1e-12)
	require.InDelta(t, 1, s.alone[1], 1e-12)
	joint := (0.1*0.8 + 0.5*0.4) / 2
	require.InDelta(t, joint/0.6, s.others[0], 1e-12)
	require.InDelta(t, joint/0.3, s.others[1], 1e-12)
	// Pairs by chance: 00 0.46, 11 0.16, 10 0.14, 01 0.24; ours is the rarest.
	require.InDelta(t, joint, s.all, 0.02)
	require.True(t, s.agrees())
	s.all = 0.009
	require.False(t, s.agrees())
	s.all, s.others[1] = 1, 0.0049 // a hundredth over two records
	require.False(t, s.agrees())
}

// TestIntervalsCover draws studios from the prior, lets each pour eight pieces
// and strips with its scatter from pour to pour, calibrates, and counts how
// often what it is lies inside the 90 % intervals. CALIBRATE_STUDIOS sets how
// many studios; 1,000 are asked for 88 to 92 %, which is two standard errors of
// a share of 90 %; fewer are held to three standard errors, and 12 by default
// tell a gross mistake only. The cloud is the same for all studios, so each
// record is followed once in it.
func TestIntervalsCover(t *testing.T) {
	if testing.Short() {
		t.Skip("many pours")
	}
	count := 12
	if s := os.Getenv("CALIBRATE_STUDIOS"); s != "" {
		var err error
		count, err = strconv.Atoi(s)
		require.NoError(t, err)
	}
	pieces := []In{bangle(2, "lying"), thinned(1, "standing"), bangle(1.4, "lying"), thinned(1.2, "lying")}
	strips := []PouredStrip{strip(0.8, 1), strip(1.2, 1), strip(1.8, 1)}
	c := newCloud(nil, pastStudios, pastPours)
	inside, loud := [unknowns]int{}, 0
	bits := 0.0
	g := newGame(t, c, pieces, strips)
	for n := range count {
		r := rand.New(rand.NewPCG(uint64(n), 1))
		truth := g.play(r)
		for i := range c.weight {
			c.weight[i] = 1
		}
		for _, k := range g.trials {
			c.take(k)
		}
		s := c.surprise(g.trials)
		if !s.agrees() {
			loud++
		}
		p, b := compress(c.z, c.weight)
		bits += b
		after := p.held()
		for k := range unknowns {
			in := after.interval(k)
			if v := values(truth)[k]; v >= in.Low && v <= in.High {
				inside[k]++
			}
		}
	}
	total := 0
	for k, n := range inside {
		t.Logf("%-50s %5.1f %%", unknownTable[k].Name, 100*float64(n)/float64(count))
		total += n
	}
	share := 100 * float64(total) / float64(count*unknowns)
	t.Logf("%d studios, %.2f bits each: 90 %% intervals cover %.1f %%; %.1f %% were called doubtful", count, bits/float64(count), share, 100*float64(loud)/float64(count))
	within := 2.0
	if count < 1000 {
		within = 300 * math.Sqrt(0.9*0.1/float64(count))
	}
	require.InDelta(t, 90, share, within)
}

// game is synthetic studios that pour the same pieces.
type game struct {
	t      *testing.T
	jobs   []*job
	strip  []bool
	cloud  *cloud
	trials []*trial
	w      *run
}

// newGame follows every piece once in the cloud and keeps what the likelihood
// of any outcome needs.
func newGame(t *testing.T, c *cloud, pieces []In, strips []PouredStrip) *game {
	g := &game{t: t, cloud: c, w: new(run)}
	for _, s := range strips {
		pieces = append(pieces, s.input())
	}
	for k, in := range pieces {
		j, err := prepare(t.Context(), in)
		require.NoError(t, err)
		isStrip := k >= len(pieces)-len(strips)
		read := func(w *run, o *outcome) reading {
			if isStrip {
				return w.strip(o, 0)
			}
			return reading{chances: j.piece(o)}
		}
		tr, err := c.follow(t.Context(), j, k, read)
		require.NoError(t, err)
		g.jobs, g.strip, g.trials = append(g.jobs, j), append(g.strip, isStrip), append(g.trials, tr)
	}
	return g
}

// play draws a studio and its pours, and leaves their outcomes in the trials.
func (g *game) play(r *rand.Rand) [unknowns]float64 {
	var z [studioDims]float64
	for k := range z {
		z[k] = max(-3, min(3, r.NormFloat64()))
	}
	for k, j := range g.jobs {
		s := j.studioOf(&z)
		var u [pourDims]float64
		for d := range u {
			u[d] = r.Float64()
		}
		g.w.follow(j, j.pour(s, u[:]))
		o := g.w.judge(nil)
		p := j.piece(&o)
		if g.strip[k] {
			p = g.w.strip(&o, 0).chances
		}
		tr := g.trials[k]
		tr.seen = p.at(r.Float64())
		for i := range tr.likely {
			n := 1.0 + short
			if g.strip[k] {
				n = classes
			}
			tr.likely[i] = doubt/n + (1-doubt)*tr.chances[i][tr.seen]
		}
	}
	return prior.at(z[:unknowns])
}

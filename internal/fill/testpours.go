package fill

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/safety"
	"pourwright/internal/verdict"
)

// TestPoursIn asks which test pours teach most for a planned piece.
type TestPoursIn struct {
	In
	TestPours int `json:"test_pours" minimum:"1" maximum:"3" default:"2" doc:"How many test pours you would make at most"`
}

// TestPoursOut is a plan of test pours.
type TestPoursOut struct {
	Chance                    // of the planned piece, before any test pour
	Level       verdict.Level `json:"fill_verdict" enum:"go,care,cannot_tell,not_yet,do_not_pour" doc:"Of the planned piece's filling, before any test pour"`
	Plan        []TestPour    `json:"plan" doc:"Test pours to make, the one that teaches most first; empty when none tells anything"`
	TogetherBit float64       `json:"together_bits" doc:"What they tell together of whether the planned pour fails, in bits, before their outcome is known"`
	MostBit     float64       `json:"most_bits" doc:"What knowing this clay and hand exactly would tell; the rest is chance from pour to pour"`
	Candidates  []Candidate   `json:"candidates" doc:"All that were considered, best first"`
	calc.Notes
}

// TestPour is a test strip, and what it would tell.
type TestPour struct {
	Do       string    `json:"do" doc:"What to pour, in words"`
	Strip    TestStrip `json:"strip" doc:"The record for calibrations: add reached_mm, and pour_time_s from a video, and send it under strips"`
	Former   FormerOf  `json:"former" doc:"What formers needs to make a solid of it"`
	MetalG   float64   `json:"metal_g" doc:"Metal to melt for it, sprue and button included; it goes back into the pot"`
	LostG    float64   `json:"lost_g" doc:"What melting it costs of that"`
	Bits     float64   `json:"bits" doc:"What it tells by itself, in bits"`
	Meanings []Meaning `json:"outcomes" doc:"What each outcome, by itself, would mean for the planned piece"`
	trial    *trial
}

// FormerOf is a request for formers.
type FormerOf struct {
	Kind          string  `json:"kind" enum:"wedge" doc:"Kind of former"`
	WedgeLengthMM float64 `json:"wedge_length_mm" doc:"Length"`
	WedgeWidthMM  float64 `json:"wedge_width_mm" doc:"Width"`
	WedgeFootMM   float64 `json:"wedge_foot_mm" doc:"Thickness at the sprue"`
	WedgeTipMM    float64 `json:"wedge_tip_mm" doc:"Thickness at the far end"`
}

// Meaning of an outcome.
type Meaning struct {
	Outcome        string        `json:"outcome" doc:"How far the metal ran"`
	FromMM         float64       `json:"from_mm" doc:"Least run of this outcome"`
	ToMM           float64       `json:"to_mm" doc:"Greatest run of this outcome"`
	ProbabilityPct float64       `json:"probability_pct" doc:"How likely it is"`
	Level          verdict.Level `json:"fill_verdict" enum:"go,care,cannot_tell,not_yet,do_not_pour" doc:"Of the planned piece's filling then"`
	Chance
}

// Candidate is a test strip that was considered.
type Candidate struct {
	What   string  `json:"what" doc:"In words"`
	Bits   float64 `json:"bits" doc:"What it tells by itself"`
	MetalG float64 `json:"metal_g" doc:"Metal to melt for it"`
}

// Of test pours. Our choice.
const (
	testStudios = 512
	testTrials  = 2
	pieceTrials = 4
	meltLoss    = 0.02 // of what is melted; practice, 1 to 3 %
	alikeShare  = 0.10 // gains within this of the best are alike, and the least metal decides
	alikeBits   = 0.01 // about what 512 studios leave to chance
	rareClass   = 0.015
)

// PlanTestPours chooses the test strips and wedges whose outcome is expected to
// tell most of whether the planned pour fails: the mutual information of the
// two, in bits, summed over all outcomes, over what is held of clay and hand.
// The second is chosen for what it adds to the first. Error: about 0.01 bit, by
// the number of studios. The errors are refusals.
func PlanTestPours(ctx context.Context, in TestPoursIn) (TestPoursOut, error) {
	if err := calc.InBounds(in); err != nil {
		return TestPoursOut{}, err
	}
	j, err := prepare(ctx, in.In)
	if err != nil {
		return TestPoursOut{}, err
	}
	l := lesson{job: j, cloud: newCloud(j.held, testStudios, testTrials)}
	if err := l.follow(ctx, j.candidates(), pieceTrials); err != nil {
		return TestPoursOut{}, err
	}
	out := TestPoursOut{Chance: l.chance(l.cloud.weight), MostBit: l.most(), Plan: []TestPour{}, Notes: calc.Noting(ctx)}
	out.Level = level(in.RiskLimitPct, out.Chance)
	l.choose(in.TestPours)
	var chosen []*trial
	for _, k := range l.chosen {
		t := &l.pours[k]
		t.Meanings = l.meanings(t)
		chosen = append(chosen, t.trial)
		out.Plan = append(out.Plan, *t)
	}
	out.TogetherBit = tidy(l.gain(chosen...))
	order := slices.Clone(l.pours)
	slices.SortStableFunc(order, func(a, b TestPour) int { return cmp.Compare(b.Bits, a.Bits) })
	out.Candidates = []Candidate{}
	for i := range order {
		out.Candidates = append(out.Candidates, Candidate{order[i].Strip.words(), tidy(order[i].Bits), order[i].MetalG})
	}
	out.note(j)
	return out, nil
}

// lesson is what test pours tell of a planned piece.
type lesson struct {
	job    *job
	cloud  *cloud
	piece  *trial
	pours  []TestPour
	chosen []int
}

// follow pours the piece and the candidates in every studio.
func (l *lesson) follow(ctx context.Context, candidates []TestStrip, pieceTrials int) (err error) {
	for i := range l.cloud.weight {
		l.cloud.weight[i] = 1 / float64(len(l.cloud.weight))
	}
	often := *l.cloud
	often.pours = pieceTrials
	if l.piece, err = often.follow(ctx, l.job, mostRecords, func(*run, *outcome) reading { return reading{} }); err != nil {
		return err
	}
	for i, s := range candidates {
		in := s.input()
		p := &l.job.in
		in.Clay, in.Scatter, in.SolidusC, in.LiquidusC, in.ScrapPct = p.Clay, p.Scatter, p.SolidusC, p.LiquidusC, p.ScrapPct
		j, err := prepare(ctx, in)
		if err != nil {
			return err
		}
		t := TestPour{Do: "Pour " + s.words() + ".", Strip: s, Former: s.former()}
		t.MetalG = math.Ceil(j.metal.Rho * j.poured * 1e3)
		t.LostG = tidy(meltLoss * t.MetalG)
		if t.trial, err = l.cloud.follow(ctx, j, i, func(w *run, o *outcome) reading { return w.strip(o, 0) }); err != nil {
			return err
		}
		t.Bits = l.gain(t.trial)
		l.pours = append(l.pours, t)
		calc.Progress(ctx, float64(i+1)/float64(len(candidates)), "following test pours")
	}
	return nil
}

// choose takes up to n test pours, each for what it adds to those before; of
// those that add about the same, the one with the least metal.
func (l *lesson) choose(n int) {
	var with []*trial
	known := 0.0
	for range n {
		gains := make([]float64, len(l.pours))
		best := 0.0
		for k := range l.pours {
			if !slices.Contains(l.chosen, k) {
				gains[k] = l.gain(append(slices.Clone(with), l.pours[k].trial)...) - known
				best = max(best, gains[k])
			}
		}
		if best < alikeBits {
			return
		}
		pick := -1
		for k, g := range gains {
			if g >= best-max(alikeBits, alikeShare*best) && g > 0 && (pick < 0 || l.pours[k].MetalG < l.pours[pick].MetalG) {
				pick = k
			}
		}
		l.chosen = append(l.chosen, pick)
		with = append(with, l.pours[pick].trial)
		known += gains[pick]
	}
}

// cheapest names the test pour that tells most for its metal, from a few
// studios: enough to tell strips apart where nothing is known of the piece.
func (j *job) cheapest(ctx context.Context) (string, error) {
	const few = 128
	l := lesson{job: j, cloud: newCloud(j.held, few, 1)}
	if err := l.follow(ctx, j.candidates(), 1); err != nil {
		return "", err
	}
	l.choose(1)
	if len(l.chosen) == 0 {
		return "", nil
	}
	t := &l.pours[l.chosen[0]]
	return fmt.Sprintf("%s first (%.0f g, which go back into the pot) and give calibrations how far it ran; test-pours says what each outcome means. ", strings.TrimSuffix(t.Do, "."), t.MetalG), nil
}

// gain is the mutual information in bits of the outcomes of trials and of the
// failure of the piece, summed over all outcomes together.
func (l *lesson) gain(trials ...*trial) float64 {
	before, fails := l.failing(l.cloud.weight)
	left := 0.0
	var split func(weight []float64, rest []*trial)
	split = func(weight []float64, rest []*trial) {
		if len(rest) == 0 {
			total, fails := l.failing(weight)
			if total > 0 {
				left += total * entropy(fails/total)
			}
			return
		}
		for k := range classes {
			part := make([]float64, len(weight))
			for i, w := range weight {
				part[i] = w * rest[0].chances[i][k]
			}
			split(part, rest[1:])
		}
	}
	split(l.cloud.weight, trials)
	return max(0, before*entropy(fails/before)-left)
}

// failing is the weight of all studios, and that of their failing pours.
func (l *lesson) failing(weight []float64) (total, fails float64) {
	other := l.job.other()
	for i, w := range weight {
		total += w
		fails += w * (1 - (1-l.piece.spoilt[i])*(1-other))
	}
	return total, fails
}

// most is what knowing the studio exactly would tell. The few pours of each
// studio make its failures look surer than they are: E h(p + e) falls short of
// E h(p) by the variance of e over 2 p (1 − p) ln 2, which is made up for.
func (l *lesson) most() float64 {
	total, fails := l.failing(l.cloud.weight)
	left := 0.0
	for i, w := range l.cloud.weight {
		p := l.piece.spoilt[i]
		p = 1 - (1-p)*(1-l.job.other())
		h := entropy(p)
		if v := l.piece.within[i]; v > 0 {
			h = min(1, h+v/(2*math.Ln2*max(0.05, p*(1-p))))
		}
		left += w * h
	}
	return tidy(max(0, entropy(fails/total)-left))
}

// entropy of a chance, bits.
func entropy(p float64) float64 {
	if p <= 0 || p >= 1 {
		return 0
	}
	return -(p*math.Log2(p) + (1-p)*math.Log2(1-p))
}

// chance of the planned piece over weighted studios.
func (l *lesson) chance(weight []float64) Chance {
	mean := expect(l.piece.spoilt, weight)
	square := make([]float64, len(weight)) // between studios: that of their few pours taken off
	for i, p := range l.piece.spoilt {
		square[i] = sq(p-mean) - l.piece.within[i]
	}
	return chanceOf(bandOf(mean, expect(square, weight), l.job.other(), 3/float64(len(weight)*pieceTrials)))
}

// meanings of the outcomes of one test pour, from the shortest run.
func (l *lesson) meanings(t *TestPour) []Meaning {
	out := []Meaning{}
	for n := range classes {
		k := (n + 1) % classes // full comes last
		weight := make([]float64, len(l.cloud.weight))
		p := 0.0
		for i, w := range l.cloud.weight {
			weight[i] = w * t.trial.chances[i][k]
			p += weight[i]
		}
		if p < rareClass {
			continue
		}
		m := Meaning{ProbabilityPct: math.Round(100 * p), Chance: l.chance(weight)}
		m.Level = level(l.job.in.RiskLimitPct, m.Chance)
		step := t.Strip.LengthMM / reachClasses
		m.FromMM, m.ToMM = math.Round(float64(k-1)*step), math.Round(float64(k)*step)
		m.Outcome = fmt.Sprintf("stops between %.0f and %.0f mm", m.FromMM, m.ToMM)
		if k == full {
			m.FromMM, m.ToMM, m.Outcome = t.Strip.LengthMM, t.Strip.LengthMM, "runs full"
		}
		out = append(out, m)
	}
	return out
}

func (o *TestPoursOut) note(j *job) {
	o.Step("information that the clay and the hand hold of this piece", o.MostBit, "bit", "mutual information of the studio and of the failure of one pour, %d studios", testStudios)
	o.Step("information of the plan", o.TogetherBit, "bit", "sum over all outcomes of P(outcome) × (entropy before − entropy after)")
	for i := range o.Plan {
		o.Plan[i].Bits = tidy(o.Plan[i].Bits)
	}
	o.Cite(sources...)
	o.Cite(srcInformation, srcMeltLoss)
	o.Caution(safety.MoltenMetal, safety.DampMould, safety.HotMould, safety.OilSmoke)
	o.Caution(j.alloy.Cautions()...)
	if len(o.Plan) == 0 {
		o.Warn("nothing_to_learn", calc.Note, "No test strip tells more than %.2g bit of this piece: pour it as it is, or change it.", alikeBits)
	}
	o.Warn("same_conditions", calc.Care, "Pour the test as you will pour the piece: the same clay, dressing, metal, heat and hand. A clay of another day is another clay.")
}

// tidy is a figure to three digits after the point.
func tidy(v float64) float64 { return math.Round(1e3*v) / 1e3 }

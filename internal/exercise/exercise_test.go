package exercise

import (
	"context"
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/melt"
	"pourwright/internal/schema"
)

func all(t *testing.T) []string {
	names := schema.For[In]().Field("topic").Enum
	require.Len(t, topics, len(names), "every topic is offered")
	return names
}

func ask(t *testing.T, topic string, seed int, answer *float64, show bool) Out {
	in := calc.Default[In]()
	in.Topic, in.Seed, in.Answer, in.Show = topic, seed, answer, show
	out, err := Case(context.Background(), in)
	require.NoError(t, err, "%s %d", topic, seed)
	return out
}

func TestEveryTopicPosesHidesAndMarks(t *testing.T) {
	for _, topic := range all(t) {
		questions := map[string]bool{}
		for seed := range 60 {
			hidden := ask(t, topic, seed, nil, false)
			require.Nil(t, hidden.Answer)
			require.Empty(t, hidden.Working, "the working would give the answer away")
			require.Equal(t, hidden, ask(t, topic, seed, nil, false), "same number, same case")
			shown := ask(t, topic, seed, nil, true)
			require.NotNil(t, shown.Answer)
			require.NotEmpty(t, shown.Working)
			require.Greater(t, *shown.Answer, 0.0)
			require.Greater(t, shown.Tolerance, 0.0)
			require.Less(t, shown.Tolerance, 0.1*math.Abs(*shown.Answer), "%s %d", topic, seed)
			var figures []string
			for _, g := range hidden.Given {
				figures = append(figures, g.Name, g.Text, fmt.Sprint(g.Value))
			}
			for _, g := range hidden.Given {
				require.Contains(t, hidden.Handout, g.Name+": "+g.Text)
			}
			questions[strings.Join(figures, "|")] = true

			near, far := *shown.Answer+0.9*shown.Tolerance, *shown.Answer-1.1*shown.Tolerance
			require.Equal(t, "right", ask(t, topic, seed, &near, false).Verdict)
			wrong := ask(t, topic, seed, &far, false)
			require.Equal(t, "wrong", wrong.Verdict)
			require.Nil(t, wrong.Answer)
		}
		require.Greater(t, len(questions), 30, "%s: the number changes the figures", topic)
	}
}

// By hand, from the figures that the cases give: the answers are those of
// the definitions, not of the calculations.
func TestAnswersByHand(t *testing.T) {
	byHand := map[string]func(g []Given) float64{
		"bangle_size":      func(g []Given) float64 { return (g[0].Value + g[1].Value) / math.Pi },
		"mould_size":       func(g []Given) float64 { return (g[0].Value - 2*g[1].Value) * (1 + g[2].Value/100) },
		"casting_from_wax": func(g []Given) float64 { return g[0].Value / g[1].Value * g[3].Value },
		"metal_to_melt": func(g []Given) float64 {
			return (g[0].Value/1000*g[1].Value*(1+g[2].Value/100) + g[3].Value) / (1 - g[4].Value/100)
		},
		"raise_fineness": func(g []Given) float64 {
			return g[0].Value * (g[2].Value - g[1].Value) / (g[3].Value - g[2].Value)
		},
		"torch_time": func(g []Given) float64 {
			return (g[0].Value + g[1].Value + g[2].Value) / (g[3].Value * g[4].Value / 100) / 60
		},
		"price_by_margin": func(g []Given) float64 {
			return g[0].Value / 60 * g[1].Value / (1 - g[2].Value/100) * (1 + g[3].Value/100)
		},
	}
	for topic, f := range byHand {
		for seed := range 60 {
			out := ask(t, topic, seed, nil, true)
			require.InDelta(t, f(out.Given), *out.Answer, out.Tolerance, "%s %d", topic, seed)
		}
	}
}

func TestUnknownTopicsAreRefused(t *testing.T) {
	_, err := Case(context.Background(), In{Topic: "no"})
	require.ErrorContains(t, err, "topic")
}

// The figures are those of a studio, and round: between the least and the most
// that the case may draw, both of which come up, in whole steps. Our choice.
func TestFiguresOfTheCases(t *testing.T) {
	if testing.Short() {
		t.Skip("works every case out")
	}
	figures := []struct {
		topic       string
		given       int
		lo, hi, per float64
	}{
		{"bangle_size", 0, 180, 230, 1}, {"bangle_size", 1, 0, 6, 1},
		{"mould_size", 0, 54, 70, 0.5}, {"mould_size", 1, 0.05, 0.3, 0.05}, {"mould_size", 2, 1.2, 2.2, 0.1},
		{"casting_from_wax", 0, 0.8, 6, 0.05}, {"casting_from_wax", 1, 0.92, 1.02, 0.01},
		{"metal_to_melt", 0, 1500, 6000, 50}, {"metal_to_melt", 2, 40, 120, 5}, {"metal_to_melt", 3, 5, 20, 1}, {"metal_to_melt", 4, 0.5, 3, 0.5},
		{"raise_fineness", 0, 20, 120, 1}, {"raise_fineness", 1, 800, 915, 5},
		{"torch_time", 3, 4, 8, 0.5}, {"torch_time", 4, 8, 20, 1},
		{"stone_mass", 1, 1.5, 7, 0.1},
		{"price_by_margin", 0, 120, 480, 15}, {"price_by_margin", 1, 30, 60, 1}, {"price_by_margin", 2, 15, 50, 5},
	}
	drawn := map[string][]Out{}
	for _, f := range figures {
		if drawn[f.topic] == nil {
			for seed := range 1500 {
				drawn[f.topic] = append(drawn[f.topic], ask(t, f.topic, seed, nil, false))
			}
		}
		least, most := math.Inf(1), math.Inf(-1)
		for _, out := range drawn[f.topic] {
			v := out.Given[f.given].Value
			steps := (v - f.lo) / f.per
			require.InDelta(t, math.Round(steps), steps, 1e-6, "%s: %s %g", f.topic, out.Given[f.given].Name, v)
			least, most = min(least, v), max(most, v)
		}
		require.InDelta(t, f.lo, least, 1e-9, "%s %d", f.topic, f.given)
		require.InDelta(t, f.hi, most, 1e-9, "%s %d", f.topic, f.given)
	}
}

// What counts as right is the percentage that is given of the answer.
func TestOwnTolerance(t *testing.T) {
	in := calc.Default[In]()
	in.Topic = "bangle_size"
	in.Show = true
	pct := 5.0
	in.TolerancePct = &pct
	out, err := Case(context.Background(), in)
	require.NoError(t, err)
	require.InDelta(t, 0.05**out.Answer, out.Tolerance, 1e-9)
}

// What a careful student loses by rounding on the way: our choice for each topic,
// in the unit of the answer or as a share of it.
func TestTolerances(t *testing.T) {
	of := map[string]func(answer float64) float64{
		"ring_size": func(float64) float64 { return 0.05 }, "bangle_size": func(float64) float64 { return 0.1 },
		"mould_size": func(float64) float64 { return 0.03 }, "casting_from_wax": func(a float64) float64 { return 0.005 * a },
		"metal_to_melt": func(a float64) float64 { return 0.005 * a }, "raise_fineness": func(a float64) float64 { return math.Max(0.01, 0.003*a) },
		"torch_time": func(a float64) float64 { return 0.01 * a }, "stone_mass": func(a float64) float64 { return 0.04 * a },
		"price_by_margin": func(float64) float64 { return 0.02 },
	}
	for _, topic := range all(t) {
		for seed := range 200 {
			out := ask(t, topic, seed, nil, true)
			require.InEpsilon(t, of[topic](*out.Answer), out.Tolerance, 1e-9, topic)
		}
	}
}

// Ring sizes are those that people wear, in steps of their scale.
func TestRingSizesOfTheCases(t *testing.T) {
	scales := map[string]struct{ lo, hi, per float64 }{
		"US and Canada": {3, 12, 0.25}, "Japan": {4, 24, 1}, "circumference, ISO 8653": {44, 68, 1},
	}
	least, most := map[string]float64{}, map[string]float64{}
	letters := map[string]bool{}
	for seed := range 3000 {
		g := ask(t, "ring_size", seed, nil, false).Given
		system, size := g[0].Text, g[1].Text
		s, ok := scales[system]
		if !ok {
			require.Equal(t, "UK and Ireland", system)
			require.Regexp(t, `^[F-T]½?$`, size)
			letters[size] = true
			continue
		}
		v, err := strconv.ParseFloat(size, 64)
		require.NoError(t, err)
		require.InDelta(t, math.Round((v-s.lo)/s.per), (v-s.lo)/s.per, 1e-9, size)
		if l, seen := least[system]; !seen || v < l {
			least[system] = v
		}
		most[system] = max(most[system], v)
	}
	require.Len(t, letters, 30)
	for system, s := range scales {
		require.InDelta(t, s.lo, least[system], 1e-9, system)
		require.InDelta(t, s.hi, most[system], 1e-9, system)
	}
}

// The castings of torch_time are of 2 to 8 cm³ in steps of 0.1: the heat that
// the metal takes up, given to 0.01 kJ, is that of one of them, and all come up.
func TestMeltsOfTorchTime(t *testing.T) {
	heat := func(volume float64) float64 {
		in := calc.Default[melt.In]()
		in.Alloy, in.VolumeMM3 = "silver-925", volume
		out, err := melt.Plan(t.Context(), in)
		require.NoError(t, err)
		return out.HeatKJ
	}
	const rounding = 0.0051
	drawn := map[int]bool{}
	for seed := range 1500 {
		h := ask(t, "torch_time", seed, nil, false).Given[0].Value
		k := sort.Search(60, func(k int) bool { return heat(2000+100*float64(k)) > h-rounding })
		require.InDelta(t, heat(2000+100*float64(k)), h, rounding)
		drawn[k] = true
	}
	require.Len(t, drawn, 61)
}

package exercise

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
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
// the definitions, not of the rooms.
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

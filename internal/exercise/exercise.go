// Package exercise makes cases for a class: a question with invented figures,
// the same for everyone who has the same number, whose answer comes from the
// calculation that answers the maker.
package exercise

import (
	"context"
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"strings"

	"pourwright/internal/calc"
)

// In asks for a case, or for an answer to be checked.
type In struct {
	Topic        string   `json:"topic" enum:"ring_size,bangle_size,mould_size,casting_from_wax,metal_to_melt,raise_fineness,torch_time,stone_mass,price_by_margin" doc:"What to practise" example:"mould_size"`
	Seed         int      `json:"seed" minimum:"0" maximum:"999999" default:"1" doc:"Number of the case: the same number gives the same figures"`
	Answer       *float64 `json:"answer,omitempty" minimum:"-1000000" maximum:"10000000" doc:"The student's answer, in the unit of the question"`
	TolerancePct *float64 `json:"tolerance_pct,omitempty" minimum:"0.001" maximum:"50" doc:"How far off an answer may be to count as right, percent; the topic's own if absent"`
	Show         bool     `json:"show" default:"false" doc:"Whether to show the answer and its working"`
}

// Out is a case. The answer and its working are shown on request, and
// to a right answer.
type Out struct {
	Question  string   `json:"question" doc:"The question in words"`
	Handout   string   `json:"handout" doc:"The question with its figures in one text, for paper or a spreadsheet"`
	Given     []Given  `json:"given" doc:"The figures it gives, invented"`
	Unit      string   `json:"unit" doc:"Unit of the answer"`
	Tolerance float64  `json:"tolerance" doc:"How far off an answer may be, in that unit"`
	Verdict   string   `json:"verdict" enum:"not_given,right,wrong" doc:"Of the answer that was given"`
	Hint      string   `json:"hint" doc:"Where to begin"`
	Answer    *float64 `json:"answer,omitempty" doc:"The answer, where it is shown"`
	Endpoint  string   `json:"endpoint" doc:"The calculation that answers it"`
	calc.Notes
}

// Given is a figure of a question.
type Given struct {
	Name  string  `json:"name" doc:"What it is"`
	Value float64 `json:"value,omitempty,omitzero" doc:"Its value; absent where it is a text"`
	Text  string  `json:"text,omitempty" doc:"Its text, where it is not a number"`
	Unit  string  `json:"unit" doc:"Its unit; empty for a pure number or a text"`
}

// posed is a case with its answer.
type posed struct {
	question, unit, hint, endpoint string
	given                          []Given
	answer                         float64
	tolerance                      float64 // in the unit of the answer
	notes                          calc.Notes
}

var srcCase = calc.Source{For: "figures of the case", Text: "invented, drawn by the number of the case from the PCG generator", Status: calc.Choice}

// Case poses a case and checks an answer to it. The figures are drawn from a
// generator that the topic and the seed fix: the same on every machine.
func Case(ctx context.Context, in In) (Out, error) {
	var checks calc.Checks
	checks.Bounds(in)
	if err := checks.Err(); err != nil {
		return Out{}, err
	}
	h := fnv.New64a()
	_, _ = h.Write([]byte(in.Topic))
	p, err := topics[in.Topic](ctx, dice{rand.New(rand.NewPCG(uint64(in.Seed), h.Sum64()))})
	if err != nil {
		return Out{}, fmt.Errorf("case %d of %s: %w", in.Seed, in.Topic, err)
	}
	if in.TolerancePct != nil {
		p.tolerance = *in.TolerancePct / 100 * math.Abs(p.answer)
	}
	out := Out{Question: p.question, Given: p.given, Unit: p.unit, Tolerance: p.tolerance, Verdict: "not_given", Hint: p.hint, Endpoint: p.endpoint, Notes: calc.Noting(ctx)}
	out.Handout = handout(p)
	out.Cite(srcCase)
	if in.Answer != nil {
		out.Verdict = "wrong"
		if math.Abs(*in.Answer-p.answer) <= p.tolerance {
			out.Verdict = "right"
		}
	}
	if in.Show || out.Verdict == "right" {
		out.Answer = &p.answer
		out.Adopt("", p.notes)
	}
	return out, nil
}

// handout is the question with its figures.
func handout(p posed) string {
	figures := make([]string, len(p.given))
	for i, g := range p.given {
		value := g.Text
		if value == "" {
			value = strings.TrimSpace(fmt.Sprintf("%.7g %s", g.Value, g.Unit))
		}
		figures[i] = g.Name + ": " + value
	}
	return fmt.Sprintf("%s %s. Answer in %s.", p.question, strings.Join(figures, "; "), p.unit)
}

// dice draws the figures of a case.
type dice struct{ *rand.Rand }

// between draws a round figure: lo and a whole number of steps.
func (d dice) between(lo, hi, step float64) float64 {
	n := int(math.Round((hi-lo)/step)) + 1
	return math.Round((lo+step*float64(d.IntN(n)))*1e6) / 1e6
}

func pick[T any](d dice, of ...T) T { return of[d.IntN(len(of))] }

func given(name string, value float64, unit string) Given {
	return Given{Name: name, Value: value, Unit: unit}
}

func text(name, value string) Given { return Given{Name: name, Text: value} }

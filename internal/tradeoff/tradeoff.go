// Package tradeoff weighs minutes in the clay against minutes at the bench.
package tradeoff

import (
	"context"
	"fmt"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/safety"
)

// In is work that can be done in the clay or put off to the bench.
type In struct {
	ClayRate      float64 `json:"clay_hourly_rate" minimum:"0" maximum:"1000000000" doc:"Price of an hour at the mould" example:"38"`
	BenchRate     float64 `json:"bench_hourly_rate" minimum:"0" maximum:"1000000000" doc:"Price of an hour at the bench; a setter's may be another" example:"38"`
	FailurePct    float64 `json:"failure_pct" minimum:"0" maximum:"95" default:"0" doc:"Probability that the pour fails, as fills gives it: then the clay's work is done again, the bench's is not" example:"12"`
	FileMM3PerMin float64 `json:"file_mm3_per_min" minimum:"0.1" maximum:"10000" default:"25" doc:"Metal that you file off in a minute; weigh the filings of ten minutes (1 g of sterling is about 97 mm³)"`
	Tasks         []Task  `json:"tasks" minItems:"1" maxItems:"40" doc:"The pieces of work"`
}

// Task is one piece of work.
type Task struct {
	What      string   `json:"what" enum:"clean_walls,blend_cut,press_stones,sharp_detail,other" doc:"clean_walls: smoothing the walls of the impression; blend_cut: closing and blending a cut-out; press_stones: pressing stones to an exact depth; sharp_detail: going over the ornament" example:"blend_cut"`
	Label     string   `json:"label,omitempty" maxLength:"80" doc:"What you call it"`
	ClayMin   float64  `json:"clay_min" minimum:"0" maximum:"10000" doc:"Minutes in the clay" example:"8"`
	BenchMin  *float64 `json:"bench_min,omitempty" minimum:"0" maximum:"10000" doc:"Minutes at the bench that it saves; or give what is to be filed off" example:"15"`
	LengthMM  float64  `json:"length_mm,omitempty" minimum:"0" maximum:"10000" doc:"Length of the seam or wall that would be filed, joints all together" example:"22"`
	WidthMM   float64  `json:"width_mm,omitempty" minimum:"0" maximum:"500" doc:"Width that would be filed to level it" example:"8"`
	StepMM    float64  `json:"step_mm,omitempty" minimum:"0" maximum:"10" doc:"Height of the step or roughness; it slopes away, so half of it counts" example:"0.4"`
	SpreadPct float64  `json:"spread_pct" minimum:"0" maximum:"90" default:"30" doc:"How far either time may be off, percent"`
}

// Out is what is cheaper, and on what it hangs.
type Out struct {
	Cheaper   string  `json:"cheaper" enum:"clay,bench,cannot_tell" doc:"For all the work together"`
	ClayCost  float64 `json:"clay_cost" doc:"All of it in the clay, with the failed pours to expect"`
	BenchCost float64 `json:"bench_cost" doc:"All of it at the bench"`
	BestCost  float64 `json:"best_cost" doc:"Each piece of work where it is cheaper"`
	Summary   string  `json:"summary" doc:"In words"`
	Tasks     []For   `json:"tasks" doc:"One for each piece of work, in the order given"`
	calc.Notes
}

// For is the answer for one piece of work.
type For struct {
	Label       string   `json:"label" doc:"As given, or what it is"`
	Cheaper     string   `json:"cheaper" enum:"clay,bench,cannot_tell" doc:"clay: also if clay takes longest and the bench least; bench: the reverse; cannot_tell: between the two"`
	ClayMin     float64  `json:"clay_min" doc:"Minutes in the clay to expect until a pour succeeds: clay_min / (1 − p)"`
	BenchMin    float64  `json:"bench_min" doc:"Minutes at the bench"`
	ClayCost    float64  `json:"clay_cost" doc:"Their price in the clay"`
	BenchCost   float64  `json:"bench_cost" doc:"Their price at the bench"`
	EvenClayMin float64  `json:"break_even_clay_min" doc:"Minutes in the clay for one mould at which both cost the same"`
	EvenRisk    *float64 `json:"break_even_failure_pct,omitempty" doc:"Probability of a failed pour above which the bench is cheaper; absent where the bench is cheaper at any"`
	DependsOn   string   `json:"depends_on" doc:"What would change the answer"`
}

var (
	srcRepeat = calc.Source{For: "work in the clay is repeated 1/(1−p) times", Text: "mean number of tries until one succeeds, geometric distribution; e.g. W. Feller, An Introduction to Probability Theory, vol. 1, ch. VI.8", Status: calc.FromMemory}
	srcFiling = calc.Source{For: "25 mm³ filed in a minute", Text: "a guess for a hand file on silver; weigh your own filings", Status: calc.Choice}
	srcRates  = calc.Source{For: "rates and minutes", Text: "the request", Status: calc.YourInput}
)

var names = map[string]string{"clean_walls": "clean walls", "blend_cut": "blending the cut", "press_stones": "pressing stones exactly", "sharp_detail": "sharp detail", "other": "other work"}

// Weigh answers which is cheaper. What both have in common is left out; so are
// the stones and the metal that a torn impression may cost. Errors are refusals.
func Weigh(ctx context.Context, in In) (Out, error) {
	var c calc.Checks
	c.Bounds(in)
	for i := range in.Tasks {
		c.Under(fmt.Sprintf("tasks[%d]", i), in.Tasks[i].check())
	}
	if len(in.Tasks) == 0 {
		c.Refuse("tasks", nil, "give at least one piece of work")
	}
	if err := c.Err(); err != nil {
		return Out{}, err
	}
	out := Out{Tasks: []For{}, Notes: calc.Noting(ctx)}
	surest, longest, least := 0.0, 0.0, 0.0 // clay at its longest less bench at its least, and the reverse
	for i := range in.Tasks {
		t := &in.Tasks[i]
		f := in.weigh(t, &out.Notes)
		out.ClayCost += f.ClayCost
		out.BenchCost += f.BenchCost
		out.BestCost += math.Min(f.ClayCost, f.BenchCost)
		s := t.SpreadPct / 100
		longest += (1+s)*f.ClayCost - (1-s)*f.BenchCost
		least += (1-s)*f.ClayCost - (1+s)*f.BenchCost
		surest += f.BenchCost - f.ClayCost
		out.Tasks = append(out.Tasks, f)
	}
	out.Cheaper = judge(longest, least)
	out.Step("clay against bench", surest, "money", "Σ bench − Σ clay; positive: the clay is cheaper")
	switch out.Cheaper {
	case "clay":
		out.Summary = fmt.Sprintf("Do it in the clay: about %.2f cheaper in all, whichever way the times err.", surest)
	case "bench":
		out.Summary = fmt.Sprintf("Leave it to the bench: about %.2f cheaper in all, whichever way the times err.", -surest)
	default:
		out.Summary = fmt.Sprintf("The times given do not decide it in all; at their middle the difference is %.2f. Time a few of your own.", math.Abs(surest))
	}
	if out.BestCost < math.Min(out.ClayCost, out.BenchCost)-0.005 {
		out.Summary += fmt.Sprintf(" Cheapest is each where it belongs: %.2f.", out.BestCost)
	}
	out.Cite(srcRepeat, srcFiling, srcRates)
	out.Caution(safety.DampMould)
	out.Warn("torn_clay", calc.Care, "Each touch of an impression can tear it. Work in the clay with dry tools; loose clay washes into the casting: blow it out before the flask is closed.")
	return out, nil
}

func (t *Task) check() error {
	var c calc.Checks
	c.Bounds(*t)
	measured := t.LengthMM > 0 && t.WidthMM > 0 && t.StepMM > 0
	if (t.BenchMin != nil) == measured {
		c.Refuse("bench_min", nil, "give bench_min, or all of length_mm, width_mm and step_mm")
	}
	return c.Err()
}

func (in *In) weigh(t *Task, n *calc.Notes) For {
	f := For{Label: t.Label}
	if f.Label == "" {
		f.Label = names[t.What]
	}
	p := in.FailurePct / 100
	f.ClayMin = t.ClayMin / (1 - p)
	if t.BenchMin != nil {
		f.BenchMin = *t.BenchMin
	} else {
		f.BenchMin = t.LengthMM * t.WidthMM * t.StepMM / 2 / in.FileMM3PerMin
		n.Step("filing, "+f.Label, f.BenchMin, "min", "%.4g × %.4g × %.3g mm / 2 / %.4g mm³/min", t.LengthMM, t.WidthMM, t.StepMM, in.FileMM3PerMin)
	}
	f.ClayCost, f.BenchCost = f.ClayMin/60*in.ClayRate, f.BenchMin/60*in.BenchRate
	n.Step("in the clay, "+f.Label, f.ClayCost, "money", "%.4g min / (1 − %.3g) × %.4g an hour", t.ClayMin, p, in.ClayRate)
	n.Step("at the bench, "+f.Label, f.BenchCost, "money", "%.4g min × %.4g an hour", f.BenchMin, in.BenchRate)
	s := t.SpreadPct / 100
	f.Cheaper = judge((1+s)*f.ClayCost-(1-s)*f.BenchCost, (1-s)*f.ClayCost-(1+s)*f.BenchCost)
	in.turns(t, &f)
	return f
}

// judge decides by the difference clay − bench at its greatest and its least.
func judge(greatest, least float64) string {
	switch {
	case greatest < 0:
		return "clay"
	case least > 0:
		return "bench"
	}
	return "cannot_tell"
}

// turns says what would turn the answer: the minutes in the clay, and the risk.
func (in *In) turns(t *Task, f *For) {
	clay := t.ClayMin / 60 * in.ClayRate // of one mould
	if in.ClayRate > 0 {
		f.EvenClayMin = f.BenchCost / in.ClayRate * 60 * (1 - in.FailurePct/100)
	}
	if clay > 0 && clay < f.BenchCost {
		risk := 100 * (1 - clay/f.BenchCost)
		f.EvenRisk = &risk
	}
	f.DependsOn = fmt.Sprintf("Even at %.1f min in the clay against %.1f at the bench", f.EvenClayMin, f.BenchMin)
	switch {
	case f.EvenRisk != nil:
		f.DependsOn += fmt.Sprintf("; or, at the times given, where %.0f %% of the pours fail (now %.0f %%).", *f.EvenRisk, in.FailurePct)
	case clay == 0:
		f.DependsOn += "; the clay costs nothing here."
	default:
		f.DependsOn += "; the bench is cheaper even if no pour fails."
	}
}

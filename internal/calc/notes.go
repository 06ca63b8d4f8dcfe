package calc

import (
	"context"
	"fmt"
	"slices"
)

// Status says how well a figure or formula stands.
type Status string

const (
	Confirmed  Status = "confirmed"   // read in the cited source
	Computed   Status = "computed"    // derived here from cited data, reproducible
	FromMemory Status = "from_memory" // the source is named from memory and was not read again
	Practice   Status = "practice"    // common practice of the trade, no source
	Choice     Status = "choice"      // an engineering choice of ours; set your own where you know better
	YourInput  Status = "your_input"  // the caller's own figure
)

// Source is where a constant or a formula comes from.
type Source struct {
	For    string `json:"for" doc:"The constant, formula or rule that the source stands behind" example:"density of sterling silver"`
	Text   string `json:"text" doc:"Author, title, year, table or page; or the reason for the choice"`
	Status Status `json:"status" enum:"confirmed,computed,from_memory,practice,choice,your_input" doc:"How well it stands: read in the source, computed from cited data, from memory, common practice of the trade without a source, our engineering choice, or your own figure"`
}

// Step is one line of working.
type Step struct {
	What       string  `json:"what" doc:"The quantity found" example:"casting mass"`
	Expression string  `json:"expression" doc:"How, with the numbers in it" example:"V × ρ = 2.45 cm³ × 10.36 g/cm³"`
	Value      float64 `json:"value" doc:"The result of the step" example:"25.38"`
	Unit       string  `json:"unit" doc:"Unit of the value; empty for a pure number" example:"g"`
}

// Severity of a caution.
type Severity string

const (
	Note   Severity = "note"   // worth knowing
	Care   Severity = "care"   // can spoil the work
	Danger Severity = "danger" // can hurt someone
)

// Caution is a warning that belongs to the answer.
type Caution struct {
	Code     string   `json:"code" doc:"Stable name of the caution" example:"damp_mould"`
	Severity Severity `json:"severity" enum:"note,care,danger" doc:"note: worth knowing; care: can spoil the work; danger: can hurt someone"`
	Text     string   `json:"text" doc:"The caution in plain words"`
}

// Notes accompany every answer: how it was found, what to beware of, and
// what it rests on. Embed it last in an output type.
type Notes struct {
	Working  []Step    `json:"working,omitempty" doc:"The steps of the calculation in order; left out when working=false"`
	Cautions []Caution `json:"cautions" doc:"What to beware of, worst first"`
	Sources  []Source  `json:"sources" doc:"What the constants and formulas rest on; empty when working=false"`
	silent   bool      // no steps
	brief    bool      // no sources
}

// Noting starts the notes of an answer. Steps are kept unless [Silent].
func Noting(ctx context.Context) Notes {
	_, silent := ctx.Value(silentKey{}).(bool)
	_, brief := ctx.Value(briefKey{}).(bool)
	return Notes{Cautions: []Caution{}, Sources: []Source{}, silent: silent, brief: brief}
}

type (
	silentKey struct{}
	briefKey  struct{}
)

// Brief returns a context in which calculations leave out their working and
// what it rests on: results and cautions are left.
func Brief(ctx context.Context) context.Context {
	return context.WithValue(Silent(ctx), briefKey{}, true)
}

// Silent returns a context in which calculations leave out their working.
func Silent(ctx context.Context) context.Context { return context.WithValue(ctx, silentKey{}, true) }

// Step records a step of working; format and args make its expression.
func (n *Notes) Step(what string, value float64, unit, format string, args ...any) {
	if n.silent {
		return
	}
	n.Working = append(n.Working, Step{what, fmt.Sprintf(format, args...), value, unit})
}

// Cite adds sources, each once.
func (n *Notes) Cite(sources ...Source) {
	if n.brief {
		return
	}
	for _, s := range sources {
		if !slices.Contains(n.Sources, s) {
			n.Sources = append(n.Sources, s)
		}
	}
}

// Caution adds cautions, each code and text once, worst first.
func (n *Notes) Caution(cautions ...Caution) {
	for _, c := range cautions {
		if slices.Contains(n.Cautions, c) {
			continue
		}
		at := len(n.Cautions)
		for at > 0 && rank(n.Cautions[at-1].Severity) < rank(c.Severity) {
			at--
		}
		n.Cautions = slices.Insert(n.Cautions, at, c)
	}
}

// Warn adds a caution of the given code, in formatted words.
func (n *Notes) Warn(code string, severity Severity, format string, args ...any) {
	n.Caution(Caution{code, severity, fmt.Sprintf(format, args...)})
}

// Adopt takes over the notes of a calculation that this one is composed of;
// its steps are named under the given heading.
func (n *Notes) Adopt(heading string, from Notes) {
	for _, s := range from.Working {
		if heading != "" {
			s.What = heading + ": " + s.What
		}
		n.Working = append(n.Working, s)
	}
	n.Caution(from.Cautions...)
	n.Cite(from.Sources...)
}

func rank(s Severity) int {
	switch s {
	case Danger:
		return 2
	case Care:
		return 1
	}
	return 0
}

type progressKey struct{}

// WithProgress returns a context whose long calculations report to f.
func WithProgress(ctx context.Context, f func(fraction float64, doing string)) context.Context {
	return context.WithValue(ctx, progressKey{}, f)
}

// Progress reports how far a long calculation has come, 0 to 1, to whoever asked.
func Progress(ctx context.Context, fraction float64, doing string) {
	if f, ok := ctx.Value(progressKey{}).(func(float64, string)); ok {
		f(fraction, doing)
	}
}

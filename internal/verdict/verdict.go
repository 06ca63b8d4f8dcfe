// Package verdict is the one scale on which every part of a plan answers
// whether to pour, the rule by which answers are combined, and the reasons
// that stand behind them.
package verdict

import (
	"cmp"
	"fmt"
	"slices"
)

// Level is a step of the scale. As JSON it is one of the texts below.
type Level string

// The levels, from best to worst.
const (
	Go         Level = "go"          // pour as planned
	Care       Level = "care"        // pour, and heed the reasons
	CannotTell Level = "cannot_tell" // what is known decides neither way; a reason says how to find out
	NotYet     Level = "not_yet"     // something must be done or said first
	DoNotPour  Level = "do_not_pour" // the plan must change
)

var scale = []Level{Go, Care, CannotTell, NotYet, DoNotPour}

// Enum is the scale as an `enum` tag writes it.
const Enum = "go,care,cannot_tell,not_yet,do_not_pour"

// Rank is the place of a level on the scale, 0 for Go; the empty level ranks
// as Go. An unknown level panics: it is an error of the program.
func (l Level) Rank() int {
	if l == "" {
		return 0
	}
	i := slices.Index(scale, l)
	if i < 0 {
		panic(fmt.Sprintf("verdict: no level %q", string(l)))
	}
	return i
}

// Phrase is the level in words, for a summary.
func (l Level) Phrase() string {
	return [...]string{"go", "go with care", "cannot tell", "not yet", "do not pour as planned"}[l.Rank()]
}

// Worst is the worst of the levels; Go if there are none. A plan is as good as
// its worst part: no good part makes up for a bad one.
func Worst(levels ...Level) Level {
	worst := Go
	for _, l := range levels {
		if l.Rank() > worst.Rank() {
			worst = l
		}
	}
	return worst
}

// Part of a plan that a reason comes from.
type Part string

// The parts.
const (
	Size     Part = "size"
	Geometry Part = "geometry"
	Metal    Part = "metal"
	Scrap    Part = "scrap"
	Melt     Part = "melt"
	Stones   Part = "stones"
	Fill     Part = "fill"
	Feeding  Part = "feeding"
	Flask    Part = "flask"
	Safety   Part = "safety"
)

// Parts is all parts as an `enum` tag writes them.
const Parts = "size,geometry,metal,scrap,melt,stones,fill,feeding,flask,safety"

// Reason says why a plan is not a plain go.
type Reason struct {
	Part  Part   `json:"part" enum:"size,geometry,metal,scrap,melt,stones,fill,feeding,flask,safety" doc:"Part of the plan that it comes from"`
	Level Level  `json:"verdict" enum:"go,care,cannot_tell,not_yet,do_not_pour" doc:"What it alone would come to"`
	Why   string `json:"why" doc:"What was found"`
	Do    string `json:"do,omitempty" doc:"What to do about it: the change, what must be done first, or the cheapest way to find out"`
}

// Reasons are the reasons of a plan or of one of its parts.
type Reasons []Reason

// Add records a reason once.
func (r *Reasons) Add(part Part, level Level, do, why string, args ...any) {
	if len(args) > 0 {
		why = fmt.Sprintf(why, args...)
	}
	if reason := (Reason{part, level, why, do}); !slices.Contains(*r, reason) {
		*r = append(*r, reason)
	}
}

// Join adds the reasons of others, each once.
func (r *Reasons) Join(others ...Reasons) {
	for _, other := range others {
		for _, reason := range other {
			r.Add(reason.Part, reason.Level, reason.Do, reason.Why)
		}
	}
}

// Level is the verdict that the reasons come to together.
func (r Reasons) Level() Level {
	worst := Go
	for _, reason := range r {
		worst = Worst(worst, reason.Level)
	}
	return worst
}

// Sorted is the reasons, worst first, else as they came. It is never nil.
func (r Reasons) Sorted() Reasons {
	out := append(Reasons{}, r...)
	slices.SortStableFunc(out, func(a, b Reason) int { return cmp.Compare(b.Level.Rank(), a.Level.Rank()) })
	return out
}

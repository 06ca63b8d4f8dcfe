package calc

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

// Fault is one thing wrong with an input.
type Fault struct {
	Field   string // path in the input: "lots[2].fineness_permil"
	Value   any    // what was given; nil when it was missing
	Accepts string // what would be accepted, as a clause: "give 0 to 1000 (sterling is 925)"
}

func (f Fault) String() string {
	if f.Value == nil {
		return f.Field + ": " + f.Accepts
	}
	return fmt.Sprintf("%s: %v refused; %s", f.Field, f.Value, f.Accepts)
}

// Refusal is the error of an input that cannot be answered: all its faults,
// not just the first, and where it helps an explanation in structured form.
type Refusal struct {
	Detail  string         // one sentence
	Faults  []Fault        // at least one
	Explain map[string]any // further members of the problem document, by name; may be nil
}

func (r *Refusal) Error() string {
	lines := make([]string, 0, len(r.Faults)+1)
	if r.Detail != "" {
		lines = append(lines, r.Detail)
	}
	for _, f := range r.Faults {
		lines = append(lines, f.String())
	}
	return strings.Join(lines, "; ")
}

// Refuse makes a refusal of one fault.
func Refuse(field string, value any, accepts string, args ...any) error {
	return &Refusal{Faults: []Fault{{field, value, fmt.Sprintf(accepts, args...)}}}
}

// Checks gathers faults, so that a caller hears of all of them at once.
type Checks struct{ faults []Fault }

// Refuse records a fault.
func (c *Checks) Refuse(field string, value any, accepts string, args ...any) {
	c.faults = append(c.faults, Fault{field, value, fmt.Sprintf(accepts, args...)})
}

// Within records a fault unless lo <= v <= hi; a NaN is a fault.
func (c *Checks) Within(field string, v, lo, hi float64, unit string) {
	if math.IsNaN(v) || v < lo || v > hi {
		c.Refuse(field, v, "give %g to %g %s", lo, hi, unit)
	}
}

// Under records the faults of err, if it is a refusal, with its fields under
// prefix ("pieces[0]"). It reports whether err was nil; any other error is
// kept as a fault of prefix itself.
func (c *Checks) Under(prefix string, err error) bool {
	if err == nil {
		return true
	}
	var r *Refusal
	if !errors.As(err, &r) {
		c.Refuse(prefix, nil, "%s", err)
		return false
	}
	for _, f := range r.Faults {
		f.Field = join(prefix, f.Field)
		c.faults = append(c.faults, f)
	}
	return false
}

// Err returns the refusal, or nil if nothing was recorded.
func (c *Checks) Err() error {
	if len(c.faults) == 0 {
		return nil
	}
	return &Refusal{Faults: c.faults}
}

// Under returns err with its fields under prefix; other errors pass unchanged.
func Under(prefix string, err error) error {
	var r *Refusal
	if !errors.As(err, &r) {
		return err
	}
	moved := *r
	moved.Faults = make([]Fault, len(r.Faults))
	for i, f := range r.Faults {
		f.Field = join(prefix, f.Field)
		moved.Faults[i] = f
	}
	return &moved
}

func join(prefix, field string) string {
	if prefix == "" || field == "" || field[0] == '[' {
		return prefix + field
	}
	return prefix + "." + field
}

// maxNear bounds the names that Nearest looks at, in bytes: no name of ours is
// longer, and its work grows with their square.
const maxNear = 64

// Nearest returns the known name closest to the one given, or "" if none is
// close enough to be a slip of the pen.
func Nearest(given string, known []string) string {
	if len(given) > maxNear {
		return ""
	}
	best, least := "", 1+len(given)/3
	for _, k := range known {
		if len(k)-len(given) > least || len(given)-len(k) > least {
			continue // each character more is a change
		}
		if d := distance(strings.ToLower(given), strings.ToLower(k)); d <= least && (best == "" || d < least) {
			best, least = k, d
		}
	}
	return best
}

// distance is the Levenshtein distance of a and b.
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diagonal := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			change := diagonal
			if a[i-1] != b[j-1] {
				change++
			}
			diagonal, row[j] = row[j], min(change, row[j]+1, row[j-1]+1)
		}
	}
	return row[len(b)]
}

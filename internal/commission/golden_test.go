package commission

import (
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/testdata"
)

// TestTheDemoReadsAsReviewed holds what a maker reads of the demo, figures masked, to
// the text that was read and found right: verdicts and their reasons, steps in their
// order with their cautions, and the cautions of the whole. Figures have tests of
// their own. POURWRIGHT_UPDATE=1 writes it again; read it then as a maker would.
func TestTheDemoReadsAsReviewed(t *testing.T) {
	const golden = "testdata/demo.golden"
	in := read(t, testdata.Commission)
	in.Improvements = false
	out, err := Plan(calc.Silent(ctx), in)
	require.NoError(t, err)
	got := masked(&out)
	if os.Getenv("POURWRIGHT_UPDATE") != "" {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(golden, []byte(got), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	require.Equal(t, string(want), got)
}

var figure = regexp.MustCompile(`\d+(\.\d+)?`)

// masked is the plan in words, each figure as #.
func masked(out *Out) string {
	var b strings.Builder
	say := func(format string, args ...any) { _, _ = fmt.Fprintf(&b, format+"\n", args...) }
	say("%s: %s", out.Verdict, out.Summary)
	for _, r := range out.Reasons {
		say("- %s %s: %s %s", r.Part, r.Level, r.Why, r.Do)
	}
	for _, p := range out.Pieces {
		say("%s: %s", p.Name, p.Verdict)
		for _, r := range p.Reasons {
			say("- %s %s: %s %s", r.Part, r.Level, r.Why, r.Do)
		}
	}
	for _, s := range out.StonesNotCast {
		say("not cast: %s in %q, %s: %s", s.ID, s.Piece, s.What, s.Why)
	}
	for _, s := range out.Steps {
		say("%d. [%s] %s | %s", s.Number, s.Piece, s.Do, s.Caution)
	}
	for _, c := range out.Cautions {
		say("! %s %s", c.Severity, c.Code)
	}
	return figure.ReplaceAllString(b.String(), "#")
}

package commission

import (
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
)

// pair is two rings of one client's marked spoons in one flask, with a stone that is
// refused and a wet lot that must be dried first (invented).
const pair = `{"shared_pours": [{"pieces": ["hers", "his"]}],
	"lots": [{"id": "marked spoons", "mass_g": %d, "alloy": "silver-925", "owner": "client"}%s],
	"prices": {"currency": "EUR", "metal_price_per_gram": 0.95, "hourly_rate": 40},
	"stones": [{"id": "grandmother's pearl", "gem": "pearl", "quantity": 1, "length_mm": 2, "client_owned": true}],
	"pieces": [{"name": "hers", "kind": "ring", "inside_diameter_mm": 17, "profile": "d", "thickness_mm": 2, "width_mm": 5, "stones": [{"id": "grandmother's pearl", "at_pct": 50}]},
		{"name": "his", "kind": "ring", "inside_diameter_mm": 20, "profile": "d", "thickness_mm": 2, "width_mm": 5}]}`

// TestAnOrderReadsAsReviewed holds what a maker reads of an order, figures masked, to
// the text that was read and found right: verdicts and their reasons, steps in their
// order with their cautions, and the dangers. Figures have tests of their own.
// POURWRIGHT_UPDATE=1 writes it again; read it then as a maker would.
func TestAnOrderReadsAsReviewed(t *testing.T) {
	if testing.Short() {
		t.Skip("two whole plans")
	}
	for name, lot := range map[string]string{"care": "", "not_yet": `, {"id": "filings", "mass_g": 20, "alloy": "silver-925", "owner": "client", "observations": ["wet", "filings"]}`} {
		mass := 60
		if lot != "" {
			mass = 20 // not enough without the other
		}
		reads(t, "testdata/pair_"+name+".golden", fmt.Sprintf(pair, mass, lot))
	}
}

func reads(t *testing.T, golden, body string) {
	in := read(t, body)
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
		if c.Severity == calc.Danger {
			say("! %s", c.Code)
		}
	}
	for _, line := range strings.Split(out.Price.ClientText, "\n")[:1] {
		say("price: %s", line)
	}
	return figure.ReplaceAllString(b.String(), "#")
}

// TestABeginnerPours: the studio's hand is that of every pour, and is said.
func TestABeginnerPours(t *testing.T) {
	if testing.Short() {
		t.Skip("two orders")
	}
	in := read(t, fmt.Sprintf(pair, 60, ""))
	in.Improvements = false
	practised, err := Plan(calc.Silent(ctx), in)
	require.NoError(t, err)
	in.Studio.Hand = "beginner"
	out, err := Plan(calc.Silent(ctx), in)
	require.NoError(t, err)
	require.Contains(t, out.Summary, "Poured by a beginner.")
	require.NotContains(t, practised.Summary, "beginner")
	for i, p := range out.Pieces {
		require.Equal(t, "beginner", p.Fill.Hand)
		require.Greater(t, p.FailurePct, practised.Pieces[i].FailurePct)
	}
}

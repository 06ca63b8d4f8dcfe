package class

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/verdict"
	"pourwright/internal/wire"
)

func twelve(t testing.TB) In {
	pupils := ""
	for i := range 12 {
		pupils += fmt.Sprintf(`{"name": "pupil %d", "inside_diameter_mm": %g},`, i+1, 15.5+0.4*float64(i))
	}
	in, err := wire.ShapeOf(reflect.TypeFor[In]()).ReadJSON([]byte(`{"torches": 2, "max_pieces_per_flask": 3,
		"lots": [{"id": "grain", "mass_g": 120, "alloy": "silver-925", "owner": "studio"}, {"id": "scrap", "mass_g": 80, "fineness_permil": 930, "owner": "studio"}],
		"piece": {"kind": "ring", "profile": "d", "thickness_mm": 2, "width_mm": 5}, "pupils": [` + pupils[:len(pupils)-1] + `]}`))
	require.NoError(t, err)
	return *in.(*In)
}

// Twelve rings on one page: each pupil in one pour, like metal for all, no torch
// used twice at once, and the metal adds up.
func TestTwelveRings(t *testing.T) {
	if testing.Short() {
		t.Skip("four flasks")
	}
	out, err := Plan(calc.Silent(context.Background()), twelve(t))
	require.NoError(t, err)
	body, err := json.Marshal(out)
	require.NoError(t, err)
	require.Less(t, len(body), 20_000, "one page")
	require.Equal(t, verdict.Go, out.Verdict, "%v", out.Reasons)
	require.Len(t, out.Pupils, 12)
	seen, free, melt := map[string]int{}, map[int]string{}, 0.0
	share := func(p Pour) float64 {
		for _, c := range p.Charge {
			if c.ID == "grain" {
				return c.G / p.MeltG
			}
		}
		return 0
	}
	for _, p := range out.Pours {
		require.LessOrEqual(t, len(p.Pupils), 3)
		for _, name := range p.Pupils {
			seen[name] = p.Number
		}
		require.GreaterOrEqual(t, p.From, free[p.Torch], "the torch is free")
		from, err := time.Parse("15:04", p.From)
		require.NoError(t, err)
		to, err := time.Parse("15:04", p.To)
		require.NoError(t, err)
		require.GreaterOrEqual(t, to.Sub(from).Minutes(), p.MinTop+10, "the longest melt, and what is between two")
		free[p.Torch] = p.To
		melt += p.MeltG
		require.InDelta(t, share(out.Pours[0]), share(p), 0.002, "like metal for like pieces")
	}
	require.Len(t, seen, 12)
	for _, p := range out.Pupils {
		require.Equal(t, seen[p.Name], p.Pour)
		require.Greater(t, p.MouldMM, p.InsideMM, "the metal shrinks")
	}
	require.InDelta(t, out.MeltMassG, melt, 0.05)
	require.Equal(t, max(free[1], free[2]), out.Ends)
	codes := map[string]bool{}
	for _, c := range out.Cautions {
		codes[c.Code] = true
	}
	for _, code := range []string{"molten_metal", "damp_mould", "torch_gas", "class"} {
		require.True(t, codes[code], code)
	}
}

// A risk that only a beginner's hand takes over the limit asks for care.
func TestABeginnerAsksForCare(t *testing.T) {
	if testing.Short() {
		t.Skip("a class")
	}
	in := twelve(t)
	in.Pupils = in.Pupils[:2]
	thin := 1.2
	in.Piece.ThicknessMM = &thin
	out, err := Plan(calc.Silent(context.Background()), in)
	require.NoError(t, err)
	worst := max(out.Pupils[0].FailurePct, out.Pupils[1].FailurePct)
	require.Greater(t, worst, 0.0)
	in.LimitRiskPct = min(60, 2.5*worst)
	out, err = Plan(calc.Silent(context.Background()), in)
	require.NoError(t, err)
	require.Contains(t, out.Summary, "a beginner")
	require.Equal(t, verdict.Care, out.Verdict)
	require.Contains(t, fmt.Sprint(out.Reasons), "A beginner's pour fails")
}

// TestAClassOfBeginners: planned for a beginner's hand, the figures are a
// beginner's, and no more is reckoned on top of them.
func TestAClassOfBeginners(t *testing.T) {
	in := twelve(t)
	in.Pupils = in.Pupils[:1]
	practised, err := Plan(calc.Silent(context.Background()), in)
	require.NoError(t, err)
	in.Studio.Hand = "beginner"
	out, err := Plan(calc.Silent(context.Background()), in)
	require.NoError(t, err)
	require.Greater(t, out.Pupils[0].FailurePct, 1.5*practised.Pupils[0].FailurePct)
	require.Contains(t, out.Summary, "A beginner's hand loses")
	require.NotContains(t, fmt.Sprint(out.Reasons), "A beginner's pour fails with")
}

func TestRefusalsNameThePupil(t *testing.T) {
	for want, change := range map[string]func(*In){
		"pupils[1].name":               func(in *In) { in.Pupils[1].Name = in.Pupils[0].Name },
		"starts":                       func(in *In) { in.Starts = "9 o'clock" },
		"pupils[0].inside_diameter_mm": func(in *In) { in.Pupils[0].InsideDiameterMM = nil },
	} {
		in := twelve(t)
		change(&in)
		_, err := Plan(context.Background(), in)
		var refusal *calc.Refusal
		require.ErrorAs(t, err, &refusal)
		require.Equal(t, want, refusal.Faults[0].Field)
	}
}

// TestAMorningOfBeginners reads the last of the ten orders that package commission
// reads: twelve rings of 5 to 6 g from the school's grain (common practice, no source).
func TestAMorningOfBeginners(t *testing.T) {
	if testing.Short() {
		t.Skip("six flasks")
	}
	body, err := os.ReadFile("testdata/morning.json")
	require.NoError(t, err)
	in, err := wire.ShapeOf(reflect.TypeFor[In]()).ReadJSON(body)
	require.NoError(t, err)
	out, err := Plan(calc.Silent(context.Background()), *in.(*In))
	require.NoError(t, err)
	require.Contains(t, []verdict.Level{verdict.Go, verdict.Care}, out.Verdict)
	require.Zero(t, out.BoughtG)
	require.Less(t, out.Ends, "13:00", "one morning")
	require.Contains(t, out.Summary, "a beginner")
	for _, p := range out.Pupils {
		require.InDelta(t, 5.5, p.FinishedG, 0.6)
		require.LessOrEqual(t, p.FailurePct, 12.0, "a ring of 2 mm by itself, F9 of the practice: at most 6 %; two on one sprue at most twice that")
	}
	for _, p := range out.Pours {
		require.NotEmpty(t, p.Pupils)
		require.InDelta(t, 996, p.PourC, 50)
		each := p.MeltG / float64(len(p.Pupils)) // a ring of 4 g by itself asks for 15 to 20 g; two share a button
		require.Greater(t, each, 10.0)
		require.Less(t, each, 20.0)
	}
	steps := strings.Join(out.Steps, "\n")
	require.Contains(t, steps, "school grain")
	require.NotContains(t, steps, "client")
	require.Regexp(t, `\d\.\d to \d\.\d min at the torch`, steps)
}

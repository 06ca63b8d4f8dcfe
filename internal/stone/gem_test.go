package stone

import (
	"testing"

	"pourwright/internal/calc"
	"pourwright/internal/verdict"

	"github.com/stretchr/testify/require"
)

func TestCatalogueHasStandingForEveryFigure(t *testing.T) {
	require.GreaterOrEqual(t, len(catalogue), 45)
	seen := map[string]bool{}
	for _, g := range catalogue {
		require.False(t, seen[g.ID], g.ID)
		seen[g.ID] = true
		figures := map[string]GemFigure{"sg": g.SpecificGravity, "mohs": g.Hardness}
		for _, e := range g.HeatEvents {
			require.NotEmpty(t, e.What, g.ID)
			require.True(t, e.FromC.Known(), g.ID)
			figures[e.What] = e.FromC
		}
		if b := g.Body; b != nil {
			figures["k"], figures["c"], figures["alpha"] = b.Conductivity, b.SpecificHeat, b.Expansion
			figures["E"], figures["strength"], figures["nu"] = b.Modulus, b.Strength, b.Poisson
		}
		for name, f := range figures {
			require.NotEmpty(t, f.Status, "%s %s", g.ID, name)
			require.NotEmpty(t, f.Source, "%s %s", g.ID, name)
			if !f.Known() {
				require.Equal(t, Unknown, f.Status, "%s %s", g.ID, name)
				require.Nil(t, f.Low)
				require.Nil(t, f.High)
				continue
			}
			require.Positive(t, *f.Typical, "%s %s: unknown is never 0", g.ID, name)
			require.True(t, *f.Low <= *f.Typical && *f.Typical <= *f.High, "%s %s: %v", g.ID, name, f)
		}
		require.Contains(t, []string{"none", "poor", "good", "perfect", "unknown"}, g.Cleavage, g.ID)
		for i := 1; i < len(g.HeatEvents); i++ {
			require.LessOrEqual(t, *g.HeatEvents[i-1].FromC.Low, *g.HeatEvents[i].FromC.Low, "%s: lowest first", g.ID)
		}
	}
}

func TestFilters(t *testing.T) {
	all, err := List(GemFilter{})
	require.NoError(t, err)
	require.Len(t, all, len(catalogue))
	hard, _ := List(GemFilter{HardnessMin: 9})
	for _, g := range hard {
		require.GreaterOrEqual(t, *g.Hardness.Low, 9.0)
	}
	require.Len(t, hard, 6, "diamonds, corundums and moissanite")
	proven, _ := List(GemFilter{Verdict: verdict.Go})
	require.Len(t, proven, 5, "diamond, ruby and sapphire, grown in the ground or in a laboratory, are cast in place in cold clay as a matter of course")
	garnets, _ := List(GemFilter{Text: "Garnet", Kind: Natural})
	require.Len(t, garnets, 5)
	_, err = Find("saphire")
	require.ErrorContains(t, err, `"sapphire"`)
	_, err = Find("")
	require.Error(t, err)
}

// The rule of the table, over every row: any treatment of the first group, or
// an unknown one, turns every better verdict into do_not.
func TestTreatmentsRuleOutEveryRow(t *testing.T) {
	bad := []Treatment{FractureFilled, LeadGlassFilled, FluxHealed, Oiled, ResinFilled, Waxed, Dyed, Coated, Smoked, AssembledPiece, NotKnown}
	for _, g := range catalogue {
		for _, tr := range bad {
			s := In{Gem: g.ID, Treatments: []Treatment{tr}}
			v := verdict.Go
			byTreatment(func(_ string, w verdict.Level, _ string, _ ...any) { v = verdict.Worst(v, w) }, g, s)
			want := verdict.DoNotPour
			if tr == NotKnown && (g.corundum() || g.diamond()) {
				want = verdict.CannotTell // heating is no objection; whether it is filled, a loupe shows
			}
			require.Equal(t, want, v, "%s %s", g.ID, tr)
		}
	}
	for _, r := range treatmentRules {
		require.NotEmpty(t, r.InHeat)
	}
}

func TestSourceStatusesAreOurs(t *testing.T) {
	for _, s := range []calc.Source{srcGems, srcCast, srcBodies, srcCutK, srcCutDiamond, srcGrain, srcSeat, srcClay, srcLoss, srcGrease} {
		require.NotEmpty(t, s.For)
		require.NotEmpty(t, s.Text)
		require.NotEmpty(t, s.Status)
	}
}

package metal

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
)

func TestDescribeRefusesByField(t *testing.T) {
	low, high := 700.0, 800.0
	for _, c := range []struct {
		in    AlloyIn
		field string
	}{
		{AlloyIn{}, "alloy"},
		{AlloyIn{AlloyPropertyIn: AlloyPropertyIn{Alloy: "silver-925", Composition: "Ag 1000"}}, "alloy"},
		{AlloyIn{AlloyPropertyIn: AlloyPropertyIn{Alloy: "silver-92"}}, "alloy"},
		{AlloyIn{AlloyPropertyIn: AlloyPropertyIn{Composition: "Ag 925"}}, "composition"},
		{AlloyIn{CompositionPermil: map[string]float64{"Ag": 925}}, "composition_permil"},
		{AlloyIn{CompositionPermil: map[string]float64{"Ag": 1200, "Cu": -200}}, "composition_permil"},
		{AlloyIn{AlloyPropertyIn: AlloyPropertyIn{Alloy: "silver-925", SolidusC: &low}}, "liquidus_c"},
		{AlloyIn{AlloyPropertyIn: AlloyPropertyIn{Alloy: "silver-925", LiquidusC: &low}}, "solidus_c"},
		{AlloyIn{AlloyPropertyIn: AlloyPropertyIn{Alloy: "silver-925", SolidusC: &high, LiquidusC: &low}}, "liquidus_c"},
	} {
		_, err := Describe(context.Background(), c.in)
		var r *calc.Refusal
		require.ErrorAs(t, err, &r)
		require.Equal(t, c.field, r.Faults[0].Field, "%v", err)
	}
}

func TestDescribeTheSameByAnyName(t *testing.T) {
	ctx := context.Background()
	a, err := Describe(ctx, AlloyIn{AlloyPropertyIn: AlloyPropertyIn{Alloy: "silver-925"}})
	require.NoError(t, err)
	b, err := Query(ctx, AlloyPropertyIn{Composition: "Cu 75 Ag 925"})
	require.NoError(t, err)
	c, err := Describe(ctx, AlloyIn{CompositionPermil: map[string]float64{"Ag": 925, "Cu": 75}})
	require.NoError(t, err)
	a.ID, a.Name = b.ID, b.Name
	require.Equal(t, a, b)
	require.Equal(t, b, c)
	require.Equal(t, "liquid", a.State)
	for _, band := range a.Uncertainty {
		require.LessOrEqual(t, band.Low, band.Value, band.Quantity)
		require.GreaterOrEqual(t, band.High, band.Value, band.Quantity)
		require.LessOrEqual(t, band.FromC, band.ToC, band.Quantity)
	}
}

// The largest legal standard not above the fineness, with no tolerance below
// it. Finland: 588 is marked 585, 584 only 375 (rules of the agency, read).
func TestMarks(t *testing.T) {
	mark := func(symbol string, fineness float64, place string) float64 {
		marks, _ := Marks(symbol, fineness)
		for _, m := range marks {
			if m.Place == place {
				return m.MarkPermil
			}
		}
		return -1
	}
	require.Equal(t, 585.0, mark("Au", 588, "Finland"))
	require.Equal(t, 375.0, mark("Au", 584, "Finland"))
	require.Equal(t, 925.0, mark("Ag", 925, "United Kingdom"))
	require.Equal(t, 800.0, mark("Ag", 924.9, "United Kingdom"))
	require.Equal(t, 835.0, mark("Ag", 900, "Germany"))
	require.Equal(t, 0.0, mark("Ag", 799, "Ireland"))
	for _, l := range lists {
		for metal, marks := range l.marks {
			for i := 1; i < len(marks); i++ {
				require.Less(t, marks[i], marks[i-1], "%s %s", l.place, metal)
			}
		}
	}
}

func TestCatalogueFilters(t *testing.T) {
	all, err := List(AlloyFilter{})
	require.NoError(t, err)
	require.Len(t, all, len(catalogue))
	rose, err := List(AlloyFilter{Metal: "gold", Text: "rose"})
	require.NoError(t, err)
	require.Len(t, rose, 4)
	fine, err := List(AlloyFilter{Metal: "silver", FinenessPermil: 958})
	require.NoError(t, err)
	require.Len(t, fine, 4)
	none, err := List(AlloyFilter{Text: "no such metal"})
	require.NoError(t, err)
	require.NotNil(t, none)
	_, err = Find("silver-952")
	require.Error(t, err)
	e, err := Find("gold-750-white-nickel")
	require.NoError(t, err)
	require.Equal(t, 750.0, e.FinenessPermil)
	require.Contains(t, e.Cautions, "nickel")
	require.Contains(t, e.Cautions, "zinc_fume")
}

func TestDiagramLines(t *testing.T) {
	d, err := SilverCopperDiagram(24)
	require.NoError(t, err)
	for name, line := range map[string][]DiagramPoint{"liquidus": d.Liquidus, "silver solidus": d.SilverSolidus} {
		for i := 1; i < len(line); i++ {
			require.Less(t, line[i].SilverPct, line[i-1].SilverPct, "%s at %d", name, i)
		}
	}
	lowest := d.Liquidus[0]
	for _, p := range d.Liquidus {
		if p.TemperatureC < lowest.TemperatureC {
			lowest = p
		}
	}
	require.InDelta(t, d.EutecticC, lowest.TemperatureC, 1e-6)
	for i := 1; i < len(d.SilverSolvus); i++ {
		require.Less(t, d.SilverSolvus[i].SilverPct, d.SilverSolvus[i-1].SilverPct, "silver takes up more copper when hot")
		require.Greater(t, d.CopperSolvus[i].SilverPct, d.CopperSolvus[i-1].SilverPct)
	}
	last := d.SilverSolvus[len(d.SilverSolvus)-1]
	require.InDelta(t, d.EutecticPct[0], last.SilverPct, 1e-3, "solvus and solidus meet at the eutectic")
}

// What is read and written again is the same composition, to the digits written.
func FuzzParseComposition(f *testing.F) {
	for _, seed := range []string{"Ag 925 Cu 75", "Au 916.67 Cu 83.33", "Ag 92.5", "Cu 1000", "Ag 1e3", "Ag 500 Ag 500", "Ag 999;Cu 1", "Xx 1000", "Ag +Inf"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		c, err := ParseComposition(text)
		if err != nil {
			require.Nil(t, c)
			return
		}
		sum := 0.0
		for _, w := range c {
			require.GreaterOrEqual(t, w, 0.0)
			sum += w
		}
		require.InDelta(t, 1, sum, 1e-12)
		again, err := ParseComposition(c.String())
		require.NoError(t, err, "%q written as %q", text, c)
		for s, w := range c {
			require.InDelta(t, w, again[s], 2e-6*float64(len(c)), "%q: %s", text, s)
		}
	})
}

func TestMetalsAreSharedSafely(t *testing.T) {
	for range 8 {
		t.Run("", func(t *testing.T) {
			t.Parallel()
			for i := range 20 {
				m, err := Of(Composition{"Ag": 0.9 + float64(i)/1000, "Cu": 0.1 - float64(i)/1000}, nil)
				require.NoError(t, err)
				n, err := Named("silver-925")
				require.NoError(t, err)
				require.Greater(t, m.EnthalpyKJKg(900), n.EnthalpyKJKg(20))
			}
		})
	}
}

package picture_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/heat"
	"pourwright/internal/picture"
	"pourwright/internal/section"
)

func TestFreezingLooks(t *testing.T) {
	in := calc.Default[heat.FreezeIn]()
	in.Ring = &heat.FreezeRing{InsideMM: 12, Profile: []section.Station{
		{AtPct: 0, Section: section.Section{Shape: section.Rectangular, ThicknessMM: 2, WidthMM: 3}},
		{AtPct: 50, Section: section.Section{Shape: section.Rectangular, ThicknessMM: 3, WidthMM: 3}},
	}}
	in.CellMM, in.EstimateError = ptr(0.6), false
	out, err := heat.Freeze(t.Context(), in)
	require.NoError(t, err)
	s := picture.DrawFreezing(in, out)
	see(t, "freezing", s, nil)
	svg, err := s.SVG()
	require.NoError(t, err)
	require.Contains(t, string(svg), "When each place freezes")
	first, last := out.Span()
	require.Less(t, first, last)
	require.InDelta(t, out.PieceFrozenS, last, 1e-6)
}

func TestFillLooks(t *testing.T) {
	in := calc.Default[fill.In]()
	in.InsideDiameterMM, in.Section = 62, section.Section{Shape: section.HalfRound, ThicknessMM: 2.6, WidthMM: 6}
	in.Improvements = false
	out, err := fill.Follow(t.Context(), in)
	require.NoError(t, err)
	see(t, "fill", picture.DrawFill(in, out), nil)
}

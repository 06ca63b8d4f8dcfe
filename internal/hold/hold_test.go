package hold

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/fluid"
	"pourwright/internal/metal"
)

func ptr[T any](v T) *T { return &v }

func flask() In {
	in := calc.Default[In]()
	in.DensityKgM3, in.TensionNM = ptr(9000.0), ptr(0.9)
	in.PartingMM2, in.MeanHeadMM, in.DeepestMM, in.MeltG = ptr(500.0), ptr(50.0), 100, 90
	return in
}

// TestByHand: at 50 mm, p = 9000 × 9.80665 × 0.05 = 4412.9925 Pa; on 500 mm² that is
// 2.206496 N. At 100 mm p = 8825.985 Pa, and a slit that holds it is
// 2 × 0.9 × cos 40° / 8825.985 = 1.56230e-4 m wide.
func TestByHand(t *testing.T) {
	const printed = 5e-6 // last digit worked out
	out, err := Hold(context.Background(), flask())
	require.NoError(t, err)
	require.InDelta(t, 2.206496, out.OpeningN, printed)
	require.InDelta(t, 6.619489, out.HoldN, printed)
	require.Nil(t, out.WeightKg)
	require.InDelta(t, 8.825985, out.PressureKPa, printed)
	require.InDelta(t, 0.156230, out.SpillGapMM, printed)
	require.InDelta(t, 10000, out.SpillMM3, printed) // 90 g at 9 g/cm³
	require.InDelta(t, 10, out.TrayRimMM, printed)   // 1/3 mm would hold it
}

func TestSmallTrayAsksForARim(t *testing.T) {
	in := flask()
	in.TrayLengthMM, in.TrayWidthMM = 20, 50 // 10,000 mm³ on 1,000 mm², doubled
	out, err := Hold(context.Background(), in)
	require.NoError(t, err)
	require.InDelta(t, 20, out.TrayRimMM, 1e-9)
}

func TestDeepestPlaceIsBelowTheMean(t *testing.T) {
	in := flask()
	in.MeanHeadMM, in.DeepestMM = ptr(80.0), 36
	_, err := Hold(context.Background(), in)
	require.ErrorContains(t, err, "deepest_mm")
}

func TestLyingFlaskIsHeldByItsUpperHalf(t *testing.T) {
	in := flask()
	in.Posture, in.UpperHalfKg, in.ClipN = "lying", 0.5, ptr(1.0)
	out, err := Hold(context.Background(), in)
	require.NoError(t, err)
	require.InDelta(t, 6.619489-4.903325, out.HoldN, 5e-6)
	require.InDelta(t, (6.619489-4.903325)/9.80665, *out.WeightKg, 5e-6)
	require.Equal(t, 2, *out.Clips)
	in.UpperHalfKg = 5
	out, err = Hold(context.Background(), in)
	require.NoError(t, err)
	require.Zero(t, out.HoldN)
}

func TestMoreHeadNeedsMoreHoldAndAFinerGap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := flask()
		*in.MeanHeadMM = rapid.Float64Range(5, 300).Draw(t, "head")
		in.DeepestMM = *in.MeanHeadMM
		a, err := Hold(context.Background(), in)
		require.NoError(t, err)
		*in.MeanHeadMM *= 2
		in.DeepestMM *= 2
		b, err := Hold(context.Background(), in)
		require.NoError(t, err)
		require.InEpsilon(t, 2*a.HoldN, b.HoldN, 1e-12)
		require.InEpsilon(t, a.SpillGapMM/2, b.SpillGapMM, 1e-12)
	})
}

func TestRefusals(t *testing.T) {
	in := flask()
	in.OpeningN = ptr(3.0)
	_, err := Hold(context.Background(), in)
	require.ErrorContains(t, err, "opening_force_n")
	in = flask()
	in.MeanHeadMM = nil
	_, err = Hold(context.Background(), in)
	require.ErrorContains(t, err, "mean_head_mm")
	in = flask()
	in.GapMM = ptr(0.3)
	out, err := Hold(context.Background(), in)
	require.NoError(t, err)
	require.False(t, *out.GapHolds)
	require.Contains(t, out.Cautions[0].Severity, calc.Danger)
}

// Clips share the force: 6.619 N on clips of 1.5 N are 4.41, so five.
func TestClipsShareTheForce(t *testing.T) {
	in := flask()
	in.ClipN = ptr(1.5)
	out, err := Hold(context.Background(), in)
	require.NoError(t, err)
	require.Equal(t, 5, *out.Clips)
	in.ClipN = ptr(100.0)
	out, err = Hold(context.Background(), in)
	require.NoError(t, err)
	require.Equal(t, 2, *out.Clips, "one on each side at least")
}

// Weights press the halves of a lying flask together, not those of a standing one.
func TestOnlyAStandingFlaskIsWarnedOfWeights(t *testing.T) {
	for posture, warned := range map[string]bool{"standing": true, "lying": false} {
		in := flask()
		in.Posture = posture
		out, err := Hold(context.Background(), in)
		require.NoError(t, err)
		require.Equal(t, warned, slices.ContainsFunc(out.Cautions, func(c calc.Caution) bool { return c.Code == "weights_do_not_hold" }), posture)
	}
}

// At most half of the gap that stays dry is left: 0.078115 mm of 0.15623.
func TestHalfOfTheDryGapIsTheMost(t *testing.T) {
	for gap, holds := range map[float64]bool{0.0781: true, 0.0782: false} {
		in := flask()
		in.GapMM = ptr(gap)
		out, err := Hold(context.Background(), in)
		require.NoError(t, err)
		require.Equal(t, holds, *out.GapHolds)
	}
}

// Without figures of one's own the metal is reckoned 50 K over its liquidus.
func TestMetalIsTakenAtPouringHeat(t *testing.T) {
	in := flask()
	in.DensityKgM3, in.TensionNM = nil, nil
	out, err := Hold(context.Background(), in)
	require.NoError(t, err)
	m, err := metal.Named(in.Alloy)
	require.NoError(t, err)
	require.InEpsilon(t, m.LiquidDensityKgM3(m.LiquidusC()+50)*fluid.Gravity*0.1/1e3, out.PressureKPa, 1e-12)
	require.InEpsilon(t, m.LiquidDensityKgM3(m.LiquidusC()+50)*fluid.Gravity*0.05*500e-6, out.OpeningN, 1e-12)
}

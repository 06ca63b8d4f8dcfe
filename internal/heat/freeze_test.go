package heat

import (
	"context"
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/calc"
	"pourwright/internal/mesh"
	"pourwright/internal/section"
)

func band(inside, cell float64, s ...section.Station) FreezeIn {
	sprue, button := 3.0, 5.0 // small, to be quick
	return FreezeIn{SprueMM: &sprue, ButtonMM: &button, Ring: &FreezeRing{InsideMM: inside, Profile: s}, Alloy: "silver-925", MouldC: 25, InterfaceWM2K: 850,
		Sprue: true, SprueLongMM: 4, ClayMM: 15, FeedingStops: 0.7, CellMM: &cell}
}

func at(pct, thick, wide float64) section.Station {
	return section.Station{AtPct: pct, Section: section.Section{Shape: section.Rectangular, ThicknessMM: thick, WidthMM: wide}}
}

// An even band freezes first opposite the sprue, evenly to both sides, and is
// fed; the answer's parts agree with one another.
func TestEvenBand(t *testing.T) {
	out, err := Freeze(context.Background(), band(14, 0.5, at(0, 2, 3)))
	require.NoError(t, err)
	require.True(t, out.Fed, "%+v", out.HotSpots)
	require.Empty(t, out.HotSpots)
	require.Less(t, out.PieceFrozenS, *out.ButtonFrozenS)
	require.Len(t, out.Regions, regionCount)
	for k := range regionCount / 2 {
		require.InEpsilon(t, out.Regions[k].LastS, out.Regions[regionCount-1-k].LastS, 5e-3, "the two sides are alike")
	}
	require.Contains(t, []int{regionCount - 1, regionCount}, out.Regions[0].Order, "last at the sprue")
	require.Equal(t, 100.0, math.Round(1e3*out.Curve[len(out.Curve)-1].SolidPct)/1e3)
	for i := 1; i < len(out.Curve); i++ {
		require.Greater(t, out.Curve[i].SolidPct, out.Curve[i-1].SolidPct)
	}
	require.InDelta(t, 0, out.Grid.EnergyPct, 100*energy)
	p := section.Profile{at(0, 2, 3)}
	require.Greater(t, out.Grid.VolumeMM3, p.RingVolume(14))
	require.NotEmpty(t, out.Path)
}

// A heavy boss opposite the sprue, behind a thin band, is cut off.
func TestBossIsCutOff(t *testing.T) {
	out, err := Freeze(context.Background(), func() FreezeIn {
		in := band(12, 0.6, at(0, 1.5, 3), at(40, 1.5, 3), at(50, 5, 5), at(60, 1.5, 3), at(100, 1.5, 3))
		zero := 0.0
		in.GateAtPct = &zero
		return in
	}())
	require.NoError(t, err)
	require.False(t, out.Fed)
	require.NotEmpty(t, out.HotSpots)
	require.Less(t, out.HotSpots[0].At.XMM, -6.0, "at the boss")
	require.InDelta(t, 0, out.HotSpots[0].At.YMM, 1)
	require.Less(t, *out.HotSpots[0].CutOffS, out.HotSpots[0].FrozenS)
	require.Greater(t, out.HotSpots[0].VolumeMM3, 10.0)
	require.Condition(t, func() bool {
		for _, p := range out.Last {
			if math.Abs(p.At.XMM-out.HotSpots[0].At.XMM) < 1 {
				return true
			}
		}
		return false
	}, "and freezes after all round it")
}

// The same piece as an STL file and by numbers gives the same times.
func TestSurfaceAndNumbersAgree(t *testing.T) {
	in := band(12, 0.6, at(0, 2.4, 3))
	in.Sprue, in.ClayMM = false, 3 // the same box for both
	byNumbers, err := Freeze(context.Background(), in)
	require.NoError(t, err)
	in.Pattern, in.Ring = mesh.Of(mesh.Ring(12, section.Profile{at(0, 2.4, 3)}, 360)), nil
	bySurface, err := Freeze(context.Background(), in)
	require.NoError(t, err)
	require.InEpsilon(t, byNumbers.PieceFrozenS, bySurface.PieceFrozenS, 2e-3)
}

// A slow fill leaves the far side colder, and loses no heat.
func TestFillingCools(t *testing.T) {
	in := band(12, 0.6, at(0, 2, 3))
	quick, err := Freeze(context.Background(), in)
	require.NoError(t, err)
	in.FillS = 0.8
	slow, err := Freeze(context.Background(), in)
	require.NoError(t, err)
	far := regionCount / 2
	require.Less(t, slow.Regions[far].LastS, quick.Regions[far].LastS)
	require.InDelta(t, 0, slow.Grid.EnergyPct, 100*energy)
}

func TestProposedGateOfASurface(t *testing.T) {
	in := band(12, 0.6)
	in.Pattern, in.Ring, in.SprueMM, in.ButtonMM = mesh.Of(mesh.Box(r3.Vec{}, r3.Vec{X: 12, Y: 8, Z: 3})), nil, nil, nil
	out, err := Freeze(context.Background(), in)
	require.NoError(t, err)
	require.True(t, out.Gate.Proposed)
	require.Greater(t, out.Gate.SprueMM, 2.0)
	require.True(t, out.Fed)
	require.Less(t, out.Gate.SprueMM, 8.0)
}

func TestRefusals(t *testing.T) {
	first := func(in FreezeIn) calc.Fault {
		_, err := Freeze(context.Background(), in)
		var r *calc.Refusal
		require.True(t, errors.As(err, &r), "%v", err)
		return r.Faults[0]
	}
	in := band(60, 0.02, at(0, 2, 6))
	f := first(in)
	require.Equal(t, "cell_mm", f.Field)
	require.Contains(t, f.Accepts, "at least 0.")
	in = band(60, 3, at(0, 2, 6))
	require.Contains(t, first(in).Accepts, "at most 2 mm")
	in.Alloy = "silver-926"
	require.Equal(t, "alloy", first(in).Field)
	in = band(60, 0.5, at(0, 2, 6))
	cold := 700.0
	in.PourC = &cold
	require.Equal(t, "pour_c", first(in).Field)
	in = band(60, 0.5, at(0, 200, 6))
	require.Equal(t, "ring.profile[0].thickness_mm", first(in).Field)
	in.Ring = nil
	require.Equal(t, "shape", first(in).Field)
}

// A caller that is gone stops the work at once.
func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	ctx = calc.WithProgress(ctx, func(fraction float64, _ string) {
		if fraction > 0 {
			cancel()
		}
	})
	_, err := Freeze(ctx, band(14, 0.5, at(0, 2, 3)))
	require.ErrorIs(t, err, context.Canceled)
}

package heat

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Six pieces, with sprues and without, thick and thin, even and not.
func sixPieces(cell float64) map[string]FreezeIn {
	boss := band(12, cell, at(0, 1.5, 3), at(40, 1.5, 3), at(50, 4, 4), at(60, 1.5, 3), at(100, 1.5, 3))
	aside := 30.0
	boss.GateAtPct = &aside
	bare := band(10, cell, at(0, 2, 3))
	bare.Sprue = false
	steep := band(8, cell, at(0, 2.4, 2.4), at(50, 1.2, 2.4), at(100, 2.4, 2.4))
	slow := band(10, cell, at(0, 1.8, 2.5))
	slow.InterfaceWM2K = 500
	return map[string]FreezeIn{"thin": band(12, cell, at(0, 1.6, 3)), "thick": band(9, cell, at(0, 3, 4)), "boss": boss, "bare": bare, "steep": steep, "slow": slow}
}

// What is said of the grid's error covers the distance to twice finer cells,
// and the grid holds the solid's metal within 1 %.
func TestErrorCoversRefinement(t *testing.T) {
	if testing.Short() {
		t.Skip("six solids, three grids each")
	}
	const fine, reference = 0.5, 0.25
	for name, in := range sixPieces(reference) {
		in.EstimateError = false
		want, err := Freeze(t.Context(), in)
		require.NoError(t, err)
		in = sixPieces(fine)[name]
		in.EstimateError = true
		got, err := Freeze(t.Context(), in)
		require.NoError(t, err)
		off := 100 * (got.PieceFrozenS/want.PieceFrozenS - 1)
		t.Logf("%s: %.3f s at %g mm, %.3f s at %g mm, off by %+.2f %%, said %.2f %%", name, got.PieceFrozenS, fine, want.PieceFrozenS, reference, off, *got.Grid.ErrorPct)
		require.LessOrEqual(t, max(off, -off), *got.Grid.ErrorPct, name)
		require.Less(t, *got.Grid.ErrorPct, 8.0, "and says something")
		for _, out := range []FreezeOut{got, want} {
			require.InEpsilon(t, out.Grid.SolidMM3, out.Grid.VolumeMM3, 0.01, name)
		}
	}
}

// Cells on which a row of the band's corners lies within rounding of the lines
// that measure the metal.
func TestGridHoldsTheMetal(t *testing.T) {
	in := band(12, 0.4, at(0, 1.6, 3))
	in.EstimateError = false
	out, err := Freeze(t.Context(), in)
	require.NoError(t, err)
	require.InEpsilon(t, out.Grid.SolidMM3, out.Grid.VolumeMM3, 0.005)
}

// When the time ends before the finer cells are done the coarser answer is
// given, whether the error is asked for or not. The time is a real one: four
// times what the coarser cells take on this machine now, a quarter or less of
// what the finer take. A machine that slows down fourfold meanwhile is asked again.
func TestCoarseAnswerInTime(t *testing.T) {
	if testing.Short() {
		t.Skip("a solid on three grids")
	}
	in := band(12, 0.2, at(0, 2, 3))
	for _, estimate := range []bool{true, false} {
		in.EstimateError = estimate
		var out FreezeOut
		var err error
		for range 5 {
			coarse := in
			coarse.CellMM, coarse.EstimateError = new(float64), true
			*coarse.CellMM = 0.4
			began := time.Now()
			_, err = Freeze(t.Context(), coarse)
			require.NoError(t, err)
			ctx, cancel := context.WithTimeout(t.Context(), 4*time.Since(began))
			out, err = Freeze(ctx, in)
			cancel()
			if err == nil && out.Grid.CellMM == 0.4 {
				break
			}
		}
		require.NoError(t, err)
		require.Equal(t, 0.4, out.Grid.CellMM)
		require.Equal(t, estimate, out.Grid.ErrorPct != nil)
		codes := []string{}
		for _, c := range out.Cautions {
			codes = append(codes, c.Code)
		}
		require.Contains(t, codes, "coarse_answer")
	}
	gone, cancel := context.WithTimeout(t.Context(), time.Hour)
	cancel()
	_, err := Freeze(gone, in)
	require.ErrorIs(t, err, context.Canceled, "a caller who goes gets no answer")
}

// With time enough the answer is that of a caller without a limit, to the bit.
func TestTimeEnoughChangesNothing(t *testing.T) {
	in := band(12, 0.5, at(0, 2, 3))
	want, err := Freeze(t.Context(), in)
	require.NoError(t, err)
	ctx, cancel := context.WithTimeout(t.Context(), time.Hour)
	defer cancel()
	got, err := Freeze(ctx, in)
	require.NoError(t, err)
	want.run, got.run = nil, nil
	require.Equal(t, want, got)
}

// The cells follow the detail asked for.
func TestDetail(t *testing.T) {
	cells := map[string]float64{}
	for _, detail := range []string{"quick", "usual", "fine"} {
		in := band(17.5, 0, at(0, 1.8, 4))
		in.CellMM, in.Detail = nil, detail
		j, err := prepare(t.Context(), in)
		require.NoError(t, err)
		d, err := j.chooseCell()
		require.NoError(t, err)
		cells[detail], _ = j.cells(d)
		require.LessOrEqual(t, cells[detail], detailCells[detail])
	}
	require.Less(t, cells["quick"], cells["usual"])
}

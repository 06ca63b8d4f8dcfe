package tradeoff

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
)

func ptr[T any](v T) *T { return &v }

func job(tasks ...Task) In {
	in := calc.Default[In]()
	in.ClayRate, in.BenchRate, in.FailurePct, in.Tasks = 30, 60, 20, tasks
	return in
}

// TestByHand: 8 min in the clay at 30 an hour, four of five pours hold:
// 8/0.8 = 10 min, 5.00. Filing 20 × 10 × 0.5 mm / 2 = 50 mm³ at 25 a minute:
// 2 min at 60 an hour, 2.00. Even at 2.00/30 × 60 × 0.8 = 3.2 min in the clay.
func TestByHand(t *testing.T) {
	const exact = 1e-12
	out, err := Weigh(context.Background(), job(
		Task{What: "blend_cut", ClayMin: 8, LengthMM: 20, WidthMM: 10, StepMM: 0.5, SpreadPct: 30},
		Task{What: "press_stones", ClayMin: 8, BenchMin: ptr(40.0), SpreadPct: 30}))
	require.NoError(t, err)
	a, b := out.Tasks[0], out.Tasks[1]
	require.InDelta(t, 5, a.ClayCost, exact)
	require.InDelta(t, 2, a.BenchCost, exact)
	require.InDelta(t, 3.2, a.EvenClayMin, exact)
	require.Equal(t, "bench", a.Cheaper)
	require.Nil(t, a.EvenRisk, "8 min at 30 are 4.00, more than 2.00 even without risk")
	require.Equal(t, "clay", b.Cheaper)
	require.InDelta(t, 90, *b.EvenRisk, 1e-9, "1 − 4.00/40.00")
	require.InDelta(t, 7, out.BestCost, exact)
}

// TestBreakEvenIsEven puts the answer back in: at the break-even minutes, and
// at the break-even risk, both cost the same.
func TestBreakEvenIsEven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := job(Task{What: "other", ClayMin: rapid.Float64Range(1, 60).Draw(t, "clay"), BenchMin: ptr(rapid.Float64Range(1, 60).Draw(t, "bench"))})
		in.FailurePct = rapid.Float64Range(0, 90).Draw(t, "risk")
		out, err := Weigh(context.Background(), in)
		require.NoError(t, err)
		f := out.Tasks[0]
		again := in
		again.Tasks = []Task{in.Tasks[0]}
		again.Tasks[0].ClayMin = f.EvenClayMin
		even, err := Weigh(context.Background(), again)
		require.NoError(t, err)
		require.InEpsilon(t, even.BenchCost, even.ClayCost, 1e-9)
		if f.EvenRisk != nil && *f.EvenRisk <= 95 {
			in.FailurePct = *f.EvenRisk
			even, err = Weigh(context.Background(), in)
			require.NoError(t, err)
			require.InEpsilon(t, even.BenchCost, even.ClayCost, 1e-9)
		}
	})
}

func TestCannotTellBetween(t *testing.T) {
	out, err := Weigh(context.Background(), job(Task{What: "other", ClayMin: 8, BenchMin: ptr(5.0), SpreadPct: 30}))
	require.NoError(t, err)
	require.Equal(t, "cannot_tell", out.Cheaper)
}

func TestRefusals(t *testing.T) {
	_, err := Weigh(context.Background(), job(Task{What: "other", ClayMin: 8}))
	require.ErrorContains(t, err, "tasks[0].bench_min")
	_, err = Weigh(context.Background(), job())
	require.ErrorContains(t, err, "tasks")
}

// TestSpreadDecides: 10.00 in the clay against 20.00 at the bench, even without
// risk. With times 33 % off either way the clay costs at most 13.30 and the
// bench at least 13.40: clay. With 34 % they are 13.40 and 13.20: cannot tell.
// Ten tasks alike decide as one does.
func TestSpreadDecides(t *testing.T) {
	for spread, want := range map[float64]string{33: "clay", 34: "cannot_tell"} {
		for _, n := range []int{1, 10} {
			in := job()
			in.FailurePct = 0
			for range n {
				in.Tasks = append(in.Tasks, Task{What: "other", ClayMin: 20, BenchMin: ptr(20.0), SpreadPct: spread})
			}
			out, err := Weigh(context.Background(), in)
			require.NoError(t, err)
			require.Equal(t, want, out.Tasks[0].Cheaper)
			require.Equal(t, want, out.Cheaper, "%d tasks", n)
			require.NotContains(t, out.Summary, "each where it belongs", "all belong to one place")
		}
	}
	// The other way round: 20.00 in the clay, 10.00 at the bench.
	for spread, want := range map[float64]string{33: "bench", 34: "cannot_tell"} {
		in := job(Task{What: "other", ClayMin: 40, BenchMin: ptr(10.0), SpreadPct: spread})
		in.FailurePct = 0
		out, err := Weigh(context.Background(), in)
		require.NoError(t, err)
		require.Equal(t, want, out.Tasks[0].Cheaper)
		require.Equal(t, want, out.Cheaper)
		require.Contains(t, out.Summary, " 10.00")
	}
}

// One task belongs in the clay, one at the bench: the summary says what both
// cost where they belong, 5.00 and 2.00.
func TestEachWhereItBelongs(t *testing.T) {
	in := job(
		Task{What: "other", ClayMin: 10, BenchMin: ptr(50.0), SpreadPct: 10},
		Task{What: "other", ClayMin: 50, BenchMin: ptr(2.0), SpreadPct: 10})
	in.FailurePct = 0
	out, err := Weigh(context.Background(), in)
	require.NoError(t, err)
	require.Contains(t, out.Summary, "each where it belongs: 7.00.")
}

package fill

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/fill/network"
)

// alone is a piece by itself as a flask of one: its sprue is the only channel.
func alone(in In, flask Flask) Shared {
	l := in.SprueLengthMM
	return Shared{Pieces: []Part{{In: in, Junction: 1, GateMM: -l}},
		Channels: []Channel{{From: Funnel, To: 1, LengthMM: l, DiameterMM: in.SprueDiameterMM, ToMM: -l}},
		Flask:    flask, FunnelHeadMM: in.FunnelHeadMM, FunnelDiameterMM: in.FunnelDiameterMM}
}

// TestAFlaskOfOneIsThePieceByItself: the same channels give the same answer. The
// bangle's sprue is cut into three cells both ways.
func TestAFlaskOfOneIsThePieceByItself(t *testing.T) {
	for _, posture := range []string{"standing", "lying"} {
		in := bangle(1.2, posture)
		in.Improvements = false
		want, err := Follow(t.Context(), in)
		require.NoError(t, err)
		got, err := FollowShared(t.Context(), alone(in, want.Flask), none)
		require.NoError(t, err)
		require.Len(t, got, 1)
		require.Equal(t, want.Chance, got[0].Chance, posture)
		require.Equal(t, want.Risks, got[0].Risks, posture)
		require.Equal(t, want.Map, got[0].Map, posture)
		require.InDelta(t, want.Flask.SpillGapMM, got[0].Flask.SpillGapMM, 1e-9)
		require.InDelta(t, want.Nominal.HeadMM, got[0].Nominal.HeadMM, 1e-9)
		require.InDelta(t, want.Nominal.PourTimeS, got[0].Nominal.PourTimeS, 1e-9)
		require.InDelta(t, want.Feeding.SprueFreezeS, got[0].Feeding.SprueFreezeS, 1e-6)
	}
}

// none is no change.
func none() []Change { return nil }

// bar is a straight bar that hangs under its gate.
func bar(thick float64) In {
	in := calc.Default[In]()
	in.Piece, in.LengthMM, in.Improvements = "bar", 30, false
	in.Section.Shape, in.Section.ThicknessMM, in.Section.WidthMM = "rectangular", thick, 5
	in.SprueDiameterMM, in.SprueLengthMM = 3, 4
	return in
}

// onRunner hangs bars 14 mm apart under a level runner of 5 mm, the sprue above
// its middle; the nearest come first.
func onRunner(posture string, bars ...In) Shared {
	const level, apart = -20.0, 14.0
	s := Shared{FunnelHeadMM: 12, FunnelDiameterMM: 16, Channels: []Channel{{From: Funnel, To: 1, LengthMM: 20, DiameterMM: 5, ToMM: level}}}
	gate := level
	if posture == "standing" {
		gate -= 4
	}
	ends := map[bool]struct {
		node int
		x    float64
	}{false: {1, 0}, true: {1, 0}}
	for i, in := range bars {
		in.Posture = posture
		x := apart * float64((i+1)/2) * float64(1-2*(i%2))
		if len(bars)%2 == 0 {
			x = apart * (float64(i/2) + 0.5) * float64(1-2*(i%2))
		}
		end := ends[x < 0]
		if x != 0 {
			node := 1 + len(s.Channels)
			s.Channels = append(s.Channels, Channel{From: end.node, To: node, LengthMM: math.Abs(x) - end.x, DiameterMM: 5, FromMM: level, ToMM: level, Turns: end.x == 0})
			end.node, end.x = node, math.Abs(x)
			ends[x < 0] = end
		}
		s.Pieces = append(s.Pieces, Part{In: in, Field: fmt.Sprintf("pieces[%d]", i), Junction: 1 + len(s.Channels), GateMM: gate})
		s.Channels = append(s.Channels, Channel{From: end.node, To: 1 + len(s.Channels), LengthMM: 4, DiameterMM: 3, FromMM: level, ToMM: gate, Turns: true})
	}
	return s
}

// TestTwoAlikeInOneFlask: mirror images on one runner meet the same risk, and
// nothing is lost or won on the way.
func TestTwoAlikeInOneFlask(t *testing.T) {
	for _, posture := range []string{"standing", "lying"} {
		s := onRunner(posture, bar(1), bar(1), bar(1))
		outs, err := FollowShared(t.Context(), s, none)
		require.NoError(t, err)
		require.Len(t, outs, 3)
		// Order of the pieces: the one under the sprue, then left and right of it.
		assert.InDelta(t, outs[1].FailurePct, outs[2].FailurePct, 0.5, posture)
		for _, o := range outs {
			assert.Greater(t, o.Nominal.FilledPct, 99.0, posture)
		}
		jobs, err := s.prepare(t.Context())
		require.NoError(t, err)
		w := new(run)
		w.follow(jobs[0], jobs[0].pour(jobs[0].planned(), nil))
		heat, volume := w.Held()
		require.InEpsilon(t, w.Poured, volume+w.InFunnel(), 1e-9)
		given := jobs[0].metal.Rho * (w.Poured - w.InFunnel()) * w.poured.Enthalpy
		require.InEpsilon(t, given, heat+w.Heat, 1e-5) // as nothing else stir mixes: a millionth of an empty cell
	}
}

// TestAThinPieceBesideAThickOne: each has its own risk; the thick one is no worse
// for the thin one beside it than for its own like.
func TestAThinPieceBesideAThickOne(t *testing.T) {
	outs, err := FollowShared(t.Context(), onRunner("standing", bar(2), bar(0.5)), none)
	require.NoError(t, err)
	assert.Less(t, outs[0].FailurePct, 15.0)
	assert.Greater(t, outs[1].FailurePct, 60.0)
	assert.NotEqual(t, outs[0].Verdict, outs[1].Verdict)
}

// TestTheRunnerIsPartOfTheNetwork: its metal is poured, and the first metal comes
// later to a piece farther along it.
func TestTheRunnerIsPartOfTheNetwork(t *testing.T) {
	s := onRunner("standing", bar(2), bar(2), bar(2))
	jobs, err := s.prepare(t.Context())
	require.NoError(t, err)
	w := new(run)
	w.follow(jobs[0], jobs[0].pour(jobs[0].planned(), nil))
	w.judge(nil)
	first := map[int]float64{}
	for i := range w.cells {
		if c := &w.cells[i]; c.Piece != network.NoPiece {
			if at, seen := first[c.Piece]; !seen || c.Arrived < at {
				first[c.Piece] = c.Arrived
			}
		}
	}
	require.Less(t, first[0], first[1])
	require.InDelta(t, first[1], first[2], 1e-3)
	want := 3*30*2*5.0 + math.Pi/4*25*(20+28) + math.Pi/4*9*12 // mm³, by hand
	volume := 0.0
	for i := range w.cells {
		volume += 1e9 * w.cells[i].Volume
	}
	require.InEpsilon(t, want, volume, 1e-9)
}

// TestARefusalNamesThePiece of a flask.
func TestARefusalNamesThePiece(t *testing.T) {
	s := onRunner("standing", bar(2), bar(2))
	s.Pieces[1].Alloy = "no such alloy"
	_, err := FollowShared(t.Context(), s, none)
	var refusal *calc.Refusal
	require.ErrorAs(t, err, &refusal)
	require.Contains(t, fmt.Sprint(refusal.Faults[0].Field), "pieces[1]")
}

// TestChangesOfASharedFlask: only what helps the worst piece is told, with the
// figures that the changed flask itself has; where all is well nothing is tried.
func TestChangesOfASharedFlask(t *testing.T) {
	if testing.Short() {
		t.Skip("four flasks")
	}
	s := onRunner("standing", bar(1), bar(1), bar(1))
	for i := range s.Pieces {
		s.Pieces[i].RiskLimitPct = 5
	}
	hot, cold := s, s
	with := func(s *Shared, c float64) {
		s.Pieces = slices.Clone(s.Pieces)
		for i := range s.Pieces {
			s.Pieces[i].PourC = &c
		}
	}
	with(&s, 940)
	with(&hot, 1020)
	with(&cold, 930)
	outs, err := FollowShared(t.Context(), s, func() []Change {
		return []Change{{Name: "cooler", Do: "Pour it cooler.", Effort: 1, Shared: cold}, {Name: "hotter", Do: "Pour it hotter.", Effort: 1, Shared: hot}}
	})
	require.NoError(t, err)
	want, err := FollowShared(t.Context(), hot, none)
	require.NoError(t, err)
	for i, o := range outs {
		require.Len(t, o.Improvements, 1)
		require.Equal(t, "hotter", o.Improvements[0].Name)
		require.Equal(t, want[i].Chance, o.Improvements[0].Chance)
	}
	require.Contains(t, outs[1].Reasons[0].Do, "Pour it hotter.")

	thick := onRunner("standing", bar(3), bar(3))
	_, err = FollowShared(t.Context(), thick, func() []Change { t.Error("nothing to mend"); return nil })
	require.NoError(t, err)
}

// TestCellsOfMany: three pieces with a third more cells, as fewer get them.
func TestCellsOfMany(t *testing.T) {
	if testing.Short() {
		t.Skip("three flasks, each way")
	}
	const most = 2.0 // per cent, as for a piece by itself
	for _, thick := range []float64{2, 1, 0.7} {
		s := onRunner("standing", bar(thick), bar(thick), bar(thick))
		failures := func(cells int) []float64 {
			jobs, err := s.prepare(t.Context())
			require.NoError(t, err)
			net := jobs[0].net
			net.Spacing *= cellsOfMany / float64(cells)
			mesh := network.NewMesh(&net)
			for _, j := range jobs {
				j.mesh = mesh
			}
			risks, err := assessShared(t.Context(), jobs, studios, each)
			require.NoError(t, err)
			var list []float64
			for _, r := range risks {
				list = append(list, 100*r.failure())
			}
			return list
		}
		usual, fine := failures(cellsOfMany), failures(network.DefaultCells)
		t.Logf("%g mm: %.1f, with more cells %.1f", thick, usual, fine)
		for i := range usual {
			assert.InDelta(t, fine[i], usual[i], most, "%g mm", thick)
		}
	}
}

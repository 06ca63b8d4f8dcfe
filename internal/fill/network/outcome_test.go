package network

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/fluid"
)

// TestErfcx against values of exp x² erfc x from memory of tables, and at 4.999 by
// its slope, 2x erfcx − 2/√π, from that at 5.
func TestErfcx(t *testing.T) {
	for x, want := range map[float64]float64{0: 1, 1: 0.4275835762, 3: 0.1790011512, 4.999: 0.1107259, 5: 0.1107046377, 10: 0.0561409927} {
		require.InEpsilon(t, want, erfcx(x), 1e-5, "%g", x)
	}
}

func TestHeatSpreadsRoundANarrowChannel(t *testing.T) {
	r := Run{clay: &Clay{K: 0.6}, pour: Pour{Effusivity: 1.2}}
	require.InEpsilon(t, math.Pi*0.6*1.44/0.016, r.around(0.016), 1e-12)
}

// TestEachPieceHasItsOutcome: of two channels from one sprue one fills and the
// other is too narrow to enter.
func TestEachPieceHasItsOutcome(t *testing.T) {
	m := lumped()
	wide := Reach{From: 1, To: DeadEnd, Sections: channel(20e-3, 12e-6, 16e-3, 0, 20), Loss: fluid.TurnLoss, Piece: 0}
	slit := Reach{From: 1, To: DeadEnd, Sections: channel(20e-3, 1e-6, 10.2e-3, 0, 20), Loss: fluid.TurnLoss, Piece: 1}
	n := sprued(20e-3, wide, slit)
	n.Vents = []Vent{{Reach: 1, At: 0.74, Diameter: 1e-3, Length: 15e-3, Count: 2}, {Reach: 2, At: 0.1}}
	mesh := NewMesh(n)
	require.Len(t, mesh.vents, 1, "those of which there are none are left out")
	v := &mesh.cells[mesh.vents[0].cell]
	require.Equal(t, 1, v.reach)
	require.InDelta(t, 0.74, v.at, v.size/2+1e-9)
	var r Run
	r.Follow(mesh, &m, &clay, practised())
	first, second, all := r.Outcome(0), r.Outcome(1), r.Outcome(NoPiece)
	require.Zero(t, first.Empty)
	require.InDelta(t, 1, second.Empty, 1e-9)
	require.InDelta(t, 1e-6/13e-6, all.Empty, 1e-9)
	require.Less(t, first.Full, 2.0)
	require.True(t, math.IsInf(second.Full, 1) && math.IsInf(all.Full, 1))
	require.True(t, math.IsInf(first.Cold, 1), "one stream meets none")
	cells := r.Cells(nil)
	least, count := math.Inf(1), 0.0
	for i, c := range cells {
		require.InDelta(t, mesh.cells[i+1].area, c.Perimeter*c.Modulus, 1e-12)
		if c.Piece == 0 && c.Reach == 1 {
			count++
			least = min(least, (c.Coldest-r.StopEnthalpy())/(practised().Enthalpy-r.StopEnthalpy()))
			require.InDelta(t, (count-0.5)*c.Size, c.At, 1e-12)
		}
	}
	require.InDelta(t, least, first.Misrun, 1e-12)
	floor := (m.AtSolid(emptySolid) - r.StopEnthalpy()) / (practised().Enthalpy - r.StopEnthalpy())
	require.InDelta(t, floor-1, second.Misrun, 1e-9)
	require.InDelta(t, floor-all.Empty, all.Misrun, 1e-9)
}

// TestUntilEnthalpy: in clay that takes all heat at once what is left is contact,
// t = M ρ ΔH/(h ΔT).
func TestUntilEnthalpy(t *testing.T) {
	m := lumped()
	r := Run{metal: &m, clay: &Clay{K: 1e-9, StartC: 25}, eff: 1e9, pour: Pour{Interface: 500}}
	from, to := enthalpy(980), enthalpy(920)
	c := Cell{Enthalpy: from, Modulus: 1e-3, Perimeter: 0.016}
	require.InEpsilon(t, 1e-3*m.Rho*(from-to)/(500*(950-25)), r.UntilEnthalpy(&c, to), 1e-3)
	c.Taken = 3e5 // heat that contact alone has let through does not age the clay
	require.InEpsilon(t, 1e-3*m.Rho*(from-to)/(500*(950-25)), r.UntilEnthalpy(&c, to), 1e-3)
	require.Zero(t, r.UntilEnthalpy(&c, from))
}

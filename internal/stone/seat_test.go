package stone

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/section"
)

func brilliant(t require.TestingT, mm float64) solid {
	m, err := Proportions(RoundBrilliant, mm, mm, 0.61*mm, 0, 0)
	require.NoError(t, err)
	r, _ := ruleOf(RoundBrilliant)
	return solid{m, r}
}

// Young-Laplace limits against the table computed for silver and sterling
// silver: slit and round channel, contact angle and head.
func TestCapillaryTable(t *testing.T) {
	const printed = 0.0012 // mm: three decimals, g as 9.81
	for _, row := range []struct{ gamma, rho, theta, head, slit float64 }{
		{0.966, 9320, 180, 20, 1.057}, {0.966, 9320, 180, 50, 0.423}, {0.966, 9320, 180, 100, 0.211}, {0.966, 9320, 140, 50, 0.324},
		{0.95, 9180, 140, 50, 0.323}, {1.169, 17310, 140, 50, 0.211}, {1.303, 8020, 140, 50, 0.507},
	} {
		c := capillary{row.gamma, row.rho, row.head}
		require.InDelta(t, row.slit, c.slit(row.theta), printed)
		require.InDelta(t, row.slit, c.tip(row.theta), printed, "a hemisphere of that radius")
		require.InEpsilon(t, row.head, c.headFor(c.tip(sureDeg), sureDeg), 1e-12)
	}
}

// The meniscus in a wedge, by construction: a circle of radius γ/ρgh that
// touches both sides (contact angle 180°) meets them r/tan(half the angle)
// from the edge.
func TestWedgeMeniscus(t *testing.T) {
	c := capillary{0.966, 9320, 50}
	r := c.radius()
	for _, angle := range []float64{20, 34.5, 45, 90} {
		a := angle * math.Pi / 180
		require.InEpsilon(t, r/math.Tan(a/2)*math.Sin(a), c.wedge(angle, 180), 1e-9)
		require.InEpsilon(t, r*(1+math.Cos(a)), c.wedge(angle, 180), 1e-9)
		require.Less(t, c.wedge(angle, 140), c.wedge(angle, 180))
	}
	require.Zero(t, c.wedge(60, 100), "a melt that nearly wets runs into the edge")
}

// Area and share of the body below a depth, against cone, cylinder and frustum.
func TestSolidOfABrilliant(t *testing.T) {
	s := brilliant(t, 4)
	r, f := 2.0, s.TableMM/2
	crown := s.CrownMM / 3 * (r*r + r*f + f*f)
	belt, cone := s.GirdleMM*r*r, s.PavMM*r*r/3
	require.InEpsilon(t, (belt+cone)/(crown+belt+cone), s.inMetal(s.CrownMM), 1e-9)
	require.InEpsilon(t, 1, s.inMetal(0), 1e-12)
	require.Zero(t, s.inMetal(s.DepthMM))
	require.InEpsilon(t, 4*s.GirdleMM+4*s.PavMM/2, s.shadow(s.CrownMM, 4), 1e-9)
	// a sphere: half of it below the middle, a half disc in the flow
	m, err := Proportions(Bead, 4, 4, 4, 0, 0)
	require.NoError(t, err)
	rule, _ := ruleOf(Bead)
	ball := solid{m, rule}
	require.InDelta(t, 0.5, ball.inMetal(2), 1e-9)
	require.InEpsilon(t, math.Pi*2*2/2, ball.shadow(2, 4), 1e-3)
}

func anySeat(t *rapid.T) (solid, capillary, Grains, section.Section, Seat) {
	draw := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	r := rapid.SampledFrom(cutRules).Draw(t, "cut")
	w := draw("width", 0.5, 10)
	l := w * draw("ratio", 1, 2)
	m, err := Proportions(r.cut, l, w, w*r.depth[0]/100, 0, 0)
	require.NoError(t, err)
	s := solid{m, r}
	c := capillary{draw("gamma", 0.6, 1.3), draw("rho", 8000, 18000), draw("head", 2, 300)}
	g := grainsFor(s, c, rapid.IntRange(0, 8).Draw(t, "grains"), 0, 100, 5, 50)
	sec := section.Section{Shape: rapid.SampledFrom(section.Shapes).Draw(t, "shape"), ThicknessMM: draw("thick", 0.5, 12), WidthMM: draw("wide", 1, 20)}
	return s, c, g, sec, seatFor(s, 1, site{sec, draw("radius", 0, 60), w}, c, g, draw("show", 5, 95), 0)
}

// A press window is never negative, and never empty without a reason; its
// depths keep the girdle out of the clay and the table out of the metal.
func TestPressWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, _, _, sec, seat := anySeat(t)
		for _, w := range []PressWindow{seat.Window, seat.LipWindow, seat.GrainWindow} {
			require.Equal(t, w.LowMM == nil, w.HighMM == nil)
			require.Equal(t, w.Empty(), w.Reason != "", "%+v", w)
			if !w.Empty() {
				require.LessOrEqual(t, *w.LowMM, *w.HighMM)
				require.Positive(t, *w.LowMM)
				require.LessOrEqual(t, *w.HighMM, seat.BuriedMM)
				require.GreaterOrEqual(t, *w.LowMM, seat.DrownedMM-1e-12)
			}
		}
		require.Equal(t, seat.Window.Empty(), seat.HoldBy == "nothing")
		require.True(t, seat.PressMM >= 0 && seat.PressMM <= s.DepthMM)
		require.True(t, seat.FlowTakenMM2 >= 0 && seat.DisplacedMM3 >= 0 && seat.DisplacedMM3 <= 1+1e-9)
		require.True(t, seat.HoleBehindMM >= 0 && seat.HoleBehindMM <= s.LengthMM)
		require.Equal(t, seat.Carried, seat.ThicknessMinMM <= sec.ThicknessMM+1e-9 && seat.WidthMinMM <= sec.Width()+2e-9)
	})
}

// Twice every length at half the head is the same picture twice as large, as
// surface tension then scales too; but for the fixed measures of the bench.
func TestSeatScales(t *testing.T) {
	for _, mm := range []float64{3, 5} {
		c, c2 := capillary{0.95, 9200, 100}, capillary{0.95, 9200, 50}
		one, two := brilliant(t, mm), brilliant(t, 2*mm)
		g, g2 := grainsFor(one, c, 4, 0, 100, 5, 50), grainsFor(two, c2, 4, 0, 100, 20, 50)
		require.InEpsilon(t, 2*g.DiameterMM, g2.DiameterMM, 1e-9)
		require.InEpsilon(t, 2*g.BiteMM, g2.BiteMM, 1e-6)
		require.InEpsilon(t, 4*g.GripN, g2.GripN, 1e-9, "force goes with area")
		require.Equal(t, g.Fills, g2.Fills)
		a := seatFor(one, 1, site{section.Section{Shape: section.Rectangular, ThicknessMM: 6, WidthMM: 20}, 30, mm}, c, g, 50, 0)
		b := seatFor(two, 8, site{section.Section{Shape: section.Rectangular, ThicknessMM: 12, WidthMM: 40}, 60, 2 * mm}, c2, g2, 50, 0)
		require.InEpsilon(t, 2*a.DrownedMM, b.DrownedMM, 1e-9)
		require.InEpsilon(t, 2*a.BuriedMM, b.BuriedMM, 1e-9)
		require.InEpsilon(t, 2*a.LipShortMM, b.LipShortMM, 1e-9)
		require.InEpsilon(t, 2*a.FaceFallsMM, b.FaceFallsMM, 1e-9)
	}
}

// More head never takes a window away, and opens the lip's.
func TestHeadHelps(t *testing.T) {
	s := brilliant(t, 3)
	sec := section.Section{Shape: section.Rectangular, ThicknessMM: 4, WidthMM: 9}
	last := Seat{}
	for head := 10.0; head <= 300; head += 10 {
		c := capillary{0.95, 9200, head}
		seat := seatFor(s, 1, site{sec, 0, 3}, c, grainsFor(s, c, 4, 0, 100, 5, 50), 50, 0)
		if !last.Window.Empty() {
			require.False(t, seat.Window.Empty(), "%g mm", head)
		}
		last = seat
	}
	require.Equal(t, "lip", last.HoldBy)
}

// Half of each grain over the stone, by the exact area of two circles; the
// closed form at equal radii is Abramowitz-style circle segments.
func TestGrainOverStone(t *testing.T) {
	require.InEpsilon(t, math.Pi, lens(1, 2, 0.5), 1e-12, "inside")
	require.Zero(t, lens(1, 2, 3))
	require.InEpsilon(t, 2*math.Pi/3-math.Sqrt(3)/2, lens(1, 1, 1), 1e-12) // vesica: two circles through each other's middles
	rapid.Check(t, func(t *rapid.T) {
		s := brilliant(t, rapid.Float64Range(1, 8).Draw(t, "stone"))
		r := s.WidthMM * rapid.Float64Range(0.05, 0.25).Draw(t, "grain")
		g := s.girdle()
		at, normal := g.at(g.towards(rapid.Float64Range(0, 360).Draw(t, "direction")))
		offset, share := grainOffset(s, g, at, normal, r)
		require.InDelta(t, 0.5, share, 1e-9)
		require.True(t, offset < 0 && offset > -r, "a little inside the girdle, as the edge is curved")
	})
}

// The half-disc's bending: second moment 0.1098 r⁴ about its own axis and
// centroid 4r/3π (Roark, Formulas for Stress and Strain, table of sections,
// from memory) by direct integration.
func TestGrainSection(t *testing.T) {
	const n = 4000
	area, first, second := 0.0, 0.0, 0.0
	for i := range n {
		y := (float64(i) + 0.5) / n
		strip := 2 * math.Sqrt(1-y*y) / n
		area += strip
		first += strip * y
		second += strip * y * y
	}
	centroid := first / area
	modulus := (second - area*centroid*centroid) / (1 - centroid)
	require.InDelta(t, 4/(3*math.Pi), centroid, 1e-4)
	require.InDelta(t, 0.1907, modulus, 2e-4)
	require.InEpsilon(t, math.Min(0.577*50*math.Pi/2, 50*modulus/centroid)*0.09, grainGrip(0.3, 50), 2e-3)
}

func TestLargestGrainsDoNotTouch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, _, g, _, _ := anySeat(t)
		if g.Count < 2 || !round(s) || g.DiameterMM > g.LargestMM {
			return
		}
		for i, a := range g.Places {
			for _, b := range g.Places[:i] {
				require.GreaterOrEqual(t, math.Hypot(a.AlongMM-b.AlongMM, a.AcrossMM-b.AcrossMM), grainSpaces*g.DiameterMM-1e-6)
			}
		}
	})
}

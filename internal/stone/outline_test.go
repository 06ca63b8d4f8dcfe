package stone

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Areas over length × width by hand from the arcs: an ellipse π/4, a cushion of
// power 3 from the gamma function, an emerald cut less its four corners, a
// triangle with parabolas on its sides; marquise, pear and heart to the three digits of the same
// arcs worked apart.
func TestOutlineAreas(t *testing.T) {
	third := math.Gamma(1 + 1/cushionPower)
	for _, row := range []struct {
		o         outline
		l, w      float64
		share     float64
		tolerance float64 // polygon of arcSteps for each arc, or the last digit printed
	}{
		{ellipse, 1.5, 1, math.Pi / 4, 1e-3},
		{superellipse, 1, 1, third * third / math.Gamma(1+2/cushionPower), 1e-3},
		{box, 2, 1, 1, 1e-12},
		{cropped, 1.5, 1, 1 - 2/36./1.5, 1e-12},
		{wedge, 1, 1, (math.Sqrt(3)/4 + 3*2./3*wedgeBulge) / (math.Sqrt(3)/2 + wedgeBulge), 1e-3}, // parabolas over three chords
		{marquise, 2, 1, 0.699, 1e-3},
		{pear, 1.5, 1, 0.728, 1e-3},
		{pear, 1.67, 1, 0.719, 1e-3},
		{heart, 0.914, 1, 0.670, 1e-3},
	} {
		g := girdleOf(row.o, 3*row.l, 3*row.w)
		require.InDelta(t, row.share, g.area()/(9*row.l*row.w), row.tolerance, "outline %d", row.o)
		var low, high point
		for _, p := range g.edge {
			low, high = point{min(low.x, p.x), min(low.y, p.y)}, point{max(high.x, p.x), max(high.y, p.y)}
		}
		const vertex = 0.01 // of the measure: a curve's extreme lies between two vertices
		require.InEpsilon(t, 3*row.l, high.x-low.x, vertex)
		require.InEpsilon(t, 3*row.w, high.y-low.y, vertex)
	}
}

// The angle at the point: 2 atan of the arc's slope there. Marquise 2 : 1 and
// pear 1.5 : 1 both 106°, pear 1.67 : 1 93°, worked apart.
func TestPointAngles(t *testing.T) {
	for _, row := range []struct {
		o      outline
		l, deg float64
	}{{marquise, 2, 106}, {pear, 1.5, 106}, {pear, 1.67, 93}, {heart, 0.914, 90}} {
		g := girdleOf(row.o, row.l, 1)
		tip := g.points[0]
		at := 0
		for i, p := range g.edge {
			if math.Hypot(p.x-tip.x, p.y-tip.y) < 1e-9 {
				at = i
			}
		}
		n := len(g.edge)
		before, after := g.edge[(at+n-1)%n], g.edge[(at+1)%n]
		angle := math.Atan2(after.y-tip.y, after.x-tip.x) - math.Atan2(before.y-tip.y, before.x-tip.x)
		require.InDelta(t, row.deg, math.Abs(math.Remainder(angle*180/math.Pi, 360)), 2, "chords of one step for tangents")
	}
}

// The part of a disc inside a circle's polygon against the exact lens of two circles.
func TestCoveredAgainstLens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		big, r := rapid.Float64Range(0.5, 5).Draw(t, "stone"), rapid.Float64Range(0.1, 2).Draw(t, "disc")
		d, turn := rapid.Float64Range(0, 8).Draw(t, "apart"), rapid.Float64Range(0, 6.28).Draw(t, "turn")
		g := girdleOf(ellipse, 2*big, 2*big)
		got := g.covered(point{d * math.Cos(turn), d * math.Sin(turn)}, r)
		require.InDelta(t, lens(big, r, d), got, 1e-3*math.Pi*big*big, "a polygon of 192 sides lacks 0.02 % of its circle")
	})
	g := girdleOf(box, 4, 2)
	require.InEpsilon(t, math.Pi/4, g.covered(point{2, 1}, 1), 1e-9, "a quarter at a corner")
	require.InEpsilon(t, math.Pi/2, g.covered(point{0, 1}, 1), 1e-9, "half on an edge")
	offset, share := g.straddle(point{0, 1}, point{0, 1}, 0.3)
	require.InDelta(t, 0, offset, 1e-9)
	require.InDelta(t, 0.5, share, 1e-9)
}

// An outline for drawing is as large as the stone.
func TestOutlinesAreAsLargeAsTheStone(t *testing.T) {
	const drawn = 0.01 // mm, of the points on a curve
	for _, r := range cutRules {
		edge := Outline(r.cut, 4, 3)
		low, high := edge[0], edge[0]
		for _, p := range edge {
			for k := range 2 {
				low[k], high[k] = min(low[k], p[k]), max(high[k], p[k])
			}
		}
		require.InDelta(t, 4, high[0]-low[0], drawn, r.cut)
		require.InDelta(t, 3, high[1]-low[1], drawn, r.cut)
	}
}

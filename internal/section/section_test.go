package section

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestEllipsePerimeter(t *testing.T) {
	const printed = 5e-7 // mm: last printed digit
	for _, c := range []struct{ a, b, want float64 }{
		// Full axes 60×60 … 70×50 mm, by numerical integration of E(e).
		{30, 30, 188.495559}, {30, 25, 173.144780}, {32.5, 27.5, 188.822951}, {32.5, 22.5, 174.218568}, {35, 25, 189.806845},
	} {
		require.InDelta(t, c.want, EllipsePerimeter(c.a, c.b), printed)
		require.InDelta(t, c.want, EllipsePerimeter(c.b, c.a), printed)
	}
}

func TestBandVolume(t *testing.T) {
	// US 7 band of 4 × 1.5 mm: V = π w t (d + t) = 354.80 mm³ at d = 17.3228 mm.
	s := Section{Rectangular, 1.5, 4}
	require.InDelta(t, 354.80, s.RingVolume(17.3228), 0.005)
	// A round wire: torus of radii 30 and 1.5 mm, 2π²Rr² (Pappus).
	require.InDelta(t, 2*math.Pi*math.Pi*30*1.5*1.5, Section{Shape: Round, ThicknessMM: 3}.RingVolume(57), 1e-9)
}

// quadrature integrates a section's outline, as a check on the closed forms.
func quadrature(s Section) (area, moment, perimeter float64) {
	const n = 200000
	w, t := s.Width(), s.ThicknessMM
	lower := func(x float64) float64 {
		switch s.Shape {
		case Round, Oval:
			return t/2 - t/2*math.Sqrt(max(0, 1-x*x))
		case Comfort:
			return t/4 - t/4*math.Sqrt(max(0, 1-x*x))
		}
		return 0
	}
	upper := func(x float64) float64 {
		arch := math.Sqrt(max(0, 1-x*x))
		switch s.Shape {
		case Round, Oval:
			return t/2 + t/2*arch
		case HalfRound:
			return t * arch
		case D:
			return t/2 + t/2*arch
		case KnifeEdge:
			return t * (1 - math.Abs(x))
		}
		return t
	}
	for i := range n {
		a, b := math.Pi*float64(i)/n, math.Pi*float64(i+1)/n // x = −cos: fine at the ends
		x0, x1 := -math.Cos(a), -math.Cos(b)
		dx := (x1 - x0) * w / 2
		u, l := (upper(x0)+upper(x1))/2, (lower(x0)+lower(x1))/2
		area += (u - l) * dx
		moment += (u*u - l*l) / 2 * dx
		perimeter += math.Hypot(dx, upper(x1)-upper(x0)) + math.Hypot(dx, lower(x1)-lower(x0))
	}
	perimeter += upper(-1) - lower(-1) + upper(1) - lower(1) // upright ends
	return area, moment, perimeter
}

func TestClosedFormsAgainstQuadrature(t *testing.T) {
	const tol = 1e-6 // relative: the quadrature's own error at 200,000 steps
	for _, s := range []Section{{Shape: Round, ThicknessMM: 3}, {Oval, 2, 5}, {HalfRound, 2.2, 6}, {Rectangular, 1.5, 4}, {D, 2, 5}, {KnifeEdge, 3, 4}, {Comfort, 2, 5}} {
		area, moment, perimeter := quadrature(s)
		require.InEpsilon(t, area, s.Area(), tol, s.Shape)
		require.InEpsilon(t, moment/area, s.Centroid(), tol, s.Shape)
		require.InEpsilon(t, perimeter, s.Perimeter(), tol, s.Shape)
	}
}

func TestOutlineEnclosesTheSection(t *testing.T) {
	const tol = 2e-3 // relative: 96 chords, of which a round section spends all on its circle: 6.6/96²; an eighth of them on a quarter ellipse
	rapid.Check(t, func(t *rapid.T) {
		s := anySection(t)
		o := s.Outline()
		area, moment, perimeter, low, high := 0.0, 0.0, 0.0, math.Inf(1), math.Inf(-1)
		for i, a := range o {
			b := o[(i+1)%len(o)]
			cross := a[0]*b[1] - b[0]*a[1]
			area += cross / 2
			moment += cross * (a[1] + b[1]) / 6
			perimeter += math.Hypot(b[0]-a[0], b[1]-a[1])
			low, high = min(low, a[1]), max(high, a[1])
			lo, hi := s.Span(a[0])
			require.LessOrEqual(t, lo, a[1]+1e-9)
			require.GreaterOrEqual(t, hi, a[1]-1e-9)
			require.LessOrEqual(t, min(a[1]-lo, hi-a[1]), 1e-9*s.ThicknessMM+s.sideways(a[0]), "every place of the outline is at one end of its span")
		}
		require.InEpsilon(t, s.Area(), area, tol)
		require.InEpsilon(t, s.Centroid(), moment/area, tol)
		require.InEpsilon(t, s.Perimeter(), perimeter, tol)
		require.InDelta(t, s.ThicknessMM, high-low, tol*s.ThicknessMM)
	})
}

// sideways is the height of an upright side where u lies on it, else 0.
func (s Section) sideways(u float64) float64 {
	if math.Abs(math.Abs(u)-s.Width()/2) < 1e-9 {
		return s.ThicknessMM
	}
	return 0
}

func anySection(t *rapid.T) Section {
	return Section{
		rapid.SampledFrom(Shapes).Draw(t, "shape"),
		rapid.Float64Range(0.1, 20).Draw(t, "thickness"),
		rapid.Float64Range(0.1, 20).Draw(t, "width"),
	}
}

func TestScaling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, k := anySection(t), rapid.Float64Range(0.5, 4).Draw(t, "k")
		big := Section{s.Shape, k * s.ThicknessMM, k * s.WidthMM}
		require.InEpsilon(t, k*k*s.Area(), big.Area(), 1e-12)
		require.InEpsilon(t, k*s.Perimeter(), big.Perimeter(), 1e-9)
		require.InEpsilon(t, k*s.Modulus(), big.Modulus(), 1e-9)
		require.Greater(t, s.Centroid(), 0.0)
		require.Less(t, s.Centroid(), s.ThicknessMM)
	})
}

func TestProfileOfOneSectionIsTheBar(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, d := anySection(t), rapid.Float64Range(10, 80).Draw(t, "d")
		require.InEpsilon(t, s.RingVolume(d), Uniform(s).RingVolume(d), 1e-9)
		require.InEpsilon(t, 50*s.Area(), Uniform(s).Volume(50), 1e-9)
	})
}

func TestTaperedWedgeVolume(t *testing.T) {
	// A wedge of square ends a and b: V = L (a² + ab + b²)/3, the frustum of a pyramid.
	p := Profile{{0, Section{Rectangular, 2, 2}}, {100, Section{Rectangular, 5, 5}}}
	require.InEpsilon(t, 30*(4+10+25)/3.0, p.Volume(30), 1e-7)
}

func TestProfileIsContinuousAndClamped(t *testing.T) {
	p := Profile{{20, Section{HalfRound, 2, 6}}, {50, Section{HalfRound, 1, 6}}, {80, Section{HalfRound, 2, 6}}}
	require.NoError(t, p.Check())
	require.Equal(t, 2.0, p.At(0).ThicknessMM)
	require.Equal(t, 2.0, p.At(1).ThicknessMM)
	require.InDelta(t, 1.5, p.At(0.35).ThicknessMM, 1e-12)
	thickness, at := p.Thinnest()
	require.Equal(t, 1.0, thickness)
	require.Equal(t, 0.5, at)
}

func TestProfileCheckNamesThePlace(t *testing.T) {
	err := Profile{{50, Section{HalfRound, 2, 6}}, {50, Section{"square", 2, 6}}}.Check()
	require.ErrorContains(t, err, "[1].shape")
	require.ErrorContains(t, err, "[1].at_pct")
	require.Error(t, Profile{}.Check())
}

// TestCheckHoldsTheBounds: what the fields say is accepted is, and no more.
func TestCheckHoldsTheBounds(t *testing.T) {
	for _, s := range []Section{{Round, 0.1, 0}, {Round, 60, 0}, {HalfRound, 60, 200}, {D, 0.1, 0.1}} {
		require.NoError(t, s.Check(), "%+v", s)
	}
	for field, list := range map[string][]Section{
		"thickness_mm": {{Round, 0.09, 0}, {Round, 60.1, 0}, {Round, math.NaN(), 0}},
		"width_mm":     {{HalfRound, 2, 0}, {HalfRound, 2, 0.09}, {HalfRound, 2, 201}, {HalfRound, 2, math.Inf(1)}},
		"shape":        {{"square", 2, 2}},
	} {
		for _, s := range list {
			require.ErrorContains(t, s.Check(), field, "%+v", s)
		}
	}
}

// TestMeanOverAJumpOfShape: half the way rectangular, half a knife edge of the
// same measures: the mean of t·w and t·w/2.
func TestMeanOverAJumpOfShape(t *testing.T) {
	p := Profile{{0, Section{Rectangular, 2, 6}}, {100, Section{KnifeEdge, 2, 6}}}
	require.InEpsilon(t, (12.0+6)/2, p.Mean(Section.Area), 1e-9)
}

func TestCircular(t *testing.T) {
	require.True(t, Circular(18, 18.009))
	require.True(t, Circular(18.009, 18))
	require.False(t, Circular(18, 18.02))
	require.False(t, Circular(18.02, 18))
	require.False(t, Circular(58, 48))
}

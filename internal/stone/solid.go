package stone

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// solid is a stone as a body of revolution, stretched to its length: facets
// straight, domes elliptic.
type solid struct {
	Measures
	rule cutRule
}

// girdle is the stone's outline seen from above.
func (s solid) girdle() girdle { return girdleOf(s.rule.outline, s.LengthMM, s.WidthMM) }

// crownArea is the area of the crown seen from above, round the table, mm².
func (s solid) crownArea(g girdle) float64 {
	if s.rule.dome {
		return g.area()
	}
	table := s.TableMM / s.WidthMM
	return g.area() * (1 - table*table)
}

// half returns half the width at depth z below the table, mm.
func (s solid) half(z float64) float64 {
	r := s.WidthMM / 2
	switch {
	case z < 0 || z > s.DepthMM:
		return 0
	case z < s.CrownMM:
		if s.rule.dome {
			x := (s.CrownMM - z) / s.CrownMM
			return r * math.Sqrt(1-x*x)
		}
		return s.TableMM/2 + (r-s.TableMM/2)*z/s.CrownMM
	case z <= s.CrownMM+s.GirdleMM || s.rule.flat:
		return r
	}
	x := (z - s.CrownMM - s.GirdleMM) / s.PavMM
	if s.rule.dome {
		return r * math.Sqrt(max(0, 1-x*x))
	}
	return r * (1 - x)
}

// below integrates f of the half-width from depth p to the culet.
func (s solid) below(p float64, f func(half float64) float64) float64 {
	sum, from := 0.0, p
	for _, to := range []float64{s.CrownMM, s.CrownMM + s.GirdleMM, s.DepthMM} {
		if to > from {
			sum += quad.Fixed(func(z float64) float64 { return f(s.half(z)) }, from, to, 24, quad.Legendre{}, 0)
			from = to
		}
	}
	return sum
}

// inMetal returns the share of the volume below depth p, 0 to 1.
func (s solid) inMetal(p float64) float64 {
	square := func(h float64) float64 { return h * h }
	return s.below(p, square) / s.below(0, square)
}

// shadow returns the area in mm² that the stone below depth p takes from a
// flow past it, when its measure across the flow is acrossMM.
func (s solid) shadow(p, acrossMM float64) float64 {
	return s.below(p, func(h float64) float64 { return 2 * h }) * acrossMM / s.WidthMM
}

// volume returns the stone's volume in mm³ by the cut's estimation constant.
func (s solid) volume() float64 {
	return s.rule.k / 0.005 * s.rule.measure(s.LengthMM, s.WidthMM, s.DepthMM)
}

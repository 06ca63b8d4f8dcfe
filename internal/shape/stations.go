package shape

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/section"
)

// Station is the section at a place of the way.
type Station struct {
	AtPct       float64         // place along the way, percent of its length
	AtMM        float64         // mm along the middle of the sections
	Section     section.Section // its form, thickness and width, or the nearest to it
	ThicknessMM float64
	WidthMM     float64
	AreaMM2     float64 // across the way
	PerimeterMM float64
	CentroidMM  float64 // from the innermost place to the centre of the area
	Centre      r3.Vec  // of the area, mm
	Along       r3.Vec  // unit vector of the way
	Out         r3.Vec  // unit vector of the thickness
	curvature   float64
}

// ModulusMM is area over perimeter, which decides how long the metal stays liquid.
func (s *Station) ModulusMM() float64 { return s.AreaMM2 / s.PerimeterMM }

// Stations returns n+1 sections, evenly spaced along the middle line from the
// start of the way to its end; of a closed one the last is the first again.
func (b *Body) Stations(n int) []Station {
	list := make([]Station, n+1)
	for i := range list {
		list[i] = b.Station(100 * float64(i) / float64(n))
	}
	return list
}

// Station returns the section at a place in percent of the length of the way.
func (b *Body) Station(atPct float64) Station {
	if b.scanned != nil {
		return b.scanned.station(atPct)
	}
	f := b.fraction(atPct / 100)
	g := b.path.at(f)
	c := b.cutAt(f)
	area, perimeter, v := c.measures()
	steep := g.steep(v)
	s := Station{AtPct: atPct, AtMM: atPct / 100 * b.sums.length, Section: c.Section, ThicknessMM: c.ThicknessMM, WidthMM: c.Width(),
		AreaMM2: area, PerimeterMM: perimeter, CentroidMM: v, Centre: r3.Add(g.at, r3.Scale(v, g.out)), Out: g.out, curvature: g.curvature}
	s.Along = r3.Unit(r3.Add(r3.Scale(g.speed*(1+g.curvature*v), g.along), r3.Vec{Z: g.rise}))
	if steep > 1 { // the section across the way is as wide as given, the upright one wider
		s.Out = g.out
	}
	return s
}

// fraction finds the fraction of the path where the middle line has run a
// fraction of its length.
func (b *Body) fraction(run float64) float64 {
	whole := math.Floor(run)
	if !b.Kind.Closed() || run == 1 {
		whole = 0
	}
	goal := (run - whole) * b.sums.length
	i := sort.Search(fine, func(i int) bool { return b.sums.at[i+1] >= goal })
	i = min(i, fine-1)
	step := b.sums.at[i+1] - b.sums.at[i]
	x := 0.0
	if step > 0 {
		x = (goal - b.sums.at[i]) / step
	}
	from, to := b.pace(float64(i)/fine), b.pace(float64(i+1)/fine)
	return min(max(from+x*(to-from), 0), 1)
}

// run is where a fraction of the path lies, in percent of the middle line.
func (b *Body) run(f float64) float64 {
	i := sort.Search(fine, func(i int) bool { return b.pace(float64(i+1)/fine) >= f })
	return 100 * b.sums.at[min(i+1, fine)] / b.sums.length
}

// Profile is the sections along the way, n+1 of them, by which a straight or
// round channel of sections is followed.
func (b *Body) Profile(n int) section.Profile {
	p := make(section.Profile, 0, n+1)
	for _, s := range b.Stations(n) {
		p = append(p, section.Station{AtPct: s.AtPct, Section: s.Section})
	}
	return p
}

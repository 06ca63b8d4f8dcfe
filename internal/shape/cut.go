package shape

import (
	"math"

	"pourwright/internal/section"
)

// cut is a section, or a blend of two: the outline lies between theirs.
type cut struct {
	section.Section // the nearer form with the cut's own measures
	from, to        section.Section
	mix             float64 // 0 is from, 1 is to
}

func plain(s section.Section) cut { return cut{s, s, s, 0} }

// blend runs from s to t as mix rises from 0 to 1. Sections of one form blend
// in their measures.
func blend(s, t section.Section, mix float64) cut {
	l := s.Lerp(t, mix)
	if s.Shape == t.Shape || mix <= 0 || mix >= 1 {
		return plain(l)
	}
	// The same measures at either end, so that only the form is blended.
	s.ThicknessMM, s.WidthMM = l.ThicknessMM, l.WidthMM
	t.ThicknessMM, t.WidthMM = l.ThicknessMM, l.WidthMM
	for _, r := range []*section.Section{&s, &t} {
		if r.Shape == section.Round {
			r.Shape = section.Oval
		}
	}
	if l.Shape == section.Round {
		l.Shape = section.Oval
	}
	return cut{l, s, t, mix}
}

// measured gives the cut another thickness and width.
func (c cut) measured(thickness, width float64) cut {
	for _, s := range []*section.Section{&c.Section, &c.from, &c.to} {
		if s.Shape == section.Round && thickness != width {
			s.Shape = section.Oval
		}
		s.ThicknessMM, s.WidthMM = thickness, width
	}
	return c
}

func (c cut) pure() bool { return c.mix == 0 || c.from.Shape == c.to.Shape }

// outline is the cut's outline, as section.Outline gives it.
func (c cut) outline() [section.Points][2]float64 {
	o := c.from.Outline()
	if c.pure() {
		return o
	}
	for i, p := range c.to.Outline() {
		o[i][0] += c.mix * (p[0] - o[i][0])
		o[i][1] += c.mix * (p[1] - o[i][1])
	}
	return o
}

// measures returns area, perimeter and the distance of the centre of area from
// the innermost place: closed forms, or of a blend those of its outline.
func (c cut) measures() (area, perimeter, centroid float64) {
	if c.pure() {
		return c.Section.Area(), c.Section.Perimeter(), c.Section.Centroid()
	}
	o := c.outline()
	moment := 0.0
	for i, p := range o {
		q := o[(i+1)%len(o)]
		cross := p[0]*q[1] - q[0]*p[1]
		area += cross / 2
		moment += cross * (p[1] + q[1]) / 6
		perimeter += math.Hypot(q[0]-p[0], q[1]-p[1])
	}
	return area, perimeter, moment / area
}

// span is where a line across the thickness, u from the middle of the width,
// enters and leaves the cut; ok is false beside it.
func (c cut) span(u float64) (low, high float64, ok bool) {
	if math.Abs(u) > c.Width()/2 {
		return 0, 0, false
	}
	low, high = c.from.Span(u)
	l, h := c.to.Span(u)
	return low + c.mix*(l-low), high + c.mix*(h-high), true
}

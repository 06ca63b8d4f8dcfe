package section

import "math"

// Points is the number of places of an outline.
const Points = 96

// Outline returns the section's outline from its inside left corner along the
// inside face, anticlockwise, in mm: u across the width from its middle, v
// outwards from the innermost place. Corners are among the places; outlines of
// different shapes correspond place by place.
func (s Section) Outline() (o [Points][2]float64) {
	const n = Points
	t, w := s.ThicknessMM, s.Width()
	line := func(from, count int, u0, v0, u1, v1 float64) {
		for k := range count {
			f := float64(k) / float64(count)
			o[from+k] = [2]float64{u0 + f*(u1-u0), v0 + f*(v1-v0)}
		}
	}
	arc := func(from, count int, start, sweep, v0, height float64) {
		for k := range count {
			sin, cos := math.Sincos(start + sweep*float64(k)/float64(count))
			o[from+k] = [2]float64{w / 2 * cos, v0 + height*sin}
		}
	}
	switch s.Shape {
	case Round, Oval:
		arc(0, n, 1.25*math.Pi, 2*math.Pi, t/2, t/2)
	case HalfRound:
		line(0, n/4, -w/2, 0, w/2, 0)
		arc(n/4, 3*n/4, 0, math.Pi, 0, t)
	case D:
		line(0, n/4, -w/2, 0, w/2, 0)
		line(n/4, n/8, w/2, 0, w/2, t/2)
		arc(3*n/8, n/2, 0, math.Pi, t/2, t/2)
		line(7*n/8, n/8, -w/2, t/2, -w/2, 0)
	case KnifeEdge:
		line(0, n/3, -w/2, 0, w/2, 0)
		line(n/3, n/3, w/2, 0, 0, t)
		line(2*n/3, n/3, 0, t, -w/2, 0)
	case Comfort:
		arc(0, n/2, math.Pi, math.Pi, dome*t, dome*t)
		line(n/2, n/6, w/2, dome*t, w/2, t)
		line(2*n/3, n/6, w/2, t, -w/2, t)
		line(5*n/6, n/6, -w/2, t, -w/2, dome*t)
	default:
		line(0, n/4, -w/2, 0, w/2, 0)
		line(n/4, n/4, w/2, 0, w/2, t)
		line(n/2, n/4, w/2, t, -w/2, t)
		line(3*n/4, n/4, -w/2, t, -w/2, 0)
	}
	return o
}

// Span returns where a line across the thickness at u mm from the middle of the
// width enters and leaves the section, in mm from its innermost place. Beyond
// the edge it is that of the edge.
func (s Section) Span(u float64) (low, high float64) {
	t := s.ThicknessMM
	x := min(math.Abs(u)/(s.Width()/2), 1)
	arch := math.Sqrt(1 - x*x)
	switch s.Shape {
	case Round, Oval:
		return t / 2 * (1 - arch), t / 2 * (1 + arch)
	case HalfRound:
		return 0, t * arch
	case D:
		return 0, t / 2 * (1 + arch)
	case KnifeEdge:
		return 0, t * (1 - x)
	case Comfort:
		return dome * t * (1 - arch), t
	}
	return 0, t
}

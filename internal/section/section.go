// Package section describes the cross-section of a bar, band or channel: its
// shape and two measures, and the areas, perimeters and volumes that follow.
package section

import (
	"math"
	"strings"

	"gonum.org/v1/gonum/mathext"

	"pourwright/internal/calc"
)

// Shape names a cross-section.
type Shape string

// The shapes of the trade. The inside face (towards the finger or wrist) is
// flat for all but Round, Oval and Comfort.
const (
	Round       Shape = "round"       // circle; the width is not used
	Oval        Shape = "oval"        // ellipse
	HalfRound   Shape = "half_round"  // half an ellipse on its flat side
	Rectangular Shape = "rectangular" // flat band
	D           Shape = "d"           // low dome: half an ellipse on a rectangle of equal height
	KnifeEdge   Shape = "knife_edge"  // isosceles triangle, the edge outwards
	Comfort     Shape = "comfort"     // flat outside, the inside domed: half an ellipse of a quarter of the thickness under a rectangle
)

// Words is the shape as a sentence has it.
func (s Shape) Words() string {
	if s == D {
		return "D-shaped"
	}
	return strings.ReplaceAll(string(s), "_", "-")
}

// dome is the height of a comfort section's inside dome in thicknesses.
const dome = 0.25

// Shapes lists them all.
var Shapes = []Shape{Round, Oval, HalfRound, Rectangular, D, KnifeEdge, Comfort}

// Section is a cross-section.
type Section struct {
	Shape       Shape   `json:"shape" enum:"round,oval,half_round,rectangular,d,knife_edge,comfort" doc:"Form of the section; the inside face is flat for all but round, oval and comfort, which is domed inside" example:"half_round"`
	ThicknessMM float64 `json:"thickness_mm" minimum:"0.1" maximum:"60" doc:"Height of the section, inside face to outside face" example:"2.2"`
	WidthMM     float64 `json:"width_mm,omitempty" minimum:"0.1" maximum:"200" doc:"Width across; not needed for round" example:"6"`
}

// Check refuses a section that is not one.
func (s Section) Check() error {
	var c calc.Checks
	c.Bounds(s)
	if s.Shape != Round && s.WidthMM == 0 {
		c.Refuse("width_mm", s.WidthMM, "give a width; only a round section goes without")
	}
	return c.Err()
}

// Width returns the width in mm, which for a round section is its diameter.
func (s Section) Width() float64 {
	if s.Shape == Round {
		return s.ThicknessMM
	}
	return s.WidthMM
}

// Area returns the area in mm².
func (s Section) Area() float64 {
	t, w := s.ThicknessMM, s.Width()
	switch s.Shape {
	case Round, Oval, HalfRound: // half an ellipse of full height 2t has the area of a whole one of height t
		return math.Pi / 4 * t * w
	case D:
		return t*w/2 + math.Pi/8*t*w
	case KnifeEdge:
		return t * w / 2
	case Comfort:
		return (1-dome)*t*w + math.Pi/4*dome*t*w
	}
	return t * w
}

// Perimeter returns the whole perimeter in mm.
func (s Section) Perimeter() float64 {
	t, w := s.ThicknessMM, s.Width()
	switch s.Shape {
	case Round:
		return math.Pi * t
	case Oval:
		return EllipsePerimeter(t/2, w/2)
	case HalfRound:
		return w + EllipsePerimeter(w/2, t)/2
	case D:
		return w + t + EllipsePerimeter(w/2, t/2)/2
	case KnifeEdge:
		return w + 2*math.Hypot(w/2, t)
	case Comfort:
		return w + 2*(1-dome)*t + EllipsePerimeter(w/2, dome*t)/2
	}
	return 2 * (t + w)
}

// Modulus returns area over perimeter in mm: the V/A of a long bar of this
// section, cooled all round, and the inverse of the mean curvature that
// surface tension opposes to a front in it.
func (s Section) Modulus() float64 { return s.Area() / s.Perimeter() }

// Centroid returns the distance of the centre of area from the inside face, in mm.
func (s Section) Centroid() float64 {
	t := s.ThicknessMM
	switch s.Shape {
	case HalfRound:
		return 4 * t / (3 * math.Pi) // of half an ellipse, from its flat side
	case KnifeEdge:
		return t / 3
	case D:
		rectangle, dome := 0.5, math.Pi/8 // areas in units of t·w
		return t * (rectangle*0.25 + dome*(0.5+4*0.5/(3*math.Pi))) / (rectangle + dome)
	case Comfort:
		rectangle, arch := 1-dome, math.Pi/4*dome // areas in units of t·w
		return t * (rectangle*(1+dome)/2 + arch*dome*(1-4/(3*math.Pi))) / (rectangle + arch)
	}
	return t / 2
}

// RingVolume returns the volume in mm³ of a closed round band of this section
// and the given inside diameter: Pappus, area times the path of its centroid.
func (s Section) RingVolume(insideDiameterMM float64) float64 {
	return s.Area() * math.Pi * (insideDiameterMM + 2*s.Centroid())
}

// Lerp returns the section a fraction f of the way from s to t. Shapes do not
// blend: the nearer end's shape holds.
func (s Section) Lerp(t Section, f float64) Section {
	shape := s.Shape
	if f >= 0.5 {
		shape = t.Shape
	}
	return Section{shape, s.ThicknessMM + f*(t.ThicknessMM-s.ThicknessMM), s.Width() + f*(t.Width()-s.Width())}
}

// EllipsePerimeter returns the perimeter of an ellipse of semi-axes a and b:
// 4 a E(m), m = 1 − b²/a², by the complete elliptic integral of the second kind.
func EllipsePerimeter(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	return 4 * a * mathext.CompleteE(1-b*b/(a*a))
}

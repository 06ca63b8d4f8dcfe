package section

import (
	"fmt"
	"math"

	"pourwright/internal/calc"
)

// Station is a section at a place along a length.
type Station struct {
	AtPct float64 `json:"at_pct" minimum:"0" maximum:"100" doc:"Place along the length, 0 at the start, 100 at the end" example:"50"`
	Section
}

// Profile is a section that varies along a length: at least one station, in
// rising order. Between stations the measures change in proportion; beyond
// the first and the last they stay.
type Profile []Station

// Uniform is the profile of a bar of one section.
func Uniform(s Section) Profile { return Profile{{0, s}} }

// Check refuses a profile that is empty, out of order or holds a bad section.
func (p Profile) Check() error {
	var c calc.Checks
	if len(p) == 0 {
		c.Refuse("", nil, "give at least one section")
	}
	for i, s := range p {
		c.Under(fmt.Sprintf("[%d]", i), s.Section.Check())
		at := fmt.Sprintf("[%d].at_pct", i)
		c.Within(at, s.AtPct, 0, 100, "percent of the length")
		if i > 0 && s.AtPct <= p[i-1].AtPct {
			c.Refuse(at, s.AtPct, "give places in rising order, each after the one before (%g)", p[i-1].AtPct)
		}
	}
	return c.Err()
}

// At returns the section at a place given as a fraction of the length, 0 to 1.
func (p Profile) At(f float64) Section {
	at := 100 * f
	for i, s := range p {
		if at > s.AtPct {
			continue
		}
		if i == 0 {
			return s.Section
		}
		before := p[i-1]
		return before.Section.Lerp(s.Section, (at-before.AtPct)/(s.AtPct-before.AtPct))
	}
	return p[len(p)-1].Section
}

// Mean returns the mean along the length of f of the section. It is exact for
// any cubic in the measures, so for areas, moduli of area and ring volumes.
func (p Profile) Mean(f func(Section) float64) float64 {
	sum, from := 0.0, 0.0
	for _, to := range append(p.breaks(), 1) {
		if to > from {
			// A break may be a jump of shape; step inside it by a hair.
			const hair = 1e-9
			a, m, b := p.At(from+hair), p.At((from+to)/2), p.At(to-hair)
			sum += (to - from) / 6 * (f(a) + 4*f(m) + f(b))
			from = to
		}
	}
	return sum
}

// breaks lists where the measures or the shape change their course.
func (p Profile) breaks() []float64 {
	var at []float64
	for i, s := range p {
		if i > 0 && p[i-1].Shape != s.Shape {
			at = append(at, (p[i-1].AtPct+s.AtPct)/200)
		}
		at = append(at, s.AtPct/100)
	}
	return at
}

// Volume returns the volume in mm³ of a straight bar of this profile.
func (p Profile) Volume(lengthMM float64) float64 { return lengthMM * p.Mean(Section.Area) }

// RingVolume returns the volume in mm³ of a closed round band of this profile
// with the given inside diameter.
func (p Profile) RingVolume(insideDiameterMM float64) float64 {
	return p.Mean(func(s Section) float64 { return s.RingVolume(insideDiameterMM) })
}

// Thinnest returns the least thickness in mm and its place as a fraction.
func (p Profile) Thinnest() (thicknessMM, at float64) {
	thicknessMM = math.Inf(1)
	for _, s := range p {
		if s.ThicknessMM < thicknessMM {
			thicknessMM, at = s.ThicknessMM, s.AtPct/100
		}
	}
	return thicknessMM, at
}

// Circular says whether an inside of that width and height, mm, is a circle: what
// differs by less no hand can tell, and everything takes it for round.
func Circular(widthMM, heightMM float64) bool { return math.Abs(widthMM-heightMM) <= 0.01 }

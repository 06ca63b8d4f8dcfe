package shape

import (
	"context"
	"fmt"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/section"
)

// profiles are the forms of section where none is named: what is usual.
var profiles = map[Kind]section.Shape{Ring: section.D, Signet: section.D, Bangle: section.HalfRound, Cuff: section.Rectangular,
	Bar: section.Rectangular, Pendant: section.Rectangular, Disc: section.Rectangular, Drop: section.HalfRound}

// usualGapMM is the opening of a cuff: 25 to 32 mm is usual; common practice.
const usualGapMM = 28

// Resolve settles the form of a piece, or refuses what cannot be by its name,
// with what would be accepted.
func (s Shape) Resolve(ctx context.Context) (*Body, error) {
	if s.Mesh != nil {
		return s.scanned(ctx)
	}
	var c calc.Checks
	c.Bounds(s)
	b := &Body{Kind: s.Kind}
	s.checkKind(&c)
	b.path = s.path(&c)
	b.sections = s.profile(&c)
	if err := c.Err(); err != nil {
		return nil, err
	}
	s.places(&c, b)
	s.topped(&c, b)
	if err := c.Err(); err != nil {
		return nil, err
	}
	b.settle()
	s.checkBody(&c, b)
	if err := c.Err(); err != nil {
		return nil, err
	}
	if s.Weighed != nil {
		return s.weighed(b)
	}
	return b, nil
}

// checkKind refuses measures that do not belong to the kind.
func (s *Shape) checkKind(c *calc.Checks) {
	if _, ok := profiles[s.Kind]; !ok {
		c.Refuse("kind", s.Kind, "give one of %v, or mesh", Kinds)
		return
	}
	only := func(field string, given bool, value any, ok bool, kinds string) {
		if given && !ok {
			c.Refuse(field, value, "leave it out of a %s: it is for %s", s.Kind, kinds)
		}
	}
	only("gap_mm", s.GapMM != nil, s.GapMM, s.Kind == Cuff, "a cuff")
	only("length_mm", s.LengthMM != nil, s.LengthMM, !s.Kind.Curved(), "a bar, disc or drop")
	for _, f := range []struct {
		name  string
		value *float64
	}{{"inside_diameter_mm", s.InsideDiameterMM}, {"inside_width_mm", s.InsideWidthMM}, {"inside_height_mm", s.InsideHeightMM}} {
		only(f.name, f.value != nil, f.value, s.Kind.Curved(), "a ring, bangle, signet or cuff")
	}
	only("wave", s.Wave != nil, nil, s.Kind.Closed(), "a ring, bangle or signet")
	only("bail", s.Bail != nil, nil, !s.Kind.Curved(), "a bar, disc or drop")
	only("back", s.Back != nil, nil, s.Kind != Disc && s.Kind != Drop, "a band or bar; a disc or drop has its own outline")
	only("stations", s.Stations != nil, nil, s.Kind != Disc && s.Kind != Drop, "a band or bar; a disc or drop has its own outline")
	if s.Kind == Signet && s.Head == nil {
		c.Refuse("head", nil, "give the table of a signet: length_mm, width_mm and thickness_mm")
	}
	if s.Head != nil {
		only("head", true, s.Head.Form, s.Kind != Disc && s.Kind != Drop, "a band or bar")
		only("head.form", s.Head.Form == Table, s.Head.Form, s.Kind.Curved(), "a curved band; give disc")
	}
}

// path reads the path.
func (s *Shape) path(c *calc.Checks) path {
	if !s.Kind.Curved() {
		switch {
		case s.LengthMM == nil && s.Kind == Disc:
			c.Refuse("length_mm", nil, "give the diameter of a disc, or its length from the gate")
		case s.LengthMM == nil:
			c.Refuse("length_mm", nil, "give the length of a %s from the gate to its far end", s.Kind)
		default:
			return path{straight: true, length: *s.LengthMM, metal: 1}
		}
		return path{straight: true, length: 1, metal: 1}
	}
	oval := s.InsideWidthMM != nil || s.InsideHeightMM != nil
	var a, b float64
	switch {
	case s.InsideDiameterMM != nil && !oval:
		a = *s.InsideDiameterMM / 2
		b = a
	case s.InsideDiameterMM == nil && s.InsideWidthMM != nil && s.InsideHeightMM != nil:
		a, b = *s.InsideWidthMM/2, *s.InsideHeightMM/2
		if max(a, b) > 3*min(a, b) {
			c.Refuse("inside_height_mm", 2*b, "give axes of which neither is more than three times the other (inside_width_mm is %g)", 2*a)
		}
	default:
		c.Refuse("inside_diameter_mm", nil, "give it for a round %s, or inside_width_mm and inside_height_mm for an oval one", s.Kind)
		return newPath(30, 30)
	}
	p := newPath(a, b)
	if s.Kind == Cuff {
		gap := usualGapMM + 0.0
		if s.GapMM != nil {
			gap = *s.GapMM
		}
		if gap > p.round()/2 {
			c.Refuse("gap_mm", gap, "give at most half of the inside round it, %.4g mm", p.round()/2)
			gap = p.round() / 2
		}
		p.metal = 1 - gap/p.round()
	}
	if s.Wave != nil {
		p.rise, p.repeats, p.crest = s.Wave.RiseMM, s.Wave.Repeats, s.Wave.CrestDeg*math.Pi/180
	}
	return p
}

// profile reads the sections along the way.
func (s *Shape) profile(c *calc.Checks) section.Profile {
	single := s.ThicknessMM != nil || s.WidthMM != nil || s.Profile != "" || s.Back != nil
	if s.Stations != nil {
		if single {
			c.Refuse("stations", len(s.Stations), "give either stations or thickness_mm, width_mm, profile and back")
		}
		c.Under("stations", s.Stations.Check())
		return s.Stations
	}
	form := s.Profile
	if form == "" {
		form = profiles[s.Kind]
	}
	sec := section.Section{Shape: form}
	if s.ThicknessMM == nil {
		c.Refuse("thickness_mm", nil, "give the thickness, inside face to outside or back to front")
	} else {
		sec.ThicknessMM = *s.ThicknessMM
	}
	switch {
	case form == section.Round:
	case s.WidthMM != nil:
		sec.WidthMM = *s.WidthMM
	case s.Kind == Disc && s.LengthMM != nil: // a round one
		sec.WidthMM = *s.LengthMM
	default:
		c.Refuse("width_mm", nil, "give the width across the %s; only round wire has none", s.Kind)
	}
	if s.Kind == Disc && form != section.Rectangular && form != section.HalfRound && form != section.D {
		c.Refuse("profile", form, "give rectangular, d or half_round for a disc")
	}
	if s.Back == nil {
		return section.Uniform(sec)
	}
	back := sec
	back.ThicknessMM = s.Back.ThicknessMM
	if s.Back.WidthMM != nil {
		if form == section.Round {
			back.Shape = section.Oval
		}
		back.WidthMM = *s.Back.WidthMM
	}
	switch {
	case s.Kind.Closed():
		return section.Profile{{AtPct: 0, Section: sec}, {AtPct: 50, Section: back}, {AtPct: 100, Section: sec}}
	case s.Kind == Cuff:
		return section.Profile{{AtPct: 0, Section: back}, {AtPct: 50, Section: sec}, {AtPct: 100, Section: back}}
	}
	return section.Profile{{AtPct: 0, Section: sec}, {AtPct: 100, Section: back}}
}

// places reads the thin and thick places.
func (s *Shape) places(c *calc.Checks, b *Body) {
	whole := b.plainLength()
	read := func(list []Place, field string, thin bool) {
		for i, p := range list {
			at := fmt.Sprintf("%s[%d].", field, i)
			was := b.base(p.AtPct / 100).ThicknessMM
			switch {
			case thin && p.ThicknessMM >= was:
				c.Refuse(at+"thickness_mm", p.ThicknessMM, "give less than the section has there, %.4g mm, or put it under thick_places", was)
			case !thin && p.ThicknessMM <= was:
				c.Refuse(at+"thickness_mm", p.ThicknessMM, "give more than the section has there, %.4g mm, or put it under thin_places", was)
			}
			if p.LengthMM > whole {
				c.Refuse(at+"length_mm", p.LengthMM, "give at most the length of the way, %.4g mm", whole)
			}
			b.thins = append(b.thins, p)
		}
	}
	read(s.ThinPlaces, "thin_places", true)
	read(s.ThickPlaces, "thick_places", false)
}

// topped reads head, bail and the outline of a disc or drop.
func (s *Shape) topped(c *calc.Checks, b *Body) {
	if h := s.Head; h != nil {
		d := calc.Default[Head]()
		form, outline := h.Form, h.Outline
		if form == "" {
			form = d.Form
		}
		if outline == "" {
			outline = d.Outline
		}
		b.head = &head{form: form, outline: outline, length: h.LengthMM, width: h.WidthMM, thickness: h.ThicknessMM, at: h.AtPct / 100}
		if h.ShoulderMM != nil {
			b.head.shoulder, b.head.given = *h.ShoulderMM, true
		}
		if form == DiscHead && !s.Kind.Closed() {
			b.head.end = map[float64]int{0: -1, 100: 1}[h.AtPct]
		}
		s.checkHead(c, b)
	}
	if s.Bail != nil {
		b.bail = s.Bail
	}
	switch s.Kind {
	case Disc:
		b.outline = discOutline
	case Drop:
		b.outline = dropOutline
	}
}

// checkHead refuses a head that the band cannot carry.
func (s *Shape) checkHead(c *calc.Checks, b *Body) {
	h := b.head
	if most := b.plainLength() / 2; h.length > most {
		c.Refuse("head.length_mm", h.length, "give at most half of the band's length, %.4g mm", most)
		return
	}
	if h.form != Table {
		return
	}
	g := b.path.at(h.at)
	// A flat face over a round of this radius, no more than 60 degrees to either side.
	radius := 1 / g.curvature
	if most := 2 * (radius + h.thickness) * math.Tan(math.Pi/3); h.length > most {
		c.Refuse("head.length_mm", h.length, "give at most %.3g mm: a longer flat table would run past the sides of the ring", most)
	}
	if base := b.base(h.at).ThicknessMM; h.thickness < base-0.5*base {
		c.Refuse("head.thickness_mm", h.thickness, "give at least half of the band's thickness there, %.3g mm", base/2)
	}
}

// checkBody refuses what shows only in the whole.
func (s *Shape) checkBody(c *calc.Checks, b *Body) {
	for _, st := range b.Stations(wearStations) {
		if s.Kind.Curved() && st.curvature < 0 {
			c.Refuse("inside_width_mm", s.InsideWidthMM, "give a rounder inside")
			return
		}
		if st.ThicknessMM < 0.15 {
			c.Refuse("thin_places", st.ThicknessMM, "leave at least 0.15 mm of thickness everywhere; at %.0f %% of the way there is %.2g mm", st.AtPct, st.ThicknessMM)
			return
		}
	}
	if w := s.Wave; w != nil {
		if slope := b.steepest(); slope > 60 {
			c.Refuse("wave.rise_mm", w.RiseMM, "give a lower rise or fewer repeats: this band would stand at %.0f degrees to its plane, 60 is the most", slope)
		}
	}
	if s.Bail != nil {
		end := b.cutAt(1)
		if s.Bail.WireMM > 2.5*end.ThicknessMM {
			c.Refuse("bail.wire_mm", s.Bail.WireMM, "give at most two and a half times the thickness of the end that carries it, %.3g mm", end.ThicknessMM)
		}
	}
}

// steepest is the steepest slope of a wave in degrees.
func (b *Body) steepest() float64 {
	most := 0.0
	for i := range fine {
		g := b.path.at(float64(i) / fine)
		most = max(most, math.Abs(g.rise/g.speed))
	}
	return math.Atan(most) * 180 / math.Pi
}

// discOutline is the share of the width of an ellipse.
func discOutline(f float64) float64 { return max(math.Sqrt(max(0, 4*f*(1-f))), least) }

// DropWidest is where a drop is widest, as a fraction of its length from its
// round end.
const DropWidest = 0.35

// dropOutline is the share of the width of a drop from its round end: a half
// ellipse up to 35 % of the length, from there an even cosine down to a neck of
// a quarter of the width.
func dropOutline(f float64) float64 {
	const widest, neck = DropWidest, 0.25
	if f < widest {
		x := 1 - f/widest
		return max(math.Sqrt(1-x*x), least)
	}
	x := (f - widest) / (1 - widest)
	return neck + (1-neck)*(1+math.Cos(math.Pi*x))/2
}

// dropBody is the share of a drop's thickness where it has the share g of its width.
func dropBody(g float64) float64 { return 0.4 + 0.6*g }

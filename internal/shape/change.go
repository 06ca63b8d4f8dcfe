package shape

import (
	"math"
	"slices"

	"pourwright/internal/section"
)

// Main is the section at the start of the way, a head left out: that by which
// the piece is spoken of.
func (b *Body) Main() section.Section {
	if b.scanned != nil {
		return b.scanned.stations[0].Section
	}
	return b.sections[0].Section
}

// Even says whether one section holds all along.
func (b *Body) Even() bool {
	return b.scanned == nil && len(b.sections) == 1 && len(b.thins) == 0 && b.head == nil && b.outline == nil
}

// Thins says whether there are places thinner than the rest.
func (b *Body) Thins() bool {
	return slices.ContainsFunc(b.thins, func(p Place) bool { return p.ThicknessMM < b.base(p.AtPct/100).ThicknessMM })
}

// Resized adds mm to the thickness and the width of every section; the path stays.
func (b *Body) Resized(thickness, width float64) *Body {
	g := *b
	if b.scanned != nil {
		g.scanned = b.scanned.grown(0, thickness, width/2)
		return &g
	}
	g.sections = slices.Clone(b.sections)
	for i := range g.sections {
		s := &g.sections[i].Section
		if s.Shape == section.Round && thickness == width {
			s.ThicknessMM += thickness
			continue
		}
		if s.Shape == section.Round {
			s.Shape, s.WidthMM = section.Oval, s.ThicknessMM
		}
		s.ThicknessMM += thickness
		s.WidthMM += width
	}
	g.thins = slices.Clone(b.thins)
	for i := range g.thins {
		p := &g.thins[i]
		p.ThicknessMM += thickness
		if p.WidthMM != nil {
			p.WidthMM = ptr(*p.WidthMM + width)
		}
	}
	if b.head != nil {
		h := *b.head
		h.thickness += thickness
		h.width += width
		g.head = &h
	}
	g.settle()
	return &g
}

// Widened multiplies the width of every section.
func (b *Body) Widened(k float64) *Body {
	if k == 1 {
		return b
	}
	g := *b
	if b.scanned != nil {
		c := *b.scanned
		c.stations = slices.Clone(c.stations)
		for i := range c.stations {
			s := &c.stations[i]
			s.WidthMM, s.AreaMM2, s.Section.WidthMM = k*s.WidthMM, k*s.AreaMM2, k*s.Section.WidthMM
		}
		c.volume *= k
		g.scanned = &c
		return &g
	}
	g.sections = slices.Clone(b.sections)
	for i := range g.sections {
		s := &g.sections[i].Section
		if s.Shape == section.Round {
			s.Shape, s.WidthMM = section.Oval, s.ThicknessMM
		}
		s.WidthMM *= k
	}
	g.thins = slices.Clone(b.thins)
	for i := range g.thins {
		if w := g.thins[i].WidthMM; w != nil {
			g.thins[i].WidthMM = ptr(k * *w)
		}
	}
	if b.head != nil {
		h := *b.head
		h.width *= k
		g.head = &h
	}
	g.settle()
	return &g
}

// Thickened makes the thin places so much thicker, at most as thick as the
// section there, or where there are none, the whole piece.
func (b *Body) Thickened(mm float64) *Body {
	switch {
	case mm == 0:
		return b
	case !b.Thins():
		return b.Resized(mm, 0)
	}
	g := *b
	g.thins = slices.Clone(b.thins)
	for i := range g.thins {
		p := &g.thins[i]
		if was := b.base(p.AtPct / 100).ThicknessMM; p.ThicknessMM < was {
			p.ThicknessMM = min(p.ThicknessMM+mm, was)
		}
	}
	g.settle()
	return &g
}

// Thickest is the greatest thickness of the piece in mm.
func (b *Body) Thickest() float64 {
	most := 0.0
	for _, s := range b.Stations(wearStations) {
		most = max(most, s.ThicknessMM)
	}
	return most
}

// FeederMM is the diameter of a round channel that freezes no earlier than the
// piece's own slowest section: as thick as its thickest place and of the same
// modulus (area over perimeter, a quarter of the diameter). Freezing times within
// 15 % count as one (package fill), which is a modulus within 5 %: times go with
// its first to second power.
func (b *Body) FeederMM() float64 {
	const alike = 0.95
	most := b.Thickest()
	for _, s := range b.Stations(wearStations) {
		most = max(most, 4*alike*s.ModulusMM())
	}
	return most
}

// Way describes a band whose way is not a plain round by its way and sections,
// so that who follows the way need know no more of it: an oval, a cuff or one
// that waves. ok is false for any other.
func (b *Body) Way() (s Shape, ok bool) {
	if !b.Kind.Curved() {
		return s, false
	}
	s.Kind = Bangle
	if !b.Closed() {
		s.Kind, s.GapMM = Cuff, ptr(b.GapMM())
	}
	w, h := b.InsideAxesMM()
	if !section.Circular(w, h) {
		s.InsideWidthMM, s.InsideHeightMM = &w, &h
	} else {
		s.InsideDiameterMM = ptr(b.InsideMM())
	}
	if p := &b.path; b.scanned == nil && p.repeats > 0 {
		s.Wave = &Wave{RiseMM: p.rise, Repeats: p.repeats, CrestDeg: p.crest * 180 / math.Pi}
	}
	if s.Kind == Bangle && s.InsideDiameterMM != nil && s.Wave == nil {
		return s, false
	}
	if !b.Even() {
		s.Stations = b.Profile(wayStations)
		return s, true
	}
	main := b.Main()
	s.Profile, s.ThicknessMM = main.Shape, &main.ThicknessMM
	if main.Shape != section.Round {
		s.WidthMM = &main.WidthMM
	}
	return s, true
}

const wayStations = 36

package order

import (
	"cmp"
	"math"
	"slices"

	"pourwright/internal/fill"
	"pourwright/internal/section"
	"pourwright/internal/sizing"
)

// Straight says whether the piece is fed from one end rather than a closed band.
func (p *Piece) Straight() bool { return p.Kind == "pendant" || p.Kind == "bar" }

// Cavity is the channel that the metal runs through, from the gate: once round
// a band, or to the far end of a pendant or bar. Places along it are fractions
// of its length.
type Cavity struct {
	Base   section.Section
	Thin   *fill.Thin
	Turn   float64 // of the pattern, fraction of the round
	Closed bool
	InsideMM,
	LengthMM float64 // of a band; of a straight piece
}

// Run is a row of like stones: its extent as fractions of the way, and the
// share of the section that stays open to the metal.
type Run struct {
	From, To float64
	Open     float64
}

// Profile is the section along the way of the metal from the gate in the mould
// m, scraped as asked, without what stones take.
func (p *Piece) Profile(m *sizing.MouldOut) section.Profile {
	return p.Cavity(m).thickened(p.Mould.ThickenMM).Profile(nil)
}

// Cavity is the plain channel in the mould m, before it is scraped thicker.
func (p *Piece) Cavity(m *sizing.MouldOut) Cavity {
	w := Cavity{Base: m.FillSection, Thin: p.ThinSpot, Turn: p.Mould.TurnPct / 100, Closed: !p.Straight(), InsideMM: m.Mould.InsideDiameterMM, LengthMM: m.ArcLengthMM}
	if w.Thin != nil {
		thin := *w.Thin
		thin.ThicknessMM += m.FillSection.ThicknessMM - p.Section.ThicknessMM
		w.Thin = &thin
	}
	return w
}

// Profile is the cavity from the gate: the section thinned at a thin spot, and
// narrowed where stones stand in the way.
func (w Cavity) Profile(groups []Run) section.Profile {
	const edge = 0.002 // of the way: where a stone begins
	at := []float64{0, 1}
	if w.Thin != nil {
		at = append(at, w.Place(0), w.Place(w.Thin.AtPct/100))
	}
	if w.Closed { // a group over the gate is seen from both ends
		for _, g := range groups {
			for _, turn := range []float64{-1, 1} {
				groups = append(groups, Run{g.From + turn, g.To + turn, g.Open})
			}
		}
	}
	for _, g := range groups {
		at = append(at, g.From-edge, g.From, g.To, g.To+edge)
	}
	slices.SortFunc(at, cmp.Compare)
	var p section.Profile
	for _, x := range at {
		if x < 0 || x > 1 || len(p) > 0 && 100*x-p[len(p)-1].AtPct < 1e-6 {
			continue
		}
		s := w.At(x)
		open := 1.0
		for _, g := range groups {
			if x >= g.From && x <= g.To {
				open = min(open, g.Open)
			}
		}
		s.ThicknessMM *= open
		p = append(p, section.Station{AtPct: 100 * x, Section: s})
	}
	return p
}

// Place is where a place of the pattern lies from the gate, both fractions.
func (w Cavity) Place(x float64) float64 {
	if !w.Closed || w.Turn == 0 {
		return x
	}
	return math.Mod(x+w.Turn, 1)
}

// At is the plain section at a fraction x of the way: it thins evenly to the
// thin spot, on a band from both sides.
func (w Cavity) At(x float64) section.Section {
	s := w.Base
	if w.Thin == nil {
		return s
	}
	spot := w.Thin.AtPct / 100
	if w.Closed && w.Turn != 0 {
		x = math.Mod(x-w.Turn+1, 1)
	}
	share := x / spot
	switch {
	case x > spot && w.Closed:
		share = (1 - x) / (1 - spot)
	case x > spot:
		share = 1
	}
	if math.IsNaN(share) || math.IsInf(share, 0) { // the spot is at the gate's own place
		share = 1
	}
	s.ThicknessMM += share * (w.Thin.ThicknessMM - s.ThicknessMM)
	return s
}

// thickened is the way with its thinnest place, or all of it, so much thicker.
func (w Cavity) thickened(mm float64) Cavity {
	switch {
	case mm == 0:
	case w.Thin == nil:
		w.Base.ThicknessMM += mm
		if w.Base.Shape == section.Round { // scraped one way only
			w.Base.Shape, w.Base.WidthMM = section.Oval, w.Base.ThicknessMM-mm
		}
	default:
		t := *w.Thin
		t.ThicknessMM = min(t.ThicknessMM+mm, w.Base.ThicknessMM)
		w.Thin = &t
	}
	return w
}

// Volume is what the plain way holds, mm³.
func (w Cavity) Volume() float64 {
	if w.Closed {
		return w.Profile(nil).RingVolume(w.InsideMM)
	}
	return w.Profile(nil).Volume(w.LengthMM)
}

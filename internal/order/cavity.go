package order

import (
	"cmp"
	"context"
	"math"
	"slices"

	"pourwright/internal/metal"
	"pourwright/internal/section"
	"pourwright/internal/shape"
)

// Cavity is the channel that the metal runs through, from the gate: once round
// a band, or to the far end of a straight piece. Places along it are fractions
// of its length.
type Cavity struct {
	*shape.Body
	Turn float64 // of the pattern, fraction of the round
}

// Run is a row of like stones: its extent as fractions of the way, and the
// share of the section that stays open to the metal.
type Run struct {
	From, To float64
	Open     float64
}

// stations is how many stretches of a channel are followed.
const stations = 36

// Profile is the section along the way from the gate, narrowed where stones
// stand in it.
func (w Cavity) Profile(rows []Run) section.Profile {
	if w.Even() && len(rows) == 0 {
		return section.Uniform(w.Main())
	}
	const edge = 0.002 // of the way: where a stone begins
	var at []float64
	for i := range stations + 1 {
		at = append(at, float64(i)/stations)
	}
	if w.Round() { // a row over the gate is seen from both ends
		for _, g := range rows {
			for _, turn := range []float64{-1, 1} {
				rows = append(rows, Run{g.From + turn, g.To + turn, g.Open})
			}
		}
	}
	for _, g := range rows {
		at = append(at, g.From-edge, g.From, g.To, g.To+edge)
	}
	slices.SortFunc(at, cmp.Compare)
	var p section.Profile
	for _, x := range at {
		if x < 0 || x > 1 || len(p) > 0 && 100*x-p[len(p)-1].AtPct < 1e-6 {
			continue
		}
		s := w.At(max(x, w.letIn()))
		open := 1.0
		for _, g := range rows {
			if x >= g.From && x <= g.To {
				open = min(open, g.Open)
			}
		}
		s.ThicknessMM *= open
		p = append(p, section.Station{AtPct: 100 * x, Section: s})
	}
	return p
}

// letIn is how far a gate is let into a piece that runs out in a curve at its
// start, as a fraction of its length: into a drop up to its widest place, as a
// sprue enters where a piece is thickest, and a fifth into a disc.
func (w Cavity) letIn() float64 {
	switch w.Kind {
	case shape.Drop:
		return shape.DropWidest
	case shape.Disc:
		return 0.2
	}
	return 0
}

// Round says whether the metal runs from the gate both ways round: in a closed
// band, and in a cuff, which is fed in its middle.
func (w Cavity) Round() bool { return w.Kind.Curved() }

// start is where the gate lies on the pattern, a fraction of it.
func (w Cavity) start() float64 {
	if w.Round() && !w.Closed() {
		return 0.5
	}
	return -w.Turn
}

// Place is where a place of the pattern lies from the gate, both fractions.
func (w Cavity) Place(x float64) float64 {
	if !w.Round() || w.start() == 0 {
		return x
	}
	return math.Mod(x-w.start()+1, 1)
}

// Pattern is where a place from the gate lies on the pattern, both fractions.
func (w Cavity) Pattern(x float64) float64 {
	if !w.Round() {
		return x
	}
	return math.Mod(x+w.start()+2, 1)
}

// At is the plain section at a fraction x of the way.
func (w Cavity) At(x float64) section.Section {
	return w.Station(100 * w.Pattern(x)).Section
}

// HeightMM is the extent of the cavity from its gate to the far side, mm.
func (w Cavity) HeightMM() float64 {
	if !w.Kind.Curved() {
		return w.LengthMM()
	}
	_, h := w.InsideAxesMM()
	if w.Closed() {
		h, _ = w.InsideAxesMM()
	}
	return h + 2*w.Main().ThicknessMM
}

// CavityOf is the cavity of a piece of the order as it is poured.
func (in *Order) CavityOf(ctx context.Context, piece Piece) (Cavity, error) {
	alloy, err := in.alloy()
	if piece.Alloy != "" {
		alloy, err = metal.Named(piece.Alloy)
	}
	if err != nil {
		return Cavity{}, err
	}
	p := Planner{Order: in, Piece: piece, Alloy: alloy}
	m, err := p.moulded(ctx)
	if err != nil {
		return Cavity{}, err
	}
	return p.cavity(&m), nil
}

// Package sheet puts a planned order on paper and on the screen: the bench
// sheet, and the pictures of a draft.
package sheet

import (
	"context"
	"fmt"
	"math"

	"pourwright/internal/order"
	"pourwright/internal/picture"
	"pourwright/internal/sizing"
	"pourwright/internal/stone"
	"pourwright/internal/verdict"
)

// piece is what the drawings need of a piece, from a draft or a plan.
type piece struct {
	given  order.Piece
	cavity order.Cavity
	mould  sizing.MouldOut
	stones *stone.SettingOut
	across map[string]bool // stones whose long axis lies across the band
}

// pieceOf makes a piece of the order ready to be drawn.
func pieceOf(ctx context.Context, in *order.Order, given order.Piece, mould sizing.MouldOut, stones *stone.SettingOut) (piece, error) {
	cavity, err := in.CavityOf(ctx, given)
	return piece{given, cavity, mould, stones, across(in.Stones)}, err
}

func across(stones []order.Stone) map[string]bool {
	lie := map[string]bool{}
	for _, s := range stones {
		lie[s.ID] = s.Across
	}
	return lie
}

// fixed is a stone that is cast in place.
type fixed struct {
	number        int
	at            float64 // fraction of the way round from the gate
	along, across float64 // mm
	depth         float64
	id            string
}

// place is where a place of the pattern lies from the gate, both fractions.
func (p piece) place(at float64) float64 {
	if !p.cavity.Closed() {
		return min(max(at, 0), 1)
	}
	at += p.cavity.Turn
	return at - math.Floor(at)
}

// fixedStones lists the stones cast in place, numbered as they are pressed in.
func (p piece) fixedStones() (list []fixed) {
	if p.stones == nil {
		return nil
	}
	for j, judged := range p.stones.Stones {
		if judged.Verdict == verdict.DoNotPour || judged.Verdict == verdict.CannotTell || j >= len(p.given.Stones) {
			continue
		}
		group, m := p.given.Stones[j], judged.Measures
		s := fixed{along: m.LengthMM, across: m.WidthMM, depth: m.DepthMM, id: group.ID}
		if p.across[group.ID] {
			s.along, s.across = s.across, s.along
		}
		step := (s.along + order.Between) / p.mould.ArcLengthMM
		for k := range group.Quantity {
			s.number = len(list) + 1
			s.at = p.place(group.AtPct/100 + (float64(k)-float64(group.Quantity-1)/2)*step)
			list = append(list, s)
		}
	}
	return list
}

const cuffStations = 36

// band is the piece in its mould size, the gate in the given direction.
func (p piece) band(gateDeg float64) picture.Band {
	b := picture.Band{Name: p.given.Name + ", size of the mould", StartDeg: gateDeg, Profile: p.cavity.Profile(nil)}
	through, over := p.cavity.InsideAxesMM() // through the gate, and across
	b.InsideWidthMM, b.InsideHeightMM = over, through
	if gateDeg == 0 || gateDeg == 180 {
		b.InsideWidthMM, b.InsideHeightMM = through, over
	}
	if !p.cavity.Closed() { // an open one starts at its gap, across from the gate in its middle
		b.GapMM, b.StartDeg = p.cavity.GapMM(), gateDeg-180
		b.Profile = p.cavity.Body.Profile(cuffStations)
	}
	stones := p.fixedStones()
	for _, s := range stones {
		label := ""
		if len(stones) <= 12 {
			label = fmt.Sprint(s.number)
		}
		b.Stones = append(b.Stones, picture.SetStone{AtPct: 100 * s.at, DiameterMM: max(s.along, 0.2), DepthMM: s.depth, Label: label})
	}
	return b
}

// gateDeg is where the gate is on a standing band.
func (p piece) gateDeg() float64 {
	switch p.given.Mould.Gate {
	case "side":
		return 0
	case "bottom":
		return -90
	}
	return 90
}

// gates are the places of the gates, percent of the band as it is drawn.
func (p piece) gates() (list []float64) {
	for _, at := range p.given.Mould.Gates(p.cavity) {
		if !p.cavity.Closed() {
			at = math.Mod(at+0.5, 1) // from its end
		}
		list = append(list, 100*at)
	}
	return list
}

// vents lie around the place opposite the gate, which fills last; of a cuff at
// both of its ends.
func (p piece) vents() (list []picture.Vent) {
	m := p.given.Mould
	for i := range m.VentCount {
		at := 50 + 3*(float64(i)-float64(m.VentCount-1)/2)
		if !p.cavity.Closed() {
			at = 1 + 3*float64(i/2)
			if i%2 == 1 {
				at = 100 - at
			}
		}
		list = append(list, picture.Vent{AtPct: at, DiameterMM: m.VentDiameterMM})
	}
	return list
}

// flask is the mould as drawn. Where no flask is given, one with 15 mm of
// clay around the piece is drawn.
func (p piece) flask() picture.Mould {
	m := p.given.Mould
	outside := p.mould.Mould.InsideDiameterMM + 2*p.mould.FillSection.ThicknessMM
	d := picture.Mould{
		Name: p.given.Name + ", in its mould", Lying: m.Posture == "lying", Band: p.band(p.gateDeg()),
		FlaskWidthMM: m.FlaskWidthMM, FlaskHeightMM: m.FlaskHeightMM, FlaskDepthMM: max(50, 3*p.mould.FillSection.Width()),
		FunnelTopMM: max(2*m.FunnelDiameterMM-m.SprueDiameterMM, m.SprueDiameterMM), FunnelDepthMM: m.FunnelHeadMM,
		SprueMM: m.SprueDiameterMM, GateMM: min(m.SprueDiameterMM, p.mould.FillSection.Width()), SprueLengthMM: m.SprueLengthMM,
		GatesAtPct: p.gates(), Vents: p.vents(),
	}
	if d.Lying {
		d.FlaskHeightMM, d.SprueLengthMM = 2*(m.FunnelHeadMM+m.SprueLengthMM), min(m.SprueLengthMM, 8)
		if d.FlaskWidthMM == 0 {
			d.FlaskWidthMM = outside + d.SprueLengthMM + d.SprueMM + 30
		}
		d.FlaskDepthMM = d.FlaskWidthMM
		return d
	}
	if d.FlaskWidthMM == 0 {
		d.FlaskWidthMM = outside + 30
	}
	if d.FlaskHeightMM == 0 {
		d.FlaskHeightMM = outside + m.FunnelHeadMM + m.SprueLengthMM + 15
	}
	return d
}

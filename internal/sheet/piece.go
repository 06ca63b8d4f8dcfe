// Package sheet puts a planned order on paper and on the screen: the bench
// sheet, and the pictures of a draft.
package sheet

import (
	"math"

	"pourwright/internal/commission"
	"pourwright/internal/draw"
	"pourwright/internal/picture"
	"pourwright/internal/section"
	"pourwright/internal/sizing"
	"pourwright/internal/stone"
)

// piece is what the drawings need of a piece, from a draft or a plan.
type piece struct {
	given  commission.CommissionPiece
	mould  sizing.MouldOut
	stones *stone.StoneSettingOut
}

// fixed is a stone that is cast in place.
type fixed struct {
	number        int
	at            float64 // fraction of the way round from the gate
	along, across float64 // mm
	depth, press  float64
	id            string
}

// between is the metal left between neighbouring stones, mm, as the plan of
// the order reckons it.
const between = 0.5

// fixedStones lists the stones cast in place, numbered as they are pressed in.
func (p piece) fixedStones() (list []fixed) {
	if p.stones == nil {
		return nil
	}
	for j, judged := range p.stones.Stones {
		if judged.Verdict == stone.DoNot || judged.Verdict == stone.CannotTell || j >= len(p.given.Stones) {
			continue
		}
		group, m := p.given.Stones[j], judged.Measures
		step := (m.LengthMM + between) / p.mould.ArcLengthMM
		for k := range group.Quantity {
			at := group.AtPct/100 + (float64(k)-float64(group.Quantity-1)/2)*step
			list = append(list, fixed{len(list) + 1, at - math.Floor(at), m.LengthMM, m.WidthMM, m.DepthMM, judged.Seat.PressMM, group.ID})
		}
	}
	return list
}

// profile is the cavity once round from the gate, without what the stones take.
func (p piece) profile() section.Profile {
	base, thin := p.mould.FillSection, p.given.ThinSpot
	if thin == nil {
		return section.Uniform(base)
	}
	narrow := base
	narrow.ThicknessMM = thin.ThicknessMM + base.ThicknessMM - p.given.Section.ThicknessMM
	if thin.AtPct >= 100 {
		return section.Profile{{AtPct: 0, Section: narrow}, {AtPct: 50, Section: base}, {AtPct: 100, Section: narrow}}
	}
	return section.Profile{{AtPct: 0, Section: base}, {AtPct: thin.AtPct, Section: narrow}, {AtPct: 100, Section: base}}
}

// band is the piece in its mould size, the gate in the given direction.
func (p piece) band(gateDeg float64) picture.Band {
	b := picture.Band{Name: p.given.Name + ", size of the mould", InsideWidthMM: p.mould.Mould.InsideDiameterMM, StartDeg: gateDeg, Profile: p.profile()}
	stones := p.fixedStones()
	for _, s := range stones {
		label := ""
		if len(stones) <= 12 {
			label = draw.Number(float64(s.number))
		}
		b.Stones = append(b.Stones, picture.SetStone{AtPct: 100 * s.at, DiameterMM: max(s.along, 0.2), DepthMM: s.depth, Label: label})
	}
	return b
}

// gateDeg is where the gate is on a standing band.
func (p piece) gateDeg() float64 {
	return map[string]float64{"side": 0, "bottom": -90}[p.given.Mould.Gate] + map[bool]float64{true: 90}[p.given.Mould.Gate == "top" || p.given.Mould.Gate == ""]
}

// gates are the places of the gates: two sprues stand 45 degrees to each side.
func (p piece) gates() []float64 {
	if p.given.Mould.SprueCount == 2 {
		return []float64{12.5, 87.5}
	}
	return []float64{0}
}

// vents lie around the place opposite the gate, which fills last.
func (p piece) vents() (list []picture.Vent) {
	m := p.given.Mould
	for i := range m.VentCount {
		at := 50 + 3*(float64(i)-float64(m.VentCount-1)/2)
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

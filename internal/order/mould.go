package order

import (
	"math"

	"pourwright/internal/fill"
	"pourwright/internal/melt"
	"pourwright/internal/metal"
)

// Mould is how a piece is moulded and poured.
type Mould struct {
	fill.Stance
	TurnPct          float64 `json:"turn_pct" minimum:"0" maximum:"100" default:"0" doc:"Turns the pattern of a band with its thin places and stones; 50 puts what lay at the gate opposite"`
	ThickenMM        float64 `json:"thicken_mm" minimum:"0" maximum:"3" default:"0" doc:"Scrape the impression so much thicker, at the thin place or all along, and file it back after the casting"`
	SprueCount       int     `json:"sprue_count" minimum:"1" maximum:"2" default:"1" doc:"Sprues from one funnel: on a band spread_deg apart, on a level bar one at each end"`
	SpreadDeg        float64 `json:"spread_deg" minimum:"20" maximum:"180" default:"90" doc:"Angle between two sprues on a band"`
	SprueLengthMM    float64 `json:"sprue_length_mm" minimum:"2" maximum:"200" default:"20" doc:"Length of a sprue from funnel to gate; its height counts as head"`
	SprueDiameterMM  float64 `json:"sprue_diameter_mm,omitempty" minimum:"1" maximum:"30" doc:"Diameter of a sprue; as the feeding needs if absent: 4 to 6 mm, as thick as the thickest place and of no less modulus" example:"5"`
	FunnelHeadMM     float64 `json:"funnel_head_mm" minimum:"1" maximum:"80" default:"12" doc:"Depth of metal kept in the funnel"`
	FunnelDiameterMM float64 `json:"funnel_diameter_mm,omitempty" minimum:"2" maximum:"80" doc:"Mean diameter of the metal in the funnel; as the feeding needs if absent" example:"10"`
	fill.Vents
	fill.FlaskSize
	PourC     *float64 `json:"pour_c,omitempty" minimum:"100" maximum:"2000" doc:"Temperature to pour at; 100 K over the liquidus if absent"`
	PourTimeS *float64 `json:"pour_time_s,omitempty" minimum:"0.1" maximum:"30" doc:"Time until piece, sprue and funnel are full, from a video of your own pours" example:"1.3"`
}

// HeadAt is the height of metal above a place at a fraction of the way, in mm,
// once the mould is full: the funnel and the sprue, and in a standing flask
// the drop from the gate.
func (m *Mould) HeadAt(fraction float64, w Cavity) float64 {
	head := m.FunnelHeadMM + m.SprueLengthMM
	switch {
	case m.Posture != "standing":
		return head
	case !w.Round():
		return max(head+map[string]float64{"top": 1, "bottom": -1}[m.Gate]*fraction*w.LengthMM(), 2)
	}
	gate := map[string]float64{"top": 0, "side": 0.25, "bottom": 0.5}[m.Gate]
	height := func(turn float64) float64 {
		return w.HeightMM() / 2 * math.Cos(2*math.Pi*turn)
	}
	return max(head+height(gate)-height(gate+fraction), 2)
}

// Fed is the mould with the diameters of sprue and funnel that the plan settled.
func (m Mould) Fed(sprueMM, funnelMM float64) Mould {
	m.SprueDiameterMM, m.FunnelDiameterMM = sprueMM, funnelMM
	return m
}

// settle sizes sprue and funnel that were not given by what the feeding of a
// casting of that volume needs, which a channel of feederMM outlasts.
func (m *Mould) settle(alloy metal.Metal, castMM3, feederMM float64) {
	usual := melt.Usual(alloy, castMM3, feederMM, 1)
	if m.SprueDiameterMM == 0 {
		m.SprueDiameterMM = usual.SprueDiameterMM
	}
	if m.FunnelDiameterMM == 0 {
		m.FunnelDiameterMM = math.Sqrt(usual.ButtonMM3() / (math.Pi / 4 * m.FunnelHeadMM))
	}
}

// extraMinutes are the minutes at the mould and of cleaning that the mould asks
// beyond the plain one: half of a second sprue's are for the saw. filedBackG is
// the metal that was cast too thick, g.
func (m *Mould) extraMinutes(studio *Studio, filedBackG float64) (mouldMin, cleanMin float64) {
	if m.SprueCount == 2 {
		mouldMin += studio.SecondSprueMin / 2
		cleanMin += studio.SecondSprueMin / 2
	}
	if m.Posture == "standing" && m.Gate != "top" {
		mouldMin += studio.RunnerMin
	}
	if m.ThickenMM > 0 {
		mouldMin += studio.ScrapeMin
		cleanMin += studio.FileBackMinG * filedBackG
	}
	return mouldMin, cleanMin
}

// Gates is where the sprues enter, as fractions of the way round from the gate.
func (m *Mould) Gates(w Cavity) []float64 {
	switch {
	case m.SprueCount == 1:
		return []float64{0}
	case w.Round():
		half := m.SpreadDeg / 720
		return []float64{half, 1 - half}
	}
	return []float64{0, 1}
}

// ClearMM is what stones keep from the edge of a sprue or a vent, as
// stone-layouts has it.
const ClearMM = 3

package order

import (
	"math"

	"pourwright/internal/fill"
)

// Mould is how a piece is moulded and poured.
type Mould struct {
	fill.Stance
	TurnPct   float64 `json:"turn_pct" minimum:"0" maximum:"100" default:"0" doc:"Turns the pattern of a band with its thin spot and its stones: what lay at the gate lies this far round from it; 50 puts it opposite"`
	ThickenMM float64 `json:"thicken_mm" minimum:"0" maximum:"3" default:"0" doc:"Scrape the impression so much thicker, at the thin spot if there is one and else all along, and file it back after the casting"`
	fill.Sprues
	FunnelHeadMM     float64 `json:"funnel_head_mm" minimum:"1" maximum:"80" default:"12" doc:"Depth of metal kept in the funnel"`
	FunnelDiameterMM float64 `json:"funnel_diameter_mm" minimum:"2" maximum:"80" default:"18" doc:"Mean diameter of the metal in the funnel"`
	fill.Vents
	fill.FlaskSize
	PourC     *float64 `json:"pour_c,omitempty" minimum:"100" maximum:"2000" doc:"Temperature to pour at; 100 K over the liquidus if absent"`
	PourTimeS float64  `json:"pour_time_s" minimum:"0.1" maximum:"30" default:"1.5" doc:"Time in which the hand pours the mould full"`
}

// HeadAt is the height of metal above a place at a fraction of the way, in mm,
// once the mould is full: the funnel and the sprue, and in a standing flask
// the drop from the gate.
func (m *Mould) HeadAt(fraction float64, w Cavity) float64 {
	head := m.FunnelHeadMM + m.SprueLengthMM
	switch {
	case m.Posture != "standing":
		return head
	case !w.Closed:
		return max(head+map[string]float64{"top": 1, "bottom": -1}[m.Gate]*fraction*w.LengthMM, 2)
	}
	gate := map[string]float64{"top": 0, "side": 0.25, "bottom": 0.5}[m.Gate]
	height := func(turn float64) float64 {
		return (w.InsideMM + 2*w.Base.ThicknessMM) / 2 * math.Cos(2*math.Pi*turn)
	}
	return max(head+height(gate)-height(gate+fraction), 2)
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
	case w.Closed:
		half := m.SpreadDeg / 720
		return []float64{half, 1 - half}
	}
	return []float64{0, 1}
}

// ClearMM is what stones keep from the edge of a sprue or a vent, as
// stone-layouts has it.
const ClearMM = 3

package commission

import (
	"cmp"
	"math"
	"slices"

	"pourwright/internal/fill"
	"pourwright/internal/section"
)

// CommissionMould is how a piece is moulded and poured.
type CommissionMould struct {
	Posture          string   `json:"posture" enum:"standing,lying" default:"standing" doc:"standing: the parting plane stands upright; lying: it is level"`
	Gate             string   `json:"gate" enum:"top,side,bottom" default:"top" doc:"Where the metal enters the piece in a standing flask"`
	SprueCount       int      `json:"sprue_count" minimum:"1" maximum:"2" default:"1" doc:"Sprues from one funnel"`
	SprueLengthMM    float64  `json:"sprue_length_mm" minimum:"2" maximum:"200" default:"20" doc:"Length of a sprue from funnel to gate"`
	SprueDiameterMM  float64  `json:"sprue_diameter_mm" minimum:"1" maximum:"30" default:"6" doc:"Diameter of a sprue"`
	FunnelHeadMM     float64  `json:"funnel_head_mm" minimum:"1" maximum:"80" default:"12" doc:"Depth of metal kept in the funnel"`
	FunnelDiameterMM float64  `json:"funnel_diameter_mm" minimum:"2" maximum:"80" default:"18" doc:"Mean diameter of the metal in the funnel"`
	VentCount        int      `json:"vent_count" minimum:"0" maximum:"12" default:"2" doc:"Vents at the place that fills last"`
	VentDiameterMM   float64  `json:"vent_diameter_mm" minimum:"0.2" maximum:"4" default:"1" doc:"Diameter of a vent"`
	FlaskWidthMM     float64  `json:"flask_width_mm,omitempty" minimum:"20" maximum:"400" doc:"Inside width or diameter of the flask" example:"110"`
	FlaskHeightMM    float64  `json:"flask_height_mm,omitempty" minimum:"20" maximum:"400" doc:"Inside height of a standing flask" example:"120"`
	PourC            *float64 `json:"pour_c,omitempty" minimum:"100" maximum:"2000" doc:"Temperature to pour at; 100 K over the liquidus if absent"`
	PourTimeS        float64  `json:"pour_time_s" minimum:"0.1" maximum:"30" default:"1.5" doc:"Time in which the hand pours the mould full"`
}

// group is a run of like stones in the band: its extent as fractions of the
// way round, and the share of the section that stays open to the metal.
type group struct {
	from, to float64
	open     float64
}

// stations is the profile of the cavity once round from the gate: the section
// thinned at a thin spot, and narrowed where stones stand in the way.
func stations(base section.Section, thin *fill.FillThin, groups []group) section.Profile {
	const edge = 0.002 // of the way round: where a stone begins
	at := []float64{0, 1}
	if thin != nil {
		at = append(at, thin.AtPct/100)
	}
	for _, g := range groups {
		at = append(at, g.from-edge, g.from, g.to, g.to+edge)
	}
	slices.SortFunc(at, cmp.Compare)
	var p section.Profile
	for _, x := range at {
		if x < 0 || x > 1 || len(p) > 0 && 100*x-p[len(p)-1].AtPct < 1e-6 {
			continue
		}
		s := thinned(base, thin, x)
		open := 1.0
		for _, g := range groups {
			if x >= g.from && x <= g.to {
				open = min(open, g.open)
			}
		}
		s.ThicknessMM *= open
		p = append(p, section.Station{AtPct: 100 * x, Section: s})
	}
	return p
}

// thinned is the section at a fraction x of the way round, thinning evenly
// from the gate to the thin spot on both sides.
func thinned(base section.Section, thin *fill.FillThin, x float64) section.Section {
	if thin == nil {
		return base
	}
	spot := thin.AtPct / 100
	share := x / spot
	if x > spot {
		share = (1 - x) / (1 - spot)
	}
	if math.IsNaN(share) || math.IsInf(share, 0) { // the spot is at the gate's own place
		share = 1
	}
	base.ThicknessMM += share * (thin.ThicknessMM - base.ThicknessMM)
	return base
}

// headAt is the height of metal above a place of a band, in mm, once the
// mould is full: the funnel and the sprue, and in a standing flask the drop
// from a gate on top.
func (m *CommissionMould) headAt(fraction, outsideDiameterMM float64) float64 {
	head := m.FunnelHeadMM + m.SprueLengthMM
	if m.Posture != "standing" {
		return head
	}
	gate := map[string]float64{"top": 0, "side": 0.25, "bottom": 0.5}[m.Gate]
	height := func(turn float64) float64 { return outsideDiameterMM / 2 * math.Cos(2*math.Pi*turn) }
	return max(head+height(gate)-height(gate+fraction), 2)
}

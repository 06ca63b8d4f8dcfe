package commission

import (
	"cmp"
	"math"
	"slices"

	"pourwright/internal/fill"
	"pourwright/internal/section"
	"pourwright/internal/sizing"
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

// way is the cavity along the way of the metal from the gate: once round a
// band, or to the far end of a pendant or bar.
type way struct {
	base   section.Section
	thin   *fill.Thin
	turn   float64 // of the pattern, fraction of the round
	closed bool
	insideMM,
	lengthMM float64 // of a band; of a straight piece
}

// group is a run of like stones: its extent as fractions of the way, and the
// share of the section that stays open to the metal.
type group struct {
	from, to float64
	open     float64
}

// Straight says whether the piece is fed from one end rather than a closed band.
func (p *Piece) Straight() bool { return p.Piece == "pendant" || p.Piece == "bar" }

// Cavity is the section along the way of the metal from the gate in the mould
// m, scraped as asked, without what stones take.
func (p *Piece) Cavity(m *sizing.MouldOut) section.Profile {
	return p.way(m).thickened(p.Mould.ThickenMM).profile(nil)
}

func (p *Piece) way(m *sizing.MouldOut) way {
	w := way{base: m.FillSection, thin: p.ThinSpot, turn: p.Mould.TurnPct / 100, closed: !p.Straight(), insideMM: m.Mould.InsideDiameterMM, lengthMM: m.ArcLengthMM}
	if w.thin != nil {
		thin := *w.thin
		thin.ThicknessMM += m.FillSection.ThicknessMM - p.Section.ThicknessMM
		w.thin = &thin
	}
	return w
}

// profile is the cavity from the gate: the section thinned at a thin spot, and
// narrowed where stones stand in the way.
func (w way) profile(groups []group) section.Profile {
	const edge = 0.002 // of the way: where a stone begins
	at := []float64{0, 1}
	if w.thin != nil {
		at = append(at, w.place(0), w.place(w.thin.AtPct/100))
	}
	if w.closed { // a group over the gate is seen from both ends
		for _, g := range groups {
			for _, turn := range []float64{-1, 1} {
				groups = append(groups, group{g.from + turn, g.to + turn, g.open})
			}
		}
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
		s := w.at(x)
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

// place is where a place of the pattern lies from the gate, both fractions.
func (w way) place(x float64) float64 {
	if !w.closed || w.turn == 0 {
		return x
	}
	return math.Mod(x+w.turn, 1)
}

// at is the plain section at a fraction x of the way: it thins evenly to the
// thin spot, on a band from both sides.
func (w way) at(x float64) section.Section {
	s := w.base
	if w.thin == nil {
		return s
	}
	spot := w.thin.AtPct / 100
	if w.closed && w.turn != 0 {
		x = math.Mod(x-w.turn+1, 1)
	}
	share := x / spot
	switch {
	case x > spot && w.closed:
		share = (1 - x) / (1 - spot)
	case x > spot:
		share = 1
	}
	if math.IsNaN(share) || math.IsInf(share, 0) { // the spot is at the gate's own place
		share = 1
	}
	s.ThicknessMM += share * (w.thin.ThicknessMM - s.ThicknessMM)
	return s
}

// thickened is the way with its thinnest place, or all of it, so much thicker.
func (w way) thickened(mm float64) way {
	switch {
	case mm == 0:
	case w.thin == nil:
		w.base.ThicknessMM += mm
		if w.base.Shape == section.Round { // scraped one way only
			w.base.Shape, w.base.WidthMM = section.Oval, w.base.ThicknessMM-mm
		}
	default:
		t := *w.thin
		t.ThicknessMM = min(t.ThicknessMM+mm, w.base.ThicknessMM)
		w.thin = &t
	}
	return w
}

// volume is what the plain way holds, mm³.
func (w way) volume() float64 {
	if w.closed {
		return w.profile(nil).RingVolume(w.insideMM)
	}
	return w.profile(nil).Volume(w.lengthMM)
}

// headAt is the height of metal above a place at a fraction of the way, in mm,
// once the mould is full: the funnel and the sprue, and in a standing flask
// the drop from the gate.
func (m *Mould) headAt(fraction float64, w way) float64 {
	head := m.FunnelHeadMM + m.SprueLengthMM
	switch {
	case m.Posture != "standing":
		return head
	case !w.closed:
		return max(head+map[string]float64{"top": 1, "bottom": -1}[m.Gate]*fraction*w.lengthMM, 2)
	}
	gate := map[string]float64{"top": 0, "side": 0.25, "bottom": 0.5}[m.Gate]
	height := func(turn float64) float64 {
		return (w.insideMM + 2*w.base.ThicknessMM) / 2 * math.Cos(2*math.Pi*turn)
	}
	return max(head+height(gate)-height(gate+fraction), 2)
}

// wayMin is the minutes that a way to pour asks beyond the plain one.
type wayMin struct{ mouldMin, cleanMin float64 }

// minutes of a way to pour: half of a second sprue's are for the saw. Filed
// back is the metal that was cast too thick, g.
func (m *Mould) minutes(studio *Studio, filedBackG float64) wayMin {
	var w wayMin
	if m.SprueCount == 2 {
		w.mouldMin += studio.SecondSprueMin / 2
		w.cleanMin += studio.SecondSprueMin / 2
	}
	if m.Posture == "standing" && m.Gate != "top" {
		w.mouldMin += studio.RunnerMin
	}
	if m.ThickenMM > 0 {
		w.mouldMin += studio.ScrapeMin
		w.cleanMin += studio.FileBackMinG * filedBackG
	}
	return w
}

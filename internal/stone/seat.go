package stone

import (
	"fmt"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/section"
)

// PressWindow is a range of press depths. Where it is empty, the reason says why.
type PressWindow struct {
	LowMM  *float64 `json:"low_mm" doc:"Press at least this deep; null when there is no such depth" example:"0.1"`
	HighMM *float64 `json:"high_mm" doc:"Press at most this deep; null when there is no such depth" example:"0.19"`
	Reason string   `json:"reason" doc:"Why the window is empty; empty text when it is not"`
}

// Empty reports whether no depth will do.
func (w PressWindow) Empty() bool { return w.LowMM == nil }

// holds says whether a press depth lies in the window.
func (w PressWindow) holds(mm float64) bool {
	return !w.Empty() && mm >= *w.LowMM-1e-9 && mm <= *w.HighMM+1e-9
}

func window(low, high float64, why string, args ...any) PressWindow {
	if low <= high {
		return PressWindow{LowMM: &low, HighMM: &high}
	}
	return PressWindow{Reason: fmt.Sprintf(why, args...)}
}

// Seat is how a stone sits in the metal. Press depths are how deep the stone
// goes into the mould's face, table first.
type Seat struct {
	PressMM        float64     `json:"press_mm" doc:"How deep to press the stone into the clay, table first; yours where you gave it" example:"0.15"`
	Window         PressWindow `json:"window" doc:"Press depths between drowned and buried, held by what hold_by says"`
	HoldBy         string      `json:"hold_by" enum:"lip,grains,nothing" doc:"What holds the stone: a lip of metal all round, grains, or nothing"`
	LipWindow      PressWindow `json:"lip_window" doc:"Press depths at which a lip of metal alone holds it"`
	GrainWindow    PressWindow `json:"grain_window" doc:"Press depths at which grains hold it"`
	DrownedMM      float64     `json:"drowned_above_mm" doc:"Pressed less deep than this, metal covers too much of the crown: the stone must be cut free" example:"0.1"`
	BuriedMM       float64     `json:"buried_below_mm" doc:"Pressed deeper than this, the girdle is in the clay and nothing grips it" example:"0.22"`
	LipShortMM     float64     `json:"lip_stops_mm" doc:"Height above the clay, on the crown, at which surface tension stops the lip at this head" example:"0.38"`
	FaceFallsMM    float64     `json:"face_falls_mm" doc:"How far a curved face falls away at the stone's edge" example:"0"`
	BehindMM       float64     `json:"behind_mm" doc:"Metal left between culet and far face" example:"1"`
	BehindNeededMM float64     `json:"behind_needed_mm" doc:"Metal needed there" example:"0.5"`
	HoleBehindMM   float64     `json:"hole_behind_mm" doc:"Diameter of the hole that surface tension leaves at the back when the metal there is too thin" example:"0"`
	BesideMM       float64     `json:"beside_mm" doc:"Metal left at each side of the girdle, by the full width of the section; on a curved face see face_falls_mm" example:"2.3"`
	BesideNeededMM float64     `json:"beside_needed_mm" doc:"Metal needed there" example:"0.5"`
	ThicknessMinMM float64     `json:"thickness_min_mm" doc:"Thinnest section that carries the stone" example:"1.1"`
	WidthMinMM     float64     `json:"width_min_mm" doc:"Narrowest section that carries it" example:"2.3"`
	Carried        bool        `json:"carried" doc:"Whether this section carries it"`
	FlowTakenMM2   float64     `json:"flow_section_taken_mm2" doc:"Area that the stone takes from the channel the metal runs through" example:"0.5"`
	FlowLeftPct    float64     `json:"flow_section_left_pct" doc:"Share of the channel that is left" example:"95"`
	DisplacedMM3   float64     `json:"displaced_mm3" doc:"Metal that the stone displaces: its volume below the face" example:"0.4"`
	PressWithin    bool        `json:"press_within" doc:"Whether press_mm lies in the window"`
}

// Rules of the bench for seats.
const (
	behindLeastMM = 0.5  // metal behind the culet
	besideLeastMM = 0.5  // metal at each side of the girdle
	lipLeastMM    = 0.1  // how far a lip must reach in over the girdle
	pastGrainMM   = 0.2  // metal outside a grain
	usualShowPct  = 50.0 // of the crown that stays free, where nothing else is asked
	smallestPress = 0.05 // mm: less than this cannot be pressed on purpose
)

var srcSeat = calc.Source{For: "metal behind and beside a stone", Text: "0.5 mm behind is one clay caster's figure, read, without guarantee; 0.5 mm beside, 0.1 mm of lip and half of the crown visible are our choice", Status: calc.Choice}

// site is where a stone sits: the section, the radius of the outer face
// along the piece (0 for a straight one), and the stone's measure across.
type site struct {
	section section.Section
	radius  float64
	across  float64
}

// falls returns how far the face has fallen at the stone's edge, at worst,
// and at grains that stand half across and half along, in mm.
func (p site) falls(s solid) (edge, atGrain float64) {
	along := s.LengthMM * s.WidthMM / p.across // the other measure
	bow := func(x float64) float64 {
		if p.radius <= 0 {
			return 0
		}
		return p.radius - math.Sqrt(max(0, p.radius*p.radius-x*x))
	}
	return max(faceFall(p.section, p.across), bow(along/2)), faceFall(p.section, p.across*math.Sqrt2/2) + bow(along*math.Sqrt2/4)
}

// seatFor seats a stone. showPct is the share of the crown's width to be left
// visible; press 0 leaves the depth to the window.
func seatFor(s solid, volumeMM3 float64, at site, c capillary, gr Grains, showPct, pressMM float64) Seat {
	edge, atGrain := at.falls(s)
	lip := c.wedge(s.CrownDeg, sureDeg)
	lap := lipLeastMM * math.Tan(min(s.CrownDeg, 80)*math.Pi/180)
	seat := Seat{DrownedMM: max(showPct/100*s.CrownMM, smallestPress), BuriedMM: s.CrownMM + s.GirdleMM, LipShortMM: lip, FaceFallsMM: edge}
	if s.CrownMM <= smallestPress {
		seat.DrownedMM = s.CrownMM
	}
	seat.LipWindow = window(seat.DrownedMM, s.CrownMM-lip-lap-edge,
		"the crown is %.2f mm high; a lip of %.2f mm wants %.2f mm, and at this head the metal stops %.2f mm up the crown%s: no lip without drowning the stone", s.CrownMM, lipLeastMM, lap, lip, fallWords(edge))
	switch {
	case gr.Count == 0:
		seat.GrainWindow = PressWindow{Reason: "no grains asked for"}
	case gr.DiameterMM == 0:
		seat.GrainWindow = PressWindow{Reason: "grains: " + gr.Reason}
	case gr.Fills == FillsNot:
		seat.GrainWindow = PressWindow{Reason: fmt.Sprintf("grains of %.2f mm do not fill at this head; they surely do at %.0f mm", gr.DiameterMM, gr.HeadToFillMM)}
	default:
		seat.GrainWindow = window(seat.DrownedMM, s.CrownMM-atGrain,
			"the face falls away %.2f mm at the grains, and the crown is only %.2f mm high: cut a flat for the stone", atGrain, s.CrownMM)
	}
	seat.HoldBy, seat.Window = "nothing", PressWindow{Reason: seat.LipWindow.Reason + "; and " + seat.GrainWindow.Reason}
	// The section wants the stone at least so deep in the clay. A lip is the surer
	// hold, but gives way to grains where only they let the section carry it.
	seat.BehindNeededMM = max(behindLeastMM, c.slit(sureDeg))
	carried := s.DepthMM + seat.BehindNeededMM - at.section.ThicknessMM
	reaches := func(w PressWindow) bool { return !w.Empty() && *w.HighMM >= carried }
	switch {
	case !seat.LipWindow.Empty() && (reaches(seat.LipWindow) || !reaches(seat.GrainWindow)):
		seat.HoldBy, seat.Window = "lip", seat.LipWindow
	case !seat.GrainWindow.Empty():
		seat.HoldBy, seat.Window = "grains", seat.GrainWindow
	}
	seat.PressMM = seat.DrownedMM
	if w := seat.Window; !w.Empty() {
		seat.PressMM = (*w.LowMM + *w.HighMM) / 2
		if reaches(w) {
			seat.PressMM = max(seat.PressMM, carried)
		}
	}
	if pressMM > 0 {
		seat.PressMM = min(pressMM, s.DepthMM)
		if !seat.Window.holds(seat.PressMM) && seat.GrainWindow.holds(seat.PressMM) { // too deep for a lip: grains hold it
			seat.HoldBy, seat.Window = "grains", seat.GrainWindow
		}
	}
	seat.PressWithin = seat.Window.holds(seat.PressMM)
	seat.room(s, volumeMM3, at, c, gr)
	return seat
}

// room fills in the metal around and behind the stone, and what it takes away.
func (seat *Seat) room(s solid, volumeMM3 float64, at site, c capillary, gr Grains) {
	sec, acrossMM := at.section, at.across
	inside := s.DepthMM - seat.PressMM
	seat.BesideNeededMM = max(besideLeastMM, gr.DiameterMM/2+pastGrainMM)
	seat.BehindMM = sec.ThicknessMM - inside
	seat.BesideMM = (sec.Width() - acrossMM) / 2
	seat.ThicknessMinMM = inside + seat.BehindNeededMM
	seat.WidthMinMM = acrossMM + 2*seat.BesideNeededMM
	seat.Carried = seat.BehindMM >= seat.BehindNeededMM-1e-9 && seat.BesideMM >= seat.BesideNeededMM-1e-9
	if short := c.slit(sureDeg) - seat.BehindMM; short > 0 {
		// a cone of the pavilion's slope over a flat: the metal stops where the gap is too small for it
		seat.HoleBehindMM = acrossMM
		if slope := math.Tan(s.PavDeg * math.Pi / 180); slope > 0 {
			seat.HoleBehindMM = min(acrossMM, 2*short/slope)
		}
	}
	seat.FlowTakenMM2 = s.shadow(seat.PressMM, acrossMM)
	seat.FlowLeftPct = max(0, 100*(1-seat.FlowTakenMM2/sec.Area()))
	seat.DisplacedMM3 = volumeMM3 * s.inMetal(seat.PressMM)
}

// faceFall is how far the outer face of a section has fallen, at half of
// across from its crest, in mm; the whole thickness beyond its edge.
func faceFall(sec section.Section, acrossMM float64) float64 {
	x := acrossMM / sec.Width() // of the half-width
	if x >= 1 && sec.Shape != section.Rectangular {
		return sec.ThicknessMM
	}
	dome := 1 - math.Sqrt(max(0, 1-x*x))
	switch sec.Shape {
	case section.Round, section.Oval, section.D:
		return sec.ThicknessMM / 2 * dome
	case section.HalfRound:
		return sec.ThicknessMM * dome
	case section.KnifeEdge:
		return sec.ThicknessMM * x
	}
	return 0
}

func fallWords(edge float64) string {
	if edge == 0 {
		return ""
	}
	return fmt.Sprintf(", and the face falls away %.2f mm at its edge", edge)
}

package order

import (
	"math"

	"pourwright/internal/blend"
	"pourwright/internal/fill"
	"pourwright/internal/melt"
	"pourwright/internal/mesh"
	"pourwright/internal/section"
	"pourwright/internal/shape"
	"pourwright/internal/sizing"
	"pourwright/internal/stone"
	"pourwright/internal/verdict"
)

// Piece is a piece wanted.
type Piece struct {
	Name  string `json:"name" minLength:"1" maxLength:"60" doc:"What you call it" example:"large bangle"`
	Alloy string `json:"alloy,omitempty" maxLength:"60" doc:"What this piece is cast of, where it is not the alloy of the order; of the same precious metal" example:"silver-935"`
	Owner string `json:"for_owner,omitempty" maxLength:"80" doc:"Whose piece it is, an owner_name of the lots; needed with keep_owners_apart and several clients"`

	shape.Shape
	HandCircumferenceMM *float64      `json:"hand_circumference_mm,omitempty" minimum:"80" maximum:"350" doc:"Tape around the knuckles with the thumb folded, for a bangle, in place of its inside" example:"205"`
	WristMM             *float64      `json:"wrist_circumference_mm,omitempty" minimum:"90" maximum:"300" doc:"Tape around the wrist, for a cuff, in place of its inside: metal and opening together go round it" example:"165"`
	RingSystem          sizing.System `json:"ring_system,omitempty" enum:"circumference,diameter,us,uk,japan,continental,swiss,italian,spanish,indian,hong_kong" doc:"System of ring_size"`
	RingSize            string        `json:"ring_size,omitempty" maxLength:"24" doc:"Finished ring size, in place of the inside of a ring or signet"`

	Pattern *Pattern       `json:"pattern,omitempty" doc:"The pattern that will be moulded, where it differs from what is wanted"`
	Stones  []PlacedStones `json:"stones,omitempty" maxItems:"40" doc:"Stones wanted in this piece"`
	Placing *PlacingRule   `json:"placing,omitempty" doc:"Place the stones at hand by rule: the largest in the middle, like pairs falling away left and right, clear of sprue, vents, thin places and parting"`
	Mould   Mould          `json:"mould,omitempty" doc:"How it is moulded and poured"`
	Work    PieceWork      `json:"work,omitempty" doc:"Work and fees for this piece"`
}

// Straight says whether the piece lies straight from its gate.
func (p *Piece) Straight() bool { return !p.Kind.Curved() }

// Band is the width and thickness of the band in mm, where one section is given.
func (p *Piece) Band() (widthMM, thicknessMM float64) {
	if p.ThicknessMM != nil {
		thicknessMM = *p.ThicknessMM
	}
	if widthMM = thicknessMM; p.WidthMM != nil {
		widthMM = *p.WidthMM
	}
	if len(p.Stations) > 0 {
		widthMM, thicknessMM = p.Stations[0].Width(), p.Stations[0].ThicknessMM
	}
	return widthMM, thicknessMM
}

// Pattern is an existing pattern.
type Pattern struct {
	InsideDiameterMM *float64      `json:"inside_diameter_mm,omitempty" minimum:"9" maximum:"120" doc:"Its inside diameter; this, or width and height, is needed without mesh" example:"66"`
	InsideWidthMM    *float64      `json:"inside_width_mm,omitempty" minimum:"9" maximum:"120" doc:"Inside width of an oval one, with inside_height_mm" example:"62"`
	InsideHeightMM   *float64      `json:"inside_height_mm,omitempty" minimum:"9" maximum:"120" doc:"Inside height of an oval one" example:"51"`
	Mesh             *mesh.Pattern `json:"mesh,omitempty" doc:"Its surface as an STL file in base64, in place of its measures"`
	ThicknessMM      *float64      `json:"thickness_mm,omitempty" minimum:"0.3" maximum:"20" doc:"Its thickness" example:"1.8"`
	WidthMM          *float64      `json:"width_mm,omitempty" minimum:"0.5" maximum:"80" doc:"Its width"`
	Repeats          int           `json:"repeats" minimum:"0" maximum:"200" default:"0" doc:"How often its ornament repeats around; 0 for plain"`
}

// inside is the inside diameter of the pattern, of an oval one its circumference
// over π, mm; nil where its measures are not given.
func (a *Pattern) inside() *float64 {
	if a.InsideWidthMM == nil || a.InsideHeightMM == nil {
		return a.InsideDiameterMM
	}
	d := section.EllipsePerimeter(*a.InsideWidthMM/2, *a.InsideHeightMM/2) / math.Pi
	return &d
}

// PlacingRule lets the stones at hand be placed on a piece by rule.
type PlacingRule struct {
	MaxStones int     `json:"max_stones" minimum:"1" maximum:"40" default:"5" doc:"How many stones the piece takes at most"`
	CentrePct float64 `json:"centre_pct" minimum:"0" maximum:"100" default:"50" doc:"The middle of the row, percent of the way round from the gate, or along a pendant or bar; the pattern unturned"`
	GapMM     float64 `json:"gap_mm" minimum:"0.1" maximum:"20" default:"0.6" doc:"Least gap between neighbours"`
}

// PlacedStones are stones of one kind in a piece.
type PlacedStones struct {
	ID       string  `json:"id" maxLength:"60" doc:"Which, by the id under stones" example:"blue sapphires"`
	Quantity int     `json:"quantity" minimum:"1" maximum:"100" default:"1" doc:"How many, side by side"`
	AtPct    float64 `json:"at_pct" minimum:"0" maximum:"100" default:"25" doc:"Middle of the group, percent of the way round from the gate; 50 is opposite the gate"`
}

// PiecePlan is the plan of one piece.
type PiecePlan struct {
	Name             string            `json:"name" doc:"As given"`
	Verdict          verdict.Level     `json:"verdict" enum:"go,care,cannot_tell,not_yet,do_not_pour" doc:"Whether to pour it as planned"`
	Reasons          verdict.Reasons   `json:"reasons" doc:"Why, worst first; empty for a plain go"`
	Alloy            string            `json:"alloy" doc:"What it is cast of: the alloy asked for where its charge is that, else what the charge is instead"`
	InsideMM         float64           `json:"inside_diameter_mm" doc:"Finished inside diameter; 0 for a pendant or bar"`
	LengthMM         float64           `json:"length_mm,omitempty,omitzero" doc:"Finished length of a pendant or bar"`
	SharesPourWith   []string          `json:"shares_pour_with,omitempty" doc:"Pieces in the same flask; melt and charge are of the pour they share"`
	PourTurn         int               `json:"pour_turn" doc:"Which pour it is, from 1, in the order recommended"`
	ReturnsG         float64           `json:"returns_g" doc:"Button and sprue of the pour before that go into it"`
	FailurePct       float64           `json:"failure_pct" doc:"Probability that the pour fails"`
	FinishedG        float64           `json:"finished_g" doc:"Finished mass without stones"`
	PourC            float64           `json:"pour_c" doc:"Temperature to pour at"`
	SprueDiameterMM  float64           `json:"sprue_diameter_mm" doc:"Diameter of a sprue, or of its gate in a shared flask: as given, or as the feeding needs"`
	FunnelDiameterMM float64           `json:"funnel_diameter_mm" doc:"Mean diameter of the metal in the funnel of its flask: as given, or as the feeding needs"`
	ChargeTold       ChargeBrief       `json:"charge" doc:"What to weigh out"`
	Parting          shape.Parting     `json:"parting" doc:"Whether the pattern can be drawn from the mould, and how it parts"`
	Wear             shape.Wear        `json:"wear" doc:"Whether the finished piece is stout enough"`
	MouldTold        MouldBrief        `json:"mould" doc:"The mould"`
	Stones           *stone.SettingOut `json:"stones,omitempty" doc:"Its stones, where it has any"`
	FillTold         FillBrief         `json:"fill" doc:"Whether the metal fills it, and what helps"`
	MeltTold         MeltBrief         `json:"melt" doc:"How much to melt, and how long it takes"`

	// In full, as the calculations of the parts answer; the fields above tell them in short.
	Charge blend.ChargePlan `json:"-"`
	Mould  sizing.MouldOut  `json:"-"`
	Fill   fill.Out         `json:"-"`
	Melt   melt.Out         `json:"-"`
}

// NotCast is stones that are not cast in place.
type NotCast struct {
	ID       string `json:"id" doc:"Which stones"`
	Piece    string `json:"piece,omitempty" doc:"The piece they were wanted in; empty for those not placed"`
	Quantity int    `json:"quantity" doc:"How many"`
	What     string `json:"what" enum:"set_after_casting,ask_first,give_back,not_used" doc:"What becomes of them"`
	Why      string `json:"why" doc:"The weightiest ground"`
}

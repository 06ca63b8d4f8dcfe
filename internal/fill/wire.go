// Package fill answers whether the metal will fill the mould: it turns the
// description of a piece, a flask and a pour into the ducts that package
// front follows metal through, scatters what a hand cannot hold exactly, and
// says how likely the pour is to fail, why, and what helps most.
package fill

import (
	"pourwright/internal/calc"
	"pourwright/internal/fluid"
	"pourwright/internal/mesh"
	"pourwright/internal/section"
)

// In describes a piece, its mould and a pour. In Go, begin with
// calc.Default[In]().
type In struct {
	Piece            string          `json:"piece" enum:"bangle,ring,bar,pendant" default:"bangle" doc:"What is cast: a bangle or ring is a closed round band in which the metal splits in two streams; a bar or pendant is fed from one end"`
	InsideDiameterMM float64         `json:"inside_diameter_mm,omitempty,omitzero" minimum:"8" maximum:"150" doc:"Inside diameter of a bangle or ring as moulded" example:"62"`
	LengthMM         float64         `json:"length_mm,omitempty,omitzero" minimum:"2" maximum:"400" doc:"Length of a bar or pendant from the gate to its far end" example:"45"`
	Section          section.Section `json:"section,omitempty" doc:"Section of the piece; with thin_spot, the section at the gate. Not needed with stations or pattern_mesh"`
	ThinSpot         *Thin           `json:"thin_spot,omitempty" doc:"A place to which the section thins evenly from both sides, as where a bangle is filed thin at the back"`
	Stations         section.Profile `json:"stations,omitempty" maxItems:"200" doc:"Sections along the way in place of section and thin_spot: from the gate once round a bangle or ring, or from the gate to the far end of a bar. With two sprues on a band, from the point midway between them"`
	PatternMesh      *mesh.Pattern   `json:"pattern_mesh,omitempty" doc:"The surface of a closed ring or bangle as moulded, in place of its measures: an STL file in base64, or the file pattern_mesh of a form. The gate is at its thickest place; turn it by thickest"`
	Thickest         string          `json:"thickest" enum:"as_given,at_gate,far" default:"as_given" doc:"Turns the pattern of a band: its thickest part at the gate or opposite. In a standing flask with the gate on top, at_gate is up and far is down"`

	Stance
	Sprues
	FunnelHeadMM     float64 `json:"funnel_head_mm" minimum:"0" maximum:"80" default:"12" doc:"Depth of metal kept in the funnel; it becomes the button"`
	FunnelDiameterMM float64 `json:"funnel_diameter_mm" minimum:"2" maximum:"80" default:"18" doc:"Mean diameter of the metal in the funnel"`
	Vents

	Alloy        string   `json:"alloy" default:"silver-925" doc:"Alloy by its id in the catalogue of alloys, or a composition such as Ag 925 Cu 75"`
	SolidusC     *float64 `json:"solidus_c,omitempty" minimum:"100" maximum:"2000" doc:"Your own solidus, with liquidus_c, in place of the catalogue's"`
	LiquidusC    *float64 `json:"liquidus_c,omitempty" minimum:"100" maximum:"2000" doc:"Your own liquidus, with solidus_c"`
	PourC        *float64 `json:"pour_c,omitempty" minimum:"100" maximum:"2000" doc:"Temperature of the metal as it enters the funnel; 100 K over the liquidus if absent"`
	ClayC        float64  `json:"clay_c" minimum:"-20" maximum:"300" default:"25" doc:"Temperature of the clay"`
	PourTimeS    float64  `json:"pour_time_s" minimum:"0.1" maximum:"30" default:"1.5" doc:"Time in which the hand pours piece, sprue and funnel full"`
	PourRateMM3S *float64 `json:"pour_rate_mm3_s,omitempty" minimum:"20" maximum:"200000" doc:"Rate at which the hand pours, in place of pour_time_s" example:"3500"`

	InterfaceLowWM2K  float64    `json:"interface_low_w_m2k" minimum:"20" maximum:"20000" default:"500" doc:"Low end of the interface coefficient between metal and clay"`
	InterfaceHighWM2K float64    `json:"interface_high_w_m2k" minimum:"20" maximum:"20000" default:"1500" doc:"High end; between the two every ratio is held equally likely"`
	Calibration       *Posterior `json:"calibration,omitempty" doc:"What your own pours say of the interface coefficient and your pour rate: the answer's posterior from calibrations, in place of the range"`
	Clay              *Clay      `json:"clay,omitempty" doc:"Your own clay"`
	Scatter           *Scatter   `json:"scatter,omitempty" doc:"How far a pour strays from its plan; zero holds a figure exactly"`

	Details []Detail `json:"details,omitempty" maxItems:"20" doc:"Fine details that must come out"`
	FlaskSize
	PartingMM2   *float64 `json:"parting_area_mm2,omitempty" minimum:"1" maximum:"200000" doc:"Area of metal in the parting plane, if not that of the band, bar, sprue and funnel"`
	RiskLimitPct float64  `json:"risk_limit_pct" minimum:"0.5" maximum:"60" default:"10" doc:"The risk that you accept; the smallest single change that brings it there is looked for"`
	Levers       bool     `json:"levers" default:"true" doc:"Try the practical changes and rank them"`
}

// Stance is how the flask stands and where the metal enters.
type Stance struct {
	Posture string `json:"posture" enum:"standing,lying" default:"standing" doc:"standing: the parting plane stands upright and the metal runs down or up in it; lying: the parting plane is level and the metal runs round in it"`
	Gate    string `json:"gate" enum:"top,side,bottom" default:"top" doc:"Where the metal enters the piece in a standing flask; no matter in a lying one"`
}

// Sprues lead the metal from the funnel to the piece.
type Sprues struct {
	SprueCount      int     `json:"sprue_count" minimum:"1" maximum:"2" default:"1" doc:"Sprues from one funnel: on a band spread_deg apart, on a level bar one at each end"`
	SpreadDeg       float64 `json:"spread_deg" minimum:"20" maximum:"180" default:"90" doc:"Angle between two sprues on a band"`
	SprueLengthMM   float64 `json:"sprue_length_mm" minimum:"2" maximum:"200" default:"20" doc:"Length of a sprue from funnel to gate; its height counts as head"`
	SprueDiameterMM float64 `json:"sprue_diameter_mm" minimum:"1" maximum:"30" default:"6" doc:"Diameter of a sprue"`
}

// Vents let the gas out.
type Vents struct {
	VentCount      int     `json:"vent_count" minimum:"0" maximum:"12" default:"2" doc:"Vents at the place that fills last"`
	VentDiameterMM float64 `json:"vent_diameter_mm" minimum:"0.2" maximum:"4" default:"1" doc:"Diameter of a vent"`
}

// FlaskSize is the inside of the flask.
type FlaskSize struct {
	FlaskWidthMM  float64 `json:"flask_width_mm,omitempty,omitzero" minimum:"20" maximum:"400" doc:"Inside width or diameter of the flask, for the clay that is left round the piece" example:"90"`
	FlaskHeightMM float64 `json:"flask_height_mm,omitempty,omitzero" minimum:"20" maximum:"400" doc:"Inside height of a standing flask" example:"110"`
}

// Thin is where a section is thinned.
type Thin struct {
	ThicknessMM float64 `json:"thickness_mm" minimum:"0.2" maximum:"60" doc:"Thickness there" example:"1.1"`
	AtPct       float64 `json:"at_pct" minimum:"1" maximum:"100" default:"50" doc:"Place along the way from the gate; 50 is the far side of a band; less than 100 on a band, which ends at the gate again"`
}

// Clay is the mould material.
type Clay struct {
	fluid.Clay
	PermeabilityAFS float64 `json:"permeability_afs" minimum:"0.1" maximum:"1000" default:"20" doc:"Gas permeability, AFS number"`
	WallMM          float64 `json:"wall_mm" minimum:"2" maximum:"100" default:"15" doc:"Clay between the piece and the open air, also the length of the vents"`
}

// Scatter of what a pour cannot hold exactly.
type Scatter struct {
	PourK           float64 `json:"pour_k" minimum:"0" maximum:"150" default:"20" doc:"Standard deviation of the pour temperature, K"`
	PourRatePct     float64 `json:"pour_rate_pct" minimum:"0" maximum:"100" default:"30" doc:"Standard deviation of the pour rate"`
	EffusivityPct   float64 `json:"effusivity_pct" minimum:"0" maximum:"80" default:"30" doc:"Half-width of the band of the clay's heat diffusivity √(kρc)"`
	ThicknessMM     float64 `json:"thickness_mm" minimum:"0" maximum:"1" default:"0.06" doc:"Standard deviation of the thickness of the impression"`
	ChokeLow        float64 `json:"choke_low,omitempty" minimum:"0.05" maximum:"0.95" doc:"Low end of the solid fraction at which a front stops; from the freezing range if absent" example:"0.2"`
	ChokeHigh       float64 `json:"choke_high,omitempty" minimum:"0.05" maximum:"0.95" doc:"High end" example:"0.35"`
	ColdShut        float64 `json:"cold_shut_solid" minimum:"0.01" maximum:"0.9" default:"0.1" doc:"Solid fraction above which fronts that meet do not weld"`
	TensionPct      float64 `json:"tension_pct" minimum:"0" maximum:"60" default:"20" doc:"Half-width of the band of surface tension times cosine of the contact angle"`
	PermeabilityPct float64 `json:"permeability_pct" minimum:"0" maximum:"400" default:"100" doc:"How far the permeability may be greater, or smaller by the same ratio"`
}

// Detail is a small feature that the metal must enter against its surface tension.
type Detail struct {
	Kind    string  `json:"kind" enum:"dimple,line" doc:"dimple: a hollow in the clay that casts a bead or grain; line: a groove in the clay that casts a raised line"`
	SizeMM  float64 `json:"size_mm" minimum:"0.05" maximum:"20" doc:"Radius of a dimple, or width of a line" example:"0.4"`
	DepthMM float64 `json:"depth_mm,omitempty" minimum:"0.02" maximum:"20" doc:"Depth of a line; half its width if absent" example:"0.3"`
	AtPct   float64 `json:"at_pct" minimum:"0" maximum:"100" default:"50" doc:"Place along the way from the gate"`
}

// Out says whether the metal fills the mould, how sure that is, and what helps.
type Out struct {
	FailurePct    float64 `json:"failure_pct" doc:"Probability that the pour fails in any of the ways under risks"`
	FailureSEPct  float64 `json:"failure_standard_error_pct" doc:"Standard error of that from the sampling alone; the model's own error is larger"`
	FailureTopPct float64 `json:"failure_upper_pct" doc:"What the sampling cannot exceed with 95 % confidence"`
	Score         float64 `json:"score" doc:"100 less failure_pct"`
	Verdict       string  `json:"verdict" enum:"go,care,do_not_pour" doc:"go: at or below risk_limit_pct; care: up to three times it, but not over half; do_not_pour: above"`

	Risks    []FailureMode `json:"risks" doc:"Ways to fail, each counted by itself"`
	Nominal  Nominal       `json:"nominal" doc:"The pour as planned, nothing scattered"`
	Details  []DetailFill  `json:"details" doc:"How far the metal enters the details"`
	Causes   []Cause       `json:"causes" doc:"What decides, greatest first"`
	Levers   []Lever       `json:"levers" doc:"Practical changes ranked by risk taken away per effort; empty when not asked for"`
	Smallest *Smallest     `json:"smallest_change,omitempty" doc:"The smallest single change found that brings the risk to risk_limit_pct"`
	Feeding  Feeding       `json:"feeding" doc:"Whether the freezing order leads to the sprue"`
	Flask    Flask         `json:"flask" doc:"What the metal does to the flask"`
	calc.Notes
}

// FailureMode is one way to fail.
type FailureMode struct {
	Kind   string  `json:"kind" enum:"misrun,cold_shut,shrinkage,detail_loss" doc:"misrun: the mould is not filled; cold_shut: streams meet too cold to weld; shrinkage: metal freezes cut off from the sprue; detail_loss: a detail stays empty"`
	Pct    float64 `json:"probability_pct" doc:"Probability"`
	SEPct  float64 `json:"standard_error_pct" doc:"Standard error of the sampling"`
	TopPct float64 `json:"upper_pct" doc:"What the sampling cannot exceed with 95 % confidence"`
}

// Nominal is the run without scatter.
type Nominal struct {
	Regime      string    `json:"regime" enum:"running_full,part_full" doc:"running_full: the metal fills the section behind its front; part_full: gravity empties the channel faster than the gate feeds it, so a stream falls to the lowest point and the piece fills upwards from there"`
	FilledPct   float64   `json:"filled_pct" doc:"Share of the piece that is filled"`
	FillTimeS   *float64  `json:"fill_time_s,omitempty" doc:"Time from the start of the pour until the piece is full; left out if it is not"`
	Margin      float64   `json:"margin" doc:"What is left at the coldest front of the heat that it can lose, as a share of that at the pour; negative is the share of the piece left empty"`
	CoolestC    float64   `json:"coolest_c" doc:"Lowest temperature at which metal reaches any place"`
	HeadMM      float64   `json:"head_mm" doc:"Head of metal over the lowest point of the piece when full"`
	Stretches   []Stretch `json:"stretches" doc:"The ways the metal goes, with arrivals along them"`
	Meetings    []Meeting `json:"meetings" doc:"Where streams meet"`
	ReachBareMM float64   `json:"reach_interface_only_mm" doc:"How far the metal would run in the mean section if only the interface held its heat back: the cautious bound"`
	ReachWarmMM float64   `json:"reach_warmed_clay_mm" doc:"The same if all along the way it met clay warmed for as long as it has run: the hopeful bound"`
	NeedMM      float64   `json:"reach_needed_mm" doc:"The longest way that it must run"`
}

// Stretch is a way from a gate.
type Stretch struct {
	Name       string   `json:"name" doc:"Which stretch" example:"arm"`
	LengthMM   float64  `json:"length_mm" doc:"Its length"`
	Regime     string   `json:"regime" enum:"running_full,part_full" doc:"As under nominal"`
	FilledPct  float64  `json:"filled_pct" doc:"Share that is filled"`
	Stopped    string   `json:"stopped" enum:"filled,froze,surface_tension,gas,froze_in_stream,starved" doc:"filled, or what stopped the front"`
	EmptyAtPct *float64 `json:"empty_at_pct,omitempty" doc:"Middle of what stayed empty, along the stretch"`
	Places     []Place  `json:"places" doc:"From its start to its end"`
}

// Place is what happens at a place.
type Place struct {
	AtPct        float64  `json:"at_pct" doc:"Place along the stretch"`
	HeightMM     float64  `json:"height_mm" doc:"Over the gate"`
	ThicknessMM  float64  `json:"thickness_mm" doc:"Thickness there"`
	ArrivalS     *float64 `json:"arrival_s,omitempty" doc:"When the first metal comes, from the start of the pour"`
	ArrivalC     *float64 `json:"arrival_c,omitempty" doc:"Its temperature"`
	ArrivalSolid *float64 `json:"arrival_solid,omitempty" doc:"Its solid fraction"`
	FreezeS      *float64 `json:"freeze_s,omitempty" doc:"When the metal at rest there is solid, from the start of the pour"`
}

// Meeting is where two streams meet.
type Meeting struct {
	Stretch int     `json:"stretch" doc:"Number of the stretch under stretches, from 0"`
	Where   string  `json:"where" doc:"Place in words"`
	AtPct   float64 `json:"at_pct" doc:"Place along the stretch"`
	TimeS   float64 `json:"time_s" doc:"When, from the start of the pour"`
	KnitC   float64 `json:"knit_c" doc:"Mean temperature of the two"`
	Solid   float64 `json:"solid" doc:"Mean solid fraction"`
	Welds   bool    `json:"welds" doc:"Whether the solid fraction is below the limit for a sound weld"`
}

// DetailFill is how far a detail fills.
type DetailFill struct {
	Kind       string  `json:"kind" enum:"dimple,line" doc:"As given"`
	SizeMM     float64 `json:"size_mm" doc:"As given"`
	SmallestMM float64 `json:"smallest_mm" doc:"The smallest of its kind that fills at that place"`
	FilledPct  float64 `json:"filled_pct" doc:"Share of its depth that the metal enters"`
	LossPct    float64 `json:"loss_probability_pct" doc:"Probability that it does not come out"`
}

// Cause is an uncertain quantity with its share in the outcome.
type Cause struct {
	Cause    string  `json:"cause" doc:"The quantity" example:"interface coefficient"`
	SharePct float64 `json:"share_pct" doc:"Its share of the scatter of the margin, by the ranks of a regression on all causes"`
	Helps    string  `json:"helps" enum:"more,less,neither" doc:"Whether more or less of it helps"`
}

// Lever is a practical change and what it does.
type Lever struct {
	Lever      string  `json:"lever" doc:"Stable name" example:"thicken"`
	Change     string  `json:"change" doc:"The change in words" example:"thicken the thinnest place by 0.3 mm"`
	FailurePct float64 `json:"failure_pct" doc:"Risk with the change"`
	GainPct    float64 `json:"gain_pct" doc:"Risk taken away; negative if the change makes it worse"`
	MarginGain float64 `json:"margin_gain" doc:"Change of the planned pour's margin, which still tells when every pour succeeds or fails"`
	Effort     float64 `json:"effort" doc:"Our estimate of the trouble it takes, 1 for the least"`
}

// Smallest is the smallest single change that is enough.
type Smallest struct {
	Lever      string  `json:"lever" doc:"Stable name"`
	Change     string  `json:"change" doc:"The change in words"`
	FailurePct float64 `json:"failure_pct" doc:"Risk with it"`
}

// Feeding is the freezing order.
type Feeding struct {
	LeadsToSprue   bool      `json:"leads_to_sprue" doc:"Whether every part of the piece stays connected with liquid metal until it is solid"`
	PieceModulusMM float64   `json:"piece_modulus_mm" doc:"Greatest area over perimeter of the piece"`
	SprueModulusMM float64   `json:"sprue_modulus_mm" doc:"Of the sprue"`
	PieceFreezeS   float64   `json:"piece_freeze_s" doc:"When the last of the piece is solid, from the end of filling"`
	SprueFreezeS   float64   `json:"sprue_freeze_s" doc:"When the sprue is solid"`
	ButtonFreezeS  float64   `json:"button_freeze_s" doc:"When the button in the funnel is solid"`
	SprueMM        float64   `json:"sprue_needed_mm" doc:"Least diameter of the sprue that outlasts the piece by a fifth"`
	ButtonG        float64   `json:"button_needed_g" doc:"Least button that outlasts the sprue"`
	ReserveG       float64   `json:"reserve_g" doc:"Metal for that sprue and button together"`
	HotSpots       []HotSpot `json:"hot_spots" doc:"Places cut off from the sprue before they are solid"`
}

// HotSpot is a place that freezes cut off.
type HotSpot struct {
	Where     string  `json:"where" doc:"Place in words"`
	AtPct     float64 `json:"at_pct" doc:"Place along the way from the gate"`
	FreezeS   float64 `json:"freeze_s" doc:"When it is solid, after the end of filling"`
	CutOffS   float64 `json:"cut_off_s" doc:"When the way to the sprue is solid"`
	VolumeMM3 float64 `json:"volume_mm3" doc:"Metal cut off"`
	last      float64
}

// Flask is what the metal does to the flask.
type Flask struct {
	PressureKPa float64  `json:"pressure_kpa" doc:"Greatest pressure of the metal, at its lowest point"`
	PartingMM2  float64  `json:"parting_area_mm2" doc:"Area of metal in the parting plane"`
	OpeningN    float64  `json:"opening_force_n" doc:"Force that drives the halves apart when the funnel is full"`
	HoldKg      float64  `json:"hold_kg" doc:"Weight or clamping that holds it, with a factor of 3"`
	SpillGapMM  float64  `json:"spill_gap_mm" doc:"Widest gap between the halves that the metal does not enter anywhere"`
	ClayWallMM  *float64 `json:"clay_wall_mm,omitempty" doc:"Least clay between piece and flask, if the flask is given"`
}

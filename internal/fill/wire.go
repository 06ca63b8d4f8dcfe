// Package fill answers whether the metal will fill the mould: it turns the
// description of a piece, a flask and a pour into the ducts that package
// front follows metal through, scatters what a hand cannot hold exactly, and
// says how likely the pour is to fail, why, and what helps most.
package fill

import (
	"pourwright/internal/fluid"
	"pourwright/internal/mesh"
	"pourwright/internal/section"
	"pourwright/internal/shape"
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

	Shape   *shape.Shape `json:"shape,omitempty" doc:"The piece as moulded, in place of piece, its measures and its sections: an oval, waving or open band is followed along its own way. A section or stations given beside it are its sections from the gate"`
	GatePct float64      `json:"gate_pct" minimum:"0" maximum:"100" default:"0" doc:"Where the gate enters a closed band that is given as shape, percent of its way; a cuff is fed in its middle"`
	course  *course

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
	Hand         string   `json:"hand" enum:"practised,beginner" default:"practised" doc:"practised: one steady stream; beginner: slower, less even, and sometimes the stream breaks off"`
	PourTimeS    *float64 `json:"pour_time_s,omitempty" minimum:"0.1" maximum:"30" doc:"Time from the first metal in the funnel until piece, sprue and funnel are full, as read from a video of your own pours; what the hand is known to do if absent" example:"1.3"`
	PourRateMM3S *float64 `json:"pour_rate_mm3_s,omitempty" minimum:"20" maximum:"200000" doc:"Rate of the full stream, in place of pour_time_s" example:"5500"`

	Calibration *Posterior `json:"calibration,omitempty" doc:"What your own pours say: the answer's posterior from calibrations, in place of what is known of the trade at large"`
	Clay        *Clay      `json:"clay,omitempty" doc:"Your own clay"`
	Scatter     *Scatter   `json:"scatter,omitempty" doc:"How far a pour strays from its plan; zero holds a figure exactly"`
	ScrapPct    *float64   `json:"scrap_pct,omitempty" minimum:"0" maximum:"90" doc:"Share of your castings of all kinds that are spoilt by anything: evidence on what no model holds, never added twice" example:"6"`

	Details []Detail `json:"details,omitempty" maxItems:"20" doc:"Fine details that must come out"`
	FlaskSize
	PartingMM2   *float64 `json:"parting_area_mm2,omitempty" minimum:"1" maximum:"200000" doc:"Area of metal in the parting plane, if not that of the band, bar, sprue and funnel"`
	RiskLimitPct float64  `json:"risk_limit_pct" minimum:"0.5" maximum:"60" default:"15" doc:"The risk of a failed pour that you accept"`
	Improvements bool     `json:"improvements" default:"true" doc:"Try practical changes and confirm the best"`
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
	VentCount      int      `json:"vent_count" minimum:"0" maximum:"12" default:"2" doc:"Vents, in one place"`
	VentAtPct      *float64 `json:"vent_at_pct,omitempty" minimum:"0" maximum:"100" doc:"Where they stand, per cent of the way from the gate; absent: at the place that fills last, where they stay open to the end" example:"50"`
	VentDiameterMM float64  `json:"vent_diameter_mm" minimum:"0.2" maximum:"4" default:"1" doc:"Diameter of a vent"`
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

// Scatter is how far one pour of a studio strays from the next.
type Scatter struct {
	PourK       float64 `json:"pour_k" minimum:"0" maximum:"150" default:"20" doc:"Standard deviation of the pour temperature, K"`
	PourRatePct float64 `json:"pour_rate_pct" minimum:"0" maximum:"100" default:"15" doc:"Standard deviation of the rate of the stream, from pour to pour of one hand"`
	ThicknessMM float64 `json:"thickness_mm" minimum:"0" maximum:"1" default:"0.06" doc:"Standard deviation of the thickness of the impression"`
}

// Detail is a small feature that the metal must enter against its surface tension.
type Detail struct {
	Kind    string  `json:"kind" enum:"dimple,line" doc:"dimple: a hollow in the clay that casts a bead or grain; line: a groove in the clay that casts a raised line"`
	SizeMM  float64 `json:"size_mm" minimum:"0.05" maximum:"20" doc:"Radius of a dimple, or width of a line" example:"0.4"`
	DepthMM float64 `json:"depth_mm,omitempty" minimum:"0.02" maximum:"20" doc:"Depth of a line; half its width if absent" example:"0.3"`
	AtPct   float64 `json:"at_pct" minimum:"0" maximum:"100" default:"50" doc:"Place along the way from the gate"`
}

// Package shape describes the form of a piece once: a path, sections along it,
// local thin and thick places, a head, a bail; or a surface. Volume, area,
// mass, mould, channels for the metal, the solid, whether it can be drawn from
// a two-part mould and whether it is stout enough to wear all follow from it.
//
// Lengths are in mm, places along the way of the metal in percent of it.
// A band lies about the z axis with its width along z; a bar, disc or drop
// lies along x with its thickness along z. The parting plane is across z.
package shape

import (
	"pourwright/internal/mesh"
	"pourwright/internal/section"
)

// Kind is what a piece is.
type Kind string

// Kinds of piece.
const (
	Ring    Kind = "ring"    // closed, round or oval
	Bangle  Kind = "bangle"  // the same, for the wrist
	Cuff    Kind = "cuff"    // open by a gap
	Signet  Kind = "signet"  // a ring with a flat table
	Bar     Kind = "bar"     // straight, from the gate to its far end
	Disc    Kind = "disc"    // round or oval plate
	Drop    Kind = "drop"    // wide at the gate, narrowing to its far end
	Pendant Kind = "pendant" // a plate, as a bar
	Other   Kind = "other"   // any body given as a surface
)

// Kinds lists them all.
var Kinds = []Kind{Ring, Bangle, Cuff, Signet, Bar, Pendant, Disc, Drop, Other}

// Closed says whether the metal runs round and meets itself.
func (k Kind) Closed() bool { return k == Ring || k == Bangle || k == Signet }

// Curved says whether the piece goes round a finger or wrist.
func (k Kind) Curved() bool { return k.Closed() || k == Cuff }

// Shape describes a piece. Begin in Go with calc.Default[Shape]().
type Shape struct {
	Kind Kind `json:"kind" enum:"ring,bangle,cuff,signet,bar,pendant,disc,drop,other" doc:"What it is: ring, bangle and signet are closed, a cuff is open, bar, pendant, disc and drop lie straight from the gate; other is for a surface that is none of these"`

	InsideDiameterMM *float64 `json:"inside_diameter_mm,omitempty" minimum:"8" maximum:"150" doc:"Inside diameter of a round ring, bangle, signet or cuff" example:"62"`
	InsideWidthMM    *float64 `json:"inside_width_mm,omitempty" minimum:"8" maximum:"150" doc:"Inside width of an oval one, through the gate" example:"58"`
	InsideHeightMM   *float64 `json:"inside_height_mm,omitempty" minimum:"8" maximum:"150" doc:"Inside height of an oval one" example:"48"`
	GapMM            *float64 `json:"gap_mm,omitempty" minimum:"2" maximum:"120" doc:"Opening of a cuff along the inside; 28 if absent" example:"28"`
	LengthMM         *float64 `json:"length_mm,omitempty" minimum:"2" maximum:"400" doc:"Length of a bar, disc or drop from the gate to its far end; of a round disc its diameter" example:"38"`

	ThicknessMM *float64        `json:"thickness_mm,omitempty" minimum:"0.2" maximum:"60" doc:"Thickness, where one section holds all along: inside face to outside, or back to front; of a drop at its widest" example:"2.4"`
	WidthMM     *float64        `json:"width_mm,omitempty" minimum:"0.2" maximum:"200" doc:"Width of that section; of a drop or disc the greatest. Not needed for round wire" example:"6"`
	Profile     section.Shape   `json:"profile,omitempty" enum:"round,oval,half_round,rectangular,d,knife_edge,comfort" doc:"Form of that section; if absent: d for a ring or signet, half_round for a bangle or drop, rectangular for a cuff, bar or disc"`
	Back        *Back           `json:"back,omitempty" doc:"Section at the back of a closed band, at both ends of a cuff or at the far end of a bar, to which the other tapers evenly"`
	Stations    section.Profile `json:"stations,omitempty" maxItems:"60" doc:"Sections along the way in place of thickness, width, profile and back, from the gate; from end to end of a cuff"`

	ThinPlaces  []Place `json:"thin_places,omitempty" maxItems:"8" doc:"Places worn or filed thinner than the section"`
	ThickPlaces []Place `json:"thick_places,omitempty" maxItems:"8" doc:"Places thicker than the section, such as shoulders or a swelling"`
	Wave        *Wave   `json:"wave,omitempty" doc:"A band that waves to and fro along the arm or finger"`
	Head        *Head   `json:"head,omitempty" doc:"The table of a signet, or a disc on a bangle, cuff or bar"`
	Bail        *Bail   `json:"bail,omitempty" doc:"A loop at the far end of a bar, disc or drop, its hole across the parting"`

	Weighed *Weighed      `json:"weighed,omitempty" doc:"A pattern that was weighed: its mass settles the thickness, so that thickness_mm may be an estimate"`
	Mesh    *mesh.Pattern `json:"mesh,omitempty" doc:"The surface of the pattern, as an STL file in base64, in place of all measures"`
}

// Uniform says whether one section is given for all of the piece.
func (s *Shape) Uniform() bool {
	return len(s.Stations) == 0 && s.Back == nil && s.Head == nil && s.Mesh == nil && s.Kind != Drop && s.Kind != Disc
}

// Back is the section that a taper runs to.
type Back struct {
	ThicknessMM float64  `json:"thickness_mm" minimum:"0.2" maximum:"60" doc:"Thickness there" example:"1.6"`
	WidthMM     *float64 `json:"width_mm,omitempty" minimum:"0.2" maximum:"200" doc:"Width there; as elsewhere if absent" example:"3"`
}

// Place is where the section swells or thins, fully in its middle and falling
// off evenly to both sides.
type Place struct {
	AtPct       float64  `json:"at_pct" minimum:"0" maximum:"100" doc:"Its middle, percent of the way; 50 is opposite the gate of a closed band" example:"50"`
	LengthMM    float64  `json:"length_mm" minimum:"1" maximum:"400" doc:"Its length along the way" example:"25"`
	ThicknessMM float64  `json:"thickness_mm" minimum:"0.2" maximum:"60" doc:"Thickness in its middle" example:"1.1"`
	WidthMM     *float64 `json:"width_mm,omitempty" minimum:"0.2" maximum:"200" doc:"Width in its middle; as elsewhere if absent"`
}

// Wave is how a band leaves its plane.
type Wave struct {
	RiseMM   float64 `json:"rise_mm" minimum:"0.1" maximum:"60" doc:"From trough to crest" example:"4"`
	Repeats  int     `json:"repeats" minimum:"1" maximum:"60" doc:"Waves once round" example:"3"`
	CrestDeg float64 `json:"crest_deg" minimum:"0" maximum:"360" default:"0" doc:"Angle from the gate to the first crest"`
}

// Forms of a head.
const (
	Table    = "table"
	DiscHead = "disc"
)

// Head is a flat or wide part of the band.
type Head struct {
	Form        string   `json:"form" enum:"table,disc" default:"table" doc:"table: a flat face, as of a signet; disc: a round or oval plate that follows the band"`
	Outline     string   `json:"outline" enum:"oval,cushion,rectangular" default:"oval" doc:"Outline of a table seen from above"`
	LengthMM    float64  `json:"length_mm" minimum:"1" maximum:"80" doc:"Length along the band" example:"12"`
	WidthMM     float64  `json:"width_mm" minimum:"1" maximum:"80" doc:"Width across the band" example:"10"`
	ThicknessMM float64  `json:"thickness_mm" minimum:"0.3" maximum:"20" doc:"Thickness in its middle, inside face to table" example:"3"`
	AtPct       float64  `json:"at_pct" minimum:"0" maximum:"100" default:"0" doc:"Its middle, percent of the way; at an end of a cuff or bar the disc ends there"`
	ShoulderMM  *float64 `json:"shoulder_mm,omitempty" minimum:"0.5" maximum:"60" doc:"Length on either side over which it runs into the band; two fifths of the rest if absent"`
}

// Bail is a loop of round wire at the far end.
type Bail struct {
	InsideDiameterMM float64 `json:"inside_diameter_mm" minimum:"0.8" maximum:"20" default:"3" doc:"Hole for the chain"`
	WireMM           float64 `json:"wire_mm" minimum:"0.4" maximum:"6" default:"1.6" doc:"Thickness of the loop"`
}

// Weighed is a pattern on the scale.
type Weighed struct {
	MassG       float64  `json:"mass_g" minimum:"0.01" maximum:"2000" doc:"Mass of the pattern" example:"0.62"`
	Material    string   `json:"material,omitempty" enum:"wax,resin,brass,silver,other" doc:"What it is made of: sets the density" example:"wax"`
	DensityGCm3 *float64 `json:"density_g_cm3,omitempty" minimum:"0.3" maximum:"23" doc:"Its density, in place of the material's; needed for other"`
	WithoutBail bool     `json:"without_bail" default:"false" doc:"True when it was weighed before the bail was put on"`
}

package heat

import (
	"pourwright/internal/calc"
	"pourwright/internal/fluid"
	"pourwright/internal/mesh"
	"pourwright/internal/section"
	"pourwright/internal/shape"
)

// FreezeIn asks how a piece freezes. The piece is a shape, a ring by numbers or
// a surface; exactly one of them.
type FreezeIn struct {
	mesh.Pattern
	Shape *shape.Shape `json:"shape,omitempty" doc:"Any piece by its description, in the size of the mould, in place of an STL file"`
	Ring  *FreezeRing  `json:"ring,omitempty" doc:"A closed round band by its measures, in place of an STL file"`

	Alloy  string      `json:"alloy" default:"silver-925" doc:"Id of an alloy of the catalogue, or a composition such as Ag 925 Cu 75" example:"silver-925"`
	PourC  *float64    `json:"pour_c,omitempty" minimum:"200" maximum:"2000" doc:"Temperature of the metal in the mould; liquidus plus 100 K if absent" example:"1000"`
	MouldC float64     `json:"mould_c" minimum:"0" maximum:"600" default:"25" doc:"Temperature of the clay before the pour"`
	FillS  float64     `json:"fill_s" minimum:"0" maximum:"30" default:"0" doc:"Time that the mould takes to fill: metal that has run farther comes colder; 0 fills it at once"`
	Clay   *fluid.Clay `json:"clay,omitempty" doc:"Your own clay"`

	InterfaceWM2K float64  `json:"interface_w_m2k" minimum:"20" maximum:"20000" default:"850" doc:"Interface coefficient between metal and clay; nobody has measured it in oil-bonded clay, so try 500 and 1500 too"`
	GapWM2K       *float64 `json:"interface_after_gap_w_m2k,omitempty" minimum:"20" maximum:"20000" doc:"What it falls to as the metal freezes and shrinks away; as before if absent"`

	Sprue        bool         `json:"sprue" default:"true" doc:"With a sprue and a button on top; false freezes the piece alone"`
	Gate         *FreezePlace `json:"gate,omitempty" doc:"Where the sprue meets the piece; proposed at the thickest place if absent"`
	GateAtPct    *float64     `json:"gate_at_pct,omitempty" minimum:"0" maximum:"100" doc:"The same for a ring by numbers: place along the profile; at its thickest if absent"`
	SprueMM      *float64     `json:"sprue_mm,omitempty" minimum:"0.5" maximum:"60" doc:"Diameter of the sprue at the piece; if absent, such that its modulus is 1.2 times the piece's"`
	SprueLongMM  float64      `json:"sprue_length_mm" minimum:"1" maximum:"120" default:"8" doc:"Length of the sprue from the piece to the button"`
	ButtonMM     *float64     `json:"button_mm,omitempty" minimum:"2" maximum:"100" doc:"Diameter of the button; 2.5 times the sprue if absent"`
	ButtonHighMM *float64     `json:"button_height_mm,omitempty" minimum:"1" maximum:"100" doc:"Height of the button; its diameter if absent"`
	ClayMM       float64      `json:"clay_mm" minimum:"1" maximum:"100" default:"15" doc:"Clay round the metal to the wall of the flask, which is taken to let no heat through"`

	Detail        string   `json:"detail" enum:"quick,usual,fine" default:"usual" doc:"How finely, where cell_mm is not given: up to 60 thousand cells, 400 thousand or 6 million; on two idle cores about half a second, two seconds, and half a minute at most"`
	CellMM        *float64 `json:"cell_mm,omitempty" minimum:"0.02" maximum:"10" doc:"Size of the cells; chosen if absent: about eight across the thinnest part, as far as the limits allow"`
	FeedingStops  float64  `json:"feeding_stops_solid" minimum:"0.05" maximum:"0.99" default:"0.7" doc:"Solid fraction at which metal no longer feeds through a place"`
	EstimateError bool     `json:"estimate_error" default:"true" doc:"Tell the error of the grid, from cells twice as large; a tenth more work"`
}

// FreezeRing is a closed round band by its measures.
type FreezeRing struct {
	InsideMM float64           `json:"inside_diameter_mm" minimum:"5" maximum:"150" doc:"Inside diameter of the mould's impression" example:"17.5"`
	Profile  []section.Station `json:"profile" minItems:"1" maxItems:"60" doc:"Section at places round the ring, in rising order; one for an even band"`
}

// FreezePlace is a point of the pattern.
type FreezePlace struct {
	XMM float64 `json:"x_mm" minimum:"-1000" maximum:"1000" doc:"x in mm, in the coordinates of the file"`
	YMM float64 `json:"y_mm" minimum:"-1000" maximum:"1000" doc:"y in mm"`
	ZMM float64 `json:"z_mm" minimum:"-1000" maximum:"1000" doc:"z in mm"`
}

// FreezeOut tells how a piece freezes.
type FreezeOut struct {
	PieceFrozenS  float64  `json:"piece_frozen_s" doc:"When the last of the piece is solid, from the end of the pour" example:"3.4"`
	SprueFrozenS  *float64 `json:"sprue_frozen_s,omitempty" doc:"When the last of the sprue is solid"`
	ButtonFrozenS *float64 `json:"button_frozen_s,omitempty" doc:"When the last of the button is solid"`
	SurfaceS      float64  `json:"first_frozen_s" doc:"When the first of the piece is solid"`
	Fed           bool     `json:"fed" doc:"True when every place of the piece can draw metal from the button until feeding through it stops"`
	CutOffMM3     float64  `json:"cut_off_mm3" doc:"Volume of the piece that is cut off from the button while it still needs metal"`

	HotSpots []FreezeSpot   `json:"hot_spots" doc:"Places cut off from the button, the largest first: shrinkage is to be looked for there"`
	Last     []FreezeSpot   `json:"last_points" doc:"Places of the piece that freeze after all round them, the last first"`
	Regions  []FreezeRegion `json:"regions" doc:"The piece in order along it: round a ring from the gate, else along its longest side"`
	Path     []mesh.Place   `json:"feeding_path" doc:"From the last point of the piece to the button, the way that stays open longest"`
	Curve    []FreezeMoment `json:"fraction_frozen" doc:"Share of all metal that is solid, against time"`
	Niyama   *FreezeNiyama  `json:"niyama,omitempty" doc:"Gradient over root of cooling rate near the end of freezing; no value is known that divides sound from porous in these alloys"`
	Gate     *FreezeGate    `json:"gate,omitempty" doc:"The sprue as computed"`
	Grid     FreezeGrid     `json:"grid" doc:"How finely it was computed, and how well"`
	calc.Notes

	run *outcome
}

// FreezeSpot is a place that stays liquid.
type FreezeSpot struct {
	At         mesh.Place `json:"at" doc:"Where"`
	FrozenS    float64    `json:"frozen_s" doc:"When it is solid"`
	CutOffS    *float64   `json:"cut_off_s,omitempty" doc:"When feeding from the button stops"`
	VolumeMM3  float64    `json:"volume_mm3" doc:"Volume that is cut off with it, or freezes within 2 % of it"`
	ShrinksMM3 float64    `json:"shrinkage_mm3" doc:"The hole it would leave at most, if all of it were liquid when cut off"`
}

// FreezeRegion is a part of the piece.
type FreezeRegion struct {
	AtPct  float64 `json:"at_pct" doc:"Its middle, in percent of the way round or along"`
	FirstS float64 `json:"first_s" doc:"When its first metal is solid"`
	LastS  float64 `json:"last_s" doc:"When its last metal is solid"`
	Order  int     `json:"order" doc:"Its place in the order in which regions are solid, 1 the first"`
}

// FreezeMoment is a point of a curve.
type FreezeMoment struct {
	TimeS    float64 `json:"time_s" doc:"Time from the end of the pour"`
	SolidPct float64 `json:"solid_pct" doc:"Share of the metal that is solid"`
}

// FreezeNiyama is a porosity indicator, not judged.
type FreezeNiyama struct {
	Least  float64    `json:"least_k_s_per_mm" doc:"Least value in the piece, (K s)^½/mm"`
	Median float64    `json:"median_k_s_per_mm" doc:"Value that half the piece is above, (K s)^½/mm"`
	At     mesh.Place `json:"at" doc:"Where the least is"`
}

// FreezeGate is the sprue and button as computed.
type FreezeGate struct {
	At           mesh.Place `json:"at" doc:"Where the sprue meets the piece"`
	Towards      mesh.Place `json:"towards" doc:"Direction from the piece to the button, of length 1"`
	SprueMM      float64    `json:"sprue_mm" doc:"Diameter at the piece"`
	SprueLongMM  float64    `json:"sprue_length_mm" doc:"Length"`
	ButtonMM     float64    `json:"button_mm" doc:"Diameter of the button"`
	ButtonHighMM float64    `json:"button_height_mm" doc:"Height of the button"`
	Proposed     bool       `json:"proposed" doc:"True when the place was not given"`
}

// FreezeGrid tells how finely it was computed.
type FreezeGrid struct {
	CellMM     float64  `json:"cell_mm" doc:"Size of the cubic cells"`
	Cells      int      `json:"cells" doc:"Cells of clay and metal computed"`
	MetalCells int      `json:"metal_cells" doc:"Cells of metal"`
	Across     float64  `json:"cells_across" doc:"Cells across the thinnest part"`
	Steps      int      `json:"steps" doc:"Steps of time, each 4 % of the time since the pour, or what the cells can follow if that is longer"`
	ErrorPct   *float64 `json:"error_pct,omitempty" doc:"Bound on the error of the grid in piece_frozen_s, by coarser cells, by what a refinement study left and by the grid's volume; the doubt in the interface coefficient and the clay is far larger"`
	EnergyPct  float64  `json:"energy_error_pct" doc:"Heat lost or made by rounding, of the heat that the metal gave off"`
	ClayEdgeC  float64  `json:"clay_edge_c" doc:"Highest temperature at the outer bound of the clay that was computed"`
	VolumeMM3  float64  `json:"volume_mm3" doc:"Metal in the grid, sprue and button included"`
	SolidMM3   float64  `json:"solid_volume_mm3" doc:"The same of the solid itself, what sprue and piece share counted once; the two should agree within 1 %"`
	SurfaceMM2 float64  `json:"surface_mm2" doc:"Surface that the clay cools"`
}

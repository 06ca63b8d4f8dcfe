package fill

import (
	"pourwright/internal/calc"
	"pourwright/internal/section"
	"pourwright/internal/verdict"
)

// Out says whether the metal fills the mould, how sure that is, and what helps.
type Out struct {
	Verdict verdict.Level   `json:"verdict" enum:"go,care,cannot_tell,not_yet,do_not_pour" doc:"Fill, feeding and flask together"`
	Reasons verdict.Reasons `json:"reasons" doc:"Why it is not a plain go, worst first, and what to do"`
	Chance                  // the band
	Hand    string          `json:"hand" enum:"practised,beginner" doc:"By whose hand"`
	Risks   []FailureMode   `json:"risks" doc:"Ways to fail, each counted by itself"`
	Nominal Nominal         `json:"nominal" doc:"The pour as planned, nothing scattered"`
	Map     []Spot          `json:"map" doc:"Along the piece: how often each place goes wrong"`
	Details []DetailFill    `json:"details" doc:"How far the metal enters the details"`
	Causes  []Cause         `json:"causes" doc:"What decides, greatest first; at most five, and none that chance alone would show"`

	Improvements []Improvement `json:"improvements" doc:"Practical changes that help, best for their effort first; empty when not asked for or when none helps more than the noise"`
	Feeding      Feeding       `json:"feeding" doc:"Whether the freezing order leads to the sprue"`
	Flask        Flask         `json:"flask" doc:"What the metal does to the flask"`
	calc.Notes
}

// Chance of a failed pour, as a band: studios differ, and nobody has measured
// their clay.
type Chance struct {
	FailurePct float64 `json:"failure_pct" doc:"Share of pours that fail, over studios like those known: the centre of the band" example:"8"`
	LowPct     float64 `json:"failure_low_pct" doc:"One studio in twenty does better than this" example:"3"`
	HighPct    float64 `json:"failure_high_pct" doc:"One studio in twenty does worse than this" example:"20"`
	Words      string  `json:"failure_words" doc:"The band in words" example:"about 1 in 12 (1 in 33 to 1 in 5)"`
}

// FailureMode is one way to fail.
type FailureMode struct {
	Kind string  `json:"kind" enum:"misrun,cold_shut,broken_stream,detail_loss,other,shrinkage" doc:"misrun: the mould is not filled to its edges; cold_shut: streams meet too cold to weld; broken_stream: the hand stops before the piece is full; detail_loss: a detail stays empty; other: crumbs, a torn wall, a short charge, what no model holds; shrinkage: metal freezes cut off from the sprue, which makes it porous and is not counted in failure_pct"`
	Pct  float64 `json:"probability_pct" doc:"Probability"`
}

// Nominal is the run without scatter.
type Nominal struct {
	FilledPct float64   `json:"filled_pct" doc:"Share of the piece that is filled to its edges"`
	FillTimeS *float64  `json:"fill_time_s,omitempty" doc:"Time from the start of the pour until the piece is full; left out if it is not"`
	PourTimeS float64   `json:"pour_time_s" doc:"Time from the first metal until the funnel is full too"`
	Margin    float64   `json:"margin" doc:"Heat left where it is least, over the heat that the metal can lose before it stops; negative where it fails"`
	CoolestC  float64   `json:"coolest_c" doc:"Lowest temperature at which metal reaches any place"`
	HeadMM    float64   `json:"head_mm" doc:"Head of metal over the lowest point of the piece when full"`
	Stretches []Stretch `json:"stretches" doc:"The ways the metal goes, with arrivals along them"`
	Meetings  []Meeting `json:"meetings" doc:"Where streams meet"`
}

// Stretch is a way from a gate.
type Stretch struct {
	Name      string  `json:"name" doc:"Which stretch" example:"both arms alike"`
	LengthMM  float64 `json:"length_mm" doc:"Its length"`
	FilledPct float64 `json:"filled_pct" doc:"Share that is filled to its edges"`
	Places    []Place `json:"places" doc:"From its start to its end"`
}

// Place is what happens at a place.
type Place struct {
	AtPct        float64  `json:"at_pct" doc:"Place along the stretch"`
	HeightMM     float64  `json:"height_mm" doc:"Over the gate"`
	ThicknessMM  float64  `json:"thickness_mm" doc:"Thickness there"`
	ArrivalS     *float64 `json:"arrival_s,omitempty" doc:"When the first metal comes, from the start of the pour"`
	FullS        *float64 `json:"full_s,omitempty" doc:"When pressure has driven metal into the edges"`
	ArrivalC     *float64 `json:"arrival_c,omitempty" doc:"Temperature of the coldest metal there at that time, or as it came where it is never full"`
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

// Spot is a place of the piece with how often it goes wrong there.
type Spot struct {
	AtPct      float64 `json:"at_pct" doc:"Place along the way from the gate, once round a band"`
	NotFullPct float64 `json:"not_filled_pct" doc:"Share of pours in which it is not filled to its edges in time"`
	ColdPct    float64 `json:"cold_shut_pct" doc:"Share in which streams meet there too cold to weld"`
	UnfedPct   float64 `json:"unfed_pct" doc:"Share in which it freezes cut off from the sprue"`
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
	Cause    string  `json:"cause" doc:"The quantity" example:"heat taken by the clay"`
	SharePct float64 `json:"share_pct" doc:"Its share of the scatter of the margin, from rank correlation"`
	Helps    string  `json:"helps" enum:"more,less,neither" doc:"Whether more or less of it helps"`
}

// Improvement is a practical change, confirmed by the full calculation.
type Improvement struct {
	Name    string  `json:"name" doc:"Stable name; two joined by + for a pair" example:"press_deeper"`
	Do      string  `json:"do" doc:"What to do: where, how much" example:"Press the pattern 0.4 mm deeper from 150° to 210° round from the gate: 2.1 g more."`
	Chance          // with it
	GainPct float64 `json:"gain_pct" doc:"Points of failure_pct taken away"`
	Effort  float64 `json:"effort" doc:"Our estimate of the trouble it takes, 1 for the least"`
	Enough  bool    `json:"enough" doc:"Whether it brings failure_pct to risk_limit_pct or under"`
	Patch   Patch   `json:"patch" doc:"Members of the request to put in place of what was given, as a JSON merge patch (RFC 7396): a new call with it gives these figures"`
}

// Patch is the members of a request that a change puts in place.
type Patch struct {
	Section         *section.Section `json:"section,omitempty" doc:"As in the request"`
	ThinSpot        *Thin            `json:"thin_spot,omitempty" doc:"As in the request"`
	Stations        section.Profile  `json:"stations,omitempty" maxItems:"40" doc:"As in the request"`
	Thickest        *string          `json:"thickest,omitempty" doc:"As in the request"`
	Posture         *string          `json:"posture,omitempty" doc:"As in the request"`
	Gate            *string          `json:"gate,omitempty" doc:"As in the request"`
	SprueCount      *int             `json:"sprue_count,omitempty" doc:"As in the request"`
	SprueLengthMM   *float64         `json:"sprue_length_mm,omitempty" doc:"As in the request"`
	SprueDiameterMM *float64         `json:"sprue_diameter_mm,omitempty" doc:"As in the request"`
	FunnelHeadMM    *float64         `json:"funnel_head_mm,omitempty" doc:"As in the request"`
	VentCount       *int             `json:"vent_count,omitempty" doc:"As in the request"`
	PourC           *float64         `json:"pour_c,omitempty" doc:"As in the request"`
	ClayC           *float64         `json:"clay_c,omitempty" doc:"As in the request"`
	PourRateMM3S    *float64         `json:"pour_rate_mm3_s,omitempty" doc:"As in the request"`
	Hand            *string          `json:"hand,omitempty" doc:"As in the request"`
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

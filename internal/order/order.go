// Package order is an order and what its parts share: what is wanted of what
// is at hand, the lots and the stones, each piece worked out through size,
// mould, stones and melt, and the metal shared out over the pieces.
package order

import (
	"pourwright/internal/blend"
	"pourwright/internal/fill"
	"pourwright/internal/quote"
	"pourwright/internal/stone"
)

// Order is a whole order: what the client brings, what is wanted of it, and
// how the studio works.
type Order struct {
	Job
	Lots   []blend.SourceLot `json:"lots" minItems:"1" maxItems:"60" doc:"Scrap at hand, the client's and the studio's"`
	Prices *quote.Terms      `json:"prices,omitempty" doc:"The studio's prices and terms; without them the plan has no price"`
}

// Job is the part of an order that says what is to be made, and how.
type Job struct {
	Title        string           `json:"title,omitempty" maxLength:"120" doc:"What the order is called" example:"Two bangles from old spoons"`
	Alloy        string           `json:"alloy" maxLength:"60" default:"silver-925" doc:"What is to be cast, an id of /v1/alloys; its fineness is reached in the worst case" example:"silver-925"`
	SolidusC     *float64         `json:"solidus_c,omitempty" minimum:"100" maximum:"2100" doc:"Your own solidus, with liquidus_c; for pieces of the alloy of the order" example:"770"`
	LiquidusC    *float64         `json:"liquidus_c,omitempty" minimum:"100" maximum:"2100" doc:"Your own liquidus, with solidus_c" example:"885"`
	Margin       float64          `json:"margin_permil" minimum:"0" maximum:"60" default:"0" doc:"Fineness to add for safety: 2 to 5 for known scrap, 10 or more for unknown (common practice)"`
	Additions    []blend.Addition `json:"additions,omitempty" maxItems:"20" doc:"What can be bought; when left out, casting grain of the alloy and the metals that its window asks for, without end"`
	Objective    blend.Objective  `json:"objective" enum:"least_fine,least_bought,least_cost,most_client,least_change" default:"least_fine" doc:"What to favour, as in blends; least_fine: most of the clients' metal, then the least fine metal bought"`
	Composed     string           `json:"composition" enum:"as_alloy,free" default:"as_alloy" doc:"as_alloy holds the window of elements of the alloy; free its fineness only"`
	KeepApart    bool             `json:"keep_owners_apart" default:"false" doc:"Use the metal of one client only in a piece, besides the studio's: for_owner of each piece says whose"`
	Returns      bool             `json:"reuse_returns" default:"false" doc:"Melt button and sprue of each pour again in the next; half new metal is a usual rule"`
	PourOrder    string           `json:"pour_order" enum:"as_given,best" default:"as_given" doc:"best tries every order of up to 5 pieces, which matters where returns are used again"`
	Apportion    blend.Apportion  `json:"apportion" enum:"as_it_comes,even,first_piece" default:"even" doc:"How the client's metal is shared where the objective leaves a choice: as it comes, evenly, or the first piece first"`
	Stones       []Stone          `json:"stones,omitempty" maxItems:"60" doc:"Stones at hand, the client's and the studio's"`
	Pieces       []Piece          `json:"pieces" minItems:"1" maxItems:"12" doc:"The pieces wanted, each cast in a pour of its own unless shared_pours or grouping says otherwise"`
	SharedPours  []SharedPour     `json:"shared_pours,omitempty" maxItems:"6" doc:"Pieces that share a melt and a flask"`
	Grouping     string           `json:"grouping" enum:"as_given,fewest_pours" default:"as_given" doc:"fewest_pours puts pieces of one alloy, posture and owner together as far as crucible and flask hold them"`
	MaxPerFlask  int              `json:"max_pieces_per_flask" minimum:"1" maximum:"6" default:"6" doc:"Pieces on one sprue at most, with fewest_pours"`
	Improvements bool             `json:"improvements" default:"true" doc:"Look for what would lower the risk of a piece that is not a plain go; the answer comes sooner without"`
	SameMetal    bool             `json:"same_metal" default:"false" doc:"Blend the lots once and divide the mixture, so that every pour is of the same metal"`
	Studio       Studio           `json:"studio,omitempty" doc:"The studio's clay, crucible and torch"`
	Work         OrderWork        `json:"work,omitempty" doc:"Work and fees for the order as a whole"`
}

// Stone is stones of one kind at hand.
type Stone struct {
	ID        string  `json:"id" minLength:"1" maxLength:"60" doc:"What you call them" example:"blue sapphires"`
	PriceEach float64 `json:"price_each" minimum:"0" maximum:"10000000" default:"0" doc:"Price of one of the studio's; 0 for the client's"`
	stone.In
}

// Studio is what the studio has.
type Studio struct {
	ClayC                float64         `json:"clay_c" minimum:"-20" maximum:"300" default:"25" doc:"Temperature of the clay at the pour"`
	Clay                 *fill.Clay      `json:"clay,omitempty" doc:"Your own clay, where measured"`
	Calibration          *fill.Posterior `json:"calibration,omitempty" doc:"What your past pours say, as calibrations gave it"`
	Hand                 string          `json:"hand" enum:"practised,beginner" default:"practised" doc:"Who pours: a practised hand in one steady stream, or a beginner, slower, less even, whose stream sometimes breaks off"`
	ContractionPct       *float64        `json:"contraction_pct,omitempty" minimum:"0" maximum:"5" doc:"Your own linear contraction, as mould-calibrations gives it" example:"1.7"`
	ContractionSpreadPct *float64        `json:"contraction_spread_pct,omitempty" minimum:"0" maximum:"2" doc:"Plus or minus on it"`
	CrucibleCapacityG    float64         `json:"crucible_capacity_g,omitempty" minimum:"1" maximum:"50000" doc:"Mass of this metal that the crucible is made to hold" example:"250"`
	TorchKW              float64         `json:"torch_kw,omitempty" minimum:"0.05" maximum:"200" doc:"Heat that the torch gives out; by the usual tip if absent" example:"4"`
	EfficiencyPct        *float64        `json:"efficiency_pct,omitempty" minimum:"0.5" maximum:"100" doc:"Your own share of that heat which enters metal and dish, as for melts"`
	ReserveG             float64         `json:"reserve_g" minimum:"0" maximum:"5000" default:"0" doc:"Metal to melt beyond the button, which is the reserve already, each pour"`
	MeltLossPct          float64         `json:"melt_loss_pct" minimum:"0" maximum:"50" default:"1" doc:"Lost in the melt, percent"`
	ScaleStepG           float64         `json:"scale_step_g" minimum:"0.0001" maximum:"10" default:"0.01" doc:"Step of the scale"`
	FileBackMinG         float64         `json:"file_back_min_per_g" minimum:"0" maximum:"120" default:"4" doc:"To file off a gram that was cast too thick on purpose; our guess"`
	SecondSprueMin       float64         `json:"second_sprue_min" minimum:"0" maximum:"600" default:"12" doc:"Minutes to cut a second sprue and to saw and file it off; our guess"`
	RunnerMin            float64         `json:"runner_min" minimum:"0" maximum:"600" default:"8" doc:"Minutes to lead the sprue down to a gate at the side or below; our guess"`
	ScrapeMin            float64         `json:"scrape_min" minimum:"0" maximum:"600" default:"10" doc:"Minutes to scrape an impression thicker; our guess"`
	RiskLimitPct         float64         `json:"risk_limit_pct" minimum:"0.5" maximum:"60" default:"10" doc:"Risk of a failed pour that you accept"`
}

// OrderWork is work and fees once an order.
type OrderWork struct {
	DesignMin    float64 `json:"design_min" minimum:"0" maximum:"100000" default:"0" doc:"Talk and drawing, minutes"`
	PaperworkMin float64 `json:"paperwork_min" minimum:"0" maximum:"100000" default:"0" doc:"Letters, hallmark, packing, minutes"`
	AssayFee     float64 `json:"assay_fee" minimum:"0" maximum:"100000000" default:"0" doc:"Assay of the metal"`
	Delivery     float64 `json:"delivery" minimum:"0" maximum:"100000000" default:"0" doc:"Packing, carriage and insurance"`
}

// PieceWork is work and fees for one piece.
type PieceWork struct {
	MouldMin     float64 `json:"mould_min" minimum:"0" maximum:"100000" default:"45" doc:"Moulding and cutting the sprue, minutes"`
	SettingMin   float64 `json:"setting_min" minimum:"0" maximum:"100000" default:"0" doc:"Placing stones in the clay, minutes"`
	PourMin      float64 `json:"pour_min" minimum:"0" maximum:"100000" default:"30" doc:"Melting and pouring, minutes"`
	CleaningMin  float64 `json:"cleaning_min" minimum:"0" maximum:"100000" default:"45" doc:"Sawing off and filing, minutes"`
	PolishingMin float64 `json:"polishing_min" minimum:"0" maximum:"100000" default:"40" doc:"Sanding and polishing, minutes"`
	AfterSetting float64 `json:"bench_setting_price" minimum:"0" maximum:"10000000" default:"0" doc:"Price of setting one stone at the bench, for those that must not be cast in place"`
	Consumables  float64 `json:"consumables" minimum:"0" maximum:"100000000" default:"0" doc:"Clay, flux, abrasives"`
	HallmarkFee  float64 `json:"hallmark_fee" minimum:"0" maximum:"100000000" default:"0" doc:"Hallmarking"`
	BenchLossPct float64 `json:"bench_loss_pct" minimum:"0" maximum:"100" default:"5" doc:"Metal filed and polished away, percent of the piece"`
}

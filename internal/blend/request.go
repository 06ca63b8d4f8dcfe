package blend

// Addition is fine metal or an alloy that can be bought for the melt.
type Addition struct {
	ID                string             `json:"id" maxLength:"80" doc:"What you call it" example:"fine silver grain"`
	Alloy             string             `json:"alloy,omitempty" maxLength:"40" doc:"Id of a catalogue alloy, instead of composition_permil" example:"silver-999"`
	CompositionPermil map[string]float64 `json:"composition_permil,omitempty" maxProperties:"28" doc:"Parts per thousand by mass of each element, by symbol; what is missing to 1000 counts as copper"`
	StockG            *float64           `json:"stock_g,omitempty" minimum:"0" maximum:"1000000" doc:"How much can be had, g; without end when left out" example:"50"`
	PricePerG         *float64           `json:"price_per_gram,omitempty" minimum:"0" maximum:"100000" doc:"Price, your money per g" example:"1.05"`
}

// LimitTerm bounds an element of the melt.
type LimitTerm struct {
	Element     string   `json:"element" maxLength:"2" doc:"Symbol" example:"Zn"`
	LeastPermil *float64 `json:"least_permil,omitempty" minimum:"0" maximum:"1000" doc:"Least, parts per thousand by mass, in the worst case"`
	MostPermil  *float64 `json:"most_permil,omitempty" minimum:"0" maximum:"1000" doc:"Greatest, parts per thousand by mass, in the worst case; replaces the default of that element" example:"5"`
}

// Target is what a melt must be.
type Target struct {
	Alloy           string      `json:"alloy,omitempty" maxLength:"60" doc:"Catalogue alloy of gold or silver that the charge is to be: its fineness, and its window of elements in the middle of what is known; the answer says what the charge is where that cannot be" example:"gold-750-yellow"`
	Composition     string      `json:"composition,omitempty" enum:"as_alloy,free" default:"as_alloy" doc:"free lifts the window of the alloy: only the fineness is held, and the answer says which colour and melting range result"`
	SolidusC        *float64    `json:"solidus_c,omitempty" minimum:"100" maximum:"2100" doc:"Your own solidus of the charge, with liquidus_c, as a data sheet or a trial has it: needed where the melting range of its metal is not known" example:"770"`
	LiquidusC       *float64    `json:"liquidus_c,omitempty" minimum:"100" maximum:"2100" doc:"Your own liquidus of the charge, with solidus_c" example:"885"`
	FinenessPermil  float64     `json:"fineness_permil,omitempty" minimum:"1" maximum:"999.9" doc:"Fineness that the melt must reach in the worst case, parts per thousand; that of the alloy when left out" example:"925"`
	MarginPermil    float64     `json:"margin_permil,omitempty" minimum:"0" maximum:"100" default:"0" doc:"Margin above it; 2 to 5 is usual for known scrap, 10 or more for unknown" example:"3"`
	NoFinerThan     *float64    `json:"no_finer_than_permil,omitempty" minimum:"1" maximum:"1000" doc:"Fineness that the worst case is not to pass, so that no fine metal is given away; give fineness_permil again to meet it exactly" example:"930"`
	MassG           *float64    `json:"mass_g,omitempty" minimum:"0.01" maximum:"1000000" doc:"Mass of the melt, g; when left out the lots marked whole decide it, within least_mass_g and most_mass_g" example:"80"`
	LeastMassG      *float64    `json:"least_mass_g,omitempty" minimum:"0" maximum:"1000000" doc:"Least mass of the melt, g, instead of mass_g"`
	MostMassG       *float64    `json:"most_mass_g,omitempty" minimum:"0.01" maximum:"1000000" doc:"Greatest mass, g: what the crucible holds, instead of mass_g"`
	Limits          []LimitTerm `json:"limits,omitempty" maxItems:"28" doc:"Bounds of elements, over and above the defaults"`
	LargestScrapPct *float64    `json:"largest_scrap_pct,omitempty" minimum:"0" maximum:"100" doc:"Largest part of the melt that may be scrap, per cent; half is a usual rule, no limit when left out" example:"50"`
	ForOwner        string      `json:"for_owner,omitempty" maxLength:"80" doc:"Which client's melt it is, when owners are kept apart; needed where there are several"`
}

// Stock is what there is to melt, and what is wanted of it.
type Stock struct {
	Metal           string      `json:"metal,omitempty" enum:"silver,gold,platinum,palladium" doc:"The metal whose fineness counts; that of the alloy when left out, else silver"`
	Lots            []SourceLot `json:"lots" minItems:"1" maxItems:"1000" doc:"The scrap at hand"`
	Additions       []Addition  `json:"additions,omitempty" maxItems:"50" doc:"What can be bought. When left out, without end and without price: fine metal of 999 and copper (for gold: equal parts of silver and copper); with alloy, casting grain of the alloy and each metal that its window asks for"`
	Objective       Objective   `json:"objective,omitempty" enum:"least_fine,least_bought,least_cost,most_client,least_change" default:"least_fine" doc:"What to favour: least_fine, the most of the clients' metal, then the least fine metal bought (gold before silver before base metal), then the least mass; least_bought, the least bought metal; least_cost, the least money; most_client, the most of the clients' metal; least_change, the least metal added and left over together"`
	KeepOwnersApart bool        `json:"keep_owners_apart,omitempty" default:"false" doc:"Use the metal of one client only in a melt, besides the studio's"`
	ResolutionG     float64     `json:"resolution_g,omitempty" minimum:"0.0001" maximum:"10" default:"0.01" doc:"Step of the scale, g"`
}

// In asks what to put into one melt.
type In struct {
	Target
	Stock
}

// MeltTarget is one of several melts.
type MeltTarget struct {
	ID         string  `json:"id,omitempty" maxLength:"80" doc:"What you call it; melt 1, melt 2 and so on when left out" example:"bangle"`
	ReturnsPct float64 `json:"returns_pct,omitempty" minimum:"0" maximum:"95" default:"0" doc:"Part of the charge that comes back as button and sprue, per cent; 25 to 50 is usual" example:"35"`
	Target
}

// JointBlendIn asks what to put into several melts that share the lots.
type JointBlendIn struct {
	Melts []MeltTarget `json:"melts" minItems:"1" maxItems:"20" doc:"The melts, in the order of the pours"`
	Stock
	Apportion    Apportion `json:"apportion,omitempty" enum:"as_it_comes,even,first_piece" default:"as_it_comes" doc:"How the clients' metal is shared where the objective leaves a choice: as_it_comes; even, so that the smallest share in a melt is as large as can be; first_piece, as much as can be in the first melt, then the second"`
	ReuseReturns bool      `json:"reuse_returns,omitempty" default:"false" doc:"Put the returns of each pour into the next melt, as far as it holds them"`
	PourOrder    string    `json:"pour_order,omitempty" enum:"as_given,best" default:"as_given" doc:"best tries every order of up to 5 melts, which matters where returns are used again"`
}

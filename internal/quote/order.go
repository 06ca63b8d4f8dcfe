// Package quote prices a commission: the metal by its fine content with the
// client's own credited, the work by its steps, the risk of a failed pour,
// overhead, profit, tax and rounding, in decimal money. Prices always come
// from the caller. [Price] answers the flat question of one kind of piece;
// [Total] prices an order of many.
package quote

// Rounding is how the stated price is brought to a round figure.
type Rounding string

const (
	Nearest Rounding = "nearest"
	Up      Rounding = "up"
	Down    Rounding = "down"
)

// Reach says which costs a percentage is taken of.
type Reach string

const (
	Work Reach = "work" // labour, setting, consumables, gas and the allowance for failed pours
	All  Reach = "all"  // these, and metal, stones and fees
)

// TaxShown says how the tax appears in the stated price.
type TaxShown string

const (
	Inclusive TaxShown = "inclusive" // the price a private client pays; the tax is in it
	Exclusive TaxShown = "exclusive" // a trade price; the tax comes on top
)

// CopperAlloy is the metal that has no fine content: it is priced whole.
const CopperAlloy = "copper_alloy"

// Terms is how a studio prices: the same for all its quotes of a week.
type Terms struct {
	Currency            string   `json:"currency" pattern:"^[A-Z]{3}$" doc:"Currency of all prices, ISO 4217" example:"EUR"`
	MetalPricePerG      *float64 `json:"metal_price_per_gram,omitempty" minimum:"0" maximum:"1000000000" doc:"Your price of one gram of the fine metal, before tax; \"29.55 /ozt\" is understood. Give it or metal_price_per_ozt" example:"0.95"`
	MetalPricePerOzt    *float64 `json:"metal_price_per_ozt,omitempty" minimum:"0" maximum:"1000000000" doc:"Your price of one troy ounce (31.1034768 g) of the fine metal, before tax, in place of metal_price_per_gram" example:"29.55"`
	MetalPriceDate      string   `json:"metal_price_date,omitempty" maxLength:"10" doc:"Date of that metal price, YYYY-MM-DD; given back in the quote" example:"2026-11-23"`
	HourlyRate          float64  `json:"hourly_rate" minimum:"0" maximum:"1000000000" doc:"Your price of one hour of work, before overhead, profit and tax" example:"38"`
	PremiumPct          float64  `json:"premium_pct" minimum:"0" maximum:"200" default:"0" doc:"What metal that you buy in costs above the price of its fine content (dealer, forming, carriage), percent"`
	RefiningPct         float64  `json:"refining_pct" minimum:"0" maximum:"100" default:"0" doc:"Fine metal that a refiner keeps of the client's metal, percent; 0 when it is melted as it is"`
	RefiningFee         float64  `json:"refining_fee" minimum:"0" maximum:"1000000000" default:"0" doc:"Fixed charge for refining the client's metal"`
	BuyBackPct          float64  `json:"buy_back_pct" minimum:"0" maximum:"100" default:"0" doc:"What you pay for the client's metal that is left over, percent of the metal price; 0: it is returned"`
	GasPricePerKg       float64  `json:"gas_price_per_kg" minimum:"0" maximum:"1000000000" default:"0" doc:"Price of one kilogram of torch gas"`
	FilingsRecoveredPct float64  `json:"filings_recovered_pct" minimum:"0" maximum:"100" default:"0" doc:"Share of the bench loss that you get back from filings and sweeps, percent; three quarters is usual"`
	CountedPours        int      `json:"counted_pours" minimum:"0" maximum:"100000" default:"0" doc:"Pours of this kind that your studio has counted: evidence for the risk of a failed pour"`
	ScrappedPours       int      `json:"scrapped_pours" minimum:"0" maximum:"100000" default:"0" doc:"How many of them had to be poured again"`
	RemakeCapPct        float64  `json:"remake_cap_pct" minimum:"0" maximum:"1000" default:"50" doc:"Most that the allowance for failed pours may add, percent of the direct cost without it"`
	OverheadPct         float64  `json:"overhead_pct" minimum:"0" maximum:"1000" default:"0" doc:"Rent, tools, insurance and the like, percent of the costs named by overhead_on"`
	OverheadOn          Reach    `json:"overhead_on" enum:"work,all" default:"work" doc:"Costs that bear overhead: work (labour, setting, consumables, gas, failed pours) or all (also metal, stones, fees)"`
	MarkupPct           float64  `json:"markup_pct" minimum:"0" maximum:"10000" default:"0" doc:"Profit as percent of COST (mark-up): 50 makes 100 into 150. Give this or margin_pct"`
	MarginPct           float64  `json:"margin_pct" minimum:"0" maximum:"99" default:"0" doc:"Profit as percent of PRICE before tax (margin): 50 makes 100 into 200. Give this or markup_pct"`
	MarkupMetalPct      *float64 `json:"markup_metal_pct,omitempty" minimum:"0" maximum:"10000" doc:"Mark-up on the metal, in place of markup_pct" example:"15"`
	MarkupStonesPct     *float64 `json:"markup_stones_pct,omitempty" minimum:"0" maximum:"10000" doc:"Mark-up on stones, in place of markup_pct" example:"50"`
	MarkupLabourPct     *float64 `json:"markup_labour_pct,omitempty" minimum:"0" maximum:"10000" doc:"Mark-up on work with its overhead, in place of markup_pct" example:"100"`
	WholesaleMarkupPct  *float64 `json:"wholesale_markup_pct,omitempty" minimum:"0" maximum:"10000" doc:"Your mark-up for a shop that sells on: the wholesale price stands beside the retail one" example:"40"`
	MinimumCharge       float64  `json:"minimum_charge" minimum:"0" maximum:"1000000000" default:"0" doc:"Least price before tax that you take an order for"`
	ProfitOn            Reach    `json:"profit_on" enum:"work,all" default:"all" doc:"Costs that bear the mark-up or margin: work (with overhead) or all"`
	DiscountPct         float64  `json:"discount_pct" minimum:"0" maximum:"100" default:"0" doc:"Discount on the price before tax, percent"`
	TaxPct              float64  `json:"tax_pct" minimum:"0" maximum:"100" default:"0" doc:"Sales or value added tax, percent of the price before tax"`
	TaxShown            TaxShown `json:"tax_shown" enum:"inclusive,exclusive" default:"inclusive" doc:"inclusive: the rounded price contains the tax; exclusive: the price before tax is rounded and the tax comes on top"`
	Rounding            Rounding `json:"rounding" enum:"nearest,up,down" default:"nearest" doc:"How the stated price is brought to a multiple of round_to; nearest takes halves up"`
	RoundTo             float64  `json:"round_to,omitempty" minimum:"0" maximum:"1000000000" doc:"Step of the stated price (5, 0.05); the currency's smallest unit if absent" example:"5"`
	DepositPct          float64  `json:"deposit_pct" minimum:"0" maximum:"100" default:"0" doc:"Deposit, percent of the total"`
	QuoteDate           string   `json:"quote_date,omitempty" maxLength:"10" doc:"Date of the quote, YYYY-MM-DD" example:"2026-11-25"`
	ValidDays           int      `json:"valid_days" minimum:"0" maximum:"366" default:"7" doc:"Days for which the price holds from the date of the quote; the metal price moves"`
	MassSpreadPct       float64  `json:"mass_spread_pct" minimum:"0" maximum:"90" default:"5" doc:"How far the mass may be off either way, percent: makes the low and the high price"`
	LabourSpreadPct     float64  `json:"labour_spread_pct" minimum:"0" maximum:"90" default:"15" doc:"How far the time may be off either way, percent"`
	MetalPriceSpreadPct float64  `json:"metal_price_spread_pct" minimum:"0" maximum:"90" default:"0" doc:"How far the metal price may move before you buy, percent"`
}

// Order is what [Total] prices: pieces, and what belongs to the order as a whole.
type Order struct {
	Terms
	Metal       string // silver, gold, ...; for the words only
	Pieces      []OrderPiece
	ClientMetal []ClientLot
	Bought      []BoughtLot // metal bought for the order; nil: what is needed and not the client's
	Tasks       []Task      // once an order, whatever becomes of the pour
	Goods       []Good      // once an order
}

// OrderPiece is one kind of piece, of which Count are made in as many pours.
type OrderPiece struct {
	Name           string
	Count          int
	PieceG         float64 // finished mass of one, without stones
	FinenessPermil float64
	CastG          float64 // poured for one, with sprue and button; 0: the piece and its bench loss
	MeltLossPct    float64 // of CastG, lost in the melt
	BenchLossPct   float64 // of PieceG, filed and polished away
	Tasks          []Task  // for one piece
	Goods          []Good  // for one piece
	GasG           float64 // torch gas for one pour
	FailurePct     float64 // chance that a pour fails, 0 to 95
	FailureBand    *Band   // of that chance, percent; nil: as if it were known
	ClientStones   int     // of the client's, cast in one piece
	flat           bool    // its fields have no path in the caller's input
}

// ClientLot is metal that the client brings.
type ClientLot struct{ G, FinenessPermil float64 }

// BoughtLot is metal bought for the order. Without a price it costs its fine
// content at the price of the metal, and the premium.
type BoughtLot struct {
	What              string
	G, FinenessPermil float64
	PricePerG         float64
}

// Band is what the chance of a failed pour lies in, middle 90 in 100, percent.
type Band struct{ LowPct, HighPct float64 }

// Task is a step of the work.
type Task struct {
	Step    string
	Minutes float64
	Rate    float64 // price of its hour; 0: the terms' hourly rate
	AtRisk  bool    // to be done again after a failed pour
	field   string  // the caller's name of Minutes
}

// Good is something bought or charged by the piece.
type Good struct {
	Code      string // stones, setting, consumables, fees: see lineCodes
	What      string
	Count     int
	Each      float64
	AtRiskPct float64 // share lost with a failed pour, percent
	field     string  // the caller's name of Each
}

// Codes of goods and of the lines of a quote. Setting and consumables are
// work; stones and fees are not.
const (
	CodeMetal       = "metal"
	CodeBought      = "bought_metal"
	CodeReturned    = "returned_metal"
	CodeClientMetal = "client_metal"
	CodePremium     = "premium"
	CodeRefining    = "refining"
	CodeLabour      = "labour"
	CodeStones      = "stones"
	CodeSetting     = "setting"
	CodeConsumables = "consumables"
	CodeGas         = "gas"
	CodeFees        = "fees"
	CodeRemake      = "remake"
	CodeOverhead    = "overhead"
	CodeProfit      = "profit"
	CodeDiscount    = "discount"
	CodeMinimum     = "minimum"
	CodeRounding    = "rounding"
	CodeTax         = "tax"
)

// class of costs, for a mark-up of its own.
type class int

const (
	otherCost class = iota // fees
	metalCost
	stoneCost
	workCost
	classes
)

func classOf(code string) class {
	switch code {
	case CodeLabour, CodeSetting, CodeConsumables, CodeGas, CodeRemake:
		return workCost
	case CodeMetal, CodeBought, CodeReturned, CodeClientMetal, CodePremium, CodeRefining:
		return metalCost
	case CodeStones:
		return stoneCost
	}
	return otherCost
}

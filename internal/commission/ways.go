package commission

import (
	"pourwright/internal/calc"
	"pourwright/internal/quote"
)

// PourWays says which ways to pour are considered, and what is wanted of the
// one that is taken.
type PourWays struct {
	Plan          *int     `json:"plan,omitempty" minimum:"1" maximum:"30" doc:"Take the plan of this number, as pour-plans numbers them for the same order"`
	MostRiskPct   *float64 `json:"most_risk_pct,omitempty" minimum:"0.1" maximum:"100" doc:"Greatest chance that any pour of the order fails; risk_limit_pct of the studio if absent" example:"5"`
	NoBoughtMetal bool     `json:"no_bought_metal" default:"false" doc:"Take a plan only if the lots at hand are enough"`
	MostBenchMin  *float64 `json:"most_bench_min,omitempty" minimum:"0" maximum:"100000" doc:"Longest time at the bench for the whole order, minutes: 240 for an afternoon" example:"240"`
	Favour        string   `json:"favour" enum:"least_price,least_risk,least_metal,least_time" default:"least_price" doc:"What to favour among the plans that keep to this"`
	Show          int      `json:"show" minimum:"4" maximum:"24" default:"8" doc:"How many plans to show: the best in each respect and the most different"`

	Postures    []string  `json:"postures,omitempty" maxItems:"2" enum:"standing,lying" doc:"Postures of the flask to consider; both if absent"`
	Gates       []string  `json:"gates,omitempty" maxItems:"3" enum:"top,side,bottom" doc:"Gates of a standing flask; all if absent. Below the top, the sprue is longer by the drop"`
	SprueCounts []int     `json:"sprue_counts,omitempty" maxItems:"2" minimum:"1" maximum:"2" doc:"Numbers of sprues; 1 and 2 if absent"`
	TurnsPct    []float64 `json:"turns_pct,omitempty" maxItems:"8" minimum:"0" maximum:"100" doc:"Turns of a band's pattern; as given and half a turn if absent and the band has a thin spot"`
	RaiseMM     []float64 `json:"raise_mm,omitempty" maxItems:"6" minimum:"-60" maximum:"60" doc:"How much higher to set the pattern, under a sprue that is shorter by as much; negative is deeper; 0, 8 and -10 if absent" example:"[0,8]"`
	ThickenMM   []float64 `json:"thicken_mm,omitempty" maxItems:"6" minimum:"0" maximum:"3" doc:"How much thicker to scrape the impression; 0 and 0.3 if absent" example:"[0,0.3]"`
	HotterK     []float64 `json:"hotter_k,omitempty" maxItems:"6" minimum:"-80" maximum:"150" doc:"How much hotter to pour, up to 150 K over the liquidus; 0 and 30 if absent" example:"[0,30]"`
}

// PourPlansOut is the ways to pour an order that no other way beats.
type PourPlansOut struct {
	Taken      int        `json:"taken" doc:"Number of the plan that keeps to what was asked and is best by favour; 0 where none does" example:"2"`
	WhyNone    string     `json:"why_none,omitempty" doc:"What stands in the way, where none is taken"`
	Plans      []PourPlan `json:"plans" doc:"Plans that no other beats in risk, metal, time and cost at once, least risk first"`
	AsGiven    PourPlan   `json:"as_given" doc:"The order poured as it was given, to compare"`
	Considered int        `json:"considered" doc:"Ways considered, over all pieces"`
	Assessed   int        `json:"assessed" doc:"Of them, how many had their probability of failure worked out; the rest were beaten in a coarse look"`
	FrontSize  int        `json:"front_size" doc:"Plans for the order that no other beats, of which these are shown"`
	Exhaustive bool       `json:"exhaustive" doc:"Whether every way was assessed and every combination weighed, so that nothing can have been missed"`
	calc.Notes
}

// PourPlan is a way to pour the order.
type PourPlan struct {
	Number   int             `json:"number" doc:"Its number; 0 for the order as given" example:"1"`
	RiskPct  float64         `json:"risk_pct" doc:"Chance that any pour of the order fails"`
	MeltG    float64         `json:"melt_g" doc:"Metal to melt, g"`
	BoughtG  float64         `json:"bought_g" doc:"Of it, bought, g"`
	BenchMin float64         `json:"bench_min" doc:"Time at the bench if no pour fails, minutes"`
	Price    string          `json:"price" doc:"Price of the order by this plan, in its currency" example:"660.00"`
	Says     string          `json:"says" doc:"What it gains and what it pays, against the order as given"`
	Pieces   []PiecePourPlan `json:"pieces" doc:"How each piece is poured, in the order given"`
}

// PiecePourPlan is how one piece is poured.
type PiecePourPlan struct {
	Name     string  `json:"name" doc:"The piece"`
	Way      string  `json:"way" doc:"The way in words"`
	RiskPct  float64 `json:"risk_pct" doc:"Probability that its pour fails"`
	SEPct    float64 `json:"risk_standard_error_pct" doc:"Standard error of the sampling; all ways are sampled with the same draws, so that differences are steadier than this"`
	MeltG    float64 `json:"melt_g" doc:"Metal to melt, g"`
	BenchMin float64 `json:"bench_min" doc:"Time at the bench, minutes"`
	Cost     string  `json:"cost" doc:"Cost of the piece by itself before profit and tax, with the allowance for failed pours; all its metal counted"`
	HoldKg   float64 `json:"hold_kg" doc:"Weight or clamping that holds the flask"`
	Mould    Mould   `json:"mould" doc:"To be put into the piece's mould to pour it so"`
}

// given, or else what is usual.
func orUsual[T any](given, usual []T) []T {
	if len(given) > 0 {
		return given
	}
	return usual
}

// moulds lists the ways to pour the piece: as given first, then each other
// that the options leave, none twice.
func (w *PourWays) moulds(p *pieceRoom, dropMM map[string]float64) []Mould {
	given := p.piece.Mould
	turns := []float64{given.TurnPct}
	if p.piece.ThinSpot != nil && !p.straight() {
		turns = append(turns, modPct(given.TurnPct+50))
	}
	gates := []string{"top", "side", "bottom"}
	if p.straight() {
		turns, gates = []float64{given.TurnPct}, []string{"top", "bottom"}
	} else {
		turns = orUsual(w.TurnsPct, turns)
	}
	list := []Mould{given}
	for _, posture := range orUsual(w.Postures, []string{"standing", "lying"}) {
		for _, gate := range orUsual(w.Gates, gates) {
			for _, sprues := range orUsual(w.SprueCounts, []int{1, 2}) {
				for _, turn := range turns {
					for _, raise := range orUsual(w.RaiseMM, []float64{0, 8, -10}) {
						m := given
						m.Posture, m.Gate, m.SprueCount, m.TurnPct = posture, gate, sprues, turn
						if posture == "lying" {
							m.Gate = "top" // of no matter, and so told once
						}
						m.SprueLengthMM += dropMM[m.Gate] - dropMM[given.Gate] - raise
						if given.Posture == "lying" && posture == "standing" {
							m.SprueLengthMM += dropMM[given.Gate]
						}
						list = w.scraped(list, p, m)
					}
				}
			}
		}
	}
	return list
}

// scraped adds m with each thickening and heat.
func (w *PourWays) scraped(list []Mould, p *pieceRoom, m Mould) []Mould {
	const shortest, longest, hottest = 4, 200, 150 // mm of sprue; K over the liquidus, as fills has it
	if m.SprueLengthMM < shortest || m.SprueLengthMM > longest {
		return list
	}
	asked := p.alloy.LiquidusC() + 100
	if p.piece.Mould.PourC != nil {
		asked = *p.piece.Mould.PourC
	}
	for _, thicken := range orUsual(w.ThickenMM, []float64{0, 0.3}) {
		for _, hotter := range orUsual(w.HotterK, []float64{0, 30}) {
			m.ThickenMM, m.PourC = thicken, p.piece.Mould.PourC
			if c := asked + hotter; hotter != 0 {
				if c > p.alloy.LiquidusC()+hottest || c < p.alloy.LiquidusC()+20 {
					continue
				}
				m.PourC = &c
			}
			if !containsMould(list, m) {
				list = append(list, m)
			}
		}
	}
	return list
}

func containsMould(list []Mould, m Mould) bool {
	for _, l := range list {
		a, b := l, m
		a.PourC, b.PourC = nil, nil
		if a == b && (l.PourC == nil) == (m.PourC == nil) && (l.PourC == nil || *l.PourC == *m.PourC) {
			return true
		}
	}
	return false
}

func modPct(pct float64) float64 {
	if pct >= 100 {
		return pct - 100
	}
	return pct
}

// bare is the studio's prices without a round figure, so that small
// differences are seen.
func bare(terms quote.Terms) quote.Terms {
	terms.RoundTo = 0
	return terms
}

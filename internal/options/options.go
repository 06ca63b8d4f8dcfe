// Package options searches the ways to pour an order and answers those that no
// other beats in risk, metal, time and cost at once.
package options

import (
	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/order"
)

// Wanted says which ways to pour are considered, and what is wanted of the one
// that is recommended.
type Wanted struct {
	Option        *int     `json:"option,omitempty" minimum:"1" maximum:"30" doc:"Take the option of this number, as pour-options numbers them for the same order"`
	MaxRiskPct    *float64 `json:"max_risk_pct,omitempty" minimum:"0.1" maximum:"100" doc:"Greatest chance that any pour of the order fails; risk_limit_pct of the studio if absent" example:"5"`
	NoBoughtMetal bool     `json:"no_bought_metal" default:"false" doc:"Take an option only if the lots at hand are enough"`
	MaxBenchMin   *float64 `json:"max_bench_min,omitempty" minimum:"0" maximum:"100000" doc:"Longest time at the bench for the whole order, minutes: 240 for an afternoon" example:"240"`
	Favour        string   `json:"favour,omitempty" enum:"least_price,least_risk,least_metal,least_time" doc:"What to favour among the options that keep to this; least_price if absent, or least_risk where there are no prices"`
	Show          int      `json:"show" minimum:"4" maximum:"24" default:"8" doc:"How many options to show: the best in each respect and the most different"`

	Postures    []string  `json:"postures,omitempty" maxItems:"2" enum:"standing,lying" doc:"Postures of the flask to consider; both if absent"`
	Gates       []string  `json:"gates,omitempty" maxItems:"3" enum:"top,side,bottom" doc:"Gates of a standing flask; all if absent. Below the top, the sprue is longer by the drop"`
	SprueCounts []int     `json:"sprue_counts,omitempty" maxItems:"2" minimum:"1" maximum:"2" doc:"Numbers of sprues; 1 and 2 if absent"`
	TurnsPct    []float64 `json:"turns_pct,omitempty" maxItems:"8" minimum:"0" maximum:"100" doc:"Turns of a band's pattern; as given and half a turn if absent and the band has a thin spot"`
	RaiseMM     []float64 `json:"raise_mm,omitempty" maxItems:"6" minimum:"-60" maximum:"60" doc:"How much higher to set the pattern, under a sprue that is shorter by as much; negative is deeper; 0, 8 and -10 if absent" example:"[0,8]"`
	ThickenMM   []float64 `json:"thicken_mm,omitempty" maxItems:"6" minimum:"0" maximum:"3" doc:"How much thicker to scrape the impression; 0 and 0.3 if absent" example:"[0,0.3]"`
	HotterK     []float64 `json:"hotter_k,omitempty" maxItems:"6" minimum:"-80" maximum:"150" doc:"How much hotter to pour, up to 150 K over the liquidus; 0 and 30 if absent" example:"[0,30]"`
}

// Out is the ways to pour an order that no other way beats.
type Out struct {
	Recommended int      `json:"recommended" doc:"Number of the option that keeps to what was asked and is best by favour; 0 where none does" example:"2"`
	WhyNone     string   `json:"why_none,omitempty" doc:"What stands in the way, where none is recommended"`
	Options     []Option `json:"options" doc:"Ways to pour that no other beats in risk, metal, time and cost at once, least risk first"`
	AsGiven     Option   `json:"as_given" doc:"The order poured as it was given, to compare"`
	Considered  int      `json:"considered" doc:"Ways considered, over all pieces"`
	Assessed    int      `json:"assessed" doc:"Of them, how many had their probability of failure worked out; the rest were beaten in a coarse look"`
	FrontSize   int      `json:"front_size" doc:"Options for the order that no other beats (the Pareto front), of which these are shown"`
	Exhaustive  bool     `json:"exhaustive" doc:"Whether every way was assessed and every combination weighed, so that nothing can have been missed"`
	calc.Notes
}

// Option is a way to pour the order.
type Option struct {
	Number   int           `json:"number" doc:"Its number; 0 for the order as given" example:"1"`
	RiskPct  float64       `json:"risk_pct" doc:"Chance that any pour of the order fails, over studios like those known"`
	LowPct   float64       `json:"risk_low_pct" doc:"One studio in twenty does better than this; one studio pours them all, so the ends of the pieces are taken together"`
	HighPct  float64       `json:"risk_high_pct" doc:"One studio in twenty does worse than this"`
	MeltG    float64       `json:"melt_g" doc:"Metal to melt, g"`
	BoughtG  float64       `json:"bought_g" doc:"Of it, bought, g"`
	BenchMin float64       `json:"bench_min" doc:"Time at the bench if no pour fails, minutes"`
	Price    string        `json:"price,omitempty" doc:"Price of the order by this option, in its currency, where the studio's prices are given" example:"660.00"`
	Summary  string        `json:"summary" doc:"What it gains and what it costs, against the order as given"`
	Pieces   []PieceOption `json:"pieces" doc:"How each piece is poured, in the order given"`
}

// PieceOption is how one piece is poured.
type PieceOption struct {
	Name     string      `json:"name" doc:"The piece"`
	Changes  string      `json:"changes" doc:"What is done otherwise than given, in words"`
	RiskPct  float64     `json:"risk_pct" doc:"Probability that its pour fails; all ways are sampled with the same draws"`
	LowPct   float64     `json:"risk_low_pct" doc:"One studio in twenty does better than this"`
	HighPct  float64     `json:"risk_high_pct" doc:"One studio in twenty does worse than this"`
	MeltG    float64     `json:"melt_g" doc:"Metal to melt, g"`
	BenchMin float64     `json:"bench_min" doc:"Time at the bench, minutes"`
	Cost     string      `json:"cost,omitempty" doc:"Cost of the piece by itself before profit and tax, with the allowance for failed pours; all its metal counted"`
	HoldKg   float64     `json:"hold_kg" doc:"Weight or clamping that holds the flask"`
	Mould    order.Mould `json:"mould" doc:"To be put into the piece's mould to pour it so"`
}

// given, or else what is usual.
func orUsual[T any](given, usual []T) []T {
	if len(given) > 0 {
		return given
	}
	return usual
}

// mostWays bounds the ways to pour one piece: five times as many as are
// considered where nothing is asked. All lists at their longest would come to
// twenty thousand, a minute of work for each piece.
const mostWays = 1000

// ways are different ways to pour a piece, as they were found.
type ways struct {
	list []order.Mould
	seen map[way]bool
}

// way tells ways apart by what the pointer in a mould leads to.
type way struct {
	order.Mould
	hot   bool
	pourC float64
}

func (l *ways) add(m order.Mould) {
	w := way{Mould: m}
	if m.PourC != nil {
		w.PourC, w.hot, w.pourC = nil, true, *m.PourC
	}
	if !l.seen[w] && len(l.list) <= mostWays {
		l.seen[w] = true
		l.list = append(l.list, m)
	}
}

// moulds lists the ways to pour the piece: as given first, then each other
// that the options leave, none twice; at most one more than mostWays.
func (w *Wanted) moulds(p *order.Planner, dropMM map[string]float64) []order.Mould {
	given := p.Piece.Mould
	turns := []float64{given.TurnPct}
	if len(p.Piece.ThinPlaces) > 0 && p.Piece.Kind.Closed() {
		turns = append(turns, modPct(given.TurnPct+50))
	}
	gates := []string{"top", "side", "bottom"}
	if p.Piece.Straight() {
		turns, gates = []float64{given.TurnPct}, []string{"top", "bottom"}
	} else {
		turns = orUsual(w.TurnsPct, turns)
	}
	list := &ways{seen: map[way]bool{}}
	list.add(given)
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
						w.scraped(list, p, m)
					}
				}
			}
		}
	}
	return list.list
}

// scraped adds m with each thickening and heat.
func (w *Wanted) scraped(list *ways, p *order.Planner, m order.Mould) {
	const shortest, longest = 4, 200 // mm of sprue
	if m.SprueLengthMM < shortest || m.SprueLengthMM > longest {
		return
	}
	asked := p.Alloy.LiquidusC() + 100
	if p.Piece.Mould.PourC != nil {
		asked = *p.Piece.Mould.PourC
	}
	for _, thicken := range orUsual(w.ThickenMM, []float64{0, 0.3}) {
		for _, hotter := range orUsual(w.HotterK, []float64{0, 30}) {
			m.ThickenMM, m.PourC = thicken, p.Piece.Mould.PourC
			if c := asked + hotter; hotter != 0 {
				if c > p.Alloy.LiquidusC()+fill.HottestK || c < p.Alloy.LiquidusC()+20 {
					continue
				}
				m.PourC = &c
			}
			list.add(m)
		}
	}
}

func modPct(pct float64) float64 {
	if pct >= 100 {
		return pct - 100
	}
	return pct
}

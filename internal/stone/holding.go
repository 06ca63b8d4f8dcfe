package stone

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"pourwright/internal/calc"
)

// Holding is what keeps a stone in the clay until the metal comes.
type Holding struct {
	GreaseMG    float64 `json:"grease_mg" doc:"Petroleum jelly for one stone: a film on what is pressed into the clay" example:"0.05"`
	GreaseMaxMG float64 `json:"grease_max_mg" doc:"More than this makes more gas than the dents and crown have room to lose"`
	GasMM3      float64 `json:"gas_mm3" doc:"Gas that the film makes at 1000 °C and one atmosphere, uncracked"`
	How         string  `json:"how" doc:"How to apply it"`
}

// Film of grease and its gas: 0.02 mm of 0.85 g/cm³, as pentacosane
// (352.7 g/mol) at 1000 °C and 101325 Pa.
const (
	filmMM       = 0.02
	greaseGCm3   = 0.85
	greaseGMol   = 352.7
	gasMM3PerMG  = 1e6 * gasConstant * 1273.15 / 101325 / greaseGMol // m³/mol ÷ g/mol = 1e9 mm³ ÷ 1e3 mg
	greaseMaxFor = 3.0                                               // times the film
)

var srcGrease = calc.Source{For: "holding grease", Text: "a smear of petroleum jelly holds a stone in clay; the film of 0.02 mm is our choice, its gas computed as an ideal gas of pentacosane", Status: calc.Choice}

var holdingCautions = []calc.Caution{
	{Code: "washed_away_stones", Severity: calc.Care, Text: "Some stones are washed away or end up covered, however well they are pressed: aim the stream away from them, count stones before and after, sieve the clay, and say so to the owner."},
	{Code: "holding_grease", Severity: calc.Care, Text: "Use the least grease that holds: a smear on the crown only. It burns to gas and soot; too much blows holes and leaves the stone loose. None on the girdle, none on a stone for which soot matters."},
}

func holdingFor(s solid, seat Seat) Holding {
	// the pressed part: table and crown, as a flat disc and a cone's mantle
	r, t := s.WidthMM/2, s.TableMM/2
	if s.rule.dome {
		t = 0
	}
	mantle := math.Pi * (r + t) * math.Hypot(r-t, min(seat.PressMM, s.CrownMM))
	area := (math.Pi*t*t + mantle) * s.LengthMM / s.WidthMM
	h := Holding{GreaseMG: area * filmMM * greaseGCm3}
	h.GreaseMaxMG = greaseMaxFor * h.GreaseMG
	h.GasMM3 = h.GreaseMG * gasMM3PerMG
	press := seat.PressMM
	switch {
	case seat.Window.Empty():
		h.How = "no press depth holds it: set it afterwards"
		return h
	case !seat.PressWithin:
		press = (*seat.Window.LowMM + *seat.Window.HighMM) / 2
	}
	h.How = fmt.Sprintf("touch the table to a fingertip that was wiped after greasing; press %.2f mm deep, table first, and look along the clay to see the girdle free", press)
	return h
}

// HoldingCounts is the studio's own experience.
type HoldingCounts struct {
	Placed int `json:"placed" minimum:"1" maximum:"1000000" doc:"Stones placed in past pours" example:"60"`
	Lost   int `json:"lost" minimum:"0" maximum:"1000000" doc:"Of these, stones washed away, drowned or broken" example:"4"`
}

// LossChance is the chance of losing a stone, from counts alone.
type LossChance struct {
	EachPct      float64 `json:"each_pct" doc:"Chance for each stone: middle of the Jeffreys posterior (median)"`
	LowPct       float64 `json:"low_pct" doc:"Low end, 95 % (Jeffreys)"`
	HighPct      float64 `json:"high_pct" doc:"High end, 95 % (Jeffreys)"`
	ExactLowPct  float64 `json:"exact_low_pct" doc:"Low end, 95 % at least (Clopper-Pearson)"`
	ExactHighPct float64 `json:"exact_high_pct" doc:"High end, 95 % at least (Clopper-Pearson)"`
	AnyPct       float64 `json:"any_pct" doc:"Chance that at least one stone of this order is lost, over what the counts leave open"`
	Expected     float64 `json:"expected" doc:"Stones of this order expected to be lost"`
}

var srcLoss = calc.Source{For: "chance of losing a stone", Text: "L. D. Brown, T. T. Cai, A. DasGupta, Statist. Sci. 16 (2001) 101: Jeffreys and Clopper-Pearson intervals; your own counts", Status: calc.FromMemory}

// Chance returns the chance of loss for an order of n stones. It takes past
// and coming stones to be alike and independent.
func (c HoldingCounts) Chance(n int) (LossChance, error) {
	if c.Placed < 1 || c.Lost < 0 || c.Lost > c.Placed {
		return LossChance{}, calc.Refuse("lost", c.Lost, "give 0 to the number placed (%d)", c.Placed)
	}
	x, m := float64(c.Lost), float64(c.Placed)
	jeffreys := distuv.Beta{Alpha: x + 0.5, Beta: m - x + 0.5}
	l := LossChance{EachPct: 100 * jeffreys.Quantile(0.5), LowPct: 100 * jeffreys.Quantile(0.025), HighPct: 100 * jeffreys.Quantile(0.975), ExactHighPct: 100}
	if c.Lost == 0 {
		l.LowPct = 0
	} else {
		l.ExactLowPct = 100 * distuv.Beta{Alpha: x, Beta: m - x + 1}.Quantile(0.025)
	}
	if c.Lost == c.Placed {
		l.HighPct = 100
	} else {
		l.ExactHighPct = 100 * distuv.Beta{Alpha: x + 1, Beta: m - x}.Quantile(0.975)
	}
	none := 0.0 // ln of the chance that none of n is lost: B(α, β+n)/B(α, β)
	for i := range n {
		none += math.Log((jeffreys.Beta + float64(i)) / (jeffreys.Alpha + jeffreys.Beta + float64(i)))
	}
	l.AnyPct = -100 * math.Expm1(none)
	l.Expected = float64(n) * jeffreys.Alpha / (jeffreys.Alpha + jeffreys.Beta)
	return l, nil
}

package stone

import (
	"fmt"
	"math"
	"slices"

	"pourwright/internal/calc"
)

// Cut is a form of stone.
type Cut string

// The cuts.
const (
	RoundBrilliant Cut = "round_brilliant"
	OvalCut        Cut = "oval"
	SquareCushion  Cut = "square_cushion"
	Cushion        Cut = "cushion"
	Pear           Cut = "pear"
	Marquise       Cut = "marquise"
	EmeraldCut     Cut = "emerald_cut"
	Baguette       Cut = "rectangle"
	Square         Cut = "square"
	Heart          Cut = "heart"
	Triangle       Cut = "triangle"
	Cabochon       Cut = "cabochon"
	Bead           Cut = "bead"
)

// cutRule is how a cut is weighed and shaped. Mass in carats is
// K × measures × specific gravity; the measures are ((L+W)/2)² d where mean
// is set, else L W d.
type cutRule struct {
	cut     Cut
	name    string
	k       float64
	mean    bool
	diamond [][2]float64 // length over width, constant with the diamond's specific gravity folded in
	status  calc.Status  // of the diamond constants
	errPct  float64      // of the estimate, for well-made stones of true outline
	ratio   float64      // usual length over width
	depth   [3]float64   // usual total depth, % of width: typical, low, high
	crown   float64      // share of the depth
	girdle  float64      // share of the depth
	table   float64      // table or flat top, share of the width
	dome    bool         // crown a dome, not facets
	flat    bool         // flat base, no pavilion
	outline outline
}

var cutRules = []cutRule{
	{RoundBrilliant, "round brilliant", 0.0018, true, [][2]float64{{1, 0.0061}}, calc.Confirmed, 5, 1, [3]float64{61, 57.5, 63.6}, 0.25, 2. / 60, 0.57, false, false, ellipse},
	{OvalCut, "oval", 0.0020, true, [][2]float64{{1, 0.0062}}, calc.Confirmed, 8, 1.35, [3]float64{65, 60, 70}, 0.29, 0.04, 0.57, false, false, ellipse},
	{SquareCushion, "square cushion", 0.0021, true, [][2]float64{{1, 0.0082}}, calc.FromMemory, 10, 1, [3]float64{68, 62, 75}, 0.29, 0.04, 0.57, false, false, superellipse},
	{Cushion, "rectangular cushion", 0.0022, true, nil, "", 10, 1.2, [3]float64{68, 62, 75}, 0.29, 0.04, 0.57, false, false, superellipse},
	{Pear, "pear", 0.0018, false, [][2]float64{{1.25, 0.00615}, {1.5, 0.0060}, {1.66, 0.0059}, {2, 0.00575}}, calc.Confirmed, 10, 1.5, [3]float64{63, 58, 68}, 0.29, 0.04, 0.57, false, false, pear},
	{Marquise, "marquise", 0.0017, false, [][2]float64{{1.5, 0.00565}, {2, 0.0058}, {2.5, 0.00585}, {3, 0.00595}}, calc.Confirmed, 10, 2, [3]float64{62, 58, 66}, 0.29, 0.04, 0.57, false, false, marquise},
	{EmeraldCut, "emerald cut", 0.0025, false, [][2]float64{{1, 0.0080}, {1.5, 0.0092}, {2, 0.0100}, {2.5, 0.0106}}, calc.Confirmed, 10, 1.4, [3]float64{66, 60, 72}, 0.29, 0.04, 0.60, false, false, cropped},
	{Baguette, "rectangle, baguette", 0.0026, false, nil, "", 10, 2, [3]float64{60, 50, 72}, 0.25, 0.04, 0.60, false, false, box},
	{Square, "square", 0.0024, false, [][2]float64{{1, 0.0083}}, calc.FromMemory, 10, 1, [3]float64{71, 65, 78}, 0.25, 0.04, 0.65, false, false, box},
	{Heart, "heart", 0.0018, false, [][2]float64{{1, 0.0059}}, calc.Confirmed, 15, 1, [3]float64{62, 58, 68}, 0.29, 0.04, 0.57, false, false, heart},
	{Triangle, "triangle", 0.0018, false, [][2]float64{{1, 0.0057}}, calc.Confirmed, 15, 1, [3]float64{45, 40, 50}, 0.29, 0.04, 0.60, false, false, wedge},
	{Cabochon, "cabochon", 0.0027, false, nil, "", 10, 1.35, [3]float64{45, 25, 80}, 0, 0, 0, true, true, ellipse},
	{Bead, "bead, sphere", math.Pi / 6 * 0.005, false, nil, "", 3, 1, [3]float64{100, 98, 102}, 0.5, 0, 0, true, false, ellipse},
}

// cabochonBevelMM is the upright edge of a cabochon: common practice 0.3-0.5 mm.
const cabochonBevelMM = 0.4

// diamondSG is the specific gravity folded into the diamond constants.
const diamondSG = 3.52

var (
	srcCutK       = calc.Source{For: "mass from measures", Text: "estimation constants of gem weight, two published tables agreeing but for pear and marquise, read; heart by two of three, read; square cushion by its side: 0.0018 goes with the mean of side and diagonal (read), which superellipses of power 3 to 4 make 0.0020 to 0.0022 with the side; cabochon and bead from half ellipsoid and sphere", Status: calc.Practice}
	srcCutDiamond = calc.Source{For: "mass of diamonds from measures", Text: "published diamond weight constants by cut and length over width, read; square and square cushion from memory", Status: calc.Practice}
	srcCutError   = calc.Source{For: "error band of the estimate", Text: "±5 % (round) to ±15 % (fancy shapes); cut by cut our choice within that", Status: calc.Choice}
	srcPropRound  = calc.Source{For: "proportions of round brilliants", Text: "trade range read: table 52-62 %, crown height 11-16.2 %, pavilion 42.3-44.5 %, total 57.5-63.6 %; M. Tolkowsky, Diamond Design, 1919, lies inside it", Status: calc.Practice}
	srcPropOther  = calc.Source{For: "proportions of other cuts", Text: "common depth and crown shares of coloured stones", Status: calc.Practice}
)

func ruleOf(c Cut) (cutRule, bool) {
	i := slices.IndexFunc(cutRules, func(r cutRule) bool { return r.cut == c })
	if i < 0 {
		return cutRule{}, false
	}
	return cutRules[i], true
}

func cutNames() []string {
	names := make([]string, len(cutRules))
	for i, r := range cutRules {
		names[i] = string(r.cut)
	}
	return names
}

// measure is the product of measures in mm³ that the constant multiplies.
func (r cutRule) measure(l, w, d float64) float64 {
	if r.mean {
		return (l + w) / 2 * (l + w) / 2 * d
	}
	return l * w * d
}

// constant returns mass in ct over measure in mm³ for a specific gravity.
func (r cutRule) constant(gemID string, sg, ratio float64) (ctPerMM3 float64, diamond bool) {
	if len(r.diamond) == 0 || gemID != "diamond" && gemID != "diamond-lab" {
		return r.k * sg, false
	}
	return between(r.diamond, ratio) * sg / diamondSG, true
}

// between interpolates a table of rising first column, level beyond its ends.
func between(table [][2]float64, x float64) float64 {
	for i, row := range table {
		if x > row[0] {
			continue
		}
		if i == 0 {
			return row[1]
		}
		before := table[i-1]
		return before[1] + (row[1]-before[1])*(x-before[0])/(row[0]-before[0])
	}
	return table[len(table)-1][1]
}

// Measures is a stone's size.
type Measures struct {
	LengthMM float64 `json:"length_mm" doc:"Length, or diameter" example:"1.3"`
	WidthMM  float64 `json:"width_mm" doc:"Width" example:"1.3"`
	DepthMM  float64 `json:"depth_mm" doc:"Total depth, table to culet" example:"0.793"`
	CrownMM  float64 `json:"crown_height_mm" doc:"From the girdle's upper edge to the table, or the height of the dome" example:"0.198"`
	GirdleMM float64 `json:"girdle_mm" doc:"Thickness of the girdle, or the bevel of a cabochon" example:"0.026"`
	PavMM    float64 `json:"pavilion_mm" doc:"From the girdle's lower edge to the culet" example:"0.568"`
	TableMM  float64 `json:"table_mm" doc:"Width of the table" example:"0.741"`
	CrownDeg float64 `json:"crown_deg" doc:"Slope of the crown to the girdle plane, across the width; of a dome, the slope of its chord" example:"35.3"`
	PavDeg   float64 `json:"pavilion_deg" doc:"Slope of the pavilion to the girdle plane, across the width" example:"41.2"`
}

// Proportions shares out a stone's depth. Crown height and girdle thickness
// in mm may be measured (positive); else they are the cut's usual shares.
func Proportions(c Cut, l, w, depth, crown, girdle float64) (Measures, error) {
	r, ok := ruleOf(c)
	if !ok {
		return Measures{}, calc.Refuse("cut", c, "give one of %v", cutNames())
	}
	if r.flat && girdle == 0 {
		girdle = min(cabochonBevelMM, depth/4)
	}
	if girdle == 0 {
		girdle = r.girdle * depth
	}
	if crown == 0 {
		crown = r.crown * depth
		if r.flat {
			crown = depth - girdle
		}
	}
	pav := depth - crown - girdle
	if pav < -1e-9*depth || r.flat && pav > 1e-9*depth {
		return Measures{}, calc.Refuse("depth_mm", depth, "give a depth that holds the crown (%.3g mm) and girdle (%.3g mm)%s", crown, girdle, flatHint(r.flat))
	}
	pav = max(pav, 0)
	m := Measures{LengthMM: l, WidthMM: w, DepthMM: depth, CrownMM: crown, GirdleMM: girdle, PavMM: pav, TableMM: r.table * w}
	m.CrownDeg = math.Atan2(crown, (w-m.TableMM)/2) * 180 / math.Pi
	m.PavDeg = math.Atan2(pav, w/2) * 180 / math.Pi
	return m, nil
}

func flatHint(flat bool) string {
	if flat {
		return " exactly: a cabochon has no pavilion"
	}
	return ""
}

// estimate is a mass with its band.
type estimate struct{ ct, low, high, volumeMM3 float64 }

// weigh estimates a stone of density sg (low to high) g/cm³, with allowances
// in percent for bulge and for a thick girdle.
func weigh(r cutRule, gemID string, m Measures, sg, sgLow, sgHigh, allowancePct float64) (estimate, string) {
	k, diamond := r.constant(gemID, sg, m.LengthMM/m.WidthMM)
	measure := r.measure(m.LengthMM, m.WidthMM, m.DepthMM)
	ct := k * measure * (1 + allowancePct/100)
	what := "K × measures × SG"
	if diamond {
		what = "diamond constant × measures"
	}
	e := estimate{ct, ct * sgLow / sg * (1 - r.errPct/100), ct * sgHigh / sg * (1 + r.errPct/100), 200 * ct / sg}
	return e, fmt.Sprintf("%s = %.5g ct/mm³ × %.5g mm³ × %.3g", what, k, measure, 1+allowancePct/100)
}

// usualChart is a trade chart of round brilliant diamonds, mm to ct (read;
// two misprints, at 1.1 and 1.2 mm, corrected tenfold). Small sizes run
// 10-35 % over geometry: sieves, rounding up, thick girdles.
var usualChart = [][2]float64{
	{1, 0.005}, {1.1, 0.0065}, {1.2, 0.0075}, {1.3, 0.01}, {1.5, 0.015}, {1.8, 0.025}, {2, 0.035}, {2.5, 0.065},
	{3, 0.11}, {3.25, 0.14}, {3.5, 0.17}, {4, 0.25}, {4.5, 0.36}, {5, 0.5}, {5.5, 0.66}, {6, 0.84}, {6.5, 1}, {7, 1.3}, {7.5, 1.67}, {8, 2},
}

var srcChart = calc.Source{For: "customary mass of round brilliant diamonds", Text: "dealers' size charts, read; two misprints corrected", Status: calc.Practice}

// ChartCT returns the mass in ct by which the trade calls a round brilliant
// diamond of diameter mm, 1 to 8 mm, from a dealers' chart: interpolated in
// ct/mm³. It runs over geometry by 5-35 %.
func ChartCT(mm float64) (ct float64, ok bool) {
	if mm < 1 || mm > 8 {
		return 0, false
	}
	per := make([][2]float64, len(usualChart))
	for i, row := range usualChart {
		per[i] = [2]float64{row[0], row[1] / (row[0] * row[0] * row[0])}
	}
	return between(per, mm) * mm * mm * mm, true
}

// chartMM returns the diameter in mm of the round brilliant diamonds that the
// trade calls by a mass in ct: the chart read the other way.
func chartMM(ct float64) (mm float64, ok bool) {
	lo, hi := usualChart[0][0], usualChart[len(usualChart)-1][0]
	if ct < usualChart[0][1] || ct > usualChart[len(usualChart)-1][1] {
		return 0, false
	}
	chart := func(mm float64) float64 { ct, _ := ChartCT(mm); return ct }
	for range 50 { // the chart rises throughout
		if mid := (lo + hi) / 2; chart(mid) < ct {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2, true
}

package stone

import (
	"math"

	"pourwright/internal/calc"
)

// Fills says whether the metal is expected to fill a small hollow.
type Fills string

// The answers.
const (
	FillsSurely   Fills = "yes"       // at a contact angle of 180°
	FillsLikely   Fills = "likely"    // at 140°
	FillsDoubtful Fills = "doubtful"  // at 120°
	FillsNot      Fills = "no"        // not even at 120°
	NoGrains      Fills = "no grains" // none asked for
)

// GrainPlace is the middle of a grain, seen from the front of the stone.
type GrainPlace struct {
	AngleDeg float64 `json:"angle_deg" doc:"Direction from the stone's middle, 0 along the band, 90 across it" example:"45"`
	AlongMM  float64 `json:"along_mm" doc:"From the stone's middle along the band" example:"0.46"`
	AcrossMM float64 `json:"across_mm" doc:"From the stone's middle across the band" example:"0.46"`
}

// Grains are the small balls of metal that hold a stone: hemispherical dents
// pressed into the clay at its edge, about half of each over the stone.
type Grains struct {
	Count            int          `json:"count" doc:"Grains on this stone" example:"4"`
	DiameterMM       float64      `json:"diameter_mm" doc:"Diameter of the ball tool to press; 0 when there are no grains" example:"0.5"`
	SmallestSureMM   float64      `json:"smallest_sure_mm" doc:"Smallest diameter that fills at this head whatever the contact angle" example:"0.84"`
	SmallestLikelyMM float64      `json:"smallest_likely_mm" doc:"Smallest diameter that fills at a contact angle of 140°" example:"0.65"`
	LargestMM        float64      `json:"largest_mm" doc:"Largest diameter that leaves the table free and its neighbour grain apart" example:"0.6"`
	Fills            Fills        `json:"fills" enum:"yes,likely,doubtful,no,no grains" doc:"Whether the metal is expected to fill the dents at this head"`
	HeadToFillMM     float64      `json:"head_to_fill_mm" doc:"Head at which a grain of this diameter fills for sure" example:"84"`
	OverStonePct     float64      `json:"over_stone_pct" doc:"Share of each grain's plan that lies over the stone" example:"50"`
	BiteMM           float64      `json:"bite_mm" doc:"How far each grain reaches in over the stone's edge" example:"0.24"`
	GripN            float64      `json:"grip_n" doc:"Pull on the stone at which the grains yield, all together"`
	PullN            float64      `json:"pull_n" doc:"The pull that was asked for"`
	Holds            bool         `json:"holds" doc:"Whether the grip bears the pull with a factor of 2"`
	Places           []GrainPlace `json:"places" doc:"Where to press the dents"`
	Reason           string       `json:"reason" doc:"What limits the grains, in words"`
}

// Rules of the bench for grains.
const (
	grainShare  = 0.30 // diameter over that of the stone, where nothing else decides
	gripFactor  = 2.0  // pull to be borne over the stated one
	overStone   = 0.5  // share of a grain over the stone
	grainSpaces = 1.15 // distance between grains over their diameter
)

var (
	srcGrain = calc.Source{For: "grain size and place", Text: "a grain about a third of the stone across, half of it over the stone", Status: calc.Practice}
	srcGrip  = calc.Source{For: "grip of grains", Text: "half-round section of the grain over the girdle, in shear at 0.577 of the yield strength (von Mises) and in bending as a cantilever; the lesser counts, with a factor of 2", Status: calc.Computed}
)

// grainsFor sizes n grains for a stone. Diameter 0 leaves the choice to the rule.
func grainsFor(s solid, c capillary, n int, diameterMM, yieldMPa, pullN float64) Grains {
	out := Grains{Count: n, SmallestSureMM: 2 * c.tip(sureDeg), SmallestLikelyMM: 2 * c.tip(likelyDeg), PullN: pullN, Fills: NoGrains, Places: []GrainPlace{}}
	out.LargestMM = largestGrain(s, n)
	if n == 0 {
		out.Reason = "no grains asked for"
		return out
	}
	d := diameterMM
	if d == 0 {
		d = min(max(grainShare*s.WidthMM, out.SmallestSureMM), out.LargestMM)
	}
	out.DiameterMM = d
	r := d / 2
	switch {
	case r >= c.tip(sureDeg):
		out.Fills = FillsSurely
	case r >= c.tip(likelyDeg):
		out.Fills = FillsLikely
	case r >= c.tip(leastDeg):
		out.Fills = FillsDoubtful
	default:
		out.Fills = FillsNot
	}
	out.HeadToFillMM = c.headFor(r, sureDeg)
	out.GripN = float64(n) * grainGrip(r, yieldMPa)
	out.Holds = out.GripN >= gripFactor*pullN && out.Fills != FillsNot
	offset, share := grainOffset(s, r)
	out.OverStonePct, out.BiteMM = 100*share, r-offset
	for i := range n {
		angle := 180/float64(n) + 360*float64(i)/float64(n)
		out.Places = append(out.Places, place(s, angle, offset))
	}
	switch {
	case d > out.LargestMM*(1+1e-9):
		out.Reason = "larger than leaves the table free or its neighbours apart"
	case out.Fills != FillsSurely:
		out.Reason = "the stone leaves room for no grain that surely fills at this head: raise the head, use fewer grains, or choose a larger stone"
	case d > grainShare*s.WidthMM*(1+1e-9) && diameterMM == 0:
		out.Reason = "as large as surface tension asks at this head"
	default:
		out.Reason = "a third of the stone, and the metal fills it"
	}
	return out
}

// largestGrain leaves the table free and grains apart.
func largestGrain(s solid, n int) float64 {
	free := s.WidthMM / 2 // a dome has no table: to its middle
	if !s.rule.dome {
		free = (s.WidthMM - s.TableMM) / 2
	}
	if n < 2 {
		return 2 * free
	}
	// the middles stand on a circle a little inside the girdle, which shrinks as grains grow
	lo, hi := 0.0, 2*free
	for range 50 {
		d := (lo + hi) / 2
		offset, _ := grainOffset(s, d/2)
		if (s.WidthMM+2*offset)*math.Sin(math.Pi/float64(n)) >= grainSpaces*d {
			lo = d
		} else {
			hi = d
		}
	}
	return lo
}

// grainOffset returns how far outside the girdle (negative: inside) the
// middle of a grain of radius r stands so that half of its plan is over the
// stone, and that share. On straight edges the middle is on the edge.
func grainOffset(s solid, r float64) (offset, share float64) {
	if s.rule.outline != ellipse || s.LengthMM != s.WidthMM {
		return 0, overStone
	}
	big := s.WidthMM / 2
	over := func(x float64) float64 { return lens(big, r, big+x) / (math.Pi * r * r) }
	lo, hi := -r, r // the share falls from 1 to 0
	for range 60 {
		mid := (lo + hi) / 2
		if over(mid) > overStone {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, over(lo)
}

// lens is the area common to circles of radius a and b, middles d apart.
func lens(a, b, d float64) float64 {
	switch {
	case d >= a+b:
		return 0
	case d <= math.Abs(a-b):
		return math.Pi * min(a, b) * min(a, b)
	}
	p := (d*d + a*a - b*b) / (2 * d)
	q := d - p
	return a*a*math.Acos(clamp1(p/a)) - p*math.Sqrt(max(0, a*a-p*p)) +
		b*b*math.Acos(clamp1(q/b)) - q*math.Sqrt(max(0, b*b-q*q))
}

func clamp1(x float64) float64 { return max(-1, min(1, x)) }

// place puts a grain on the girdle in a direction, its middle offset outwards.
func place(s solid, angleDeg, offset float64) GrainPlace {
	sin, cos := math.Sincos(angleDeg * math.Pi / 180)
	a, b := s.LengthMM/2, s.WidthMM/2
	edge := 1 / math.Hypot(cos/a, sin/b)
	if s.rule.outline == box {
		edge = 1 / max(math.Abs(cos)/a, math.Abs(sin)/b)
	}
	return GrainPlace{angleDeg, (edge + offset) * cos, (edge + offset) * sin}
}

// grainGrip returns the force in N at which one grain of radius r mm yields:
// its half-disc over the girdle in shear, or bent by the pressure of the stone
// on the half that lies over it (lever 4r/3π; section modulus 0.1907 r³).
func grainGrip(r, yieldMPa float64) float64 {
	shear := 0.577 * yieldMPa * math.Pi * r * r / 2
	bending := yieldMPa * 0.1907 * r * r * r / (4 * r / (3 * math.Pi))
	return min(shear, bending)
}

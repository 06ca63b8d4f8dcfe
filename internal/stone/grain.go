package stone

import (
	"fmt"
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
	NoGrains      Fills = "no_grains" // none asked for
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
	LargestMM        float64      `json:"largest_mm" doc:"Largest diameter that leaves the table, the sharp points of the cut, the neighbour grain and show_pct of the crown free" example:"0.6"`
	Fills            Fills        `json:"fills" enum:"yes,likely,doubtful,no,no_grains" doc:"Whether the metal is expected to fill the dents at this head"`
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
	grainShare   = 0.30 // diameter over that of the stone, where nothing else decides
	gripFactor   = 2.0  // pull to be borne over the stated one
	overStone    = 0.5  // share of a grain over the stone
	grainSpaces  = 1.15 // distance between grains over their diameter
	pointClearMM = 0.1  // from a sharp point of a cut to the edge of a grain
)

var (
	srcGrain = calc.Source{For: "grain size and place", Text: "a grain about a third of the stone across, half of it over the stone", Status: calc.Practice}
	srcGrip  = calc.Source{For: "grip of grains", Text: "half-round section of the grain over the girdle, in shear at 0.577 of the yield strength (von Mises) and in bending as a cantilever; the lesser counts, with a factor of 2", Status: calc.Computed}
)

// leastGrainMM is under what any tool makes in clay: our choice.
const leastGrainMM = 0.02

// grainsFor sizes n grains for a stone, of whose crown showPct must stay free.
// Diameter 0 leaves the choice to the rule: as large as a third of the stone,
// surface tension or the pull asks, and no larger than there is room for. The
// diameter never falls under what bears the pull as the head grows.
func grainsFor(s solid, c capillary, n int, diameterMM, yieldMPa, pullN, showPct float64) Grains {
	out := Grains{Count: n, SmallestSureMM: 2 * c.tip(sureDeg), SmallestLikelyMM: 2 * c.tip(likelyDeg), PullN: pullN, Fills: NoGrains, Places: []GrainPlace{}}
	g := s.girdle()
	out.LargestMM = largestGrain(s, g, n, showPct)
	if n == 0 {
		out.Reason = "no grains asked for"
		return out
	}
	bears := 2 * math.Sqrt(gripFactor*pullN/(float64(n)*grainGrip(1, yieldMPa)))
	d := diameterMM
	if d == 0 {
		d = min(max(grainShare*s.WidthMM, out.SmallestSureMM, bears), out.LargestMM)
	}
	if d < leastGrainMM {
		out.Fills, out.Reason = FillsNot, fmt.Sprintf("none: %d leave no space for one; use fewer, or a larger stone", n)
		return out
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
	out.Holds = out.GripN >= gripFactor*pullN*(1-1e-9) && out.Fills != FillsNot
	out.Places, out.OverStonePct, out.BiteMM = grainPlaces(s, g, n, r)
	switch {
	case out.TooLarge():
		out.Reason = fmt.Sprintf("%.2f mm is larger than the %.2f mm that leave table, points, neighbours and %.3g %% of the crown free", d, out.LargestMM, showPct)
	case out.Fills != FillsSurely:
		out.Reason = "the stone leaves room for no grain that surely fills at this head: raise the head, use fewer grains, or choose a larger stone"
	case diameterMM > 0:
		out.Reason = "as given, and the metal fills it"
	case d == bears && bears > grainShare*s.WidthMM:
		out.Reason = "as large as the pull asks"
	case d > grainShare*s.WidthMM*(1+1e-9):
		out.Reason = "as large as surface tension asks at this head"
	default:
		out.Reason = "a third of the stone, and the metal fills it"
	}
	return out
}

// TooLarge says that grains of this diameter leave too little free.
func (g Grains) TooLarge() bool { return g.DiameterMM > g.LargestMM*(1+1e-9) }

// grainsAlong is where n grains stand along the outline: of a cut without
// sharp points in even directions from the middle, of one with points evenly
// along the outline and turned as far from the points as can be.
func grainsAlong(g girdle, n int) []float64 {
	out := make([]float64, n)
	if len(g.points) == 0 {
		for i := range n {
			out[i] = g.towards(180/float64(n) + 360*float64(i)/float64(n))
		}
		return out
	}
	const turns = 24
	step, best, clear := g.round()/float64(n), 0.0, math.Inf(-1)
	for k := range turns {
		from, least := step*float64(k)/turns, math.Inf(1)
		for i := range n {
			p, _ := g.at(from + float64(i)*step)
			least = min(least, g.clearOfPoints(p))
		}
		if least > clear+1e-9 {
			best, clear = from, least
		}
	}
	for i := range n {
		out[i] = best + float64(i)*step
	}
	return out
}

// grainPlaces puts n grains of radius r mm on the girdle, half of each over
// the stone; with them the mean share over the stone in percent and how far
// they reach in.
func grainPlaces(s solid, g girdle, n int, r float64) (places []GrainPlace, overPct, bite float64) {
	places = []GrainPlace{}
	for _, along := range grainsAlong(g, n) {
		p, normal := g.at(along)
		offset, share := grainOffset(s, g, p, normal, r)
		places = append(places, placeAt(point{p.x + offset*normal.x, p.y + offset*normal.y}))
		overPct += 100 * share / float64(n)
		bite += (r - offset) / float64(n)
	}
	return places, overPct, bite
}

func placeAt(p point) GrainPlace {
	return GrainPlace{math.Mod(math.Atan2(p.y, p.x)*180/math.Pi+360, 360), p.x, p.y}
}

// largestGrain is the largest diameter in mm that leaves the table free, the
// grains apart, the sharp points of the cut clear, and showPct of the crown free.
func largestGrain(s solid, g girdle, n int, showPct float64) float64 {
	free := min(s.WidthMM, s.LengthMM) / 2 // a dome has no table: to its middle
	if !s.rule.dome {
		free = (s.WidthMM - s.TableMM) / 2
	}
	if n == 0 {
		return 2 * free
	}
	// half of each grain is over the crown
	most := min(2*free, math.Sqrt(8*(1-showPct/100)*s.crownArea(g)/(math.Pi*float64(n))))
	along := grainsAlong(g, n)
	fits := func(d float64) bool {
		at := make([]point, n)
		for i := range at {
			p, normal := g.at(along[i])
			offset := 0.0
			if round(s) {
				offset, _ = grainOffset(s, g, p, normal, d/2)
			}
			at[i] = point{p.x + offset*normal.x, p.y + offset*normal.y}
			if g.clearOfPoints(at[i]) < d/2+pointClearMM {
				return false
			}
		}
		for i := range at {
			if j := (i + 1) % n; j != i && math.Hypot(at[i].x-at[j].x, at[i].y-at[j].y) < grainSpaces*d {
				return false
			}
		}
		return true
	}
	lo, hi := 0.0, most // places move inwards a little as grains grow, so that the search is one way
	for range 50 {
		if d := (lo + hi) / 2; fits(d) {
			lo = d
		} else {
			hi = d
		}
	}
	return lo
}

// grainOffset returns how far outside the girdle (negative: inside) the
// middle of a grain of radius r stands so that half of its plan is over the
// stone, and that share. Round stones have a closed form.
func grainOffset(s solid, g girdle, p, normal point, r float64) (offset, share float64) {
	if !round(s) {
		return g.straddle(p, normal, r)
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

func round(s solid) bool { return s.rule.outline == ellipse && s.LengthMM == s.WidthMM }

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

// place puts a grain of radius r on the girdle in a direction, half of it over the stone.
func place(s solid, g girdle, angleDeg, r float64) GrainPlace {
	p, normal := g.at(g.towards(angleDeg))
	offset, _ := grainOffset(s, g, p, normal, r)
	at := placeAt(point{p.x + offset*normal.x, p.y + offset*normal.y})
	at.AngleDeg = angleDeg
	return at
}

// grainGrip returns the force in N at which one grain of radius r mm yields:
// its half-disc over the girdle in shear, or bent by the pressure of the stone
// on the half that lies over it (lever 4r/3π; section modulus 0.1907 r³).
func grainGrip(r, yieldMPa float64) float64 {
	shear := 0.577 * yieldMPa * math.Pi * r * r / 2
	bending := yieldMPa * 0.1907 * r * r * r / (4 * r / (3 * math.Pi))
	return min(shear, bending)
}

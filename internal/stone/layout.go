package stone

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/metal"
	"pourwright/internal/section"
	"pourwright/internal/verdict"
)

// LayoutIn asks where stones go round a bangle or a ring. Angles run
// round the piece in degrees, seen from above the half that is pressed first.
type LayoutIn struct {
	InsideDiameterMM float64         `json:"inside_diameter_mm" minimum:"10" maximum:"200" doc:"Inside diameter of the piece in the mould" example:"62"`
	Profile          section.Profile `json:"profile" minItems:"1" maxItems:"72" doc:"Section of the piece; one for an even band, more along the round from 0 (at_pct 0) to 360 degrees (at_pct 100)"`
	Stones           []LayoutStone   `json:"stones" minItems:"1" maxItems:"200" doc:"The stones, in order round the piece"`
	Pattern          string          `json:"pattern" default:"even" enum:"even,clusters,graduated" doc:"even: equal gaps; clusters: close groups, evenly apart; graduated: the largest in the middle, falling to both ends"`
	Clusters         int             `json:"clusters" default:"1" minimum:"1" maximum:"100" doc:"Number of groups, for the pattern clusters"`
	Rows             string          `json:"rows" default:"one_half" enum:"middle,one_half,both_halves" doc:"middle: one row on the parting line, which then runs under each stone; one_half: one row wholly in one half of the mould; both_halves: a row in each half, along the parting line on either side"`
	MiddleDeg        *float64        `json:"middle_deg,omitempty" minimum:"-360" maximum:"360" doc:"Middle of the arc; absent: opposite the sprue, or for a whole round the turn that is farthest from sprue and vents" example:"180"`
	ArcDeg           float64         `json:"arc_deg" default:"360" minimum:"5" maximum:"360" doc:"Arc that the stones take up; 360 for a whole round" example:"360"`
	GapMM            float64         `json:"gap_mm" default:"0.3" minimum:"0.05" maximum:"50" doc:"Least gap between girdles, which is the rib of clay left between two stones; the gap inside a cluster. Neighbours share grains up to a gap of about 0.3" example:"0.3"`
	SprueDeg         float64         `json:"sprue_deg" default:"0" minimum:"-360" maximum:"360" doc:"Where the sprue enters"`
	SprueWidthMM     float64         `json:"sprue_width_mm" default:"6" minimum:"0" maximum:"60" doc:"Width of the sprue along the piece"`
	VentsDeg         []float64       `json:"vents_deg,omitempty" minimum:"-360" maximum:"360" maxItems:"24" doc:"Where vents leave the piece" example:"[120,240]"`
	VentWidthMM      float64         `json:"vent_width_mm" default:"1.5" minimum:"0" maximum:"20" doc:"Width of a vent along the piece"`
	KeepOffMM        float64         `json:"keep_off_mm" default:"3" minimum:"0" maximum:"50" doc:"Least distance of a girdle from the edge of sprue and vents: the stream tears at stones near the gate, and vents are sawn off" example:"3"`
	Flask            string          `json:"flask" default:"standing" enum:"standing,lying" doc:"standing: the sprue is on top and the head grows downwards; lying: the same head everywhere"`
	HeadMM           float64         `json:"head_mm" default:"40" minimum:"2" maximum:"500" doc:"Head of metal at the sprue's entry to the piece" example:"40"`
	Alloy            string          `json:"alloy" default:"silver-925" doc:"Alloy, an id of /v1/alloys or a composition such as Ag 925 Cu 75"`
	MetalC           float64         `json:"metal_c" default:"1000" minimum:"300" maximum:"2000" doc:"Temperature of the metal when it meets the stones"`
	PullN            float64         `json:"pull_n" default:"5" minimum:"0" maximum:"1000" doc:"Pull that each stone must bear in wear" example:"5"`
	Grains           int             `json:"grains" default:"4" minimum:"0" maximum:"8" doc:"Grains to hold each stone"`
	ShareGrains      bool            `json:"share_grains" default:"true" doc:"Let neighbours share the grains between them where the gap allows"`
}

// LayoutStone is a run of like stones.
type LayoutStone struct {
	Cut      Cut      `json:"cut" default:"round_brilliant" enum:"round_brilliant,oval,square_cushion,cushion,pear,marquise,emerald_cut,rectangle,square,heart,triangle,cabochon" doc:"Form of the stone"`
	LengthMM float64  `json:"length_mm" minimum:"0.5" maximum:"60" doc:"Diameter, or measure along the band" example:"1.5"`
	WidthMM  *float64 `json:"width_mm,omitempty" minimum:"0.5" maximum:"60" doc:"Measure across the band; absent: from the cut's usual ratio"`
	DepthMM  *float64 `json:"depth_mm,omitempty" minimum:"0.1" maximum:"60" doc:"Total depth; absent: the cut's usual share"`
	Quantity int      `json:"quantity" default:"1" minimum:"1" maximum:"200" doc:"Number of like stones in a run" example:"12"`
}

// PlacedStone is one stone in its place.
type PlacedStone struct {
	Number      int           `json:"number" doc:"Number on the drawing, from 1" example:"1"`
	Row         int           `json:"row" doc:"1, or 2 for the other half of the mould"`
	AtDeg       float64       `json:"at_deg" doc:"Direction of its middle, 0 to 360" example:"15"`
	AlongMM     float64       `json:"along_mm" doc:"Way round the outer face from 0 degrees" example:"8.6"`
	AcrossMM    float64       `json:"across_mm" doc:"Distance of its middle from the parting line, negative in the second half" example:"1.2"`
	Cut         Cut           `json:"cut" enum:"round_brilliant,oval,square_cushion,cushion,pear,marquise,emerald_cut,rectangle,square,heart,triangle,cabochon" doc:"Form of the stone"`
	LengthMM    float64       `json:"length_mm" doc:"Measure along the band"`
	WidthMM     float64       `json:"width_mm" doc:"Measure across the band"`
	DepthMM     float64       `json:"depth_mm" doc:"Total depth"`
	GapMM       *float64      `json:"gap_mm" doc:"Gap to the next stone of its row; null for the last of an arc"`
	SprueMM     float64       `json:"sprue_mm" doc:"Distance of its girdle from the sprue's edge along the outer face; negative when under it"`
	VentMM      *float64      `json:"vent_mm" doc:"The same from the nearest vent; null without vents"`
	HeadMM      float64       `json:"head_mm" doc:"Head of metal there"`
	ThicknessMM float64       `json:"thickness_mm" doc:"Thickness of the piece there"`
	NeedsMM     float64       `json:"thickness_needed_mm" doc:"Thickness that carries it"`
	PressMM     float64       `json:"press_mm" doc:"How deep to press it"`
	GrainMM     float64       `json:"grain_mm" doc:"Diameter of its grains; 0 without"`
	GrainsFill  Fills         `json:"grains_fill" enum:"yes,likely,doubtful,no,no_grains" doc:"Whether its grains fill at this head"`
	Grains      []PlacedGrain `json:"grains" doc:"Its grains; a shared one stands with the first of the two stones"`
}

// seated is a stone as the layout works on it.
type seated struct {
	PlacedStone
	body   solid
	seat   Seat
	grains Grains
}

// PlacedGrain is a grain on the outer face.
type PlacedGrain struct {
	AlongMM    float64 `json:"along_mm" doc:"Way round the outer face from 0 degrees"`
	AcrossMM   float64 `json:"across_mm" doc:"Distance from the parting line"`
	DiameterMM float64 `json:"diameter_mm" doc:"Diameter of the ball tool"`
	SharedWith *int    `json:"shared_with" doc:"Number of the neighbour that it also holds; null when it holds one stone"`
}

// LayoutFault is something that does not work in the layout, or is doubtful.
type LayoutFault struct {
	Code    string        `json:"code" enum:"sprue,vent,thin,narrow,grain_parting,grains_touch,grain_on_neighbour,stones_touch,too_small,small,large,cut,points,no_seat,press,grain_size,grain_fill,grip" doc:"Stable name"`
	Verdict verdict.Level `json:"verdict" enum:"care,do_not_pour" doc:"do_not_pour: it does not work so; care: it is doubtful"`
	Stones  []int         `json:"stones" doc:"Numbers of the stones"`
	Text    string        `json:"text" doc:"In words"`
}

// LayoutOut is the stones in their places.
type LayoutOut struct {
	Fits            bool          `json:"fits" doc:"true when nothing that was found is do_not_pour"`
	Faults          []LayoutFault `json:"faults" doc:"What does not work or is doubtful, and for which stones"`
	Stones          []PlacedStone `json:"stones" doc:"The stones in order round the piece, row by row"`
	Count           int           `json:"count" doc:"Number of stones placed"`
	GrainCount      int           `json:"grain_count" doc:"Number of grains, shared ones once"`
	LeastGapMM      *float64      `json:"least_gap_mm" doc:"Least gap between girdles; null for one stone"`
	CircumferenceMM float64       `json:"outer_circumference_mm" doc:"Way round the outer face, by which the strip of the drawing is drawn"`
	FlowTakenMM2    float64       `json:"flow_section_taken_mm2" doc:"Most that stones side by side take from the channel"`
	FlowTakenDeg    float64       `json:"flow_section_taken_deg" doc:"Where that is"`
	FlowLeftPct     float64       `json:"flow_section_left_pct" doc:"Least share of the channel that is left anywhere"`
	DisplacedMM3    float64       `json:"displaced_mm3" doc:"Metal that all stones displace"`
	ThinnestDeg     float64       `json:"thinnest_deg" doc:"Where the piece is thinnest"`
	ThinnestMM      float64       `json:"thinnest_mm" doc:"Its thickness there"`
	calc.Notes
}

// partingMM is how far a grain or stone of one half keeps from the parting line.
const partingMM = 0.1

var (
	srcLayout  = calc.Source{For: "layout of stones", Text: "girdle planes tangent to the outer face: a stone of length L at radius R takes 2 atan(L/2R) of the round; radius taken at the thinnest place, so that gaps are never less than asked", Status: calc.Computed}
	srcParting = calc.Source{For: "parting line", Text: "no grain across it: opening the mould would tear the dent; 0.1 mm kept off, and 3 mm off sprue and vents, are our choice", Status: calc.Choice}
)

// ring is the piece as the layout sees it.
type ring struct {
	in     LayoutIn
	radius float64 // of the outer face at the thinnest place, mm
	face   float64 // mean radius of the outer face, mm: the strip's
	alloy  metal.Metal
}

// Lay places stones round a piece. The stones never overlap: too many are refused.
func Lay(ctx context.Context, in LayoutIn) (LayoutOut, error) {
	out := LayoutOut{Notes: calc.Noting(ctx), Faults: []LayoutFault{}, Stones: []PlacedStone{}}
	r, stones, err := in.check()
	if err != nil {
		return out, err
	}
	out.ThinnestMM, out.ThinnestDeg = in.Profile.Thinnest()
	out.ThinnestDeg *= 360
	out.CircumferenceMM = 2 * math.Pi * r.face
	rows := [][]seated{stones}
	if in.Rows == "both_halves" {
		rows = twoRows(stones)
	}
	stones = nil
	for i, row := range rows {
		placed, err := r.arrange(ctx, row)
		if err != nil {
			return out, err
		}
		for k := range placed {
			placed[k].Row = i + 1
		}
		stones = append(stones, placed...)
	}
	for i := range stones {
		stones[i].Number = i + 1
	}
	out.DisplacedMM3 = r.seatAll(ctx, stones)
	r.grainAll(stones)
	if err := ctx.Err(); err != nil {
		return out, err
	}
	r.judge(&out, stones)
	for _, s := range stones {
		out.Stones = append(out.Stones, s.PlacedStone)
		out.GrainCount += len(s.Grains)
	}
	out.explain(r)
	return out, nil
}

// check refuses what cannot be laid and spreads the runs into single stones.
func (in LayoutIn) check() (ring, []seated, error) {
	var c calc.Checks
	c.Under("profile", in.Profile.Check())
	c.Bounds(in)
	alloy, err := metal.Named(in.Alloy)
	c.Under("", err)
	var stones []seated
	for i, s := range in.Stones {
		rule, ok := ruleOf(s.Cut)
		if !ok || s.Cut == Bead {
			c.Refuse(fmt.Sprintf("stones[%d].cut", i), s.Cut, "give a cut with a girdle, such as round_brilliant")
			continue
		}
		width := or(s.WidthMM, s.LengthMM/rule.ratio)
		m, err := Proportions(s.Cut, s.LengthMM, width, or(s.DepthMM, rule.depth[0]/100*min(width, s.LengthMM)), 0, 0)
		if !c.Under(fmt.Sprintf("stones[%d]", i), err) {
			continue
		}
		for range max(s.Quantity, 1) {
			stones = append(stones, seated{PlacedStone: PlacedStone{Cut: s.Cut, LengthMM: s.LengthMM, WidthMM: width, DepthMM: m.DepthMM, Grains: []PlacedGrain{}}, body: solid{m, rule}})
		}
	}
	if n := len(stones); len(in.Stones) > 0 && n > 1000 {
		c.Refuse("stones", n, "give at most 1000 stones in all")
	}
	if err := c.Err(); err != nil {
		return ring{}, nil, err
	}
	if len(stones) == 0 {
		return ring{}, nil, calc.Refuse("stones", nil, "give at least one stone")
	}
	thin, _ := in.Profile.Thinnest()
	mean := in.Profile.Mean(func(s section.Section) float64 { return s.ThicknessMM })
	return ring{in, in.InsideDiameterMM/2 + thin, in.InsideDiameterMM/2 + mean, alloy}, stones, nil
}

// twoRows deals the stones to two rows in turn.
func twoRows(stones []seated) [][]seated {
	rows := make([][]seated, 2)
	for i, s := range stones {
		rows[i%2] = append(rows[i%2], s)
	}
	if len(rows[1]) == 0 {
		rows = rows[:1]
	}
	return rows
}

// graduate puts the largest in the middle and the rest by turns to its sides.
func graduate(stones []seated) []seated {
	sorted := slices.Clone(stones)
	slices.SortStableFunc(sorted, func(a, b seated) int { return cmp.Compare(b.LengthMM, a.LengthMM) })
	out := make([]seated, len(sorted))
	left, right := (len(sorted)-1)/2, (len(sorted)-1)/2+1
	for i, s := range sorted {
		if i%2 == 0 {
			out[left] = s
			left--
		} else {
			out[right] = s
			right++
		}
	}
	return out
}

// halfDeg is half of the arc in degrees that a length takes at the outer face.
func (r ring) halfDeg(lengthMM float64) float64 {
	return math.Atan(lengthMM/2/r.radius) * 180 / math.Pi
}

// gapDeg is the arc in degrees that keeps a gap of mm between girdles.
func (r ring) gapDeg(mm float64) float64 {
	return 2 * math.Asin(min(1, mm/2/r.radius)) * 180 / math.Pi
}

// arrange gives the stones of one row their directions.
func (r ring) arrange(ctx context.Context, stones []seated) ([]seated, error) {
	in := r.in
	stones = slices.Clone(stones)
	if in.Pattern == "graduated" {
		stones = graduate(stones)
	}
	n, whole := len(stones), in.ArcDeg == 360
	groups := n
	if in.Pattern == "clusters" {
		groups = min(in.Clusters, n)
	}
	inner := r.gapDeg(in.GapMM)
	need := float64(n-groups) * inner
	for _, s := range stones {
		need += 2 * r.halfDeg(s.LengthMM)
	}
	gaps := groups - 1
	if whole {
		gaps = groups
	}
	free := in.ArcDeg - need
	if free < float64(gaps)*inner-1e-9 {
		return nil, calc.Refuse("stones", n, "give fewer or smaller stones, a longer arc or a smaller gap: in a row they take %.1f of %.4g degrees at a gap of %g mm", need+float64(gaps)*inner, in.ArcDeg, in.GapMM)
	}
	between := free // what is left beside a single group
	if gaps > 0 {
		between = free / float64(gaps)
	}
	at := -in.ArcDeg / 2 // from the middle of the arc
	if whole {
		at += between / 2
	} else if gaps == 0 {
		at += free / 2
	}
	for i := range stones {
		half := r.halfDeg(stones[i].LengthMM)
		at += half
		stones[i].AtDeg = at
		at += half
		if i+1 < n && (i+1)*groups/n == i*groups/n {
			at += inner
		} else {
			at += between
		}
	}
	middle := r.turn(ctx, stones, whole)
	for i := range stones {
		stones[i].AtDeg = wrap(stones[i].AtDeg + middle)
	}
	return stones, ctx.Err()
}

// turn is the direction of the arc's middle.
func (r ring) turn(ctx context.Context, stones []seated, whole bool) float64 {
	if r.in.MiddleDeg != nil {
		return *r.in.MiddleDeg
	}
	opposite := r.in.SprueDeg + 180
	if !whole {
		return opposite
	}
	best, clear := opposite, math.Inf(-1)
	for half := range 720 {
		if ctx.Err() != nil {
			break
		}
		middle := opposite + float64(half)/2
		least := math.Inf(1)
		for _, s := range stones {
			at := s.AtDeg + middle
			least = min(least, r.clear(at, s.LengthMM, r.in.SprueDeg, r.in.SprueWidthMM))
			for _, v := range r.in.VentsDeg {
				least = min(least, r.clear(at, s.LengthMM, v, r.in.VentWidthMM))
			}
			if least <= clear {
				break
			}
		}
		if least > clear+1e-9 {
			best, clear = middle, least
		}
	}
	return best
}

// clear is the way in mm along the outer face from a stone's girdle to the
// edge of a sprue or vent; negative when they overlap.
func (r ring) clear(stoneDeg, lengthMM, atDeg, widthMM float64) float64 {
	d := math.Abs(wrap(stoneDeg-atDeg+180) - 180)
	return r.radius*d*math.Pi/180 - r.radius*math.Atan(lengthMM/2/r.radius) - widthMM/2
}

// wrap brings degrees into 0 to 360.
func wrap(deg float64) float64 {
	deg = math.Mod(deg, 360)
	if deg < 0 {
		deg += 360
	}
	if deg >= 360 { // a hair below 0 rounds up
		deg = 0
	}
	return deg
}

package sizing

import (
	"context"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/safety"
	"pourwright/internal/section"
)

// Pours.
const (
	StandingFlask = "vertical"   // poured on its edge, the sprue in the parting plane
	LyingFlask    = "horizontal" // poured through the upper half
)

// FlaskIn asks whether a pattern fits a two-part flask. It is flat. Length is
// the direction that stands upright in a vertical pour.
type FlaskIn struct {
	Pour          string        `json:"pour" enum:"vertical,horizontal" default:"vertical" doc:"Flask standing on its edge, sprue in the parting plane; or lying, poured through the upper half"`
	FlaskLengthMM float64       `json:"flask_length_mm" minimum:"20" maximum:"500" doc:"Inside length of the flask; of a round flask its inside diameter" example:"120"`
	FlaskWidthMM  *float64      `json:"flask_width_mm,omitempty" minimum:"20" maximum:"500" doc:"Inside width of a rectangular flask; leave it out for a round one" example:"95"`
	UpperDepthMM  float64       `json:"upper_depth_mm" minimum:"5" maximum:"200" doc:"Inside depth of the upper (front) frame" example:"25"`
	LowerDepthMM  float64       `json:"lower_depth_mm" minimum:"5" maximum:"200" doc:"Inside depth of the lower (back) frame" example:"25"`
	OutsideMM     float64       `json:"outside_mm" minimum:"5" maximum:"400" doc:"Outside of the pattern as it lies, along the flask's length; of a ring its outside diameter" example:"67"`
	OutsideAcross *float64      `json:"outside_across_mm,omitempty" minimum:"1" maximum:"400" doc:"Outside of the pattern across the flask; the same as outside_mm when left out"`
	Shape         section.Shape `json:"shape" enum:"round,oval,half_round,rectangular,d,knife_edge" default:"half_round" doc:"Form of the section"`
	ThicknessMM   float64       `json:"thickness_mm" minimum:"0.3" maximum:"30" doc:"Thickness of the section" example:"2.4"`
	WidthMM       float64       `json:"width_mm,omitempty" minimum:"0.5" maximum:"100" doc:"Width of the section, which stands across the parting plane; not needed for round" example:"6"`
	WaveMM        float64       `json:"wave_mm" minimum:"0" maximum:"40" default:"0" doc:"How far the middle of an undulating pattern rises from trough to crest, across the parting plane"`
	Repeats       int           `json:"repeats" minimum:"0" maximum:"200" default:"0" doc:"Waves around the pattern"`
	MarginMM      float64       `json:"margin_mm" minimum:"2" maximum:"60" default:"10" doc:"Least clay between cavity and frame or open face"`
	SprueMM       float64       `json:"sprue_diameter_mm" minimum:"1" maximum:"30" default:"6" doc:"Diameter of the sprue"`
	LeastSprueMM  float64       `json:"least_sprue_mm" minimum:"0" maximum:"200" default:"20" doc:"Least length of sprue and funnel above the pattern, which gives the head"`
	FunnelMM      float64       `json:"funnel_diameter_mm" minimum:"2" maximum:"80" default:"20" doc:"Mouth of the pouring funnel; it is reckoned as deep as it is wide, down to the sprue's diameter"`
	Vents         int           `json:"vents" minimum:"0" maximum:"24" default:"2" doc:"Number of vents"`
	VentMM        float64       `json:"vent_diameter_mm" minimum:"0.3" maximum:"6" default:"1.5" doc:"Diameter of each vent"`
	UndercutMM    float64       `json:"undercut_limit_mm" minimum:"0" maximum:"2" default:"0.2" doc:"Undercut that the clay lets go of without tearing"`
	ClayDensity   *float64      `json:"clay_density_g_cm3,omitempty" minimum:"0.8" maximum:"3" doc:"Density of your rammed clay, for its mass" example:"1.7"`
}

// FlaskOut is how a pattern lies in a flask.
type FlaskOut struct {
	Fits           bool         `json:"fits" doc:"Whether everything has its place with the clay margin"`
	Space          []FlaskSpace `json:"space" doc:"Each measure, what it has and what it needs"`
	SprueLengthMM  float64      `json:"sprue_length_mm" doc:"Sprue and funnel from the open edge to the pattern, when the pattern lies at the far margin"`
	HeadTopMM      float64      `json:"head_top_mm" doc:"Metal above the highest point of the cavity with the funnel full"`
	HeadLowestMM   float64      `json:"head_lowest_mm" doc:"Metal above the lowest point"`
	SprueSite      string       `json:"sprue_site" enum:"edge,inside_ring,beside_ring" doc:"Where the sprue goes"`
	SprueVolumeMM3 float64      `json:"sprue_volume_mm3" doc:"Metal in sprue and funnel"`
	VentVolumeMM3  float64      `json:"vent_volume_mm3" doc:"Metal in the vents if they fill"`
	ClayUpperMM3   float64      `json:"clay_upper_mm3" doc:"Clay rammed into the upper frame"`
	ClayLowerMM3   float64      `json:"clay_lower_mm3" doc:"Clay rammed into the lower frame"`
	ClayMM3        float64      `json:"clay_mm3" doc:"Clay in all"`
	ClayG          float64      `json:"clay_g,omitempty" doc:"Its mass, where the density was given"`
	Parting        PartingLine  `json:"parting" doc:"How the parting runs"`
	calc.Notes
}

// FlaskSpace is one measure of the flask.
type FlaskSpace struct {
	Measure string  `json:"measure" doc:"Which measure"`
	HasMM   float64 `json:"has_mm" doc:"What the flask has"`
	NeedsMM float64 `json:"needs_mm" doc:"What the layout needs"`
	SpareMM float64 `json:"spare_mm" doc:"The difference; negative where it does not fit"`
}

// PartingLine is the parting of an undulating pattern. The widest line of the
// section must lie in the parting, or the part beyond it is an undercut.
type PartingLine struct {
	Kind       string         `json:"kind" enum:"flat,follow_wave,loose_pieces" doc:"flat: one plane at mid-height; follow the wave: cut the clay of the first half up and down to the widest line; loose pieces: too steep for either"`
	UndercutMM float64        `json:"undercut_mm" doc:"Worst undercut with a flat plane"`
	SlopeDeg   float64        `json:"slope_deg" doc:"Steepest slope of a parting that follows the wave"`
	UpperMM    float64        `json:"upper_mm" doc:"How far the pattern reaches into the upper half from the mean plane"`
	LowerMM    float64        `json:"lower_mm" doc:"How far it reaches into the lower half"`
	Stations   []PartingPoint `json:"stations" doc:"The widest line over one repeat, from a crest; empty for a plain pattern"`
}

// PartingPoint is a place on the widest line.
type PartingPoint struct {
	AtDeg      float64 `json:"at_deg" doc:"Angle around the ring from a crest"`
	HeightMM   float64 `json:"height_mm" doc:"Widest line above the mean plane (below: negative): cut the first half's clay to it"`
	UndercutMM float64 `json:"undercut_mm" doc:"Undercut here if the parting were flat"`
}

var (
	srcMargin  = calc.Source{For: "clay margin, sprue length", Text: "10 mm of clay, 20 mm of sprue and funnel", Status: calc.Practice}
	srcParting = calc.Source{For: "undercut of a flat parting", Text: "thickness at the widest line less thickness where the plane cuts the section; slope: waves × rise/2 over the mean radius. Plane geometry of a sine wave", Status: calc.Computed}
	srcSlope   = calc.Source{For: "steepest parting", Text: "45°: steeper clay edges tear as the halves part", Status: calc.Choice}
)

const steepestDeg = 45.0

// LayOut finds how a pattern lies in a two-part flask.
// Model: plane geometry; the pattern is reckoned as an elliptical band lying in
// the parting plane. Error: the hand's, in ramming and cutting.
func LayOut(ctx context.Context, in FlaskIn) (FlaskOut, error) {
	if err := in.check(); err != nil {
		return FlaskOut{}, err
	}
	across := in.OutsideMM
	if in.OutsideAcross != nil {
		across = *in.OutsideAcross
	}
	out := FlaskOut{Fits: true, Space: []FlaskSpace{}, Notes: calc.Noting(ctx)}
	out.Parting = in.parting(across)
	in.rooms(&out, across)
	for _, r := range out.Space {
		out.Fits = out.Fits && r.SpareMM >= 0
	}
	in.clay(&out, across)
	out.Cite(srcMargin, srcParting)
	if out.Parting.Kind != "flat" {
		out.Cite(srcSlope)
	}
	out.Step("undercut of a flat parting", out.Parting.UndercutMM, "mm", "section %s %.3g mm thick, plane %.3g mm off its widest line", in.Shape, in.ThicknessMM, in.WaveMM/2)
	out.Step("sprue and funnel", out.SprueLengthMM, "mm", "what the flask leaves beyond pattern and margin")
	if !out.Fits {
		out.Warn("does_not_fit", calc.Care, "The layout does not fit this flask with %.3g mm of clay. Thin clay bursts or leaks: take a larger flask rather than less clay.", in.MarginMM)
	}
	if in.Vents == 0 {
		out.Warn("no_vents", calc.Care, "Without vents the gas leaves through the clay and the parting only; thin and far parts may stay unfilled.")
	}
	if out.HeadTopMM < 20 {
		out.Warn("low_head", calc.Care, "%.0f mm of metal over the top of the piece is little pressure for thin sections.", out.HeadTopMM)
	}
	out.Caution(safety.MoltenMetal, safety.DampMould, safety.OilSmoke)
	return out, nil
}

func (in *FlaskIn) check() error {
	var c calc.Checks
	c.Bounds(*in)
	c.Under("", section.Section{Shape: in.Shape, ThicknessMM: in.ThicknessMM, WidthMM: in.WidthMM}.Check())
	if in.FunnelMM < in.SprueMM {
		c.Refuse("funnel_diameter_mm", in.FunnelMM, "give at least sprue_diameter_mm (%g)", in.SprueMM)
	}
	if in.WaveMM > 0 && in.Repeats == 0 {
		c.Refuse("repeats", in.Repeats, "give the number of waves with wave_mm")
	}
	least := in.OutsideMM
	if in.OutsideAcross != nil {
		least = min(least, *in.OutsideAcross)
	}
	if least <= 2*in.ThicknessMM {
		c.Refuse("thickness_mm", in.ThicknessMM, "give less than half of the pattern's outside (%g mm)", least)
	}
	return c.Err()
}

// parting finds how the parting plane must run.
func (in *FlaskIn) parting(across float64) PartingLine {
	s := section.Section{Shape: in.Shape, ThicknessMM: in.ThicknessMM, WidthMM: in.WidthMM}
	half := s.Width() / 2
	p := PartingLine{Kind: "flat", UpperMM: half + in.WaveMM/2, LowerMM: half + in.WaveMM/2, Stations: []PartingPoint{}}
	p.UndercutMM = undercut(s, in.WaveMM/2)
	radius := (in.OutsideMM + across - 2*in.ThicknessMM) / 4
	p.SlopeDeg = 180 / math.Pi * math.Atan(float64(in.Repeats)*in.WaveMM/2/radius)
	if p.UndercutMM > in.UndercutMM {
		p.Kind = "follow_wave"
		if p.SlopeDeg > steepestDeg {
			p.Kind = "loose_pieces"
		}
	}
	if in.WaveMM > 0 {
		eighth := []float64{1, math.Sqrt2 / 2, 0, -math.Sqrt2 / 2, -1, -math.Sqrt2 / 2, 0, math.Sqrt2 / 2, 1} // cosines
		for i, cos := range eighth {
			z := in.WaveMM / 2 * cos
			p.Stations = append(p.Stations, PartingPoint{360 / float64(in.Repeats) * float64(i) / 8, z, undercut(s, math.Abs(z))})
		}
	}
	return p
}

// undercut is how far the widest line of a section overhangs a plane that cuts
// it off mm from there; beyond its edge the whole overhang counts.
func undercut(s section.Section, off float64) float64 {
	t := s.ThicknessMM
	u := min(off/(s.Width()/2), 1)
	dome := 1 - math.Sqrt(1-u*u)
	switch s.Shape {
	case section.Round, section.Oval, section.D:
		return t / 2 * dome // round and oval: on either face
	case section.HalfRound:
		return t * dome
	case section.KnifeEdge:
		return t * u
	}
	return 0
}

// rooms compares what the flask has with what the layout needs.
func (in *FlaskIn) rooms(out *FlaskOut, across float64) {
	add := func(measure string, has, needs float64) {
		out.Space = append(out.Space, FlaskSpace{measure, has, needs, has - needs})
	}
	m := in.MarginMM
	p := out.Parting
	round := in.FlaskWidthMM == nil
	width := in.FlaskLengthMM
	if !round {
		width = *in.FlaskWidthMM
	}
	vents := 2 * (m/2 + in.VentMM) // one to either side of the funnel, half the margin from it
	if in.Vents == 0 {
		vents = 0
	}
	add("depth of the upper frame", in.UpperDepthMM, p.UpperMM+m)
	add("depth of the lower frame", in.LowerDepthMM, p.LowerMM+m)
	inside := min(in.OutsideMM, across) - 2*in.ThicknessMM
	switch in.Pour {
	case StandingFlask:
		out.SprueSite = "edge"
		out.SprueLengthMM = max(0, in.FlaskLengthMM-m-in.OutsideMM)
		out.HeadTopMM, out.HeadLowestMM = out.SprueLengthMM, out.SprueLengthMM+in.OutsideMM
		add("length: margin, pattern, sprue", in.FlaskLengthMM, m+in.OutsideMM+in.LeastSprueMM)
		if round {
			// Set at the bottom, a pattern wider than it is high comes nearest to the wall at its flanks.
			add("diameter: pattern and margins", in.FlaskLengthMM, max(in.OutsideMM, across)+2*m)
			break
		}
		add("width: pattern and margins", width, across+2*m)
		add("width at the edge: funnel, vents and margins", width, in.FunnelMM+vents+2*m)
	default:
		out.SprueLengthMM = max(0, in.UpperDepthMM-p.UpperMM)
		out.HeadTopMM = out.SprueLengthMM
		out.HeadLowestMM = in.UpperDepthMM + p.LowerMM
		out.SprueSite = "inside_ring"
		length := in.OutsideMM + 2*m
		if inside < in.FunnelMM+2*m {
			out.SprueSite = "beside_ring"
			length += in.FunnelMM + m
		}
		add("length: pattern, margins, sprue where it stands beside", in.FlaskLengthMM, length)
		if round {
			add("diameter: pattern and margins", in.FlaskLengthMM, max(in.OutsideMM, across)+2*m)
		} else {
			add("width: pattern and margins", width, across+2*m)
		}
		add("upper frame: head over the pattern", in.UpperDepthMM, p.UpperMM+in.LeastSprueMM)
	}
}

// clay finds the volumes of metal in sprue and vents, and of clay.
func (in *FlaskIn) clay(out *FlaskOut, across float64) {
	area := math.Pi / 4 * in.FlaskLengthMM * in.FlaskLengthMM
	if in.FlaskWidthMM != nil {
		area = in.FlaskLengthMM * *in.FlaskWidthMM
	}
	s := section.Section{Shape: in.Shape, ThicknessMM: in.ThicknessMM, WidthMM: in.WidthMM}
	inside := section.EllipsePerimeter(in.OutsideMM/2, across/2) - 2*math.Pi*in.ThicknessMM
	pattern := s.Area() * (inside + 2*math.Pi*s.Centroid())
	funnel := min(in.FunnelMM, out.SprueLengthMM)
	r, q := in.FunnelMM/2, in.SprueMM/2
	out.SprueVolumeMM3 = math.Pi/3*funnel*(r*r+r*q+q*q) + math.Pi*q*q*(out.SprueLengthMM-funnel)
	vent := out.SprueLengthMM + in.OutsideMM/2 // from mid-height of the piece, where the metal rises last on average
	if in.Pour == LyingFlask {
		vent = out.SprueLengthMM
	}
	out.VentVolumeMM3 = float64(in.Vents) * math.Pi / 4 * in.VentMM * in.VentMM * vent
	channels := out.SprueVolumeMM3 + out.VentVolumeMM3
	lower := channels / 2 // a standing flask has them in the parting plane, half in each frame
	if in.Pour == LyingFlask {
		lower = 0
	}
	out.ClayUpperMM3 = max(0, area*in.UpperDepthMM-pattern/2-(channels-lower))
	out.ClayLowerMM3 = max(0, area*in.LowerDepthMM-pattern/2-lower)
	out.ClayMM3 = out.ClayUpperMM3 + out.ClayLowerMM3
	out.Step("clay", out.ClayMM3, "mm³", "flask %.5g mm² × (%.4g + %.4g) mm - pattern %.5g mm³ - sprue and vents %.4g mm³", area, in.UpperDepthMM, in.LowerDepthMM, pattern, channels)
	if in.ClayDensity != nil {
		out.ClayG = out.ClayMM3 / 1000 * *in.ClayDensity
	}
}

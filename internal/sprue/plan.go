package sprue

import (
	"context"
	"fmt"
	"math"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/fluid"
	"pourwright/internal/melt"
	"pourwright/internal/metal"
	"pourwright/internal/safety"
	"pourwright/internal/shape"
	"pourwright/internal/verdict"
)

// In asks how pieces lie in one flask on one sprue system.
type In struct {
	Pieces  []PieceIn `json:"pieces" minItems:"1" maxItems:"24" doc:"In the size of the mould, as they are set: from the funnel downwards, or from left to right"`
	Posture string    `json:"posture" enum:"standing,lying" default:"standing" doc:"standing: the parting plane stands upright; lying: it is level and the sprue stands upright on it"`
	System  string    `json:"system,omitempty" enum:"direct,tree,runner" doc:"direct: one piece under the sprue; tree: on both sides of it, as bands by rule; runner: side by side on a level runner, as straight pieces by rule"`
	Alloy   string    `json:"alloy" maxLength:"60" default:"silver-925" doc:"What is cast"`

	SprueLengthMM    float64  `json:"sprue_length_mm" minimum:"2" maximum:"200" default:"20" doc:"From the floor of the funnel to the first piece or to the runner"`
	SprueDiameterMM  *float64 `json:"sprue_diameter_mm,omitempty" minimum:"1" maximum:"30" doc:"Diameter of the sprue; as the feeding needs if absent: 4 to 6 mm, as thick as the thickest place and of no less modulus, more for several pieces, at most 8 mm"`
	RunnerDiameterMM *float64 `json:"runner_diameter_mm,omitempty" minimum:"1" maximum:"30" doc:"Diameter of runners; as the sprue if absent"`
	GateDiameterMM   *float64 `json:"gate_diameter_mm,omitempty" minimum:"0.8" maximum:"30" doc:"Diameter of the gates; as wide as the narrowest section that they enter, at most as the sprue, if absent"`
	GateLengthMM     float64  `json:"gate_length_mm" minimum:"1" maximum:"40" default:"4" doc:"Length of a gate from sprue or runner to the piece"`
	FunnelDiameterMM *float64 `json:"funnel_diameter_mm,omitempty" minimum:"2" maximum:"80" doc:"Mean diameter of the metal in the funnel; such that the button is the usual one if absent"`
	FunnelHeadMM     float64  `json:"funnel_head_mm" minimum:"1" maximum:"80" default:"12" doc:"Depth of metal kept in the funnel"`
	BetweenMM        float64  `json:"between_mm" minimum:"2" maximum:"60" default:"8" doc:"Clay between pieces"`
	WallMM           float64  `json:"wall_mm" minimum:"2" maximum:"60" default:"15" doc:"Clay between pieces and the wall of the flask"`
	FlaskWidthMM     *float64 `json:"flask_width_mm,omitempty" minimum:"20" maximum:"400" doc:"Inside width of the flask at hand"`
	FlaskHeightMM    *float64 `json:"flask_height_mm,omitempty" minimum:"20" maximum:"400" doc:"Inside height of a standing flask, or length of a lying one"`
}

// PieceIn is a piece, or several alike.
type PieceIn struct {
	Name  string `json:"name" minLength:"1" maxLength:"60" doc:"What you call it" example:"band"`
	Count int    `json:"count" minimum:"1" maximum:"24" default:"1" doc:"How many alike"`
	shape.Shape
}

// Out is a flask laid out.
type Out struct {
	Verdict     verdict.Level   `json:"verdict" enum:"go,care,cannot_tell,not_yet,do_not_pour" doc:"Whether the layout can be moulded and poured"`
	Reasons     verdict.Reasons `json:"reasons" doc:"Why it is not a plain go, worst first"`
	System      string          `json:"system" enum:"direct,tree,runner" doc:"The sprue system"`
	Places      []Place         `json:"pieces" doc:"Where each piece lies, in the order in which the metal comes to them"`
	SprueMM     float64         `json:"sprue_diameter_mm" doc:"Diameter of the sprue"`
	RunnerMM    float64         `json:"runner_diameter_mm" doc:"Diameter of the runners"`
	RunnerLong  float64         `json:"runner_length_mm" doc:"Length of all runners"`
	GateMM      float64         `json:"gate_diameter_mm" doc:"Diameter of the gates"`
	WidthMM     float64         `json:"flask_width_needed_mm" doc:"Least inside width of the flask"`
	HeightMM    float64         `json:"flask_height_needed_mm" doc:"Least inside height of a standing flask, or length of a lying one"`
	FunnelMM    float64         `json:"funnel_diameter_mm" doc:"Mean diameter of the metal in the funnel"`
	PiecesG     float64         `json:"pieces_g" doc:"Metal of the pieces"`
	SystemG     float64         `json:"sprue_system_g" doc:"Metal of sprue, runners and gates"`
	FunnelG     float64         `json:"button_g" doc:"Metal in the funnel"`
	PouredG     float64         `json:"poured_g" doc:"All of it"`
	PartingMM2  float64         `json:"parting_area_mm2" doc:"Area of metal in the parting plane"`
	PressureKPa float64         `json:"pressure_kpa" doc:"Greatest pressure of the full mould"`
	OpeningN    float64         `json:"opening_force_n" doc:"Force that drives the halves apart when the funnel is full"`
	HoldKg      float64         `json:"hold_kg" doc:"Weight or clamping that holds it, with a factor of 3"`
	calc.Notes
}

// Place is a piece in the flask.
type Place struct {
	Name     string  `json:"name" doc:"As given, numbered where there are several"`
	GateXMM  float64 `json:"gate_x_mm" doc:"Its gate, to the right of the funnel's middle"`
	GateYMM  float64 `json:"gate_y_mm" doc:"Its gate, over the floor of the funnel, or over the foot of the sprue in a lying flask; below is negative"`
	WayMM    float64 `json:"way_mm" doc:"From the funnel to its gate"`
	HeadMM   float64 `json:"head_mm" doc:"Metal over its lowest place when the funnel is full"`
	ClayMM   float64 `json:"clay_mm" doc:"Least clay to the next piece; 0 for a piece alone"`
	CastG    float64 `json:"cast_g" doc:"Metal of the piece"`
	FeedsPct float64 `json:"gate_modulus_pct" doc:"Modulus of its gate in percent of its own greatest: over 100 the gate freezes after it and feeds it"`
}

var (
	srcLayout  = calc.Source{For: "clay between pieces, sprue system", Text: "8 mm of clay between pieces, 15 mm to the wall; sprue as thick as the thickest place, 4 to 8 mm, no gate wider than the section it enters", Status: calc.Practice}
	srcFreezes = calc.Source{For: "gate that feeds", Text: "freezing time goes with the square of volume over surface, so that a gate of greater modulus freezes last; N. Chvorinov, Giesserei 27 (1940) 177", Status: calc.FromMemory}
)

const (
	leastClay = 5.0 // mm between two pieces: less washes away
	goodClay  = 8.0
	holdBy    = 3 // the blow of the pour and an uneven clamp
)

// Plan lays pieces out in one flask.
// Model: plane geometry; hydrostatics of the full mould. Error: the hand's.
func Plan(ctx context.Context, in In) (Out, error) {
	p, err := read(ctx, in)
	if err != nil {
		return Out{}, err
	}
	out, _, err := p.plan(ctx)
	return out, err
}

// Cast is a piece that is ready to be laid out.
type Cast struct {
	Name     string
	Body     *shape.Body // in the size of the mould
	MetalMM3 float64     // that it takes, stones and contraction taken off
}

// Of lays pieces out by the rules of in, whose own pieces and alloy are left aside:
// the layout in words, and where everything lies. Errors are refusals.
func Of(ctx context.Context, in In, pieces []Cast, m metal.Metal) (Out, Layout, error) {
	p := &planner{in: in, alloy: m}
	for _, c := range pieces {
		p.add(c)
	}
	p.system = p.rule()
	return p.plan(ctx)
}

func (p *planner) plan(ctx context.Context) (Out, Layout, error) {
	out := Out{Notes: calc.Noting(ctx), Reasons: verdict.Reasons{}, Places: []Place{}, System: p.system.Kind}
	out.SprueMM, out.RunnerMM, out.GateMM, out.FunnelMM = p.system.Sprue.Diameter, p.system.Runner, p.system.Gate.Diameter, p.system.Funnel.Diameter
	l := Lay(p.system, p.bodies)
	if err := p.fits(&l); err != nil {
		return Out{}, l, err
	}
	out.room(&p.in, &l)
	out.metal(p, &l)
	out.force(p, &l)
	out.places(p, &l)
	out.Verdict, out.Reasons = out.Reasons.Level(), out.Reasons.Sorted()
	out.Cite(srcLayout, srcFreezes, fluid.SourceGravity)
	out.Caution(safety.MoltenMetal, safety.DampMould)
	return out, l, nil
}

// planner is an input made ready.
type planner struct {
	in     In
	system System
	names  []string
	bodies []*shape.Body
	alloy  metal.Metal
	widths []float64 // of each piece at its gate
	metal  []float64 // that each piece takes, mm³
}

func (p *planner) add(c Cast) {
	p.names, p.bodies = append(p.names, c.Name), append(p.bodies, c.Body)
	p.widths, p.metal = append(p.widths, gateWidth(c.Body)), append(p.metal, c.MetalMM3)
}

func read(ctx context.Context, in In) (*planner, error) {
	var c calc.Checks
	p := &planner{in: in}
	m, err := metal.Named(in.Alloy)
	c.Under("", err)
	p.alloy = m
	for i, piece := range in.Pieces {
		b, err := piece.Resolve(ctx)
		if !c.Under(fmt.Sprintf("pieces[%d]", i), err) {
			continue
		}
		for k := range max(piece.Count, 1) {
			name := piece.Name
			if piece.Count > 1 {
				name = fmt.Sprintf("%s %d", piece.Name, k+1)
			}
			p.add(Cast{name, b, b.VolumeMM3()})
		}
	}
	if err := c.Err(); err != nil {
		return nil, err
	}
	if len(p.bodies) > 24 {
		return nil, calc.Refuse("pieces", len(p.bodies), "give at most 24 pieces in one flask")
	}
	p.system = p.rule()
	narrow := slices.Min(p.widths)
	if g := in.GateDiameterMM; g != nil && *g > narrow {
		c.Refuse("gate_diameter_mm", *g, "give at most %.3g mm, the width of the narrowest section that a gate enters; a wider one cannot be sawn off clean. Flatten it, or feed the piece at a wider place", narrow)
	}
	if g := in.GateDiameterMM; g != nil && *g > p.system.Sprue.Diameter {
		c.Refuse("gate_diameter_mm", *g, "give at most the diameter of the sprue, %.3g mm", p.system.Sprue.Diameter)
	}
	if in.System == Direct && len(p.bodies) > 1 {
		c.Refuse("system", in.System, "give tree or runner for more than one piece")
	}
	return p, c.Err()
}

// gateWidth is the width of the section that a gate enters: of a piece that
// runs out in a curve, 2 mm in from its end.
func gateWidth(b *shape.Body) float64 {
	at := GatePct(b)
	if !b.Kind.Curved() {
		at = 100 * min(2/b.LengthMM(), 0.2)
	}
	return b.Station(at).WidthMM
}

// Usual is the sprue system for so many pieces, of which so many are bands.
func Usual(pieces, bands int) string {
	switch {
	case pieces == 1:
		return Direct
	case 2*bands >= pieces:
		return Tree
	}
	return Runner
}

// rule settles the sprue system.
func (p *planner) rule() System {
	in := &p.in
	thickest, bands := 0.0, 0
	largest, all := 0.0, 0.0 // mm³
	for i, b := range p.bodies {
		thickest = max(thickest, b.FeederMM())
		largest, all = max(largest, p.metal[i]), all+p.metal[i]
		if b.Kind.Curved() {
			bands++
		}
	}
	s := System{Kind: in.System, Lying: in.Posture == "lying", Between: in.BetweenMM,
		Sprue:  Bore{forAll(melt.Usual(p.alloy, largest, thickest, 1).SprueDiameterMM, len(p.bodies)), in.SprueLengthMM},
		Funnel: Bore{0, in.FunnelHeadMM}}
	if s.Kind == "" {
		s.Kind = Usual(len(p.bodies), bands)
	}
	if in.SprueDiameterMM != nil {
		s.Sprue.Diameter = *in.SprueDiameterMM
	}
	s.Runner = s.Sprue.Diameter
	if in.RunnerDiameterMM != nil {
		s.Runner = *in.RunnerDiameterMM
	}
	if in.FunnelDiameterMM != nil {
		s.Funnel.Diameter = *in.FunnelDiameterMM
	} else {
		s.Funnel.Diameter = math.Sqrt(melt.Usual(p.alloy, all, thickest, 1).ButtonMM3() / (math.Pi / 4 * in.FunnelHeadMM))
	}
	s.Gate = Bore{min(s.Sprue.Diameter, slices.Min(p.widths)), in.GateLengthMM}
	if in.GateDiameterMM != nil {
		s.Gate.Diameter = *in.GateDiameterMM
	}
	return s
}

// forAll is the sprue for several pieces of which each by itself asks for one of
// that diameter. One carries a pair, as the trade pours it (common practice, no
// source); for more its area grows with the root of their number, in half
// millimetres up to 8: four rings of 2 mm lose 1 in 2 on a lying runner of 4 mm
// and 1 in 6 on one of 5.5, by the fill's own answer. Our choice.
func forAll(diameter float64, pieces int) float64 {
	const most = 8.0
	return max(diameter, min(most, math.Round(2*diameter*math.Pow(max(1, float64(pieces)/2), 0.25))/2))
}

// fits refuses a piece that stands higher than the metal in the funnel.
func (p *planner) fits(l *Layout) error {
	if l.System.Lying {
		for i, b := range p.bodies {
			if high := b.Extent().Z / 2; b.Kind.Curved() && high+2 > p.in.SprueLengthMM+p.in.FunnelHeadMM {
				return calc.Refuse("sprue_length_mm", p.in.SprueLengthMM, "give %.0f mm or more: %s stands %.1f mm over the parting, and the metal in the funnel must stand over it", math.Ceil(high+2-p.in.FunnelHeadMM), p.names[i], high)
			}
		}
		return nil
	}
	for _, placed := range l.Placed {
		if placed.High.Y > p.in.FunnelHeadMM-2 {
			return calc.Refuse("sprue_length_mm", p.in.SprueLengthMM, "give %.0f mm or more: the top of %s would stand %.0f mm over the floor of the funnel, over the brim", math.Ceil(p.in.SprueLengthMM+placed.High.Y-p.in.FunnelHeadMM+2), p.names[placed.Piece], placed.High.Y)
		}
	}
	return nil
}

func (out *Out) metal(p *planner, l *Layout) {
	rho := p.alloy.DensityGCm3() / 1000
	for _, v := range p.metal {
		out.PiecesG += v * rho
	}
	for _, r := range l.Runs {
		out.SystemG += Bore{r.Diameter, r.LengthMM()}.VolumeMM3() * rho
		if r.What == "runner" {
			out.RunnerLong += r.LengthMM()
		}
	}
	if l.System.Lying {
		out.SystemG += l.System.Sprue.VolumeMM3() * rho
	}
	out.FunnelG = l.System.Funnel.VolumeMM3() * rho
	out.PouredG = out.PiecesG + out.SystemG + out.FunnelG
	out.Step("metal poured", out.PouredG, "g", "%.4g g pieces + %.4g g sprue, runners and gates + %.4g g funnel", out.PiecesG, out.SystemG, out.FunnelG)
}

func list(names []string) string {
	if len(names) > 3 {
		return fmt.Sprintf("%s and %d others", names[0], len(names)-1)
	}
	text := names[0]
	for _, n := range names[1:] {
		text += ", " + n
	}
	return text
}

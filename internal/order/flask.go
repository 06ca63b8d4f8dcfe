package order

import (
	"context"
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/melt"
	"pourwright/internal/metal"
	"pourwright/internal/sprue"
	"pourwright/internal/verdict"
)

// Flask is how the pieces of a shared pour lie, as sprue-layouts answers it.
type Flask struct {
	System      string        `json:"system" enum:"direct,tree,runner" doc:"tree: in pairs on both sides of the sprue; runner: side by side on a level runner"`
	SprueMM     float64       `json:"sprue_diameter_mm" doc:"Diameter of the sprue"`
	SprueLongMM float64       `json:"sprue_length_mm" doc:"From the floor of the funnel to the first piece or to the runner"`
	RunnerMM    float64       `json:"runner_diameter_mm" doc:"Diameter of the runners"`
	RunnerLong  float64       `json:"runner_length_mm" doc:"Length of all runners"`
	GateMM      float64       `json:"gate_diameter_mm" doc:"Diameter of the gates"`
	FunnelMM    float64       `json:"funnel_diameter_mm" doc:"Mean diameter of the metal in the funnel"`
	HeadMM      float64       `json:"funnel_head_mm" doc:"Depth of metal in the funnel"`
	WidthMM     float64       `json:"flask_width_needed_mm" doc:"Least inside width of the flask"`
	HeightMM    float64       `json:"flask_height_needed_mm" doc:"Least inside height of a standing flask, or length of a lying one"`
	PressureKPa float64       `json:"-"`
	HoldKg      float64       `json:"hold_kg" doc:"Weight or clamping that holds it, with a factor of 3"`
	Places      []sprue.Place `json:"pieces" doc:"Where each piece lies, in the order in which the metal comes to them"`

	rules  sprue.In
	layout sprue.Layout
	casts  []sprue.Cast

	systemG    float64 // metal of sprue, runners and gates
	partingMM2 float64 // metal in the parting plane
	openingN   float64 // drives the halves apart
	alloy      metal.Metal
	reasons    verdict.Reasons
}

// Holds says whether a piece of that name lies in the flask.
func (f *Flask) Holds(name string) bool {
	return slices.ContainsFunc(f.Places, func(p sprue.Place) bool { return p.Name == name })
}

// Last is the piece that the order names last.
func (f *Flask) Last() string {
	if len(f.casts) == 0 {
		return f.Places[len(f.Places)-1].Name
	}
	return f.casts[len(f.casts)-1].Name
}

// room says whether the flask at hand, or else one of the usual size, holds the
// layout with its clay.
func (f *Flask) room() bool {
	fits := func(needs float64, has *float64) bool {
		if has != nil {
			return needs <= *has
		}
		return needs <= usualFlaskMM
	}
	return fits(f.WidthMM, f.rules.FlaskWidthMM) && fits(f.HeightMM, f.rules.FlaskHeightMM)
}

const usualFlaskMM = 130.0 // inside a flask whose measures are not given, either way

var srcShared = calc.Source{For: "which pieces share a flask", Text: "one alloy and one posture, laid out as sprue-layouts does, within crucible and flask; where no flask is given, 130 mm either way", Status: calc.Choice}

// shared is the pour of pieces that hang on one sprue under one funnel: its flask
// laid out, and the melt of what the layout takes. Errors are refusals.
func (in *Order) shared(ctx context.Context, pieces []*Worked, group []int) (Pour, error) {
	p := Pour{Pieces: group}
	var err error
	if p.Flask, err = in.laid(ctx, pieces, group); err != nil {
		return p, calc.Under("mould", err)
	}
	for _, r := range p.Flask.reasons {
		if r.Part == verdict.Flask { // whether gates feed, the pour that is followed says
			p.Reasons = append(p.Reasons, r)
		}
	}
	p.Melt, err = sharedMelt(ctx, pieces, group, p.Flask)
	return p, err
}

// laid lays the pieces of a shared pour out. Sprue, funnel and clay are those of the
// mould of the piece that asks for most, where one asks.
func (in *Order) laid(ctx context.Context, pieces []*Worked, group []int) (*Flask, error) {
	rules := calc.Default[sprue.In]()
	mould := &pieces[group[0]].Piece.Mould
	rules.Posture, rules.SprueLengthMM, rules.FunnelHeadMM = mould.Posture, mould.SprueLengthMM, mould.FunnelHeadMM
	var casts []sprue.Cast
	for _, i := range group {
		w, asked := pieces[i], &in.Pieces[i].Mould
		casts = append(casts, sprue.Cast{Name: w.Plan.Name, Body: w.Cavity.Body, MetalMM3: w.melt.VolumeMM3 - w.melt.StonesVolumeMM3})
		rules.SprueLengthMM, rules.FunnelHeadMM = max(rules.SprueLengthMM, asked.SprueLengthMM), max(rules.FunnelHeadMM, asked.FunnelHeadMM)
		rules.SprueDiameterMM, rules.FunnelDiameterMM = most(rules.SprueDiameterMM, asked.SprueDiameterMM), most(rules.FunnelDiameterMM, asked.FunnelDiameterMM)
		rules.FlaskWidthMM, rules.FlaskHeightMM = least(rules.FlaskWidthMM, asked.FlaskWidthMM), least(rules.FlaskHeightMM, asked.FlaskHeightMM)
	}
	return lay(ctx, rules, casts, pieces[group[0]].alloy)
}

func lay(ctx context.Context, rules sprue.In, casts []sprue.Cast, alloy metal.Metal) (*Flask, error) {
	out, layout, err := sprue.Of(calc.Silent(ctx), rules, casts, alloy)
	if err != nil {
		return nil, err
	}
	return &Flask{System: out.System, SprueMM: out.SprueMM, SprueLongMM: rules.SprueLengthMM, HeadMM: rules.FunnelHeadMM, RunnerMM: out.RunnerMM, RunnerLong: out.RunnerLong, GateMM: out.GateMM, FunnelMM: out.FunnelMM,
		WidthMM: out.WidthMM, HeightMM: out.HeightMM, PressureKPa: out.PressureKPa, HoldKg: out.HoldKg, Places: out.Places,
		rules: rules, layout: layout, casts: casts, systemG: out.SystemG, partingMM2: out.PartingMM2, openingN: out.OpeningN, alloy: alloy, reasons: out.Reasons}, nil
}

// most is the greater of a measure so far and one that was given, 0 if it was not.
func most(so *float64, given float64) *float64 {
	if given == 0 || so != nil && *so >= given {
		return so
	}
	return &given
}

// least is the lesser of a measure so far and one that was given, 0 if it was not.
func least(so *float64, given float64) *float64 {
	if given == 0 || so != nil && *so <= given {
		return so
	}
	return &given
}

// sharedMelt is the melt of pieces that hang on one sprue under one funnel.
func sharedMelt(ctx context.Context, pieces []*Worked, group []int, f *Flask) (melt.Out, error) {
	m := pieces[group[0]].melt
	m.VolumeMM3, m.StonesVolumeMM3 = 0, 0
	var names []string
	for _, i := range group {
		m.VolumeMM3 += pieces[i].melt.VolumeMM3 / float64(len(group))
		m.StonesVolumeMM3 += pieces[i].melt.StonesVolumeMM3 / float64(len(group))
		names = append(names, pieces[i].Plan.Name)
	}
	m.Castings = len(group)
	if m.Vents != nil {
		each := *m.Vents
		all := each * len(group)
		m.Vents = &all
	}
	m.SprueG, m.Sprues, m.SprueDiameterMM, m.SprueLengthMM = &f.systemG, 1, 0, 0
	m.FunnelDiameterMM, m.FunnelHeadMM = f.FunnelMM, f.HeadMM
	out, err := melt.PlanFor(ctx, m, pieces[group[0]].alloy)
	if err != nil {
		return out, err
	}
	out.Step("metal of the shared pour", out.MeltMassG, "g", "%s on one sprue under one funnel", strings.Join(names, ", "))
	out.Cite(srcShared)
	return out, nil
}

// Drawing is what the flask is drawn from; false where it was read and not laid out.
func (f *Flask) Drawing() (sprue.Drawing, bool) {
	d := sprue.Drawing{Layout: f.layout, Width: f.WidthMM, Height: f.HeightMM, Wall: f.rules.WallMM}
	if f.rules.FlaskWidthMM != nil {
		d.Width = max(d.Width, *f.rules.FlaskWidthMM)
	}
	if f.rules.FlaskHeightMM != nil {
		d.Height = max(d.Height, *f.rules.FlaskHeightMM)
	}
	for _, c := range f.casts {
		d.Bodies, d.Names = append(d.Bodies, c.Body), append(d.Names, c.Name)
	}
	return d, len(f.casts) > 0
}

// Alone is the flask of a piece that is poured alone, laid out by the rules of its
// mould, sprue and funnel settled. Errors are refusals.
func (in *Order) Alone(ctx context.Context, piece Piece, cavity Cavity) (*Flask, error) {
	alloy, err := in.alloy()
	if err != nil {
		return nil, err
	}
	rules := calc.Default[sprue.In]()
	m := piece.Mould
	rules.Posture, rules.SprueLengthMM, rules.FunnelHeadMM = m.Posture, m.SprueLengthMM, m.FunnelHeadMM
	rules.SprueDiameterMM, rules.FunnelDiameterMM = most(nil, m.SprueDiameterMM), most(nil, m.FunnelDiameterMM)
	rules.FlaskWidthMM, rules.FlaskHeightMM = least(nil, m.FlaskWidthMM), least(nil, m.FlaskHeightMM)
	return lay(ctx, rules, []sprue.Cast{{Name: piece.Name, Body: cavity.Body, MetalMM3: cavity.VolumeMM3()}}, alloy)
}

// Package hold works out what keeps a two-part flask shut: the force of the
// metal on the halves, the clips or weights against it, the gap that spills,
// and where the metal goes if it does.
package hold

import (
	"context"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/fluid"
	"pourwright/internal/metal"
	"pourwright/internal/safety"
)

// In is a flask full of metal. It is flat.
type In struct {
	Posture      string   `json:"posture" enum:"standing,lying" default:"standing" doc:"standing: the parting plane is upright; lying: it is level and the weight of the upper half helps"`
	OpeningN     *float64 `json:"opening_force_n,omitempty" minimum:"0" maximum:"100000" doc:"Force that drives the halves apart, as fills gives it; or give parting_area_mm2 and mean_head_mm" example:"4.2"`
	PartingMM2   *float64 `json:"parting_area_mm2,omitempty" minimum:"1" maximum:"400000" doc:"Area of metal in the parting plane, sprue and funnel with it" example:"500"`
	MeanHeadMM   *float64 `json:"mean_head_mm,omitempty" minimum:"1" maximum:"600" doc:"Mean depth of that area below the brim of the funnel" example:"50"`
	DeepestMM    float64  `json:"deepest_mm" minimum:"1" maximum:"600" doc:"Depth of the lowest metal at the parting below the brim: the gap spills there first" example:"90"`
	Alloy        string   `json:"alloy" maxLength:"200" default:"silver-925" doc:"The metal, an id of /v1/alloys or a composition such as Ag 925 Cu 75"`
	DensityKgM3  *float64 `json:"density_kg_m3,omitempty" minimum:"1000" maximum:"25000" doc:"Your own density of the liquid"`
	TensionNM    *float64 `json:"surface_tension_n_m,omitempty" minimum:"0.05" maximum:"3" doc:"Your own surface tension"`
	ContactDeg   float64  `json:"contact_deg" minimum:"91" maximum:"180" default:"140" doc:"Contact angle of metal on clay: 120 to 180 is reported on oxide moulds"`
	SafetyFactor float64  `json:"safety_factor" minimum:"1" maximum:"20" default:"3" doc:"For the blow of the pour, which can double a sudden load, and uneven clamping"`
	UpperHalfKg  float64  `json:"upper_half_kg" minimum:"0" maximum:"200" default:"0" doc:"Mass of the upper half with its clay; counts in a lying flask only"`
	ClipN        *float64 `json:"clip_force_n,omitempty" minimum:"0.5" maximum:"100000" doc:"Force of one of your clips or clamps: hang a weight on it until it opens" example:"30"`
	GapMM        *float64 `json:"gap_mm,omitempty" minimum:"0" maximum:"20" doc:"Widest gap that you see at the parting"`
	MeltG        float64  `json:"melt_g" minimum:"1" maximum:"50000" doc:"All the metal of the pour, which the tray must hold" example:"80"`
	TrayLengthMM float64  `json:"tray_length_mm" minimum:"20" maximum:"2000" default:"300" doc:"Inside length of the drip tray"`
	TrayWidthMM  float64  `json:"tray_width_mm" minimum:"20" maximum:"2000" default:"200" doc:"Its inside width"`
}

// Out is what keeps the flask shut.
type Out struct {
	OpeningN    float64  `json:"opening_force_n" doc:"Force that drives the halves apart with the funnel full"`
	HoldN       float64  `json:"hold_force_n" doc:"Force to hold them with, the safety factor in it and the weight of the upper half taken off in a lying flask"`
	WeightKg    *float64 `json:"weight_kg,omitempty" doc:"Weight to lay on a lying flask; absent for a standing one, which weights do not hold"`
	Clips       *int     `json:"clips,omitempty" doc:"Clips needed, at least two so that both sides are held, where clip_force_n is given"`
	PressureKPa float64  `json:"pressure_kpa" doc:"Pressure of the metal at deepest_mm"`
	SpillGapMM  float64  `json:"spill_gap_mm" doc:"Widest gap at deepest_mm that the metal does not enter by its own weight; a poured stream pushes harder"`
	GapHolds    *bool    `json:"gap_holds,omitempty" doc:"Whether gap_mm is no more than half of that"`
	SpillMM3    float64  `json:"spill_volume_mm3" doc:"Volume of all the metal, liquid"`
	TrayRimMM   float64  `json:"tray_rim_mm" doc:"Least height of rim over the sand that keeps all of it in the tray, doubled for the splash and never under 10 mm"`
	calc.Notes
}

var (
	srcLift = fluid.SourceHead
	srcSlit = fluid.SourceCapillary
	srcHold = calc.Source{For: "safety factor of 3, two clips at least, half of the gap, rim doubled", Text: "a load laid on at once acts twice; the rest covers uneven clamping and splash", Status: calc.Choice}
)

const (
	perMille   = 1e3
	leastRimMM = 10.0 // a rim that metal does not splash over; common practice, no source
)

// Hold works out the force, the hold and the gap. The clay's own grip and the
// pins of the flask get no credit. Errors are refusals.
func Hold(ctx context.Context, in In) (Out, error) {
	rho, tension, err := in.check()
	if err != nil {
		return Out{}, err
	}
	out := Out{Notes: calc.Noting(ctx)}
	if in.OpeningN != nil {
		out.OpeningN = *in.OpeningN
	} else {
		out.OpeningN = fluid.OpeningForce(rho, *in.MeanHeadMM/1e3, *in.PartingMM2/1e6)
		out.Step("opening force", out.OpeningN, "N", "ρ g h A = %.5g kg/m³ × %.4g m/s² × %.4g mm × %.5g mm²", rho, fluid.Gravity, *in.MeanHeadMM, *in.PartingMM2)
	}
	out.HoldN = in.SafetyFactor * out.OpeningN
	if in.Posture == "lying" {
		out.HoldN = math.Max(0, out.HoldN-in.UpperHalfKg*fluid.Gravity)
		kg := out.HoldN / fluid.Gravity
		out.WeightKg = &kg
	}
	out.Step("force to hold with", out.HoldN, "N", "%.3g × %.4g N, %.3g kg of the upper half taken off if lying", in.SafetyFactor, out.OpeningN, in.UpperHalfKg)
	if in.ClipN != nil {
		n := max(2, int(math.Ceil(out.HoldN / *in.ClipN)))
		out.Clips = &n
		out.Step("clips", float64(n), "", "%.4g N / %.4g N each, at least 2", out.HoldN, *in.ClipN)
	}
	p := fluid.Pressure(rho, in.DeepestMM/1e3)
	out.PressureKPa = p / perMille
	out.SpillGapMM = 1e3 * fluid.SpillGap(tension, fluid.NonWetting(in.ContactDeg), rho, in.DeepestMM/1e3)
	out.Step("gap that stays dry", out.SpillGapMM, "mm", "2 γ |cos θ| / (ρ g h) = 2 × %.4g N/m × |cos %.4g°| / %.5g Pa", tension, in.ContactDeg, p)
	if in.GapMM != nil {
		holds := *in.GapMM <= out.SpillGapMM/2
		out.GapHolds = &holds
	}
	out.SpillMM3 = in.MeltG / rho * 1e6
	out.TrayRimMM = math.Max(leastRimMM, 2*out.SpillMM3/(in.TrayLengthMM*in.TrayWidthMM))
	out.Step("rim of the tray", out.TrayRimMM, "mm", "2 × %.5g mm³ / (%.4g × %.4g mm²), at least %.0f mm", out.SpillMM3, in.TrayLengthMM, in.TrayWidthMM, leastRimMM)
	out.warn(&in)
	return out, nil
}

func (in *In) check() (rho, tension float64, err error) {
	var c calc.Checks
	c.Bounds(*in)
	if (in.OpeningN == nil) == (in.PartingMM2 == nil) || (in.PartingMM2 == nil) != (in.MeanHeadMM == nil) {
		c.Refuse("opening_force_n", in.OpeningN, "give opening_force_n, or parting_area_mm2 with mean_head_mm")
	}
	if in.MeanHeadMM != nil && in.DeepestMM < *in.MeanHeadMM {
		c.Refuse("deepest_mm", in.DeepestMM, "give at least mean_head_mm, %g mm: the deepest place lies no higher than the mean", *in.MeanHeadMM)
	}
	m, err := metal.Named(in.Alloy)
	if !c.Under("", err) {
		return 0, 0, c.Err()
	}
	at := m.LiquidusC() + 50
	rho, tension = m.LiquidDensityKgM3(at), m.SurfaceTensionNM(at)
	if in.DensityKgM3 != nil {
		rho = *in.DensityKgM3
	}
	if in.TensionNM != nil {
		tension = *in.TensionNM
	}
	return rho, tension, c.Err()
}

func (out *Out) warn(in *In) {
	out.Cite(srcLift, srcSlit, srcHold)
	out.Caution(safety.MoltenMetal, safety.DampMould)
	out.Warn("drip_tray", calc.Danger, "Stand the flask on a bed of dry sand, 20 mm or more, in a steel tray whose rim is at least %.0f mm over the sand. Metal on bare or damp concrete bursts it.", math.Ceil(out.TrayRimMM))
	out.Warn("clamps_stay", calc.Danger, "Keep clips and weights on until the button is solid all through; never reach over the flask to press it shut.")
	if in.Posture == "standing" {
		out.Warn("weights_do_not_hold", calc.Care, "Weights on a standing flask do not press its halves together: clamp it across the parting, below the middle too, where the pressure is greatest.")
	}
	if out.GapHolds != nil && !*out.GapHolds {
		out.Warn("gap_spills", calc.Danger, "A gap of %.2g mm may spill: the metal enters gaps over %.2g mm by its own weight, and half of that is the most to leave. Dress the parting, or lute it with clay.", *in.GapMM, out.SpillGapMM)
	}
}

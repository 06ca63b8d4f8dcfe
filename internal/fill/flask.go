package fill

import (
	"pourwright/internal/fluid"
	"pourwright/internal/section"
)

// flask works out what the full mould does to its halves: hydrostatics of the
// metal up to the brim of the funnel.
//
// Standing, the parting plane is upright and the pressure on it grows with
// depth; lying, it is level and lies at one depth. The area is the
// projection on the parting plane: of a band its whole width between inside
// and outside. No credit is given for the clay's grip.
func (j *job) flask() Flask {
	in := &j.in
	rho := j.metal.Rho
	top := j.brim()
	var area, moment float64 // m²; m² × depth of metal over it
	add := func(a, depth float64) { area += a; moment += a * depth }
	for i := range j.stretches {
		r := &j.net.Reaches[j.stretches[i].reach]
		for _, s := range r.Sections {
			width := s.Thickness
			if !in.isBand() {
				width = max(s.Thickness, s.Area/s.Thickness)
			}
			add(width*s.Length*float64(max(1, r.Copies)), top-s.Height)
		}
	}
	if in.Posture == "standing" {
		add(float64(in.SprueCount)*in.SprueDiameterMM*in.SprueLengthMM/1e6, (in.FunnelHeadMM+in.SprueLengthMM/2)/1e3)
		add(in.FunnelDiameterMM*in.FunnelHeadMM/1e6, in.FunnelHeadMM/2e3)
	}
	out := Flask{PartingMM2: 1e6 * area}
	depth := top - j.lowest()
	out.PressureKPa = fluid.Pressure(rho, depth) / 1e3
	if in.PartingMM2 != nil {
		moment *= *in.PartingMM2 / out.PartingMM2
		out.PartingMM2 = *in.PartingMM2
	}
	out.OpeningN = fluid.OpeningForce(rho, 1, moment)
	out.HoldKg = holdFactor * out.OpeningN / fluid.Gravity
	out.SpillGapMM = 1e3 * fluid.SpillGap(j.metal.Gamma, 1, rho, depth)
	if in.FlaskWidthMM > 0 {
		wall := (in.FlaskWidthMM - j.across()) / 2
		if in.Posture == "standing" && in.FlaskHeightMM > 0 {
			wall = min(wall, in.FlaskHeightMM-1e3*depth)
		}
		out.ClayWallMM = &wall
	}
	return out
}

// holdFactor covers the blow of the pour, which can double a sudden load, and
// an uneven clamp; common practice, no source.
const holdFactor = 3

// across returns the width of the piece in the flask in mm.
func (j *job) across() float64 {
	if !j.in.isBand() {
		if j.in.Posture == "lying" || j.in.Gate == "side" {
			return j.in.LengthMM
		}
		return j.profile.Mean(section.Section.Width)
	}
	thick := 0.0
	for _, s := range j.profile {
		thick = max(thick, s.ThicknessMM)
	}
	if c := j.in.course; c != nil {
		return 1e3*c.across() + thick
	}
	return j.in.InsideDiameterMM + 2*thick
}

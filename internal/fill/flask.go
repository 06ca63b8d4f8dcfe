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
	area, moment := j.parting()
	if in.Posture == "standing" {
		sprues := float64(in.SprueCount) * in.SprueDiameterMM * in.SprueLengthMM / 1e6
		funnel := in.FunnelDiameterMM * in.FunnelHeadMM / 1e6
		area += sprues + funnel
		moment += sprues*(in.FunnelHeadMM+in.SprueLengthMM/2)/1e3 + funnel*in.FunnelHeadMM/2e3
	}
	depth := j.brim() - j.lowest()
	out := j.halves(area, moment, depth)
	if in.FlaskWidthMM > 0 {
		wall := (in.FlaskWidthMM - j.across()) / 2
		if in.Posture == "standing" && in.FlaskHeightMM > 0 {
			wall = min(wall, in.FlaskHeightMM-1e3*depth)
		}
		out.ClayWallMM = &wall
	}
	return out
}

// parting is the area of the piece in the parting plane in m², and its sum with
// the depth of metal over it.
func (j *job) parting() (area, moment float64) {
	in := &j.in
	for i := range j.stretches {
		r := &j.net.Reaches[j.stretches[i].reach]
		for _, s := range r.Sections {
			width := s.Thickness
			if !in.isBand() {
				width = max(s.Thickness, s.Area/s.Thickness)
			}
			a := width * s.Length * float64(max(1, r.Copies))
			area, moment = area+a, moment+a*(j.brim()-s.Height)
		}
	}
	return area, moment
}

// halves is what metal over so much of the parting plane does to the halves;
// depth is the greatest, m.
func (j *job) halves(area, moment, depth float64) Flask {
	rho := j.metal.Rho
	out := Flask{PartingMM2: 1e6 * area, PressureKPa: fluid.Pressure(rho, depth) / 1e3}
	if p := j.in.PartingMM2; p != nil {
		moment *= *p / out.PartingMM2
		out.PartingMM2 = *p
	}
	out.OpeningN = fluid.OpeningForce(rho, 1, moment)
	out.HoldKg = holdFactor * out.OpeningN / fluid.Gravity
	out.SpillGapMM = 1e3 * fluid.SpillGap(j.metal.Gamma, 1, rho, depth)
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

package fill

import (
	"context"
	"fmt"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/fill/front"
	"pourwright/internal/fluid"
	"pourwright/internal/metal"
	"pourwright/internal/section"
)

// job is an input made ready: what stays the same for every member of the scatter.
type job struct {
	in      In
	clay    Clay
	scatter Scatter
	alloy   metal.Metal
	metal   front.Metal
	mould   front.Mould
	profile section.Profile // as it lies in the mould, from the gate
	names   []string        // of the ducts
	offset  []float64       // where a duct starts on the way round, fraction
	span    []float64       // and how much of it that is
	length  float64         // of the way, m
	volume  float64         // of the piece, m³
	whole   float64         // with sprues and funnel, m³
	rate    float64         // m³/s as planned
	pourC   float64
	start   float64 // enthalpy as poured, J/kg
	ended   float64 // enthalpy when solid, J/kg
	choke   [2]float64
}

// prepare checks the input and makes a job of it.
func prepare(ctx context.Context, in In) (*job, error) {
	if in.PatternMesh != nil {
		if err := in.takeMesh(ctx); err != nil {
			return nil, calc.Under("pattern_mesh", err)
		}
	}
	if len(in.Stations) > 0 && in.Section == (section.Section{}) {
		in.Section = in.Stations[0].Section
	}
	j := &job{in: in, clay: calc.Default[Clay](), scatter: calc.Default[Scatter]()}
	if in.Clay != nil {
		j.clay = *in.Clay
	}
	if in.Scatter != nil {
		j.scatter = *in.Scatter
	}
	if err := j.check(); err != nil {
		return nil, err
	}
	if err := j.melt(); err != nil {
		return nil, err
	}
	j.lay()
	for i, d := range j.mould.Ducts {
		if d.Length < 1e-4 {
			return nil, calc.Refuse("spread_deg", in.SpreadDeg, "give an angle that leaves room between the sprues (duct %d is %.2g mm)", i, 1e3*d.Length)
		}
	}
	return j, nil
}

// isBand says whether the piece closes on itself.
func (in *In) isBand() bool { return in.Piece == "bangle" || in.Piece == "ring" }

func (j *job) check() error {
	in := &j.in
	var c calc.Checks
	c.Bounds(*in)
	j.checkPiece(&c)
	switch {
	case in.SprueCount != 2 || in.Posture != "standing":
	case in.isBand() && in.Gate == "side":
		c.Refuse("sprue_count", in.SprueCount, "give 1 for a side gate of a standing flask: two sprues stand about the top or the bottom")
	case !in.isBand() && in.Gate != "side":
		c.Refuse("sprue_count", in.SprueCount, "give 1 for an upright bar: two sprues need a level one (lying, or gate side)")
	}
	if in.InterfaceHighWM2K < in.InterfaceLowWM2K {
		c.Refuse("interface_high_w_m2k", in.InterfaceHighWM2K, "give at least interface_low_w_m2k, %g", in.InterfaceLowWM2K)
	}
	if (in.SolidusC == nil) != (in.LiquidusC == nil) {
		c.Refuse("solidus_c", in.SolidusC, "give solidus_c and liquidus_c together, or neither")
	}
	if in.Calibration != nil {
		c.Under("calibration", in.Calibration.check())
	}
	c.Under("clay", calc.InBounds(j.clay))
	c.Under("scatter", calc.InBounds(j.scatter))
	if lo, hi := j.scatter.ChokeLow, j.scatter.ChokeHigh; (lo != 0 || hi != 0) && !(0 < lo && lo <= hi) {
		c.Refuse("scatter.choke_high", hi, "give choke_low and choke_high, not below it")
	}
	for i, d := range in.Details {
		c.Under(fmt.Sprintf("details[%d]", i), calc.InBounds(d))
	}
	return c.Err()
}

// checkPiece checks what is cast.
func (j *job) checkPiece(c *calc.Checks) {
	in := &j.in
	switch {
	case in.isBand() && in.InsideDiameterMM == 0:
		c.Refuse("inside_diameter_mm", in.InsideDiameterMM, "give the inside diameter of a bangle or ring, in mm")
	case !in.isBand() && in.LengthMM == 0:
		c.Refuse("length_mm", in.LengthMM, "give the length of a bar or pendant, in mm")
	case !in.isBand() && in.Thickest != "as_given":
		c.Refuse("thickest", in.Thickest, "give as_given for a bar or pendant: it cannot be turned without its gate")
	}
	c.Under("section", in.Section.Check())
	if len(in.Stations) > 0 {
		c.Under("stations", in.Stations.Check())
		if in.ThinSpot != nil {
			c.Refuse("thin_spot", in.ThinSpot.ThicknessMM, "give either thin_spot or stations, not both")
		}
	}
	if in.ThinSpot != nil {
		c.Under("thin_spot", in.ThinSpot.Check(in.Section, in.isBand()))
	}
}

// Check refuses a spot that is no thinner than the section, or on a closed band
// at the gate, where the section is that of the gate.
func (t *Thin) Check(s section.Section, closed bool) error {
	var c calc.Checks
	c.Under("", calc.InBounds(*t))
	if t.ThicknessMM > s.ThicknessMM {
		c.Refuse("thickness_mm", t.ThicknessMM, "give at most the thickness of section, %g mm", s.ThicknessMM)
	}
	if closed && t.AtPct == 100 {
		c.Refuse("at_pct", t.AtPct, "give less than 100 on a bangle or ring: there the gate is again")
	}
	return c.Err()
}

const (
	superheat = 100.0 // K over the liquidus when no pour temperature is given
)

// melt tabulates the alloy.
func (j *job) melt() error {
	in := &j.in
	m, err := metal.Named(in.Alloy)
	if err != nil {
		return err
	}
	if in.SolidusC != nil {
		if m, err = metal.Of(m.Composition, &metal.MeltingRange{SolidusC: *in.SolidusC, LiquidusC: *in.LiquidusC}); err != nil {
			return err
		}
	}
	j.alloy = m
	j.pourC = m.LiquidusC() + superheat
	if in.PourC != nil {
		j.pourC = *in.PourC
	}
	if j.pourC < m.LiquidusC()+1 || j.pourC > m.LiquidusC()+600 {
		return calc.Refuse("pour_c", j.pourC, "give a temperature over the liquidus of %s, %.0f °C, by 1 to 600 K", in.Alloy, m.LiquidusC())
	}
	at := (j.pourC + m.LiquidusC()) / 2
	j.metal = front.Metal{Rho: m.LiquidDensityKgM3(at), Gamma: m.SurfaceTensionNM(at) * fluid.NonWetting(fluid.ContactDeg), Mu: m.ViscosityPaS(at)}
	j.metal.Alpha = m.ConductivityWMK(at) / (j.metal.Rho * 1e3 * m.CpLiquidKJKgK())
	j.start = 1e3 * m.EnthalpyKJKg(j.pourC)
	j.ended = 1e3 * m.EnthalpyKJKg(m.FreezingEndC())
	j.metal.Tabulate(0.8*j.ended, j.start+1e3*m.CpLiquidKJKgK()*300,
		func(h float64) float64 { return m.TemperatureC(h / 1e3) },
		func(h float64) float64 { return m.SolidFraction(m.TemperatureC(h / 1e3)) })
	j.choke = [2]float64{j.scatter.ChokeLow, j.scatter.ChokeHigh}
	if j.choke[0] == 0 {
		j.choke = chokeRange(m.LiquidusC() - m.FreezingEndC())
	}
	return nil
}

// chokeRange returns the band of the solid fraction at which a front stops:
// 0.2 to 0.35 in alloys that freeze over 50 K or more, 0.4 to 0.7 in metals
// and eutectics that freeze at one temperature and choke only when a skin has
// closed, in proportion between.
func chokeRange(spanK float64) [2]float64 {
	w := math.Max(0, 1-spanK/50)
	return [2]float64{0.2 + 0.2*w, 0.35 + 0.35*w}
}

// shape returns the profile from the gate on, thinned and turned as asked.
func (in *In) shape() section.Profile {
	if len(in.Stations) == 0 {
		p := section.Uniform(in.Section)
		if t := in.ThinSpot; t != nil {
			thin := in.Section
			thin.ThicknessMM = t.ThicknessMM
			p = append(p, section.Station{AtPct: t.AtPct, Section: thin})
			if in.isBand() && t.AtPct < 100 {
				p = append(p, section.Station{AtPct: 100, Section: in.Section})
			}
		}
		return turn(p, in)
	}
	return turn(in.Stations, in)
}

// turn rotates a band's profile so that its thickest part lies where asked.
func turn(p section.Profile, in *In) section.Profile {
	if !in.isBand() || in.Thickest == "as_given" || len(p) < 2 {
		return p
	}
	at, best := 0.0, 0.0
	const grid = 360
	for i := range grid {
		if t := p.At(float64(i) / grid).ThicknessMM; t > best+1e-9 {
			best, at = t, float64(i)/grid
		}
	}
	if in.Thickest == "far" {
		at -= 0.5
	}
	// Resampled finely enough to keep every station's course.
	const stations = 72
	turned := make(section.Profile, stations+1)
	for i := range turned {
		f := float64(i) / stations
		turned[i] = section.Station{AtPct: 100 * f, Section: p.At(math.Mod(f+at+1, 1))}
	}
	return turned
}

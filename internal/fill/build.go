package fill

import (
	"fmt"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/fill/front"
	"pourwright/internal/metal"
	"pourwright/internal/section"
)

// job is an input made ready: what stays the same for every member of the scatter.
type job struct {
	in      FillIn
	clay    FillClay
	scatter FillScatter
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
func prepare(in FillIn) (*job, error) {
	if in.PatternMesh != nil {
		if err := in.takeMesh(); err != nil {
			return nil, calc.Under("pattern_mesh", err)
		}
	}
	if len(in.Stations) > 0 && in.Section == (section.Section{}) {
		in.Section = in.Stations[0].Section
	}
	j := &job{in: in, clay: calc.Default[FillClay](), scatter: calc.Default[FillScatter]()}
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
func (in *FillIn) isBand() bool { return in.Piece == "bangle" || in.Piece == "ring" }

func (j *job) check() error {
	in := &j.in
	var c calc.Checks
	oneOf := func(field, v string, known ...string) {
		for _, k := range known {
			if v == k {
				return
			}
		}
		c.Refuse(field, v, "give one of %v", known)
	}
	oneOf("piece", in.Piece, "bangle", "ring", "bar", "pendant")
	oneOf("posture", in.Posture, "standing", "lying")
	oneOf("gate", in.Gate, "top", "side", "bottom")
	oneOf("thickest", in.Thickest, "as_given", "at_gate", "far")
	if in.isBand() {
		c.Within("inside_diameter_mm", in.InsideDiameterMM, 8, 150, "mm for a bangle or ring")
	} else {
		c.Within("length_mm", in.LengthMM, 2, 400, "mm for a bar or pendant")
		if in.Thickest != "as_given" {
			c.Refuse("thickest", in.Thickest, "give as_given for a bar or pendant: it cannot be turned without its gate")
		}
	}
	c.Under("section", in.Section.Check())
	if len(in.Stations) > 0 {
		c.Under("stations", in.Stations.Check())
		if in.ThinSpot != nil {
			c.Refuse("thin_spot", in.ThinSpot.ThicknessMM, "give either thin_spot or stations, not both")
		}
	}
	if t := in.ThinSpot; t != nil {
		c.Within("thin_spot.thickness_mm", t.ThicknessMM, 0.2, in.Section.ThicknessMM, "mm, at most that of section")
		c.Within("thin_spot.at_pct", t.AtPct, 1, 100, "percent of the way from the gate")
	}
	j.checkPour(&c)
	j.checkScatter(&c)
	return c.Err()
}

func (j *job) checkPour(c *calc.Checks) {
	in := &j.in
	switch {
	case in.SprueCount < 1 || in.SprueCount > 2:
		c.Refuse("sprue_count", in.SprueCount, "give 1 or 2")
	case in.SprueCount == 2 && in.Posture == "standing" && in.isBand() && in.Gate == "side":
		c.Refuse("sprue_count", in.SprueCount, "give 1 for a side gate of a standing flask: two sprues stand about the top or the bottom")
	case in.SprueCount == 2 && in.Posture == "standing" && !in.isBand() && in.Gate != "side":
		c.Refuse("sprue_count", in.SprueCount, "give 1 for an upright bar: two sprues need a level one (lying, or gate side)")
	}
	c.Within("spread_deg", in.SpreadDeg, 20, 180, "degrees")
	c.Within("sprue_length_mm", in.SprueLengthMM, 2, 200, "mm")
	c.Within("sprue_diameter_mm", in.SprueDiameterMM, 1, 30, "mm")
	c.Within("funnel_head_mm", in.FunnelHeadMM, 0, 80, "mm")
	c.Within("funnel_diameter_mm", in.FunnelDiameterMM, 2, 80, "mm")
	c.Within("vent_count", float64(in.VentCount), 0, 12, "vents")
	c.Within("vent_diameter_mm", in.VentDiameterMM, 0.2, 4, "mm")
	c.Within("clay_c", in.ClayC, -20, 300, "°C")
	c.Within("pour_time_s", in.PourTimeS, 0.1, 30, "s")
	c.Within("interface_low_w_m2k", in.InterfaceLowWM2K, 20, 20000, "W/(m² K)")
	c.Within("interface_high_w_m2k", in.InterfaceHighWM2K, in.InterfaceLowWM2K, 20000, "W/(m² K), not below interface_low_w_m2k")
	c.Within("risk_limit_pct", in.RiskLimitPct, 0.5, 60, "percent")
	if in.PourRateMM3S != nil {
		c.Within("pour_rate_mm3_s", *in.PourRateMM3S, 20, 200000, "mm³/s")
	}
	if in.FlaskWidthMM != 0 {
		c.Within("flask_width_mm", in.FlaskWidthMM, 20, 400, "mm")
	}
	if in.FlaskHeightMM != 0 {
		c.Within("flask_height_mm", in.FlaskHeightMM, 20, 400, "mm")
	}
	if in.PartingMM2 != nil {
		c.Within("parting_area_mm2", *in.PartingMM2, 1, 200000, "mm²")
	}
	if (in.SolidusC == nil) != (in.LiquidusC == nil) {
		c.Refuse("solidus_c", in.SolidusC, "give solidus_c and liquidus_c together, or neither")
	}
	if in.Calibration != nil {
		c.Under("calibration", in.Calibration.check())
	}
}

func (j *job) checkScatter(c *calc.Checks) {
	s, k := &j.scatter, &j.clay
	c.Within("scatter.pour_k", s.PourK, 0, 150, "K")
	c.Within("scatter.pour_rate_pct", s.PourRatePct, 0, 100, "percent")
	c.Within("scatter.effusivity_pct", s.EffusivityPct, 0, 80, "percent")
	c.Within("scatter.thickness_mm", s.ThicknessMM, 0, 1, "mm")
	c.Within("scatter.cold_shut_solid", s.ColdShut, 0.01, 0.9, "")
	c.Within("scatter.tension_pct", s.TensionPct, 0, 60, "percent")
	c.Within("scatter.permeability_pct", s.PermeabilityPct, 0, 400, "percent")
	if s.ChokeLow != 0 || s.ChokeHigh != 0 {
		c.Within("scatter.choke_low", s.ChokeLow, 0.05, 0.95, "")
		c.Within("scatter.choke_high", s.ChokeHigh, s.ChokeLow, 0.95, "(not below choke_low)")
	}
	c.Within("clay.conductivity_w_mk", k.ConductivityWMK, 0.05, 5, "W/(m K)")
	c.Within("clay.density_kg_m3", k.DensityKgM3, 300, 4000, "kg/m³")
	c.Within("clay.heat_capacity_j_kgk", k.HeatCapacityJKgK, 300, 3000, "J/(kg K)")
	c.Within("clay.permeability_afs", k.PermeabilityAFS, 0.1, 1000, "AFS")
	c.Within("clay.wall_mm", k.WallMM, 2, 100, "mm")
	for i, d := range j.in.Details {
		at := fmt.Sprintf("details[%d]", i)
		if d.Kind != "dimple" && d.Kind != "line" {
			c.Refuse(at+".kind", d.Kind, "give dimple or line")
		}
		c.Within(at+".size_mm", d.SizeMM, 0.05, 20, "mm")
		if d.DepthMM != 0 {
			c.Within(at+".depth_mm", d.DepthMM, 0.02, 20, "mm")
		}
		c.Within(at+".at_pct", d.AtPct, 0, 100, "percent of the way from the gate")
	}
}

const (
	superheat  = 100.0 // K over the liquidus when no pour temperature is given
	contactCos = 0.766 // −cos 140°
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
	j.metal = front.Metal{Rho: m.LiquidDensityKgM3(at), Gamma: m.SurfaceTensionNM(at) * contactCos, Mu: m.ViscosityPaS(at)}
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
func (in *FillIn) shape() section.Profile {
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
func turn(p section.Profile, in *FillIn) section.Profile {
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

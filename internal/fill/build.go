package fill

import (
	"context"
	"fmt"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/fill/network"
	"pourwright/internal/fluid"
	"pourwright/internal/metal"
	"pourwright/internal/section"
)

// job is an input made ready: what stays the same for every member of the scatter.
type job struct {
	in        In
	clay      Clay
	mould     network.Clay
	scatter   Scatter
	held      *held // nil: the prior
	alloy     metal.Metal
	metal     network.Metal
	net       network.Network
	mesh      *network.Mesh
	stretches []stretch
	profile   section.Profile // as it lies in the mould, from the gate
	length    float64         // of the way, m
	volume    float64         // of the piece, m³
	whole     float64         // of all pieces with sprues and a usual funnel, m³
	poured    float64         // of all pieces with sprues and this funnel, m³
	shared    bool            // it hangs with others on one sprue system
	mirrored  bool            // it hangs to the other side of the sprue than a side gate has it
	part      int             // its number among the pieces of the network
	gateM     float64         // height of its gates over the network's level, m
	floorM    float64         // height of the funnel's floor over that level, m
	pourC     float64
	start     float64 // enthalpy as poured, J/kg
	ended     float64 // enthalpy when solid, J/kg
	perK      float64 // heat capacity of the liquid, J/(kg K)
}

// prepare checks the input and makes a job of it.
func prepare(ctx context.Context, in In) (*job, error) {
	j, err := begin(ctx, in)
	if err != nil {
		return nil, err
	}
	j.lay()
	return j, j.fits()
}

// begin makes a job of all but its channels.
func begin(ctx context.Context, in In) (*job, error) {
	if in.PatternMesh != nil {
		if err := in.takeMesh(ctx); err != nil {
			return nil, calc.Under("pattern_mesh", err)
		}
	}
	if in.Shape != nil {
		if err := in.takeShape(ctx); err != nil {
			return nil, calc.Under("shape", err)
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
	j.measure()
	return j, nil
}

// leastBrim is how far the brim of the funnel must stand over the piece, m.
const leastBrim = 2e-3

// fits refuses a piece that stands higher than the metal in the funnel.
func (j *job) fits() error {
	in := &j.in
	_, high := j.bounds()
	if high+leastBrim <= j.brim() {
		return nil
	}
	high -= j.gateM
	return calc.Refuse("sprue_length_mm", in.SprueLengthMM, "give %.0f mm or more: the highest place of the piece lies %.0f mm over its gate, and the metal in the funnel must stand over it", math.Ceil(1e3*(high+leastBrim+j.gateM-j.floorM)+in.SprueLengthMM-in.FunnelHeadMM), 1e3*high)
}

// brim is the height of the metal in the full funnel, m.
func (j *job) brim() float64 { return j.floorM + j.in.FunnelHeadMM/1e3 }

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
	if in.PourTimeS != nil && in.PourRateMM3S != nil {
		c.Refuse("pour_rate_mm3_s", *in.PourRateMM3S, "give either pour_time_s or pour_rate_mm3_s")
	}
	if (in.SolidusC == nil) != (in.LiquidusC == nil) {
		c.Refuse("solidus_c", in.SolidusC, "give solidus_c and liquidus_c together, or neither")
	}
	if in.Calibration != nil {
		c.Under("calibration", in.Calibration.check())
	}
	c.Under("clay", calc.InBounds(j.clay))
	c.Under("scatter", calc.InBounds(j.scatter))
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
	case in.GatePct != 0 && in.course == nil:
		c.Refuse("gate_pct", in.GatePct, "give it with shape")
	case in.GatePct != 0 && (in.course.open || !in.isBand()):
		c.Refuse("gate_pct", in.GatePct, "give it for a closed band alone: a cuff is fed in its middle, a straight piece at its start")
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
	j.metal = network.Metal{Rho: m.LiquidDensityKgM3(at), Gamma: m.SurfaceTensionNM(at) * fluid.NonWetting(fluid.ContactDeg), Mu: m.ViscosityPaS(at)}
	j.perK = 1e3 * m.CpLiquidKJKgK()
	j.start = 1e3 * m.EnthalpyKJKg(j.pourC)
	j.ended = 1e3 * m.EnthalpyKJKg(m.FreezingEndC())
	j.metal.Tabulate(0.3*j.ended, j.start+j.perK*500,
		func(h float64) float64 { return m.TemperatureC(h / 1e3) },
		func(h float64) float64 { return m.SolidFraction(m.TemperatureC(h / 1e3)) })
	k := &j.clay
	j.mould = network.Clay{K: k.ConductivityWMK, RhoC: k.VolumeHeat(), StartC: j.in.ClayC, Perm: fluid.AFSPermeability * k.PermeabilityAFS, Path: k.WallMM / 1e3}
	if c := j.in.Calibration; c != nil {
		j.held = c.held()
	}
	return nil
}

// enthalpyAt returns J/kg of liquid at t °C.
func (j *job) enthalpyAt(t float64) float64 { return j.start + j.perK*(t-j.pourC) }

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

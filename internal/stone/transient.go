package stone

import (
	"context"
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/fluid"
	"pourwright/internal/metal"
	"pourwright/internal/stone/shock"
)

// pour is what meets the stone.
type pour struct {
	metal       metal.Metal
	metalC      float64
	clayC       float64
	modulusMM   float64 // section area over perimeter
	film        float64 // W/(m² K), metal to stone
	clayContact float64 // W/(m² K), metal to clay
	cap         capillary
}

func (p pour) liquid() shock.Medium {
	return shock.Medium{K: p.metal.ConductivityWMK(p.metalC), Rho: p.metal.LiquidDensityKgM3(p.metalC), C: 1000 * p.metal.CpLiquidKJKgK()}
}

// oilClay is the clay as the transient solution takes it.
var oilClay = shock.Medium{K: fluid.OilClay.ConductivityWMK, Rho: fluid.OilClay.DensityKgM3, C: fluid.OilClay.HeatCapacityJKgK}

var (
	srcClay       = fluid.SourceClay
	srcTransient  = calc.Source{For: "temperature in the stone", Text: "radial finite volumes, backward Euler on heat content: a sphere of the stone's volume wholly in a shell of freezing metal whose volume over outer area is the section's, clay outside; checked against the exact series of a sphere, Neumann's freezing and the contact temperature", Status: calc.Computed}
	srcContact    = calc.Source{For: "contact temperature", Text: "Carslaw & Jaeger, Conduction of Heat in Solids, 1959, §2.15: weighed by effusivities √(kρc)", Status: calc.FromMemory}
	srcResistance = calc.Source{For: "thermal-stress index", Text: "W. D. Kingery, J. Am. Ceram. Soc. 38 (1955) 3: R = σ(1−ν)/(Eα); peak centre tension of a sphere by the exact series", Status: calc.FromMemory}
	srcOxidation  = calc.Source{For: "burning of diamond", Text: "activation 213 kJ/mol (thermogravimetry of CVD diamond in air, 600-750 °C, abstract read); a kiln hour at 725 °C in air left a burnt skin (bench report, read)", Status: calc.Practice}
	srcFilm       = calc.Source{For: "film between metal and stone", Text: "3000 W/(m² K), in a range of 500-5000; unmeasured", Status: calc.Choice}
)

// Activation of the burning of diamond in air.
const (
	activation  = 213e3 // J/mol
	gasConstant = 8.314462618
	zeroC       = 273.15
	burntSkinC  = 725.0 // a kiln in air at this temperature ...
	burntSkinS  = 3600. // ... for this long left a burnt skin
	referenceC  = 700.0
)

// burnRate is the rate of burning of diamond in air over that at 700 °C.
func burnRate(tC float64) float64 {
	return math.Exp(-activation / gasConstant * (1/(tC+zeroC) - 1/(referenceC+zeroC)))
}

// trace is what the stone goes through.
type trace struct {
	peakSurfaceC, peakCentreC float64
	above                     []float64 // seconds of the surface above each threshold
	heatingPa, coolingPa      float64   // greatest centre tension on heating, surface tension on cooling, per Eα/(1−ν): K
	burnS                     float64   // seconds at 700 °C in air that burn as much
	frozenS                   float64   // metal around it solid
	shellMM                   float64
}

// follow computes the stone's temperature from the touch of the metal until
// it is below every threshold and hand-safe to forget (150 °C) or 15 min have passed.
func follow(ctx context.Context, p pour, stone shock.Medium, radiusMM float64, thresholds []float64) (trace, error) {
	tr := trace{above: make([]float64, len(thresholds)), peakSurfaceC: p.clayC, peakCentreC: p.clayC}
	a := radiusMM / 1000
	b := shellRadius(a, p.modulusMM/1000)
	tr.shellMM = 1000 * (b - a)
	s := newStack(p, stone, a, b)
	const (
		end   = 900.0 // s
		quiet = 150.0 // °C
		pace  = 0.03  // each step over the time so far
		skin  = 24    // cells in the stone
	)
	first := 5e-3 * a * a / stone.Diffusivity()
	burn := burnRate(p.clayC)
	last := p.clayC
	for now, n := 0.0, 0; now < end; n++ {
		if n%32 == 0 && ctx.Err() != nil {
			return tr, ctx.Err()
		}
		dt := max(first, pace*now)
		if err := s.Step(dt); err != nil {
			return tr, err
		}
		now += dt
		surface, centre, mean := s.T[skin-1], s.T[0], s.Mean(0)
		tr.peakSurfaceC, tr.peakCentreC = max(tr.peakSurfaceC, surface), max(tr.peakCentreC, centre)
		tr.heatingPa = max(tr.heatingPa, 2.0/3*(mean-centre))
		tr.coolingPa = max(tr.coolingPa, mean-surface)
		for i, t := range thresholds {
			tr.above[i] += dt * shareAbove(last, surface, t)
		}
		rate := burnRate(surface)
		tr.burnS += dt * (burn + rate) / 2
		burn, last = rate, surface
		if tr.frozenS == 0 && s.T[s.First[1]] <= p.metal.FreezingEndC() {
			tr.frozenS = now
		}
		if now > 1 && surface < quiet && centre < quiet || now > 60 && surface < p.clayC+20 {
			break
		}
	}
	return tr, nil
}

// shareAbove is the share of a straight line from a to b that lies above t.
func shareAbove(a, b, t float64) float64 {
	switch {
	case a > t && b > t:
		return 1
	case a <= t && b <= t:
		return 0
	}
	return (max(a, b) - t) / math.Abs(b-a)
}

// newStack lays stone, metal and clay round one another.
func newStack(p pour, stone shock.Medium, a, b float64) *shock.Stack {
	hot := 1000 * p.metal.EnthalpyKJKg(p.metalC)
	curve := shock.Curve(0, 1.05*hot, 600, func(h float64) float64 { return p.metal.TemperatureC(h / 1000) })
	solid := p.metal.SolidusC() - 50
	layers := []shock.Layer{
		{Thickness: a, Cells: 24, Stretch: 1 / 1.06, K: stone.K, Rho: stone.Rho, Heat: shock.Constant(stone.C), Start: p.clayC, Contact: math.Inf(1)},
		{Thickness: b - a, Cells: 24, Stretch: 1, K: p.metal.ConductivityWMK(solid), Rho: p.metal.LiquidDensityKgM3(p.metalC), Heat: curve, Start: p.metalC, Contact: p.film},
		{Thickness: 40e-3, Cells: 30, Stretch: 1.18, K: oilClay.K, Rho: oilClay.Rho, Heat: shock.Constant(oilClay.C), Start: p.clayC, Contact: p.clayContact},
	}
	bar := 2 * p.modulusMM / 1000 // radius of the round bar of this modulus
	area := func(r float64) float64 {
		if r <= b {
			return 4 * math.Pi * r * r
		}
		return 4 * math.Pi * b * b * (1 + (r-b)/bar) // the piece is a bar: heat spreads round it, not along
	}
	return shock.NewStack(layers, area, 0, 0)
}

// shellRadius returns b such that a shell from a to b has the volume over
// outer area of the section: (b³ − a³)/(3b²) = modulus.
func shellRadius(a, modulus float64) float64 {
	lo, hi := a, a+3*modulus+a
	for range 60 {
		mid := (lo + hi) / 2
		if (mid*mid*mid-a*a*a)/(3*mid*mid) < modulus {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// shockIndex is peak centre tension over strength for a sphere of radius mm
// at t0 that meets metal at tm through the film; a rank, not a prediction.
func shockIndex(m shock.Medium, e shock.Elastic, film, radiusMM, tm, t0 float64) (biot, index float64) {
	biot = film * radiusMM / 1000 / m.K
	return biot, shock.CentrePeak(biot) * (tm - t0) / e.Resistance()
}

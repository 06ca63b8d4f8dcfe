package fill

import (
	"math"

	"pourwright/internal/fill/front"
	"pourwright/internal/fluid"
)

// The uncertain quantities, in the order of a sample's coordinates.
const (
	dimPour = iota
	dimRate
	dimInterface
	dimEffusivity
	dimThickness
	dimChoke
	dimTension
	dimPermeability
	dims
)

// sample is one set of the uncertain quantities.
type sample struct {
	pour         float64 // K over the plan
	rate         float64 // over the plan
	interfaceH   float64 // W/(m² K)
	effusivity   float64 // over the plan
	thickness    float64 // m over the plan
	choke        float64
	tension      float64 // over the plan
	permeability float64 // over the plan
}

// planned is the middle of every scatter.
func (j *job) planned() sample {
	var u [dims]float64
	for i := range u {
		u[i] = 0.5
	}
	return j.draw(u[:])
}

// draw maps a point of the unit cube to the uncertain quantities.
func (j *job) draw(u []float64) sample {
	s := &j.scatter
	spread := func(u, pct float64) float64 { return math.Exp(math.Sqrt(math.Log1p(sq(pct/100))) * normal(u)) }
	d := sample{
		pour:         s.PourK * normal(u[dimPour]),
		rate:         spread(u[dimRate], s.PourRatePct),
		effusivity:   math.Pow(1+s.EffusivityPct/100, 2*u[dimEffusivity]-1),
		thickness:    s.ThicknessMM / 1e3 * normal(u[dimThickness]),
		choke:        j.choke[0] + (j.choke[1]-j.choke[0])*u[dimChoke],
		tension:      1 + s.TensionPct/100*(2*u[dimTension]-1),
		permeability: math.Pow(1+s.PermeabilityPct/100, 2*u[dimPermeability]-1),
	}
	if c := j.in.Calibration; c != nil {
		factor := 1.0
		d.interfaceH, factor = c.at(u[dimInterface], u[dimRate])
		d.rate = factor
		return d
	}
	lo, hi := j.in.InterfaceLowWM2K, j.in.InterfaceHighWM2K
	d.interfaceH = lo * math.Pow(hi/lo, u[dimInterface])
	return d
}

// normal is the quantile of the standard normal distribution, cut at ±3.
func normal(u float64) float64 {
	return max(-3, min(3, math.Sqrt2*math.Erfinv(2*u-1)))
}

// run follows one member; r holds its state afterwards.
type run struct {
	front.Run
	job        *job
	metal      front.Metal
	clay       front.Clay
	mould      front.Mould
	pour       front.Pour
	drawn      sample
	cells      []front.Cell
	free, back []float64
}

func (w *run) follow(j *job, d sample) {
	w.job, w.drawn = j, d
	w.metal = j.metal
	w.metal.Gamma *= d.tension
	k := &j.clay
	w.clay = front.Clay{K: k.ConductivityWMK * sq(d.effusivity), RhoC: k.DensityKgM3 * k.HeatCapacityJKgK, StartC: j.in.ClayC,
		H: d.interfaceH, Perm: fluid.AFSPermeability * k.PermeabilityAFS * d.permeability, Path: k.WallMM / 1e3}
	// A section cannot vanish: the impression keeps a fifth of its thinnest.
	thinnest, _ := j.profile.Thinnest()
	thickening := max(d.thickness, -0.8*thinnest/1e3)
	h := 1e3 * j.alloy.EnthalpyKJKg(max(j.pourC+d.pour, j.alloy.LiquidusC()+1))
	w.pour = front.Pour{Rate: j.rate * d.rate, Enthalpy: h, Choke: d.choke, Thickening: thickening}
	w.mould = j.mould
	w.Follow(&w.mould, &w.metal, &w.clay, w.pour)
	w.cells = w.cells[:0]
	for i := range w.mould.Ducts {
		w.cells = w.Cells(w.cells, i)
	}
}

// outcome is what matters of a member.
type outcome struct {
	misrun, coldShut, shrinkage bool
	details                     uint32 // bit set of those lost
	margin                      float64
}

func (o *outcome) fails() bool { return o.misrun || o.coldShut || o.shrinkage || o.details != 0 }

const filledShare = 0.995 // of a stretch; the rest is within the model's reach of one cell

// judge reads the outcome of the member just followed.
func (w *run) judge() outcome {
	var o outcome
	j := w.job
	stop := w.metal.AtSolid(w.drawn.choke)
	range_ := w.pour.Enthalpy - stop
	o.margin = 1
	empty := 0.0
	for i := range w.mould.Ducts {
		r := w.Result(i)
		if r.Filled < filledShare {
			o.misrun = true
			empty += (1 - r.Filled) * j.span[i]
		}
		if r.Meeting.Met {
			weld := w.metal.AtSolid(j.scatter.ColdShut)
			if r.Meeting.Enthalpy < weld {
				o.coldShut = true
			}
			o.margin = min(o.margin, (r.Meeting.Enthalpy-weld)/range_)
		}
	}
	for i := range w.cells {
		if c := &w.cells[i]; !math.IsNaN(c.Arrived) {
			o.margin = min(o.margin, (c.ArrivedAt-stop)/range_)
		}
	}
	if o.misrun {
		o.margin = -empty
		o.coldShut = false
	}
	if !o.misrun {
		o.shrinkage = w.feeding(nil) > isolatedShare*j.volume
	}
	for i := range j.in.Details {
		if w.detail(&j.in.Details[i]) < 1 {
			o.details |= 1 << i
		}
	}
	return o
}

// place returns the cell at the fraction f of the way from the gate.
func (w *run) place(f float64) *front.Cell {
	best, at := 0, math.Inf(1)
	for i := range w.cells {
		d := w.cells[i].Duct
		mid := w.job.offset[d] + w.job.span[d]*(w.cells[i].From+w.cells[i].To)/2
		gap := math.Abs(mid - f)
		if w.job.in.isBand() {
			gap = math.Abs(math.Remainder(mid-f, 1))
		}
		if gap < at {
			best, at = i, gap
		}
	}
	return &w.cells[best]
}

// pressure returns the greatest pressure in Pa that the metal of a cell feels
// while it is still liquid enough to move: the stem fills at the pour rate
// after the piece is full.
func (w *run) pressure(c *front.Cell) float64 {
	if !c.Filled {
		return 0
	}
	left := w.UntilEnthalpy(*c, w.metal.AtSolid(w.drawn.choke))
	level := w.LevelAfter(left)
	return fluid.Pressure(w.metal.Rho, max(0, level-c.Height))
}

// detail returns the share of a detail's depth that the metal enters: the
// meniscus of radius 2γ|cos|/p of a dimple, γ|cos|/p of a line, sags between
// the edges of the hollow and enters when it fits.
func (w *run) detail(d *Detail) float64 {
	c := w.place(d.AtPct / 100)
	p := w.pressure(c)
	if p <= 0 {
		return 0
	}
	half, depth := d.SizeMM/1e3, d.SizeMM/1e3 // a hemispherical dimple
	radius := 2 * w.metal.Gamma / p
	if d.Kind == "line" {
		half = d.SizeMM / 2e3
		depth = half
		if d.DepthMM > 0 {
			depth = d.DepthMM / 1e3
		}
		radius = w.metal.Gamma / p
	}
	if radius <= half {
		return 1
	}
	return min(1, (radius-math.Sqrt(radius*radius-half*half))/depth)
}

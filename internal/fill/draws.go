package fill

import (
	"math"

	"pourwright/internal/fill/network"
	"pourwright/internal/fill/sobol"
	"pourwright/internal/fluid"
)

// Studios differ in what they are; the pours of one differ by the hand. The
// two scatters are kept apart: studios × pours.
const (
	studios = 64
	each    = 8 // pours of each
	members = studios * each
)

// Coordinates of a studio beyond its unknowns.
const (
	ofEffusivity = unknowns + iota
	ofTension
	studioDims
)

// Coordinates of a pour.
const (
	ofTemperature = iota
	ofRate
	ofThickness
	ofGas
	ofFall
	ofBreak
	ofWall
	pourDims
)

// points are the same for every piece, so that two pieces differ by their own
// difference and not by the sampling.
var points = func() (p struct {
	studio [studios][studioDims]float64
	pour   [members][pourDims]float64
}) {
	for i := range p.studio {
		sobol.Point(p.studio[i][:], uint32(i), 1)
	}
	for i := range p.pour {
		sobol.Point(p.pour[i][:], uint32(i), 2)
	}
	return p
}()

// normal is the quantile of the standard normal distribution, cut at ±3.
func normal(u float64) float64 {
	return max(-3, min(3, math.Sqrt2*math.Erfinv(2*u-1)))
}

// From pour to pour, by our own choice where Scatter does not say.
const (
	gasSpread  = 0.25 // logarithmic standard deviation
	wallSpread = 0.10
	fallLow    = 0.020 // m from lip to funnel; practice
	fallHigh   = 0.060
	angleBand  = 0.10   // half-width of surface tension times cosine about 140°
	riseShare  = 0.5    // of a hand's time until its stream is full
	handGrams  = 6.5e-6 // m³ of the pour that a hand's time is for: 60 g of silver
)

// hand is how a hand differs from a practised one. Practice, no source.
type hand struct {
	slower   float64 // times the time
	uneven   float64 // times the scatter of rate and temperature
	breaks   float64 // share of pours in which the stream breaks off
	breakFor float64 // for so long, s
}

var hands = map[string]hand{
	"practised": {1, 1, 0.01, 0.3},
	"beginner":  {1.3, 1.5, 0.10, 0.5},
}

// studio is one set of the unknowns with what follows from it for this piece.
type studio struct {
	v          [unknowns]float64
	effusivity float64
	tension    float64
}

func (j *job) studio(i int) studio {
	var z [studioDims]float64
	for k, u := range points.studio[i] {
		z[k] = normal(u)
	}
	z = j.held.at(&z)
	return j.studioOf(&z)
}

// studioOf is the studio of given standard variables.
func (j *job) studioOf(z *[studioDims]float64) studio {
	s := j.studioAt(prior.at(z[:unknowns]))
	// The clay's diffusivity: the range that is held possible, about the clay given.
	wide := math.Sqrt(fluid.EffusivityHigh / fluid.EffusivityLow)
	if j.in.Clay != nil {
		wide = 1.1 // measured, or so the caller says
	}
	s.effusivity = math.Pow(wide, place(z[ofEffusivity]))
	s.tension = 1 + angleBand*place(z[ofTension])
	return s
}

// place in an even range from -1 to 1 of a standard normal variable.
func place(z float64) float64 { return math.Erf(z / math.Sqrt2) }

func (j *job) studioAt(x [unknowns]float64) studio {
	return studio{v: values(x), effusivity: 1, tension: 1}
}

// pour draws pour number i of a studio; nil u is the pour as planned.
func (j *job) pour(s studio, u []float64) network.Pour {
	h := hands[j.in.Hand]
	temperature, rate, thick, gas, wall := 0.0, 1.0, 0.0, 1.0, 1.0
	fall := (fallLow + fallHigh) / 2
	p := network.Pour{}
	time := s.v[pourTime] * h.slower
	if u != nil {
		temperature = j.scatter.PourK * h.uneven * normal(u[ofTemperature])
		spread := math.Sqrt(math.Log1p(sq(j.scatter.PourRatePct * h.uneven / 100)))
		rate = math.Exp(spread * normal(u[ofRate]))
		thick = j.scatter.ThicknessMM / 1e3 * normal(u[ofThickness])
		gas = math.Exp(gasSpread * normal(u[ofGas]))
		wall = math.Exp(wallSpread * normal(u[ofWall]))
		fall = fallLow + (fallHigh-fallLow)*u[ofFall]
		if b := u[ofBreak]; b < h.breaks {
			p.Break, p.Gap = b/h.breaks*time, h.breakFor
		}
	}
	p.Rate, p.Rise = j.stream(time)
	p.Rate *= rate
	p.Enthalpy = j.enthalpyAt(max(j.pourC+temperature, j.alloy.LiquidusC()+1))
	p.Fall, p.Thickening = fall, thick
	p.Interface = s.v[interfaceH] * wall
	p.Effusivity, p.Tension = s.effusivity, s.tension
	p.Mixing = s.v[mixingLength]
	p.Stop, p.Weld = j.stopAt(s.v[stopSolid]), s.v[weldSolid]
	p.Gas = s.v[gasPressure] * gas
	return p
}

// stream returns the full rate of a hand that takes the given time for 60 g of
// silver, m³/s, and how long its stream grows to that. A heavier charge is
// tipped out of a larger crucible in about the same time; a wider funnel takes
// more metal, but no faster into the piece.
func (j *job) stream(time float64) (rate, rise float64) {
	volume := j.handVolume()
	if j.in.PourTimeS != nil {
		time, volume = *j.in.PourTimeS, j.poured
	}
	rise = riseShare * time
	rate = volume / (time - rise/2)
	if j.in.PourRateMM3S != nil {
		rate = *j.in.PourRateMM3S / 1e9
	}
	return rate, rise
}

// handVolume is what a hand tips out in its time, m³.
func (j *job) handVolume() float64 {
	return math.Pow(math.Pow(handGrams, 4)+math.Pow(j.whole, 4), 0.25)
}

// stopAt carries the stop fraction of an alloy that freezes over 50 K or more
// to one that freezes at a point: there a skin must close, up to twice as much.
func (j *job) stopAt(f float64) float64 {
	w := math.Max(0, 1-(j.alloy.LiquidusC()-j.alloy.FreezingEndC())/50)
	return min(0.8, f*(1+w))
}

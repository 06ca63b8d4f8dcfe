package fill

import (
	"context"
	"math"

	"github.com/sourcegraph/conc"

	"pourwright/internal/calc"
	"pourwright/internal/fill/sobol"
)

// cloud is studios drawn from a belief, and what the evidence makes of each.
type cloud struct {
	z      [][studioDims]float64 // standard variables
	weight []float64             // likelihood of the records so far
	pours  int                   // followed of each studio and trial
}

// Seeds of the sequences, apart from those of fills.
const (
	seedOfStudios = 40
	seedOfTrials  = 50
)

func newCloud(h *held, size, pours int) *cloud {
	c := &cloud{z: make([][studioDims]float64, size), weight: make([]float64, size), pours: pours}
	for i := range c.z {
		var z [studioDims]float64
		sobol.Point(z[:], uint32(i), seedOfStudios)
		for k, u := range z {
			z[k] = normal(u)
		}
		c.z[i], c.weight[i] = h.at(&z), 1
	}
	return c
}

// proposal is a cloud drawn from h, widened, whose weights make up for that: the
// density of the prior over its own.
func proposal(h *held, size, pours int) *cloud {
	wide := &held{mean: h.mean}
	wide.lower.ScaleTri(widen, &h.lower)
	c := newCloud(wide, size, pours)
	plain := newCloud(nil, size, pours)
	for i := range c.weight {
		log := 0.0
		for k := range studioDims {
			log += (sq(plain.z[i][k])-sq(c.z[i][k]))/2 + math.Log(wide.lower.At(k, k))
		}
		c.weight[i] = math.Exp(log)
	}
	return c
}

// effective is the number of equally weighed studios that would tell as much.
func (c *cloud) effective() float64 {
	sum, square := 0.0, 0.0
	for _, w := range c.weight {
		sum += w
		square += w * w
	}
	return sum * sum / square
}

// Classes of an outcome. Of a piece, in this order; of a test strip, full and
// then by how far it ran.
const (
	full = iota
	seam
	porous
	short
	reachClasses = 6
	classes      = 1 + reachClasses
)

// chances of the classes of an outcome; they add up to 1.
type chances [classes]float64

// trial is one pour, past or proposed, in every studio of a cloud.
type trial struct {
	chances []chances
	likely  []float64 // likelihood of what was seen; of a past pour alone
	spoilt  []float64 // share that fails, as fills counts it, without other causes
	within  []float64 // variance of that share, of so few pours
	seen    int       // class
}

// reading is what a member's run says of a trial.
type reading struct {
	chances
	likely float64
}

// follow pours a trial in every studio. Each trial has its own draws from pour
// to pour, so that the mean of a product over trials is that of independent
// pours.
func (c *cloud) follow(ctx context.Context, j *job, slot int, read func(w *run, o *outcome) reading) (*trial, error) {
	n := len(c.z)
	t := &trial{chances: make([]chances, n), likely: make([]float64, n), spoilt: make([]float64, n), within: make([]float64, n)}
	workers := calc.Cores(ctx)
	var wait conc.WaitGroup // a panic becomes the caller's
	for k := range workers {
		wait.Go(func() {
			w := new(run)
			for i := k; i < n && ctx.Err() == nil; i += workers {
				c.studio(j, w, i, slot, t, read)
			}
		})
	}
	wait.Wait()
	return t, ctx.Err()
}

func (c *cloud) studio(j *job, w *run, i, slot int, t *trial, read func(w *run, o *outcome) reading) {
	s := j.studioOf(&c.z[i])
	square, each := 0.0, 1/float64(c.pours)
	for n := range c.pours {
		var u [pourDims]float64
		sobol.Shuffled(u[:], uint32(i*c.pours+n), uint32(seedOfTrials+slot))
		w.follow(j, j.pour(s, u[:]))
		o := w.judge(nil)
		r := read(w, &o)
		for k, p := range r.chances {
			t.chances[i][k] += p * each
		}
		t.likely[i] += r.likely * each
		f := o.fails()
		t.spoilt[i] += f * each
		square += f * f * each
	}
	t.within[i] = (square - sq(t.spoilt[i])) / max(1, float64(c.pours-1))
}

// Of what no model holds, short charges and crumbs that stop the metal, crumbs
// that make pores, and oxide between streams; our shares.
const (
	otherShort  = 0.4
	otherPorous = 0.4
	otherSeam   = 0.2
	poresSeen   = 0.5 // of castings that froze unfed, so many are seen to be porous
)

// piece returns the chances of a piece's classes: it fails as fills counts it
// unless it is full or porous by shrinkage alone.
func (j *job) piece(o *outcome) (c chances) {
	whole := 1 - soft(o.misrun)
	meets := 1 - soft(o.cold)
	if o.broken {
		meets = 0
	}
	other := j.other()
	unfed := 0.0
	if o.unfed {
		unfed = poresSeen
	}
	sound := whole * meets
	c[full] = sound * (1 - other) * (1 - unfed)
	c[porous] = sound*(1-other)*unfed + sound*other*otherPorous
	c[seam] = whole*(1-meets) + sound*other*otherSeam
	c[short] = 1 - whole + sound*other*otherShort
	return c
}

// take folds a trial's evidence into the weights.
func (c *cloud) take(t *trial) {
	for i, l := range t.likely {
		c.weight[i] *= l
	}
}

// expect is the mean over the weighted studios.
func expect(v, weight []float64) float64 {
	sum, total := 0.0, 0.0
	for i, w := range weight {
		sum += w * v[i]
		total += w
	}
	return sum / total
}

// handTime is how long a pour takes a hand whose time for 60 g is given.
func (j *job) handTime(time float64) float64 {
	volume := j.handVolume()
	rise := riseShare * time
	return rise/2 + j.poured*(time-rise/2)/volume
}

// timeSpread is the logarithmic scatter of a time that was read from a video.
func (j *job) timeSpread() float64 {
	h := hands[j.in.Hand]
	return math.Sqrt(math.Log1p(sq(j.scatter.PourRatePct*h.uneven/100)) + timeError*timeError)
}

// hand is how well the time of a video agrees with each studio's hand.
func (c *cloud) hand(j *job, seen float64) []float64 {
	out := make([]float64, len(c.z))
	for i := range c.z {
		gap := c.gap(j, i, seen)
		out[i] = math.Exp(-gap * gap / 2)
	}
	return out
}

// gap of a time to what a studio's hand takes, in standard deviations.
func (c *cloud) gap(j *job, i int, seen float64) float64 {
	v := values(prior.at(c.z[i][:unknowns]))
	return math.Log(seen/j.handTime(v[pourTime]*hands[j.in.Hand].slower)) / j.timeSpread()
}

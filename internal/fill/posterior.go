package fill

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"gonum.org/v1/gonum/mat"

	"pourwright/internal/calc"
)

// Posterior is what a studio's own pours say of its clay and its hand, by what
// they changed: along a few directions in the space of the unknowns, each
// measured in standard deviations of what was held before, they left a normal
// distribution other than the standard one. Along every direction at a right
// angle to these, nothing was learnt. The directions are the principal axes of
// what is held after, so that nothing is correlated between them.
type Posterior struct {
	Prior        string        `json:"prior" pattern:"^[0-9a-f]{8}$" minLength:"8" maxLength:"8" doc:"Which knowledge of the trade at large it changes; another release may hold another"`
	Agrees       bool          `json:"agrees" doc:"Whether the records agreed with one another and with what is known"`
	Combinations []Combination `json:"combinations" maxItems:"5" doc:"What was learnt: independent combinations of the unknowns, the one that says most first"`
}

// Combination is one direction in which the unknowns are known better.
type Combination struct {
	Weights []float64 `json:"weights" minItems:"8" maxItems:"8" minimum:"-1" maximum:"1" doc:"Weight of each unknown's own standard variable, in the order heat, stop, weld, gas, time, mixing, clay (its heat diffusivity), tension (of the metal's surface); their squares add up to 1"`
	Mean    float64   `json:"mean" minimum:"-6" maximum:"6" doc:"Mean after the records, 0 before"`
	SD      float64   `json:"sd" minimum:"0.001" maximum:"5" doc:"Standard deviation after the records, 1 before"`
}

const (
	mostCombinations = 5
	leastBits        = 0.005 // a combination that says less is left out
	orthogonal       = 1e-3  // of weights that were rounded on the way
)

// priorMark names the prior by its figures.
var priorMark = func() string {
	h := sha256.New()
	for _, v := range slices.Concat(prior.Mean, prior.Lower) {
		_ = binary.Write(h, binary.BigEndian, v)
	}
	return hex.EncodeToString(h.Sum(nil))[:8]
}()

// compress keeps the combinations that say most of weighted points in the
// standard variables of the prior, and returns the bits that all of them say.
func compress(z [][studioDims]float64, weight []float64) (p Posterior, bits float64) {
	mean, cov := covariance(z, weight)
	var eigen mat.EigenSym
	eigen.Factorize(cov, true)
	var axes mat.Dense
	eigen.VectorsTo(&axes)
	p = Posterior{Prior: priorMark, Agrees: true, Combinations: []Combination{}}
	for k, v := range eigen.Values(nil) {
		c := Combination{Weights: mat.Col(nil, k, &axes), SD: math.Sqrt(max(1e-6, v))}
		largest := 0
		for i, w := range c.Weights {
			c.Mean += w * mean[i]
			if math.Abs(w) > math.Abs(c.Weights[largest]) {
				largest = i
			}
		}
		if c.Weights[largest] < 0 { // an axis has two directions; the plainer one
			for i := range c.Weights {
				c.Weights[i] = -c.Weights[i]
			}
			c.Mean = -c.Mean
		}
		bits += c.bits()
		p.Combinations = append(p.Combinations, c)
	}
	sort.SliceStable(p.Combinations, func(a, b int) bool { return p.Combinations[a].bits() > p.Combinations[b].bits() })
	p.Combinations = p.Combinations[:mostCombinations]
	for len(p.Combinations) > 0 && p.Combinations[len(p.Combinations)-1].bits() < leastBits {
		p.Combinations = p.Combinations[:len(p.Combinations)-1]
	}
	return p, bits
}

// bits is the divergence of the combination from the standard normal
// distribution (Kullback and Leibler).
func (c *Combination) bits() float64 {
	v := c.SD * c.SD
	return max(0, (v+c.Mean*c.Mean-1-math.Log(v))/2) / math.Ln2
}

// held is what is held of a studio: a normal distribution of the standard
// variables of the prior. The unknowns follow by the prior's own mean and
// covariance, clay and tension by their place in their range.
type held struct {
	mean  [studioDims]float64
	lower mat.TriDense
}

// held has the mean Σ μ w and the covariance I + Σ (σ² − 1) w wᵀ.
func (p *Posterior) held() *held {
	cov := mat.NewSymDense(studioDims, nil)
	for i := range studioDims {
		cov.SetSym(i, i, 1)
	}
	h := new(held)
	for _, c := range p.Combinations {
		cov.SymRankOne(cov, c.SD*c.SD-1, mat.NewVecDense(studioDims, slices.Clone(c.Weights)))
		for i, w := range c.Weights {
			h.mean[i] += c.Mean * w
		}
	}
	var chol mat.Cholesky
	chol.Factorize(cov)
	chol.LTo(&h.lower)
	return h
}

// at carries a point of independent standard variables to those of a studio.
func (h *held) at(z *[studioDims]float64) (out [studioDims]float64) {
	if h == nil {
		return *z
	}
	for i := range out {
		out[i] = h.mean[i]
		for k := range i + 1 {
			out[i] += h.lower.At(i, k) * z[k]
		}
	}
	return out
}

// interval of an unknown, nine in ten inside.
func (h *held) interval(k int) Interval {
	var z [studioDims]float64
	mid := prior.at(h.mean[:unknowns])[k]
	sd := 0.0
	for j := range studioDims {
		z = h.mean
		for i := j; i < studioDims; i++ {
			z[i] += h.lower.At(i, j)
		}
		sd += sq(prior.at(z[:unknowns])[k] - mid)
	}
	wide := ninety * math.Sqrt(sd)
	from := unknownTable[k].fromPlain
	return Interval{from(mid - wide), from(mid), from(mid + wide)}
}

func (p *Posterior) check() error {
	var c calc.Checks
	c.Bounds(*p)
	if p.Prior != priorMark {
		c.Refuse("prior", p.Prior, "give a posterior of this release, whose prior is %s: give your records to calibrations again", priorMark)
	}
	for i := range p.Combinations {
		if c.Under(fmt.Sprintf("combinations[%d]", i), calc.InBounds(p.Combinations[i])); c.Err() != nil {
			return c.Err()
		}
		for j := range i + 1 {
			a, b, dot, want := p.Combinations[i].Weights, p.Combinations[j].Weights, 0.0, 0.0
			for k := range a {
				dot += a[k] * b[k]
			}
			if i == j {
				want = 1
			}
			if !(math.Abs(dot-want) < orthogonal) {
				c.Refuse("combinations", dot, "give the combinations as calibrations gave them: squares of weights add up to 1, and products of two combinations to 0")
				return c.Err()
			}
		}
	}
	return c.Err()
}

// words names the unknowns that make up most of a combination.
func (c *Combination) words() string {
	const noticed = 0.35
	var parts []string
	for k, w := range c.Weights {
		if math.Abs(w) >= noticed {
			sign := ""
			if w < 0 {
				sign = "less "
			}
			parts = append(parts, sign+nameOf(k))
		}
	}
	return strings.Join(parts, ", ")
}

func nameOf(k int) string {
	if k < unknowns {
		return unknownTable[k].Name
	}
	return map[int]string{ofEffusivity: "heat diffusivity of the clay", ofTension: "surface tension"}[k]
}

package fill

import "math"

// surprises is how likely the records were held to be, before any of them.
type surprises struct {
	alone  []float64 // chance of an outcome no more likely than that of the record
	others []float64 // of the record's outcome, given all the others
	all    float64   // of records that are together no more likely than these
}

const (
	surprising = 0.01
	replicates = 2048
)

// agrees says whether no record, nor all together, was all but impossible. A
// single record is held to a hundredth over their number, so that one of twenty
// does not cry wolf.
func (s *surprises) agrees() bool {
	for i := range s.alone {
		if s.doubtful(i) {
			return false
		}
	}
	return s.all >= surprising
}

func (s *surprises) doubtful(i int) bool {
	limit := surprising / float64(len(s.alone))
	return s.alone[i] < limit || s.others[i] < limit
}

// surprise holds the records against what the cloud predicts, no evidence
// taken yet. That of all together is the share of invented records, drawn from
// the cloud, that are no more likely than the real ones.
func (c *cloud) surprise(trials []*trial) surprises {
	s := surprises{all: 1}
	n := float64(len(c.z))
	product := func(class func(r int) int, without int) float64 {
		sum := 0.0
		for i := range c.z {
			p := 1.0
			for r, t := range trials {
				if r != without {
					p *= t.chances[i][class(r)]
				}
			}
			sum += p
		}
		return sum / n
	}
	seen := func(r int) int { return trials[r].seen }
	joint := product(seen, -1)
	for r, t := range trials {
		var mean chances
		for i := range t.chances {
			for k, p := range t.chances[i] {
				mean[k] += p / n
			}
		}
		alone := 0.0
		for _, p := range mean {
			if p <= mean[t.seen]*(1+1e-9) {
				alone += p
			}
		}
		s.alone = append(s.alone, alone)
		given := 0.0
		if rest := product(seen, r); rest > 0 {
			given = joint / rest
		}
		s.others = append(s.others, given)
	}
	if len(trials) > 0 {
		rarer := 0
		for m := range replicates {
			drawn := make([]int, len(trials))
			for r, t := range trials {
				drawn[r] = t.chances[m%len(t.chances)].at(lattice(m, r))
			}
			if product(func(r int) int { return drawn[r] }, -1) <= joint*(1+1e-9) {
				rarer++
			}
		}
		s.all = float64(rarer) / replicates
	}
	return s
}

// at is the class at which the chances add up to u.
func (c *chances) at(u float64) int {
	for k, p := range c {
		if u -= p; u < 0 {
			return k
		}
	}
	return 0
}

// lattice is coordinate r of point m of Richtmyer's sequence, fractions of
// multiples of the square roots of primes.
func lattice(m, r int) float64 {
	_, f := math.Modf(float64(m+1) * math.Sqrt(primes[r]))
	return f
}

var primes = [mostRecords]float64{2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71}

// late is the chance that a studio's hand is as far from the time of a video.
func (c *cloud) late(j *job, seen float64) float64 {
	below := 0.0
	for i := range c.z {
		below += math.Erfc(-c.gap(j, i, seen)/math.Sqrt2) / 2 / float64(len(c.z))
	}
	return 2 * min(below, 1-below)
}

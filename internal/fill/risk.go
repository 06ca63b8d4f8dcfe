package fill

import (
	"context"
	"math"
	"runtime"

	"github.com/sourcegraph/conc"

	"pourwright/internal/fill/sobol"
)

// The members are several independently scrambled batches, whose differences
// give the sampling error.
const (
	batches  = 8
	perBatch = 64
	members  = batches * perBatch
)

// risk is the outcome of all members.
type risk struct {
	outcomes [members]outcome
	points   [members][dims]float64
}

// assess follows every member, on all processors; the answer does not depend
// on how many there are.
func assess(ctx context.Context, j *job) (*risk, error) {
	r := new(risk)
	workers := min(runtime.GOMAXPROCS(0), batches)
	var wait conc.WaitGroup // a panic becomes the caller's
	for k := range workers {
		wait.Go(func() {
			w := new(run)
			for i := k; i < members; i += workers {
				if i%16 < workers && ctx.Err() != nil {
					return
				}
				u := r.points[i][:]
				sobol.Point(u, uint32(i%perBatch), uint32(i/perBatch))
				w.follow(j, j.draw(u))
				r.outcomes[i] = w.judge()
			}
		})
	}
	wait.Wait()
	return r, ctx.Err()
}

// share is a probability with the error of its sampling.
type share struct{ p, se, top float64 }

// of returns the share of members for which f holds. Its standard error comes
// from the scatter between batches; the upper bound never falls below what
// 512 independent trials would allow (3/n if none failed: the rule of three).
func (r *risk) of(f func(*outcome) bool) share {
	var batch [batches]float64
	for i := range r.outcomes {
		if f(&r.outcomes[i]) {
			batch[i/perBatch] += 1.0 / perBatch
		}
	}
	mean, square := 0.0, 0.0
	for _, b := range batch {
		mean += b / batches
	}
	for _, b := range batch {
		square += sq(b - mean)
	}
	se := math.Sqrt(square / (batches * (batches - 1)))
	const student = 1.895 // one-sided 95 % quantile for 7 degrees of freedom
	return share{mean, se, min(1, max(mean+student*se, 3.0/members))}
}

func (r *risk) failure() share { return r.of((*outcome).fails) }

// causes ranks the uncertain quantities by their share in the scatter of the
// margin: a linear regression of the margin's ranks on the ranks of the
// quantities, which are all but independent by construction, so that each
// squared coefficient is a share of the variance. What is left is curvature
// and interplay.
func (r *risk) causes(named []string) []Cause {
	margins := make([]float64, members)
	for i := range margins {
		margins[i] = r.outcomes[i].margin
	}
	ranked := ranks(margins)
	out := make([]Cause, 0, dims)
	for d, name := range named {
		if name == "" {
			continue
		}
		column := make([]float64, members)
		for i := range column {
			column[i] = r.points[i][d]
		}
		rho := correlation(ranks(column), ranked)
		c := Cause{Cause: name, SharePct: 100 * rho * rho, Helps: "neither"}
		if math.Abs(rho) > 0.09 { // twice 1/√512, what chance alone would show
			c.Helps = "more"
			if rho < 0 {
				c.Helps = "less"
			}
		}
		out = append(out, c)
	}
	return out
}

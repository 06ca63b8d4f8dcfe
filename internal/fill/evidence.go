package fill

import (
	"context"
	"math"

	"github.com/sourcegraph/conc"

	"pourwright/internal/calc"
	"pourwright/internal/fill/sobol"
)

// How the prior is made: studios drawn from what physics leaves open, weighed
// by what the trade expects of a practised hand, each row of practice as a few
// pours with a few failures. The trade is many studios and no count, so a row
// is worth at most five pours, and a family of like rows no more than one.
const (
	priorStudios = 1024
	priorRounds  = 3   // each draws from what the one before left,
	priorWiden   = 1.3 // so much wider
	priorPours   = 3
	pourEvidence = 5.0
	surelyNot    = 0.01 // a chance nearer to 0 or 1 than this is not evidence
)

// MakePrior works the prior out and how each row stands to it, with the row and
// without. It takes minutes; report is told how far it is.
func MakePrior(ctx context.Context) (Record, error) {
	rows, err := practice()
	if err != nil {
		return Record{}, err
	}
	from := physics()
	var e evidence
	for range priorRounds {
		e = evidence{rows: rows}
		e.draw(&from)
		for _, r := range rows {
			for k := range r.Cases {
				if err := e.follow(ctx, &r, k); err != nil {
					return Record{}, err
				}
			}
			calc.Progress(ctx, 0, "followed "+r.Row)
		}
		from = moments(e.x, e.weights(-1))
		for i := range from.Lower {
			from.Lower[i] *= priorWiden
		}
	}
	return e.record(), nil
}

// physics is what the ranges alone leave: independent unknowns.
func physics() Belief {
	b := Belief{Mean: make([]float64, unknowns), Lower: make([]float64, unknowns*(unknowns+1)/2)}
	for k := range unknowns {
		b.Mean[k], b.Lower[k*(k+1)/2+k] = unknownTable[k].physical()
	}
	return b
}

// evidence is the studios and what each makes of every case.
type evidence struct {
	rows  []practiceRow
	x     [][unknowns]float64
	own   []float64   // logarithm of the weight before the evidence
	fails [][]float64 // by case in order, by studio
	of    []int       // row of each case
	cases []practiceCase
}

// draw takes the studios from a belief; own is what makes up for it not being
// that of physics.
func (e *evidence) draw(from *Belief) {
	e.x, e.own = make([][unknowns]float64, priorStudios), make([]float64, priorStudios)
	held := physics()
	for i := range e.x {
		var u, z [unknowns]float64
		sobol.Point(u[:], uint32(i), 20)
		for k := range u {
			z[k] = normal(u[k])
		}
		e.x[i] = from.at(z[:])
		e.own[i] = held.logDensity(e.x[i]) - from.logDensity(e.x[i])
	}
}

// follow pours one case in every studio.
func (e *evidence) follow(ctx context.Context, r *practiceRow, k int) error {
	in, err := r.Cases[k].input(r.Super)
	if err != nil {
		return err
	}
	j, err := prepare(ctx, in)
	if err != nil {
		return err
	}
	p := make([]float64, priorStudios)
	workers := calc.Cores(ctx)
	var wait conc.WaitGroup
	for n := range workers {
		wait.Go(func() {
			w := new(run)
			for i := n; i < priorStudios && ctx.Err() == nil; i += workers {
				s := j.studio(i % studios)
				s.v = values(e.x[i])
				for m := range priorPours {
					w.follow(j, j.pour(s, points.pour[(i*priorPours+m)%members][:]))
					o := w.judge(nil)
					p[i] += o.fails() / priorPours
				}
				p[i] = 1 - (1-p[i])*(1-j.other())
			}
		})
	}
	wait.Wait()
	e.fails = append(e.fails, p)
	e.cases = append(e.cases, r.Cases[k])
	for i := range e.rows {
		if e.rows[i].Row == r.Row {
			e.of = append(e.of, i)
		}
	}
	return ctx.Err()
}

// weights returns the weight of every studio by all rows but the one left out
// (-1 for none).
func (e *evidence) weights(leftOut int) []float64 {
	count := map[string]float64{} // cases of a family
	for c := range e.cases {
		count[e.rows[e.of[c]].Family]++
	}
	w := make([]float64, priorStudios)
	most := math.Inf(-1)
	for i := range w {
		w[i] = e.own[i]
		for c := range e.cases {
			if e.of[c] == leftOut {
				continue
			}
			p := max(surelyNot, min(1-surelyNot, e.fails[c][i]))
			f := e.cases[c].Expect / 100
			w[i] += pourEvidence / count[e.rows[e.of[c]].Family] * (f*math.Log(p) + (1-f)*math.Log(1-p))
		}
		most = max(most, w[i])
	}
	for i := range w {
		w[i] = math.Exp(w[i] - most)
	}
	return w
}

func (e *evidence) record() Record {
	all := e.weights(-1)
	out := Record{Belief: moments(e.x, all), Studios: priorStudios, Pours: priorPours}
	sum, square := 0.0, 0.0
	for _, w := range all {
		sum += w
		square += w * w
	}
	out.Effective = math.Round(sum * sum / square)
	for r := range e.rows {
		without := e.weights(r)
		f := RowFit{Row: e.rows[r].Row, Holds: true}
		for c := range e.cases {
			if e.of[c] != r {
				continue
			}
			f.Cases = append(f.Cases, e.cases[c].Name)
			f.Band = append(f.Band, [2]float64{e.cases[c].Low, e.cases[c].High})
			f.With = append(f.With, mean(e.fails[c], all))
			p := mean(e.fails[c], without)
			f.Without = append(f.Without, p)
			if p < e.cases[c].Low-0.5 || p > e.cases[c].High+0.5 {
				f.Holds = false
			}
		}
		out.Evidence = append(out.Evidence, f)
	}
	for k := range unknowns {
		u := &unknownTable[k]
		mid, sd := u.physical()
		after, at := 0.0, k*(k+1)/2
		for n := range k + 1 {
			after += sq(out.Belief.Lower[at+n])
		}
		after = math.Sqrt(after)
		band := func(m, s float64) [3]float64 {
			return [3]float64{u.fromPlain(m - 1.6449*s), u.fromPlain(m), u.fromPlain(m + 1.6449*s)}
		}
		out.Unknowns = append(out.Unknowns, UnknownFit{u.Name, u.Unit, u.Why, band(mid, sd), band(out.Belief.Mean[k], after)})
	}
	return out
}

// mean in per cent, to a tenth.
func mean(v, weight []float64) float64 {
	sum, total := 0.0, 0.0
	for i, w := range weight {
		sum += w * v[i]
		total += w
	}
	return math.Round(1000*sum/total) / 10
}

package fill

import (
	"context"

	"pourwright/internal/fill/sobol"
)

// Screening is a coarse look at a pour: the planned run and a few members of
// the scatter. It ranks ways to pour; it is no probability to rely on.
type Screening struct {
	Margin   float64   // of the planned run, as in Nominal
	Failing  float64   // share of the members that fail
	Flask    Flask     // what the metal does to the flask
	Meetings []float64 // where streams meet in the planned run, fractions of the way from the gate
}

// Screen follows the planned run of in and the first members of the same
// scatter that [Risk] draws from, so that two pours differ by their own
// difference and not by the sampling.
func Screen(ctx context.Context, in In, first int) (Screening, error) {
	j, err := prepare(ctx, in)
	if err != nil {
		return Screening{}, err
	}
	w := new(run)
	w.follow(j, j.planned())
	s := Screening{Margin: w.judge().margin, Flask: j.flask()}
	for i := range w.mould.Ducts {
		if m := w.Result(i).Meeting; m.Met {
			at := j.offset[i] + j.span[i]*m.At
			if at < 0 {
				at++
			}
			s.Meetings = append(s.Meetings, at)
		}
	}
	var u [dims]float64
	for i := range min(first, members) {
		if i%8 == 0 && ctx.Err() != nil {
			return s, ctx.Err()
		}
		sobol.Point(u[:], uint32(i), 0)
		w.follow(j, j.draw(u[:]))
		if o := w.judge(); o.fails() {
			s.Failing += 1 / float64(first)
		}
	}
	return s, ctx.Err()
}

package fill

import (
	"cmp"
	"context"
	"math"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/fill/network"
	"pourwright/internal/fluid"
	"pourwright/internal/verdict"
)

// Funnel is the junction of a [Shared] at the floor of the funnel.
const Funnel = 0

// Shared is several pieces in one flask on one sprue system. Heights are over
// the floor of the funnel, below is negative.
type Shared struct {
	Pieces   []Part
	Channels []Channel // sprue, runners and gates; every junction hangs together with [Funnel]

	Flask            Flask   // as its layout has it; the gap that stays dry is worked out here
	FunnelHeadMM     float64 // depth of metal in the funnel
	FunnelDiameterMM float64 // mean diameter of the metal in it
}

// Part is a piece of a shared flask. Alloy, clay, hand and the like of the first
// are those of the pour; its own sprue measures are those of its gate.
type Part struct {
	In
	Field    string  // by which a refusal names it
	Junction int     // where its gate enters it
	GateMM   float64 // height of that
	Mirrored bool    // it hangs to the other side of the sprue than a side gate has it by itself
}

// Channel is a round channel of the sprue system.
type Channel struct {
	From, To   int // junctions
	LengthMM   float64
	DiameterMM float64
	FromMM     float64 // heights of its ends
	ToMM       float64
	Turns      bool // the metal strikes its wall as it enters
}

// channelCell is the aimed length of a cell of a channel, m: it cools less than
// the pieces do, and few cells carry it.
const channelCell = 6e-3

// Change is another way to pour a shared flask.
type Change struct {
	Name   string
	Do     string  // the instruction
	Effort float64 // as of an improvement
	Patch  Patch   // of the mould of its pieces
	Shared Shared  // the flask so changed
}

// cellsOfMany is how many cells the longest reach of three pieces and more is cut
// into: time goes with the square of it, and so many pieces are met with smaller
// ones; see the test of it for what that changes.
const cellsOfMany = 12

// FollowShared follows one pour into several pieces as one network and answers
// for each piece as [Follow] does, with its own risk. Where a piece is not a
// plain go the changes are tried, and those told that help the piece that fails
// most. Errors are refusals, with the field of the piece.
func FollowShared(ctx context.Context, s Shared, changes func() []Change) ([]Out, error) {
	jobs, err := s.prepare(ctx)
	if err != nil {
		return nil, err
	}
	risks, err := assessShared(ctx, jobs, studios, each)
	if err != nil {
		return nil, err
	}
	var tried []triedChange
	if slices.ContainsFunc(risks, (*risk).overLimit) {
		if tried, err = tryChanges(ctx, risks, changes()); err != nil {
			return nil, err
		}
	}
	flask, metal := s.Flask, &jobs[0].metal
	flask.SpillGapMM = 1e3 * fluid.SpillGap(metal.Gamma, 1, metal.Rho, fluid.Head(metal.Rho, 1e3*flask.PressureKPa))
	w := new(run)
	w.follow(jobs[0], jobs[0].pour(jobs[0].planned(), nil))
	outs := make([]Out, len(jobs))
	for i, j := range jobs {
		w.job = j
		w.judge(nil)
		out := Out{Notes: calc.Noting(ctx), Reasons: verdict.Reasons{}, Improvements: []Improvement{}, Flask: flask}
		for k := range tried {
			out.Improvements = append(out.Improvements, tried[k].of(risks[i], i))
		}
		if err := out.tell(ctx, risks[i], w, false); err != nil {
			return nil, err
		}
		outs[i] = out
	}
	return outs, nil
}

// prepare makes a job of every piece, all on one network.
func (s *Shared) prepare(ctx context.Context) ([]*job, error) {
	net := s.system()
	next := s.junctions()
	jobs := make([]*job, len(s.Pieces))
	whole := 0.0
	for i := range s.Pieces {
		p := &s.Pieces[i]
		in := p.In
		in.Improvements, in.SprueCount = false, 1
		in.FunnelHeadMM, in.FunnelDiameterMM = s.FunnelHeadMM, s.FunnelDiameterMM
		j, err := begin(ctx, in)
		if err != nil {
			return nil, calc.Under(p.Field, err)
		}
		j.part, j.gateM, j.mirrored, j.shared = i, p.GateMM/1e3, p.Mirrored, true
		j.net = net
		j.oneGate(p.Junction, next)
		next++
		j.vents()
		net = j.net
		whole += j.volume
		jobs[i] = j
	}
	longest := 0.0
	for i := range net.Reaches {
		if r := &net.Reaches[i]; r.Piece != network.NoPiece {
			longest = max(longest, r.Length())
		}
	}
	net.Spacing = longest / network.DefaultCells
	if len(jobs) > 2 {
		net.Spacing = longest / cellsOfMany
	}
	mesh := network.NewMesh(&net)
	channels := s.channelsM3()
	for i, j := range jobs {
		j.net, j.mesh = net, mesh
		j.whole = whole + channels + net.Funnel.Area*funnelDeep
		j.poured = whole + channels + s.FunnelHeadMM/1e3*j.funnelArea()
		if err := j.fits(); err != nil {
			return nil, calc.Under(s.Pieces[i].Field, err)
		}
	}
	return jobs, nil
}

// system is the network without the pieces.
func (s *Shared) system() network.Network {
	var net network.Network
	mouths := 0.0
	for _, c := range s.Channels {
		d, l := c.DiameterMM/1e3, c.LengthMM/1e3
		r := network.Reach{From: c.From, To: c.To, Piece: network.NoPiece, Cells: max(1, int(math.Round(l/channelCell))), Sections: roundChannel(d, l, c.FromMM/1e3, c.ToMM/1e3)}
		switch {
		case c.From == Funnel:
			r.Loss, mouths = fluid.EntryLoss, mouths+math.Pi/4*d*d
		case c.Turns:
			r.Loss = fluid.TurnLoss
		}
		net.Reaches = append(net.Reaches, r)
	}
	net.Funnel = funnelOver(s.FunnelHeadMM, mouths)
	return net
}

func (s *Shared) channelsM3() (sum float64) {
	for _, c := range s.Channels {
		sum += math.Pi / 4e9 * sq(c.DiameterMM) * c.LengthMM
	}
	return sum
}

// junctions is how many the channels have.
func (s *Shared) junctions() int {
	most := 0
	for _, c := range s.Channels {
		most = max(most, c.From, c.To)
	}
	return most + 1
}

// assessShared follows the pours of the first studios once and judges each piece
// of every one; the answer does not depend on how many cores there are.
func assessShared(ctx context.Context, jobs []*job, studios, pours int) ([]*risk, error) {
	risks := make([]*risk, len(jobs))
	for i, j := range jobs {
		risks[i] = &risk{job: j, outcomes: make([]outcome, studios*pours), pours: pours, studios: studios, other: j.other()}
	}
	tallies := make([]tally, studios*len(jobs))
	overStudios(ctx, studios, func(w *run, i int) {
		st := jobs[0].studio(i)
		for n := range pours {
			if ctx.Err() != nil { // a flask of many takes long
				return
			}
			w.follow(jobs[0], jobs[0].pour(st, points.pour[i*each+n][:]))
			for k, j := range jobs {
				w.job = j
				risks[k].outcomes[i*pours+n] = w.judge(&tallies[i*len(jobs)+k])
			}
		}
	})
	for i := range tallies {
		risks[i%len(jobs)].cells.add(&tallies[i])
	}
	return risks, ctx.Err()
}

// overLimit says whether more of the pours fail than are accepted.
func (r *risk) overLimit() bool {
	return level(r.job.in.RiskLimitPct, r.chance()) != verdict.Go
}

// triedChange is a change with what it makes of each piece.
type triedChange struct {
	Change
	risks []*risk
	worst float64 // failure of the piece that fails most
}

// changesTold is how many changes of a shared flask are told at most.
const changesTold = 2

// tryChanges looks coarsely at the changes and confirms the best by the full
// calculation, the one that gains most first.
func tryChanges(ctx context.Context, before []*risk, changes []Change) ([]triedChange, error) {
	var list []triedChange
	now := worstOf(before, screenStudios, screenPours)
	for _, c := range changes {
		t := triedChange{Change: c}
		if err := t.assess(ctx, screenStudios, screenPours); err != nil {
			return nil, err
		}
		if t.risks != nil && t.worst < now-noise {
			list = append(list, t)
		}
	}
	byWorst := func(a, b triedChange) int { return cmp.Compare(a.worst, b.worst) }
	slices.SortStableFunc(list, byWorst)
	list = list[:min(changesTold, len(list))]
	for i := range list {
		if err := list[i].assess(ctx, studios, each); err != nil {
			return nil, err
		}
	}
	now = worstOf(before, studios, each)
	list = slices.DeleteFunc(list, func(t triedChange) bool { return t.worst > now-noise })
	slices.SortStableFunc(list, byWorst)
	return list, nil
}

// assess follows the changed flask; one that cannot be is left without risks.
func (t *triedChange) assess(ctx context.Context, studios, pours int) error {
	jobs, err := t.Shared.prepare(ctx)
	if err != nil {
		t.risks = nil
		return ctx.Err()
	}
	if t.risks, err = assessShared(ctx, jobs, studios, pours); err != nil {
		return err
	}
	t.worst = worstOf(t.risks, studios, pours)
	return nil
}

func worstOf(risks []*risk, studios, pours int) (worst float64) {
	for _, r := range risks {
		worst = max(worst, r.part(studios, pours).failure())
	}
	return worst
}

// of is the change as an improvement of one piece; it is enough where it is for
// every piece of the flask.
func (t *triedChange) of(before *risk, i int) Improvement {
	m := Improvement{Name: t.Name, Do: t.Do, Chance: t.risks[i].chance(), Effort: t.Effort, Patch: t.Patch}
	m.GainPct = math.Round(1000*(before.failure()-t.risks[i].failure())) / 10
	m.Enough = !slices.ContainsFunc(t.risks, func(r *risk) bool { return r.chance().FailurePct > r.job.in.RiskLimitPct })
	return m
}

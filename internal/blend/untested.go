package blend

import (
	"context"
	"fmt"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/verdict"
)

// TestWay is a way to find the fineness of metal that nobody vouches for.
type TestWay struct {
	Method      string  `json:"method" doc:"The method" example:"touchstone"`
	ErrorPermil float64 `json:"error_permil" doc:"Half-width of what it tells, parts per thousand" example:"20"`
	How         string  `json:"how" doc:"What to do, and where it fails"`
}

// TestFirst says what must be tested before it is planned in.
type TestFirst struct {
	Lots     []string      `json:"lots" doc:"The lots that nobody vouches for; none of them is in the charge"`
	Ways     []TestWay     `json:"tests" doc:"How to test them, cheapest first"`
	Outcomes []TestOutcome `json:"outcomes" doc:"The charge for the likeliest findings, at most three"`
}

// TestOutcome is the charge if a test finds what it says.
type TestOutcome struct {
	Finding string        `json:"finding" doc:"What the test finds" example:"they are 800"`
	Fits    bool          `json:"fits" doc:"Whether a charge with them meets every limit"`
	Charge  []OutcomePart `json:"charge" doc:"What to weigh out then; the bought metal as well"`
	BoughtG float64       `json:"bought_g" doc:"Bought metal then, g"`
	ClientG float64       `json:"client_g" doc:"Clients' metal then, g"`
}

// OutcomePart is what goes in of one lot.
type OutcomePart struct {
	Melt   string  `json:"melt,omitempty" doc:"Which melt, where there are several"`
	ID     string  `json:"id" doc:"The lot or addition"`
	WeighG float64 `json:"weigh_g" doc:"Weigh out this much, g"`
}

var (
	srcTests = calc.Source{For: "errors of the ways to test", Text: "fire assay 0.2 to 0.3 (ISO 11426), titration 1, X-ray of 15 golds in the hand against fire assay (worst 11.3), touchstone 10 to 20; acid kits 40 to 80 from memory", Status: calc.Practice}
)

// untested reports whether nobody vouches for what the lot is.
func (l *SourceLot) untested() bool {
	if l.Evidence == "none" {
		return true
	}
	return l.Kind == "unmarked"
}

// unstated says whether what the lot is need not be said: nobody knows, and it
// is tested first or stays out.
func (l *SourceLot) unstated() bool {
	if l.untested() {
		return true
	}
	for _, o := range l.open() {
		if o == "unknown_white_metal" {
			return true
		}
	}
	return false
}

// ways to test, cheapest first.
func ways(symbol string) []TestWay {
	list := []TestWay{
		{"magnet, look and file", 1000, "Draw a magnet over it; file a deep notch: another colour beneath is plate. Keeps plated and steel pieces out, tells no fineness."},
		{"acid", 80, "A drop on a filed notch, never on the skin: tells carat classes. Nitric acid: gloves, goggles, fume hood."},
		{"touchstone", 20, "A streak from the filed notch beside streaks of needles of known fineness, same acid on all."},
		{"X-ray", 12, "A dealer or assay office reads it in a minute: file through any plating first, it sees some hundredths of a millimetre."},
		{"sample melt", 20, "Melt all of it into one button under borax, stir, weigh it in air and in water: density tells silver against copper to some 20 parts per thousand if it is free of pores; not white gold, not hollow or plated pieces."},
		{"fire assay", 0.3, "Send two chips of 250 mg from the stirred button to an assay office; then corrections leads on."},
	}
	if symbol == "Au" {
		list[2].How += " Not for white gold."
	}
	return list
}

// findings are the likely outcomes of a test of lots in the metal, parts per
// thousand: the usual marks that the guesses leave open.
func findings(symbol string, lots []SourceLot) []float64 {
	low, high := 0.0, 1000.0
	for _, l := range lots {
		if l.FinenessLow != nil {
			low = max(low, *l.FinenessLow)
		}
		if l.FinenessHigh != nil {
			high = min(high, *l.FinenessHigh)
		}
		if l.FinenessPermil != nil {
			low, high = min(*l.FinenessPermil, high), max(*l.FinenessPermil, low)
		}
	}
	likely := map[string][]float64{"Ag": {925, 800, 0, 835, 900}, "Au": {585, 750, 375, 0, 417, 917}}[symbol]
	list := []float64{}
	for _, f := range likely {
		if f >= low && f <= high && len(list) < 3 {
			list = append(list, f)
		}
	}
	if len(list) == 0 && low <= high {
		list = append(list, low)
		if high > low {
			list = append(list, high)
		}
	}
	return list
}

// testFirst says how to test the lots that nobody vouches for and what the
// charge is for the likely findings; nil where there are none.
func (q *question) testFirst(ctx context.Context, notes *calc.Notes) (*TestFirst, error) {
	if len(q.untested) == 0 {
		return nil, nil
	}
	out := &TestFirst{Lots: []string{}, Ways: ways(q.symbol), Outcomes: []TestOutcome{}}
	for _, l := range q.untested {
		out.Lots = append(out.Lots, l.ID)
	}
	notes.Cite(srcTests)
	for _, f := range findings(q.symbol, q.untested) {
		one, err := q.outcome(ctx, f)
		if err != nil {
			return nil, err
		}
		out.Outcomes = append(out.Outcomes, one)
	}
	return out, nil
}

// outcome plans the charge as if the untested lots were of fineness f.
func (q *question) outcome(ctx context.Context, f float64) (TestOutcome, error) {
	out := TestOutcome{Finding: fmt.Sprintf("they are %g", f), Charge: []OutcomePart{}}
	if f == 0 {
		out.Finding = "they hold none: plated or base metal"
	}
	p := q.programme
	p.Lots = slices.Clone(q.programme.Lots)
	tested := len(p.Lots)
	for _, l := range q.untested {
		s := graded(q.symbol, f/1000, f/1000)
		var none calc.Checks
		if q.symbol == "Au" && f > 0 {
			colour := l.Colour
			if colour == "" {
				colour = "yellow"
			}
			l.Colour = colour
			s = l.rest(q.symbol, f/1000, f/1000, &calc.Notes{}, &none)
		}
		clean, _ := l.clean()
		p.Lots = append(p.Lots, Lot{ID: l.ID, StockG: clean, Owner: l.owner(), Least: s.least, Most: s.most, Middle: s.middle(q.symbol)})
	}
	if f == 0 { // such metal is not weighed in at all
		p.Lots = p.Lots[:tested]
	}
	_, weighing, err := p.Weigh(ctx, q.in.ResolutionG)
	if err != nil {
		if ctx.Err() != nil {
			return out, ctx.Err()
		}
		return out, nil
	}
	out.Fits = true
	for b, masses := range weighing.MassG {
		for k, x := range masses {
			if x == 0 {
				continue
			}
			part := OutcomePart{ID: p.Lots[k].ID, WeighG: x}
			if len(p.Melts) > 1 {
				part.Melt = p.Melts[b].ID
			}
			out.Charge = append(out.Charge, part)
			switch {
			case p.Lots[k].Bought:
				out.BoughtG += x
			case p.Lots[k].clients():
				out.ClientG += x
			}
		}
	}
	return out, nil
}

// testReasons is what untested lots leave of a go: nothing bought means that
// they are not needed.
func (q *question) testReasons(boughtG float64) (r verdict.Reasons) {
	for _, l := range q.untested {
		if boughtG == 0 {
			r.Add(verdict.Scrap, verdict.Care, "Give it back, or test it for another order.", "Nobody vouches for %s: it stays out, and the charge does not need it.", l.ID)
			continue
		}
		r.Add(verdict.Scrap, verdict.NotYet, "Test "+l.ID+" first: file a notch, touchstone or X-ray, or melt it into a button and have that assayed; test_first gives the charge for the likely findings.",
			"Nobody vouches for %s: it is not weighed in, and what is bought in its place may be too much.", l.ID)
	}
	return r
}

// lotReasons are the reasons of all lots but those that are at hand and not used.
func (q *question) lotReasons(used map[string]bool, boughtG float64) (r verdict.Reasons) {
	out := map[string]bool{}
	for _, l := range q.refused {
		out[l.ID] = true
	}
	for i, l := range q.in.Lots {
		if id := cmpOr(l.ID, fmt.Sprintf("lot %d", i+1)); used[id] || out[id] {
			r.Join(q.reasons[id])
		}
	}
	r.Join(q.testReasons(boughtG))
	return r
}

package options

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/metal"
	"pourwright/internal/order"
	"pourwright/internal/quote"
)

// The search narrows in three steps: every way has its planned run; the
// better layers a small sample; what is then left the whole probability. All
// samples are of the same draws.
const (
	coarsely   = 24  // ways of a piece that get the small sample; up to as many are all assessed
	sampled    = 32  // members of it
	finally    = 7   // ways that get the whole probability
	mostAtOnce = 200 // combinations kept on the way through the pieces
	leastWall  = 5   // mm of clay to the flask, as fills has it
)

// Bill prices what the search finds.
type Bill interface {
	// Piece is what piece i costs by itself.
	Piece(i int, w *order.Worked) (quote.Amounts, error)
	// Order is the price of the order.
	Order(pieces []*order.Worked, shared *order.Metal) (quote.Amounts, error)
}

// candidate is a way to pour a piece, worked out.
type candidate struct {
	mould      order.Mould
	worked     *order.Worked
	screen     fill.Screening
	barred     bool
	minutes    float64
	p          float64 // chance that its pour fails, and the band of it
	band       fill.Chance
	cost       float64
	costText   string
	castStones int
}

// search is the ways of one order.
type search struct {
	in         *order.Order
	wanted     Wanted
	bill       Bill // nil where there are no prices
	alloys     []metal.Metal
	candidates [][]*candidate // by piece; the first is as given
	assessed   [][]*candidate // by piece, with probabilities
	considered int
	all        bool // every candidate was assessed
}

func newSearch(in *order.Order, alloys []metal.Metal, wanted *Wanted, bill Bill) (*search, error) {
	s := &search{in: in, alloys: alloys, wanted: calc.Default[Wanted](), bill: bill, all: true}
	if wanted != nil {
		s.wanted = *wanted
	}
	if s.wanted.Favour == "least_price" && bill == nil {
		return nil, calc.Refuse("pour_options.favour", s.wanted.Favour, "give least_risk, least_metal or least_time, or the studio's prices")
	}
	_, err := in.Stock()
	return s, err
}

// run works the pieces out, one after the other.
func (s *search) run(ctx context.Context) error {
	for i := range s.in.Pieces {
		calc.Progress(ctx, float64(i)/float64(len(s.in.Pieces)), "ways to pour "+s.in.Pieces[i].Name)
		list, err := s.work(ctx, i)
		if errors.Is(err, errTooManyWays) {
			return calc.Refuse("pour_options", nil, "give fewer values of turns_pct, raise_mm, thicken_mm or hotter_k: together they come to more than %d ways to pour %s", mostWays, s.in.Pieces[i].Name)
		}
		if err != nil {
			return calc.Under(fmt.Sprintf("pieces[%d]", i), err)
		}
		chosen, err := s.narrow(ctx, i, list)
		if err != nil {
			return err
		}
		s.candidates, s.assessed = append(s.candidates, list), append(s.assessed, chosen)
	}
	return nil
}

// planner is that of piece i poured as m, with all the stones to itself that it asks for.
func (s *search) planner(i int, m order.Mould) *order.Planner {
	piece := s.in.Pieces[i]
	piece.Mould = m
	stock, _ := s.in.Stock() // checked by newSearch
	return &order.Planner{Order: s.in, Piece: piece, Alloy: s.alloys[i], Stock: stock}
}

var errTooManyWays = errors.New("too many ways to pour a piece")

// work works out the ways of piece i and follows the planned run of each.
func (s *search) work(ctx context.Context, i int) ([]*candidate, error) {
	ctx = calc.Silent(ctx)
	given := s.planner(i, s.in.Pieces[i].Mould)
	worked, err := given.Prepare(ctx)
	if err != nil {
		return nil, err
	}
	moulds := s.wanted.moulds(given, drops(worked.Cavity))
	if len(moulds) > mostWays {
		return nil, errTooManyWays
	}
	s.considered += len(moulds)
	list := make([]*candidate, len(moulds))
	err = forEach(ctx, len(moulds), func(ctx context.Context, k int) error {
		c, err := s.candidate(ctx, i, moulds[k])
		var refusal *calc.Refusal
		if k > 0 && errors.As(err, &refusal) {
			c, err = &candidate{barred: true}, nil // leads out of what is accepted
		}
		list[k] = c
		return err
	})
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(list, func(c *candidate) bool { return c.barred || c.castStones < list[0].castStones }), nil
}

// drops is how far below the top of the piece each gate lies, mm.
func drops(w order.Cavity) map[string]float64 {
	height := w.HeightMM()
	return map[string]float64{"top": 0, "side": height / 2, "bottom": height}
}

func (s *search) candidate(ctx context.Context, i int, m order.Mould) (*candidate, error) {
	planner := s.planner(i, m)
	w, err := planner.Prepare(ctx)
	if err != nil {
		return nil, err
	}
	if err := planner.Weigh(ctx, w); err != nil {
		return nil, err
	}
	w.Pour.Improvements = false
	c := &candidate{mould: m, worked: w}
	if c.screen, err = fill.Screen(ctx, w.Pour, 0); err != nil {
		return nil, err
	}
	if wall := c.screen.Flask.ClayWallMM; wall != nil && *wall < leastWall {
		c.barred = true
	}
	if f := w.Plan.Melt.CrucibleFits; f != nil && !*f {
		c.barred = true
	}
	c.barred = c.barred || !clearOfSprues(w)
	for k, st := range w.Piece.Stones {
		if w.Plan.Stones != nil && order.Unfit(w.Plan.Stones.Stones[k].Verdict) == "" {
			c.castStones += st.Quantity
		}
	}
	work := w.Piece.Work
	c.minutes = work.MouldMin + work.SettingMin + work.PourMin + work.CleaningMin + work.PolishingMin + w.ExtraMouldMin + w.ExtraCleanMin
	if m == s.in.Pieces[i].Mould {
		c.barred = false // the maker's own choice stands to be compared
	}
	return c, nil
}

// clearOfSprues says whether no stone lies at a gate.
func clearOfSprues(w *order.Worked) bool {
	m, c := &w.Piece.Mould, w.Cavity
	keep := (m.SprueDiameterMM/2 + order.ClearMM) / w.Plan.Mould.ArcLengthMM
	for _, st := range w.Piece.Stones {
		at := c.Place(st.AtPct / 100)
		for _, gate := range m.Gates(c) {
			away := math.Abs(at - gate)
			if c.Round() {
				away = math.Abs(math.Remainder(at-gate, 1))
			}
			if away < keep {
				return false
			}
		}
	}
	return true
}

// narrow gives the ways of piece i that may not be beaten their probability.
// The first, as given, is always among them.
func (s *search) narrow(ctx context.Context, i int, list []*candidate) ([]*candidate, error) {
	kept := list
	if len(list) > coarsely {
		s.all = false
		kept = keepGiven(list, layers(each(list, func(c *candidate) objectives {
			return objectives{-c.screen.Margin, c.worked.Plan.Melt.MeltMassG, c.minutes, c.worked.Plan.PourC}
		}), coarsely))
		err := forEach(ctx, len(kept), func(ctx context.Context, k int) (err error) {
			kept[k].screen, err = fill.Screen(ctx, kept[k].worked.Pour, sampled)
			return err
		})
		if err != nil {
			return nil, err
		}
		kept = keepGiven(kept, layers(each(kept, func(c *candidate) objectives {
			risk := c.screen.Failing
			if risk == 0 || risk == 1 { // the sample no longer tells; the planned run does
				risk -= 1e-3 * c.screen.Margin
			}
			return objectives{risk, c.worked.Plan.Melt.MeltMassG, c.minutes}
		}), finally))
	}
	for _, c := range kept { // each takes all cores
		var err error
		if c.band, err = fill.Risk(ctx, c.worked.Pour); err != nil {
			return nil, err
		}
		c.p = c.band.FailurePct / 100
		c.worked.Plan.FailurePct, c.worked.Plan.Fill.Chance = c.band.FailurePct, c.band
		if err := s.priced(i, c); err != nil {
			return nil, err
		}
	}
	return kept, nil
}

func keepGiven(list []*candidate, indices []int) []*candidate {
	kept := []*candidate{list[0]}
	for _, i := range indices {
		if i > 0 {
			kept = append(kept, list[i])
		}
	}
	return kept
}

func each(list []*candidate, f func(*candidate) objectives) []objectives {
	values := make([]objectives, len(list))
	for i, c := range list {
		values[i] = f(c)
	}
	return values
}

// priced finds the cost of the piece by itself.
func (s *search) priced(i int, c *candidate) error {
	if s.bill == nil {
		return nil
	}
	a, err := s.bill.Piece(i, c.worked)
	if err != nil {
		return calc.Under("prices", err)
	}
	c.cost, c.costText = quote.Float(a.Cost), a.Text(a.Cost)
	return nil
}

// least is the least risk that 512 draws can tell from none: the rule of three.
const least = 3.0 / 512

// survival is −ln(1−p), which adds up over pours.
func survival(p float64) float64 { return -math.Log1p(-math.Min(p, 1-1e-6)) }

// objectives are what is weighed of a way. Risks too small to tell apart count as equal.
func (c *candidate) objectives() objectives {
	return objectives{survival(math.Max(c.p, least)), c.worked.Plan.Melt.MeltMassG, c.minutes, c.cost}
}

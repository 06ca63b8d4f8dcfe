package commission

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"strconv"

	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/metal"
	"pourwright/internal/plan"
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
	clearMM    = 3   // from the edge of a sprue to a stone, as stone-layouts has it
)

// candidate is a way to pour a piece, worked out.
type candidate struct {
	mould      Mould
	plan       PiecePlan
	pour       fill.In
	screen     fill.Screening
	barred     bool
	minutes    float64
	p, se      float64
	cost       float64
	costText   string
	castStones int
}

// search is the ways of one order.
type search struct {
	in         In
	ways       PourWays
	alloys     []metal.Metal
	candidates [][]*candidate // by piece; the first is as given
	assessed   [][]*candidate // by piece, with probabilities
	considered int
	all        bool // every candidate was assessed
}

func newSearch(in In) (*search, error) {
	s := &search{in: in, ways: calc.Default[PourWays](), all: true}
	if in.Ways != nil {
		s.ways = *in.Ways
	}
	var err error
	if s.alloys, err = in.alloys(); err != nil {
		return nil, err
	}
	_, err = newBag(in)
	return s, err
}

// run works the pieces out, one after the other.
func (s *search) run(ctx context.Context) error {
	for i := range s.in.Pieces {
		calc.Progress(ctx, float64(i)/float64(len(s.in.Pieces)), "ways to pour "+s.in.Pieces[i].Name)
		list, err := s.work(ctx, i)
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

// room is the piece i poured as m, with all the stones to itself that it asks for.
func (s *search) room(i int, m Mould) *pieceRoom {
	piece := s.in.Pieces[i]
	piece.Mould = m
	bag, _ := newBag(s.in)
	return &pieceRoom{in: &s.in, piece: piece, alloy: s.alloys[i], bag: bag}
}

// work works out the ways of piece i and follows the planned run of each.
func (s *search) work(ctx context.Context, i int) ([]*candidate, error) {
	ctx = calc.Silent(ctx)
	given := s.room(i, s.in.Pieces[i].Mould)
	plan0, _, err := given.prepare(ctx)
	if err != nil {
		return nil, err
	}
	moulds := s.ways.moulds(given, given.drops(&plan0))
	s.considered += len(moulds)
	list := make([]*candidate, len(moulds))
	err = plan.Each(ctx, len(moulds), runtime.GOMAXPROCS(0), func(k int) error {
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
func (p *pieceRoom) drops(plan *PiecePlan) map[string]float64 {
	w := p.cavity(plan)
	height := w.lengthMM
	if w.closed {
		height = w.insideMM + 2*w.base.ThicknessMM
	}
	return map[string]float64{"top": 0, "side": height / 2, "bottom": height}
}

func (s *search) candidate(ctx context.Context, i int, m Mould) (*candidate, error) {
	room := s.room(i, m)
	c := &candidate{mould: m}
	var err error
	if c.plan, c.pour, err = room.prepare(ctx); err != nil {
		return nil, err
	}
	if err := room.weigh(ctx, &c.plan); err != nil {
		return nil, err
	}
	c.pour.Levers = false
	if c.screen, err = fill.Screen(ctx, c.pour, 0); err != nil {
		return nil, err
	}
	if wall := c.screen.Flask.ClayWallMM; wall != nil && *wall < leastWall {
		c.barred = true
	}
	if f := c.plan.Melt.CrucibleFits; f != nil && !*f {
		c.barred = true
	}
	c.barred = c.barred || !room.clearOfSprues(&c.plan)
	for k, st := range room.piece.Stones {
		if c.plan.Stones != nil && unfit(c.plan.Stones.Stones[k].Verdict) == "" {
			c.castStones += st.Quantity
		}
	}
	work := room.piece.Work
	c.minutes = work.MouldMin + work.SettingMin + work.PourMin + work.CleaningMin + work.PolishingMin + c.plan.way.mouldMin + c.plan.way.cleanMin
	if m == s.in.Pieces[i].Mould {
		c.barred = false // the maker's own choice stands to be compared
	}
	return c, nil
}

// clearOfSprues says whether no stone lies at a gate.
func (p *pieceRoom) clearOfSprues(plan *PiecePlan) bool {
	w := p.cavity(plan)
	keep := (p.piece.Mould.SprueDiameterMM/2 + clearMM) / plan.Mould.ArcLengthMM
	for _, st := range p.piece.Stones {
		at := w.place(st.AtPct / 100)
		for _, gate := range p.piece.Mould.gates(w) {
			away := math.Abs(at - gate)
			if w.closed {
				away = math.Abs(math.Remainder(at-gate, 1))
			}
			if away < keep {
				return false
			}
		}
	}
	return true
}

// gates is where the sprues enter, as fractions of the way.
func (m *Mould) gates(w way) []float64 {
	switch {
	case m.SprueCount == 1:
		return []float64{0}
	case w.closed:
		half := m.SpreadDeg / 720
		return []float64{half, 1 - half}
	}
	return []float64{0, 1}
}

// narrow gives the ways of piece i that may not be beaten their probability.
// The first, as given, is always among them.
func (s *search) narrow(ctx context.Context, i int, list []*candidate) ([]*candidate, error) {
	kept := list
	if len(list) > coarsely {
		s.all = false
		kept = keepGiven(list, plan.Layers(each(list, func(c *candidate) plan.Goods {
			return plan.Goods{-c.screen.Margin, c.plan.Melt.MeltMassG, c.minutes, c.plan.PourC}
		}), coarsely))
		err := plan.Each(ctx, len(kept), runtime.GOMAXPROCS(0), func(k int) (err error) {
			kept[k].screen, err = fill.Screen(ctx, kept[k].pour, sampled)
			return err
		})
		if err != nil {
			return nil, err
		}
		kept = keepGiven(kept, plan.Layers(each(kept, func(c *candidate) plan.Goods {
			risk := c.screen.Failing
			if risk == 0 || risk == 1 { // the sample no longer tells; the planned run does
				risk -= 1e-3 * c.screen.Margin
			}
			return plan.Goods{risk, c.plan.Melt.MeltMassG, c.minutes}
		}), finally))
	}
	for _, c := range kept { // each takes all processors
		var err error
		if c.p, c.se, err = fill.Risk(ctx, c.pour); err != nil {
			return nil, err
		}
		c.plan.FailurePct = 100 * c.p
		if err := s.priced(ctx, i, c); err != nil {
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

func each(list []*candidate, f func(*candidate) plan.Goods) []plan.Goods {
	goods := make([]plan.Goods, len(list))
	for i, c := range list {
		goods[i] = f(c)
	}
	return goods
}

// priced finds the cost of the piece by itself. Costs of pieces add up but for
// rounding and the cap of the allowance for failed pours.
func (s *search) priced(ctx context.Context, i int, c *candidate) error {
	order := quote.Order{Terms: bare(s.in.Prices), Metal: metalWords[precious(s.alloys[i])]}
	order.Pieces = []quote.OrderPiece{orderPiece(s.in, i, c.plan, s.alloys[i])}
	bill, err := quote.Total(ctx, order)
	if err != nil {
		return calc.Under("prices", err)
	}
	c.costText = bill.Cost
	c.cost, err = strconv.ParseFloat(bill.Cost, 64)
	return err
}

// least is the least risk that 512 draws can tell from none: the rule of three.
const least = 3.0 / 512

// survival is −ln(1−p), which adds up over pours.
func survival(p float64) float64 { return -math.Log1p(-math.Min(p, 1-1e-6)) }

// goods are what a way costs. Risks too small to tell apart count as equal.
func (c *candidate) goods() plan.Goods {
	return plan.Goods{survival(math.Max(c.p, least)), c.plan.Melt.MeltMassG, c.minutes, c.cost}
}

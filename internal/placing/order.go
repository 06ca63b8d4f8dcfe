package placing

import (
	"context"
	"fmt"
	"math"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/metal"
	"pourwright/internal/order"
	"pourwright/internal/stone"
)

// Plan is where the stones went, by rule.
type Plan struct {
	Converged bool     `json:"converged" doc:"Whether the places hold for the fill that they themselves make"`
	Rounds    int      `json:"rounds" doc:"How often places and fill were worked out in turn"`
	Summary   string   `json:"summary" doc:"The plan in words"`
	Stones    []Placed `json:"stones" doc:"The stones placed, piece by piece"`
}

// Placed is one stone in its place.
type Placed struct {
	ID         string  `json:"id" doc:"Which, by the id under stones"`
	Piece      string  `json:"piece" doc:"In which piece"`
	Role       Role    `json:"role" enum:"centre,left,right" doc:"The middle of the row, or left and right of it"`
	AtPct      float64 `json:"at_pct" doc:"Percent of the way round from the gate, the pattern unturned"`
	LengthMM   float64 `json:"length_mm" doc:"Its length along the piece"`
	FromStudio bool    `json:"from_studio" doc:"Whether it is the studio's, added to match a client's on the other side"`
}

const (
	partingMM  = 0.1 // that a stone of one half keeps from the parting line, as stone-layouts has it
	mostRounds = 12
)

// Place returns the order, whose pieces are cast of alloys, with the stones placed on the pieces that ask for it,
// the plan, and the client's stones that found no place, by id; a nil plan where
// no piece asks.
//
// Stones narrow the section and so change where the streams meet, and the
// vents are cut where they meet: so places and fill are worked out in turn
// until the places are clear of the vents that belong to them. What is barred
// only grows, so the turns end. Errors are refusals.
func Place(ctx context.Context, in order.Order, alloys []metal.Metal) (order.Order, *Plan, map[string]order.NotCast, error) {
	if !slices.ContainsFunc(in.Pieces, func(p order.Piece) bool { return p.Placing != nil }) {
		return in, nil, nil, nil
	}
	d, err := newDealer(calc.Silent(ctx), in, alloys)
	if err != nil {
		return in, nil, nil, err
	}
	plan := &Plan{}
	for plan.Rounds = 1; plan.Rounds <= mostRounds; plan.Rounds++ {
		d.deal()
		if plan.Converged, err = d.consistent(calc.Silent(ctx)); err != nil {
			return in, nil, nil, err
		}
		if plan.Converged {
			break
		}
	}
	d.report(plan)
	return d.in, plan, d.back, nil
}

// dealer places the stones of an order.
type dealer struct {
	in    order.Order // with the stones of the last deal
	kinds []Kind
	sites []site
	back  map[string]order.NotCast
	puts  []Put
	left  []Refused
}

// site is a piece that takes stones, as placing sees it, and its planner.
type site struct {
	Site
	piece   int
	planner *order.Planner
	cavity  order.Cavity
	pourC   float64
	unset   float64 // margin of the planned run without stones
	seats   []stone.Judgement
	fewer   string
}

func newDealer(ctx context.Context, in order.Order, alloys []metal.Metal) (*dealer, error) {
	in.Pieces = slices.Clone(in.Pieces)
	d := &dealer{in: in, back: map[string]order.NotCast{}}
	stock, err := in.Stock()
	if err != nil {
		return nil, err
	}
	for i, p := range in.Pieces {
		for _, placed := range p.Stones {
			stock.Take(placed)
			if p.Placing != nil {
				return nil, calc.Refuse(fmt.Sprintf("pieces[%d].stones", i), placed.ID, "leave it out where placing lets the stones be placed by rule")
			}
		}
		if p.Placing != nil {
			planner := &order.Planner{Order: &d.in, Piece: p, Alloy: alloys[i], Stock: stock}
			if err := d.addSite(ctx, i, planner); err != nil {
				return nil, calc.Under(fmt.Sprintf("pieces[%d]", i), err)
			}
		}
	}
	for k := range in.Stones {
		if stock.Left[k] == 0 {
			continue
		}
		if err := d.addKind(ctx, k, stock.Left[k]); err != nil {
			return nil, calc.Under(fmt.Sprintf("stones[%d]", k), err)
		}
	}
	return d, nil
}

// addSite makes the piece ready: its cavity, its gates and where the streams
// meet while it has no stones.
func (d *dealer) addSite(ctx context.Context, i int, planner *order.Planner) error {
	w, err := planner.Prepare(ctx)
	if err != nil {
		return err
	}
	look, err := fill.Screen(ctx, w.Pour, 0)
	if err != nil {
		return err
	}
	rule, m := planner.Piece.Placing, &planner.Piece.Mould
	s := site{piece: i, planner: planner, cavity: w.Cavity, pourC: w.Plan.PourC, unset: look.Margin}
	s.Site = Site{Name: w.Plan.Name, LengthMM: w.Plan.Mould.ArcLengthMM, Closed: s.cavity.Round(), Centre: rule.CentrePct / 100, Most: rule.MaxStones, GapMM: rule.GapMM}
	for _, gate := range m.Gates(s.cavity) {
		s.bar(gate, m.SprueDiameterMM, "it lies at the sprue, where the stream tears at stones")
	}
	for _, meets := range look.Meetings {
		s.vents(meets, m)
	}
	if !s.cavity.Round() && m.SprueCount == 1 {
		s.vents(1, m)
	}
	d.sites = append(d.sites, s)
	return nil
}

// bar bars a place given from the gate, with what is cut there and the room
// that stones keep from it.
func (s *site) bar(at, cutMM float64, why string) {
	half := (cutMM/2 + order.ClearMM) / s.LengthMM
	if s.cavity.Round() { // places are told on the pattern, unturned
		at = s.cavity.Pattern(at)
	}
	s.Barred = append(s.Barred, Barred{From: at - half, To: at + half, Why: why})
}

func (s *site) vents(at float64, m *order.Mould) {
	if m.VentCount > 0 {
		s.bar(at, m.VentDiameterMM, "it lies at the vents, where the streams meet and fill last")
	}
}

// addKind judges a kind of stone in the middle of each piece. What may not meet
// the metal in any is left out and told why.
func (d *dealer) addKind(ctx context.Context, k, count int) error {
	s := d.in.Stones[k]
	fits, barred := false, order.NotCast{ID: s.ID, Quantity: count}
	along := s.LengthMM
	for i := range d.sites {
		j, err := d.sites[i].judge(ctx, s.In, d.sites[i].Centre)
		if err != nil {
			return err
		}
		d.sites[i].seats = append(d.sites[i].seats, j)
		if along = j.Measures.LengthMM; s.Across {
			along = j.Measures.WidthMM
		}
		if barred.What = order.Unfit(j.Verdict); barred.What == "" {
			fits = true
		} else {
			barred.Why = order.Why(j)
		}
	}
	if what := flaws[s.Condition]; what != "" {
		barred.What, barred.Why, fits = "give_back", fmt.Sprintf("It has %s: neither the metal nor a setter's pressure is safe for it.", what), false
	}
	if !fits {
		if s.ClientOwned {
			d.back[s.ID] = barred
		}
		count = 0
	}
	d.kinds = append(d.kinds, Kind{ID: s.ID, Gem: s.Gem, AlongMM: along, Count: count, Own: !s.ClientOwned})
	return nil
}

var flaws = map[stone.Condition]string{stone.Chipped: "chips", stone.Fissures: "fissures"}

// judge judges one stone of the kind at a place of the piece.
func (s *site) judge(ctx context.Context, given stone.In, at float64) (stone.Judgement, error) {
	in := calc.Default[stone.SettingIn]()
	in.Alloy, in.MetalC, in.ClayC = s.planner.Alloy.Ref(), s.pourC, s.planner.Order.Studio.ClayC
	in.Section, in.HeadMM = s.cavity.Main(), s.planner.Piece.Mould.HeadAt(s.cavity.Place(at), s.cavity)
	given.Quantity = 1
	in.Stones = []stone.In{given}
	out, err := stone.Judge(ctx, in)
	if err != nil {
		return stone.Judgement{}, err
	}
	return out.Stones[0], nil
}

// fits says why a stone may not lie at a place of the pattern: too thin to
// carry it, or no room beside the parting line, along which a band's mould
// opens in the middle of its width.
func (s *site) fits(kind int, at float64) string {
	j := s.seats[kind]
	if what := order.Unfit(j.Verdict); what != "" {
		return order.Why(j)
	}
	here := s.cavity.At(s.cavity.Place(at - math.Floor(at)))
	if here.ThicknessMM < j.Seat.ThicknessMinMM {
		return fmt.Sprintf("the piece is %.2g mm thick there and it needs %.2g mm", here.ThicknessMM, j.Seat.ThicknessMinMM)
	}
	across := j.Measures.WidthMM
	if s.cavity.Round() {
		if need := across + j.Seat.BesideNeededMM + partingMM; here.Width()/2 < need {
			return fmt.Sprintf("it would lie on the parting line: half the width is %.2g mm and it needs %.2g mm", here.Width()/2, need)
		}
	} else if here.Width() < j.Seat.WidthMinMM {
		return fmt.Sprintf("the piece is %.2g mm wide there and it needs %.2g mm", here.Width(), j.Seat.WidthMinMM)
	}
	return ""
}

// deal deals the stones and puts them into the order.
func (d *dealer) deal() {
	sites := make([]Site, len(d.sites))
	for i := range d.sites {
		s := &d.sites[i]
		sites[i] = s.Site
		sites[i].Fits = s.fits
		d.in.Pieces[s.piece].Stones = nil
	}
	d.puts, d.left = Deal(d.kinds, sites)
	for _, p := range d.puts {
		piece := &d.in.Pieces[d.sites[p.Site].piece]
		piece.Stones = append(piece.Stones, order.PlacedStones{ID: d.kinds[p.Kind].ID, Quantity: 1, AtPct: 100 * p.At})
	}
}

// consistent follows the fill with the stones as dealt. It bars the vents that
// they now lie at, and takes stones off a piece that no longer fills.
func (d *dealer) consistent(ctx context.Context) (bool, error) {
	steady := true
	for i := range d.sites {
		s := &d.sites[i]
		piece := d.in.Pieces[s.piece]
		if len(piece.Stones) == 0 {
			continue
		}
		stock, err := d.in.Stock()
		if err != nil {
			return false, err
		}
		piece.Placing = nil
		planner := &order.Planner{Order: &d.in, Piece: piece, Alloy: s.planner.Alloy, Stock: stock}
		w, err := planner.Prepare(ctx)
		if err != nil {
			return false, calc.Under(fmt.Sprintf("pieces[%d]", s.piece), err)
		}
		// Judged anew at the least head and the thinnest place of the row.
		switch {
		case len(w.NotCast) > 0:
			s.shorten(len(piece.Stones), w.NotCast[0].Why)
		case !w.Plan.Stones.Carried:
			s.shorten(len(piece.Stones), "the section does not carry all of them.")
		}
		look, err := fill.Screen(ctx, w.Pour, 0)
		if err != nil {
			return false, err
		}
		if look.Margin < 0 && s.unset >= 0 {
			s.shorten(len(piece.Stones), "the metal no longer fills the piece.")
		}
		if s.Most < len(piece.Stones) {
			steady = false
			continue
		}
		for _, meets := range look.Meetings {
			before := len(s.Barred)
			s.vents(meets, &piece.Mould)
			if len(s.Barred) > before && d.lies(i, s.Barred[before]) {
				steady = false
				continue
			}
			s.Barred = s.Barred[:before]
		}
	}
	return steady, nil
}

// shorten takes the outer pair off a row of n stones.
func (s *site) shorten(n int, why string) {
	s.Most = max(0, n-2)
	s.fewer = fmt.Sprintf("With %d stones on %s: %s", n, s.Name, why)
}

// lies says whether a stone of site i lies in b.
func (d *dealer) lies(i int, b Barred) bool {
	for _, p := range d.puts {
		half := d.kinds[p.Kind].AlongMM / 2 / d.sites[i].LengthMM
		for _, turn := range []float64{-1, 0, 1} {
			if p.Site == i && p.At+half+turn > b.From && p.At-half+turn < b.To {
				return true
			}
		}
	}
	return false
}

// report tells where the stones went, and why the others did not.
func (d *dealer) report(plan *Plan) {
	plan.Stones = []Placed{}
	matching := 0
	for i := range d.sites {
		for _, p := range d.puts {
			if p.Site != i {
				continue
			}
			k := d.kinds[p.Kind]
			if k.Own {
				matching++
			}
			plan.Stones = append(plan.Stones, Placed{k.ID, d.sites[i].Name, p.Role, 100 * p.At, k.AlongMM, k.Own})
		}
	}
	out := 0
	for _, r := range d.left {
		why := r.Why
		for i := range d.sites {
			if d.sites[i].fewer != "" {
				why += " " + d.sites[i].fewer
			}
		}
		d.back[d.kinds[r.Kind].ID] = order.NotCast{ID: d.kinds[r.Kind].ID, Quantity: r.Count, What: "set_after_casting", Why: why}
	}
	for _, b := range d.back {
		out += b.Quantity
	}
	plan.Summary = fmt.Sprintf("%d stones placed, %d of them the studio's to match others; %d not cast in place. ", len(plan.Stones), matching, out)
	if plan.Converged {
		plan.Summary += fmt.Sprintf("Places and fill agree after %d %s.", plan.Rounds, calc.Plural(plan.Rounds, "round", "rounds"))
	} else {
		plan.Summary += fmt.Sprintf("Places and fill do not yet agree after %d rounds: look at the vents.", mostRounds)
	}
}

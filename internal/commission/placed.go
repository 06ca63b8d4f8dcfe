package commission

import (
	"context"
	"fmt"
	"math"
	"slices"

	"pourwright/internal/calc"
	"pourwright/internal/fill"
	"pourwright/internal/placing"
	"pourwright/internal/stone"
)

// PiecePlacing lets the stones at hand be placed on a piece by rule.
type PiecePlacing struct {
	Most     int     `json:"most" minimum:"1" maximum:"40" default:"5" doc:"How many stones the piece takes at most"`
	CrownPct float64 `json:"crown_pct" minimum:"0" maximum:"100" default:"50" doc:"The middle of the row, percent of the way round from the gate, or along a pendant or bar; the pattern unturned"`
	GapMM    float64 `json:"gap_mm" minimum:"0.1" maximum:"20" default:"0.6" doc:"Least gap between neighbours"`
}

// StonePlan is where the stones went, by rule.
type StonePlan struct {
	Converged bool          `json:"converged" doc:"Whether the places hold for the fill that they themselves make: no stone at the sprue, nor where the streams then meet and the vents are cut"`
	Rounds    int           `json:"rounds" doc:"How often places and fill were worked out in turn"`
	Says      string        `json:"says" doc:"The plan in words"`
	Stones    []StonePlaced `json:"stones" doc:"The stones placed, piece by piece"`
	refused   map[string]StoneBack
}

// StonePlaced is one stone in its place.
type StonePlaced struct {
	ID       string       `json:"id" doc:"Which, by the id under stones"`
	Piece    string       `json:"piece" doc:"In which piece"`
	Role     placing.Role `json:"role" enum:"crown,left,right" doc:"The crown, or left and right of it"`
	AtPct    float64      `json:"at_pct" doc:"Percent of the way round from the gate, the pattern unturned"`
	LengthMM float64      `json:"length_mm" doc:"Its length along the piece"`
	Balance  bool         `json:"for_balance" doc:"Whether it is the studio's, added to balance a client's"`
}

const (
	partingMM  = 0.1 // that a stone of one half keeps from the parting line, as stone-layouts has it
	mostRounds = 12
)

// placed returns the order with the stones placed on the pieces that ask for
// it; nil where none does.
//
// Stones narrow the section and so change where the streams meet, and the
// vents are cut where they meet: so places and fill are worked out in turn
// until the places are clear of the vents that belong to them. What is barred
// only grows, so the turns end.
func placed(ctx context.Context, in In) (In, *StonePlan, error) {
	if !slices.ContainsFunc(in.Pieces, func(p Piece) bool { return p.Placing != nil }) {
		return in, nil, nil
	}
	d, err := newDealer(calc.Silent(ctx), in)
	if err != nil {
		return in, nil, err
	}
	plan := &StonePlan{}
	for plan.Rounds = 1; plan.Rounds <= mostRounds; plan.Rounds++ {
		d.deal()
		if plan.Converged, err = d.consistent(calc.Silent(ctx)); err != nil {
			return in, nil, err
		}
		if plan.Converged {
			break
		}
	}
	d.report(plan)
	return d.in, plan, nil
}

// dealer places the stones of an order.
type dealer struct {
	in    In // with the stones of the last deal
	kinds []placing.Kind
	sites []site
	back  map[string]StoneBack
	puts  []placing.Put
	left  []placing.Refused
}

// site is a piece that takes stones, as placing sees it, and its room.
type site struct {
	placing.Site
	piece int
	room  *pieceRoom
	way   way
	pourC float64
	unset float64 // margin of the planned run without stones
	seats []stone.Judgement
	fewer string
}

func newDealer(ctx context.Context, in In) (*dealer, error) {
	in.Pieces = slices.Clone(in.Pieces)
	d := &dealer{in: in, back: map[string]StoneBack{}}
	alloys, err := in.alloys()
	if err != nil {
		return nil, err
	}
	bag, err := newBag(in)
	if err != nil {
		return nil, err
	}
	for i, p := range in.Pieces {
		for _, placed := range p.Stones {
			bag.take(placed)
			if p.Placing != nil {
				return nil, calc.Refuse(fmt.Sprintf("pieces[%d].stones", i), placed.ID, "leave it out where placing lets the stones be placed by rule")
			}
		}
		if p.Placing != nil {
			room := &pieceRoom{in: &d.in, piece: p, alloy: alloys[i], bag: bag}
			if err := d.addSite(ctx, i, room); err != nil {
				return nil, calc.Under(fmt.Sprintf("pieces[%d]", i), err)
			}
		}
	}
	for k := range in.Stones {
		if bag.left[k] == 0 {
			continue
		}
		if err := d.addKind(ctx, k, bag.left[k]); err != nil {
			return nil, calc.Under(fmt.Sprintf("stones[%d]", k), err)
		}
	}
	return d, nil
}

// addSite makes the piece ready: its cavity, its gates and where the streams
// meet while it has no stones.
func (d *dealer) addSite(ctx context.Context, i int, room *pieceRoom) error {
	plan, pour, err := room.prepare(ctx)
	if err != nil {
		return err
	}
	look, err := fill.Screen(ctx, pour, 0)
	if err != nil {
		return err
	}
	rule, m := room.piece.Placing, &room.piece.Mould
	s := site{piece: i, room: room, way: room.cavity(&plan), pourC: plan.PourC, unset: look.Margin}
	s.Site = placing.Site{Name: plan.Name, LengthMM: plan.Mould.ArcLengthMM, Closed: s.way.closed, Crown: rule.CrownPct / 100, Most: rule.Most, GapMM: rule.GapMM}
	for _, gate := range m.gates(s.way) {
		s.bar(gate, m.SprueDiameterMM, "it lies at the sprue, where the stream tears at stones")
	}
	for _, meets := range look.Meetings {
		s.vents(meets, m)
	}
	if !s.way.closed && m.SprueCount == 1 {
		s.vents(1, m)
	}
	d.sites = append(d.sites, s)
	return nil
}

// bar bars a place given from the gate, with what is cut there and the room
// that stones keep from it.
func (s *site) bar(at, cutMM float64, why string) {
	half := (cutMM/2 + clearMM) / s.LengthMM
	if s.way.closed { // places are told on the pattern, unturned
		at = math.Mod(at-s.way.turn+1, 1)
	}
	s.Barred = append(s.Barred, placing.Barred{From: at - half, To: at + half, Why: why})
}

func (s *site) vents(at float64, m *Mould) {
	if m.VentCount > 0 {
		s.bar(at, m.VentDiameterMM, "it lies at the vents, where the streams meet and fill last")
	}
}

// addKind judges a kind of stone at the crown of each piece. What may not meet
// the metal in any is left out and told why.
func (d *dealer) addKind(ctx context.Context, k, count int) error {
	s := d.in.Stones[k]
	fits, barred := false, StoneBack{ID: s.ID, Quantity: count}
	along := s.LengthMM
	for i := range d.sites {
		j, err := d.sites[i].judge(ctx, s.In, d.sites[i].Crown)
		if err != nil {
			return err
		}
		d.sites[i].seats = append(d.sites[i].seats, j)
		if along = j.Measures.LengthMM; s.Across {
			along = j.Measures.WidthMM
		}
		if barred.What = unfit(j.Verdict); barred.What == "" {
			fits = true
		} else {
			barred.Why = why(j)
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
	d.kinds = append(d.kinds, placing.Kind{ID: s.ID, Gem: s.Gem, AlongMM: along, Count: count, Own: !s.ClientOwned})
	return nil
}

var flaws = map[stone.Condition]string{stone.Chipped: "chips", stone.Fissures: "fissures"}

// judge judges one stone of the kind at a place of the piece.
func (s *site) judge(ctx context.Context, given stone.In, at float64) (stone.Judgement, error) {
	in := calc.Default[stone.SettingIn]()
	in.Alloy, in.MetalC, in.ClayC = s.room.alloyID(), s.pourC, s.room.in.Studio.ClayC
	in.Section, in.HeadMM = s.way.base, s.room.piece.Mould.headAt(s.way.place(at), s.way)
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
	if what := unfit(j.Verdict); what != "" {
		return why(j)
	}
	here := s.way.at(s.way.place(at - math.Floor(at)))
	if here.ThicknessMM < j.Seat.ThicknessMinMM {
		return fmt.Sprintf("the piece is %.2g mm thick there and it needs %.2g mm", here.ThicknessMM, j.Seat.ThicknessMinMM)
	}
	across := j.Measures.WidthMM
	if s.way.closed {
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
	sites := make([]placing.Site, len(d.sites))
	for i := range d.sites {
		s := &d.sites[i]
		sites[i] = s.Site
		sites[i].Fits = s.fits
		d.in.Pieces[s.piece].Stones = nil
	}
	d.puts, d.left = placing.Deal(d.kinds, sites)
	for _, p := range d.puts {
		piece := &d.in.Pieces[d.sites[p.Site].piece]
		piece.Stones = append(piece.Stones, PlacedStones{ID: d.kinds[p.Kind].ID, Quantity: 1, AtPct: 100 * p.At})
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
		bag, err := newBag(d.in)
		if err != nil {
			return false, err
		}
		piece.Placing = nil
		room := &pieceRoom{in: &d.in, piece: piece, alloy: s.room.alloy, bag: bag}
		plan, pour, err := room.prepare(ctx)
		if err != nil {
			return false, calc.Under(fmt.Sprintf("pieces[%d]", s.piece), err)
		}
		// Judged anew at the least head and the thinnest place of the row.
		switch {
		case len(room.back) > 0:
			s.shorten(len(piece.Stones), room.back[0].Why)
		case !plan.Stones.Carried:
			s.shorten(len(piece.Stones), "the section does not carry all of them.")
		}
		look, err := fill.Screen(ctx, pour, 0)
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
func (d *dealer) lies(i int, b placing.Barred) bool {
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
func (d *dealer) report(plan *StonePlan) {
	plan.Stones, plan.refused = []StonePlaced{}, d.back
	balance := 0
	for i := range d.sites {
		for _, p := range d.puts {
			if p.Site != i {
				continue
			}
			k := d.kinds[p.Kind]
			if k.Own {
				balance++
			}
			plan.Stones = append(plan.Stones, StonePlaced{k.ID, d.sites[i].Name, p.Role, 100 * p.At, k.AlongMM, k.Own})
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
		plan.refused[d.kinds[r.Kind].ID] = StoneBack{ID: d.kinds[r.Kind].ID, Quantity: r.Count, What: "set_after_casting", Why: why}
	}
	for _, b := range plan.refused {
		out += b.Quantity
	}
	plan.Says = fmt.Sprintf("%d stones placed, %d of them the studio's for balance; %d not cast in place. ", len(plan.Stones), balance, out)
	if plan.Converged {
		plan.Says += fmt.Sprintf("Places and fill agree after %d %s.", plan.Rounds, plural(plan.Rounds, "round", "rounds"))
	} else {
		plan.Says += fmt.Sprintf("Places and fill do not yet agree after %d rounds: look at the vents.", mostRounds)
	}
}

// settle lists the stones that no piece took; where they were placed by rule,
// with its reasons, and without the studio's that nothing needed for balance.
func (plan *StonePlan) settle(b *bag) []StoneBack {
	back := b.unused()
	if plan == nil {
		return back
	}
	back = slices.DeleteFunc(back, func(s StoneBack) bool { return !b.stones[b.find(s.ID)].ClientOwned })
	for i, s := range back {
		if r, ok := plan.refused[s.ID]; ok {
			r.Quantity = s.Quantity
			back[i] = r
		}
	}
	return back
}

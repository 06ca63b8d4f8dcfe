package commission

import (
	"fmt"
	"math"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/order"
	"pourwright/internal/shape"
	"pourwright/internal/sprue"
	"pourwright/internal/stone"
)

// mouldSteps makes the impression of a piece.
func mouldSteps(s *steps, p *order.PiecePlan, given *order.Piece) {
	m := p.Mould
	measure := inside(m.Mould)
	if p.LengthMM > 0 {
		measure = fmt.Sprintf("%.1f mm long", m.ArcLengthMM)
	}
	if m.Mould.Oval() && given.Kind.Closed() {
		measure += fmt.Sprintf(" (%.1f mm through the gate)", m.Mould.InsideWidthMM)
	}
	at := "section"
	if !given.Uniform() {
		at = "section at the gate"
	}
	if given.Head != nil {
		at = "section beside the head"
	}
	s.add("", "Never wet the clay; a damp mould throws metal.", "Ram dry oil-bonded clay in the flask and mould the pattern: cavity %s, %s %s%s.", measure, at, size(m.FillSection), former(p))
	if p.Parting.Remedy != "" {
		s.add("", "", "%s", p.Parting.Remedy)
	}
	if given.Kind == shape.Drop {
		s.add("", "", "Cut the gate as a fan into the round end, up to the widest place of the drop, so that the metal enters where it is thickest.")
	}
	mouldChanges(s, p, given)
	if e := m.Edit; e != nil && e.Action != "use_as_it_is" {
		s.add("", "", "To bring the impression to size, through both halves, %s; measured along its inside, cut on radii. Close up and blend, and check it with a former of %s.", e.Instruction(), inside(m.Mould))
	}
	if g := m.Gain; g != nil {
		if lower, upper := halves(given); g.PushMM > 0 {
			s.add("", "", "Push the pattern %.1f mm deeper past the parting: %.1f mm into the %s half, %.1f mm into the %s.", g.PushMM, g.UpperMM, upper, g.LowerMM, lower)
		}
		if g.ScrapeMM > 0 {
			s.add("", "", "Scrape %.1f mm of clay from the %s of the impression in both halves alike, all along, to gain thickness (%.1f g more metal).", g.ScrapeMM, outerWall(given), g.GainedG)
		}
	}
	pressSteps(s, p, given)
}

// former says the size of what presses the cavity, where the clay gives way so far
// that it is another.
func former(p *order.PiecePlan) string {
	const seen = 0.05 // mm, that a hand sees
	want := p.Mould.PatternWanted
	if p.Mould.Edit != nil || p.LengthMM > 0 || math.Abs(want.InsideDiameterMM-p.Mould.Mould.InsideDiameterMM) < seen {
		return ""
	}
	return fmt.Sprintf("; the pattern or former that presses it is %s, as the clay inside gives way", inside(want))
}

// outerWall is the wall of the impression that is scraped for thickness.
func outerWall(given *order.Piece) string {
	if given.Kind.Curved() {
		return "outer wall"
	}
	return "floor"
}

// pressSteps presses the stones that are cast in place.
func pressSteps(s *steps, p *order.PiecePlan, given *order.Piece) {
	if p.Stones == nil {
		return
	}
	for j, st := range p.Stones.Stones {
		if order.Unfit(st.Verdict) != "" {
			continue
		}
		placed := given.Stones[j]
		row := ""
		if placed.Quantity > 1 {
			row = fmt.Sprintf(", %s mm from middle to middle", hand(st.Measures.LengthMM+order.Between))
		}
		s.add("", "Client's stones only with written consent.", "Press %d × %s table first %.1f mm deep, the middle %s%s%s; hold with a trace of grease.", placed.Quantity, placed.ID, st.Seat.PressMM, placeOf(p, given, placed.AtPct), row, half(p, given, &st))
	}
}

// half says in which half of the flask a stone lies: of a band, whose parting runs
// along the middle of its outer face, in the lower one where the face is wide enough.
func half(p *order.PiecePlan, given *order.Piece, st *stone.Judgement) string {
	const clear = 0.1 // mm from the parting line, as stone-layouts keeps
	lower, upper := halves(given)
	switch {
	case !given.Kind.Curved():
		return ", in the half that holds the face"
	case st.Measures.WidthMM+st.Seat.BesideNeededMM+clear <= p.Mould.FillSection.Width()/2:
		return ", wholly in the " + lower + " half, just clear of the parting line"
	}
	return ", across the parting line: into the " + lower + " half first, then bed the " + upper + " one over it"
}

// halves are the halves of the flask: that which is rammed first, and the other.
func halves(given *order.Piece) (first, second string) {
	if given.Mould.Posture == "lying" {
		return "lower", "upper"
	}
	return "first", "second"
}

// channels cuts sprue, funnel, gate and vents: of several pieces one funnel and one
// sprue, and a gate to each.
func (o *pour) channels(s *steps) {
	p, given := o.pieces[0], o.given[0]
	m := given.Mould.Fed(p.SprueDiameterMM, p.FunnelDiameterMM)
	if len(o.pieces) == 1 {
		s.add(p.Name, "", "Cut %s; a funnel of %s mm for %s mm of metal; %s. Blow the loose clay away.", sprues(p, given, &m), hand(m.FunnelDiameterMM), hand(m.FunnelHeadMM), vents(p, given))
		return
	}
	f := o.out.FlaskOf(p.Name)
	stands := fmt.Sprintf("%s mm long, in the parting", hand(f.SprueLongMM))
	if m.Posture == "lying" {
		stands = fmt.Sprintf("%s mm long, upright through the upper half", hand(f.SprueLongMM))
	}
	lie := fmt.Sprintf("side by side on a level runner of %s mm at its foot, a gate of %s mm to each", hand(f.RunnerMM), hand(f.GateMM))
	if f.System == sprue.Tree {
		lie = fmt.Sprintf("in pairs on both sides of it, a gate of %s mm to each", hand(f.GateMM))
	}
	rules := calc.Default[sprue.In]()
	s.add(o.name, "", "Cut one sprue of %s mm, %s; the pieces %s; a funnel of %s mm for %s mm of metal; to each piece %s. Keep %.0f mm of clay between the pieces and %.0f mm to the wall: the flask is %.0f × %.0f mm inside or more. Blow the loose clay away.",
		hand(f.SprueMM), stands, lie, hand(f.FunnelMM), hand(f.HeadMM), vents(p, given), rules.BetweenMM, rules.WallMM, math.Ceil(f.WidthMM), math.Ceil(f.HeightMM))
}

// sprues says the sprues of a piece alone and where they enter it.
func sprues(p *order.PiecePlan, given *order.Piece, m *order.Mould) string {
	text := fmt.Sprintf("%d %s of %s mm, %s mm long", m.SprueCount, calc.Plural(m.SprueCount, "sprue", "sprues"), hand(m.SprueDiameterMM), hand(m.SprueLengthMM))
	into := "the piece"
	switch {
	case given.Kind.Closed() && m.SprueCount == 2:
		far := m.SpreadDeg / 2 / 3.6
		into = fmt.Sprintf("the band at %s and %s (12 is the middle between them)", shape.Clock(100-far), shape.Clock(far))
	case given.Head != nil && given.Kind == shape.Signet:
		into = "the head, at 12 o'clock"
	case given.Kind.Closed():
		into = "the band at 12 o'clock"
	case given.Kind == shape.Cuff:
		into = "the middle of the cuff"
	case m.SprueCount == 2:
		into = "both ends"
	}
	if m.Posture == "lying" {
		return text + ", upright through the upper half, and from its foot a gate along the parting into " + into
	}
	from := map[string]string{"top": "from above", "side": "led down to enter from the side", "bottom": "led down to enter from below"}[m.Gate]
	return text + ", in the parting, half of it in each half of the flask, " + from + " into " + into
}

// vents says how many, and where they leave the piece: where it fills last.
func vents(p *order.PiecePlan, given *order.Piece) string {
	m := &given.Mould
	if m.VentCount == 0 {
		return "no vents"
	}
	where := "the far end"
	switch meet := p.Fill.Nominal.Meetings; {
	case m.VentAtPct != nil:
		where = at(p, given, *m.VentAtPct)
	case given.Kind == shape.Cuff:
		where = "both ends"
	case given.Kind.Closed():
		where = "6 o'clock, opposite the gate"
		if len(meet) > 0 && meet[0].Where != "opposite the gate" {
			var list []string
			for _, k := range meet {
				list = append(list, hour(k.Where))
			}
			where = "where the streams meet, " + strings.Join(list, " and ")
		}
	}
	if castsStones(p) && given.Kind.Closed() {
		where += ", clear of the stones"
	}
	how := "up through the parting"
	if m.Posture == "lying" {
		how = "up through the upper half"
	}
	return fmt.Sprintf("%d %s of %s mm %s, from %s", m.VentCount, calc.Plural(m.VentCount, "vent", "vents"), hand(m.VentDiameterMM), how, where)
}

// hour turns a place that the fill gives in degrees into an hour of the clock.
func hour(where string) string {
	var deg float64
	if n, err := fmt.Sscanf(where, "%f° round from the gate", &deg); n != 1 || err != nil {
		return where
	}
	if strings.HasSuffix(where, "the other way") {
		deg = 360 - deg
	}
	return "at " + shape.Clock(deg/3.6)
}

// mouldChanges says what the way to pour asks of the impression.
func mouldChanges(s *steps, p *order.PiecePlan, given *order.Piece) {
	m := given.Mould
	if m.TurnPct > 0 {
		s.add("", "", "Turn the pattern so that what lay at the gate lies %.0f %% of the way round from it.", m.TurnPct)
	}
	if m.ThickenMM > 0 {
		where := "all along"
		if t := given.ThinPlaces; len(t) > 0 {
			where = fmt.Sprintf("over %.0f mm, the middle %s", t[0].LengthMM, placeOf(p, given, t[0].AtPct))
		}
		s.add("", "", "Scrape the impression %.1f mm thicker %s, from its %s in both halves alike; it is filed back after the casting.", m.ThickenMM, where, outerWall(given))
	}
}

// placeOf says where a place of the pattern lies in the mould.
func placeOf(p *order.PiecePlan, given *order.Piece, atPct float64) string {
	if given.Kind.Closed() {
		atPct = math.Mod(atPct+given.Mould.TurnPct, 100)
	}
	return at(p, given, atPct)
}

// at says where a place of the mould lies: mm from the gate, and on a closed band the
// way round and the hour; of a cuff mm from an end.
func at(p *order.PiecePlan, given *order.Piece, atPct float64) string {
	long := p.Mould.ArcLengthMM
	switch {
	case given.Kind == shape.Cuff:
		return shape.Along(atPct, long, "first end", "second end")
	case !given.Kind.Closed():
		return shape.Along(atPct, long, "gate", "far end")
	}
	return shape.Around(atPct, long)
}

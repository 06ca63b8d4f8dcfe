// Package papers writes what a client signs and takes home: the receipt for
// metal and stones, the consent, the account after the pour and the care card.
// It stores nothing, and local law decides what the papers are worth.
package papers

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/ledger"
	"pourwright/internal/safety"
)

// In is what the papers tell.
type In struct {
	Which     []string                 `json:"which,omitempty" maxItems:"4" enum:"intake_receipt,consent,hand_back,care_card" doc:"Which papers; all if absent, the account only where it is given"`
	Paper     string                   `json:"paper" enum:"a4,letter" default:"a4" doc:"Size of the sheets, where the answer is asked for as PDF"`
	Studio    string                   `json:"studio,omitempty" maxLength:"300" doc:"Name and address of the studio"`
	Client    string                   `json:"client,omitempty" maxLength:"300" doc:"Name of the client; a line to write on if absent"`
	Reference string                   `json:"reference,omitempty" maxLength:"80" doc:"Your number of the order"`
	Date      string                   `json:"date,omitempty" maxLength:"40" doc:"As it is to be written; a line if absent"`
	Pieces    []string                 `json:"pieces,omitempty" maxItems:"12" doc:"What is to be made"`
	Metal     string                   `json:"metal" maxLength:"80" default:"silver" doc:"The metal in words" example:"sterling silver"`
	Lots      []PaperLot               `json:"lots,omitempty" maxItems:"60" doc:"The client's metal"`
	Stones    []PaperStone             `json:"stones,omitempty" maxItems:"60" doc:"The client's stones"`
	Account   *ledger.ReconciliationIn `json:"account,omitempty" doc:"Weighings of the pour, as reconciliations takes them, for the account"`
}

// PaperLot is a lot of the client's metal as it is handed over.
type PaperLot struct {
	What  string  `json:"what" minLength:"1" maxLength:"200" doc:"What it is" example:"six table spoons"`
	MassG float64 `json:"mass_g" minimum:"0.001" maximum:"1000000" doc:"Mass weighed before the client's eyes"`
	Mark  string  `json:"mark,omitempty" maxLength:"200" doc:"The mark described in words; not an assay" example:"number 830 in an oval"`
}

// PaperStone is stones of the client's as they are handed over.
type PaperStone struct {
	What      string   `json:"what" minLength:"1" maxLength:"200" doc:"What the client calls it; no identification" example:"blue stone, said to be sapphire"`
	Gem       string   `json:"gem,omitempty" maxLength:"40" doc:"Material, an id of /v1/stones, where it is known" example:"sapphire"`
	Quantity  int      `json:"quantity" minimum:"1" maximum:"500" default:"1" doc:"How many"`
	LengthMM  *float64 `json:"length_mm,omitempty" minimum:"0.3" maximum:"100" doc:"Length or diameter"`
	WidthMM   *float64 `json:"width_mm,omitempty" minimum:"0.3" maximum:"100" doc:"Width"`
	Colour    string   `json:"colour,omitempty" maxLength:"100" doc:"Colour as seen"`
	Condition string   `json:"condition,omitempty" maxLength:"200" doc:"What the loupe shows" example:"small chip at the girdle"`
	Plan      string   `json:"plan" enum:"cast_in_place,set_after_casting,give_back,not_decided" default:"not_decided" doc:"What is planned with it"`
}

// Out is the papers.
type Out struct {
	Papers  []Paper                   `json:"papers" doc:"The papers, in the order of the job"`
	Account *ledger.ReconciliationOut `json:"account,omitempty" doc:"The account that the hand-back rests on"`
	calc.Notes
}

// Paper is one paper.
type Paper struct {
	Kind  string      `json:"kind" enum:"intake_receipt,consent,hand_back,care_card" doc:"Which it is"`
	Title string      `json:"title" doc:"Its title"`
	Parts []PaperPart `json:"parts" doc:"Its parts, from the top"`
}

// PaperPart is a part of a paper; what it has not is empty.
type PaperPart struct {
	Heading string     `json:"heading,omitempty" doc:"Heading"`
	Text    []string   `json:"text" doc:"Paragraphs"`
	Heads   []string   `json:"heads" doc:"Heads of a table"`
	Rows    [][]string `json:"rows" doc:"Its rows"`
	Ticks   []string   `json:"ticks" doc:"Sentences to tick"`
	Lines   []string   `json:"lines" doc:"Labels of lines to write on"`
	BlankMM float64    `json:"blank_mm,omitempty,omitzero" doc:"Height left blank, for photographs"`
	shares  []float64  // of the table's columns
}

// Papers writes the papers. Errors are refusals.
func Papers(ctx context.Context, in In) (Out, error) {
	out := Out{Papers: []Paper{}, Notes: calc.Noting(ctx)}
	var c calc.Checks
	c.Bounds(in)
	for i := range in.Lots {
		c.Under(fmt.Sprintf("lots[%d]", i), calc.InBounds(in.Lots[i]))
	}
	for i := range in.Stones {
		c.Under(fmt.Sprintf("stones[%d]", i), calc.InBounds(in.Stones[i]))
		if why := in.Stones[i].refused(); why != "" {
			c.Refuse(fmt.Sprintf("stones[%d].plan", i), in.Stones[i].Plan, "give set_after_casting or give_back: %s", why)
		}
	}
	if slices.Contains(in.Which, "hand_back") && in.Account == nil {
		c.Refuse("account", nil, "give the weighings of the pour for the account")
	}
	if err := c.Err(); err != nil {
		return out, err
	}
	if in.Account != nil {
		account, err := ledger.Reconcile(ctx, *in.Account)
		if err != nil {
			return out, calc.Under("account", err)
		}
		out.Adopt("account", account.Notes)
		account.Notes = calc.Notes{Cautions: []calc.Caution{}, Sources: []calc.Source{}}
		out.Account = &account
	}
	for _, kind := range kinds {
		if len(in.Which) > 0 && !slices.Contains(in.Which, kind.name) || kind.name == "hand_back" && in.Account == nil {
			continue
		}
		p := Paper{Kind: kind.name, Title: kind.title, Parts: append(in.head(), kind.write(&in, &out)...)}
		out.Papers = append(out.Papers, p)
	}
	out.note(&in)
	return out, nil
}

var kinds = []struct {
	name, title string
	write       func(*In, *Out) []PaperPart
}{
	{"intake_receipt", "Receipt for metal and stones", (*In).receipt},
	{"consent", "Consent to melt and to cast", (*In).consent},
	{"hand_back", "Account after the pour", (*In).handBack},
	{"care_card", "Care of your piece", (*In).care},
}

const lawDecides = "Local law decides what this paper is worth, and what it cannot take from you."

// part makes a part of which no list is nil.
func part(heading string, text ...string) PaperPart {
	return PaperPart{Heading: heading, Text: append([]string{}, text...), Heads: []string{}, Rows: [][]string{}, Ticks: []string{}, Lines: []string{}}
}

// head says who, whose and when; what is not given is a line to write on.
func (in *In) head() []PaperPart {
	p := part("")
	for _, f := range []struct{ label, text string }{{"Studio", in.Studio}, {"Client", in.Client}, {"Order", in.Reference}, {"Date", in.Date}, {"To be made", strings.Join(in.Pieces, ", ")}} {
		switch {
		case f.text != "":
			p.Text = append(p.Text, f.label+": "+f.text)
		case f.label == "Client" || f.label == "Date":
			p.Lines = append(p.Lines, f.label)
		}
	}
	return []PaperPart{p}
}

// signatures closes a paper that is signed.
func signatures() PaperPart {
	p := part("", lawDecides)
	p.Lines = []string{"Client, date", "Studio, date"}
	return p
}

func (in *In) metalG() float64 {
	sum := 0.0
	for _, l := range in.Lots {
		sum += l.MassG
	}
	return sum
}

func (in *In) stoneCount() int {
	n := 0
	for _, s := range in.Stones {
		n += s.Quantity
	}
	return n
}

func (in *In) receipt(*Out) []PaperPart {
	list := []PaperPart{}
	if len(in.Lots) > 0 {
		p := part("Metal received", fmt.Sprintf("%d %s, %.2f g in all, weighed together with the client. Marks are described as seen: no fineness is confirmed by this receipt.", len(in.Lots), calc.Plural(len(in.Lots), "lot", "lots"), in.metalG()))
		p.Heads, p.shares = []string{"", "What", "Mark as seen", "g"}, []float64{0.5, 4, 3.5, 1.2}
		for i, l := range in.Lots {
			p.Rows = append(p.Rows, []string{fmt.Sprint(i + 1), l.What, l.Mark, fmt.Sprintf("%.2f", l.MassG)})
		}
		list = append(list, p)
	}
	if len(in.Stones) > 0 {
		list = append(list, in.stoneTable("Stones received", fmt.Sprintf("%d in all, looked at with the loupe together with the client. Names are the client's: no stone is identified or valued by this receipt.", in.stoneCount()), in.Stones))
	}
	photo := part("Photographs", "Photographs of metal, marks and stones belong here, or with this paper.")
	photo.BlankMM = 45
	return append(list, photo, signatures())
}

func (in *In) stoneTable(heading, text string, stones []PaperStone) PaperPart {
	p := part(heading, text)
	p.Heads, p.shares = []string{"", "What", "No.", "mm", "Colour", "Condition", "Plan"}, []float64{0.5, 3.2, 0.7, 1.6, 1.6, 2.6, 1.9}
	for i, s := range stones {
		p.Rows = append(p.Rows, []string{fmt.Sprint(i + 1), s.What, fmt.Sprint(s.Quantity), s.size(), s.Colour, s.Condition, strings.ReplaceAll(s.Plan, "_", " ")})
	}
	return p
}

func (s *PaperStone) size() string {
	switch {
	case s.LengthMM == nil:
		return ""
	case s.WidthMM == nil:
		return fmt.Sprintf("%.2f", *s.LengthMM)
	}
	return fmt.Sprintf("%.2f × %.2f", *s.LengthMM, *s.WidthMM)
}

func (in *In) consent(*Out) []PaperPart {
	melt := part("Melting", fmt.Sprintf("Your %s, %.2f g in all, is melted. Its old form and its marks are then gone for ever.", in.Metal, in.metalG()),
		"A little is lost as fume, dross, filings and dust; the account after the pour says how much. Where fine metal or alloy must be added to reach the fineness, the casting is of your metal and ours together.")
	melt.Ticks = []string{"The metal is mine to give, and I ask for it to be melted.", "I want my metal kept apart from that of others, as far as it is enough."}
	list := []PaperPart{melt}
	cast := slices.DeleteFunc(slices.Clone(in.Stones), func(s PaperStone) bool { return s.Plan != "cast_in_place" })
	if len(cast) > 0 {
		p := in.stoneTable("Stones that the metal is poured around", "These stones meet metal of about a thousand degrees. A stone may crack, craze, cloud, change colour, move or be covered, even if its kind usually comes through, and even with every care. It cannot be made whole again, and one like it may not be found.", cast)
		p.Ticks = []string{"I have told all that I know of treatments: oil, heat, fillings, dye.", "I ask for these stones to be cast in place at this risk.", "I would rather have them set after the casting."}
		list = append(list, p)
	}
	pour := part("The pour", "A pour can fail. It is then done again; the metal is melted once more and a little more of it is lost.")
	return append(list, pour, signatures())
}

func (in *In) handBack(out *Out) []PaperPart {
	a := out.Account
	sum := part("Metal of the whole pour", fmt.Sprintf("In %.2f g, out %.2f g; lost %.2f g ± %.2f g, %.1f %% (up to %.1f %% is usual). Fineness of what went in %.0f thousandths, reckoned and not assayed.", a.InG, a.OutG, a.LossG, a.LossPlusMinus, a.LossPct, a.UsualLossPct, a.FinenessIn))
	sum.Heads, sum.shares = []string{"What", "Whose", "g"}, []float64{4, 2, 1.2}
	row := func(way string, list []ledger.Entry) {
		for _, e := range list {
			what := way + strings.ReplaceAll(e.Kind, "_", " ")
			if e.ID != "" {
				what += ": " + e.ID
			}
			whose := e.OwnerName
			if whose == "" {
				whose = e.Owner
			}
			sum.Rows = append(sum.Rows, []string{what, whose, fmt.Sprintf("%.2f", e.MassG)})
		}
	}
	row("In, ", in.Account.In)
	row("Out, ", in.Account.Out)
	each := part("Whose it is", "By fine content: what each gave, the share of the loss, what each takes as it is, and what is still due out of button, sprue, filings and sweeps. A minus means that this owner has so much too much.")
	each.Heads, each.shares = []string{"Owner", "Gave, g", "of it fine, g", "Loss, fine g", "Takes, fine g", "Due, fine g", "Due, g"}, []float64{2.4, 1.2, 1.4, 1.4, 1.4, 1.3, 1.2}
	for _, o := range a.Owners {
		each.Rows = append(each.Rows, []string{o.Owner, grams(o.InG), grams(o.FineInG), grams(o.FineLossG), grams(o.FineTaken), grams(o.FineDueG), grams(o.MassDueG)})
	}
	back := part("Handed back")
	back.Ticks = []string{"The piece", "Metal that is left, g: ________", "Stones that were not used"}
	return []PaperPart{sum, each, back, signatures()}
}

func grams(v float64) string { return fmt.Sprintf("%.2f", v) }

func (in *In) care(*Out) []PaperPart {
	wear := part("Wear", "A casting is a little softer and coarser than rolled metal: do not bend it. Take it off for sport, swimming, cleaning and sleep. Bleach, chlorine and mercury harm silver and gold.")
	clean := part("Clean", fmt.Sprintf("Wash %s in lukewarm water with a drop of washing-up liquid and a soft brush, rinse, dry. Tarnish comes off with a soft polishing cloth.", in.Metal))
	list := []PaperPart{wear, clean}
	if in.stoneCount() > 0 {
		list = append(list, part("Stones", "No dips, no steam, no ultrasonic bath: a stone that met hot metal may hold cracks that nobody sees. Look at it every few months; if a stone moves or ticks, do not wear the piece and bring it in.",
			"Say before any repair that the stones are held by the casting: a torch near them may break them."))
	}
	return append(list, part("Skin", "If the skin reddens, take it off. Old metal can hold nickel; the fineness says nothing of it."), part("", lawDecides))
}

func (out *Out) note(in *In) {
	out.Step("metal received", in.metalG(), "g", "sum of %d lots", len(in.Lots))
	out.Step("stones received", float64(in.stoneCount()), "", "in %d lines", len(in.Stones))
	out.Cite(calc.Source{For: "wording and layout", Text: "ours, in plain words; no legal advice", Status: calc.Choice})
	out.Caution(safety.ConsumerLaw, safety.HallmarkLaw)
	if len(in.Stones) > 0 {
		out.Caution(safety.StoneConsent)
	}
}

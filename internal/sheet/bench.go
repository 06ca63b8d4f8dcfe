package sheet

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"pourwright/internal/calc"
	"pourwright/internal/commission"
	"pourwright/internal/draw"
	"pourwright/internal/order"
	"pourwright/internal/verdict"
)

const note = "A calculation, not an assay, and not a licence to pour. Print at 100 %, not fitted to the page; measure the bar before you cut or press anything."

var (
	plain  = draw.TextStyle{SizePt: 8.5}
	small  = draw.TextStyle{SizePt: 8}
	strong = draw.TextStyle{SizePt: 8.5, Bold: true}
)

// Bench writes the bench sheet of a planned order as PDF: the plan, what to
// weigh, what to do in order, each piece's stones and size at 1:1, and space
// for what happened.
func Bench(ctx context.Context, in commission.In, out commission.Out) ([]byte, error) {
	title := in.Title
	if title == "" {
		title = "Bench sheet"
	}
	paper := draw.A4
	if in.Paper == "letter" {
		paper = draw.Letter
	}
	f := draw.NewFlow(paper, title, note)
	plan(f, in, out)
	weigh(f, out)
	todo(f, out)
	poured := commission.Poured(in, &out)
	for i, p := range out.Pieces {
		poured[i].Mould = poured[i].Mould.Fed(p.SprueDiameterMM, p.FunnelDiameterMM)
		drawn, err := pieceOf(ctx, &in.Order, poured[i], p.Mould, p.Stones)
		if like := likeBefore(poured, i); like >= 0 {
			f.Text(fmt.Sprintf("%s: the drawings at 1:1 are those of %s.", p.Name, poured[like].Name), small)
		} else if err == nil {
			err = template(f, drawn, p)
		}
		if err == nil {
			err = flaskFigure(ctx, f, &in.Order, &out, drawn)
		}
		if err != nil {
			return nil, calc.Under(fmt.Sprintf("pieces[%d]", i), err)
		}
	}
	happened(f, out)
	return draw.PDF(f.Pages()...)
}

// likeBefore is the number of a piece before the i-th that is drawn as it is; -1 if none.
func likeBefore(pieces []order.Piece, i int) int {
	bare := func(p order.Piece) order.Piece {
		p.Name, p.Owner, p.Work = "", "", order.PieceWork{}
		p.Mould.SprueDiameterMM, p.Mould.FunnelDiameterMM = 0, 0 // the flask has them
		return p
	}
	return slices.IndexFunc(pieces[:i], func(p order.Piece) bool { return reflect.DeepEqual(bare(p), bare(pieces[i])) })
}

// shout is the verdict as the sheet prints it: capitals where nothing may be poured.
func shout(l verdict.Level) string {
	if l.Rank() >= verdict.NotYet.Rank() {
		return strings.ToUpper(l.Phrase())
	}
	return l.Phrase()
}

func plan(f *draw.Flow, in commission.In, out commission.Out) {
	f.Text(fmt.Sprintf("%s, %s. Melt %.1f g in all%s.", out.Metal(in), shout(out.Verdict), out.MeltMassG, out.From()), strong)
	f.Space(1)
	var rows [][]string
	melted := map[int]bool{} // pours whose melt is told
	for _, p := range out.Pieces {
		m := p.Mould
		melt := fmt.Sprintf("%.2f", p.Charge.MassG)
		if melted[p.PourTurn] {
			melt = "shared"
		}
		melted[p.PourTurn] = true
		inside, mould := insideOf("⌀ %.2f", "%.2f × %.2f", m.Finished), insideOf("⌀ %.2f", "%.2f × %.2f", m.Mould)
		if p.LengthMM > 0 {
			inside, mould = fmt.Sprintf("%.2f long", p.LengthMM), fmt.Sprintf("%.2f long", m.ArcLengthMM)
		}
		torch := ""
		switch low, high := p.Melt.TimeLowS/60, p.Melt.TimeHighS/60; {
		case high > 0:
			torch = fmt.Sprintf("%.1f to %.1f", low, high)
		case low > 0:
			torch = fmt.Sprintf("over %.1f", low)
		}
		rows = append(rows, []string{p.Name, shout(p.Verdict), inside, mould,
			fmt.Sprintf("%.2f × %.2f %s", m.FillSection.ThicknessMM, m.FillSection.Width(), m.FillSection.Shape.Words()),
			melt, fmt.Sprintf("%.0f °C", p.PourC), torch, risk(p.FailurePct)})
	}
	f.Table([]draw.Column{{Head: "Piece", Share: 2.4}, {Head: "Pour?", Share: 1.9}, {Head: "Finished, mm", Share: 2, Align: draw.Right}, {Head: "Mould, mm", Share: 1.7, Align: draw.Right},
		{Head: "Mould section, mm", Share: 2.8}, {Head: "Melt, g", Share: 1.2, Align: draw.Right}, {Head: "Pour at", Share: 1.3, Align: draw.Right}, {Head: "Torch, min", Share: 1.5, Align: draw.Right}, {Head: "Risk", Share: 0.9, Align: draw.Right}}, rows)
	if w := out.PourOption; w != nil {
		for _, p := range w.Pieces {
			f.Item("•", p.Name+" is poured so: "+p.Changes, plain)
		}
	}
	for _, p := range out.Pieces {
		for _, r := range p.Reasons {
			f.Item("•", p.Name+": "+strings.TrimSpace(r.Why+" "+r.Do), small)
		}
	}
}

func risk(pct float64) string {
	if pct < 1 {
		return "< 1 %"
	}
	return fmt.Sprintf("%.0f %%", pct)
}

func weigh(f *draw.Flow, out commission.Out) {
	f.Heading("Weigh out")
	var rows [][]string
	poured := map[int]bool{}
	for _, first := range out.PourOrder { // a row for each lot of each pour, as they are poured
		p := out.Pieces[slices.IndexFunc(out.Pieces, func(p order.PiecePlan) bool { return p.Name == first })]
		if poured[p.PourTurn] {
			continue
		}
		poured[p.PourTurn] = true
		name := strings.Join(append([]string{p.Name}, p.SharesPourWith...), ", ")
		for _, c := range p.Charge.Charge {
			if c.WeighG > 0 {
				rows = append(rows, []string{name, named(c.ID, c.Bought), fmt.Sprintf("%.2f", c.WeighG), ""})
				name = ""
			}
		}
		rows = append(rows, []string{"", "together", fmt.Sprintf("%.2f", p.Charge.MassG), ""})
	}
	f.Table([]draw.Column{{Head: "Pour", Share: 3}, {Head: "Metal", Share: 4}, {Head: "g", Share: 1, Align: draw.Right}, {Head: "Weighed, g", Share: 1.6}}, rows)
	for _, r := range out.RefusedLots {
		f.Item("▲", "Keep "+r.ID+" out: "+r.Reason, strong)
	}
	var left []string
	for _, l := range out.LotsLeft {
		if l.LeftG > 0 {
			left = append(left, fmt.Sprintf("%s %.2f g", l.ID, l.LeftG))
		}
	}
	if len(left) > 0 {
		f.Text("Left over: "+strings.Join(left, ", ")+".", small)
	}
}

func todo(f *draw.Flow, out commission.Out) {
	f.Heading("In this order")
	for _, s := range out.Steps {
		text := s.Do
		if s.Piece != "" {
			text = s.Piece + ": " + text
		}
		text = fmt.Sprintf("%d. %s", s.Number, text)
		const tick, mark, gap = 6, 10, 1.4 // mm: indents, and what follows the items
		tall := draw.BoxHeight(f.Width()-tick, text, plain) + gap
		if s.Caution != "" { // on the page of its step
			tall += draw.BoxHeight(f.Width()-mark, s.Caution, strong)
		}
		if tall > f.Left() {
			f.NewPage()
		}
		f.Item("", text, plain)
		if s.Caution != "" {
			f.Item("     ▲", s.Caution, strong)
		}
	}
	f.Heading("Beware")
	for _, c := range out.Cautions {
		if c.Severity == calc.Danger {
			f.Item("▲", c.Text, small)
		}
	}
}

// happened leaves space for what the pours gave: what calibrations,
// mould-calibrations and reconciliations ask for.
func happened(f *draw.Flow, out commission.Out) {
	f.Heading("What happened")
	f.Text("These figures make the next plan better: calibrations takes how the pours went, mould-calibrations the sizes, reconciliations the masses.", small)
	f.Space(1)
	columns := []draw.Column{{Head: "Piece", Share: 2.6}, {Head: "Poured at, °C", Share: 1.2}, {Head: "in, s", Share: 0.8}, {Head: "Clay, °C", Share: 1}, {Head: "Filled? If not, stopped at, mm", Share: 2}, {Head: "Mould, cast inside, mm", Share: 1.8}, {Head: "Stones placed, lost", Share: 1.4}}
	masses := []draw.Column{{Head: "Piece", Share: 2.6}, {Head: "Charged, g", Share: 1}, {Head: "Casting, g", Share: 1}, {Head: "Button, sprue, g", Share: 1.3}, {Head: "Crucible, dross, g", Share: 1.3}, {Head: "Filings, sweeps, g", Share: 1.3}, {Head: "Finished, g", Share: 1}}
	var rows [][]string
	for _, p := range out.Pieces {
		rows = append(rows, []string{p.Name + "\n "})
	}
	f.Table(columns, rows)
	f.Table(masses, rows)
	f.Table([]draw.Column{{Head: "Fineness by assay", Share: 1}, {Head: "Returned to the client", Share: 2}, {Head: "Done by, on", Share: 2}}, [][]string{{"\n "}})
}

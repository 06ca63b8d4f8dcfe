package sheet

import (
	"context"
	"fmt"

	"pourwright/internal/calc"
	"pourwright/internal/draw"
	"pourwright/internal/fill"
)

// TestPours writes the record sheet of planned test pours as PDF: what to pour,
// what each outcome would mean, and space for what happened.
func TestPours(_ context.Context, in fill.TestPoursIn, out fill.TestPoursOut) ([]byte, error) {
	f := draw.NewFlow(draw.A4, "Test pours", "A calculation, not a licence to pour.")
	f.Text("The planned piece as it is known now: "+out.Words+" fail.", plain)
	for i := range out.Plan {
		p := &out.Plan[i]
		f.Heading(fmt.Sprintf("Pour %d", i+1))
		f.Text(fmt.Sprintf("%s Melt %.0f g; all but %.1f g goes back into the pot. Sprue %.3g mm wide and %.3g mm long, %.3g mm of metal in the funnel, %d vents at the far end.",
			p.Do, p.MetalG, p.LostG, p.Strip.SprueDiameterMM, p.Strip.SprueLengthMM, p.Strip.FunnelHeadMM, p.Strip.VentCount), plain)
		f.Space(1)
		var rows [][]string
		for _, m := range p.Meanings {
			rows = append(rows, []string{m.Outcome, fmt.Sprintf("%.0f %%", m.ProbabilityPct), m.Words, m.Level.Phrase()})
		}
		f.Table([]draw.Column{{Head: "If it", Share: 2}, {Head: "likely", Share: 0.7}, {Head: "of the planned piece fail", Share: 2.6}, {Head: "which is", Share: 1.6}}, rows)
	}
	if len(out.Plan) > 0 {
		f.Heading("What happened")
		f.Text("Measure the run from the sprue to where most of the width ends; read the time from a video, from the first metal in the funnel until all is full. Give calibrations the strip with reached_mm and pour_time_s.", small)
		var rows [][]string
		for i := range out.Plan {
			rows = append(rows, []string{fmt.Sprintf("%d\n ", i+1)})
		}
		f.Table([]draw.Column{{Head: "Pour", Share: 0.5}, {Head: "Ran, mm", Share: 1}, {Head: "in, s", Share: 0.8}, {Head: "Poured at, °C", Share: 1.1}, {Head: "Clay, °C", Share: 0.9}, {Head: "Clay of, metal, by, on", Share: 3}}, rows)
	}
	f.Heading("Beware")
	for _, c := range out.Cautions {
		if c.Severity == calc.Danger {
			f.Item("▲", c.Text, small)
		}
	}
	return draw.PDF(f.Pages()...)
}

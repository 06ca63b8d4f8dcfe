package sheet

import (
	"fmt"
	"html"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/calc"
	"pourwright/internal/commission"
	"pourwright/internal/draw"
	"pourwright/internal/wire"

	"reflect"
)

// label finds the words of a drawing.
var label = regexp.MustCompile(`<text[^>]*>([^<]*)</text>|<desc[^>]*>([^<]*)</desc>`)

func labels(svg []byte) (all string) {
	for _, m := range label.FindAllSubmatch(svg, -1) {
		all += html.UnescapeString(string(m[1])+string(m[2])) + "\n"
	}
	return all
}

// says finds the figures that a drawing names so, a group for each, and holds them to
// the answer's, written to the places that the drawing writes.
func says(t *rapid.T, text, pattern string, want ...float64) {
	found := regexp.MustCompile(pattern).FindStringSubmatch(text)
	require.Len(t, found, len(want)+1, "%s in:\n%s", pattern, text)
	for i, w := range want {
		got := found[i+1]
		if got != draw.Number(w) {
			require.Equal(t, fmt.Sprintf("%.*f", decimals(got), w), got, "%s in:\n%s", pattern, text)
		}
	}
}

func decimals(text string) int {
	for i, c := range text {
		if c == '.' {
			return len(text) - i - 1
		}
	}
	return 0
}

// TestDrawingsSayWhatTheAnswerSays: sizes and masses that stand in the pictures of a
// draft are those of its answer.
func TestDrawingsSayWhatTheAnswerSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := func(low, high float64, what string) float64 { return rapid.Float64Range(low, high).Draw(t, what) }
		kind := rapid.SampledFrom([]string{"ring", "bangle", "drop", "bar"}).Draw(t, "kind")
		measure := map[string]string{
			"ring":   fmt.Sprintf(`"inside_diameter_mm": %.2f`, number(15, 22, "ring")),
			"bangle": fmt.Sprintf(`"inside_width_mm": %.2f, "inside_height_mm": %.2f`, number(52, 66, "wide"), number(42, 50, "high")),
			"drop":   fmt.Sprintf(`"length_mm": %.2f`, number(16, 40, "drop")), "bar": fmt.Sprintf(`"length_mm": %.2f`, number(16, 60, "bar"))}[kind]
		piece := fmt.Sprintf(`"kind": %q, %s, "thickness_mm": %.2f, "width_mm": %.2f, "mould": {"posture": %q}}`, kind, measure,
			number(1.5, 3, "thickness"), number(4, 8, "width"), rapid.SampledFrom([]string{"standing", "lying"}).Draw(t, "posture"))
		body := `{"lots": [{"id": "old", "mass_g": 400, "alloy": "silver-925", "owner": "client"}], "pieces": [{"name": "one", ` + piece
		shared := rapid.Bool().Draw(t, "shared")
		if shared {
			body += `, {"name": "two", ` + piece + `], "shared_pours": [{"pieces": ["one", "two"]}]}`
		} else {
			body += `]}`
		}
		in, err := wire.ShapeOf(reflect.TypeFor[commission.DraftIn]()).ReadJSON([]byte(body))
		require.NoError(t, err)
		order := *in.(*commission.DraftIn)
		out, err := commission.Draft(calc.Silent(ctx), order)
		require.NoError(t, err)
		drawn := func(picture string) string {
			order.Picture = picture
			svg, err := Draft(ctx, order, out)
			require.NoError(t, err)
			return labels(svg)
		}
		d := out.Pieces[0]
		const n = `([\d.]+)`
		m, piecePicture := d.Mould.Mould, drawn("piece")
		switch kind {
		case "ring":
			says(t, piecePicture, n+` mm inside`, m.InsideDiameterMM)
		case "bangle":
			says(t, piecePicture, `Band of `+n+` mm inside width and `+n+` mm inside height`, m.InsideHeightMM, m.InsideWidthMM)
		default:
			says(t, piecePicture, `mould, `+n+` mm long`, d.Mould.ArcLengthMM)
		}
		if d.Mould.FillSection.Shape == "half_round" && kind != "drop" && kind != "bar" {
			says(t, piecePicture, n+` × `+n+` mm`, d.Mould.FillSection.ThicknessMM, d.Mould.FillSection.Width())
		}

		metal := drawn("metal")
		says(t, metal, `Casting `+n+` g`, d.Melt.CastingMassG)
		says(t, metal, `Sprue `+n+` g`, d.Melt.SprueMassG)
		says(t, metal, `Button `+n+` g`, d.Melt.ButtonMassG)
		says(t, metal, `In: old `+n+` g`, d.Charge.MassG)

		mould := drawn("mould")
		switch {
		case shared:
			f := out.Flasks[0]
			says(t, mould, `Funnel ⌀ `+n+` mm in the mean for `+n+` mm of metal; sprue ⌀ `+n+` mm, `+n+` mm long`, f.FunnelMM, f.HeadMM, f.SprueMM, f.SprueLongMM)
			says(t, mould, `Runner ⌀ `+n+` mm; gates ⌀ `+n+` mm`, f.RunnerMM, f.GateMM)
			says(t, mould, n+` by `+n+` mm of flask`, f.WidthMM, f.HeightMM)
		case kind == "drop" || kind == "bar":
			says(t, mould, `sprue ⌀ `+n+` mm, `+n+` mm long`, d.Pour.SprueDiameterMM, d.Pour.SprueLengthMM)
			says(t, mould, `Funnel ⌀ `+n+` mm in the mean for `+n+` mm`, d.Pour.FunnelDiameterMM, d.Pour.FunnelHeadMM)
		default:
			says(t, mould, `Sprue ⌀ `+n, d.Pour.SprueDiameterMM)
		}
	})
}

package sheet

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/commission"
	"pourwright/internal/draw"
	"pourwright/internal/order"
	"pourwright/internal/wire"
	"pourwright/testdata"

	"reflect"
)

var ctx = context.Background()

// readOrder reads a body as the server does.
func readOrder(t testing.TB, body string) commission.In {
	in, err := wire.ShapeOf(reflect.TypeFor[commission.In]()).ReadJSON([]byte(body))
	require.NoError(t, err)
	return *in.(*commission.In)
}

func planned(t testing.TB, in commission.In) commission.Out {
	out, err := commission.Plan(calc.Silent(ctx), in)
	require.NoError(t, err)
	return out
}

func bench(t testing.TB, in commission.In, out commission.Out) []byte {
	pdf, err := Bench(ctx, in, out)
	require.NoError(t, err)
	if dir := os.Getenv("POURWRIGHT_LOOK"); dir != "" {
		require.NoError(t, os.WriteFile(fmt.Sprintf("%s/%s.pdf", dir, t.Name()), pdf, 0o644))
	}
	return pdf
}

func pages(pdf []byte) int {
	return bytes.Count(pdf, []byte("/Type/Page")) - bytes.Count(pdf, []byte("/Type/Pages"))
}

// The drawings are at 1:1 and no text is under 7 pt: with the flask that it is
// cut by, a piece takes two pages, and the plan's verdict and cautions one more
// in all.
func TestBenchSheetIsShort(t *testing.T) {
	if testing.Short() {
		t.Skip("every kind of order")
	}
	in := readOrder(t, testdata.Bangles)
	for pieces := range len(in.Pieces) {
		in := in
		in.Pieces = in.Pieces[:pieces+1]
		out := planned(t, in)
		for _, paper := range []string{"a4", "letter"} {
			in.Paper = paper
			pdf := bench(t, in, out)
			require.Equal(t, pdf, bench(t, in, out), "same order, same bytes")
			require.LessOrEqual(t, pages(pdf), 2*(pieces+1)+1, paper)
		}
	}
}

// The vents are cut from the outside, where the flask is drawn, and nowhere in
// the core.
func TestBenchSheetDrawsTheFlaskThatIsCut(t *testing.T) {
	in := readOrder(t, testdata.Bangles)
	in.Pieces = in.Pieces[:1]
	out := planned(t, in)
	f := draw.NewFlow(draw.A4, "vents", note)
	p, err := pieceOf(ctx, &in.Order, commission.Poured(in, &out)[0], out.Pieces[0].Mould, nil)
	require.NoError(t, err)
	require.NoError(t, template(f, p, out.Pieces[0]))
	require.NoError(t, flaskFigure(ctx, f, &in.Order, &out, p))
	var drawn strings.Builder
	for _, page := range f.Pages() {
		svg, err := page.SVG()
		require.NoError(t, err)
		drawn.Write(svg)
	}
	for _, text := range []string{"in its mould", "vent<", "Funnel"} {
		require.Contains(t, drawn.String(), text)
	}
}

// Long names, twelve lots and forty stones must not run off the paper: a
// block that does not fit makes the document fail, and no line is wider than
// its box.
func TestBenchSheetOfALargeOrder(t *testing.T) {
	in := readOrder(t, testdata.Bangles)
	in.Title = strings.Repeat("An order with a long title ", 4)
	lot := in.Lots[0]
	in.Lots = in.Lots[:0]
	for i := range 12 {
		l := lot
		l.ID, l.MassG = fmt.Sprintf("lot %d of spoons with a name that goes on, and then goes on", i), 20
		in.Lots = append(in.Lots, l)
	}
	in.Stones[0].ID, in.Stones[0].Quantity = "sapphires of a blue that takes words to tell apart", 40
	in.Pieces = in.Pieces[:1]
	p := &in.Pieces[0]
	p.Name = "the bangle that is wanted for a wedding, in spring"
	p.Stones = []order.PlacedStones{{ID: in.Stones[0].ID, Quantity: 40, AtPct: 50}}
	p.Mould.FlaskWidthMM = 110
	pdf := bench(t, in, planned(t, in))
	require.LessOrEqual(t, pages(pdf), 4)
}

// TestPlacesOfStones holds the drawing to what the order says: groups about
// their middle, apart by what the plan leaves between them, turned with the
// pattern.
func TestPlacesOfStones(t *testing.T) {
	in := readOrder(t, testdata.Bangles)
	in.Pieces = in.Pieces[:1]
	out, err := commission.Draft(ctx, commission.DraftIn{Job: in.Job})
	require.NoError(t, err)
	p, err := pieceOf(ctx, &in.Order, in.Pieces[0], *out.Pieces[0].Mould, out.Pieces[0].Stones)
	require.NoError(t, err)
	stones := p.fixedStones()
	require.Len(t, stones, 3, "the opal is not cast in place")
	const tol = 1e-12
	require.InDelta(t, 0.20, stones[1].at, tol)
	require.InDelta(t, (1.6+order.Between)/p.mould.ArcLengthMM, stones[1].at-stones[0].at, tol)

	p.cavity.Turn = 0.9
	require.InDelta(t, 0.10, p.fixedStones()[1].at, tol)
	for _, s := range p.fixedStones() {
		require.True(t, s.at >= 0 && s.at < 1)
	}
}

func TestTurnedProfileIsThePatternTurned(t *testing.T) {
	in := readOrder(t, testdata.Bangles)
	out, err := commission.Draft(ctx, commission.DraftIn{Job: in.Job})
	require.NoError(t, err)
	p, err := pieceOf(ctx, &in.Order, in.Pieces[1], *out.Pieces[1].Mould, nil)
	require.NoError(t, err)
	plain := p.cavity
	for _, turn := range []float64{1, 25, 50, 75, 99.5} {
		p.cavity.Turn = turn / 100
		require.NoError(t, p.cavity.Profile(nil).Check())
		for i := range 100 {
			f := float64(i) / 100
			want := plain.At(math.Mod(f-turn/100+1, 1)).ThicknessMM
			require.InDelta(t, want, p.cavity.At(f).ThicknessMM, 1e-9, "turn %g at %g", turn, f)
		}
	}
}
func TestPicturesOfADraft(t *testing.T) {
	in := commission.DraftIn{Job: readOrder(t, testdata.Mixed).Job, Lots: readOrder(t, testdata.Mixed).Lots, PicturePiece: 1}
	out, err := commission.Draft(ctx, in)
	require.NoError(t, err)
	for _, open := range out.Open { // a draft places no stones by rule, and says so
		require.Regexp(t, `^pieces\[\d\]\.placing$`, open.Location)
	}
	for i, p := range in.Pieces {
		for _, kind := range []string{"piece", "mould", "metal", "diagram"} {
			in.Picture, in.PicturePiece = kind, i+1
			svg, err := Draft(ctx, in, out)
			require.NoError(t, err, "%s %s", p.Name, kind)
			require.Contains(t, string(svg), "<title>")
		}
	}
	in.PicturePiece = 9
	_, err = Draft(ctx, in, out)
	require.ErrorContains(t, err, "picture_piece")
	in.PicturePiece, in.Picture = 1, "diagram"
	in.Alloy = "gold-750-yellow"
	in.Pieces[0].Alloy = ""
	_, err = Draft(ctx, in, out)
	require.ErrorContains(t, err, "silver and copper")
}

func TestUnplannedPiecesAreNotDrawn(t *testing.T) {
	var in commission.DraftIn
	require.NoError(t, json.Unmarshal([]byte(`{"pieces": [{"name": "x"}]}`), &in))
	in.PicturePiece = 1
	_, err := Draft(ctx, in, commission.DraftOut{Pieces: make([]commission.DraftPiece, 1), Open: []commission.DraftOpen{{Location: "pieces[0].section", Message: "give one"}}})
	require.ErrorContains(t, err, "pieces[0].section")
}

// Like pieces are drawn once, with their flask after the last of them; pieces that
// differ each by themselves.
func TestLikePiecesAreDrawnOnce(t *testing.T) {
	in := readOrder(t, `{"improvements": false, "shared_pours": [{"pieces": ["left", "right"]}], "lots": [{"id": "grain", "mass_g": 90, "alloy": "silver-925", "owner": "studio"}],
		"pieces": [{"name": "left", "kind": "drop", "length_mm": 28, "thickness_mm": 3, "width_mm": 10}, {"name": "right", "kind": "drop", "length_mm": 28, "thickness_mm": 3, "width_mm": 10}]}`)
	require.Equal(t, -1, likeBefore(in.Pieces, 0))
	require.Equal(t, 0, likeBefore(in.Pieces, 1))
	once := pages(bench(t, in, planned(t, in)))
	require.LessOrEqual(t, once, 2)
	longer := 29.0
	in.Pieces[1].LengthMM = &longer
	require.Equal(t, -1, likeBefore(in.Pieces, 1))
}

package draw_test

import (
	"bytes"
	"fmt"
	"image/png"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/draw"
)

var columns = []draw.Column{{Head: "Lot", Share: 3}, {Head: "Mark", Share: 2}, {Head: "g", Share: 1, Align: draw.Right}}

// document is longer than a page.
func document(p draw.Paper) *draw.Flow {
	f := draw.NewFlow(p, "A document of several pages", "Invented, for the tests of this package")
	f.Heading("Curves and marks")
	s := draw.NewSheet(150, 80)
	a := draw.Axes{X: 18, Y: 4, W: 120, H: 62, XMin: 0, XMax: 10, YMin: -1, YMax: 1, XLabel: "Time, s", YLabel: "Position, mm"}
	s.Axes(a)
	var x, y, z []float64
	for i := range 200 {
		v := float64(i) * 0.06
		x, y, z = append(x, v), append(y, 1.4*math.Sin(v)), append(z, math.Exp(-v)*math.Cos(3*v))
	}
	y[40] = math.NaN()
	s.Curve(a, x, y, draw.Stroke(draw.Blue, 0.5))
	s.Curve(a, x, z, draw.Stroke(draw.Vermilion, 0.5, 2, 1))
	f.Figure(s, 1)
	s = draw.NewSheet(120, 45)
	outline := [][]draw.Point{ring(30, 22, 18), ring(30, 22, 8)}
	s.Hatch(outline, 1.5, 45, draw.Stroke(draw.Black, 0.12))
	s.Area(outline, draw.Stroke(draw.Black, 0.3))
	s.Dimension(12, 22, 48, 22, 21, "36 mm", draw.TextStyle{})
	s.Rect(70, 10, 30, 20, draw.Stroke(draw.Black, 0.3))
	s.Dimension(100, 10, 100, 30, 5, "20", draw.TextStyle{SizePt: 8})
	s.Dimension(70, 30, 100, 30, -5, "30", draw.TextStyle{SizePt: 8})
	s.Dimension(70, 10, 73, 10, 3, "3", draw.TextStyle{SizePt: 8})
	f.Figure(s, 0)
	f.Heading("Items")
	for i := range 3 {
		f.Item("", strings.Repeat("Dry the flask. ", 4+8*i), draw.TextStyle{})
		f.Item(fmt.Sprintf("%d.", i+1), "Weigh the scrap.", draw.TextStyle{})
	}
	f.Heading("Table")
	var rows [][]string
	for i := range 30 {
		rows = append(rows, []string{fmt.Sprintf("Row %d, spoons of an old drawer, sorted by the mark that each of them bears", i), "800", fmt.Sprintf("%d.5", 10+i)})
	}
	f.Table(columns, rows)
	f.Write("Poured at, °C", "What happened")
	return f
}

func TestLookAtFlow(t *testing.T) {
	dir := os.Getenv("POURWRIGHT_LOOK")
	if dir == "" {
		t.Skip("set POURWRIGHT_LOOK to a folder to get the document")
	}
	pdf, err := draw.PDF(document(draw.A4).Pages()...)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(dir+"/flow.pdf", pdf, 0o644))
}

// TestNothingIsLost counts the rows over all pages of both papers.
func TestNothingIsLost(t *testing.T) {
	for _, p := range []draw.Paper{draw.A4, draw.Letter, draw.A4.Across()} {
		pages := document(p).Pages()
		require.Greater(t, len(pages), 1)
		var all bytes.Buffer
		for i, s := range pages {
			svg, err := s.SVG()
			require.NoError(t, err)
			require.Contains(t, string(svg), fmt.Sprintf(">%d / %d<", i+1, len(pages)))
			all.Write(svg)
		}
		for i := range 30 {
			require.Equal(t, 1, strings.Count(all.String(), fmt.Sprintf("Row %d,", i)))
		}
		require.NotContains(t, all.String(), "…")
		require.Equal(t, 36, strings.Count(all.String(), "Dry"))
	}
}

func TestTrueFigureIsNeverShrunk(t *testing.T) {
	for _, size := range [][2]float64{{200, 50}, {50, 290}} {
		f := draw.NewFlow(draw.A4, "", "")
		f.Figure(draw.NewSheet(size[0], size[1]), 1)
		_, err := draw.PDF(f.Pages()...)
		require.ErrorContains(t, err, "does not fit")
		f = draw.NewFlow(draw.A4, "", "")
		f.Figure(draw.NewSheet(size[0], size[1]), 0)
		_, err = draw.PDF(f.Pages()...)
		require.NoError(t, err)
	}
}

func TestRowTallerThanThePageIsRefused(t *testing.T) {
	f := draw.NewFlow(draw.A4, "", "")
	f.Table(columns, [][]string{{strings.Repeat("word ", 3000)}})
	_, err := draw.PDF(f.Pages()...)
	require.ErrorContains(t, err, "does not fit")
}

// BenchmarkWrap breaks long text with and without spaces, beside measuring it
// in one piece.
func BenchmarkWrap(b *testing.B) {
	for name, text := range map[string]string{
		"words":   strings.Repeat("silver spoon ", 200),
		"letters": strings.Repeat("x", 2600),
		"chinese": strings.Repeat("银", 870),
	} {
		b.Run(name+"/wrap", func(b *testing.B) {
			for b.Loop() {
				draw.BoxHeight(60, text, draw.TextStyle{})
			}
		})
		b.Run(name+"/measure", func(b *testing.B) {
			for b.Loop() {
				draw.TextWidth(text, draw.TextStyle{})
			}
		})
	}
}

func TestAxesMustRise(t *testing.T) {
	for _, a := range []draw.Axes{{}, {W: 1, H: 1, XMin: 2, XMax: 1, YMax: 1}, {W: 1, H: 1, XMax: math.NaN(), YMax: 1}, {W: math.Inf(1), H: 1, XMax: 1, YMax: 1}} {
		s := draw.NewSheet(100, 100)
		s.Axes(a)
		require.Error(t, s.Err())
		s = draw.NewSheet(100, 100)
		s.Curve(a, []float64{1}, []float64{1}, draw.Style{})
		require.Error(t, s.Err())
	}
}

// TestCurveIsCutAtTheFrame draws far out of the frame and looks for ink there.
func TestCurveIsCutAtTheFrame(t *testing.T) {
	s := draw.NewSheet(60, 60)
	a := draw.Axes{X: 20, Y: 20, W: 20, H: 20, XMax: 1, YMax: 1}
	for _, far := range []float64{3, 1e6, 1e300, math.Inf(1), math.NaN()} {
		s.Curve(a, []float64{-far, far, 0.5, -far, 0.2}, []float64{-far, far, -far, 0.5, 0.4}, draw.Stroke(draw.Black, 0.4))
	}
	b, err := s.PNG(254)
	require.NoError(t, err)
	img, err := png.Decode(bytes.NewReader(b))
	require.NoError(t, err)
	inside, outside := 0, 0
	for x := range 600 {
		for y := range 600 {
			if v, _, _, _ := img.At(x, y).RGBA(); v < 32768 {
				if x >= 197 && x <= 403 && y >= 197 && y <= 403 { // half the line's width beyond the frame
					inside++
				} else {
					outside++
				}
			}
		}
	}
	require.Zero(t, outside)
	require.Greater(t, inside, 200)
}

// TestHatchCoversTheAreaAlone weighs the ink: the area over the spacing times
// the line's width.
func TestHatchCoversTheAreaAlone(t *testing.T) {
	const spacing, width = 1.0, 0.2
	s := draw.NewSheet(60, 60)
	s.Hatch([][]draw.Point{ring(30, 30, 25), ring(30, 30, 10)}, spacing, 30, draw.Style{Line: draw.Black, WidthMM: width, DashMM: []float64{1000, 1} /* dashed: no round caps */})
	b, err := s.PNG(508)
	require.NoError(t, err)
	img, err := png.Decode(bytes.NewReader(b))
	require.NoError(t, err)
	ink := 0.0
	for x := range img.Bounds().Dx() {
		for y := range img.Bounds().Dy() {
			v, _, _, _ := img.At(x, y).RGBA()
			ink += 1 - float64(v)/65535
		}
	}
	area := math.Pi * (25*25 - 10*10)
	require.InEpsilon(t, area/spacing*width, ink/400, 0.03) // 3 %: a polygon for the circle, whole lines at the rim
	v, _, _, _ := img.At(600, 600).RGBA()
	require.EqualValues(t, 65535, v, "the hole stays white")
	s.Hatch([][]draw.Point{ring(30, 30, 25)}, 0.01, 0, draw.Stroke(draw.Black, 0.1))
	require.Error(t, s.Err())
}

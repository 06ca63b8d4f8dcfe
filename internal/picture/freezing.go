package picture

import (
	"fmt"
	"image"
	"math"

	"pourwright/internal/draw"
	"pourwright/internal/heat"
)

// Measures of the freezing picture, mm.
const (
	freezeWide    = 180.0
	freezeEdge    = 12.0
	freezeSection = 80.0 // height of the section
)

// DrawFreezing draws the freezing time on a section through sprue and piece, on the
// piece unrolled (round a ring from the sprue, else along its longest side),
// and the share of solid against time. The colours read alike for all kinds
// of colour vision and in grey print.
func DrawFreezing(in heat.FreezeIn, out heat.FreezeOut) *draw.Sheet {
	s := draw.NewSheet(freezeWide, 245)
	s.Title = "When each place freezes"
	fed := "every place draws metal until feeding stops"
	if !out.Fed {
		fed = fmt.Sprintf("%.3g mm³ of the piece are cut off from the button", out.CutOffMM3)
	}
	s.Description = fmt.Sprintf("Piece solid after %.3g s; %s. Interface %.4g W/(m² K), cells of %.3g mm.", out.PieceFrozenS, fed, in.InterfaceWM2K, out.Grid.CellMM)
	s.Text(freezeEdge, 10, s.Title, draw.TextStyle{SizePt: 12, Bold: true})
	s.Text(freezeEdge, 15.5, s.Description, draw.TextStyle{SizePt: 8.5})
	low, high := out.Span()
	if out.ButtonFrozenS != nil {
		high = max(high, *out.ButtonFrozenS)
	}
	s.Legend(freezeEdge, 19, 90, draw.Cividis, low, high, "solid after, s")
	y := 36.0
	name := draw.TextStyle{SizePt: 8.5}
	colour := func(t float64) draw.Colour { return draw.Cividis.At((t - low) / max(high-low, 1e-9)) }

	img := coloured(out.Section(), colour)
	scale := min((freezeWide-2*freezeEdge)/float64(img.Rect.Dx()), freezeSection/float64(img.Rect.Dy()))
	s.Text(freezeEdge, y, "Section through the middle", name)
	s.Image(img, freezeEdge, y+2, scale*float64(img.Rect.Dx()), scale*float64(img.Rect.Dy()))
	bar, x := 10*scale/out.Grid.CellMM, freezeWide-freezeEdge
	s.Line(x-bar, y, x, y, draw.Stroke(draw.Black, 0.5))
	s.Text(x-bar-2, y+1, "10 mm", draw.TextStyle{SizePt: 7.5, Align: draw.Right})
	y += freezeSection + 10

	times, width := out.Unrolled()
	along := "round the ring from the sprue, %"
	if !out.RoundSprue() {
		along = "along the longest side, %"
	}
	a := draw.Axes{X: freezeEdge + 10, Y: y + 2, W: freezeWide - 2*freezeEdge - 10, H: 30, XMax: 100, YMin: -width / 2, YMax: width / 2, XLabel: along, YLabel: "across, mm"}
	s.Text(freezeEdge, y, "The piece unrolled: when the last metal through the thickness is solid", name)
	s.Axes(a)
	s.Image(coloured(times, colour), a.X, a.Y, a.W, a.H)
	y += 52

	end := out.Curve[len(out.Curve)-1].TimeS
	a = draw.Axes{X: freezeEdge + 10, Y: y + 2, W: freezeWide - 2*freezeEdge - 10, H: 38, XMax: end, YMax: 100, XLabel: "Time from the end of the pour, s", YLabel: "solid, %"}
	s.Text(freezeEdge, y, "Share of all metal that is solid", name)
	s.Axes(a)
	xs, ys := make([]float64, len(out.Curve)), make([]float64, len(out.Curve))
	for i, m := range out.Curve {
		xs[i], ys[i] = m.TimeS, m.SolidPct
	}
	s.Curve(a, xs, ys, draw.Stroke(draw.Blue, 0.5))
	return s
}

// coloured is a raster of times as an image, grey where there is no metal.
func coloured(t heat.Times, colour func(float64) draw.Colour) *image.NRGBA {
	img := image.NewNRGBA(image.Rect(0, 0, t.Columns, t.Rows))
	for i := range t.Columns {
		for j := range t.Rows {
			shade := draw.Grey(0.93)
			if s := t.At(i, j); !math.IsNaN(s) {
				shade = colour(s)
			}
			img.SetNRGBA(i, j, shade)
		}
	}
	return img
}

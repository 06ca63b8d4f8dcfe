package heat

import (
	"context"
	"fmt"
	"image"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/draw"
)

const (
	sheetWide = 180.0 // mm
	edge      = 12.0
	plotHigh  = 80.0
)

// SVG and PNG draw when each place freezes.
func SVG(_ context.Context, _ FreezeIn, out FreezeOut) ([]byte, error) { return Picture(out).SVG() }

// PNG draws the picture at 150 dots per inch.
func PNG(_ context.Context, _ FreezeIn, out FreezeOut) ([]byte, error) { return Picture(out).PNG(150) }

// Picture draws the freezing time on a section through sprue and piece, on the
// piece unrolled (round a ring from the sprue, else along its longest side),
// and the share of solid against time. The colours read alike for all kinds
// of colour vision and in grey print.
func Picture(out FreezeOut) *draw.Sheet {
	o := out.run
	s := draw.NewSheet(sheetWide, 245)
	s.Title = "When each place freezes"
	fed := "every place draws metal until feeding stops"
	if !out.Fed {
		fed = fmt.Sprintf("%.3g mm³ of the piece are cut off from the button", out.CutOffMM3)
	}
	s.Description = fmt.Sprintf("Piece solid after %.3g s; %s. Interface %.4g W/(m² K), cells of %.3g mm.", out.PieceFrozenS, fed, o.in.InterfaceWM2K, o.D)
	s.Text(edge, 10, s.Title, draw.TextStyle{SizePt: 12, Bold: true})
	s.Text(edge, 15.5, s.Description, draw.TextStyle{SizePt: 8.5})
	low, high := math.Inf(1), 0.0
	for n, t := range o.frozen {
		if o.partOf(o.Centre(int(o.cell[n]))) == inPiece {
			low, high = min(low, float64(t)), max(high, float64(t))
		}
	}
	if out.ButtonFrozenS != nil {
		high = max(high, *out.ButtonFrozenS)
	}
	s.Legend(edge, 19, 90, draw.Cividis, low, high, "solid after, s")
	y := 36.0
	name := draw.TextStyle{SizePt: 8.5}
	colour := func(t float64) draw.Colour { return draw.Cividis.At((t - low) / max(high-low, 1e-9)) }

	img := o.section(colour)
	scale := min((sheetWide-2*edge)/float64(img.Rect.Dx()), plotHigh/float64(img.Rect.Dy()))
	s.Text(edge, y, "Section through the middle", name)
	s.Image(img, edge, y+2, scale*float64(img.Rect.Dx()), scale*float64(img.Rect.Dy()))
	bar, x := 10*scale/o.D, sheetWide-edge
	s.Line(x-bar, y, x, y, draw.Stroke(draw.Black, 0.5))
	s.Text(x-bar-2, y+1, "10 mm", draw.TextStyle{SizePt: 7.5, Align: draw.Right})
	y += plotHigh + 10

	flat, width := o.unrolled(colour)
	along := "round the ring from the sprue, %"
	if o.opening == nil {
		along = "along the longest side, %"
	}
	a := draw.Axes{X: edge + 10, Y: y + 2, W: sheetWide - 2*edge - 10, H: 30, XMax: 100, YMin: -width / 2, YMax: width / 2, XLabel: along, YLabel: "across, mm"}
	s.Text(edge, y, "The piece unrolled: when the last metal through the thickness is solid", name)
	s.Axes(a)
	s.Image(flat, a.X, a.Y, a.W, a.H)
	y += 52

	end := out.Curve[len(out.Curve)-1].TimeS
	a = draw.Axes{X: edge + 10, Y: y + 2, W: sheetWide - 2*edge - 10, H: 38, XMax: end, YMax: 100, XLabel: "Time from the end of the pour, s", YLabel: "solid, %"}
	s.Text(edge, y, "Share of all metal that is solid", name)
	s.Axes(a)
	xs, ys := make([]float64, len(out.Curve)), make([]float64, len(out.Curve))
	for i, m := range out.Curve {
		xs[i], ys[i] = m.TimeS, m.SolidPct
	}
	s.Curve(a, xs, ys, draw.Stroke(draw.Blue, 0.5))
	return s
}

// section colours the metal cells of the layer across the axis of a ring, or
// across the shortest side, through the sprue.
func (o *outcome) section(colour func(float64) draw.Colour) *image.NRGBA {
	axis := 0
	low, high := o.piece.Bounds()
	size := r3.Sub(high, low)
	for k := range 3 {
		if component(size, k) < component(size, axis) {
			axis = k
		}
	}
	if o.opening != nil {
		for k := range 3 {
			if math.Abs(component(o.opening.Axis, k)) > 0.9 {
				axis = k
			}
		}
	}
	middle := r3.Scale(0.5, r3.Add(low, high))
	layer := int((component(middle, axis) - component(o.Low, axis)) / o.D)
	u, v := (axis+1)%3, (axis+2)%3
	img := image.NewNRGBA(image.Rect(0, 0, o.N[u], o.N[v]))
	for i := range o.N[u] {
		for j := range o.N[v] {
			var c [3]int
			c[axis], c[u], c[v] = layer, i, j
			cell := o.index(c[0], c[1], c[2])
			shade := draw.Grey(0.93)
			if o.body.metal[cell] >= 0.5 && o.node[cell] != none {
				shade = colour(float64(o.frozen[o.node[cell]]))
			}
			img.SetNRGBA(i, o.N[v]-1-j, shade)
		}
	}
	return img
}

// unrolled colours the piece by its way along and its place across.
// It returns the width in mm too.
func (o *outcome) unrolled(colour func(float64) draw.Colour) (*image.NRGBA, float64) {
	low, high := math.Inf(1), math.Inf(-1)
	across := func(p r3.Vec) float64 {
		if o.opening != nil {
			return r3.Dot(r3.Sub(p, o.opening.Centre), o.opening.Axis)
		}
		l, h := o.piece.Bounds()
		size := r3.Sub(h, l)
		axis, longest, shortest := 0, 0, 0
		for k := range 3 {
			if component(size, k) > component(size, longest) {
				longest = k
			}
			if component(size, k) <= component(size, shortest) {
				shortest = k
			}
		}
		axis = 3 - longest - shortest
		if longest == shortest {
			axis = (longest + 1) % 3
		}
		return component(p, axis)
	}
	piece := func(n int) (r3.Vec, bool) {
		p := o.Centre(int(o.cell[n]))
		return p, o.partOf(p) == inPiece
	}
	for n := range o.cell {
		if p, ok := piece(n); ok {
			low, high = min(low, across(p)), max(high, across(p))
		}
	}
	// Pixels somewhat larger than the cells, so that each has one.
	pl, ph := o.piece.Bounds()
	long := max(ph.X-pl.X, ph.Y-pl.Y, ph.Z-pl.Z)
	if o.opening != nil {
		long = math.Pi * o.opening.DiameterMM
	}
	low, high = low-o.D/2, high+o.D/2
	wide, tall := max(8, int(long/(1.5*o.D))), max(1, int((high-low)/(1.05*o.D)))
	last := make([][]float64, wide)
	for i := range last {
		last[i] = make([]float64, tall)
	}
	for n := range o.cell {
		if p, ok := piece(n); ok {
			i := min(int(o.along(p)*float64(wide)), wide-1)
			j := min(int((across(p)-low)/(high-low)*float64(tall)), tall-1)
			last[i][j] = max(last[i][j], float64(o.frozen[n]))
		}
	}
	img := image.NewNRGBA(image.Rect(0, 0, wide, tall))
	for i := range wide {
		for j := range tall {
			t := last[i][j]
			if t == 0 { // between cells that lie askew
				t = max(last[(i+1)%wide][j], last[(i-1+wide)%wide][j], last[i][min(j+1, tall-1)], last[i][max(j-1, 0)])
			}
			shade := draw.Grey(0.93)
			if t > 0 {
				shade = colour(t)
			}
			img.SetNRGBA(i, tall-1-j, shade)
		}
	}
	return img, high - low
}

package draw

import (
	"image"
	"sync"

	"github.com/hajimehoshi/bitmapfont/v3"
	"github.com/tdewolff/canvas"
	"golang.org/x/image/math/fixed"
)

// emPixels is the height of the type in the bitmap font's pixels.
const emPixels = 12

// pixels calls f with each run of set pixels of a letter, from x to before
// end in row y, counted from the baseline down, and returns the advance in pixels.
func pixels(r rune, f func(x, end, y int)) (advance float64) {
	box, mask, at, wide, ok := bitmapfont.Face.Glyph(fixed.Point26_6{}, r)
	if !ok {
		return 0
	}
	set := func(x, y int) bool {
		_, _, _, a := mask.At(at.X+x-box.Min.X, at.Y+y-box.Min.Y).RGBA()
		return image.Pt(x, y).In(box) && a > 0
	}
	for y := box.Min.Y; y < box.Max.Y; y++ {
		for x := box.Min.X; x < box.Max.X; x++ {
			from := x
			for set(x, y) {
				x++
			}
			if x > from {
				f(from, x, y)
			}
		}
	}
	return float64(wide) / 64
}

// pixelWidths remembers the advance of letters in pixels; 0 where the bitmap
// font has none.
var pixelWidths sync.Map

func pixelWidth(r rune) float64 {
	if w, ok := pixelWidths.Load(r); ok {
		return w.(float64)
	}
	ink := false
	w := pixels(r, func(int, int, int) { ink = true })
	if !ink {
		w = 0
	}
	pixelWidths.Store(r, w)
	return w
}

// pixelGlyph draws a letter that no outline font here has, such as Chinese,
// Japanese or Korean, from a 12-pixel font as a picture that stands in the
// line, or leaves its place empty where only the width matters; nil if that
// font lacks it too.
func pixelGlyph(r rune, sizeMM float64, c Colour, empty bool) *canvas.Canvas {
	w, pixel := pixelWidth(r), sizeMM/emPixels
	if w == 0 {
		return nil
	}
	glyph := canvas.New(w*pixel, sizeMM)
	if empty {
		return glyph
	}
	p := &canvas.Path{}
	pixels(r, func(x, end, y int) {
		left, right, top, foot := float64(x)*pixel, float64(end)*pixel, -float64(y)*pixel, -float64(y+1)*pixel
		p.MoveTo(left, foot)
		p.LineTo(right, foot)
		p.LineTo(right, top)
		p.LineTo(left, top)
		p.Close()
	})
	style := canvas.DefaultStyle
	style.Fill = canvas.Paint{Color: premultiplied(c)}
	glyph.RenderPath(p, style, canvas.Identity)
	return glyph
}

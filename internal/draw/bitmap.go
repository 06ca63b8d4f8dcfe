package draw

import (
	"image"

	"github.com/hajimehoshi/bitmapfont/v3"
	"github.com/tdewolff/canvas"
	"golang.org/x/image/math/fixed"
)

// emPixels is the height of the type in the bitmap font's pixels.
const emPixels = 12

// pixelGlyph draws a letter that no outline font here has, such as Chinese,
// Japanese or Korean, from a 12-pixel font as a picture that stands in the
// line; nil if that font lacks it too.
func pixelGlyph(r rune, sizeMM float64, c Colour) *canvas.Canvas {
	box, mask, at, advance, ok := bitmapfont.Face.Glyph(fixed.Point26_6{}, r)
	if !ok {
		return nil
	}
	set := func(x, y int) bool {
		_, _, _, a := mask.At(at.X+x-box.Min.X, at.Y+y-box.Min.Y).RGBA()
		return image.Pt(x, y).In(box) && a > 0
	}
	pixel, p := sizeMM/emPixels, &canvas.Path{}
	for y := box.Min.Y; y < box.Max.Y; y++ {
		for x := box.Min.X; x < box.Max.X; x++ {
			from := x
			for set(x, y) {
				x++
			}
			if x > from {
				run := canvas.Rectangle(float64(x-from)*pixel, pixel)
				p = p.Append(run.Translate(float64(from)*pixel, -float64(y+1)*pixel))
			}
		}
	}
	if p.Empty() {
		return nil
	}
	style := canvas.DefaultStyle
	style.Fill = canvas.Paint{Color: premultiplied(c)}
	glyph := canvas.New(float64(advance)/64*pixel, sizeMM)
	glyph.RenderPath(p, style, canvas.Identity)
	return glyph
}

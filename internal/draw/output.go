package draw

import (
	"bytes"
	"encoding/binary"
	"encoding/xml"
	"fmt"
	"hash/crc32"
	"image"
	"image/png"
	"regexp"

	"github.com/tdewolff/canvas"
	"github.com/tdewolff/canvas/renderers/rasterizer"
	"github.com/tdewolff/canvas/renderers/svg"
)

// SVG writes the sheet as an SVG whose width, height and view box are in mm,
// so that it prints and cuts at true size. Text stays text, in the reader's
// own sans-serif font set to the width measured here. It carries no style
// sheet, script or reference to the outside.
func (s *Sheet) SVG() ([]byte, error) {
	if s.err != nil {
		return nil, s.err
	}
	var b bytes.Buffer
	r := &svgText{svg.New(&b, s.w, s.h, &svg.Options{SizeUnits: "mm", ImageEncoding: canvas.Lossless}), &b, s}
	for _, e := range []struct{ name, text string }{{"title", s.Title}, {"desc", s.Description}} {
		if e.text != "" {
			fmt.Fprintf(&b, "<%s>%s</%s>", e.name, escaped(e.text), e.name)
		}
	}
	b.WriteString(`<rect width="100%" height="100%" fill="#fff"/>`)
	s.canvas.RenderTo(r)
	if err := r.Close(); err != nil {
		return nil, err
	}
	out := bytes.Replace(b.Bytes(), []byte("<svg "), []byte(`<svg role="img" font-family="sans-serif" `), 1)
	return attributes(out), nil
}

// svgText is the library's SVG renderer with text written as text.
type svgText struct {
	*svg.SVG
	w     *bytes.Buffer
	sheet *Sheet
}

// RenderText writes a line as one element that starts, centres or ends at its
// anchor, whatever font the reader has.
func (r *svgText) RenderText(text *canvas.Text, m canvas.Matrix) {
	l := r.sheet.lines[text]
	m = m.Translate(l.dx, l.dy)
	if m.IsTranslation() {
		x, y := m.Pos()
		fmt.Fprintf(r.w, `<text x="%g" y="%g"`, round(x), round(r.sheet.h-y))
	} else {
		fmt.Fprintf(r.w, `<text transform="%s"`, m.ToSVG(r.sheet.h))
	}
	fmt.Fprintf(r.w, ` font-size="%g"`, round(l.style.sizePt()*mmPerPt))
	if l.style.Bold {
		r.w.WriteString(` font-weight="700"`)
	}
	if a := [...]string{Left: "", Centre: "middle", Right: "end"}[l.style.Align]; a != "" {
		fmt.Fprintf(r.w, ` text-anchor="%s"`, a)
	}
	if c := l.style.Colour; c != Black {
		fmt.Fprintf(r.w, ` fill="%v"`, canvas.CSSColor(premultiplied(c)))
	}
	if l.whole {
		fmt.Fprintf(r.w, ` textLength="%g" lengthAdjust="spacingAndGlyphs"`, round(l.widthMM))
	}
	fmt.Fprintf(r.w, `>%s</text>`, escaped(l.text))
}

func escaped(text string) string {
	var b bytes.Buffer
	_ = xml.EscapeText(&b, []byte(clean(text))) // a buffer takes every write
	return b.String()
}

var (
	styleAttribute = regexp.MustCompile(`style="([^"]*)"`)
	declaration    = regexp.MustCompile(`([a-z-]+):([^;]*);?`)
)

// attributes turns style="fill:none;stroke:#000" into fill="none"
// stroke="#000": pages with a strict content security policy refuse the first.
// Text cannot be taken for it, since its quotes are escaped.
func attributes(svg []byte) []byte {
	return styleAttribute.ReplaceAllFunc(svg, func(m []byte) []byte {
		inner := styleAttribute.FindSubmatch(m)[1]
		return bytes.TrimRight(declaration.ReplaceAll(inner, []byte(`$1="$2" `)), " ")
	})
}

// Limits of a PNG.
const (
	minDPI, maxDPI = 36, 1200
	maxPixels      = 40e6
)

// PNG draws the sheet on white at a resolution in dots per inch, and writes
// the resolution into the file, so that it prints at true size.
func (s *Sheet) PNG(dpi float64) ([]byte, error) {
	if s.err != nil {
		return nil, s.err
	}
	if !(dpi >= minDPI && dpi <= maxDPI) {
		return nil, fmt.Errorf("draw: %g dots per inch: must be %d to %d", dpi, minDPI, maxDPI)
	}
	perMM := dpi / 25.4
	if n := s.w * s.h * perMM * perMM; n > maxPixels {
		return nil, fmt.Errorf("draw: %.0f megapixels at %g dots per inch: at most %.0f", n/1e6, dpi, maxPixels/1e6)
	}
	page := canvas.New(s.w, s.h)
	white := canvas.DefaultStyle
	white.Fill = canvas.Paint{Color: canvas.White}
	page.RenderPath(canvas.Rectangle(s.w, s.h), white, canvas.Identity)
	s.canvas.RenderTo(page)
	img := rasterizer.Draw(page, canvas.DPMM(perMM), canvas.LinearColorSpace{})
	return encodePNG(img, perMM)
}

// encodePNG writes an opaque picture with its resolution.
func encodePNG(img *image.RGBA, perMM float64) ([]byte, error) {
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		return nil, err
	}
	// PNG specification (ISO/IEC 15948) 11.3.5.3: pixels per metre in x and y, unit 1.
	chunk := []byte("\x00\x00\x00\x09pHYs")
	perMetre := uint32(perMM*1000 + 0.5)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = append(binary.BigEndian.AppendUint32(chunk, perMetre), 1)
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))
	const header = 8 + 25 // signature and IHDR, which must come first
	out := append([]byte{}, b.Bytes()[:header]...)
	return append(append(out, chunk...), b.Bytes()[header:]...), nil
}

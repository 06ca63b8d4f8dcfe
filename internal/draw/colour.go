package draw

import (
	"math"
	"strconv"
)

// RGB is an opaque colour.
func RGB(r, g, b uint8) Colour { return Colour{R: r, G: g, B: b, A: 255} }

// Grey is an opaque grey, 0 black to 1 white.
func Grey(level float64) Colour {
	v := uint8(math.Round(255 * math.Min(1, math.Max(0, level))))
	return RGB(v, v, v)
}

// Faded is a colour made transparent: alpha 0 is not seen, 1 is as it was.
func Faded(c Colour, alpha float64) Colour {
	c.A = uint8(math.Round(float64(c.A) * math.Min(1, math.Max(0, alpha))))
	return c
}

// Colours that people with any of the usual kinds of colour blindness tell
// apart: M. Okabe and K. Ito, Color Universal Design, 2008; the same table in
// B. Wong, Points of view: Color blindness, Nature Methods 8 (2011) 441. Never
// let colour alone carry a meaning: paper is often printed grey.
var (
	Black     = RGB(0, 0, 0)
	White     = RGB(255, 255, 255)
	Orange    = RGB(230, 159, 0)
	SkyBlue   = RGB(86, 180, 233)
	Green     = RGB(0, 158, 115)
	Yellow    = RGB(240, 228, 66)
	Blue      = RGB(0, 114, 178)
	Vermilion = RGB(213, 94, 0)
	Purple    = RGB(204, 121, 167)
)

// Scale maps 0 to 1 to colours of steadily rising lightness.
type Scale []Colour

// Cividis runs from dark blue over grey to yellow. Lightness rises evenly and
// the hues are those that people with a colour vision deficiency see alike, so
// that it reads the same in colour, colour-blind and in grey print.
//
// Source: J. R. Nuñez, C. R. Anderton, R. S. Renslow, Optimizing colormaps
// with consideration for color vision deficiency, PLoS ONE 13 (2018)
// e0199239; every 17th of its 256 table entries, joined by straight lines.
var Cividis = scale([][3]float64{
	{0.000000, 0.135112, 0.304751}, {0.000000, 0.181610, 0.421859}, {0.117612, 0.225935, 0.434308},
	{0.208926, 0.272546, 0.424809}, {0.279411, 0.318677, 0.423031}, {0.342246, 0.364939, 0.428559},
	{0.401418, 0.411790, 0.440708}, {0.458366, 0.459552, 0.460457}, {0.517920, 0.508454, 0.472707},
	{0.582087, 0.558670, 0.468118}, {0.648222, 0.610553, 0.454801}, {0.716177, 0.664384, 0.432386},
	{0.785965, 0.720438, 0.399613}, {0.857809, 0.778969, 0.353259}, {0.932180, 0.840159, 0.285880},
	{0.995737, 0.909344, 0.217772},
})

func scale(stops [][3]float64) Scale {
	s := make(Scale, len(stops))
	for i, c := range stops {
		s[i] = RGB(byte(math.Round(255*c[0])), byte(math.Round(255*c[1])), byte(math.Round(255*c[2])))
	}
	return s
}

// At returns the colour at t; below 0 and above 1 the ends hold. A NaN, a
// value that is not known, is none of the scale's colours: it is transparent.
func (s Scale) At(t float64) Colour {
	if math.IsNaN(t) {
		return Colour{}
	}
	x := math.Min(1, math.Max(0, t)) * float64(len(s)-1)
	i := min(int(x), len(s)-2)
	a, b, f := s[i], s[i+1], x-float64(i)
	mix := func(a, b uint8) uint8 { return uint8(math.Round(float64(a) + f*(float64(b)-float64(a)))) }
	return RGB(mix(a.R, b.R), mix(a.G, b.G), mix(a.B, b.B))
}

// Reversed is the scale from its light end to its dark end.
func (s Scale) Reversed() Scale {
	r := make(Scale, len(s))
	for i, c := range s {
		r[len(s)-1-i] = c
	}
	return r
}

// Legend draws a scale as a lying bar with its top left corner at x, y, with
// marked values from lo to hi below and a label above, and returns the height
// of all in mm.
func (s *Sheet) Legend(x, y, widthMM float64, scale Scale, lo, hi float64, label string) (heightMM float64) {
	const bar, steps, tick = 4.0, 48, 1.2
	st := TextStyle{SizePt: 7}
	top := y + s.TextBox(x, y, widthMM, label, TextStyle{SizePt: 8}) + 1
	for i := range steps { // each strip runs to the end, so that no seams show
		from := widthMM * float64(i) / steps
		s.Rect(x+from, top, widthMM-from, bar, Filled(scale.At((float64(i)+0.5)/steps)))
	}
	s.Rect(x, top, widthMM, bar, Stroke(Black, 0.15))
	for _, v := range Ticks(lo, hi, 5) {
		at := x + widthMM*(v-lo)/(hi-lo)
		s.Line(at, top+bar, at, top+bar+tick, Stroke(Black, 0.15))
		s.Text(at, top+bar+tick+st.sizePt()*mmPerPt, Number(v), TextStyle{SizePt: 7, Align: Centre})
	}
	return top + bar + tick + st.LineMM() - y
}

// Ticks returns about n round values from lo to hi: multiples of 1, 2 or 5
// times a power of ten. A range that is not one has none.
func Ticks(lo, hi float64, n int) []float64 {
	span := hi - lo
	if !(span > 0) || math.IsInf(span, 1) || n < 1 {
		return nil
	}
	step := math.Pow(10, math.Floor(math.Log10(span/float64(n))))
	for _, m := range []float64{1, 2, 5, 10} {
		if span/(m*step) <= float64(n)+0.5 {
			step *= m
			break
		}
	}
	var at []float64
	const hair = 1e-9 // of a step: a value that rounding put just outside still counts
	for i := math.Ceil(lo/step - hair); i*step <= hi+hair*step && len(at) <= 4*n; i++ {
		at = append(at, i*step+0) // +0: no "-0"
	}
	return at
}

// Number writes a number for a label: at most four significant digits.
func Number(v float64) string {
	text := strconv.FormatFloat(v, 'g', 4, 64)
	if v, err := strconv.ParseFloat(text, 64); err == nil && (v == 0 || math.Abs(v) >= 1e-4 && math.Abs(v) < 1e7) {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return text
}

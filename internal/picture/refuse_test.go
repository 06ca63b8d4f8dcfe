package picture_test

import (
	"bytes"
	"fmt"
	"image/png"
	"math"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/draw"
	"pourwright/internal/picture"
	"pourwright/internal/section"
)

// drawings is every picture of this package, as a function of what it draws.
func drawings() map[string]struct {
	of   any
	draw func(any) (*draw.Sheet, error)
} {
	type drawing = struct {
		of   any
		draw func(any) (*draw.Sheet, error)
	}
	return map[string]drawing{
		"band":     {&bangle, func(v any) (*draw.Sheet, error) { return picture.DrawBand(*v.(*picture.Band), picture.Look{}) }},
		"standing": {&standing, func(v any) (*draw.Sheet, error) { return picture.DrawMould(*v.(*picture.Mould), picture.Look{}) }},
		"lying":    {ptr(lying()), func(v any) (*draw.Sheet, error) { return picture.DrawMould(*v.(*picture.Mould), picture.Look{}) }},
		"diagram":  {ptr(sterling(8)), func(v any) (*draw.Sheet, error) { return picture.DrawDiagram(*v.(*picture.Diagram), picture.Look{}) }},
		"masses":   {&masses, func(v any) (*draw.Sheet, error) { return picture.DrawMasses(*v.(*picture.Masses), picture.Look{}) }},
	}
}

func ptr[T any](v T) *T { return &v }

// numbers calls f with every number in a structure, and its path.
func numbers(v reflect.Value, path string, f func(path string, v reflect.Value)) {
	switch v.Kind() {
	case reflect.Pointer:
		numbers(v.Elem(), path, f)
	case reflect.Struct:
		for i := range v.NumField() {
			numbers(v.Field(i), path+"."+v.Type().Field(i).Name, f)
		}
	case reflect.Slice:
		for i := range v.Len() {
			numbers(v.Index(i), fmt.Sprintf("%s[%d]", path, i), f)
		}
	case reflect.Float64:
		f(path, v)
	}
}

// TestNonsenseIsRefused puts nonsense into each number of each picture in
// turn: never a panic; NaN and the absurd are always refused.
func TestNonsenseIsRefused(t *testing.T) {
	count := 0
	for name, d := range drawings() {
		_, err := d.draw(d.of)
		require.NoError(t, err, name)
		numbers(reflect.ValueOf(d.of), name, func(path string, v reflect.Value) {
			was := v.Float()
			defer v.SetFloat(was)
			for _, x := range []float64{math.NaN(), math.Inf(-1), 1e300, -1, 0, 0.7} {
				v.SetFloat(x)
				s, err := d.draw(d.of)
				unknown := math.IsNaN(x) && strings.Contains(path, ".Arrival") // no metal comes there
				if (math.IsNaN(x) || math.Abs(x) > 1e9) && !unknown {
					require.Error(t, err, "%s = %g", path, x)
				}
				if err == nil {
					_, err = s.SVG()
					require.NoError(t, err, "%s = %g", path, x)
				}
				count++
			}
		})
	}
	require.Greater(t, count, 400)
}

func TestEmptyIsRefused(t *testing.T) {
	_, err := picture.DrawBand(picture.Band{}, picture.Look{})
	require.Error(t, err)
	_, err = picture.DrawMould(picture.Mould{}, picture.Look{})
	require.Error(t, err)
	_, err = picture.DrawMould(picture.Mould{Lying: true}, picture.Look{})
	require.Error(t, err)
	_, err = picture.DrawDiagram(picture.Diagram{}, picture.Look{})
	require.Error(t, err)
	_, err = picture.DrawMasses(picture.Masses{}, picture.Look{})
	require.Error(t, err)
	_, err = picture.DrawMasses(picture.Masses{In: []picture.Mass{{}}, Out: []picture.Mass{{}}}, picture.Look{})
	require.ErrorContains(t, err, "above 0")
	for _, w := range []float64{-1, 5, 1e4, math.NaN()} {
		_, err = picture.DrawBand(bangle, picture.Look{WidthMM: w})
		require.ErrorContains(t, err, "width_mm")
	}
}

func TestTooLargeForTheFlask(t *testing.T) {
	m := standing
	m.FlaskHeightMM = 90
	_, err := picture.DrawMould(m, picture.Look{})
	require.ErrorContains(t, err, "the flask is too low")
	m = standing
	m.GatesAtPct = []float64{0} // starts at the bottom: the sprue runs round the band
	m.SprueMM = 12
	_, err = picture.DrawMould(m, picture.Look{})
	require.ErrorContains(t, err, "runs round the band")
	l := lying()
	l.FlaskWidthMM = 75
	_, err = picture.DrawMould(l, picture.Look{})
	require.ErrorContains(t, err, "too narrow")
}

func TestSamePictureSameBytes(t *testing.T) {
	for name, d := range drawings() {
		var before []byte
		for range 3 {
			s, err := d.draw(d.of)
			require.NoError(t, err)
			pdf, err := draw.PDF(s)
			require.NoError(t, err)
			if before != nil {
				require.True(t, bytes.Equal(before, pdf), name)
			}
			before = pdf
		}
	}
}

// TestTrueSizeIsTrue measures a band drawn 1:1 in the picture, in pixels.
func TestTrueSizeIsTrue(t *testing.T) {
	const perMM = 20
	b := picture.Band{Name: "Ring", InsideWidthMM: 30, StartDeg: 90,
		Profile: section.Uniform(section.Section{Shape: section.Rectangular, ThicknessMM: 2, WidthMM: 4})}
	s, err := picture.DrawBand(b, picture.Look{True: true})
	require.NoError(t, err)
	raw, err := s.PNG(25.4 * perMM)
	require.NoError(t, err)
	img, err := png.Decode(bytes.NewReader(raw))
	require.NoError(t, err)
	dark := func(x, y int) bool { r, _, _, _ := img.At(x, y).RGBA(); return r < 20000 }
	// The band's column: from the first dark pixel at the left to the last
	// before the column of sections; the title stands above its top.
	left, right := -1, -1
	for x := range int((30 + 4 + 22) * perMM) {
		for y := 12 * perMM; y < img.Bounds().Dy()-14*perMM; y++ {
			if dark(x, y) {
				if left < 0 {
					left = x
				}
				right = x
				break
			}
		}
	}
	const line, tolerance = 0.3, 0.1 // mm: the line's width; what a template must keep
	require.InDelta(t, 34+line, float64(right-left+1)/perMM, tolerance)
}

func TestPicturesAreSmallAndNamed(t *testing.T) {
	for name, d := range drawings() {
		s, err := d.draw(d.of)
		require.NoError(t, err)
		svg, err := s.SVG()
		require.NoError(t, err)
		require.Less(t, len(svg), 40_000, name)
		require.Contains(t, string(svg), "<desc>", name)
		require.Equal(t, 1, strings.Count(string(svg), "<title>"), name)
	}
}

package draw_test

import (
	"bytes"
	"encoding/binary"
	"encoding/xml"
	"fmt"
	"image"
	"image/png"
	"io"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"pourwright/internal/draw"
)

// specimen uses every kind of mark.
func specimen() *draw.Sheet {
	s, f := draw.NewPage(draw.A4, "Specimen of every mark", "Invented, for the tests of this package", 1, 2)
	line := draw.Stroke(draw.Black, 0.3)
	s.Line(f.X, f.Y, f.X+40, f.Y+10, draw.Stroke(draw.Blue, 0.5, 2, 1))
	s.Polygon([]draw.Point{{X: 70, Y: 30}, {X: 90, Y: 30}, {X: 80, Y: 45}}, draw.Style{Line: draw.Black, Fill: draw.Yellow})
	s.Area([][]draw.Point{ring(120, 45, 15), ring(120, 45, 10)}, draw.Filled(draw.Orange))
	s.Path("M 140 30 C 150 30 150 60 160 60", line)
	s.Circle(30, 60, 10, line)
	s.Ellipse(60, 65, 15, 8, 30, draw.Style{Line: draw.Green, Fill: draw.Faded(draw.SkyBlue, 0.4)})
	s.Arc(175, 45, 12, 0, 90, draw.Stroke(draw.Vermilion, 0.8))
	s.RoundRect(140, 70, 30, 12, 3, line)
	img := image.NewRGBA(image.Rect(0, 0, 16, 8))
	for x := range 16 {
		for y := range 8 {
			img.Set(x, y, draw.Cividis.At(float64(x*8+y)/127))
		}
	}
	s.Image(img, 80, 65, 40, 20)
	y := 100.0
	for _, text := range scripts {
		s.Text(f.X, y, text, draw.TextStyle{SizePt: 11, Bold: strings.HasPrefix(text, "Bold")})
		y += 7
	}
	for _, a := range []draw.Align{draw.Left, draw.Centre, draw.Right} {
		s.Text(150, 100+7*float64(a), "aligned", draw.TextStyle{Align: a})
	}
	s.Text(190, 140, "turned by 90", draw.TextStyle{TurnDeg: 90})
	s.Text(190, 150, "turned by −30", draw.TextStyle{TurnDeg: -30, Align: draw.Right})
	h := s.TextBox(f.X, 190, 70, "Wrapped text in a box of 70 mm that says how high it is, with a Donaudampfschifffahrtsgesellschaftskapitänswitwenrente that is broken.\n\nAnd a new paragraph.", draw.TextStyle{})
	s.Rect(f.X, 190, 70, h, draw.Stroke(draw.Grey(0.6), 0.1))
	s.Legend(110, 190, 80, draw.Cividis, 0, 73, "Freezing time, s")
	s.ScaleBar(f.X, 240, 100)
	return s
}

var scripts = []string{
	"Latin: Ångström, Żółć, façade, Ærøskøbing, ½ × 3 ± 0,5 °C − µm²",
	"Bold: Größe, ρ = 10.36 g/cm³, ≤ ≥ ≈ → ½",
	"Ελληνικά: ασήμι 925, Русский: серебро",
	"Arabic: خاتم من الفضة ١٢ مم",
	"Hebrew: טבעת כסף 18 מ״מ",
	"中文：银戒指, 日本語：指輪 かたち, 한국어 반지",
	"ქართული, Հայերեն, ไทย (a code where no font has the letter)",
}

func ring(cx, cy, r float64) []draw.Point {
	var p []draw.Point
	for i := range 60 {
		p = append(p, draw.Polar(cx, cy, r, float64(6*i)))
	}
	return p
}

// TestLook writes the specimen where POURWRIGHT_LOOK names a folder, for eyes.
func TestLook(t *testing.T) {
	dir := os.Getenv("POURWRIGHT_LOOK")
	if dir == "" {
		t.Skip("set POURWRIGHT_LOOK to a folder to get the specimen's files")
	}
	s := specimen()
	svg, err := s.SVG()
	require.NoError(t, err)
	png, err := s.PNG(110)
	require.NoError(t, err)
	pdf, err := draw.PDF(s)
	require.NoError(t, err)
	for name, b := range map[string][]byte{"specimen.svg": svg, "specimen.png": png, "specimen.pdf": pdf} {
		require.NoError(t, os.WriteFile(dir+"/"+name, b, 0o644))
	}
}

func TestSVGIsTrueToSizeAndWellFormed(t *testing.T) {
	s := specimen()
	svg, err := s.SVG()
	require.NoError(t, err)
	require.Regexp(t, `^<svg [^>]*width="210mm" height="297mm" viewBox="0 0 210 297"`, string(svg))
	require.NotContains(t, string(svg), "style=", "a strict content security policy refuses style attributes")
	require.Contains(t, string(svg), "<title>Specimen of every mark</title>")
	require.Contains(t, string(svg), "银戒指", "text stays text")
	require.Less(t, len(svg), 40_000)
	d := xml.NewDecoder(bytes.NewReader(svg))
	for {
		if _, err := d.Token(); err == io.EOF {
			break
		} else {
			require.NoError(t, err)
		}
	}
}

func TestTextCannotBreakOutOfTheSVG(t *testing.T) {
	s := draw.NewSheet(100, 20)
	s.Title = `</title><script>alert(1)</script>`
	s.Text(5, 10, `"><script>x</script> style="a:b" `+"\x00\x1b\xff", draw.TextStyle{})
	svg, err := s.SVG()
	require.NoError(t, err)
	require.NotContains(t, string(svg), "<script")
	require.NotContains(t, string(svg), `a="b"`)
	require.NoError(t, xml.Unmarshal(svg, new(struct{})))
}

func TestPDFPagesAreTrueToSize(t *testing.T) {
	one, _ := draw.NewPage(draw.A4, "Žlutý kůň", "", 1, 2)
	two, _ := draw.NewPage(draw.Letter.Across(), "Two", "", 2, 2)
	pdf, err := draw.PDF(one, two)
	require.NoError(t, err)
	boxes := regexp.MustCompile(`/MediaBox\[0 0 ([0-9.]+) ([0-9.]+)\]`).FindAllSubmatch(pdf, -1)
	require.Len(t, boxes, 2)
	want := [][2]float64{{595.2756, 841.8898}, {792, 612}} // points: A4 is 210 × 297 mm, Letter 8.5 × 11 in
	for i, b := range boxes {
		for k := range 2 {
			v, err := strconv.ParseFloat(string(b[k+1]), 64)
			require.NoError(t, err)
			require.InDelta(t, want[i][k], v, 0.001) // 0.001 pt: the file's rounding
		}
	}
	require.Contains(t, string(pdf), "/Title<FEFF017D006C")
	require.NotContains(t, string(pdf), "CreationDate")
}

// TestPDFOffsets follows the table of offsets of the rewritten file: every
// object must begin where the table says.
func TestPDFOffsets(t *testing.T) {
	pdf, err := draw.PDF(specimen())
	require.NoError(t, err)
	trailer := regexp.MustCompile(`startxref\n(\d+)\n%%EOF\n$`).FindSubmatch(pdf)
	require.NotNil(t, trailer)
	at, err := strconv.Atoi(string(trailer[1]))
	require.NoError(t, err)
	rows := strings.Split(string(pdf[at:]), "\n")
	require.Equal(t, "xref", rows[0])
	var count int
	_, err = fmt.Sscanf(rows[1], "0 %d", &count)
	require.NoError(t, err)
	require.Greater(t, count, 5)
	for i := 1; i < count; i++ {
		offset, err := strconv.Atoi(rows[2+i][:10])
		require.NoError(t, err)
		require.True(t, bytes.HasPrefix(pdf[offset:], fmt.Appendf(nil, "%d 0 obj\n", i)), "object %d", i)
	}
}

func TestSameSheetSameBytes(t *testing.T) {
	write := func() [3][]byte {
		s := specimen()
		svg, err := s.SVG()
		require.NoError(t, err)
		png, err := s.PNG(40)
		require.NoError(t, err)
		pdf, err := draw.PDF(s)
		require.NoError(t, err)
		return [3][]byte{svg, png, pdf}
	}
	want := write()
	same := func(got [3][]byte) {
		for k := range want {
			require.True(t, bytes.Equal(want[k], got[k]), "format %d differs", k)
		}
	}
	// The clock of the bubble starts in the year 2000 and jumps when it sleeps.
	synctest.Test(t, func(t *testing.T) {
		for range 2 {
			same(write())
			time.Sleep(1000*time.Hour + time.Second)
		}
	})
	var all sync.WaitGroup
	got := make([][3][]byte, 2)
	for i := range got {
		all.Go(func() { got[i] = write() })
	}
	all.Wait()
	for _, g := range got {
		same(g)
	}
}

func TestPNGCarriesItsResolution(t *testing.T) {
	b, err := draw.NewSheet(50.8, 25.4).PNG(300)
	require.NoError(t, err)
	img, err := png.Decode(bytes.NewReader(b))
	require.NoError(t, err)
	require.Equal(t, image.Pt(600, 300), img.Bounds().Size())
	at := bytes.Index(b, []byte("pHYs"))
	require.Positive(t, at)
	require.EqualValues(t, 11811, binary.BigEndian.Uint32(b[at+4:])) // 300 / 0.0254 m
	r, g, bl, a := img.At(0, 0).RGBA()
	require.Equal(t, [4]uint32{65535, 65535, 65535, 65535}, [4]uint32{r, g, bl, a})
}

// TestScaleBarIsTrue measures the bar in the picture, in pixels.
func TestScaleBarIsTrue(t *testing.T) {
	const dpi, lengthMM = 508, 100 // 20 pixels a mm
	s := draw.NewSheet(130, 20)
	s.ScaleBar(15, 5, lengthMM)
	b, err := s.PNG(dpi)
	require.NoError(t, err)
	img, err := png.Decode(bytes.NewReader(b))
	require.NoError(t, err)
	first, last := -1, -1
	for x := range img.Bounds().Dx() {
		if r, _, _, _ := img.At(x, 20*4+10).RGBA(); r < 32768 { // above the bar there are only the end marks
			if first < 0 {
				first = x
			}
			last = x
		}
	}
	const lineWidth, pixel = 0.2, 0.05 // mm
	require.InDelta(t, lengthMM+lineWidth, float64(last-first+1)/20, pixel)
	require.InDelta(t, 15-lineWidth/2, float64(first)/20, pixel)
}

func TestTextIsMeasured(t *testing.T) {
	ten, twenty := draw.TextWidth("mmmm", draw.TextStyle{SizePt: 10}), draw.TextWidth("mmmm", draw.TextStyle{SizePt: 20})
	require.InDelta(t, 2*ten, twenty, 1e-9)
	require.InDelta(t, sfntWidth(t, "mmmm", 10), ten, 1e-6)
	require.InDelta(t, sfntWidth(t, "Hello 925", 10), draw.TextWidth("Hello 925", draw.TextStyle{SizePt: 10}), 1e-6)
	require.Greater(t, draw.TextWidth("mm", draw.TextStyle{Bold: true}), draw.TextWidth("mm", draw.TextStyle{}))
}

func TestNoLetterVanishes(t *testing.T) {
	for _, text := range []string{"é", "Ω", "Ж", "ع", "ש", "中", "😀", "กำ"} {
		require.Positive(t, draw.TextWidth(text, draw.TextStyle{}), text)
	}
	require.InDelta(t, draw.TextWidth("[U+0E01]", draw.TextStyle{}), draw.TextWidth("ก", draw.TextStyle{}), 1e-9)
}

// TestLettersStandSideBySide finds ink under each of five letters of one width.
func TestLettersStandSideBySide(t *testing.T) {
	const perMM = 10
	st := draw.TextStyle{SizePt: 20}
	for _, r := range []string{"m", "Ж", "中", "글"} {
		one := draw.TextWidth(r, st)
		s := draw.NewSheet(60, 12)
		require.InDelta(t, 5*one, s.Text(2, 9, strings.Repeat(r, 5), st), 0.2*one, r) // 0.2: kerning
		b, err := s.PNG(25.4 * perMM)
		require.NoError(t, err)
		img, err := png.Decode(bytes.NewReader(b))
		require.NoError(t, err)
		for i := range 5 {
			ink := 0
			for x := int((2 + float64(i)*one) * perMM); x < int((2+float64(i+1)*one)*perMM); x++ {
				for y := range img.Bounds().Dy() {
					if v, _, _, _ := img.At(x, y).RGBA(); v < 32768 {
						ink++
					}
				}
			}
			require.Greater(t, ink, 100, "%s, letter %d", r, i)
			require.Less(t, ink, int(0.6*one*7*perMM*perMM), "%s, letter %d: piled up", r, i)
		}
	}
}

func TestTextStaysOnTheSheet(t *testing.T) {
	long := strings.Repeat("much too long ", 40)
	for _, st := range []draw.TextStyle{{}, {Align: draw.Right}, {Align: draw.Centre}, {TurnDeg: 90}, {TurnDeg: 37, Align: draw.Centre}, {FitMM: 15}} {
		s := draw.NewSheet(100, 60)
		w := s.Text(50, 30, long, st)
		room := 100.0
		if st.Align != draw.Centre || st.TurnDeg != 0 {
			room = 50.01
		}
		if st.TurnDeg == 37 {
			room = 100
		}
		if st.FitMM > 0 {
			room = st.FitMM
		}
		require.LessOrEqual(t, w, room, "%+v", st)
		require.Greater(t, w, 0.5*min(room, 50), "%+v", st)
		svg, err := s.SVG()
		require.NoError(t, err)
		require.Contains(t, string(svg), "…")
	}
}

func TestBoxWraps(t *testing.T) {
	st := draw.TextStyle{SizePt: 10}
	text := "the quick brown fox jumps over the lazy dog " + strings.Repeat("x", 200) + "\n\nend"
	for _, w := range []float64{0.5, 3, 20, 60} {
		s := draw.NewSheet(400, 3000)
		h := s.TextBox(1, 1, w, text, st)
		require.NoError(t, s.Err())
		require.InDelta(t, draw.BoxHeight(w, text, st), h, 1e-9)
		require.GreaterOrEqual(t, h, 4*st.LineMM())
	}
	require.InDelta(t, st.LineMM(), draw.BoxHeight(60, "one line", st), 1e-9)
}

func TestNonsenseIsRefusedNotDrawn(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, v := range []float64{nan, inf, -inf, 1e9} {
		for name, mark := range map[string]func(*draw.Sheet){
			"line":    func(s *draw.Sheet) { s.Line(0, v, 1, 1, draw.Stroke(draw.Black, 1)) },
			"polygon": func(s *draw.Sheet) { s.Polygon([]draw.Point{{X: v}, {Y: 1}}, draw.Filled(draw.Black)) },
			"circle":  func(s *draw.Sheet) { s.Circle(5, 5, v, draw.Filled(draw.Black)) },
			"arc":     func(s *draw.Sheet) { s.Arc(5, 5, 5, 0, v, draw.Stroke(draw.Black, 1)) },
			"width":   func(s *draw.Sheet) { s.Line(0, 0, 1, 1, draw.Stroke(draw.Black, v)) },
			"text":    func(s *draw.Sheet) { s.Text(v, 5, "a", draw.TextStyle{}) },
			"size":    func(s *draw.Sheet) { s.Text(5, 5, "a", draw.TextStyle{SizePt: v}) },
			"box":     func(s *draw.Sheet) { s.TextBox(0, 0, v, "a b", draw.TextStyle{}) },
			"bar":     func(s *draw.Sheet) { s.ScaleBar(0, 0, v) },
			"image":   func(s *draw.Sheet) { s.Image(image.NewGray(image.Rect(0, 0, 2, 2)), 0, 0, v, 1) },
			"place":   func(s *draw.Sheet) { s.Place(draw.NewSheet(5, 5), 0, 0, v) },
		} {
			s := draw.NewSheet(10, 10)
			mark(s)
			require.Error(t, s.Err(), "%s %v", name, v)
			_, err := s.SVG()
			require.Error(t, err)
			_, err = draw.PDF(s)
			require.Error(t, err)
		}
		require.Error(t, draw.NewSheet(v, 10).Err())
	}
	require.Error(t, draw.NewSheet(0, 10).Err())
	_, err := draw.NewSheet(2000, 2000).PNG(300)
	require.ErrorContains(t, err, "megapixels")
	_, err = draw.NewSheet(20, 20).PNG(nan)
	require.Error(t, err)
	_, err = draw.PDF()
	require.Error(t, err)
}

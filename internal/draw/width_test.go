package draw_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// sfntWidth measures text in mm with another library, from the font's tables.
func sfntWidth(t *testing.T, text string, sizePt float64) float64 {
	f, err := sfnt.Parse(goregular.TTF)
	require.NoError(t, err)
	var b sfnt.Buffer
	units := f.UnitsPerEm()
	sum := fixed.Int26_6(0)
	for _, r := range text {
		g, err := f.GlyphIndex(&b, r)
		require.NoError(t, err)
		a, err := f.GlyphAdvance(&b, g, fixed.I(int(units)), font.HintingNone)
		require.NoError(t, err)
		sum += a
	}
	return float64(sum) / 64 / float64(units) * sizePt * 25.4 / 72
}

package draw_test

import (
	"encoding/xml"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/draw"
)

// FuzzText: whatever people write, no panic, a well-formed SVG and a PDF, and
// no line wider than its room.
func FuzzText(f *testing.F) {
	for _, text := range scripts {
		f.Add(text, 9.0, 40.0, 30.0)
	}
	f.Add("a\u202eb\u0301\u200d\u2066\ufffd\xff\x00\t\r\nשa١ 中", 14.0, 3.0, -90.0)
	f.Add("\u0301\u0301", 5.0, 0.0, 0.0)
	f.Fuzz(func(t *testing.T, text string, size, width, turn float64) {
		if len(text) > 400 { // long text is only more of the same
			text = text[:400]
		}
		s := draw.NewSheet(100, 60)
		st := draw.TextStyle{SizePt: size, TurnDeg: turn, FitMM: width, Align: draw.Centre}
		w := s.Text(50, 30, text, st)
		s.TextBox(5, 5, width, text, draw.TextStyle{SizePt: size})
		svg, err := s.SVG()
		if err != nil {
			return // refused
		}
		require.LessOrEqual(t, w, 120.0)
		require.NoError(t, xml.Unmarshal(svg, new(struct{})))
		_, err = draw.PDF(s)
		require.NoError(t, err)
	})
}

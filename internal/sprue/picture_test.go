package sprue

import (
	"math"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// drawnAs is the SVG of a layout.
func drawnAs(t *testing.T, text string) string {
	in := read1(t, text)
	out, err := Plan(ctx, in)
	require.NoError(t, err)
	svg, err := SVG(ctx, in, out)
	require.NoError(t, err)
	return string(svg)
}

// rings of 22 mm outside and 18 mm inside on a sprue and gates of 4 mm.
const two = `"pieces":[{"name":"a","kind":"ring","inside_diameter_mm":18,"thickness_mm":2,"width_mm":4,"profile":"rectangular","count":2}]}`

// A lying pair at 2:1, every place reckoned by hand: flask 2 × (2 + 4 + 22 + 15) mm
// wide, so 172 mm of paper from the margin of 12; its middle at 98.
func TestALyingPairIsDrawnWhereItLies(t *testing.T) {
	svg := drawnAs(t, `{"posture":"lying",`+two)
	for _, want := range []string{
		`M12 12V136H184V12z`,                    // the flask
		`M102 46A4 4 0 0094 46A4 4 0 00102 46z`, // the upright sprue, 2 mm of radius
		`M97 46H99`, `M98 45V47`,                // its cross
		`M110 88V80H102V88z`, `M94 88V80H86V88z`, // gates, 4 mm from the sprue's edge
		`M94 88H102V46H94z`, // the runner from the sprue to the gates
		`at 2:1`, `upright at the cross`, `>1<`, `>2<`, `1  a 1    2  a 2`, `Runner ⌀ 4 mm; gates ⌀ 4 mm, 4 mm long`,
	} {
		require.Contains(t, svg, want)
	}
	outer, inner := extent(t, svg, 0), extent(t, svg, 1)
	const printed = 0.01
	require.InDeltaSlice(t, []float64{42, 86}, outer, printed, "22 mm outside, to the gate")
	require.InDeltaSlice(t, []float64{46, 82}, inner, printed, "18 mm inside")
}

// extent is the least and the greatest x of the n-th outline of many points.
func extent(t *testing.T, svg string, n int) []float64 {
	outlines := regexp.MustCompile(`d="(M[^"]{600,})" fill="none"`).FindAllStringSubmatch(svg, -1)
	require.Greater(t, len(outlines), n)
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range regexp.MustCompile(`[ML](-?[\d.]+) `).FindAllStringSubmatch(outlines[n][1], -1) {
		x, err := strconv.ParseFloat(p[1], 64)
		require.NoError(t, err)
		low, high = min(low, x), max(high, x)
	}
	return []float64{low, high}
}

// A piece alone has no number, and a sheet that is too small for it is drawn smaller.
func TestADrawingIsAsSmallAsItMust(t *testing.T) {
	in := read1(t, `{"pieces":[{"name":"bar","kind":"bar","length_mm":60,"thickness_mm":3,"width_mm":6}]}`)
	out, err := Plan(ctx, in)
	require.NoError(t, err)
	p, err := read(ctx, in)
	require.NoError(t, err)
	d := Drawing{Lay(p.system, p.bodies), p.bodies, p.names, out.WidthMM, out.HeightMM, in.WallMM}
	for _, c := range []struct {
		high  float64
		scale string
	}{{math.Inf(1), "at 2:1"}, {200, "at 1:1"}, {100, "at 1:2"}, {70, "at 1:4"}} {
		sheet := d.Sheet(180, c.high)
		_, h := sheet.Size()
		require.LessOrEqual(t, h, c.high)
		svg, err := sheet.SVG()
		require.NoError(t, err)
		require.Contains(t, string(svg), c.scale)
		require.Contains(t, string(svg), "bar: flask")
		require.NotContains(t, string(svg), ">1<")
		require.NotContains(t, string(svg), "Runner")
	}
}

// What is short of clay says by how much is left: half of what is missing at either
// side; a standing flask is short at its foot alone.
func TestClayThatIsLeft(t *testing.T) {
	const one = `"pieces":[{"name":"a","kind":"ring","inside_diameter_mm":18,"thickness_mm":2,"width_mm":4,"profile":"rectangular"}]}`
	standing := planned(t, `{`+one)
	require.InDelta(t, 52, standing.WidthMM, 1e-6)
	require.InDelta(t, 12+20+22+15, standing.HeightMM, 1e-6)
	narrow := planned(t, `{"flask_width_mm":40,`+one)
	require.Contains(t, narrow.Reasons[0].Why, "9 mm of clay", "15 − (52 − 40)/2")
	low := planned(t, `{"flask_height_mm":63,`+one)
	require.Contains(t, low.Reasons[0].Why, "9 mm of clay", "15 − (69 − 63)")
	lying := planned(t, `{"posture":"lying",`+one)
	short := planned(t, `{"posture":"lying","flask_height_mm":`+strconv.FormatFloat(lying.HeightMM-12, 'f', 3, 64)+`,`+one)
	require.Contains(t, short.Reasons[0].Why, "9 mm of clay", "15 − 12/2 at either end")
	// A lying ring reaches half its width under the parting: head 32 mm and 2 mm.
	require.InEpsilon(t, 34.0/(12+20+22), lying.PressureKPa/standing.PressureKPa, 1e-3)
}

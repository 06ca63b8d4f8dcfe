package draw_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pourwright/internal/draw"
)

// lightness is L* of CIE 1976 L*a*b* of an sRGB colour, white D65:
// IEC 61966-2-1 for the transfer curve and the luminance weights, CIE 15 for L*.
func lightness(c draw.Colour) float64 {
	linear := func(v uint8) float64 {
		x := float64(v) / 255
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	y := 0.2126*linear(c.R) + 0.7152*linear(c.G) + 0.0722*linear(c.B)
	if y <= 216.0/24389 {
		return y * 24389 / 27
	}
	return 116*math.Cbrt(y) - 16
}

func TestLightnessOfKnownColours(t *testing.T) {
	require.InDelta(t, 100, lightness(draw.White), 0.01)
	require.InDelta(t, 0, lightness(draw.Black), 0.01)
	require.InDelta(t, 53.24, lightness(draw.RGB(255, 0, 0)), 0.02) // sRGB red, a textbook value: L* 53.24
}

// TestScaleRisesEvenly: grey print must show the same order, and equal steps
// of the quantity must look like equal steps.
func TestScaleRisesEvenly(t *testing.T) {
	const steps = 64
	lo, hi := lightness(draw.Cividis.At(0)), lightness(draw.Cividis.At(1))
	require.Greater(t, hi-lo, 70.0)
	for i := range steps {
		a, b := lightness(draw.Cividis.At(float64(i)/steps)), lightness(draw.Cividis.At(float64(i+1)/steps))
		require.Greater(t, b, a, "step %d", i)
		require.InDelta(t, (hi-lo)/steps, b-a, 0.6, "step %d", i) // 0.6 L*: 8-bit rounding of two colours
	}
}

// TestScaleBetweenItsStops compares with entries of the published table that
// are not among the stops.
func TestScaleBetweenItsStops(t *testing.T) {
	for _, row := range []struct {
		entry   float64
		r, g, b float64
	}{
		{63, 0.259740, 0.305120, 0.422810},
		{191, 0.732422, 0.677364, 0.425717},
	} {
		c := draw.Cividis.At(row.entry / 255)
		const tol = 0.5 + 0.75 // of 255: 8-bit rounding, and the straight line for the curve between stops
		require.InDelta(t, 255*row.r, float64(c.R), tol)
		require.InDelta(t, 255*row.g, float64(c.G), tol)
		require.InDelta(t, 255*row.b, float64(c.B), tol)
	}
	require.Equal(t, draw.Cividis.At(1), draw.Cividis.At(7))
	require.Equal(t, draw.Cividis.At(0), draw.Cividis.Reversed().At(1))
	require.Zero(t, draw.Cividis.At(math.NaN()).A)
}

func TestTicksAreRoundAndInside(t *testing.T) {
	require.Equal(t, []float64{0, 20, 40, 60}, draw.Ticks(0, 73, 5))
	require.Equal(t, []float64{-1, -0.5, 0, 0.5, 1}, draw.Ticks(-1, 1, 5))
	require.Empty(t, draw.Ticks(1, 1, 5))
	require.Empty(t, draw.Ticks(0, math.NaN(), 5))
	rapid.Check(t, func(t *rapid.T) {
		lo := rapid.Float64Range(-1e6, 1e6).Draw(t, "lo")
		hi := lo + rapid.Float64Range(1e-3, 1e6).Draw(t, "span")
		at := draw.Ticks(lo, hi, 6)
		if len(at) < 2 || len(at) > 14 {
			t.Fatalf("%d ticks from %g to %g", len(at), lo, hi)
		}
		slack := (hi - lo) * 1e-6
		if at[0] < lo-slack || at[len(at)-1] > hi+slack {
			t.Fatalf("ticks %v outside %g to %g", at, lo, hi)
		}
	})
}

func TestNumbersAreShort(t *testing.T) {
	for want, v := range map[string]float64{"0": 0, "12.35": 12.3456, "1000": 1000, "12350": 12346, "-0.5": -0.5, "0.1": 0.1} {
		require.Equal(t, want, draw.Number(v))
	}
}

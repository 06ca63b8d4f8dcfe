package fill

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/calc"
	"pourwright/internal/mesh"
	"pourwright/internal/section"
)

func TestASurfacePoursAsItsMeasuresDo(t *testing.T) {
	surface := mesh.Of(mesh.Torus(31.25, 1.25, 240, 32)) // round wire of 2.5 mm, 60 mm inside
	in := calc.Default[In]()
	in.Improvements, in.Posture = false, "lying" // level, so that twin arms and two arms run alike
	in.PatternMesh = &surface
	drawn, err := Follow(context.Background(), in)
	require.NoError(t, err)

	// The same wire by its measures: a surface is read as rectangular
	// sections of its thickness and volume, so 2.5 × 1.963 mm (π/4 × 2.5).
	in.PatternMesh = nil
	in.InsideDiameterMM = 60
	in.Section = section.Section{Shape: section.Rectangular, ThicknessMM: 2.5, WidthMM: 1.963}
	measured, err := Follow(context.Background(), in)
	require.NoError(t, err)
	length := func(o Out) (sum float64) {
		for _, s := range o.Nominal.Stretches {
			sum += s.LengthMM
		}
		if len(o.Nominal.Stretches) == 1 { // it stands for both arms
			sum *= 2
		}
		return sum
	}
	const facets = 0.02 // of the length: chords of the drawn wire
	require.InEpsilon(t, length(measured), length(drawn), facets)
	const twins = 0.05 // of the margin: one arm that stands for two against two
	require.InDelta(t, measured.Nominal.Margin, drawn.Nominal.Margin, twins)

	block := mesh.Of(mesh.Box(r3.Vec{}, r3.Vec{X: 20, Y: 10, Z: 4}))
	in.PatternMesh = &block
	_, err = Follow(context.Background(), in)
	require.ErrorContains(t, err, "pattern_mesh")
	in.PatternMesh, in.Section = nil, section.Section{}
	_, err = Follow(context.Background(), in)
	require.ErrorContains(t, err, "section.shape")
}

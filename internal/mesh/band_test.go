package mesh

import (
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func TestBandKeepsSizeThicknessAndVolume(t *testing.T) {
	ring := Of(Torus(31, 1.5, 360, 48)) // a round wire of 3 mm, 59 mm inside
	c, err := ring.Load(t.Context())
	require.NoError(t, err)
	inside, profile, err := c.Band()
	require.NoError(t, err)
	const facets = 0.02 // mm: sagitta of the chords and polygons
	require.InDelta(t, 59, inside, facets)
	for _, s := range profile {
		require.InDelta(t, 3, s.ThicknessMM, facets)
	}
	// One width for all: the volume comes back within the facets and the
	// trapezoids between stations.
	require.InEpsilon(t, c.VolumeMM3, profile.RingVolume(inside), 1e-3)

	box := Of(Box(r3.Vec{}, r3.Vec{X: 20, Y: 10, Z: 4}))
	c, err = box.Load(t.Context())
	require.NoError(t, err)
	_, _, err = c.Band()
	require.ErrorContains(t, err, "no hole")
}

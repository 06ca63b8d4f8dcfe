package shape

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/mesh"
)

func parted(t *testing.T, b *Body) Parting {
	t.Helper()
	p, err := b.Parted(context.Background())
	require.NoError(t, err)
	return p
}

func TestEvenPiecesPartFlat(t *testing.T) {
	for name, text := range pieces {
		s := read(t, text)
		if s.Wave != nil {
			continue
		}
		p := parted(t, body(t, text))
		require.True(t, p.Draws, name)
		require.Equal(t, "flat", p.Parting, name)
		require.Zero(t, p.UndercutMM, name)
	}
	// The wall of a signet's table: half its width in either half.
	p := parted(t, body(t, pieces["oval signet"]))
	require.InDelta(t, 5, p.UprightMM, 0.1)
	require.Contains(t, p.Remedy, "draft")
	require.Empty(t, parted(t, body(t, pieces["plain ring"])).Remedy)
}

func TestWavesPartStepped(t *testing.T) {
	for _, name := range []string{"waving bangle", "waving oval"} {
		s := read(t, pieces[name])
		p := parted(t, body(t, pieces[name]))
		require.True(t, p.Draws)
		require.Equal(t, "stepped", p.Parting)
		// The trough's whole thickness hangs over a plane that misses the section: z = rise/2 against half its width.
		net := 0.3 * 1.5 // mm: a step of the net of a bangle and the chamfer's error
		off := min(s.Wave.RiseMM/2/(*s.WidthMM/2), 1)
		require.InDelta(t, *s.ThicknessMM*(1-math.Sqrt(1-off*off)), p.UndercutMM, 2*net, name)
	}
	// A sine of n waves over the round climbs at most n × rise/2 over the radius, inside steepest.
	p := parted(t, body(t, pieces["waving bangle"]))
	require.InDelta(t, math.Atan(4*2.5/31)*180/math.Pi, p.SlopeDeg, 1.5)
	steep := parted(t, body(t, `{"kind":"bangle","inside_diameter_mm":60,"thickness_mm":2,"width_mm":3,"wave":{"rise_mm":10,"repeats":8}}`))
	require.False(t, steep.Draws)
	require.Equal(t, "loose_piece", steep.Parting)
}

func TestClayIsCaughtUnderAnArch(t *testing.T) {
	// A plate with a ring standing on it: the hole is across the draw, along the width.
	plate := mesh.Box(r3.Vec{}, r3.Vec{X: 30, Y: 14, Z: 2})
	ring := mesh.Torus(4, 0.8, 90, 24)
	for i, v := range ring.V {
		ring.V[i] = mesh.Point{v[0] + 15, v[2] + 7, v[1] + 5.5}
	}
	for i := range ring.T {
		ring.T[i][1], ring.T[i][2] = ring.T[i][2], ring.T[i][1]
	}
	plate.Append(ring)
	b, err := Shape{Kind: Other, Mesh: ptr(mesh.Of(plate))}.Resolve(context.Background())
	require.NoError(t, err)
	p := parted(t, b)
	require.False(t, p.Draws)
	require.Equal(t, "turn", p.Parting)
	require.Greater(t, p.CaughtMM, 6.4, "the hole is 2 × (4 - 0.8) mm high in the middle of the wire")
	require.Less(t, p.CaughtMM, 7.5, "and from the plate to the middle of the wire at its edges")
	// With a second ring along the length there is no way left.
	other := mesh.Torus(4, 0.8, 90, 24)
	for i, v := range other.V {
		other.V[i] = mesh.Point{v[2] + 4, v[0] + 7, v[1] + 5.5}
	}
	plate.Append(other)
	b, err = Shape{Kind: Other, Mesh: ptr(mesh.Of(plate))}.Resolve(context.Background())
	require.NoError(t, err)
	require.Equal(t, "loose_piece", parted(t, b).Parting)
}

package calc

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

type bounded struct {
	A    float64    `json:"a_mm" minimum:"1" maximum:"5" default:"2"`
	Some []struct{} `json:"some,omitempty" minItems:"2" maxItems:"3"`
}

func TestBoundsAndDefaultsComeFromTheTags(t *testing.T) {
	require.Equal(t, bounded{A: 2}, Default[bounded]())
	require.NoError(t, InBounds(bounded{A: 1}))
	require.EqualError(t, InBounds(bounded{A: 6, Some: make([]struct{}, 4)}),
		`a_mm: 6 refused; give a number from 1 to 5 in mm, or a text with a unit such as "0.25 in"; some: 4 refused; give a list of 2 to 3 items`)
}

// A NaN or an infinity is no number, with bounds or without, alone or in a list.
func TestNoNumber(t *testing.T) {
	type free struct {
		A    float64   `json:"a"`
		B    *float64  `json:"b,omitempty"`
		List []float64 `json:"list,omitempty"`
	}
	require.NoError(t, InBounds(free{A: -1e300, List: []float64{1}}))
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		require.ErrorContains(t, InBounds(free{A: v}), "a: ")
		require.ErrorContains(t, InBounds(free{B: &v}), "b: ")
		require.ErrorContains(t, InBounds(free{List: []float64{1, v}}), "list[1]: ")
		require.ErrorContains(t, InBounds(bounded{A: v}), "a_mm: ")
	}
}

func BenchmarkDefault(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		_ = Default[bounded]()
	}
}

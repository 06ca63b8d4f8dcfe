package calc

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

type boundedIn struct {
	A    float64   `json:"a_mm" minimum:"1" maximum:"5"`
	B    *float64  `json:"b_mm,omitempty" minimum:"0"`
	N    int       `json:"n" maximum:"3"`
	Kind string    `json:"kind,omitempty" enum:"x,y"`
	List []float64 `json:"list,omitempty" minimum:"1" maximum:"2"`
	Mode string    `json:"mode" enum:"u,v"`
	Free float64   `json:"free"`
	shared
	Some []struct{} `json:"some,omitempty" minItems:"2" maxItems:"3"`
	Each []struct{} `json:"each" maxItems:"1"`
}

type shared struct {
	D float64 `json:"d" maximum:"9"`
}

func TestBounds(t *testing.T) {
	faults := func(in boundedIn) (fields []string) {
		var c Checks
		c.Bounds(in)
		for _, f := range c.faults {
			fields = append(fields, f.Field)
		}
		return
	}
	minus := -1.0
	require.Empty(t, faults(boundedIn{A: 1, Kind: "x", Mode: "u", List: []float64{1, 2}, Free: math.NaN()}))
	require.Equal(t, []string{"a_mm", "b_mm", "n", "kind", "list[1]"}, faults(boundedIn{A: math.NaN(), B: &minus, N: 4, Kind: "z", List: []float64{1, 3}, Mode: "u"}))
	require.Equal(t, []string{"a_mm", "mode"}, faults(boundedIn{}), "zero is a number, absence passes")
	require.Equal(t, []string{"d", "some", "each"}, faults(boundedIn{A: 1, Mode: "u", shared: shared{10}, Some: make([]struct{}, 1), Each: make([]struct{}, 2)}), "embedded; how many")
	require.EqualError(t, InBounds(boundedIn{A: 6, Mode: "u", Some: make([]struct{}, 4), Each: make([]struct{}, 2)}),
		"a_mm: 6 refused; give 1 to 5; some: 4 refused; give 2 to 3 in the list; each: 2 refused; give at most 1 in the list")
}

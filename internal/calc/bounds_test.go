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
}

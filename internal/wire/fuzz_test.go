package wire

import (
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
)

// The committed inputs of each target stand in testdata/fuzz.

// refused checks that an error names what was refused, in texts that can be shown.
func refused(t *testing.T, err error) {
	if _, ok := err.(*Unparsable); ok {
		return
	}
	refusal, ok := err.(*calc.Refusal)
	require.True(t, ok, "%T", err)
	require.NotEmpty(t, refusal.Faults)
	for _, f := range refusal.Faults {
		require.NotEmpty(t, f.Accepts, f.Field)
	}
}

// FuzzReadJSON: any text is refused, or is JSON and every number is inside its
// bounds, every text and list no longer than it may be.
func FuzzReadJSON(f *testing.F) {
	f.Fuzz(func(t *testing.T, body []byte) {
		in, err := ShapeOf(reflect.TypeFor[input]()).ReadJSON(body)
		if err != nil {
			refused(t, err)
		} else {
			v := in.(*input)
			require.True(t, json.Valid(body) && utf8.Valid(body), "%s", body)
			require.True(t, v.MassG >= 0 && v.MassG <= 5000 && v.Reserve >= 0 && v.Count >= 1 && v.Count <= 9, "%s", body)
			require.True(t, len(v.Sizes) <= 2 && utf8.RuneCountInString(v.Note) <= 5, "%s", body)
			for _, mm := range v.Steps {
				require.True(t, mm >= 0 && mm <= 9, "%s", body)
			}
			for _, share := range v.Mix {
				require.False(t, math.IsNaN(share) || math.IsInf(share, 0), "%s", body)
			}
		}
		if _, err = ShapeOf(reflect.TypeFor[filed]()).ReadJSON(body); err != nil {
			refused(t, err)
		}
	})
}

// FuzzReadPairs: any name and text of a query or a cell are refused, or inside
// their bounds.
func FuzzReadPairs(f *testing.F) {
	f.Fuzz(func(t *testing.T, name, text string) {
		in, err := ShapeOf(reflect.TypeFor[flat]()).ReadPairs([]Pair{{"alloy", "x"}, {"mass_g", "1"}, {name, text}})
		if name == "mass_g" {
			in, err = ShapeOf(reflect.TypeFor[flat]()).ReadPairs([]Pair{{name, text}})
		}
		if err != nil {
			refused(t, err)
			return
		}
		v := in.(*flat)
		require.True(t, v.MassG >= 0 && v.MassG <= 5000, "%q", text)
		for _, mm := range v.Steps {
			require.False(t, math.IsNaN(mm) || math.IsInf(mm, 0), "%q", text)
		}
	})
}

// FuzzPick: any path picks one value, or is refused with what there is.
func FuzzPick(f *testing.F) {
	depth := 2.5
	out := output{PriceText: "12.30", Parts: []part{{1.5}, {2}}, Depth: &depth, Notes: calc.Notes{Working: []calc.Step{{What: "mass", Value: 3}}, Cautions: []calc.Caution{}}}
	f.Fuzz(func(t *testing.T, path string) {
		if _, err := Pick(&out, path); err != nil {
			refused(t, err)
		}
	})
}

// FuzzInert: a cell that is made inert begins no formula, and made so again
// stays as it is.
func FuzzInert(f *testing.F) {
	f.Fuzz(func(t *testing.T, cell string) {
		inert := Inert(cell)
		require.False(t, strings.HasPrefix(inert, "=") || strings.HasPrefix(inert, "@"), "%q", inert)
		require.True(t, strings.HasSuffix(inert, cell), "%q", inert)
		require.Equal(t, inert, Inert(inert))
	})
}

package wire

import (
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
)

// FuzzReadJSON reads any text: it is refused, or every number is inside its bounds.
func FuzzReadJSON(f *testing.F) {
	for _, body := range []string{`{"mass_g": 4}`, `{"mass_g": "2.5 ozt", "sizes": [{"thickness_mm": "14 B&S"}]}`, `{"mass_g": 1e400}`, `{"mix": {"Ag": 925}}`, `[[[[`, "\xff", `{"mass_g": 1, "mass_g": 2}`} {
		f.Add([]byte(body))
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		in, err := ShapeOf(reflect.TypeFor[input]()).ReadJSON(body)
		if err == nil {
			v := in.(*input)
			require.True(t, v.MassG >= 0 && v.MassG <= 5000 && v.Count >= 1 && v.Count <= 9, "%s", body)
		}
	})
}

// FuzzReadPairs reads any text of a query or a cell as a quantity with its unit.
func FuzzReadPairs(f *testing.F) {
	for _, text := range []string{"2 g", "1/2 ozt", "nan", "-0", "1e999 g", "٣ g", " 4 dwt "} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		in, err := ShapeOf(reflect.TypeFor[flat]()).ReadPairs([]Pair{{"mass_g", text}})
		if err == nil {
			m := in.(*flat).MassG
			require.True(t, m >= 0 && m <= 5000, "%q", text)
		}
	})
}

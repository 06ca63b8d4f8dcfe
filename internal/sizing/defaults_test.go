package sizing

import (
	"fmt"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"
)

// requireDefaults holds every field of v against its default tag.
func requireDefaults(t *testing.T, v any) {
	t.Helper()
	r := reflect.ValueOf(v)
	for i := range r.NumField() {
		if tag, ok := r.Type().Field(i).Tag.Lookup("default"); ok {
			require.Equal(t, tag, fmt.Sprint(r.Field(i).Interface()), r.Type().Field(i).Name)
		} else {
			require.True(t, r.Field(i).IsZero(), "%s is set but has no default", r.Type().Field(i).Name)
		}
	}
}

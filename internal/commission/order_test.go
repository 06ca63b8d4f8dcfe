package commission

import (
	"context"
	"encoding/json"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/testdata"
)

var ctx = context.Background()

// order reads a body as the server does, defaults first; pointers to structs
// that are given get theirs too.
func order(t testing.TB, body string) CommissionIn {
	in := calc.Default[CommissionIn]()
	require.NoError(t, json.Unmarshal([]byte(body), &in))
	// Items of lists start from nothing in encoding/json: set and read them again.
	for i := range in.Pieces {
		in.Pieces[i] = calc.Default[CommissionPiece]()
	}
	for i := range in.Stones {
		in.Stones[i] = calc.Default[CommissionStone]()
	}
	for i := range in.Lots {
		calc.SetDefaults(reflect.ValueOf(&in.Lots[i]).Elem())
	}
	if in.Ways != nil {
		*in.Ways = calc.Default[PourWays]()
	}
	require.NoError(t, json.Unmarshal([]byte(body), &in))
	return in
}

func TestX(t *testing.T) {
	in := order(t, testdata.Order)
	d, err := newDealer(ctx, in)
	require.NoError(t, err)
	d.deal()
	for k := range d.kinds {
		for s := range d.sites {
			t.Log(d.kinds[k], d.sites[s].Name, d.sites[s].fits(k, d.sites[s].Crown), d.sites[s].Barred)
		}
	}
}

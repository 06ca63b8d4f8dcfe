package heat

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// Eight cells at a time give what one at a time do, for rows of any length, and
// touch nothing else. Compilers that fuse multiplication and addition round a
// little otherwise.
func TestWideRows(t *testing.T) {
	if !wide {
		t.Skip("this processor has no AVX2")
	}
	defer func() { wide = true }()
	r := rand.New(rand.NewPCG(1, 2))
	random := func() []float32 {
		v := make([]float32, 400)
		for i := range v {
			v[i] = r.Float32() - 0.5
		}
		return v
	}
	for n := int32(1); n <= 40; n++ {
		td, te, tl := random(), random(), random()
		q := row{span: span{200 + r.Int32N(8), n, [4]int32{100, 150, 250 + r.Int32N(50), 350}}}
		one, eight := append([]float32(nil), te...), append([]float32(nil), te...)
		wide = false
		q.advance(td, one, tl, 0.4, 0.1, -0.2, 0.03)
		wide = true
		q.advance(td, eight, tl, 0.4, 0.1, -0.2, 0.03)
		require.InDeltaSlice(t, one, eight, 1e-7, "%d cells", n)
		for i := range te {
			if i < int(q.from) || i >= int(q.from+n) {
				require.Equal(t, te[i], eight[i], "cell %d beside a row of %d", i, n)
			} else {
				require.NotEqual(t, te[i], eight[i], "cell %d of %d", i, n)
			}
		}
	}
}

package fill

import (
	"context"
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/section"
)

func bangle() FillIn {
	in := calc.Default[FillIn]()
	in.InsideDiameterMM = 62
	in.Section = section.Section{Shape: section.HalfRound, ThicknessMM: 2.6, WidthMM: 6}
	return in
}

func TestTry(t *testing.T) {
	in := bangle()
	in.ThinSpot = &FillThin{1.1, 50}
	t0 := time.Now()
	out, err := Follow(context.Background(), in)
	require.NoError(t, err)
	b, _ := json.MarshalIndent(out, "", " ")
	t.Log(time.Since(t0), string(b))
}

func BenchmarkBangle(b *testing.B) {
	j, err := prepare(bangle())
	require.NoError(b, err)
	b.Run("one", func(b *testing.B) {
		w := new(run)
		for b.Loop() {
			w.follow(j, j.planned())
			w.judge()
		}
		b.ReportMetric(float64(w.Steps), "steps")
	})
	b.Run("512", func(b *testing.B) {
		for b.Loop() {
			_, _ = assess(context.Background(), j)
		}
	})
}

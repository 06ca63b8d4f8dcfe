package heat

import (
	"context"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// caller is a context that counts how often it is asked whether the caller is
// gone, and is so from the given time of asking on.
type caller struct {
	context.Context
	asked atomic.Int64
	gone  int64
}

func (c *caller) Err() error {
	if c.asked.Add(1) >= c.gone {
		return context.Canceled
	}
	return nil
}

// Whenever the caller goes, the work stops, and does not go on looking: what
// follows are the looks by which each loop that was under way ends.
func TestStopsWherever(t *testing.T) {
	in := band(12, 0.6, at(0, 1.5, 3), at(40, 1.5, 3), at(50, 5, 5), at(60, 1.5, 3), at(100, 1.5, 3))
	in.FillS = 0.5
	whole := &caller{Context: context.Background(), gone: 1 << 62}
	out, err := Freeze(whole, in)
	require.NoError(t, err)
	all := whole.asked.Load()
	require.Greater(t, all, int64(3*out.Grid.Steps), "a look a stage and more")
	layers := int64(out.run.N[2])
	for _, at := range []int64{1, 2, 10, all / 50, all / 10, all / 2, all - 40, all - 10, all - 2, all} {
		c := &caller{Context: context.Background(), gone: at}
		_, err := Freeze(c, in)
		require.ErrorIs(t, err, context.Canceled, "gone at look %d of %d", at, all)
		require.LessOrEqual(t, c.asked.Load(), at+layers+20)
	}
}

// watch keeps the longest time between two looks.
type watch struct {
	context.Context
	sync.Mutex
	last    time.Time
	longest time.Duration
}

func (w *watch) Err() error {
	w.Lock()
	defer w.Unlock()
	now := time.Now()
	w.longest, w.last = max(w.longest, now.Sub(w.last)), now
	return nil
}

// BenchmarkLooks tells how long a caller that is gone may go unnoticed while a
// bangle of a million cells freezes.
func BenchmarkLooks(b *testing.B) {
	in := bangle()
	in.FillS = 0.5
	for b.Loop() {
		w := &watch{Context: context.Background(), last: time.Now()}
		_, err := Freeze(w, in)
		require.NoError(b, err)
		require.NoError(b, w.Err())
		b.ReportMetric(w.longest.Seconds()*1e3, "longest-ms")
	}
}

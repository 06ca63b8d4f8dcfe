package serve

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// enterAsync asks for a place and tells, when it has one or none, its name.
func enterAsync(g *gate, client, name string, got chan<- string) {
	before := 0
	if g != nil {
		_, before = g.counts()
	}
	go func() {
		leave, err := g.enter(context.Background(), client, false)
		if err != nil {
			got <- name + " " + err.Error()
			return
		}
		got <- name
		leave()
	}()
	until(func() bool { _, w := g.counts(); return w > before || len(got) > 0 })
}

func TestPlacesGoToTheClientsInTurn(t *testing.T) {
	g := newGate(1, 16)
	leave, err := g.enter(t.Context(), "class", false)
	require.NoError(t, err)
	got := make(chan string, 10)
	for _, name := range []string{"a1", "a2", "a3", "b1"} {
		enterAsync(g, name[:1], name, got)
	}
	leave()
	for _, want := range []string{"a1", "b1", "a2", "a3"} {
		require.Equal(t, want, <-got)
	}
	until(func() bool { r, w := g.counts(); return r == 0 && w == 0 })
	require.Empty(t, g.lines)
	require.Empty(t, g.running)
	require.Empty(t, g.turns)
}

func TestAFullQueueMakesRoomForAnotherClient(t *testing.T) {
	g := newGate(1, 3)
	leave, err := g.enter(t.Context(), "a", false)
	require.NoError(t, err)
	got := make(chan string, 10)
	for _, name := range []string{"a1", "a2", "a3"} {
		enterAsync(g, "a", name, got)
	}
	_, err = g.enter(t.Context(), "a", false)
	require.ErrorIs(t, err, errFull, "one client takes no more than the queue holds")
	go enterAsync(g, "b", "b1", got)
	require.Equal(t, "a3 "+errDisplaced.Error(), <-got)
	until(func() bool { _, w := g.counts(); return w == 3 })
	leave()
	require.Equal(t, []string{"a1", "b1", "a2"}, []string{<-got, <-got, <-got})
}

func TestWhoGivesUpLeavesNoTrace(t *testing.T) {
	g := newGate(1, 3)
	leave, err := g.enter(t.Context(), "a", false)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = g.enter(ctx, "b", false)
	require.ErrorIs(t, err, context.Canceled)
	leave()
	running, waiting := g.counts()
	require.Zero(t, running+waiting)
}

func TestRetryAfterFollowsTheQueue(t *testing.T) {
	g := newGate(2, 100)
	g.pace = 5 * firstPace
	require.Equal(t, 10, g.retryAfter(), "one round of ten seconds")
	g.waiting = 4
	require.Equal(t, 30, g.retryAfter(), "five more in two places are three rounds")
	g.waiting = 1000
	require.Equal(t, 300, g.retryAfter())
	g.waiting, g.pace = 0, 0
	require.Equal(t, 1, g.retryAfter())
	for range 40 {
		g.pace.note(6 * time.Second)
	}
	require.Equal(t, 6, g.retryAfter(), "it has learnt how long places are held")
}

// TestRetryAfterFollowsTheMemory: with as much wanted already as there is, the
// next comes in the second round.
func TestRetryAfterFollowsTheMemory(t *testing.T) {
	m := newMemory(1000)
	require.Equal(t, 2, m.retryAfter(400))
	first, second := m.open(nothing), m.open(nothing)
	require.NoError(t, first.work(t.Context(), 900))
	waited := make(chan error)
	go func() { waited <- second.work(t.Context(), 900) }()
	wanted := func() int64 { m.lock.Lock(); defer m.lock.Unlock(); return m.wanted }
	until(func() bool { return wanted() == 900 })
	require.Equal(t, 4, m.retryAfter(400))
	first.close()
	require.NoError(t, <-waited)
	require.Zero(t, wanted())
	require.Less(t, m.pace, firstPace, "the first held its share for less than two seconds")
	second.close()
	require.EqualValues(t, 1000, m.left)
}

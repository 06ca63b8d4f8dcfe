package serve

import (
	"context"
	"encoding/json"
	"net/http"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
)

// occupied is a server of one heavy place, which is taken until release is closed.
func occupied(t *testing.T, settings func(*Settings)) (s *Server, release chan struct{}) {
	started, release := make(chan struct{}, 100), make(chan struct{})
	set := testSettings()
	set.HeavySlots, set.HeavyQueue = 1, 4
	if settings != nil {
		settings(&set)
	}
	s = must(New(set, []calc.Calculation{waiting(started, release)}, nil))
	leave, err := s.gate.enter(t.Context(), "another", false)
	require.NoError(t, err)
	go func() {
		<-release
		leave()
	}()
	return s, release
}

// TestWhatIsWrongIsSaidBeforeItWaits: each of these would hang in the queue.
func TestWhatIsWrongIsSaidBeforeItWaits(t *testing.T) {
	s, release := occupied(t, nil)
	defer close(release)
	for _, c := range []struct {
		target, body string
		status       int
		says         string
	}{
		{"/v1/waits", `{"for_s": 1`, 400, "ends too early"},
		{"/v1/waits", `{"for_s": 61}`, 422, "60"},
		{"/v1/waits?pick=dun", `{"for_s": 1}`, 422, "did you mean done?"},
		{"/v1/waits?format=pdf", `{"for_s": 1}`, 422, "give one of"},
		{"/v1/waits/rows", `{"for_s": 1}`, 400, "not a JSON array"},
		{"/v1/waits/rows", `[{"for_s": 1}, {]`, 400, "array is broken"},
		{"/v1/waits/rows", `[{"for_s": 61}, {"until": 3}]`, 200, "give a number from 0 to 60"},
		{"/v1/waits/rows", "[" + strings.Repeat(`{"for_s": 1},`, maxHeavyRows) + `{"for_s": 1}]`, 413, "at most 64 rows"},
	} {
		w := do(s, "POST", c.target, c.body)
		require.Equal(t, c.status, w.Code, "%s %.60s: %s", c.target, c.body, w.Body)
		require.Contains(t, w.Body.String(), c.says, "%s %.60s", c.target, c.body)
	}
	_, waiting := s.gate.counts()
	require.Zero(t, waiting)
}

// TestABatchThatLosesItsPlaceAnswersWhatIsDone: its second row finds none.
func TestABatchThatLosesItsPlaceAnswersWhatIsDone(t *testing.T) {
	settings := testSettings()
	settings.HeavySlots, settings.HeavyTime = 1, 300*time.Millisecond
	var s *Server
	release := make(chan struct{})
	taking := calc.Define(calc.Info{Name: "takes", Subject: "Toys", Summary: "Take", Heavy: true},
		[]calc.Example{calc.Sample("take", "Take", `{"for_s": 1}`)},
		func(ctx context.Context, in waitIn) (waitOut, error) {
			go func() { // another client, whose turn is next
				leave, err := s.gate.enter(context.Background(), "another", false)
				if err == nil {
					<-release
					leave()
				}
			}()
			until(func() bool { _, waiting := s.gate.counts(); return waiting == 1 })
			return waitOut{true, calc.Noting(ctx)}, nil
		})
	s = must(New(settings, []calc.Calculation{taking}, nil))
	w := do(s, "POST", "/v1/takes/rows", `[{"for_s": 1}, {"for_s": 2}, {"for_s": 61}, {"for_s": 3}]`)
	close(release)
	require.Equal(t, 200, w.Code, w.Body)
	var rows []RowAnswer
	require.NoError(t, json.Unmarshal(w.Body.Bytes(), &rows))
	require.Len(t, rows, 4)
	require.Contains(t, string(rows[0].Answer), "true")
	require.Contains(t, rows[1].Problem.Detail, "no place among heavy calculations came free")
	require.Equal(t, 422, rows[2].Problem.Status, "what is wrong with a row is said all the same")
	require.Equal(t, 503, rows[3].Problem.Status)
}

// TestAPlaceHasItsCores: two places of four cores have two each, in a batch too.
func TestAPlaceHasItsCores(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(4))
	var cores []int
	heavy := calc.Define(calc.Info{Name: "counts", Subject: "Toys", Summary: "Count", Heavy: true},
		[]calc.Example{calc.Sample("count", "Count", `{"for_s": 1}`)},
		func(ctx context.Context, in waitIn) (waitOut, error) {
			cores = append(cores, calc.Cores(ctx))
			return waitOut{true, calc.Noting(ctx)}, nil
		})
	settings := testSettings()
	settings.HeavySlots = 2
	s := must(New(settings, []calc.Calculation{heavy}, nil))
	require.Equal(t, http.StatusOK, do(s, "POST", "/v1/counts", `{"for_s": 1}`).Code)
	require.Equal(t, http.StatusOK, do(s, "POST", "/v1/counts/rows", `[{"for_s": 1}, {"for_s": 1}]`).Code)
	require.Equal(t, []int{2, 2, 2}, cores)
}

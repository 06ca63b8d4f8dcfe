package serve

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
)

func TestRatesRefillAsTimeGoes(t *testing.T) {
	now := time.Unix(0, 0)
	l := newRates(60)
	l.now = func() time.Time { return now }
	client := bucketOf{"a", false}
	for range 60 {
		require.Zero(t, l.take(client, 1, false))
	}
	require.Equal(t, 1, l.take(client, 1, false))
	require.Zero(t, l.take(bucketOf{"b", false}, 1, false))
	require.Zero(t, l.take(bucketOf{"a", true}, 1, false), "HEAD and OPTIONS do not count")
	now = now.Add(5 * time.Second)
	require.Zero(t, l.take(client, 5, false))
	l.take(client, 30, true)
	require.Equal(t, 31, l.take(client, 1, false), "30 more are owed")
	now = now.Add(time.Hour)
	require.Zero(t, l.take(client, 60, false))
	require.NotZero(t, l.take(client, 1, false), "no more than a minute's is saved up")
}

func TestRatesAreNotKeptWithoutEnd(t *testing.T) {
	l := newRates(60)
	l.now = func() time.Time { return time.Unix(0, 0) }
	for i := range maxBuckets + 10 {
		l.take(bucketOf{fmt.Sprint(i), false}, 1, false)
	}
	require.LessOrEqual(t, len(l.buckets), maxBuckets)
}

func TestNetworks(t *testing.T) {
	for address, network := range map[string]string{
		"192.0.2.1": "192.0.2.1", "::ffff:192.0.2.1": "192.0.2.1",
		"2001:db8:1:2:3:4:5:6": "2001:db8:1:2::/64", "fe80::1%eth0": "fe80::/64", "nobody": "nobody",
	} {
		require.Equal(t, network, networkOf(address))
	}
}

func TestProbesAreNoClients(t *testing.T) {
	settings := testSettings()
	settings.RatePerMinute = 1
	s := must(New(settings, []calc.Calculation{toy}, nil))
	require.Equal(t, 200, do(s, "GET", "/v1/toys?length_mm=3", "").Code)
	require.Equal(t, 429, do(s, "GET", "/v1/toys?length_mm=3", "").Code)
	for range 3 {
		for _, probe := range []string{"/healthz", "/readyz", "/metrics"} {
			require.Equal(t, 200, do(s, "GET", probe, "").Code)
		}
	}
	require.Equal(t, 200, do(s, "HEAD", "/v1/toys?length_mm=3", "").Code, "of a count of its own")
	require.Equal(t, 429, do(s, "OPTIONS", "/v1/toys", "").Code)
	cell := do(s, "GET", "/v1/toys?length_mm=3&pick=area_mm2&errors=text", "")
	require.Equal(t, 200, cell.Code)
	require.True(t, strings.HasPrefix(cell.Body.String(), "! more than 1 requests in a minute"), cell.Body)
	require.Contains(t, cell.Body.String(), "again in ")
}

func TestABatchCountsItsRows(t *testing.T) {
	settings := testSettings()
	settings.RatePerMinute = 3
	s := must(New(settings, []calc.Calculation{toy}, nil))
	rows := "[" + strings.Repeat(`{"length_mm": 3},`, 2*rowsPerRequest) + `{"length_mm": 3}]`
	require.Equal(t, 200, do(s, "POST", "/v1/toys/rows", rows).Code)
	require.Equal(t, 429, do(s, "POST", "/v1/toys", `{"length_mm": 3}`).Code)
}

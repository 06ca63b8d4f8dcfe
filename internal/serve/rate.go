package serve

import (
	"context"
	"math"
	"net/http"
	"net/netip"
	"strings"
	"sync"
	"time"

	"github.com/go-chi/chi/v5/middleware"
)

// rates holds a bucket a client that refills as time goes: a full one lets
// through what a client may ask in a minute.
type rates struct {
	perMinute float64
	now       func() time.Time

	lock    sync.Mutex
	buckets map[bucketOf]*bucket
}

// bucketOf tells buckets apart. OPTIONS and HEAD have one of their own, since
// a spreadsheet asks both before each GET.
type bucketOf struct {
	client string
	asking bool
}

type bucket struct {
	left float64
	at   time.Time
}

// maxBuckets bounds the clients that are remembered.
const maxBuckets = 100_000

func newRates(perMinute int) *rates {
	return &rates{perMinute: float64(perMinute), now: time.Now, buckets: map[bucketOf]*bucket{}}
}

// take takes n requests out of a bucket, or tells how many seconds it will be
// until one is in it. With debt it takes them even so.
func (l *rates) take(of bucketOf, n float64, debt bool) (wait int) {
	l.lock.Lock()
	defer l.lock.Unlock()
	now := l.now()
	b := l.buckets[of]
	if b == nil {
		l.forget(now)
		b = &bucket{l.perMinute, now}
		l.buckets[of] = b
	}
	b.left = min(l.perMinute, b.left+now.Sub(b.at).Minutes()*l.perMinute)
	b.at = now
	if b.left < n && !debt {
		return int(math.Ceil((n-b.left)/l.perMinute*60 - 1e-6))
	}
	b.left -= n
	return 0
}

// forget drops full buckets when there are many, and all if none is full: that
// lets some through that should wait, which costs less than memory without end.
func (l *rates) forget(now time.Time) {
	if len(l.buckets) < maxBuckets {
		return
	}
	for of, b := range l.buckets {
		if b.left+now.Sub(b.at).Minutes()*l.perMinute >= l.perMinute {
			delete(l.buckets, of)
		}
	}
	if len(l.buckets) >= maxBuckets {
		clear(l.buckets)
	}
}

// networkOf is the address of a client, or of its network where an address is
// one of as many as it likes: of IPv6 the first 64 bits.
func networkOf(address string) string {
	a, err := netip.ParseAddr(address)
	if err != nil {
		return address
	}
	if a = a.Unmap(); a.Is4() {
		return a.String()
	}
	p, _ := a.WithZone("").Prefix(64)
	return p.String()
}

// isProbe reports whether a path is for whoever runs the server: no client's
// limit holds for it.
func isProbe(path string) bool { return path == "/healthz" || path == "/readyz" || path == "/metrics" }

type chargeKey struct{}

// charge counts n requests more than the one that was made, as a batch of many
// rows does.
func charge(ctx context.Context, n int64) {
	if more, ok := ctx.Value(chargeKey{}).(func(float64)); ok && n > 0 {
		more(float64(n))
	}
}

// limit holds each client to its rate.
func (l *rates) limit(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if isProbe(r.URL.Path) {
			next.ServeHTTP(w, r)
			return
		}
		of := bucketOf{networkOf(middleware.GetClientIP(r.Context())), r.Method == http.MethodHead || r.Method == http.MethodOptions}
		if wait := l.take(of, 1, false); wait > 0 {
			p := problem(http.StatusTooManyRequests, "more than %.0f requests in a minute from one client; ask again in %d s, or send many rows at once to /rows", l.perMinute, wait)
			p.retryAfter = wait
			respond(w, r, p)
			return
		}
		if strings.HasSuffix(r.URL.Path, "/rows") {
			r = r.WithContext(context.WithValue(r.Context(), chargeKey{}, func(n float64) { l.take(of, n, true) }))
		}
		next.ServeHTTP(w, r)
	})
}

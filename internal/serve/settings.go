package serve

import (
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"runtime"
	"time"
)

// Settings say how a server is run. The zero value of a field is explained
// with it; [DefaultSettings] suits a maker's own machine and a small class.
type Settings struct {
	Version string
	// Log is where requests and faults are told; nil tells nobody.
	Log *slog.Logger

	// RatePerMinute is how many requests one client may make in a minute; 0
	// is no limit. A spreadsheet cell makes three: OPTIONS, HEAD and GET.
	RatePerMinute int
	// TrustedProxies are the networks (CIDR) whose X-Forwarded-For is believed.
	TrustedProxies []string
	// HeavySlots is how many heavy calculations run at once; HeavyQueue how
	// many more may wait. Beyond that they are turned away with 503.
	HeavySlots, HeavyQueue int
	// LightTime and HeavyTime bound the time of one request by its class.
	LightTime, HeavyTime time.Duration

	// KeysFile holds SHA-256 hashes of bearer keys, one a line; "" leaves the
	// server open. It is read again when it changes.
	KeysFile string
	// Settle is how long a stopping server answers after it has called itself
	// not ready, so that load balancers turn away first.
	Settle time.Duration
	// Page answers GET of / and of everything under /page/, outside the
	// contract, under a policy of its own; nil: nothing is there.
	Page http.Handler
	// Trace puts a span around every request; nil: none is traced.
	Trace func(http.Handler) http.Handler
	// Origins are the web origins whose pages may call; "*" is any.
	Origins []string
}

// check refuses numbers that no server can keep to.
func (s Settings) check() error {
	var faults []error
	for _, c := range []struct {
		ok    bool
		fault string
		value any
	}{
		{s.RatePerMinute >= 0, "rate %v: give 0, for no limit, or more", s.RatePerMinute},
		{s.HeavySlots >= 1 && s.HeavySlots <= mostHeavy, "heavy slots %v: give 1 to 10000", s.HeavySlots},
		{s.HeavyQueue >= 0, "heavy queue %v: give 0 or more", s.HeavyQueue},
		{s.LightTime > 0, "light time %v: give more than 0s", s.LightTime},
		{s.HeavyTime > 0, "heavy time %v: give more than 0s", s.HeavyTime},
		{s.Settle >= 0, "settle %v: give 0s or more", s.Settle},
	} {
		if !c.ok {
			faults = append(faults, fmt.Errorf(c.fault, c.value))
		}
	}
	for _, network := range s.TrustedProxies {
		if _, err := netip.ParsePrefix(network); err != nil {
			faults = append(faults, fmt.Errorf("trusted proxies: %w", err))
		}
	}
	return errors.Join(faults...)
}

// mostHeavy keeps a slip of the pen from claiming all memory.
const mostHeavy = 10_000

// DefaultSettings are the settings of a server that is told nothing.
func DefaultSettings(version string) Settings {
	return Settings{
		Version:       version,
		RatePerMinute: 1200,
		HeavySlots:    max(1, runtime.GOMAXPROCS(0)/2),
		HeavyQueue:    16,
		LightTime:     5 * time.Second,
		HeavyTime:     60 * time.Second,
	}
}

package serve

import (
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"runtime"
	"strings"
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
	// PublicURL is the address that clients call, as https://NAME; "" takes it
	// from each request.
	PublicURL string
	// Connections is how many clients may be connected at once; beyond that the
	// one that has been idle longest is closed.
	Connections int
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
		{s.HeavyQueue >= 0 && s.HeavyQueue <= mostHeavy, "heavy queue %v: give 0 to 10000", s.HeavyQueue},
		{s.Connections >= 10, "connections %v: give 10 or more", s.Connections},
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
			faults = append(faults, fmt.Errorf("trusted proxies %q: give networks as 10.0.0.0/8 or 2001:db8::/32, with commas between", network))
		}
	}
	for _, origin := range s.Origins {
		if origin != "*" && !isOrigin(origin) {
			faults = append(faults, fmt.Errorf("origins %q: give https://NAME or http://NAME, with a port if it has one and nothing behind, or * for any", origin))
		}
	}
	if s.PublicURL != "" && !isOrigin(s.PublicURL) {
		faults = append(faults, fmt.Errorf("public url %q: give https://NAME or http://NAME, with a port if it has one and nothing behind", s.PublicURL))
	}
	return errors.Join(faults...)
}

// isOrigin reports whether a text is a scheme and a host, as browsers write it.
func isOrigin(text string) bool {
	scheme, host, found := strings.Cut(text, "://")
	return found && (scheme == "http" || scheme == "https") && plainHost.MatchString(host)
}

// prefixes reads networks that have been checked.
func prefixes(networks []string) []netip.Prefix {
	var list []netip.Prefix
	for _, network := range networks {
		if p, err := netip.ParsePrefix(network); err == nil {
			list = append(list, p)
		}
	}
	return list
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
		Connections:   1000,
		LightTime:     5 * time.Second,
		HeavyTime:     60 * time.Second,
	}
}

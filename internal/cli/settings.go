package cli

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"pourwright/internal/serve"
)

// settingsFrom reads the flags of serve; each has an environment variable,
// which holds where the flag is not given.
func settingsFrom(flags *flag.FlagSet, args []string, getenv func(string) string, stderr io.Writer) (serve.Settings, error) {
	s := serve.DefaultSettings(Version)
	var faults []string
	env := func(name string, set func(string) error) string {
		name = "POURWRIGHT_" + name
		if v := getenv(name); v != "" {
			if err := set(v); err != nil {
				faults = append(faults, fmt.Sprintf("%s=%s: %v", name, v, err))
			}
		}
		return " (" + name + ")"
	}
	number := func(to *int, name, variable, help string) {
		note := env(variable, func(v string) error { return readNumber(to, v) })
		flags.IntVar(to, name, *to, help+note)
	}
	span := func(to *time.Duration, name, variable, help string) {
		note := env(variable, func(v string) error { return readSpan(to, v) })
		flags.DurationVar(to, name, *to, help+note)
	}
	text := func(to *string, name, variable, help string) {
		note := env(variable, func(v string) error { *to = v; return nil })
		flags.StringVar(to, name, *to, help+note)
	}
	list := func(to *[]string, name, variable, help string) {
		set := func(v string) error { *to = strings.Split(v, ","); return nil }
		flags.Func(name, help+env(variable, set), set)
	}
	number(&s.RatePerMinute, "rate", "RATE", "requests a minute from one client, 0 for no limit")
	number(&s.HeavySlots, "heavy-slots", "HEAVY_SLOTS", "heavy calculations at once")
	number(&s.HeavyQueue, "heavy-queue", "HEAVY_QUEUE", "heavy calculations that may wait")
	span(&s.LightTime, "light-time", "LIGHT_TIME", "longest time of a light calculation")
	span(&s.HeavyTime, "heavy-time", "HEAVY_TIME", "longest time of a heavy calculation")
	span(&s.Settle, "settle", "SETTLE", "how long a stopping server answers after it calls itself not ready")
	list(&s.TrustedProxies, "trusted-proxies", "TRUSTED_PROXIES", "networks (CIDR, commas between) whose X-Forwarded-For is believed")
	list(&s.Origins, "origins", "ORIGINS", "web origins (commas between) whose pages may call")
	text(&s.KeysFile, "keys", "KEYS", "file of SHA-256 hashes of bearer keys; open without")
	text(&s.PublicURL, "public-url", "PUBLIC_URL", "address that clients call, as https://NAME; taken from each request without")
	number(&s.Connections, "connections", "CONNECTIONS", "clients connected at once; beyond, the one idle longest is closed")
	if err := parse(flags, args, stderr); err != nil {
		return s, err
	}
	if len(faults) > 0 {
		return s, fmt.Errorf("environment: %s", strings.Join(faults, "; "))
	}
	return s, nil
}

func readNumber(to *int, v string) error {
	n, err := strconv.Atoi(v)
	if err != nil {
		return errors.New("give a whole number")
	}
	*to = n
	return nil
}

func readSpan(to *time.Duration, v string) error {
	d, err := time.ParseDuration(v)
	if err != nil {
		return errors.New("give a time with its unit, as 500ms, 5s or 2m")
	}
	*to = d
	return nil
}

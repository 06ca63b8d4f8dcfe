package cli

import (
	"flag"
	"io"
	"testing"

	"pourwright/internal/serve"
)

// FuzzSettings: whatever the environment holds, a server is built of it or it
// is refused. The committed inputs stand in testdata/fuzz.
func FuzzSettings(f *testing.F) {
	f.Fuzz(func(t *testing.T, rate, slots, queue, light, settle, proxies, origins string) {
		env := map[string]string{"POURWRIGHT_RATE": rate, "POURWRIGHT_HEAVY_SLOTS": slots, "POURWRIGHT_HEAVY_QUEUE": queue,
			"POURWRIGHT_LIGHT_TIME": light, "POURWRIGHT_SETTLE": settle, "POURWRIGHT_TRUSTED_PROXIES": proxies, "POURWRIGHT_ORIGINS": origins}
		s, err := settingsFrom(flag.NewFlagSet("serve", flag.ContinueOnError), nil, func(name string) string { return env[name] }, io.Discard)
		if err != nil {
			return
		}
		if _, err := serve.New(s, nil, nil); err == nil && (s.HeavySlots < 1 || s.LightTime <= 0 || s.Settle < 0) {
			t.Fatalf("a server with %+v", s)
		}
	})
}

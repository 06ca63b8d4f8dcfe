package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"time"
)

// fate is what became of a mutant.
type fate int

const (
	killed fate = iota
	lives
	tooSlow // ended by its time limit, which counts as noticed
	doesNotCompile
)

// runner runs the tests, on the tree as it is or with one file replaced.
type runner struct {
	work  string
	tests []string
	took  time.Duration // all tests, unbroken
	limit time.Duration // for one mutant
}

// slack is how many times the unbroken tests' time a mutant has, and
// leastLimit what it has at least, since the machine may be busy.
const (
	slack      = 10
	leastLimit = 20 * time.Second
)

// baseline runs the unbroken tests, which must pass, and sets the limit.
func (r *runner) baseline(ctx context.Context) error {
	for _, test := range r.tests {
		binary, out, err := r.build(ctx, test, "")
		if err != nil {
			return fmt.Errorf("%s does not build: %s", test, out)
		}
		if binary == "" {
			return fmt.Errorf("%s has no tests", test)
		}
		start := time.Now()
		if out, err := r.execute(ctx, test, binary, 10*time.Minute); err != nil {
			return fmt.Errorf("the tests of %s fail unbroken: %s", test, out)
		}
		r.took += time.Since(start)
	}
	r.limit = max(leastLimit, slack*r.took)
	return nil
}

// run breaks the package in one place and runs the tests until one fails.
func (r *runner) run(ctx context.Context, p *pkg, m mutant) (fate, error) {
	text, err := os.ReadFile(m.file)
	if err != nil {
		return 0, err
	}
	broken := filepath.Join(r.work, "broken.go")
	changed := string(text[:m.from]) + m.becomes + string(text[m.to:])
	if err := os.WriteFile(broken, []byte(changed), 0o600); err != nil {
		return 0, err
	}
	overlay := filepath.Join(r.work, "overlay.json")
	names, err := json.Marshal(map[string]map[string]string{"Replace": {m.file: broken}})
	if err != nil {
		return 0, err
	}
	if err := os.WriteFile(overlay, names, 0o600); err != nil {
		return 0, err
	}
	for _, test := range r.tests {
		binary, _, err := r.build(ctx, test, overlay)
		if ctx.Err() != nil {
			return 0, ctx.Err()
		}
		if err != nil {
			return doesNotCompile, nil
		}
		_, err = r.execute(ctx, test, binary, r.limit)
		switch {
		case ctx.Err() != nil:
			return 0, ctx.Err()
		case errors.Is(err, context.DeadlineExceeded):
			return tooSlow, nil
		case err != nil:
			return killed, nil
		}
	}
	return lives, nil
}

// build makes the test binary of a package; "" if it has no tests.
func (r *runner) build(ctx context.Context, test, overlay string) (binary string, out []byte, err error) {
	binary = filepath.Join(r.work, "tests.bin")
	_ = os.Remove(binary)
	args := []string{"-n", "10", "go", "test", "-c", "-vet=off", "-ldflags=-s -w", "-o", binary}
	if overlay != "" {
		args = append(args, "-overlay", overlay)
	}
	out, err = exec.CommandContext(ctx, "nice", append(args, test)...).CombinedOutput()
	if err != nil {
		return "", out, err
	}
	if _, err := os.Stat(binary); err != nil {
		return "", out, nil
	}
	return binary, out, nil
}

// execute runs a test binary in its package's folder, with all that it starts
// ended at the limit.
func (r *runner) execute(ctx context.Context, test, binary string, limit time.Duration) ([]byte, error) {
	timed, cancel := context.WithTimeout(ctx, limit)
	defer cancel()
	c := exec.CommandContext(timed, "nice", "-n", "10", binary, "-test.short", "-test.failfast", "-test.skip=Golden", "-test.timeout=0")
	c.Dir = strings.TrimPrefix(test, "pourwright/")
	c.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	c.Cancel = func() error { return syscall.Kill(-c.Process.Pid, syscall.SIGKILL) }
	c.WaitDelay = 5 * time.Second
	out, err := c.CombinedOutput()
	if timed.Err() != nil && err != nil {
		return out, timed.Err()
	}
	return out, err
}

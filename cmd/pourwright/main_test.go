package main

import (
	"bufio"
	"context"
	"net/http"
	"os"
	"os/exec"
	"regexp"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// TestMain is the program itself where a test has started it as such.
func TestMain(m *testing.M) {
	if os.Getenv("POURWRIGHT_TEST_IS_THE_PROGRAM") != "" {
		main()
	}
	os.Exit(m.Run())
}

// patience is for a machine however busy; only a test that fails takes it.
const patience = 2 * time.Minute

// serving starts the program as a process of its own and returns its address.
func serving(t *testing.T, settle string) (*exec.Cmd, string) {
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	t.Cleanup(cancel)
	cmd := exec.CommandContext(ctx, os.Args[0], "serve", "--addr", "127.0.0.1:0", "--settle", settle)
	cmd.Env = append(os.Environ(), "POURWRIGHT_TEST_IS_THE_PROGRAM=1")
	log, err := cmd.StderrPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	lines := bufio.NewScanner(log)
	for lines.Scan() {
		if url := regexp.MustCompile(`http://127[0-9.:]+`).FindString(lines.Text()); url != "" {
			go func() {
				for lines.Scan() { // so that it never waits to log
				}
			}()
			return cmd, url
		}
	}
	t.Fatal("the program did not listen")
	return nil, ""
}

// stopping sends a signal and waits until the server calls itself not ready.
func stopping(t *testing.T, cmd *exec.Cmd, url string, signal os.Signal) {
	require.NoError(t, cmd.Process.Signal(signal))
	for status := 0; status != http.StatusServiceUnavailable; {
		r, err := http.Get(url + "/readyz")
		require.NoError(t, err, "it answers while it settles")
		require.NoError(t, r.Body.Close())
		status = r.StatusCode
	}
}

func TestASecondSignalEndsAtOnce(t *testing.T) {
	for _, signal := range []syscall.Signal{syscall.SIGTERM, syscall.SIGINT} {
		cmd, url := serving(t, "1h")
		stopping(t, cmd, url, signal)
		require.NoError(t, cmd.Process.Signal(signal))
		require.Error(t, cmd.Wait())
		ended := cmd.ProcessState.Sys().(syscall.WaitStatus)
		require.Equal(t, signal, ended.Signal(), "by the second signal, not by this test's patience")
	}
}

func TestOneSignalLetsItSettle(t *testing.T) {
	cmd, url := serving(t, "300ms")
	stopping(t, cmd, url, syscall.SIGTERM)
	require.NoError(t, cmd.Wait())
}

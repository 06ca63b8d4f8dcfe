package serve

import (
	"bufio"
	"context"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/go-chi/chi/v5/middleware"
	"github.com/go-chi/cors"
)

// keys are the hashes of the bearer keys in a file, read again when the file
// changes, so that keys are rotated without a restart.
type keys struct {
	path string
	log  *slog.Logger

	lock   sync.Mutex
	read   time.Time // when the file was last looked at
	stamp  time.Time // its time of change then
	size   int64
	hashes [][sha256.Size]byte
}

// keysFresh is how long a look at the file holds.
const keysFresh = 2 * time.Second

func newKeys(path string, log *slog.Logger) (*keys, error) {
	k := &keys{path: path, log: log}
	return k, k.load()
}

func (k *keys) load() error {
	info, err := os.Stat(k.path)
	if err != nil {
		return err
	}
	f, err := os.Open(k.path)
	if err != nil {
		return err
	}
	defer f.Close()
	hashes, err := readHashes(f)
	if err != nil {
		return fmt.Errorf("%s, %w", k.path, err)
	}
	if len(hashes) == 0 {
		return fmt.Errorf("%s holds no key: give a SHA-256 hash in hexadecimal a line, or no file for a server that is open", k.path)
	}
	k.hashes, k.stamp, k.size, k.read = hashes, info.ModTime(), info.Size(), time.Now()
	return nil
}

// readHashes reads a SHA-256 hash in hexadecimal a line, with anything behind
// a space or a tab as a remark; empty lines and those that begin with # do not
// count.
func readHashes(file io.Reader) (hashes [][sha256.Size]byte, err error) {
	lines := bufio.NewScanner(file)
	n := 1
	for ; lines.Scan(); n++ {
		words := strings.Fields(lines.Text())
		if len(words) == 0 || strings.HasPrefix(words[0], "#") {
			continue
		}
		b, err := hex.DecodeString(words[0])
		if err != nil || len(b) != sha256.Size {
			return nil, fmt.Errorf("line %d: not a SHA-256 hash in hexadecimal", n)
		}
		hashes = append(hashes, [sha256.Size]byte(b))
	}
	if err := lines.Err(); err != nil {
		return nil, fmt.Errorf("line %d: %w", n, err)
	}
	return hashes, nil
}

// allows compares the key with every hash, in a time that does not tell which.
func (k *keys) allows(key string) bool {
	k.lock.Lock()
	defer k.lock.Unlock()
	if time.Since(k.read) > keysFresh {
		k.read = time.Now()
		info, err := os.Stat(k.path)
		if err == nil && (!info.ModTime().Equal(k.stamp) || info.Size() != k.size) {
			err = k.load()
		}
		if err != nil { // broken, half written or gone: the old keys stay in force
			k.log.Error("the keys were not read again", "error", err)
		}
	}
	sum := sha256.Sum256([]byte(key))
	found := 0
	for _, h := range k.hashes {
		found |= subtle.ConstantTimeCompare(h[:], sum[:])
	}
	return found == 1
}

// require lets requests with a key pass. Health and the contract stay open.
func (k *keys) require(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		key, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
		if strings.HasPrefix(r.URL.Path, "/v1/") && r.Method != http.MethodOptions && (!ok || !k.allows(key)) {
			w.Header().Set("WWW-Authenticate", `Bearer realm="pourwright"`)
			respond(w, r, problem(http.StatusUnauthorized, "send a key of this server as Authorization: Bearer"))
			return
		}
		if ok {
			sum := sha256.Sum256([]byte(key))
			r = r.WithContext(context.WithValue(r.Context(), clientKey{}, "key "+hex.EncodeToString(sum[:8])))
		}
		next.ServeHTTP(w, r)
	})
}

// clients finds the client's address: the peer's, or behind trusted proxies
// the last one in X-Forwarded-For that is not theirs.
func clients(proxies []string) func(http.Handler) http.Handler {
	if len(proxies) == 0 {
		return middleware.ClientIPFromRemoteAddr
	}
	return middleware.ClientIPFromXFF(proxies...)
}

// crossOrigin lets pages of the given origins call.
func crossOrigin(origins []string) func(http.Handler) http.Handler {
	return cors.Handler(cors.Options{
		AllowedOrigins: origins,
		AllowedMethods: []string{http.MethodGet, http.MethodHead, http.MethodPost},
		AllowedHeaders: []string{"Accept", "Authorization", "Content-Type", "If-None-Match"},
		ExposedHeaders: []string{"ETag", "Retry-After", "X-Request-Id"},
		MaxAge:         600,
	})
}

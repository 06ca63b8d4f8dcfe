package serve

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"net/http"
	"strconv"
	"strings"
	"sync"

	"github.com/go-chi/chi/v5"
	"github.com/swaggest/swgui/v5emb"
)

// docsPolicy lets the documentation page run its own embedded script and
// style, and talk to this server only.
const docsPolicy = "default-src 'none'; script-src 'self' 'unsafe-inline'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; connect-src 'self'; base-uri 'none'; frame-ancestors 'none'"

// serve adds the routes of the contract and its documentation page.
func (d *document) serve(router chi.Router) {
	for _, version := range []string{"3.1", "3.0"} {
		for _, format := range []string{"json", "yaml"} {
			path := "/openapi." + format
			if version == "3.0" {
				path = "/openapi-3.0." + format
			}
			written := sync.OnceValues(func() (*publication, error) { return d.publish(version, format) })
			router.Get(path, func(w http.ResponseWriter, r *http.Request) {
				p, err := written()
				if err != nil {
					panic("serve: the contract cannot be written: " + err.Error())
				}
				p.serve(w, r)
			})
		}
	}
	page := v5emb.New("Pourwright", "/openapi.json", "/docs/")
	docs := func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Security-Policy", docsPolicy)
		page.ServeHTTP(w, r)
	}
	router.Get("/docs", docs)
	router.Get("/docs/*", docs)
}

// publication is the contract in one form, compressed: it is kept so, and
// unpacked for the few who do not take it.
type publication struct {
	mediaType, tag string
	packed         []byte
}

func (d *document) publish(version, format string) (*publication, error) {
	text, err := d.write(version, format)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	z, _ := gzip.NewWriterLevel(&b, gzip.BestCompression)
	_, _ = z.Write(text) // a bytes.Buffer takes everything
	_ = z.Close()
	sum := sha256.Sum256(text)
	return &publication{"application/openapi+" + format, hex.EncodeToString(sum[:12]), b.Bytes()}, nil
}

func (p *publication) serve(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	packed := weight(r.Header.Get("Accept-Encoding"), "gzip") > 0
	tag := `"` + p.tag + `"`
	if packed {
		tag = `"` + p.tag + `-gzip"` // other bytes, another tag (RFC 9110, 8.8.3.3)
	}
	h.Set("ETag", tag)
	h.Set("Cache-Control", "public, max-age=60")
	h.Set("Vary", "Accept-Encoding")
	if tagged(r.Header.Get("If-None-Match"), tag) {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	h.Set("Content-Type", p.mediaType)
	if packed {
		h.Set("Content-Encoding", "gzip")
		h.Set("Content-Length", strconv.Itoa(len(p.packed)))
		_, _ = w.Write(p.packed) // the client may have gone
		return
	}
	if z, err := gzip.NewReader(bytes.NewReader(p.packed)); err == nil {
		_, _ = io.Copy(w, z)
	}
}

// tagged reports whether an If-None-Match names the tag; weak ones compare
// equal (RFC 9110, 13.1.2).
func tagged(header, tag string) bool {
	for part := range strings.SplitSeq(header, ",") {
		if part = strings.TrimSpace(part); part == "*" || strings.TrimPrefix(part, "W/") == tag {
			return true
		}
	}
	return false
}

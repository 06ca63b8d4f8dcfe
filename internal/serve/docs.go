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

	"github.com/andybalholm/brotli"
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
			if path == "/openapi.json" {
				d.prepare = func() {
					if p, err := written(); err == nil { // else the first who asks is told
						p.brotli()
					}
				}
			}
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
// unpacked for the few who do not take it. Brotli, whose window holds all of it,
// takes longer: it is made for the first who takes it.
type publication struct {
	mediaType, tag string
	gzip           []byte
	brotli         func() []byte
}

// brotliQuality is the highest that is worth its time: the next one saves 2 %
// of the contract and takes 1.4 times as long.
const brotliQuality = 6

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
	p := &publication{mediaType: "application/openapi+" + format, tag: hex.EncodeToString(sum[:12]), gzip: b.Bytes()}
	p.brotli = sync.OnceValue(func() []byte {
		var b bytes.Buffer
		z := brotli.NewWriterLevel(&b, brotliQuality)
		p.unpack(z)
		_ = z.Close()
		return b.Bytes()
	})
	return p, nil
}

// unpack writes the text to w.
func (p *publication) unpack(w io.Writer) {
	if z, err := gzip.NewReader(bytes.NewReader(p.gzip)); err == nil {
		_, _ = io.Copy(w, z) // the client may have gone
	}
}

func (p *publication) serve(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	tag := `"` + p.tag + `"`
	encoding := preferred(r.Header.Get("Accept-Encoding"), []string{"br", "gzip"})
	if encoding != "" {
		tag = `"` + p.tag + "-" + encoding + `"` // other bytes, another tag (RFC 9110, 8.8.3.3)
	}
	h.Set("ETag", tag)
	h.Set("Cache-Control", "public, max-age=60")
	h.Set("Vary", "Accept-Encoding")
	if tagged(r.Header.Get("If-None-Match"), tag) {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	h.Set("Content-Type", p.mediaType)
	if encoding == "" {
		p.unpack(w)
		return
	}
	packed := p.gzip
	if encoding == "br" {
		packed = p.brotli()
	}
	h.Set("Content-Encoding", encoding)
	h.Set("Content-Length", strconv.Itoa(len(packed)))
	_, _ = w.Write(packed) // the client may have gone
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

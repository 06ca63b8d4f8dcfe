package serve

import (
	"net/http"
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
			written := sync.OnceValues(func() ([]byte, error) { return d.write(version, format) })
			router.Get(path, func(w http.ResponseWriter, _ *http.Request) {
				body, err := written()
				if err != nil {
					panic("serve: the contract cannot be written: " + err.Error())
				}
				w.Header().Set("Content-Type", "application/openapi+"+format)
				w.Header().Set("Cache-Control", "public, max-age=60")
				_, _ = w.Write(body)
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

package serve

import (
	"encoding/json"
	"net/http"

	"github.com/go-chi/chi/v5"
	"github.com/swaggest/swgui/v5emb"
)

// docsPolicy lets the documentation page run its own embedded script and
// style, and talk to this server only.
const docsPolicy = "default-src 'none'; script-src 'self' 'unsafe-inline'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; connect-src 'self'; base-uri 'none'; frame-ancestors 'none'"

// Contract returns the OpenAPI document, of version "3.1" or "3.0", as YAML or JSON.
func (s *Server) Contract(version, format string) ([]byte, error) {
	return s.contract.write(version, format)
}

func (k *contract) write(version, format string) ([]byte, error) {
	switch {
	case version == "3.0" && format == "yaml":
		return k.api.DowngradeYAML()
	case version == "3.0":
		return k.api.Downgrade()
	case format == "yaml":
		return k.api.YAML()
	}
	return json.Marshal(k.api)
}

// serve adds the routes of the contract and its documentation page. The
// documents are made here, once, so that a fault in them shows at the start.
func (k *contract) serve(router chi.Router) {
	for _, version := range []string{"3.1", "3.0"} {
		for _, format := range []string{"json", "yaml"} {
			path := "/openapi." + format
			if version == "3.0" {
				path = "/openapi-3.0." + format
			}
			body, err := k.write(version, format)
			if err != nil {
				panic("serve: the contract cannot be written: " + err.Error())
			}
			router.Get(path, func(w http.ResponseWriter, _ *http.Request) {
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

// Package serve offers calculations over HTTP: routes, formats, problem
// documents, limits, health and the contract. It holds no calculation.
package serve

import (
	"net/http"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humachi"
	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"pourwright/internal/calc"
	"pourwright/internal/wire"
)

// Server is the API as one handler, and its contract.
type Server struct {
	http.Handler
	contract *contract
}

// New builds the API of the given calculations and catalogues.
func New(version string, calculations []calc.Calculation, collections []calc.Collection) *Server {
	router := chi.NewRouter()
	router.Use(middleware.RequestID, barrier, headers, middleware.GetHead)
	router.NotFound(notFound)
	router.MethodNotAllowed(methodNotAllowed)

	k := newContract(version)
	config := huma.Config{OpenAPI: k.api}
	adapter := humachi.New(router, config).Adapter()
	handle := func(op huma.Operation, in string, h handler) {
		k.api.AddOperation(&op)
		adapter.Handle(&op, func(c huma.Context) { write(c, h, in) })
	}
	listed := map[string]bool{} // GET of these names is the list of a catalogue
	for _, c := range collections {
		listed[c.Info().Name] = true
	}
	for _, c := range calculations {
		e := newEndpoint(c)
		handle(k.postOperation(e), "body", e.post)
		handle(k.rowsOperation(e), "body", e.rows)
		if e.shape.Flat() && !listed[c.Info().Name] {
			handle(k.getOperation(e), "query", e.get)
		}
	}
	for _, c := range collections {
		s := &collection{Collection: c, shape: wire.ShapeOf(c.Filter()), columns: nil}
		handle(k.listOperation(s), "query", s.list)
		handle(k.findOperation(s), "query", s.find)
	}
	k.finish()
	k.serve(router)
	router.Get("/healthz", ok)
	router.Get("/readyz", ok)
	return &Server{router, k}
}

func ok(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", withCharset(mediaText))
	w.Header().Set("Cache-Control", "no-store")
	_, _ = w.Write([]byte("ok\n"))
}

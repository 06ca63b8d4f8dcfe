// Package serve offers calculations over HTTP: routes, formats, problem
// documents, limits, health and the contract. It holds no calculation.
package serve

import (
	"fmt"
	"log/slog"
	"net/http"
	"runtime"
	"sync/atomic"
	"time"

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
	contract document
	metrics  *metrics
	gate     *gate
	bodies   *bodies
	log      *slog.Logger
	settle   time.Duration
	// connections is how many clients may be connected at once.
	connections int
	longest     time.Duration // that a request waits and calculates
	ready       atomic.Bool
}

// New builds the API of the given calculations, catalogues and files. The
// error is of the settings: a file that cannot be read, a network that is not one.
func New(settings Settings, calculations []calc.Calculation, collections []calc.Collection, files ...File) (*Server, error) {
	if err := settings.check(); err != nil {
		return nil, err
	}
	s := &Server{contract: document{version: settings.Version, calculations: calculations, collections: collections}, log: settings.Log, settle: settings.Settle, longest: 2 * settings.HeavyTime, connections: settings.Connections, gate: newGate(settings.HeavySlots, settings.HeavyQueue)}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	s.metrics = newMetrics(s.gate)
	s.ready.Store(true)
	router := chi.NewRouter()
	if err := s.guard(router, settings); err != nil {
		return nil, err
	}
	router.NotFound(notFound)
	router.MethodNotAllowed(methodNotAllowed)
	s.mount(router, settings, calculations, collections, files)
	s.contract.serve(router)
	if settings.Page != nil {
		router.Method(http.MethodGet, "/", settings.Page)
		router.Method(http.MethodGet, "/page/*", settings.Page)
	}
	router.Get("/healthz", ok)
	router.Get("/readyz", s.readiness)
	router.Method(http.MethodGet, "/metrics", s.metrics.handler())
	s.Handler = router
	return s, nil
}

// guard puts the middleware in front: what marks, counts and limits requests.
func (s *Server) guard(router chi.Router, settings Settings) error {
	router.Use(identified, clients(settings.TrustedProxies))
	if settings.Trace != nil {
		router.Use(settings.Trace) // around the log, whose lines then tell the trace
	}
	router.Use(s.logged, s.barrier, headers)
	if len(settings.Origins) > 0 {
		router.Use(crossOrigin(settings.Origins))
	}
	if settings.RatePerMinute > 0 {
		router.Use(newRates(settings.RatePerMinute).limit)
	}
	if settings.KeysFile != "" {
		k, err := newKeys(settings.KeysFile, s.log)
		if err != nil {
			return fmt.Errorf("keys: %w", err)
		}
		router.Use(k.require)
	}
	router.Use(middleware.GetHead)
	return nil
}

// mount adds the routes of calculations, catalogues and files, and what the
// contract will say of them.
func (s *Server) mount(router chi.Router, settings Settings, calculations []calc.Calculation, collections []calc.Collection, files []File) {
	adapter := humachi.New(router, huma.Config{OpenAPI: &huma.OpenAPI{}}).Adapter()
	handle := func(op huma.Operation, in string, h handler, describe func(*contract, *huma.Operation)) {
		s.contract.chapters = append(s.contract.chapters, chapter{op, describe})
		adapter.Handle(&op, func(c huma.Context) { s.write(c, h, in) })
	}
	light := class{limit: settings.LightTime}
	heavy := class{limit: settings.HeavyTime, gate: s.gate, cores: max(1, runtime.GOMAXPROCS(0)/settings.HeavySlots), what: "heavy calculations"}
	batches := class{limit: settings.HeavyTime, gate: newGate(runtime.GOMAXPROCS(0), batchQueue), cores: 1, what: "batches and long bodies"}
	s.bodies = &bodies{memory: newMemory(memoryFor(currentLimit())), grace: bodyGrace, pace: bodyPace}
	for _, c := range calculations {
		e, i := newEndpoint(c, light), c.Info()
		e.bodies, e.batches, e.log = s.bodies, batches, s.log
		if i.Heavy {
			e.class = heavy
		}
		path := "/v1/" + i.Name
		handle(operation(i, i.Name, http.MethodPost, path, i.Summary), "body", e.post,
			func(k *contract, op *huma.Operation) { k.post(op, e) })
		handle(operation(i, i.Name+"-rows", http.MethodPost, path+"/rows", i.Summary+", many at once"), "body", e.rows,
			func(k *contract, op *huma.Operation) { k.rows(op, e) })
		if e.flat {
			handle(operation(i, i.Name+"-get", http.MethodGet, path, i.Summary+", from a query"), "query", e.get,
				func(k *contract, op *huma.Operation) { k.get(op, e) })
		}
	}
	for _, c := range collections {
		e, i := &collection{Collection: c, shape: wire.ShapeOf(c.Filter())}, c.Info()
		handle(operation(i, i.Name+"-list", http.MethodGet, "/v1/"+i.Name, i.Summary), "query", e.list,
			func(k *contract, op *huma.Operation) { k.list(op, e) })
		handle(operation(i, i.Name+"-find", http.MethodGet, "/v1/"+i.Name+"/{id}", i.Summary+": one entry"), "query", e.find,
			func(k *contract, op *huma.Operation) { k.find(op, e) })
	}
	for _, file := range files {
		f := servedFile{file, settings.PublicURL, prefixes(settings.TrustedProxies)}
		handle(operation(f.Info, f.Info.Name, http.MethodGet, "/v1/"+f.Info.Name, f.Info.Summary), "query", f.get,
			func(k *contract, op *huma.Operation) { k.file(op, f.File) })
	}
}

// readiness tells a load balancer whether to send requests here.
func (s *Server) readiness(w http.ResponseWriter, r *http.Request) {
	if !s.ready.Load() {
		respond(w, r, busy(1, "this server is stopping"))
		return
	}
	ok(w, r)
}

func ok(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", withCharset(mediaText))
	w.Header().Set("Cache-Control", "no-store")
	_, _ = w.Write([]byte("ok\n"))
}

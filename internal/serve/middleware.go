package serve

import (
	"context"
	"crypto/rand"
	"encoding/base32"
	"io"
	"log/slog"
	"net/http"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"
)

// identified gives every request an id, that of the proxy if it is a plain one
// of at most 64 characters, and answers it.
func identified(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		id := r.Header.Get("X-Request-Id")
		if !isPlainID(id) {
			var b [10]byte
			_, _ = rand.Read(b[:]) // it never fails
			id = base32.StdEncoding.EncodeToString(b[:])
		}
		w.Header()["X-Request-Id"] = []string{id}
		next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), middleware.RequestIDKey, id)))
	})
}

func isPlainID(id string) bool {
	for _, c := range []byte(id) {
		if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_' || c == '.') {
			return false
		}
	}
	return len(id) > 0 && len(id) <= 64
}

// logged writes a line a request: never its body, nor its query, which may
// hold a client's figures.
func (s *Server) logged(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		start := time.Now()
		seen := middleware.NewWrapResponseWriter(w, r.ProtoMajor)
		next.ServeHTTP(seen, r)
		took := time.Since(start)
		status := seen.Status()
		route := chi.RouteContext(r.Context()).RoutePattern()
		s.metrics.count(served{route, r.Method, status}, took)
		s.log.LogAttrs(r.Context(), slog.LevelInfo, "request",
			slog.String("id", middleware.GetReqID(r.Context())), slog.String("method", r.Method), slog.String("route", route),
			slog.Int("status", status), slog.Int("bytes", seen.BytesWritten()), slog.Duration("took", took))
	})
}

// barrier turns a panic into a problem document: one bad request must not
// take the server down, nor show its insides.
func (s *Server) barrier(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			p := recover()
			if p == nil {
				return
			}
			if p == http.ErrAbortHandler {
				panic(p)
			}
			s.log.ErrorContext(r.Context(), "panic", "path", r.URL.Path, "panic", p, "stack", string(debug.Stack()))
			respond(w, r, problem(http.StatusInternalServerError, "the server could not answer; the fault is ours"))
		}()
		next.ServeHTTP(w, r)
	})
}

// Headers that every answer carries, by their canonical names.
var (
	noSniffing = []string{"nosniff"}
	noReferrer = []string{"no-referrer"}
	noContent  = []string{"default-src 'none'; frame-ancestors 'none'"}
)

func headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h["X-Content-Type-Options"] = noSniffing
		h["Referrer-Policy"] = noReferrer
		h["Content-Security-Policy"] = noContent
		next.ServeHTTP(w, r)
	})
}

// respond answers a problem document outside an operation, or for a cell of a
// spreadsheet (errors=text) the line and status 200 that [writeProblem] answers.
func respond(w http.ResponseWriter, r *http.Request, p *Problem) {
	if strings.Contains(r.URL.RawQuery, "errors=text") && r.URL.Query().Get("errors") == "text" {
		w.Header().Set("Content-Type", withCharset(mediaText))
		w.Header().Set("Cache-Control", "no-store")
		_, _ = io.WriteString(w, p.line())
		return
	}
	if p.retryAfter > 0 {
		w.Header().Set("Retry-After", strconv.Itoa(p.retryAfter))
	}
	w.Header().Set("Content-Type", mediaProblem)
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(p.Status)
	_, _ = w.Write(encodeProblem(p))
}

func notFound(w http.ResponseWriter, r *http.Request) {
	respond(w, r, problem(http.StatusNotFound, "there is nothing at %s; the contract is at /openapi.json, the documentation at /docs", clip(r.URL.Path, 100)))
}

// methodNotAllowed answers OPTIONS with the methods there are, and any other
// method with a problem. Spreadsheets ask OPTIONS and HEAD before each GET.
func methodNotAllowed(w http.ResponseWriter, r *http.Request) {
	allowed := allow(r)
	w.Header().Set("Allow", strings.Join(allowed, ", "))
	if r.Method == http.MethodOptions {
		w.WriteHeader(http.StatusNoContent)
		return
	}
	respond(w, r, problem(http.StatusMethodNotAllowed, "%s is not answered here; use %s", clip(r.Method, 20), strings.Join(allowed, " or ")))
}

// allow lists the methods that the path of r answers.
func allow(r *http.Request) []string {
	routes := chi.RouteContext(r.Context()).Routes
	allowed := []string{http.MethodOptions}
	for _, m := range []string{http.MethodGet, http.MethodPost} {
		if routes.Match(chi.NewRouteContext(), m, r.URL.Path) {
			allowed = append(allowed, m)
			if m == http.MethodGet {
				allowed = append(allowed, http.MethodHead)
			}
		}
	}
	slices.Sort(allowed)
	return allowed
}

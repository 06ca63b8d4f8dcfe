package fuzz

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/require"

	"pourwright/api"
	"pourwright/internal/serve"
)

// maxHeap bounds the memory in use between requests, in bytes.
const maxHeap = 512 << 20

// harness sends requests to a server in the process and judges the answers.
type harness struct {
	server     *serve.Server
	contract   object
	known      map[string][]any
	operations []operation
	compiler   *jsonschema.Compiler

	lock    sync.Mutex
	schemas map[string]*jsonschema.Schema
	faults  map[string]string // the first of each kind
	counts  map[string]int
	status  map[int]int
	batches map[string]int // whole ones answered, by form
	slowest map[string]time.Duration
}

func newHarness(t *testing.T) *harness {
	settings := serve.DefaultSettings("fuzz")
	settings.RatePerMinute, settings.HeavyQueue = 0, 1000
	settings.LightTime, settings.HeavyTime = time.Hour, time.Hour // the machine may be busy
	server, err := serve.New(settings, api.All, api.Collections)
	require.NoError(t, err)
	text, err := server.Contract("3.1", "json")
	require.NoError(t, err)
	h := &harness{server: server, known: map[string][]any{}, compiler: jsonschema.NewCompiler(),
		schemas: map[string]*jsonschema.Schema{}, faults: map[string]string{}, counts: map[string]int{}, status: map[int]int{}, batches: map[string]int{}, slowest: map[string]time.Duration{}}
	require.NoError(t, json.Unmarshal(text, &h.contract))
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	require.NoError(t, err)
	require.NoError(t, h.compiler.AddResource("contract.json", doc))
	h.operations = operations(h.contract)
	for _, o := range h.operations {
		for _, media := range o.bodies {
			examples, _ := media.(object)["examples"].(object)
			for _, x := range examples {
				learn(h.known, "", resolve(h.contract, x.(object))["value"])
			}
		}
	}
	for name := range h.known {
		slices.SortFunc(h.known[name], func(a, b any) int { return strings.Compare(a.(string), b.(string)) })
	}
	return h
}

// schema compiles the schema that the contract gives for a status and media
// type of an operation; nil where it gives none.
func (h *harness) schema(o operation, status int, mediaType string) *jsonschema.Schema {
	at := fmt.Sprintf("#/paths/%s/%s/responses/%d", escape(o.path), strings.ToLower(o.method), status)
	response, ok := o.responses[strconv.Itoa(status)].(object)
	if !ok {
		return nil
	}
	if ref, ok := response["$ref"].(string); ok {
		at, response = ref, resolve(h.contract, response)
	}
	if response["content"].(object)[mediaType] == nil {
		return nil
	}
	at = "contract.json" + at + "/content/" + escape(mediaType) + "/schema"
	h.lock.Lock()
	defer h.lock.Unlock()
	if h.schemas[at] == nil {
		s, err := h.compiler.Compile(at)
		if err != nil {
			panic(err)
		}
		h.schemas[at] = s
	}
	return h.schemas[at]
}

func escape(pointer string) string {
	return strings.NewReplacer("~", "~0", "/", "~1", "{", "%7B", "}", "%7D").Replace(pointer)
}

func (h *harness) fault(o operation, number int, kind, what string, r request, answer []byte) {
	h.lock.Lock()
	defer h.lock.Unlock()
	key := o.id + ": " + kind
	h.counts[key]++
	if h.faults[key] == "" {
		h.faults[key] = fmt.Sprintf("request %d: %s\n%s\n\nanswered: %.600s\n", number, what, r, answer)
	}
}

var notFinite = regexp.MustCompile(`\b(NaN|[+-]?Inf)\b`)

// try sends the request of that number and judges the answer.
func (h *harness) try(seed uint64, number int) {
	o := h.operations[number%len(h.operations)]
	g := newGenerator(h.contract, h.known, seed, number)
	r := g.request(o)
	httpRequest := httptest.NewRequest(r.method, r.target, bytes.NewReader(r.body))
	httpRequest.Header.Set("Content-Type", r.contentType)
	httpRequest.Header.Set("Accept", r.accept)
	w := httptest.NewRecorder()
	start := time.Now()
	h.server.ServeHTTP(w, httpRequest)
	took := time.Since(start)
	h.lock.Lock()
	h.slowest[o.id] = max(h.slowest[o.id], took)
	h.status[w.Code]++
	if r.rows != unknownRows && w.Code == http.StatusOK {
		h.batches[r.contentType]++
	}
	h.lock.Unlock()
	if kind, what := h.judge(o, r, w); kind != "" {
		h.fault(o, number, kind, what, r, w.Body.Bytes())
	}
}

// judge returns the kind of fault and what it is, or nothing.
func (h *harness) judge(o operation, r request, w *httptest.ResponseRecorder) (kind, what string) {
	body := w.Body.Bytes()
	mediaType, _, _ := strings.Cut(w.Header().Get("Content-Type"), ";")
	text := strings.HasPrefix(mediaType, "text/") || strings.HasSuffix(mediaType, "json") || strings.HasSuffix(mediaType, "xml")
	switch {
	case w.Code == http.StatusServiceUnavailable:
		if !o.heavy || w.Header().Get("Retry-After") == "" {
			return "503", "a light calculation did not finish, or Retry-After is missing"
		}
	case w.Code >= 500:
		return "status", strconv.Itoa(w.Code)
	case w.Code == http.StatusOK && text && !echoes(o, mediaType) && notFinite.Match(mask(body)):
		return "not finite", string(notFinite.Find(mask(body)))
	}
	if o.responses[strconv.Itoa(w.Code)] == nil {
		return "undocumented", fmt.Sprintf("status %d is not in the contract", w.Code)
	}
	s := h.schema(o, w.Code, mediaType)
	if s == nil && w.Code == http.StatusOK && strings.Contains(fmt.Sprint(o.responses["200"].(object)["description"]), mediaType) {
		return "", "" // a form that the contract names in words: it has one JSON answer
	}
	if s == nil {
		return "undocumented", fmt.Sprintf("status %d as %q is not in the contract", w.Code, mediaType)
	}
	if strings.HasSuffix(mediaType, "/json") || strings.HasSuffix(mediaType, "+json") {
		v, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
		if err != nil {
			return "not JSON", err.Error()
		}
		if err := s.Validate(v); err != nil {
			return "schema", err.Error()
		}
	}
	if w.Code == http.StatusOK && strings.HasSuffix(o.path, "/rows") && !o.heavy && r.rows != unknownRows && !strings.Contains(r.target, "errors=text") {
		if what := lost(r, mediaType, body); what != "" {
			return "lost", what
		}
	}
	return "", ""
}

// echoes reports whether the answer holds the caller's own cells unquoted.
func echoes(o operation, mediaType string) bool {
	return mediaType == "text/csv" && strings.HasSuffix(o.path, "/rows")
}

var quoted = regexp.MustCompile(`"(?:[^"\\]|\\.)*"`)

// mask takes the quoted texts out: what a caller wrote may well say NaN.
func mask(body []byte) []byte { return quoted.ReplaceAll(body, nil) }

func fromEnv(name string, fallback uint64) uint64 {
	if v, err := strconv.ParseUint(os.Getenv(name), 10, 64); err == nil {
		return v
	}
	return fallback
}

// TestEveryOperationStandsUp sends FUZZ_REQUESTS requests made from the
// contract with FUZZ_SEED; FUZZ_ONLY sends one of them again. No answer may
// be a 5xx other than a 503 of a heavy calculation, none may break its schema
// or hold what is not a number.
func TestEveryOperationStandsUp(t *testing.T) {
	requests, seed := int(fromEnv("FUZZ_REQUESTS", 3000)), fromEnv("FUZZ_SEED", 1)
	h := newHarness(t)
	t.Logf("FUZZ_SEED=%d FUZZ_REQUESTS=%d, %d operations", seed, requests, len(h.operations))
	if only := fromEnv("FUZZ_ONLY", 0); only > 0 {
		h.try(seed, int(only))
	} else {
		h.all(t, seed, requests)
	}
	t.Logf("answers by status: %v; batches answered: %v", h.status, h.batches)
	for _, id := range slowestFirst(h.slowest)[:5] {
		t.Logf("slowest: %s %v", id, h.slowest[id].Round(time.Millisecond))
	}
	for key, first := range h.faults {
		t.Errorf("%s (%d times)\n%s", key, h.counts[key], first)
	}
}

func (h *harness) all(t *testing.T, seed uint64, requests int) {
	var next atomic.Int64
	var peak atomic.Uint64
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for n := int(next.Add(1)); n <= requests; n = int(next.Add(1)) {
				h.try(seed, n)
				if n%500 == 0 {
					var m runtime.MemStats
					runtime.ReadMemStats(&m)
					peak.Store(max(peak.Load(), m.HeapInuse))
				}
			}
		})
	}
	workers.Wait()
	t.Logf("most memory in use: %d MiB", peak.Load()>>20)
	require.Less(t, peak.Load(), uint64(maxHeap))
	if requests >= 3000 {
		for _, form := range []string{"application/json", mediaNDJSON, mediaCSV, mediaXLSX} {
			require.NotZero(t, h.batches[form], form)
		}
	}
}

func slowestFirst(slowest map[string]time.Duration) []string {
	ids := make([]string, 0, len(slowest))
	for id := range slowest {
		ids = append(ids, id)
	}
	slices.SortFunc(ids, func(a, b string) int { return int(slowest[b] - slowest[a]) })
	for len(ids) < 5 {
		ids = append(ids, "")
	}
	return ids
}

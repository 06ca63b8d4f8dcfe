package serve

import (
	"net/http"
	"slices"
	"strconv"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// metrics are counted by route, method and status: no client, no content.
type metrics struct {
	registry *prometheus.Registry
	requests *prometheus.CounterVec
	seconds  *prometheus.HistogramVec
	known    sync.Map // served -> series
}

func newMetrics(g *gate) *metrics {
	m := &metrics{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "pourwright_requests_total", Help: "Requests answered."}, []string{"route", "method", "status"}),
		seconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "pourwright_request_seconds", Help: "Time to answer a request.",
			Buckets: []float64{.0005, .001, .005, .02, .1, .5, 2, 10, 60}}, []string{"route"}),
	}
	m.registry.MustRegister(m.requests, m.seconds, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}),
		prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "pourwright_heavy_running", Help: "Heavy calculations under way."}, func() float64 { running, _ := g.counts(); return float64(running) }),
		prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "pourwright_heavy_waiting", Help: "Heavy calculations waiting for a place."}, func() float64 { _, waiting := g.counts(); return float64(waiting) }))
	return m
}

// served is what requests are counted by.
type served struct {
	route, method string
	status        int
}

type series struct {
	requests prometheus.Counter
	seconds  prometheus.Observer
}

var knownMethods = []string{http.MethodGet, http.MethodHead, http.MethodPost, http.MethodOptions}

func (m *metrics) count(by served, took time.Duration) {
	if by.route == "" {
		by.route = "none"
	}
	if by.status == 0 {
		by.status = http.StatusOK
	}
	if !slices.Contains(knownMethods, by.method) {
		by.method = "other" // what a client makes up must not add to what is kept
	}
	known, ok := m.known.Load(by)
	if !ok {
		known, _ = m.known.LoadOrStore(by, series{
			m.requests.WithLabelValues(by.route, by.method, strconv.Itoa(by.status)), m.seconds.WithLabelValues(by.route)})
	}
	s := known.(series)
	s.requests.Inc()
	s.seconds.Observe(took.Seconds())
}

func (m *metrics) handler() http.Handler {
	return promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{})
}
